"""Everything measured on a division of a part: what the criteria of the plan score look at."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from splitplanner.arrays import Bools
from splitplanner.plan import Division, Piece, Seam, Vector
from splitplanner.progress import Report, silent
from splitplanner.score.bed_fit import BedFit, bed_fit
from splitplanner.score.overhang import Overhang, overhang
from splitplanner.score.print_time import LayeredPrint
from splitplanner.score.room import Room, room
from splitplanner.score.seam import SeamFigures, seam_figures
from splitplanner.score.support import Support, support_volume
from splitplanner.solid import Plane, Section, Solid, seen_from_outside, to_polygons
from splitplanner.strength import WholeUnderLoad
from splitplanner.workshop import Printer

REFERENCE_PIN = 3.0
"""Diameter (mm) of the dowel pin for which room is counted; a common small size."""
_SQUARE = 1.0 - 1e-9
"""Cosine from which on a plane is square to an axis."""


@dataclass(frozen=True, eq=False)
class PieceFigures:
    """What was measured on one piece in its print direction.

    Attributes
    ----------
    piece : Piece
    up : (x, y, z)
    fit : BedFit
    overhang : Overhang
    support : Support
    printed : LayeredPrint or None
        What it takes to print it, by its layers; None where that was not worked out, as in a
        search.
    """

    piece: Piece
    up: Vector
    fit: BedFit
    overhang: Overhang
    support: Support
    printed: LayeredPrint | None = None

    @property
    def name(self) -> str:
        """Of the piece."""
        return self.piece.name

    @property
    def volume(self) -> float:
        """Of the piece, mm³."""
        return self.piece.solid.volume

    @property
    def area(self) -> float:
        """Of the piece's surface, mm²."""
        return self.piece.solid.area


@dataclass(frozen=True, eq=False)
class SeamRow:
    """What was measured on one seam, with the room for dowel pins of `REFERENCE_PIN`.

    Attributes
    ----------
    seam : Seam
    figures : SeamFigures
    room : Room
        On the seam's polygons.
    deep_room : Room
        On what of them goes on into both pieces for twice the pin's diameter, so that a hole of
        that depth has material round it.
    """

    seam: Seam
    figures: SeamFigures
    room: Room
    deep_room: Room

    @property
    def normal(self) -> Vector:
        """Of the cut plane."""
        return self.seam.plane.normal

    @property
    def between(self) -> tuple[str, str]:
        """The names of the pieces below and above the plane."""
        return self.seam.below, self.seam.above

    def reach(self, axis: Vector) -> tuple[float, float]:
        """Return from where to where the seam reaches along a unit `axis`, mm."""
        return seam_reach(self.seam.plane, axis, lambda: self.seam.section)


def seam_reach(plane: Plane, axis: Vector, section: Callable[[], Section]) -> tuple[float, float]:
    """Return from where to where a seam reaches along an axis, mm.

    Parameters
    ----------
    plane : Plane
    axis : (x, y, z)
        Unit vector.
    section : function
        Returns the contact; not called for a plane square to the axis.
    """
    (a, b, c), (d, e, f) = plane.normal, axis
    along = a * d + b * e + c * f
    if abs(along) > _SQUARE:
        return plane.offset * along, plane.offset * along
    heights = np.concatenate(section().rings()) @ np.array(axis)
    return float(heights.min()), float(heights.max())


@dataclass(frozen=True, eq=False)
class Figures:
    """Everything measured on a division of a part.

    Attributes
    ----------
    part : Solid
    printer : Printer
    pieces : tuple of PieceFigures
    seams : tuple of SeamRow
    exact : bool
        False when measured on a light stand-in or at a coarse resolution.
    seen : (m,) bool array, optional
        The part's faces on the good side; None if they were not kept, see `good_side`.
    under_load : tuple of WholeUnderLoad
        The uncut part under each of its load cases.
    seam_ratios : mapping of seam name to float, optional
        What seams hold over what the uncut part holds, 1 at most, where their joints are known.
    braces : tuple of PieceFigures
        Braces that are printed, as pieces that lie flat, with their layers: named so that no piece
        is, such as ``brace “left”``, and numbered as their files are. No criterion looks at them.
    """

    part: Solid
    printer: Printer
    pieces: tuple[PieceFigures, ...]
    seams: tuple[SeamRow, ...]
    exact: bool
    seen: Bools | None = None
    under_load: tuple[WholeUnderLoad, ...] = ()
    seam_ratios: Mapping[str, float] | None = None
    braces: tuple[PieceFigures, ...] = ()

    @property
    def prints(self) -> tuple[PieceFigures, ...]:
        """All that is printed: the pieces, and the braces after them."""
        return (*self.pieces, *self.braces)

    @cached_property
    def good_side(self) -> Bools:
        """The part's faces on the good side, (m,): `seen`, or found by looking from outside."""
        return seen_from_outside(self.part) if self.seen is None else self.seen


def measure_piece(
    piece: Piece, up: Vector, printer: Printer, resolution: float | None = None
) -> PieceFigures:
    """Measure bed fit, overhang and support of one piece; `resolution` in mm, None for the best."""
    limit, span = printer.overhang_limit, printer.bridge_span
    hanging = overhang(piece.solid, up, limit, span)
    held = support_volume(piece.solid, up, limit, span, resolution, known=hanging)
    return PieceFigures(
        piece, up, bed_fit(piece.solid.hull.vertices, up, printer.bed), hanging, held
    )


def measure_seam(seam: Seam, division: Division, seen: Bools, printer: Printer) -> SeamRow:
    """Measure length, area and room of one seam; `seen` marks the part's good-side faces (m,)."""
    distance = printer.edge_distance(REFERENCE_PIN)
    spacing = 3 * REFERENCE_PIN
    return SeamRow(
        seam,
        seam_figures(seam, division.part, seen),
        room(seam.section, distance, spacing),
        room(_going_on(seam, division, 2 * REFERENCE_PIN), distance, spacing),
    )


def _going_on(seam: Seam, division: Division, depth: float) -> Section:
    """Return the part of a seam behind which both pieces go on for `depth`, mm.

    Looked at half way and at the whole depth.
    """
    shape = seam.section.shape
    for name, side in ((seam.below, -1), (seam.above, 1)):
        solid = division.piece(name).solid
        for behind in solid.sections(seam.plane, [side * depth / 2, side * depth]):
            shape = shape.intersection(behind.shape)
    return Section(seam.plane, to_polygons(shape))


def measure(
    division: Division,
    ups: Mapping[str, Vector],
    printer: Printer,
    seen: Bools,
    report: Report = silent,
    under_load: tuple[WholeUnderLoad, ...] = (),
) -> Figures:
    """Measure every piece and seam of a division, exactly.

    Parameters
    ----------
    division : Division
    ups : mapping of piece name to print direction
    printer : Printer
    seen : (m,) bool array
        The part's faces on the good side.
    report : progress callback
    under_load : tuple of WholeUnderLoad
        See `Figures`.
    """
    pieces, steps = [], len(division.pieces) + len(division.seams)
    for index, piece in enumerate(division.pieces):
        report(index / steps, f"measuring piece {piece.number}")
        pieces.append(measure_piece(piece, ups[piece.name], printer))
    seams = []
    for index, seam in enumerate(division.seams, len(pieces)):
        report(index / steps, f"measuring seam {seam.name}")
        seams.append(measure_seam(seam, division, seen, printer))
    return Figures(
        division.part, printer, tuple(pieces), tuple(seams), True, seen, under_load=under_load
    )
