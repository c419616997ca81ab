"""Small parts with the least number of pieces they can be cut into, and why it is not less.

Every `reason` says why fewer will not do; that so many do is shown by the plan that is stored for
the part. "Diagonal" is the bed's space diagonal, the longest line in it: no piece holds two points
that lie further apart.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from splitplanner.arrays import Floats, unit_vector
from splitplanner.plan import PartFile, Vector
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Printer

CUBE = Bed.rectangle(100, 100, 100)  # Diagonal 173.2 mm.
FLAT = Bed.rectangle(190, 100, 30)  # Diagonal 216.8 mm.
Angles = tuple[float, float, float]
DIAGONALS: tuple[Vector, ...] = ((1.0, 1.0, 0.0), (1.0, -1.0, 0.0))
TILTED: Angles = (35.0, 20.0, 10.0)


@dataclass(frozen=True)
class SmallPart:
    """One part of the proof.

    Attributes
    ----------
    name : str
    make : function
        Returns its solid, standing along the axes.
    bed : Bed
    least : int
        Number of pieces that no plan can go below, and that a plan reaches.
    reason : str
        Why fewer will not do.
    turn : three angles
        How it is turned in space, about z, y and x, degrees. Cuts of a turned part are looked for
        along its own axes too.
    more : tuple of (x, y, z)
        More directions of cuts to look at, before it is turned: diagonals, slanting faces.
    leans : bool
        Whether pieces that lean across the bed are looked at in the exhaustive search.
    step : float
        Distance of the even offsets at which the exhaustive search starts, mm.
    """

    name: str
    make: Callable[[], Solid]
    bed: Bed
    least: int
    reason: str
    turn: Angles = (0.0, 0.0, 0.0)
    more: tuple[Vector, ...] = ()
    leans: bool = False
    step: float = 5.0

    @property
    def solid(self) -> Solid:
        """The part in its place."""
        if not any(self.turn):
            return self.make()
        return self.make().transformed(np.column_stack([self._turning(), (7.0, -11.0, 5.0)]))

    def _turning(self) -> Floats:
        matrix: Floats = Rotation.from_euler("zyx", self.turn, degrees=True).as_matrix()
        return matrix

    @property
    def directions(self) -> Floats:
        """Directions of cuts in the exhaustive search, (k, 3)."""
        own = np.vstack([np.eye(3), *(unit_vector(normal) for normal in self.more)])
        return np.vstack([own @ self._turning().T, np.eye(3)]) if any(self.turn) else own

    @property
    def printer(self) -> Printer:
        """The usual printer with its bed."""
        return Printer(bed=self.bed)

    @property
    def file(self) -> PartFile:
        """What a plan notes of its file."""
        return PartFile(f"{self.name}.stl", "mm", self.solid.fingerprint)


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


# -- how the parts are made ---------------------------------------------------------------------
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


def jack():
    return box(90, 20, 20, at=(-45, -10, -10)).union(
        box(20, 90, 20, at=(-10, -45, -10)), box(20, 20, 90, at=(-10, -10, -45))
    )


def table():
    legs = (box(12, 12, 70, at=(x, y, 0)) for x in (0, 73) for y in (0, 48))
    return box(85, 60, 8, at=(0, 0, 70)).union(box(85, 60, 6, at=(0, 0, 25)), *legs)


_ONE = "one is the least there is"
_ENDS = "its ends lie {:.0f} mm apart, more than the diagonal of {:.0f} mm"


def _ends(apart: float, diagonal: float = 173.2) -> str:
    return _ENDS.format(apart, diagonal)


SMALL_PARTS: tuple[SmallPart, ...] = (
    SmallPart("box", lambda: box(180, 90, 90), CUBE, 2, _ends(180)),
    SmallPart("square bar", lambda: box(180, 30, 30), CUBE, 2, _ends(180)),
    SmallPart("square bar tilted", lambda: box(180, 30, 30), CUBE, 2, _ends(180), TILTED),
    SmallPart(
        "long bar",
        lambda: box(400, 20, 20),
        Bed.rectangle(140, 100, 40),
        3,
        "400 mm is more than two diagonals of 176.6 mm, so a chain of three touching pieces",
    ),
    SmallPart(
        "low bed bar",
        lambda: box(300, 20, 20),
        Bed.rectangle(101, 101, 30),
        3,
        "300 mm is more than two diagonals of 146 mm, so a chain of three touching pieces",
    ),
    SmallPart(
        "leaning rod",
        lambda: box(150, 8, 8),
        CUBE,
        1,
        _ONE,
        TILTED,
        leans=True,
    ),
    SmallPart(
        "round bed bar",
        lambda: box(180, 40, 20),
        Bed.circle(120, 100),
        2,
        _ends(180, 156.2),
    ),
    SmallPart(
        "slab",
        lambda: box(180, 180, 40),
        CUBE,
        4,
        "its four corners lie 180 mm apart",
        step=20.0,
    ),
    SmallPart("plate", lambda: box(240, 95, 6), CUBE, 2, _ends(240)),
    SmallPart("hexagonal bar", lambda: bar(0, 0, 185, 40, 6), CUBE, 2, _ends(185)),
    SmallPart(
        "L",
        l_shape,
        Bed.rectangle(100, 100, 60),
        3,
        "corner and both ends lie pairwise 160 mm apart or more, the diagonal is 153.6 mm",
        more=DIAGONALS,
    ),
    SmallPart(
        "L tilted",
        l_shape,
        Bed.rectangle(100, 100, 60),
        3,
        "corner and both ends lie pairwise 160 mm apart or more, the diagonal is 153.6 mm",
        TILTED,
        step=10.0,
    ),
    SmallPart("T", t_shape, CUBE, 2, _ends(180)),
    SmallPart("T tilted", t_shape, CUBE, 2, _ends(180), TILTED),
    SmallPart("U", u_shape, CUBE, 2, _ends(180)),
    SmallPart("channel", channel, CUBE, 2, _ends(180)),
    SmallPart("H", h_shape, CUBE, 2, _ends(180)),
    SmallPart("Z", z_shape, CUBE, 2, "its ends lie 194.6 mm apart, more than the diagonal"),
    SmallPart(
        "cross",
        cross,
        FLAT,
        2,
        "upright on the bed it is 180 mm wide both ways, and 30 mm of height let it lean by no "
        "more than 10°, which leaves it over 176 mm wide; the bed is 100 mm wide",
        more=DIAGONALS,
    ),
    SmallPart("plus column", plus_column, CUBE, 2, _ends(190), more=DIAGONALS),
    SmallPart(
        "ring",
        ring,
        FLAT,
        2,
        "30 mm of height let it lean by no more than 10°, which leaves it over 176 mm wide both "
        "ways; the bed is 100 mm wide",
    ),
    SmallPart("tube", tube, CUBE, 2, _ends(180)),
    SmallPart("arch", arch, CUBE, 2, "its feet reach over 180 mm, more than the diagonal"),
    SmallPart("stepped shaft", stepped_shaft, CUBE, 2, _ends(190)),
    SmallPart("pipe tee", pipe_tee, CUBE, 2, _ends(180)),
    SmallPart("stairs", stairs, CUBE, 2, _ends(180)),
    SmallPart("comb", comb, CUBE, 2, _ends(180)),
    SmallPart("wedge", wedge, CUBE, 2, _ends(180), more=((1.0, 0.0, 3.0),)),
    SmallPart("roof", roof, CUBE, 2, _ends(180), more=((0.0, 1.0, 1.0), (0.0, -1.0, 1.0))),
    SmallPart("tray", tray, CUBE, 2, _ends(180)),
    SmallPart("shell", shell, CUBE, 2, _ends(180)),
    SmallPart("dumbbell", dumbbell, CUBE, 2, _ends(180)),
    SmallPart("mushroom", mushroom, CUBE, 1, _ONE),
    SmallPart("two flanges", two_flanges, CUBE, 2, _ends(180)),
    SmallPart(
        "pyramid",
        pyramid,
        Bed.rectangle(160, 80, 100),
        2,
        "opposite corners lie 212.1 mm apart, more than the diagonal of 204.9 mm",
        more=DIAGONALS,
    ),
    SmallPart("tower", tower, CUBE, 2, _ends(190)),
    SmallPart("frame", frame, CUBE, 2, "opposite corners lie 216 mm apart"),
    SmallPart(
        "square frame",
        square_frame,
        CUBE,
        4,
        "its four corners lie 180 mm apart",
        more=DIAGONALS,
        step=20.0,
    ),
    SmallPart("ribbed plate", ribbed_plate, CUBE, 2, _ends(180)),
    SmallPart("bracket", bracket, CUBE, 2, _ends(180), more=((1.0, 0.0, 1.0), (1.0, 0.0, -1.0))),
    SmallPart("C", c_clamp, CUBE, 2, _ends(180)),
    SmallPart("house", house, CUBE, 2, _ends(180)),
    SmallPart("bored block", bored_block, CUBE, 2, _ends(180)),
    SmallPart("three flanges", three_flanges, CUBE, 2, _ends(180)),
    SmallPart("two rooms", two_rooms, CUBE, 2, _ends(180)),
    SmallPart("spool", spool, CUBE, 1, _ONE),
    SmallPart("closed cube", closed_cube, CUBE, 1, _ONE),
    SmallPart("jack", jack, CUBE, 1, _ONE),
    SmallPart("table", table, CUBE, 1, _ONE),
)
BY_NAME = {part.name: part for part in SMALL_PARTS}
