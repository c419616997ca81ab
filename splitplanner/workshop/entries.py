"""What every entry on the hardware shelf is checked for. Each fault names the entry."""

from __future__ import annotations

import math
import re
from itertools import pairwise

from splitplanner.errors import WorkshopError

_SIZE = re.compile(r"M(\d+(?:\.\d+)?)(?:x\d+(?:\.\d+)?)?")


def named(what: str, *words: str) -> str:
    """Return what an entry is called in a message, such as ``Nut “ISO 4032 M3”``.

    Raises
    ------
    WorkshopError
        If one of the words, which are its name, standard or size, is empty.
    """
    if not all(word.strip() for word in words):
        raise WorkshopError(
            f"{what} “{' '.join(words).strip()}”: give the name, standard and size that the table "
            "has a column for."
        )
    return f"{what} “{' '.join(words)}”"


def nominal_diameter(name: str, size: str) -> float:
    """Return the diameter in the name of a metric thread, mm: 8 for ``M8`` and for ``M8x1``.

    Raises
    ------
    WorkshopError
        If `size` does not name a metric thread.
    """
    match = _SIZE.fullmatch(size)
    diameter = float(match.group(1)) if match else 0.0
    if diameter <= 0:
        raise WorkshopError(f"{name}: “{size}” is no size of a metric thread such as M4 or M8x1.")
    return diameter


def check_above_zero(name: str, **sizes: float) -> None:
    """Check that sizes in mm are finite and above 0.

    Raises
    ------
    WorkshopError
        If one is not.
    """
    for what, value in sizes.items():
        if not 0 < value < math.inf:
            raise WorkshopError(
                f"{name}: the {what.replace('_', ' ')} must be above 0 mm, got {value:g} mm."
            )


def check_rising(name: str, **sizes: float) -> None:
    """Check that sizes in mm are finite and above 0, and each one larger than that before it.

    Raises
    ------
    WorkshopError
        If one is not.
    """
    check_above_zero(name, **sizes)
    for (less, low), (more, high) in pairwise(sizes.items()):
        if low >= high:
            raise WorkshopError(
                f"{name}: the {more.replace('_', ' ')} ({high:g} mm) must be above the "
                f"{less.replace('_', ' ')} ({low:g} mm)."
            )


def stocked_lengths(name: str, lengths: tuple[float, ...]) -> tuple[float, ...]:
    """Return stocked lengths in mm, rising and each of them once.

    Raises
    ------
    WorkshopError
        If there is none, or one is not above 0 mm.
    """
    if not lengths:
        raise WorkshopError(f"{name}: name at least one length that you can buy.")
    for length in lengths:
        check_above_zero(name, length=length)
    return tuple(sorted(set(lengths)))
