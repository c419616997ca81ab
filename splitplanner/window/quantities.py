"""Figures as the user reads and enters them: in mm or inches, in the numbers of his locale."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

from PySide6.QtCore import QLocale

LengthUnit = Literal["mm", "inch"]

MM_PER_INCH = 25.4
"""Exact, by the international yard and pound agreement of 1959 (BS 350, ISO 80000-3)."""
TIMES = "×"
"""The sign of factors and sizes; papers have an x, which all terminals can show."""
_NO_VALUE = "–"
_LARGE = 1e4
"""Decimals of what is larger tell nothing, and take room."""


@dataclass(frozen=True)
class Quantities:
    """How figures are written.

    Attributes
    ----------
    unit : "mm" or "inch"
        Lengths, areas and volumes are shown in it. Inside, all are in mm.
    locale : QLocale
    """

    unit: LengthUnit = "mm"
    locale: QLocale = field(default_factory=QLocale)

    def number(self, value: float, digits: int = 0) -> str:
        """Return a plain number; a dash for one that is not finite."""
        if not math.isfinite(value):
            return _NO_VALUE
        # No “-0.0” for what rounds to nothing.
        return self.locale.toString(round(float(value), digits) + 0.0, "f", digits)

    def length(self, mm: float, digits: int = 1) -> str:
        """Return a length with its unit; an inch is shown to one place more."""
        if self.unit == "inch":
            return f"{self.number(mm / MM_PER_INCH, digits + 1)} in"
        return f"{self.number(mm, digits)} mm"

    def size(self, mm: tuple[float, ...], digits: int = 0) -> str:
        """Return lengths side by side, with the unit once."""
        scale = MM_PER_INCH if self.unit == "inch" else 1.0
        places = digits + (1 if self.unit == "inch" else 0)
        return f"{' × '.join(self.number(each / scale, places) for each in mm)} {self.suffix}"

    def area(self, mm2: float, digits: int = 1) -> str:
        """Return an area in cm² or in²."""
        if self.unit == "inch":
            return f"{self.number(mm2 / MM_PER_INCH**2, digits)} in²"
        return f"{self.number(mm2 / 100.0, digits)} cm²"

    def volume(self, mm3: float, digits: int = 1) -> str:
        """Return a volume in cm³ or in³; in whole ones from ten thousand on."""
        is_inch = self.unit == "inch"
        value = mm3 / (MM_PER_INCH**3 if is_inch else 1000.0)
        text = self.number(value, digits if abs(value) < _LARGE else 0)
        return f"{text} {'in³' if is_inch else 'cm³'}"

    def angle(self, degrees: float, digits: int = 1) -> str:
        """Return an angle."""
        return f"{self.number(degrees, digits)}°"

    def share(self, part: float, digits: int = 0) -> str:
        """Return a share of 1 in percent."""
        return f"{self.number(100.0 * part, digits)} %"

    def mass(self, grams: float) -> str:
        """Return a mass in g, or in kg from one on."""
        if abs(grams) >= 1000.0:
            return f"{self.number(grams / 1000.0, 2)} kg"
        return f"{self.number(grams)} g"

    def run(self, mm: float) -> str:
        """Return a long length, as of a wire, in m or ft."""
        if self.unit == "inch":
            return f"{self.number(mm / MM_PER_INCH / 12.0)} ft"
        return f"{self.number(mm / 1000.0, 1)} m"

    def duration(self, hours: float) -> str:
        """Return a time in hours and minutes."""
        if not math.isfinite(hours):
            return _NO_VALUE
        whole, minutes = divmod(round(hours * 60), 60)
        return f"{self.number(whole)} h {minutes:02d} min" if whole else f"{minutes} min"

    @property
    def suffix(self) -> str:
        """The unit of lengths as it stands behind a number."""
        return "in" if self.unit == "inch" else "mm"

    def shown(self, mm: float) -> float:
        """Return a length as the number that is shown."""
        return mm / MM_PER_INCH if self.unit == "inch" else mm

    def entered(self, value: float) -> float:
        """Return in mm a length that the user entered."""
        return value * MM_PER_INCH if self.unit == "inch" else value
