"""Sheet metal that braces are cut from: what it weighs, how stiff it is and when it yields."""

from __future__ import annotations

import math
from dataclasses import dataclass

from splitplanner.errors import WorkshopError
from splitplanner.workshop.entries import named

_GENERIC = "generic"
"""So the source of a row begins that stands for a kind of metal and no grade of it."""


@dataclass(frozen=True)
class SheetMetal:
    """A metal that is sold as sheet.

    Attributes
    ----------
    name : str
        As braces name it, such as ``aluminium``.
    density : float
        g/cm³.
    stiffness : float
        Young's modulus, MPa.
    proof_stress : float
        At 0.2 % of strain that stays, MPa; the least that its standard promises.
    source : str
        Where the values are from, and whether from memory.

    Raises
    ------
    WorkshopError
        If it has no name, or a value that no metal has.
    """

    name: str
    density: float
    stiffness: float
    proof_stress: float
    source: str

    def __post_init__(self) -> None:
        name = named("Sheet metal", self.name)
        # Magnesium has 1.7 and 45 000, tungsten 19.3 and 410 000: beyond these units were mixed up.
        for what, value, low, high, unit in (
            ("density", self.density, 1.0, 25.0, "g/cm³"),
            ("stiffness", self.stiffness, 10_000.0, 1_000_000.0, "MPa"),
            ("proof stress", self.proof_stress, 1.0, 5_000.0, "MPa"),
        ):
            if not (math.isfinite(value) and low <= value <= high):
                raise WorkshopError(
                    f"{name}: the {what} is in {unit}, between {low:g} and {high:g}, got {value:g}."
                )

    @property
    def is_generic(self) -> bool:
        """Whether its values are those of a kind of metal, and no data sheet's."""
        return self.source.startswith(_GENERIC)

    def mass(self, volume: float) -> float:
        """Return what a volume (mm³) of it weighs, g."""
        return self.density * volume * 1e-3
