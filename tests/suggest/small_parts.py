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
from splitplanner.solid import Solid
from splitplanner.workshop import Bed, Printer
from tests.suggest.small_shapes import (
    arch,
    bar,
    bored_block,
    box,
    bracket,
    c_clamp,
    channel,
    closed_cube,
    comb,
    cross,
    dumbbell,
    four_flanges,
    frame,
    h_shape,
    house,
    jack,
    l_shape,
    mushroom,
    pipe_tee,
    plus_column,
    pyramid,
    ribbed_plate,
    ring,
    roof,
    shell,
    spool,
    square_frame,
    stairs,
    stepped_shaft,
    t_shape,
    table,
    three_flanges,
    tower,
    tray,
    tube,
    two_flanges,
    two_rooms,
    u_shape,
    wedge,
    z_shape,
)

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
    SmallPart("four flanges", four_flanges, CUBE, 2, _ends(180)),
    SmallPart("spool", spool, CUBE, 1, _ONE),
    SmallPart("closed cube", closed_cube, CUBE, 1, _ONE),
    SmallPart("jack", jack, CUBE, 1, _ONE),
    SmallPart("table", table, CUBE, 1, _ONE),
)
BY_NAME = {part.name: part for part in SMALL_PARTS}
