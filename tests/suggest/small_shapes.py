"""How the parts of `tests.suggest.small_parts` are made."""

from __future__ import annotations

import numpy as np

from splitplanner.solid import Plane, Solid


def box(*size: float, at: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Solid:
    return Solid.box(size, at)


def bar(axis: int, start: float, end: float, radius: float, sides: int = 24) -> Solid:
    """A round bar along an axis through the origin."""
    along = np.eye(3)[axis]
    return Solid.cylinder(start * along, end * along, radius, sides)


def less(solid: Solid, point: tuple[float, float, float], normal: tuple[float, float, float]):
    """What is below a plane."""
    below = solid.split(Plane.through(point, normal))[0]
    assert below is not None
    return below


def l_shape():
    return box(160, 40, 30).union(box(40, 160, 30))


def t_shape():
    return box(180, 30, 30).union(box(30, 30, 60, at=(75, 0, 30)))


def u_shape():
    return box(180, 60, 10).union(box(10, 60, 60), box(10, 60, 60, at=(170, 0, 0)))


def channel():
    return box(180, 60, 60).difference(box(200, 48, 60, at=(-10, 6, 6)))


def h_shape():
    return box(30, 180, 25).union(box(30, 180, 25, at=(65, 0, 0)), box(80, 24, 25, at=(10, 78, 0)))


def z_shape():
    return box(100, 25, 40).union(box(25, 60, 40, at=(75, 0, 0)), box(100, 25, 40, at=(75, 60, 0)))


def cross():
    return box(180, 40, 25, at=(0, 70, 0)).union(box(40, 180, 25, at=(70, 0, 0)))


def plus_column():
    return box(60, 20, 190, at=(0, 20, 0)).union(box(20, 60, 190, at=(20, 0, 0)))


def ring():
    return bar(2, 0, 20, 90, 48).difference(bar(2, -1, 21, 60, 48))


def tube():
    return bar(0, 0, 180, 45, 32).difference(bar(0, -1, 181, 37, 32))


def arch():
    rings = bar(1, 0, 40, 90, 48).difference(bar(1, -1, 41, 75, 48))
    return less(rings, (0, 0, 0), (0, 0, -1))


def stepped_shaft():
    return bar(0, 0, 70, 35, 32).union(bar(0, 60, 130, 22, 32), bar(0, 120, 190, 12, 32))


def pipe_tee():
    outer = bar(0, -90, 90, 22).union(bar(1, 0, 60, 16))
    return outer.difference(bar(0, -91, 91, 16), bar(1, 0, 61, 11))


def stairs():
    return box(180, 80, 22).union(*(box(180 - 45 * k, 80, 22 + 22 * k) for k in range(1, 4)))


def comb():
    return box(180, 15, 20).union(*(box(10, 60, 20, at=(5 + 23 * k, 0, 0)) for k in range(8)))


def wedge():
    return less(box(180, 80, 60), (0, 0, 60), (1, 0, 3))


def roof():
    ridge = less(less(box(180, 90, 45), (0, 0, 0), (0, -1, 1)), (0, 90, 0), (0, 1, 1))
    hollow = box(200, 90, 46, at=(-10, 0, -1))
    hollow = less(less(hollow, (0, 8, 0), (0, -1, 1)), (0, 82, 0), (0, 1, 1))
    return ridge.difference(hollow)


def tray():
    return box(180, 90, 50).difference(box(172, 82, 50, at=(4, 4, 4)))


def shell():
    return box(180, 80, 70).difference(box(170, 70, 60, at=(5, 5, 5)))


def dumbbell():
    return box(60, 60, 60).union(box(60, 20, 20, at=(60, 20, 20)), box(60, 60, 60, at=(120, 0, 0)))


def mushroom():
    return bar(2, 0, 70, 14).union(bar(2, 70, 82, 42, 40), bar(2, 0, 8, 30, 40))


def two_flanges():
    return bar(2, 0, 180, 18).union(bar(2, 0, 10, 40, 40), bar(2, 170, 180, 40, 40))


def pyramid():
    base = np.array([[0, 0, 0], [150, 0, 0], [150, 150, 0], [0, 150, 0], [75, 75, 90]], float)
    faces = [[0, 2, 1], [0, 3, 2], [0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]]
    return Solid.from_arrays(base, faces)


def tower():
    solid = box(70, 70, 190)
    for normal in ((1, 0, 0.1), (-1, 0, 0.1), (0, 1, 0.1), (0, -1, 0.1)):
        solid = less(solid, (35 + 35 * normal[0], 35 + 35 * normal[1], 0), normal)
    return solid


def frame():
    return box(180, 120, 15).difference(box(140, 80, 17, at=(20, 20, -1)))


def square_frame():
    return box(180, 180, 20).difference(box(120, 120, 22, at=(30, 30, -1)))


def ribbed_plate():
    ribs = (box(4, 90, 26, at=(33 + 37 * k, 0, 0)) for k in range(4))
    return box(180, 90, 8).union(*ribs)


def bracket():
    gusset = less(box(60, 8, 60, at=(8, 86, 8)), (68, 0, 8), (1, 0, 1))
    return box(90, 180, 8).union(box(8, 180, 90), gusset)


def c_clamp():
    return box(180, 90, 25).difference(box(120, 60, 27, at=(30, 30, -1)))


def house():
    body = less(less(box(180, 80, 90), (0, 0, 50), (0, -1, 1)), (0, 80, 50), (0, 1, 1))
    return body.difference(box(172, 72, 54, at=(4, 4, -1)))


def bored_block():
    block = box(180, 60, 60, at=(0, -30, -30))
    return block.difference(bar(0, -1, 181, 14), Solid.cylinder((60, 0, -31), (60, 0, 31), 20, 24))


def spool():
    return bar(2, 0, 80, 15).union(bar(2, 0, 8, 42, 40), bar(2, 72, 80, 42, 40))


def three_flanges():
    ends = (bar(0, start, start + 10, 40, 32) for start in (0, 85, 170))
    return bar(0, 0, 180, 15).union(*ends)


def closed_cube():
    return box(80, 80, 80).difference(box(70, 70, 70, at=(5, 5, 5)))


def two_rooms():
    return box(180, 70, 60).difference(
        box(50, 60, 50, at=(5, 5, 5)), box(115, 60, 50, at=(60, 5, 5))
    )


def four_flanges():
    return box(180, 16, 16, at=(0, 22, 22)).union(
        *(box(14, 60, 60, at=(start, 0, 0)) for start in (0, 55, 111, 166))
    )


def jack():
    return box(90, 20, 20, at=(-45, -10, -10)).union(
        box(20, 90, 20, at=(-10, -45, -10)), box(20, 20, 90, at=(-10, -10, -45))
    )


def table():
    legs = (box(12, 12, 70, at=(x, y, 0)) for x in (0, 73) for y in (0, 48))
    return box(85, 60, 8, at=(0, 0, 70)).union(box(85, 60, 6, at=(0, 0, 25)), *legs)
