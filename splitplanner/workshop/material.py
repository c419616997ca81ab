"""The material: what a piece weighs and what it costs."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from importlib import resources

from splitplanner.errors import WorkshopError


@dataclass(frozen=True)
class Material:
    """A filament.

    Attributes
    ----------
    name : str
    density : float
        g/cm³.
    price : float or None
        For each kg, in the user's own money; None where it is not known.
    note : str
        Where the values are from, or anything else.

    Raises
    ------
    WorkshopError
        If it has no name, a density of no material, or a price below 0.
    """

    name: str
    density: float
    price: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise WorkshopError("A material needs a name.")
        # Filled with metal powder a filament may reach some 4 g/cm³; 20 is more than any metal in
        # use for that has, and less than what comes out when g/cm³ and kg/m³ are mixed up.
        if not 0.1 <= self.density <= 20.0:
            raise WorkshopError(
                f"Material “{self.name}”: the density is in g/cm³, mostly between 0.9 and 4, got "
                f"{self.density:g}."
            )
        if self.price is not None and not 0 <= self.price < math.inf:
            raise WorkshopError(
                f"Material “{self.name}”: the price for each kg must be 0 or above, got "
                f"{self.price:g}."
            )

    def mass(self, volume: float) -> float:
        """Return the mass of a `volume` (mm³) of it, g."""
        return volume / 1000.0 * self.density

    def cost(self, volume: float) -> float | None:
        """Return what a `volume` (mm³) of it costs; None where the price is not known."""
        return None if self.price is None else self.mass(volume) / 1000.0 * self.price


def generic_materials() -> tuple[Material, ...]:
    """Return the built-in materials: one of each kind in use, by handbook values from memory."""
    table = resources.files("splitplanner.workshop") / "data" / "materials.csv"
    rows = csv.DictReader(table.read_text(encoding="utf-8").splitlines(), strict=True)
    return tuple(Material(row["name"], float(row["density"]), note=row["note"]) for row in rows)
