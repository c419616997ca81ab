"""What the editor of a load case has to know of the part."""

from __future__ import annotations

from dataclasses import dataclass

from splitplanner.plan import Vector
from splitplanner.solid import Solid
from splitplanner.strength.drops import GRAVITY
from splitplanner.workshop import Material

_DENSITY = 1.25
"""Of printed plastic where no material is chosen, g/cm³: common practice, no source."""


@dataclass(frozen=True)
class LoadedPart:
    """What the editor has to know of the part.

    Attributes
    ----------
    solid : Solid
        The part or a light stand-in.
    axis : (x, y, z)
        What a new load case begins with.
    weight : float
        N.
    """

    solid: Solid
    axis: Vector
    weight: float

    @staticmethod
    def of(solid: Solid, axis: Vector, material: Material | None) -> LoadedPart:
        """Return what is known of a solid that is printed of a material, or of any plastic."""
        volume = solid.volume
        grams = _DENSITY * volume / 1000.0 if material is None else material.mass(volume)
        return LoadedPart(solid, axis, round(grams / 1000.0 * GRAVITY, 2))

    def span(self, axis: Vector) -> tuple[float, float]:
        """Return where the part begins along an axis, and how long it is, mm."""
        along = self.solid.vertices @ axis
        low = float(along.min())
        return low, float(along.max()) - low
