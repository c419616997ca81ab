"""The figures of each piece, as the table of pieces shows them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from splitplanner.findings import Finding, Severity
from splitplanner.plan import Division, Piece, Vector
from splitplanner.score import Figures, PieceFigures, print_time
from splitplanner.score.lying import Fit, fit_of, size_as_it_lies
from splitplanner.window.lists.lines import RANK
from splitplanner.workshop import Printer


@dataclass(frozen=True)
class PieceRow:
    """What the table of pieces shows of one piece; None for what has not been measured yet.

    Attributes
    ----------
    name : str
    number : int
    colour : str
        ``#RRGGBB``.
    mass : float or None
        Grams; None where no density is known.
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
        Of the print.
    up : (x, y, z) or None
        Print direction.
    """

    name: str
    number: int
    colour: str
    mass: float | None
    findings: int
    worst: Severity | None
    size: tuple[float, float, float] | None = None
    fit: Fit | None = None
    spare: float | None = None
    overhang: float | None = None
    support: float | None = None
    hours: float | None = None
    up: Vector | None = None

    @property
    def key(self) -> str:
        """What a table knows it by."""
        return self.name


def piece_rows(
    division: Division,
    figures: Figures | None,
    findings: Sequence[Finding],
    colours: Mapping[str, str],
    density: float | None = None,
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
    density : float or None
        Of the material, g/cm³.
    """
    measured = {} if figures is None else {row.name: row for row in figures.pieces}
    rows = []
    for piece in division.pieces:
        count, worst = about(findings, piece.name)
        mass = None if density is None else piece.solid.volume / 1000.0 * density
        blank = PieceRow(piece.name, piece.number, colours[piece.name], mass, count, worst)
        row = measured.get(piece.name)
        if row is None or figures is None:
            rows.append(blank)
        else:
            rows.append(_filled(blank, piece, row, figures.printer))
    return tuple(rows)


def _filled(blank: PieceRow, piece: Piece, row: PieceFigures, printer: Printer) -> PieceRow:
    held = row.support.volume
    time = print_time(row.volume, row.area, row.fit.height, held, printer)
    return PieceRow(
        blank.name,
        blank.number,
        blank.colour,
        blank.mass,
        blank.findings,
        blank.worst,
        size_as_it_lies(piece.solid, row.fit),
        fit_of(piece.solid, row.fit),
        row.fit.spare,
        row.overhang.area,
        held,
        time.hours,
        row.up,
    )


def about(findings: Iterable[Finding], subject: str) -> tuple[int, Severity | None]:
    """Return how many findings are about a piece or seam, and the worst of them."""
    found = dict.fromkeys(RANK, 0)
    for finding in findings:
        if finding.subject == subject:
            found[finding.severity] += 1
    worst = next((severity for severity in RANK if found[severity]), None)
    return sum(found.values()), worst
