"""What holds a seam, as the plan keeps it."""

from __future__ import annotations

from dataclasses import dataclass

Vector = tuple[float, float, float]


@dataclass(frozen=True)
class Pin:
    """A dowel pin across a seam, half of it in each of the two pieces.

    Attributes
    ----------
    at : (x, y, z)
        Centre of the pin, on the cut plane, mm.
    axis : (x, y, z)
        Unit vector from the piece below into the piece above.
    standard : str
        Such as ``ISO 8734``.
    diameter, length : float
        Of the pin, mm.
    hole_diameter : float
        As drawn: the pin's diameter and the printer's hole allowance, mm.
    depth : float
        Depth of the blind hole in each piece, mm: half the pin and a clearance.
    edge_distance : float
        Material kept round the pin, from its axis to the nearest surface, mm.
    """

    at: Vector
    axis: Vector
    standard: str
    diameter: float
    length: float
    hole_diameter: float
    depth: float
    edge_distance: float


@dataclass(frozen=True)
class Joint:
    """All that holds one seam.

    Attributes
    ----------
    seam : str
        Name of the seam.
    pins : tuple of Pin
    """

    seam: str
    pins: tuple[Pin, ...] = ()
