"""Length units of model files."""

from __future__ import annotations

from splitplanner.errors import ReadError
from splitplanner.findings import Finding, Severity

MM_PER = {"micron": 0.001, "mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4, "foot": 304.8}
"""Millimetres in each unit (inch and foot: international, 1959)."""

_NAMES = {
    "microns": "micron", "um": "micron", "µm": "micron", "micrometre": "micron",
    "millimeter": "mm", "millimeters": "mm", "millimetre": "mm", "millimetres": "mm",
    "centimeter": "cm", "centimeters": "cm", "centimetre": "cm", "centimetres": "cm",
    "meter": "m", "meters": "m", "metre": "m", "metres": "m",
    "in": "inch", "inches": "inch", '"': "inch", "ft": "foot", "feet": "foot",
}  # fmt: skip

SMALLEST_USUAL = 30.0
"""mm. A part smaller than this needs no splitting on any bed, so its file was likely drawn in
another unit: 1 to 30 units is the usual range of such parts in inches (common practice, no source).
"""
LIKELY_METRES = 2.0
"""Up to this many units the part was likely drawn in metres (common practice, no source)."""
LARGEST_USUAL = 10_000.0
"""mm. Larger than any printed part: the file was likely drawn in microns (common practice)."""


def unit_called(name: str) -> str:
    """Return the key in `MM_PER` for a unit's name, in any usual spelling.

    Raises
    ------
    ReadError
        If there is no such unit.
    """
    plain = name.strip().lower()
    plain = _NAMES.get(plain, plain)
    if plain not in MM_PER:
        raise ReadError(f"There is no length unit {name!r}; use one of {', '.join(MM_PER)}.")
    return plain


def likely_unit(largest: float) -> str | None:
    """Return the unit that a part was likely drawn in if not in mm; None where mm is likely.

    At most `LIKELY_METRES` suggests metres, below `SMALLEST_USUAL` inches, above `LARGEST_USUAL`
    microns.

    Parameters
    ----------
    largest : float
        Extent of the part in the numbers of its file.
    """
    if largest <= LIKELY_METRES:
        return "m"
    if largest < SMALLEST_USUAL:
        return "inch"
    return "micron" if largest > LARGEST_USUAL else None


def doubt_unit(largest: float, subject: str) -> list[Finding]:
    """Return a warning if a part of `largest` extent (file units read as mm) was likely not in mm.

    See `likely_unit`.
    """
    guess = likely_unit(largest)
    if guess is None:
        return []
    limits = {"m": LIKELY_METRES, "inch": SMALLEST_USUAL, "micron": LARGEST_USUAL}
    return [
        Finding(
            "reading.unit",
            Severity.WARNING,
            f"{subject} states no unit and was read in mm, which makes the part {largest:.4g} mm "
            f"long; if it was drawn in another unit, give it: in {guess} it would be "
            f"{largest * MM_PER[guess]:.4g} mm.",
            subject=subject,
            measured=largest,
            allowed=limits[guess],
            unit="mm",
        )
    ]
