"""What a picture shows, as plain values: it knows nothing of how it is drawn."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats, frozen_ints, to_vector, unit_vector
from splitplanner.output.camera import Camera
from splitplanner.plan import Vector

OKABE_ITO = ("#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7")
"""Colours that colour-blind people tell apart: Okabe & Ito, "Color Universal Design" (2008)."""
INK, PAPER, METAL, SHEET = "#1A1A1A", "#FFFFFF", "#6E7378", "#7A8CA8"
LANDSCAPE, PORTRAIT = (1600, 1200), (1200, 1600)


@dataclass(frozen=True, eq=False)
class Label:
    """A short text beside a point of the part.

    Attributes
    ----------
    text : str
    at : (3,) float array, mm
        The point it belongs to.
    colour : str
        Of its rim, ``#RRGGBB``.
    round : bool
        A disc with a number, else a small plate.
    """

    text: str
    at: Floats
    colour: str = INK
    round: bool = True

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", frozen_floats(self.at, (3,)))


@dataclass(frozen=True, eq=False)
class Body:
    """A solid thing.

    Attributes
    ----------
    vertices : (n, 3) float array, mm
    faces : (m, 3) int array
    colour : str
        ``#RRGGBB``.
    opacity : float
        1 hides what is behind.
    edges : bool
        Whether its sharp edges are drawn as lines.
    """

    vertices: Floats
    faces: Ints
    colour: str
    opacity: float = 1.0
    edges: bool = True

    def __post_init__(self) -> None:
        object.__setattr__(self, "vertices", frozen_floats(self.vertices, (-1, 3)))
        object.__setattr__(self, "faces", frozen_ints(self.faces, (-1, 3)))


@dataclass(frozen=True, eq=False)
class Sheet:
    """A flat four-cornered sheet, such as a cut plane.

    Attributes
    ----------
    corners : (4, 3) float array, mm
        In order round the sheet.
    """

    corners: Floats
    colour: str = SHEET
    opacity: float = 0.3

    def __post_init__(self) -> None:
        object.__setattr__(self, "corners", frozen_floats(self.corners, (4, 3)))


@dataclass(frozen=True, eq=False)
class Line:
    """A line through points (n, 3), mm; `width` in pixels."""

    points: Floats
    colour: str = INK
    width: float = 2.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen_floats(self.points, (-1, 3)))


@dataclass(frozen=True, eq=False)
class BedFrame:
    """A bed as it is drawn: a plan on z = 0 and the frame of its height.

    Attributes
    ----------
    outline, margin : (n, 2) float array, mm
        Plan of the bed, and what is left of it inside the margin.
    blocked : tuple of (k, 2) float array, mm
        Areas that must stay free.
    height : float
        mm.
    grid : tuple of (2, 2) float array, mm
        Grid lines.
    """

    outline: Floats
    margin: Floats
    blocked: tuple[Floats, ...]
    height: float
    grid: tuple[Floats, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", frozen_floats(self.outline, (-1, 2)))
        object.__setattr__(self, "margin", frozen_floats(self.margin, (-1, 2)))
        for name in ("blocked", "grid"):
            value = tuple(frozen_floats(item, (-1, 2)) for item in getattr(self, name))
            object.__setattr__(self, name, value)


def view_frame(view_from: ArrayLike, upright: ArrayLike = (0.0, 0.0, 1.0)) -> Floats:
    """Return rows right, up and towards the viewer (3, 3) for a view from a direction (3,).

    `upright` (3,) points up in the picture; looking along it, +y does.
    """
    towards = unit_vector(view_from)
    up = np.asarray(upright, float)
    if np.linalg.norm(np.cross(up, towards)) < 1e-6:
        up = np.array([0.0, 1.0, 0.0])
    right = unit_vector(np.cross(up, towards))
    return frozen_floats(np.array([right, np.cross(towards, right), towards]))


@dataclass(frozen=True, eq=False)
class Scene:
    """One picture.

    Attributes
    ----------
    title : str
    caption : tuple of str
        Lines below the title.
    view_from : (x, y, z)
        Direction from the part to the viewer, any length but zero.
    size : (width, height)
        Pixels.
    """

    title: str
    caption: tuple[str, ...] = ()
    bodies: tuple[Body, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    lines: tuple[Line, ...] = ()
    labels: tuple[Label, ...] = ()
    bed: BedFrame | None = None
    view_from: Vector = (-0.5, -1.0, 0.6)
    size: tuple[int, int] = field(default=LANDSCAPE)

    @property
    def text_height(self) -> int:
        """Height of the title, pixels."""
        return max(12, round(min(self.size) / 34))

    @property
    def head(self) -> int:
        """Height of the band that title and caption take at the top, pixels."""
        return round(self.text_height * (2.0 + 1.25 * len(self.caption)))

    @cached_property
    def points(self) -> Floats:
        """All points that must be in the picture, (n, 3) mm."""
        found = [body.vertices for body in self.bodies]
        found += [sheet.corners for sheet in self.sheets]
        found += [line.points for line in self.lines]
        if self.bed is not None:
            plan = self.bed.outline
            found += [np.column_stack([plan, np.full(len(plan), z)]) for z in (0, self.bed.height)]
        return np.vstack(found) if found else np.zeros((1, 3))

    @cached_property
    def camera(self) -> Camera:
        """The camera, without perspective, that has everything below title and caption."""
        frame = view_frame(self.view_from)
        flat = self.points @ frame.T
        low, high = flat.min(axis=0), flat.max(axis=0)
        width, height = self.size
        edge = 1.6 * self.text_height
        room = np.array([width - 2 * edge, height - self.head - 2 * edge])
        scale = float(np.max((high - low)[:2] / room)) or 1.0
        middle = (low + high) / 2.0
        # The part's middle belongs in the middle of what the title leaves free.
        middle[1] += scale * self.head / 2.0
        focus, (_, up, towards) = middle @ frame, frame
        away = 4.0 * (float(np.ptp(self.points, axis=0).max()) + 1.0)
        return Camera(
            to_vector(focus + away * towards),
            to_vector(focus),
            to_vector(up),
            self.size,
            span=scale * height,
        )
