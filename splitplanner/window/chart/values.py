"""What the station chart shows, as plain values: cuts, spans of pieces, and curves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.score import Stations
from splitplanner.score.lying import Fit
from splitplanner.window.quantities import MM_PER_INCH, Quantities

ALONG = 0.9987
"""Slope from which on a plane runs along the axis (within 3°) and has no place on it."""


@dataclass(frozen=True)
class CutMark:
    """A cut plane as a marker on the axis.

    Attributes
    ----------
    index : int
        Of the cut in the plan.
    station : float
        Where the plane crosses the axis, as offset along it, mm.
    slope : float
        Sine of the angle between the plane's normal and the axis, 0 to 1: 0 is square across.
    name : str
    is_movable : bool
    """

    index: int
    station: float
    slope: float
    name: str
    is_movable: bool

    @property
    def is_along(self) -> bool:
        """Whether the plane runs along the axis and so has no place on it."""
        return self.slope >= ALONG or not math.isfinite(self.station)


@dataclass(frozen=True)
class Span:
    """Where a piece lies along the axis.

    Attributes
    ----------
    start, stop : float
        Offsets along the axis, mm.
    fit : Fit or None
        How the piece lies on the bed; None while that is not known.
    label : str
        The piece's number.
    colour : str
        Of the piece, ``#RRGGBB``.
    text : str
        What else is said of it.
    """

    start: float
    stop: float
    fit: Fit | None
    label: str
    colour: str
    text: str


Dimension = Literal["count", "length", "area", "volume", "area per length"]


@dataclass(frozen=True)
class Curve:
    """A figure that is drawn over the axis.

    Attributes
    ----------
    name : str
        Of the field of `Stations`.
    label : str
    meaning : str
        Its definition.
    dimension : str
        What it is measured in.
    digits : int
        Decimals it is told with.
    is_stepped : bool
        Whether it holds for the stretch round a station, rather than at it.
    """

    name: str
    label: str
    meaning: str
    dimension: Dimension
    digits: int
    is_stepped: bool = False

    def values(self, stations: Stations) -> Floats:
        """Return the figure at each station, (n,), in mm."""
        values: Floats = getattr(stations, self.name)
        return values

    def value_at(self, stations: Stations, station: float) -> float:
        """Return the figure at an offset along the axis, in mm; nan beyond the part."""
        low, high = stations.ends
        if not low <= station <= high:
            return math.nan
        values, positions = self.values(stations), stations.positions
        if self.is_stepped:
            return float(values[int(np.abs(positions - station).argmin())])
        return float(np.interp(station, positions, values))

    def factor(self, quantities: Quantities) -> float:
        """Return what a value in mm is multiplied by to be shown."""
        inches = quantities.unit == "inch"
        power = {"count": 0, "length": 1, "area": 2, "volume": 3, "area per length": 1}
        if inches:
            return float(MM_PER_INCH ** -power[self.dimension])
        return {"area": 1e-2, "volume": 1e-3}.get(self.dimension, 1.0)

    def unit(self, quantities: Quantities) -> str:
        """Return the unit it is shown in."""
        inches = quantities.unit == "inch"
        return {
            "count": "pins",
            "length": "in" if inches else "mm",
            "area": "in²" if inches else "cm²",
            "volume": "in³" if inches else "cm³",
            "area per length": "in²/in" if inches else "mm²/mm",
        }[self.dimension]

    def text(self, value: float, quantities: Quantities) -> str:
        """Return a value in mm with its unit."""
        digits = self.digits + (quantities.unit == "inch" and self.dimension != "count")
        number = quantities.number(value * self.factor(quantities), digits)
        if self.dimension == "count" and value == 1:
            return f"{number} pin"
        return f"{number} {self.unit(quantities)}"


CURVES = (
    Curve("area", "Section area", "Area of the part's section at a station.", "area", 1),
    Curve(
        "length",
        "Seam length",
        "Length of all outlines of the section, inner ones included: how long a seam a cut there "
        "would leave.",
        "length",
        0,
    ),
    Curve(
        "room",
        "Room for pins",
        "How many 3 mm dowel pins fit on the section, three diameters apart and with their edge "
        "distance. Stations with about as much room are counted once.",
        "count",
        0,
        is_stepped=True,
    ),
    Curve(
        "overhang",
        "Overhang",
        "Area that needs support if the uncut part were printed as it stands, +z up, for each "
        "length of axis. Bridges and what rests on the bed are not counted.",
        "area per length",
        0,
        is_stepped=True,
    ),
    Curve(
        "wall",
        "Mean wall",
        "Mean wall thickness of the section: twice its area over the length of its outlines, the "
        "hydraulic thickness.",
        "length",
        2,
    ),
    Curve(
        "modulus",
        "Section modulus",
        "The least elastic section modulus I/c about the two principal axes of the section. It "
        "stands in for strength in bending: it knows of no layers and of no wall that buckles.",
        "volume",
        2,
    ),
)


def curve_named(name: str) -> Curve:
    """Return a curve by its name.

    Raises
    ------
    ValueError
        If there is none.
    """
    for curve in CURVES:
        if curve.name == name:
            return curve
    raise ValueError(f"no curve is called “{name}”; there are {', '.join(c.name for c in CURVES)}")
