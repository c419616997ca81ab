"""Piece marks: a number and an arrow on both faces of a seam.

Each face says which piece it is of and which one belongs against it, such as ``1 TO 3``, and has
an arrow beside it. The arrows of both faces point the same way in space, up along the part as far
as the seam lets them, so a maker lays the two faces together with both arrows in one direction.
What is on the face of the piece above is mirrored left to right in the plane, since that face is
looked at from the other side: both read plainly.

*Engraved* marks are cut into both faces and change nothing else. *Raised* marks would hold the seam
open, so each lies in a recess of the other face, of the same outline and a gap wider and deeper;
the two marks then lie side by side. Engraved is the better one for nearly every seam: raised marks
print only on faces that do not look down (`can_be_raised`), and recesses beside them read mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity
from splitplanner.joint.spots import roomiest_spot
from splitplanner.plan import Seam
from splitplanner.solid import Plane, Solid, to_polygons
from splitplanner.solid.lettering import arrow, lettering
from splitplanner.workshop import Printer

Texts = tuple[tuple[str, ...], tuple[str, ...]]
"""The words on the face of the piece below, and of the piece above."""

_LEAST, _MOST, _STEP = 3.0, 8.0, 0.5
"""Heights of letters that are tried, mm: smaller ones cannot be read, larger ones need not be."""
_LEAST_LINES = 6.5
"""Letters are at least this many lines high, so that the bowls of an 8 stay open."""
_BOLD = 8.0
"""Letters are this many strokes high, where that is no less than a line."""
_WORD_GAP = 0.7
"""Between arrow and words, in heights of the letters."""
_DEPTH = 0.4
"""Least depth, mm: two usual layers, which can be seen and felt. Common practice, no source."""
_OUTSIDE = 0.5
"""How far a cut begins outside the face, so that no film is left, mm."""
_ROOT = 0.2
"""How far a raised mark reaches into the piece, so that the two are one body, mm."""


@dataclass(frozen=True)
class Mark:
    """A mark on both faces of a seam.

    Attributes
    ----------
    plane : Plane
        Of the seam.
    below, above : tuple of str
        The words on the face of each piece.
    at : (u, v)
        Centre of the mark on the face of the piece below, in coordinates of the plane, mm.
    apart : (u, v)
        From there to the centre of the mark on the other face, mm; (0, 0) for engraved marks.
    angle : float
        Direction in which the face below is read, from u towards v, degrees; the arrows point 90°
        further.
    height, stroke : float
        Of the letters, mm.
    depth : float
        Into the face, or out of it, mm.
    gap : float
        By which the recess for a raised mark is wider, on each side, and deeper, mm.
    raised : bool
    """

    plane: Plane
    below: tuple[str, ...]
    above: tuple[str, ...]
    at: tuple[float, float]
    apart: tuple[float, float]
    angle: float
    height: float
    stroke: float
    depth: float
    gap: float
    raised: bool


@dataclass(frozen=True, eq=False)
class MarkBodies:
    """What a mark takes from the two pieces of a seam and what it adds to them.

    Attributes
    ----------
    cut_below, cut_above : Solid
    added_below, added_above : Solid or None
        None for engraved marks.
    """

    cut_below: Solid
    cut_above: Solid
    added_below: Solid | None = None
    added_above: Solid | None = None

    def on(self, piece: Solid, side: int) -> Solid:
        """Return `piece` with its mark; `side` is +1 for the piece above and -1 for that below.

        Raises
        ------
        ValueError
            If `side` is neither.
        """
        if side not in (1, -1):
            raise ValueError(f"side is +1 for the piece above and -1 for the one below, got {side}")
        cut = self.cut_above if side > 0 else self.cut_below
        added = self.added_above if side > 0 else self.added_below
        less = piece.difference(cut)
        return less if added is None else less.union(added)


def can_be_raised(plane: Plane, up_below: Floats, up_above: Floats, printer: Printer) -> bool:
    """Return whether raised marks print on both faces of a seam.

    Not where a face looks down more than the overhang limit: on the bed they would hold the piece
    up, and elsewhere they would need support.

    Parameters
    ----------
    plane : Plane
        Of the seam.
    up_below, up_above : (3,) array
        Print directions of the two pieces, unit vectors.
    printer : Printer
    """
    least = -math.sin(math.radians(printer.overhang_limit)) - 1e-9
    normal = np.array(plane.normal)
    return bool(normal @ up_below >= least and -normal @ up_above >= least)


def room_for_marks(
    shape: MultiPolygon, holes: Sequence[tuple[float, float, float]], printer: Printer
) -> MultiPolygon:
    """Return the flat of a seam that fasteners leave free.

    Parameters
    ----------
    shape : shapely MultiPolygon
        The faces of the seam and its flange that both pieces share, in coordinates of the plane,
        mm, without what a register takes.
    holes : sequence of (u, v, radius)
        Everything round that is drilled or seated there, at its widest, mm.
    printer : Printer
        A line of its stays free round each hole.
    """
    discs = [shapely.Point(u, v).buffer(radius + printer.line_width) for u, v, radius in holes]
    left = shape.difference(shapely.union_all(discs)) if discs else shape
    return MultiPolygon(to_polygons(left))


def place_mark(
    seam: Seam,
    below: int | str,
    above: int | str,
    room: MultiPolygon,
    printer: Printer,
    *,
    raised: bool = False,
    gap: float = 0.2,
) -> tuple[Mark | None, tuple[Finding, ...]]:
    """Return where the mark of a seam goes, with the largest letters that have room.

    Letters are 8 mm high where they have room and never below 3 mm (or 6.5 lines, if that is more),
    and keep a line's width from the edge of the room. Where the words do not fit they leave out the
    piece's own number.

    Parameters
    ----------
    seam : Seam
    below, above : int or str
        Number or name of each piece.
    room : shapely MultiPolygon
        In coordinates of the seam's plane, mm; see `room_for_marks`.
    printer : Printer
    raised : bool
    gap : float
        Round a raised mark in its recess, mm.

    Returns
    -------
    mark : Mark or None
    findings : tuple of Finding
        The note ``mark.no_room`` where there is no mark.
    """
    free = MultiPolygon(to_polygons(room.buffer(-printer.line_width)))
    least = max(_LEAST, _LEAST_LINES * printer.line_width)
    heights = np.arange(least, max(_MOST, least) + 1e-9, _STEP)[::-1].tolist()
    for texts in _wordings(str(below).upper(), str(above).upper()):
        for height in heights:
            draft = _draft(seam.plane, texts, height, printer, gap, raised)
            if (mark := _placed(draft, free)) is not None:
                return mark, ()
    return None, (_no_room(seam, room, draft, free),)


def mark_outlines(mark: Mark) -> tuple[MultiPolygon, MultiPolygon]:
    """Return what is on the face of the piece below and of that above, in plane coordinates, mm."""
    below = affinity.translate(
        affinity.rotate(_words(mark.below, mark.height, mark.stroke), mark.angle, origin=(0, 0)),
        *mark.at,
    )
    # Looked at from below the plane, left and right are exchanged and up stays up.
    mirrored = affinity.scale(
        _words(mark.above, mark.height, mark.stroke), -1.0, 1.0, origin=(0, 0)
    )
    above = affinity.translate(
        affinity.rotate(mirrored, mark.angle, origin=(0, 0)),
        mark.at[0] + mark.apart[0],
        mark.at[1] + mark.apart[1],
    )
    return below, above


def mark_bodies(mark: Mark, back_below: float = 0.0, back_above: float = 0.0) -> MarkBodies:
    """Return the bodies of a mark.

    Parameters
    ----------
    mark : Mark
    back_below, back_above : float
        By how much each face lies back from the plane, for glue or a coat, mm.
    """
    plane, deep = mark.plane, mark.depth
    below, above = mark_outlines(mark)
    if not mark.raised:
        return MarkBodies(
            Solid.prism(below, plane, -back_below - deep, -back_below + _OUTSIDE),
            Solid.prism(above, plane, back_above - _OUTSIDE, back_above + deep),
        )
    in_above, in_below = (_grown(shape, mark.gap) for shape in (below, above))
    # As high over its own face as the mark is deep; what receives it reaches a gap farther, and
    # is nothing where the faces lie far enough apart.
    up, down = deep - back_below, deep - back_above
    return MarkBodies(
        Solid.prism(in_below, plane, min(-down - mark.gap, -back_below), -back_below + _OUTSIDE),
        Solid.prism(in_above, plane, back_above - _OUTSIDE, max(up + mark.gap, back_above)),
        Solid.prism(below, plane, -back_below - _ROOT, up),
        Solid.prism(above, plane, -down, back_above + _ROOT),
    )


# -- what is written --------------------------------------------------------------------------
def _wordings(below: str, above: str) -> Iterator[Texts]:
    yield (below, "TO", above), (above, "TO", below)
    yield ("TO", above), ("TO", below)


def _words(words: tuple[str, ...], height: float, stroke: float) -> MultiPolygon:
    """Return an arrow that points up and the words right of it; the middle of all is 0, 0."""
    polygons: list[shapely.Polygon] = []
    right = 0.0
    for shape in (arrow(height, stroke), *(lettering(word, height, stroke) for word in words)):
        west, _, east, _ = shape.bounds
        polygons += affinity.translate(shape, right - west, -height / 2).geoms
        right += east - west + _WORD_GAP * height
    half = (right - _WORD_GAP * height) / 2
    return affinity.translate(MultiPolygon(polygons), -half, 0.0)


def _draft(
    plane: Plane, texts: Texts, height: float, printer: Printer, gap: float, raised: bool
) -> Mark:
    """Return a mark that has no place yet."""
    # Whole layers, so that a mark on the bed is as deep as it is drawn.
    layers = math.ceil(_DEPTH / printer.layer_height - 1e-9)
    return Mark(
        plane,
        *texts,
        at=(0.0, 0.0),
        apart=(0.0, 0.0),
        angle=0.0,
        height=height,
        stroke=max(printer.line_width, height / _BOLD),
        depth=layers * printer.layer_height,
        gap=gap,
        raised=raised,
    )


def _layouts(mark: Mark) -> Iterator[tuple[Floats, tuple[float, float]]]:
    """Yield ways to lay out a mark: (from one text to the other (2,), the size of all), mm.

    Both along and across the direction of reading.
    """
    shapes = [_words(words, mark.height, mark.stroke) for words in (mark.below, mark.above)]
    wide = max(shape.bounds[2] - shape.bounds[0] for shape in shapes)
    high = max(2 * max(-shape.bounds[1], shape.bounds[3]) for shape in shapes)
    if not mark.raised:
        yield np.zeros(2), (wide, high)
        return
    # Beside or below each other, each in its recess.
    wide, high = wide + 2 * mark.gap, high + 2 * mark.gap
    between = max(2 * mark.stroke, _WORD_GAP * mark.height)
    yield np.array([wide + between, 0.0]), (2 * wide + between, high)
    yield np.array([0.0, -high - between]), (wide, 2 * high + between)


def _upright(plane: Plane, angle: float) -> float:
    """Return `angle` or the opposite, so that the arrow points up, else along +y or +x."""
    turn = math.radians(angle)
    u, v, _ = plane.frame
    way = np.round(-math.sin(turn) * u + math.cos(turn) * v, 6)
    first = next((value for value in (way[2], way[1], way[0]) if value), 1.0)
    return angle if first > 0 else angle - 180.0


# -- where it goes ----------------------------------------------------------------------------
def _placed(draft: Mark, free: MultiPolygon) -> Mark | None:
    for apart, size in _layouts(draft):
        spot = roomiest_spot(free, size)
        if spot is None:
            continue
        centre, angle = spot[0], _upright(draft.plane, spot[1])
        turn = math.radians(angle)
        rotation = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        between = rotation @ apart
        u, v = (centre - between / 2).tolist()
        return replace(draft, at=(u, v), apart=(float(between[0]), float(between[1])), angle=angle)
    return None


def _grown(shape: MultiPolygon, gap: float) -> MultiPolygon:
    return MultiPolygon(to_polygons(shape.buffer(gap, quad_segs=4)))


def _no_room(seam: Seam, room: MultiPolygon, draft: Mark, free: MultiPolygon) -> Finding:
    """Return the note that the smallest mark, `draft`, has no room, and how large it could be."""
    smaller = (draft.height * share / 10 for share in range(9, 0, -1))
    fits = (
        height
        for height in smaller
        if _placed(replace(draft, height=height, stroke=height / _BOLD), free) is not None
    )
    widest = max(
        (room if not room.is_empty else seam.section.shape).geoms,
        key=lambda polygon: polygon.area,
        default=None,
    )
    middle = [] if widest is None else [widest.representative_point().coords[0]]
    return Finding(
        "mark.no_room",
        Severity.NOTE,
        f"Seam {seam.name}: its mark has no room with letters of {draft.height:g} mm, and smaller "
        "ones cannot be read; write the numbers of its two pieces on it by hand.",
        seam.name,
        seam.plane.to_space(middle) if middle else np.empty((0, 3)),
        next(fits, 0.0),
        draft.height,
        "mm",
    )
