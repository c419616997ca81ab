"""What each bed takes to print: hours, filament, money."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from splitplanner.score.beds.loads import BedLoad
from splitplanner.score.figures import Figures
from splitplanner.score.filament import FilamentUse, filament_use
from splitplanner.score.print_time import LayeredPrint, bed_seconds
from splitplanner.workshop import Material


@dataclass(frozen=True, eq=False)
class BedPrint:
    """A bed and what it takes to print all that lies on it at once, supports included.

    Attributes
    ----------
    load : BedLoad
    support : float
        Volume of the support columns, mm³.
    hours : float or None
        By layers; None where those of a piece were not worked out.
    layers : int or None
        Of the highest piece; the same.
    volume : float or None
        Of all lines, mm³, with the printer's mass factor; the same.
    filament : FilamentUse or None
        None where the material is not known either.
    """

    load: BedLoad
    support: float
    hours: float | None = None
    layers: int | None = None
    volume: float | None = None
    filament: FilamentUse | None = None

    @property
    def number(self) -> int:
        """Of the bed, from 1."""
        return self.load.number

    @property
    def title(self) -> str:
        """What it is called."""
        return f"Bed {self.load.number}"


def bed_prints(
    loads: Sequence[BedLoad], figures: Figures, material: Material | None = None
) -> tuple[BedPrint, ...]:
    """Return what each bed takes; pieces on one bed are printed layer by layer (`bed_seconds`).

    Parameters
    ----------
    loads : sequence of BedLoad
        Of the pieces and printed braces of `figures`.
    figures : Figures
    material : Material, optional
    """
    rows = {row.name: row for row in figures.prints}
    found = []
    for load in loads:
        on_it = [rows[name] for name in load.names]
        support = sum(row.support.volume for row in on_it)
        printed = [row.printed for row in on_it if row.printed is not None]
        if len(printed) < len(on_it):
            found.append(BedPrint(load, support))
            continue
        found.append(_printed(load, support, printed, figures, material))
    return tuple(found)


def _printed(
    load: BedLoad,
    support: float,
    printed: Sequence[LayeredPrint],
    figures: Figures,
    material: Material | None,
) -> BedPrint:
    printer = figures.printer
    volume = printer.mass_factor * sum(each.volume for each in printed)
    use = None
    if material is not None:
        uses = [filament_use(each, material, printer) for each in printed]
        use = FilamentUse(
            sum(each.length for each in uses),
            sum(each.mass for each in uses),
            material.cost(volume),
        )
    hours = bed_seconds(printed, printer) / 3600
    return BedPrint(load, support, hours, max(each.layers for each in printed), volume, use)
