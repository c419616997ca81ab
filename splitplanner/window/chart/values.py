"""What the station chart shows, as plain values: cuts, spans of pieces, and curves."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
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
        What else is said of it; mostly nothing.
    """

    start: float
    stop: float
    fit: Fit | None
    label: str
    colour: str
    text: str = ""


Dimension = Literal[
    "count", "length", "area", "volume", "area per length", "force", "moment", "stress", "share"
]
_POWERS = {"length": 1, "area": 2, "volume": 3, "area per length": 1}
_METRIC = {"area": 1e-2, "volume": 1e-3}
_ALWAYS = {"moment": 1e-3, "share": 100.0}
"""What figures that have no inches in them are multiplied by, from N·mm to N·m and to percent."""


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
        """Return the figure at each of its positions, (n,), in mm and N."""
        values: Floats = getattr(stations, self.name)
        return values

    def positions(self, stations: Stations) -> Floats:
        """Return at which offsets along the axis it is known, (n,) mm, not falling."""
        return stations.positions

    def value_at(self, stations: Stations, station: float) -> float:
        """Return the figure at an offset along the axis, in mm and N; nan beyond the part."""
        low, high = stations.ends
        if not low <= station <= high:
            return math.nan
        values, positions = self.values(stations), self.positions(stations)
        if not len(values):
            return math.nan
        if self.is_stepped:
            return float(values[int(np.abs(positions - station).argmin())])
        return float(np.interp(station, positions, values))

    @property
    def is_upward(self) -> bool:
        """Whether it has no values below 0, so that the plot begins there."""
        return True

    def factor(self, quantities: Quantities) -> float:
        """Return what a value in mm is multiplied by to be shown."""
        if self.dimension in _ALWAYS:
            return _ALWAYS[self.dimension]
        if quantities.unit == "inch":
            return float(MM_PER_INCH ** -_POWERS.get(self.dimension, 0))
        return _METRIC.get(self.dimension, 1.0)

    def unit(self, quantities: Quantities) -> str:
        """Return the unit it is shown in."""
        inches = quantities.unit == "inch"
        return {
            "count": "pins",
            "length": "in" if inches else "mm",
            "area": "in²" if inches else "cm²",
            "volume": "in³" if inches else "cm³",
            "area per length": "in²/in" if inches else "mm²/mm",
            "force": "N",
            "moment": "N·m",
            "stress": "MPa",
            "share": "%",
        }[self.dimension]

    def text(self, value: float, quantities: Quantities) -> str:
        """Return a value in mm with its unit."""
        digits = self.digits + (quantities.unit == "inch" and self.dimension in _POWERS)
        number = quantities.number(value * self.factor(quantities), digits)
        if self.dimension == "count" and value == 1:
            return f"{number} pin"
        return f"{number} {self.unit(quantities)}"


@dataclass(frozen=True, eq=False)
class LoadCurve(Curve):
    """A figure of a load case, drawn over its axis.

    Attributes
    ----------
    at, numbers : (k,) float arrays
        Offsets along the axis, mm, not falling, and the figure there; empty while it is not known.
    beside : tuple of (offsets, numbers), or None
        A second line in the same units, of the plan as it is.
    """

    at: Floats = field(default_factory=lambda: np.empty(0))
    numbers: Floats = field(default_factory=lambda: np.empty(0))
    beside: tuple[Floats, Floats] | None = None

    def values(self, stations: Stations) -> Floats:
        """Return the figure at each of its positions, (k,)."""
        return self.numbers

    def positions(self, stations: Stations) -> Floats:
        """Return its positions, (k,) mm."""
        return self.at

    @property
    def is_upward(self) -> bool:
        """Loads act either way."""
        return False

    def text(self, value: float, quantities: Quantities) -> str:
        """Return a value with its unit, in three digits or so, as loads are of any size."""
        if not math.isfinite(value):
            return "not known yet"
        shown = value * self.factor(quantities)
        size = abs(shown)
        digits = 0 if size >= 100.0 or size == 0.0 else 1 if size >= 10.0 else 2
        digits = 3 if 0.0 < size < 0.1 else digits
        return f"{quantities.number(shown, digits)} {self.unit(quantities)}"

    def beside_at(self, station: float) -> float:
        """Return the value of the second line at an offset; nan without one."""
        if self.beside is None or not len(self.beside[0]):
            return math.nan
        return float(np.interp(station, *self.beside))


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


LOAD_CURVES = (
    LoadCurve(
        "moment",
        "Bending moment",
        "How the load case bends the uncut part at a station. A seam is best where it is small.",
        "moment",
        2,
    ),
    LoadCurve("shear", "Shear force", "Force across the axis at a station.", "force", 0),
    LoadCurve(
        "torque",
        "Torque",
        "How the part is twisted, about the shear centre.",
        "moment",
        2,
    ),
    LoadCurve(
        "deflection",
        "Deflection",
        "How far the middle of the section of the uncut part moves across the axis.",
        "length",
        2,
    ),
    LoadCurve(
        "stress",
        "Largest stress",
        "Largest stress along the axis in the section of the uncut part, by bending, pull and "
        "warping. Global bending only: walls that are pressed in or buckle are not in it.",
        "stress",
        1,
    ),
    LoadCurve(
        "strength",
        "Share of strength",
        "Which share of its strength a section takes; at 100 % it fails. The line is the uncut "
        "part, the dashed one its pieces with their layers as they lie. Seams are marked with what "
        "they hold, beside the uncut part.",
        "share",
        0,
    ),
)
"""Figures of a load case, without their values."""


def curve_named(name: str) -> Curve:
    """Return a curve of the part by its name.

    Raises
    ------
    ValueError
        If there is none.
    """
    for curve in CURVES:
        if curve.name == name:
            return curve
    raise ValueError(f"no curve is called “{name}”; there are {', '.join(c.name for c in CURVES)}")
