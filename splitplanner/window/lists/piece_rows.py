"""The figures of each piece, as the table of pieces shows them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from splitplanner.findings import Finding, Severity
from splitplanner.plan import Division, Piece, Vector
from splitplanner.score import Figures, GoodSideFigures, PieceFigures, filament_of
from splitplanner.score.lying import Fit, fit_of, size_as_it_lies
from splitplanner.window.lists.lines import RANK
from splitplanner.workshop import Material


@dataclass(frozen=True)
class PieceRow:
    """What the table of pieces shows of one piece; None for what has not been measured yet.

    Attributes
    ----------
    name : str
    number : int
    colour : str
        ``#RRGGBB``.
    findings : int
        How many are about this piece.
    worst : Severity or None
        Of them.
    size : (length, width, height) or None
        As it lies on the bed, mm.
    fit : Fit or None
    spare : float or None
        Largest scale that still fits.
    overhang : float or None
        mm².
    support : float or None
        mm³.
    hours : float or None
        Of the print, by its layers.
    mass, length, cost : float or None
        Of the filament that it takes, supports included: g, mm, and the user's money. All None
        where the material is not known; the cost also where its price is not.
    up : (x, y, z) or None
        Print direction.
    good : GoodSideFigures or None
        What it has on the good side.
    """

    name: str
    number: int
    colour: str
    findings: int
    worst: Severity | None
    size: tuple[float, float, float] | None = None
    fit: Fit | None = None
    spare: float | None = None
    overhang: float | None = None
    support: float | None = None
    hours: float | None = None
    mass: float | None = None
    length: float | None = None
    cost: float | None = None
    up: Vector | None = None
    good: GoodSideFigures | None = None

    @property
    def key(self) -> str:
        """What a table knows it by."""
        return self.name


def piece_rows(
    division: Division,
    figures: Figures | None,
    findings: Sequence[Finding],
    colours: Mapping[str, str],
    material: Material | None = None,
    good_sides: Sequence[GoodSideFigures] = (),
) -> tuple[PieceRow, ...]:
    """Return a row for each piece of a division.

    Parameters
    ----------
    division : Division
    figures : Figures or None
        None while they are being measured.
    findings : sequence of Finding
        Those whose subject is the piece are counted.
    colours : mapping of piece name to ``#RRGGBB``
    material : Material or None
    good_sides : sequence of GoodSideFigures
        Of the pieces; none while they are being measured.
    """
    good = {each.name: each for each in good_sides}
    measured = {} if figures is None else {row.name: row for row in figures.pieces}
    rows = []
    for piece in division.pieces:
        count, worst = about(findings, piece.name)
        blank = PieceRow(piece.name, piece.number, colours[piece.name], count, worst)
        row = measured.get(piece.name)
        if row is None or figures is None:
            rows.append(blank)
        else:
            filled = _filled(blank, piece, row, figures, material)
            rows.append(replace(filled, good=good.get(piece.name)))
    return tuple(rows)


def _filled(
    blank: PieceRow,
    piece: Piece,
    row: PieceFigures,
    figures: Figures,
    material: Material | None,
) -> PieceRow:
    use = None if material is None else filament_of(row, material, figures)
    filled = replace(
        blank,
        size=size_as_it_lies(piece.solid, row.fit),
        fit=fit_of(piece.solid, row.fit),
        spare=row.fit.spare,
        overhang=row.overhang.area,
        support=row.support.volume,
        hours=None if row.printed is None else row.printed.hours,
        up=row.up,
    )
    if use is None:
        return filled
    return replace(filled, mass=use.mass, length=use.length, cost=use.cost)


def about(findings: Iterable[Finding], subject: str) -> tuple[int, Severity | None]:
    """Return how many findings are about a piece or seam, and the worst of them."""
    found = dict.fromkeys(RANK, 0)
    for finding in findings:
        if finding.subject == subject:
            found[finding.severity] += 1
    worst = next((severity for severity in RANK if found[severity]), None)
    return sum(found.values()), worst
