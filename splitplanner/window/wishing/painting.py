"""Painting on the part: which faces a brush covers, what a stroke leaves, and how it is shown."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from splitplanner.arrays import Bools, Floats, Ints, frozen_ints, to_vector
from splitplanner.plan import Vector
from splitplanner.score import GoodSide, KeepOutBox, KeepOutFaces, Wishes
from splitplanner.solid import Solid

KEEP_OUT = "keep out faces"
GOOD_SIDE = "good side faces"
BOX = "keep out box"
TOOLS = (KEEP_OUT, GOOD_SIDE, BOX)
"""What the left button can do in the view for the wishes; an empty name for none of it."""

KEEP_OUT_COLOUR = "#D55E00"
GOOD_SIDE_COLOUR = "#009E73"
"""Okabe & Ito (2008): vermilion and bluish green."""
_PALE = 0.45
"""How much of its colour a face takes that was found to be on the good side, not painted."""
_BOX_STEP = 0.1
"""Corners of boxes that are dragged are whole numbers of this, mm."""


@dataclass(frozen=True)
class Touch:
    """Where the brush touches the part.

    Attributes
    ----------
    point, normal : (x, y, z)
        mm in the part's frame, and the way that the surface looks there; any length but zero.
    face : int
        The face that was hit.
    """

    point: Vector
    normal: Vector
    face: int


class Brush:
    """Covers faces around a point on one side of a wall: never those of its other side.

    Parameters
    ----------
    part : Solid
    radius : float
        mm.
    """

    def __init__(self, part: Solid, radius: float) -> None:
        self.part = part
        self.radius = radius
        self._guess = -1

    @cached_property
    def _boxes(self) -> NDArray[np.float32]:
        from splitplanner.window.wishing import _paint_kernels as kernels

        found: NDArray[np.float32] = kernels.boxes_around(self.part.vertices, self.part.faces)
        return found

    def prepare(self) -> None:
        """Work out what the first touch needs: a tenth of a second for 500 000 faces.

        May be called in a thread, which does not hold up the others.
        """
        face = 0
        a, b, c = self.part.vertices[self.part.faces[face]]
        way = to_vector(np.cross(b - a, c - a))
        for given in (face, -1):
            self.faces_at(to_vector(a), way, given)

    def touch(self, point: Vector, normal: Vector, face: int = -1) -> Touch | None:
        """Return where the brush touches; None where no face looks along `normal`.

        Parameters
        ----------
        point, normal : (x, y, z)
            mm.
        face : int
            The face that was hit; -1 to find it: the nearest of those that look the same way, so
            that points on a lighter mesh of the part will do.
        """
        at, way = _numbers(point), _numbers(normal)
        if face < 0:
            # Imported late: loading the compiler takes longer than a window needs to open.
            from splitplanner.window.wishing import _paint_kernels as kernels

            vertices, faces = self.part.vertices, self.part.faces
            face = int(kernels.nearest(vertices, faces, self._boxes, at, way, self._guess))
        # The next touch is near by, as a rule.
        self._guess = face
        return Touch(at, way, face) if face >= 0 else None

    def faces_at(self, point: Vector, normal: Vector, face: int = -1) -> Ints:
        """Return the faces that the brush covers at a point, (k,), see `faces_along`."""
        touch = self.touch(point, normal, face)
        return self.faces_along(touch, touch) if touch else np.empty(0, dtype=np.int64)

    def faces_along(self, start: Touch, end: Touch) -> Ints:
        """Return the faces that the brush covers on its straight way between two places, (k,).

        They come within the radius of the way, look along the normal at one of its ends (to less
        than 90°), and hang together with the face at one of the ends through such faces. So a
        stroke on one side of a thin wall never comes through to the other one.
        """
        from splitplanner.window.wishing import _paint_kernels as kernels

        found: Ints = kernels.flood(
            self.part.vertices,
            self.part.faces,
            self.part.neighbours,
            start.point,
            end.point,
            (start.normal, end.normal),
            (start.face, end.face),
            float(self.radius),
        )
        return found


class Stroke:
    """What one drag of a brush adds to a set of faces, or takes from it.

    Parameters
    ----------
    brush : Brush
    faces : iterable of int
        Those that were painted before.
    erases : bool
        Whether faces are taken away.
    """

    def __init__(self, brush: Brush, faces: Iterable[int] = (), erases: bool = False) -> None:
        self._brush = brush
        self._erases = erases
        self._before = np.zeros(len(brush.part.faces), dtype=np.bool_)
        self._before[np.fromiter(faces, dtype=np.int64)] = True
        self._mask = self._before.copy()
        self._last: Touch | None = None

    def move(self, point: Vector, normal: Vector, face: int = -1) -> Ints:
        """Go on to a point; return the faces that became painted, or are no more, (k,).

        What lies between it and the point before is painted too, however fast the drag is: unless
        the stroke was lifted, see `lift`.
        """
        touch = self._brush.touch(point, normal, face)
        if touch is None:
            return np.empty(0, dtype=np.int64)
        covered = self._brush.faces_along(self._last or touch, touch)
        self._last = touch
        changed: Ints = covered[self._mask[covered] == self._erases]
        self._mask[changed] = not self._erases
        return changed

    def lift(self) -> None:
        """Let the next point begin anew, since the drag left the part in between."""
        self._last = None

    @property
    def mask(self) -> Bools:
        """Which faces are painted now, (m,), read-only."""
        view = self._mask.view()
        view.setflags(write=False)
        return view

    @property
    def faces(self) -> Ints:
        """The faces that are painted now, in order, (k,), read-only."""
        return frozen_ints(np.flatnonzero(self._mask))

    @property
    def has_changed(self) -> bool:
        """Whether other faces are painted than before the stroke."""
        return not np.array_equal(self._mask, self._before)


def painted_before(
    wishes: Wishes, tool: str, erases: bool = False, seen: Bools | None = None
) -> tuple[int, ...]:
    """Return the faces that a stroke begins with.

    Where no good side is painted yet, erasing begins with what was found.

    Parameters
    ----------
    wishes : Wishes
    tool : `KEEP_OUT` or `GOOD_SIDE`
    erases : bool
    seen : (m,) bool array or None
        The good side as it was found.
    """
    if tool == KEEP_OUT:
        return tuple(sorted({face for region in _painted(wishes) for face in region.faces}))
    if wishes.good_side.faces or not erases or seen is None:
        return wishes.good_side.faces
    return tuple(np.flatnonzero(seen).tolist())


def with_painted(wishes: Wishes, tool: str, faces: ArrayLike) -> Wishes:
    """Return wishes with the faces (k,) that a finished stroke left.

    All that is painted to be kept out of is one region, which keeps its place among the regions.
    Without any face there is none, and the good side is found all around again.
    """
    chosen = tuple(np.unique(np.asarray(faces, dtype=np.int64)).tolist())
    if tool == GOOD_SIDE:
        return replace(wishes, good_side=GoodSide(faces=chosen))
    regions = list(wishes.keep_out)
    at = next((k for k, region in enumerate(regions) if region.kind == "faces"), len(regions))
    others_before = [region for region in regions[:at] if region.kind != "faces"]
    others_after = [region for region in regions[at:] if region.kind != "faces"]
    painted = [KeepOutFaces(chosen)] if chosen else []
    return replace(wishes, keep_out=(*others_before, *painted, *others_after))


def box_of(points: ArrayLike, margin: float) -> KeepOutBox:
    """Return the box around `points` (n, 3), mm, with `margin` (mm) on every side.

    So a drag over a flat face gives a box that reaches as far into the part and out of it. The
    corners are rounded outward to tenths of a millimetre.

    Raises
    ------
    WishesError
        If the box has no size along an axis: without a margin.
    """
    places = np.asarray(points, dtype=float).reshape(-1, 3)
    low, high = places.min(axis=0) - margin, places.max(axis=0) + margin
    # What is on a step but for rounding stays there.
    low = np.floor(low / _BOX_STEP + 1e-6) * _BOX_STEP
    high = np.ceil(high / _BOX_STEP - 1e-6) * _BOX_STEP
    return KeepOutBox(_rounded(low), _rounded(high))


def face_colours(
    part: Solid,
    wishes: Wishes,
    seen: Bools | None = None,
    base_colour: str = "#9AA0A8",
    stroke: Stroke | None = None,
    tool: str = "",
) -> NDArray[np.uint8]:
    """Return the colours in which faces are shown while one paints, (m, 3).

    Painted faces have the colour of their wish, the good side that was found has it paler, and
    what is to be kept out of covers the good side.

    Parameters
    ----------
    part : Solid
    wishes : Wishes
        Of this part.
    seen : (m,) bool array or None
        The good side as it was found; shown only as long as none is painted.
    base_colour : str
        ``#RRGGBB`` of all other faces.
    stroke : Stroke or None
        The one in hand, whose faces stand for those of `tool`.
    tool : str
    """
    base, green = _rgb(base_colour), _rgb(GOOD_SIDE_COLOUR)
    pale = np.round(_PALE * green + (1.0 - _PALE) * base)
    paints = np.array([base, pale, green, _rgb(KEEP_OUT_COLOUR)]).astype(np.uint8)
    which = np.zeros(len(part.faces), dtype=np.uint8)
    good = stroke.mask if stroke and tool == GOOD_SIDE else _mask(part, [wishes.good_side.faces])
    kept = (
        stroke.mask
        if stroke and tool == KEEP_OUT
        else _mask(part, [region.faces for region in _painted(wishes)])
    )
    if good.any():
        which[good] = 2
    elif seen is not None:
        which[seen] = 1
    which[kept] = 3
    colours: NDArray[np.uint8] = paints.take(which, axis=0)
    return colours


def _painted(wishes: Wishes) -> list[KeepOutFaces]:
    return [region for region in wishes.keep_out if isinstance(region, KeepOutFaces)]


def _mask(part: Solid, chosen: Iterable[tuple[int, ...]]) -> Bools:
    """Return which faces are among `chosen`; those that the part does not have are left out."""
    mask = np.zeros(len(part.faces), dtype=np.bool_)
    for faces in chosen:
        numbers = np.array(faces, dtype=np.int64)
        mask[numbers[(numbers >= 0) & (numbers < len(mask))]] = True
    return mask


def _rgb(colour: str) -> Floats:
    return np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)], dtype=float)


def _numbers(vector: Vector) -> Vector:
    x, y, z = vector
    return float(x), float(y), float(z)


def _rounded(corner: Floats) -> Vector:
    x, y, z = (round(value, 6) + 0.0 for value in corner.tolist())
    return x, y, z
