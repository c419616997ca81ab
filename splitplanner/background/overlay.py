"""A figure for every face, as it comes from the process that worked it out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from splitplanner.arrays import Floats

MODULUS = "section modulus"
"""What stands in for strength until that is computed: how far a section resists bending."""
OVERLAYS = ("overhang", "support", "wall thickness", "good side", "islands", MODULUS)
"""What can be shown on the model."""


@dataclass(frozen=True, eq=False)
class Overlay:
    """A figure for every face.

    Attributes
    ----------
    name : str
        What is shown; see `OVERLAYS`.
    unit : str
        ``mm``, ``mm3``, ``islands``, or empty for yes and no.
    values : dict of piece name to (m,) float array
        nan where there is nothing to say.
    lines : dict of piece name to (n, 2, 3) float array, mm
        Drawn beside the faces.
    """

    name: str
    unit: str
    values: Mapping[str, Floats]
    lines: Mapping[str, Floats] = field(default_factory=dict)
