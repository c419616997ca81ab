"""What printed plastic stands, by the direction of its layers."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import unit_vector
from splitplanner.errors import WorkshopError
from splitplanner.workshop import Material

SHEAR_SHARE = 1 / math.sqrt(3)
"""Shear strength between layers by the tensile strength across them where it was not measured:
distortion energy, which is meant for what is the same in all directions; a stated assumption."""
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

        Hill's criterion for a material that is the same in all directions of its layers, as Tsai
        uses it: with the angle q between the direction and the print direction
        ``1/S² = sin⁴q/X² + cos⁴q/Z² + sin²q cos²q (1/T² - 1/Z²)``, where X is the strength along
        the layers, Z across them and T the shear strength between them.

        Parameters
        ----------
        direction, up : (3,) array
            Of any length but 0.
        """
        cosine = float(np.clip(unit_vector(direction) @ unit_vector(up), -1.0, 1.0))
        across = cosine**2
        along = 1.0 - across
        inverse = (
            along**2 / self.strength_xy**2
            + across**2 / self.strength_z**2
            + along * across * (1 / self.shear**2 - 1 / self.strength_z**2)
        )
        # A shear strength above the strength across would make it unbounded between; it is not.
        least = 1 / max(self.strength_xy, self.strength_z) ** 2
        return 1 / math.sqrt(max(inverse, least))


def plastic_of(
    material: Material | None, shear: float | None = None, bearing: float | None = None
) -> Plastic:
    """Return what a material stands.

    Parameters
    ----------
    material : Material or None
    shear : float, optional
        Shear strength between layers, MPa, where it was measured; else ``strength_z / √3``.
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
        shear=material.strength_z * SHEAR_SHARE if shear is None else shear,
        bearing=material.strength_xy if bearing is None else bearing,
        stiffness=material.stiffness_xy or USUAL_STIFFNESS,
    )
