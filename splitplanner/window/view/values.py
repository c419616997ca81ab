"""What the view shows, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats, Ints
from splitplanner.plan import Vector
from splitplanner.solid import Plane

Mode = Literal["look", "paint", "pick", "place"]
"""What the left button does on a body: turn the view, paint, choose a face, or a point on one."""


@dataclass(frozen=True, eq=False)
class ShownBody:
    """A solid thing.

    Attributes
    ----------
    name : str
        By which it is told apart.
    vertices : (n, 3) float array, mm
        The view keeps what it has made of a body as long as its arrays are the same objects.
    faces : (m, 3) int array
    colour : str
        ``#RRGGBB``.
    shift : (x, y, z)
        Where it has been pulled to, mm.
    face_colours : (m, 3) uint8 array or None
        Of each face, instead of `colour`.
    """

    name: str
    vertices: Floats
    faces: Ints
    colour: str
    shift: Vector = (0.0, 0.0, 0.0)
    face_colours: NDArray[np.uint8] | None = None


@dataclass(frozen=True, eq=False)
class ShownPlane:
    """A cut plane.

    Attributes
    ----------
    index : int
        By which it is told apart.
    plane : Plane
    centre : (x, y, z)
        A point of the plane, mm; the handle is there, and tilts are about it.
    corners : (4, 3) float array, mm
        Of the sheet that is drawn, in order round it.
    name : str
    is_selected : bool
        Whether its handle is shown.
    """

    index: int
    plane: Plane
    centre: Vector
    corners: Floats
    name: str
    is_selected: bool = False


@dataclass(frozen=True)
class Mark:
    """A short text beside a point.

    Attributes
    ----------
    at : (x, y, z)
        mm.
    text : str
    colour : str
        Of its rim.
    is_round : bool
        A disc, else a small plate.
    """

    at: Vector
    text: str
    colour: str
    is_round: bool = True


@dataclass(frozen=True, eq=False)
class Outline:
    """A line through points (n, 3), mm, that nothing hides; `width` in pixels.

    With a head it is an arrow that points where the line ends.
    """

    points: Floats
    colour: str
    width: float = 2.0
    has_head: bool = False
