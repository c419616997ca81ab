"""What all pieces and printed braces take to print: hours, filament, money and spools."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass

from splitplanner.findings import Finding, called, capital, listed
from splitplanner.score.beds.prints import BedPrint
from splitplanner.score.figures import Figures, PieceFigures
from splitplanner.score.filament import (
    FilamentUse,
    SpoolUse,
    bed_spool_findings,
    filament_use,
    spool_findings,
    spool_use,
)
from splitplanner.workshop import Material


@dataclass(frozen=True)
class PrintTotals:
    """What pieces and printed braces take to print, one after another, supports included.

    Attributes
    ----------
    hours : float
        By layers, each piece on a bed of its own.
    volume : float
        Of all lines, mm³, with the printer's mass factor.
    filament : FilamentUse or None
        None where the material is not known.
    spools : SpoolUse or None
        The same; without a started spool where none is known.
    """

    hours: float
    volume: float
    filament: FilamentUse | None = None
    spools: SpoolUse | None = None


def print_totals(
    figures: Figures, material: Material | None, left: float | None = None
) -> PrintTotals | None:
    """Add up what the pieces take; None where the layers of one were not worked out.

    Parameters
    ----------
    figures : Figures
    material : Material or None
    left : float or None, optional
        On the started spool, g.

    Raises
    ------
    WorkshopError
        If `left` is below 0 or not finite.
    """
    prints = [row.printed for row in figures.prints]
    printed = [each for each in prints if each is not None]
    if len(printed) < len(prints):
        return None
    factor = figures.printer.mass_factor
    hours = sum(each.hours for each in printed)
    volume = factor * sum(each.volume for each in printed)
    if material is None:
        return PrintTotals(hours, volume)
    uses = [filament_use(each, material, figures.printer) for each in printed]
    mass = sum(use.mass for use in uses)
    whole = FilamentUse(sum(use.length for use in uses), mass, material.cost(volume))
    return PrintTotals(hours, volume, whole, spool_use(mass, material, left or 0.0))


def filament_of(row: PieceFigures, material: Material, figures: Figures) -> FilamentUse | None:
    """Return the filament that one piece takes; None where its layers were not worked out."""
    if row.printed is None:
        return None
    return filament_use(row.printed, material, figures.printer)


def filament_findings(
    figures: Figures,
    material: Material,
    left: float | None = None,
    beds: Sequence[BedPrint] = (),
) -> tuple[Finding, ...]:
    """Return what is to be seen to about spools before the pieces are printed.

    By beds, one after another, where these are known: see `bed_spool_findings`. Else one by one, as
    if each had a bed of its own: see `spool_findings`. None where the layers of a piece were not
    worked out.

    Parameters
    ----------
    figures : Figures
    material : Material
    left : float or None, optional
        On the started spool, g; None where it is not known, which then is not looked at.
    beds : sequence of BedPrint, optional
        What each bed takes, in the order in which they are printed.

    Raises
    ------
    WorkshopError
        If `left` is below 0 or not finite.
    """
    rows = {row.name: row for row in figures.prints}
    braces = {row.name for row in figures.braces}
    masses, titles = {}, {}
    if beds:
        for bed in beds:
            if bed.filament is None:
                return ()
            # A bed with one piece is found by this; others have no name that pieces have.
            name = bed.load.names[0] if len(bed.load.names) == 1 else bed.title
            masses[name] = bed.filament.mass
            titles[name] = _bed_title(bed, rows, braces)
        return bed_spool_findings(masses, material, left, titles)
    pieces = {row.name for row in figures.pieces}
    for row in figures.prints:
        use = filament_of(row, material, figures)
        if use is None:
            return ()
        masses[row.name] = use.mass
        titles[row.name] = f"Piece {row.piece.number}" if row.name in pieces else capital(row.name)
    return spool_findings(masses, material, left, titles)


def _bed_title(bed: BedPrint, rows: Mapping[str, PieceFigures], braces: Set[str]) -> str:
    """Return such as “Bed 2 (pieces 1 and 3)”, or “Bed 3 (brace “left”)”."""
    if braces >= set(bed.load.names):
        return f"{bed.title} ({listed(bed.load.names)})"
    numbers = [rows[name].piece.number for name in bed.load.names]
    return f"{bed.title} ({called('piece', numbers)})"
