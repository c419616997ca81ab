"""What printed plastic stands, by the direction of its layers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike

from splitplanner.errors import WorkshopError
from splitplanner.strength.layered import LayeredStrength
from splitplanner.workshop import Material

USUAL_STIFFNESS = 2000.0
"""Modulus of elasticity where none is known, MPa: between the usual filaments, from memory."""


@dataclass(frozen=True)
class Plastic:
    """Printed plastic as it is reckoned with at seams.

    Attributes
    ----------
    strength_xy, strength_z : float
        Tensile strength along the layers and across them, MPa.
    shear : float
        Shear strength between layers, MPa. Taken for every shear in the plastic: where a thread or
        a head shears a cylinder out, some of it always lies along a layer or across two of them
        with the same stress between them.
    bearing : float
        Pressure that it stands, MPa.
    stiffness : float
        Modulus of elasticity, MPa.
    """

    strength_xy: float
    strength_z: float
    shear: float
    bearing: float
    stiffness: float = USUAL_STIFFNESS

    def __post_init__(self) -> None:
        for name in ("strength_xy", "strength_z", "shear", "bearing", "stiffness"):
            if not 0 < getattr(self, name) < math.inf:
                raise ValueError(f"the {name} of a plastic must be above 0 MPa")

    def along(self, direction: ArrayLike, up: ArrayLike) -> float:
        """Return the tensile strength in a direction, MPa.

        The criterion of Tsai and Hill as Azzi and Tsai wrote it (1965; Jones, Mechanics of
        Composite Materials; from memory), the layers being the strong direction: with the angle q
        between the direction and the print direction
        ``1/S² = sin⁴q/X² + cos⁴q/Z² + sin²q cos²q (1/T² - 1/X²)``, where X is the strength along
        the layers, Z across them and T the shear strength between them.

        Parameters
        ----------
        direction, up : (3,) array
            Of any length but 0.
        """
        return LayeredStrength(self.strength_xy, self.strength_z, self.shear).pull(direction, up)


def plastic_of(
    material: Material | None, shear: float | None = None, bearing: float | None = None
) -> Plastic:
    """Return what a material stands.

    Parameters
    ----------
    material : Material or None
    shear : float, optional
        Shear strength between layers, MPa, where it was measured; else the lesser
        strength over √3, as `LayeredStrength.of` has it.
    bearing : float, optional
        Pressure that it stands, MPa; else its strength along the layers: plastics stand at least as
        much pressure as tension, and layers do not part under it (common practice, no source).

    Raises
    ------
    WorkshopError
        If its strengths are not known.
    """
    if material is None or material.strength_xy is None or material.strength_z is None:
        name = f"of “{material.name}”" if material is not None else "of the material"
        raise WorkshopError(
            f"The strength {name} along and across its layers is not known; give both in the "
            "material, from its data sheet or from a sample you tested."
        )
    return Plastic(
        strength_xy=material.strength_xy,
        strength_z=material.strength_z,
        shear=LayeredStrength.of(material).shear if shear is None else shear,
        bearing=material.strength_xy if bearing is None else bearing,
        stiffness=material.stiffness_xy or USUAL_STIFFNESS,
    )
