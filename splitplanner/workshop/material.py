"""The material: what a piece weighs and costs, what it stands, and how it is printed."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass, replace
from importlib import resources
from typing import Any

from splitplanner.errors import WorkshopError
from splitplanner.workshop.printer import Printer


@dataclass(frozen=True)
class Material:
    """A filament. What is not known is None, or left out.

    Attributes
    ----------
    name : str
    density : float
        g/cm³.
    price : float or None
        For each kg, in the user's own money.
    note : str
        Where the values are from, or anything else.
    strength_xy, strength_z : float or None
        Tensile strength of a printed bar along its layers and across them, MPa.
    stiffness_xy, stiffness_z : float or None
        Its modulus of elasticity along and across, MPa.
    impact : float or None
        Notched impact strength along the layers, kJ/m².
    nozzle_temperature, bed_temperature : float or None
        °C.
    softening_temperature : float or None
        Where it gives way under a light load (such as ISO 75-2 at 0.45 MPa), °C.
    overhang_limit : float or None
        Steepest overhang that was printed with it without support, degrees from vertical; the
        printer's counts where it is None.
    shrink : (x, y, z) or ()
        Percent by which a print comes out smaller, along the axes of the printer; below 0 where it
        comes out larger. Measured by the user alone: none is known of any kind.
    spool_mass : float
        Filament on a full spool, g.
    filament_diameter : float
        mm.
    annealing : (x, y, z) or ()
        Percent by which a print comes out of annealing smaller than it went in, along the axes of
        the printer; below 0 where it grows. Measured by the user alone; left out where prints are
        not annealed.
    scaled : bool
        Whether files of pieces are scaled so that these come out at size; False where the slicer
        does it, or nobody.

    Raises
    ------
    WorkshopError
        If it has no name, or a value that no material has.
    """

    name: str
    density: float
    price: float | None = None
    note: str = ""
    strength_xy: float | None = None
    strength_z: float | None = None
    stiffness_xy: float | None = None
    stiffness_z: float | None = None
    impact: float | None = None
    nozzle_temperature: float | None = None
    bed_temperature: float | None = None
    softening_temperature: float | None = None
    overhang_limit: float | None = None
    shrink: tuple[float, ...] = ()
    spool_mass: float = 1000.0
    filament_diameter: float = 1.75
    annealing: tuple[float, ...] = ()
    scaled: bool = True

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
        for limit in LIMITS:
            value = getattr(self, limit.field)
            if value is not None and not limit.least <= value <= limit.most:
                raise WorkshopError(
                    f"Material “{self.name}”: the {limit.label} must be from {limit.least:g} to "
                    f"{limit.most:g} {limit.unit}, got {value:g}."
                )
        self._check_shrink()

    def _check_shrink(self) -> None:
        for percents, what in ((self.shrink, "shrink"), (self.annealing, "shrink by annealing")):
            if percents and len(percents) != 3:
                raise WorkshopError(
                    f"Material “{self.name}”: give the {what} along x, y and z, or leave it out; "
                    f"got {len(percents)} values."
                )
            for percent in percents:
                if not abs(percent) <= MOST_SHRINK:
                    raise WorkshopError(
                        f"Material “{self.name}”: the {what} is in percent, from "
                        f"-{MOST_SHRINK:g} to {MOST_SHRINK:g}, got {percent:g}."
                    )

    @property
    def sizes(self) -> tuple[float, float, float]:
        """What a length of 1 along x, y and z of the printer comes out as, annealing and all."""
        shrink, annealing = self.shrink or (0.0,) * 3, self.annealing or (0.0,) * 3
        x, y, z = (
            (1.0 - cold / 100.0) * (1.0 - hot / 100.0)
            for cold, hot in zip(shrink, annealing, strict=True)
        )
        return x, y, z

    def mass(self, volume: float) -> float:
        """Return the mass of a `volume` (mm³) of it, g."""
        return volume / 1000.0 * self.density

    def cost(self, volume: float) -> float | None:
        """Return what a `volume` (mm³) of it costs; None where the price is not known."""
        return None if self.price is None else self.mass(volume) / 1000.0 * self.price

    def filament_length(self, volume: float) -> float:
        """Return the length of filament with a `volume` (mm³), mm: that of a round bar."""
        return volume / (math.pi / 4 * self.filament_diameter**2)


@dataclass(frozen=True)
class Limit:
    """Between what a figure of a material lies.

    Attributes
    ----------
    field : str
        Of `Material`.
    label : str
        What it is called.
    least, most : float
        Beyond these it is another unit, or a slip of the pen.
    unit : str
    """

    field: str
    label: str
    least: float
    most: float
    unit: str


MOST_SHRINK = 20.0
"""Percent; more than that no filament shrinks, and it is no longer small."""

# A stiffness in GPa, a strength in psi and temperatures in °F are mostly caught by these. Soft
# rubbers have some 10 MPa, plastics full of carbon fibres less than 100 GPa.
LIMITS = (
    Limit("strength_xy", "strength along the layers", 0.1, 2000.0, "MPa"),
    Limit("strength_z", "strength across the layers", 0.1, 2000.0, "MPa"),
    Limit("stiffness_xy", "stiffness along the layers", 5.0, 200_000.0, "MPa"),
    Limit("stiffness_z", "stiffness across the layers", 5.0, 200_000.0, "MPa"),
    Limit("impact", "impact strength", 0.1, 500.0, "kJ/m²"),
    Limit("nozzle_temperature", "temperature of the nozzle", 50.0, 600.0, "°C"),
    Limit("bed_temperature", "temperature of the bed", 0.0, 300.0, "°C"),
    Limit("softening_temperature", "temperature at which it softens", 20.0, 400.0, "°C"),
    Limit("overhang_limit", "overhang limit", 1.0, 89.0, "° from vertical"),
    Limit("spool_mass", "filament on a spool", 1.0, 100_000.0, "g"),
    Limit("filament_diameter", "diameter of the filament", 0.5, 10.0, "mm"),
)
"""The figures that have one value, beside density and price, with their ranges."""


def printing_with(printer: Printer, material: Material | None) -> Printer:
    """Return the printer as it prints a material: with the overhang limit of that, if it has one.

    What is measured on pieces, and made of them, is for this printer; what a plan keeps and the
    user edits is the bare one.
    """
    reached = None if material is None else material.overhang_limit
    if reached is None or reached == printer.overhang_limit:
        return printer
    return replace(printer, overhang_limit=reached)


def overhang_words(printer: Printer, material: Material | None) -> str:
    """Return in one sentence from where on overhangs need support, and who says so."""
    limit = printing_with(printer, material).overhang_limit
    said = f"Overhangs need support beyond {limit:g}° from vertical"
    if material is None or material.overhang_limit is None:
        return f"{said}, the printer's limit."
    return (
        f"{said}, the limit of {material.name}; the printer's of {printer.overhang_limit:g}° does "
        "not count."
    )


def generic_materials() -> tuple[Material, ...]:
    """Return the built-in materials: one of each kind in use, by handbook values from memory.

    None has a price, an impact strength, an overhang limit or a shrink: these differ too much.
    """
    table = resources.files("splitplanner.workshop") / "data" / "materials.csv"
    rows = csv.DictReader(table.read_text(encoding="utf-8").splitlines(), strict=True)
    return tuple(_material(row) for row in rows)


def known_material(material: Material | None) -> tuple[Material, bool]:
    """Return a material with strengths and stiffnesses, and whether its strengths are generic.

    What a material does not tell of itself is taken from the generic one of its kind, by the first
    word of its name, or from the first of them.

    Parameters
    ----------
    material : Material or None
    """
    generic = generic_materials()
    if material is None:
        return generic[0], True
    first = material.name.split()[0].casefold()
    alike = [each for each in generic if each.name.split()[0].casefold() == first]
    chosen = (*alike, generic[0])[0]
    along, across = material.stiffness_xy, material.stiffness_z
    # One strength alone says little of the other.
    is_generic = material.strength_xy is None or material.strength_z is None
    found = replace(
        replace(chosen, density=material.density) if is_generic else material,
        stiffness_xy=along or across or chosen.stiffness_xy,
        stiffness_z=across or along or chosen.stiffness_z,
    )
    return found, is_generic


EXAMPLE_PRICE = 20.0
"""For each kg, in no money of any country: so that papers of an example have a cost."""


def example_material() -> Material:
    """Return what demonstration parts are planned for: generic PETG at `EXAMPLE_PRICE`.

    Its note, which papers show, says that it is generic and the price an example.
    """
    petg = next(each for each in generic_materials() if each.name.startswith("PETG"))
    return replace(petg, price=EXAMPLE_PRICE, note=f"{petg.note}; the price is an example")


def _material(row: dict[str, str]) -> Material:
    """Return the material of a row; an empty cell is not known."""
    figures: dict[str, Any] = {
        column: float(cell) for column, cell in row.items() if column not in _TEXTS and cell
    }
    return Material(name=row["name"], note=row["note"], **figures)


_TEXTS = ("name", "note")
