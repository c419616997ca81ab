"""The scorecard: the measured figures of one plan, and the plan score that adds them up.

A criterion is one function over the figures and one line in `CRITERIA`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools
from splitplanner.plan import Division, Piece, Seam, Vector
from splitplanner.progress import Report, silent
from splitplanner.score.bed_fit import BedFit, bed_fit
from splitplanner.score.overhang import Overhang, overhang
from splitplanner.score.room import Room, room
from splitplanner.score.seam import SeamFigures, seam_figures
from splitplanner.score.support import Support, support_volume
from splitplanner.solid import Section, Solid, to_polygons
from splitplanner.workshop import Printer

REFERENCE_PIN = 3.0
"""Diameter (mm) of the dowel pin for which room is counted; a common small size."""

LEAST_CONTACT = 25.0
"""Bed contact below this holds no print, mm²: a 5 mm square (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class PieceFigures:
    """What was measured on one piece in its print direction."""

    piece: Piece
    up: Vector
    fit: BedFit
    overhang: Overhang
    support: Support


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


@dataclass(frozen=True, eq=False)
class Figures:
    """Everything measured on a division of a part.

    Attributes
    ----------
    part : Solid
    pieces : tuple of PieceFigures
    seams : tuple of SeamRow
    exact : bool
        False when measured on a light stand-in or at a coarse resolution.
    """

    part: Solid
    pieces: tuple[PieceFigures, ...]
    seams: tuple[SeamRow, ...]
    exact: bool


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
    """
    pieces, steps = [], len(division.pieces) + len(division.seams)
    for index, piece in enumerate(division.pieces):
        report(index / steps, f"measuring piece {piece.number}")
        pieces.append(measure_piece(piece, ups[piece.name], printer))
    seams = []
    for index, seam in enumerate(division.seams, len(pieces)):
        report(index / steps, f"measuring seam {seam.name}")
        seams.append(measure_seam(seam, division, seen, printer))
    return Figures(division.part, tuple(pieces), tuple(seams), exact=True)


@dataclass(frozen=True)
class Criterion:
    """One figure that makes a plan better or worse; lower is better.

    Attributes
    ----------
    name, unit : str
    reference : float
        The value that counts as 1.
    weight : float
        Default weight of one reference.
    measure : function of Figures
    """

    name: str
    unit: str
    reference: float
    weight: float
    measure: Callable[[Figures], float]


def _pieces(figures: Figures) -> float:
    return float(len(figures.pieces))


def _too_large(figures: Figures) -> float:
    return float(sum(max(0.0, 1.0 - row.fit.spare) for row in figures.pieces))


def _tight(figures: Figures) -> float:
    return float(np.mean([float(row.fit.spare < 1.01) for row in figures.pieces]))


def _overhang(figures: Figures) -> float:
    return sum(row.overhang.area for row in figures.pieces) / (figures.part.area / 100)


def _support(figures: Figures) -> float:
    return sum(row.support.volume for row in figures.pieces) / (figures.part.volume / 1000)


def _afloat(figures: Figures) -> float:
    return float(sum(row.overhang.contact_area < LEAST_CONTACT for row in figures.pieces))


def _seam_seen(figures: Figures) -> float:
    return sum(row.figures.seen_length for row in figures.seams) / figures.part.size


def _seam_hidden(figures: Figures) -> float:
    return sum(row.figures.hidden_length for row in figures.seams) / figures.part.size


def _no_room(figures: Figures) -> float:
    if not figures.seams:
        return 0.0
    return float(np.mean([1 - min(row.deep_room.count, 2) / 2 for row in figures.seams]))


CRITERIA: tuple[Criterion, ...] = (
    Criterion("pieces", "pieces", 1.0, 0.25, _pieces),
    Criterion("too large for the bed", "share", 0.01, 10.0, _too_large),
    Criterion("tight fit", "share of pieces", 1.0, 0.1, _tight),
    Criterion("overhang area", "mm² per cm² of surface", 10.0, 0.3, _overhang),
    Criterion("support volume", "mm³ per cm³ of part", 1000.0, 0.5, _support),
    Criterion("hardly touching the bed", "pieces", 1.0, 0.25, _afloat),
    Criterion("seam seen", "mm per mm of the part's diagonal", 1.0, 0.3, _seam_seen),
    Criterion("seam hidden", "mm per mm of the part's diagonal", 1.0, 0.1, _seam_hidden),
    Criterion("seams without room for two pins", "share of seams", 1.0, 0.5, _no_room),
)
"""The criteria of the plan score. References and weights are the program's own choice."""


@dataclass(frozen=True)
class Term:
    """One criterion's value in a plan score.

    Attributes
    ----------
    criterion : Criterion
    value : float
        In the criterion's unit.
    weight : float
    """

    criterion: Criterion
    value: float
    weight: float

    @property
    def contribution(self) -> float:
        """What it adds to the plan score."""
        return self.weight * self.value / self.criterion.reference


@dataclass(frozen=True, eq=False)
class Scorecard:
    """The figures of one plan and its score.

    Attributes
    ----------
    figures : Figures
    terms : tuple of Term
    """

    figures: Figures
    terms: tuple[Term, ...]

    @property
    def total(self) -> float:
        """The plan score; lower is better."""
        return sum(term.contribution for term in self.terms)


def scorecard(figures: Figures, weights: Mapping[str, float] | None = None) -> Scorecard:
    """Add the figures up.

    Parameters
    ----------
    figures : Figures
    weights : mapping of criterion name to weight, optional
        Replaces default weights.

    Raises
    ------
    ValueError
        If a weight is given to a criterion that does not exist.
    """
    chosen = weights or {}
    unknown = set(chosen) - {criterion.name for criterion in CRITERIA}
    if unknown:
        raise ValueError(f"there is no criterion called {', '.join(sorted(unknown))}")
    return Scorecard(
        figures,
        tuple(
            Term(
                criterion, criterion.measure(figures), chosen.get(criterion.name, criterion.weight)
            )
            for criterion in CRITERIA
        ),
    )
