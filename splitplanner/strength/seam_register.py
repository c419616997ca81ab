"""What a register takes sideways: tongue, lap, key or studs of plastic in the seam itself."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.plan import Register, Seam
from splitplanner.strength.plastic import Plastic
from splitplanner.strength.seam_ground import stretches_along
from splitplanner.strength.seam_modes import Mode, simple_mode

_ONE_SIDED = 2.0
"""A lap bears on one of its sides alone, so that half of it takes what all of a tongue would."""


@dataclass(frozen=True, eq=False)
class RegisterStretches:
    """A register in short stretches, or its studs.

    Attributes
    ----------
    places : (n, 2) float array
        In the plane, mm.
    lengths : (n,) float array
        Of the stretches, mm; 1 for a stud.
    tangents : (n, 2) float array
        Unit vectors along which a stretch takes nothing; (0, 0) for a stud.
    """

    places: Floats
    lengths: Floats
    tangents: Floats


def register_stretches(seam: Seam, register: Register | None) -> RegisterStretches:
    """Return a register in stretches.

    A tongue, lap or key follows the middle of the wall; here it is taken to run half along each of
    the wall's two outlines, which is where it is in a thin wall to half of its thickness.

    Parameters
    ----------
    seam : Seam
    register : Register or None
    """
    if register is None:
        none = frozen_floats(np.empty((0, 2)))
        return RegisterStretches(none, frozen_floats(np.empty(0)), none)
    if register.form == "studs":
        spots = np.asarray(register.places, float).reshape(-1, 2)
        return RegisterStretches(
            frozen_floats(spots),
            frozen_floats(np.ones(len(spots))),
            frozen_floats(np.zeros((len(spots), 2))),
        )
    places, tangents, lengths = stretches_along(seam.section.shape.boundary)
    return RegisterStretches(places, frozen_floats(lengths / 2), tangents)


def register_modes(
    register: Register,
    stretches: RegisterStretches,
    pushes: Floats,
    sides: tuple[Plastic, Plastic],
    strength: float,
) -> list[Mode]:
    """Return how a register fails when it is pushed sideways.

    It stands on the piece below as a cantilever that is pushed evenly over its height h: sheared at
    its foot, bent there by ``q h / 2`` on ``w² / 6`` (a stud on ``pi w³ / 32``), and pressed on its
    side. Shear at the foot is taken as even. Elementary beams; no source beyond that.

    Parameters
    ----------
    register : Register
    stretches : RegisterStretches
    pushes : (n,) float array
        What each stretch takes, N.
    sides : (plastic of the piece below, of the piece above)
    strength : float
        Tensile strength of the piece below along the seam's normal, MPa.
    """
    if not len(stretches.lengths):
        return []
    times = _ONE_SIDED if register.form == "lap" else 1.0
    flow = times * float((pushes / stretches.lengths).max())
    width, height = register.width, register.height
    bearing = min(side.bearing for side in sides)
    if register.form == "studs":
        unit, shear = "N", sides[0].shear * math.pi / 4 * width**2
        bent, pressed = strength * math.pi * width**3 / 16 / height, bearing * width * height
    else:
        unit, shear = "N/mm", sides[0].shear * width
        bent, pressed = strength * width**2 / 3 / height, bearing * height
    name = register.form
    return [
        simple_mode("register.shear", flow, shear, unit, f"the {name} sheared off at its foot"),
        simple_mode("register.bending", flow, bent, unit, f"the {name} broken off at its foot"),
        simple_mode("register.bearing", flow, pressed, unit, f"pressure on the side of the {name}"),
    ]
