"""Outlines as text: ``0 0; 200 0; 0 300``, one corner after the other."""

from __future__ import annotations

import re
from collections.abc import Iterable

import shapely

from splitplanner.errors import WorkshopError
from splitplanner.window.quantities import Quantities
from splitplanner.workshop.printer import Outline


def unit_word(quantities: Quantities) -> str:
    """Return what lengths are in, as a word in a sentence."""
    return "inches" if quantities.unit == "inch" else "mm"


def text_of(outline: Iterable[tuple[float, float]], quantities: Quantities) -> str:
    """Return the corners (mm) of an outline as text, in the unit that is shown."""
    return "; ".join(
        " ".join(f"{round(quantities.shown(each), 4):.10g}" for each in corner)
        for corner in outline
    )


def outline_of(text: str, quantities: Quantities, what: str) -> Outline:
    """Return the corners (mm) that a text in the unit that is shown stands for.

    Parameters
    ----------
    text : str
        A space between x and y, a semicolon or a new line between corners. The decimal sign is a
        point or a comma.
    quantities : Quantities
    what : str
        Such as ``The bed's outline``, for the message.

    Raises
    ------
    WorkshopError
        If a corner is none, if there are fewer than three, or if the outline crosses itself.
    """
    corners = tuple(
        _corner(each, quantities, what) for each in re.split(r"[;\n]", text) if each.strip()
    )
    if len(corners) < 3:
        raise WorkshopError(
            f"{what} needs at least three corners, such as: 0 0; 200 0; 0 300 (x and y of each "
            f"in {unit_word(quantities)})."
        )
    shape = shapely.Polygon(corners)
    if not shape.is_valid or not shape.area > 0:
        raise WorkshopError(
            f"{what} crosses itself or has no area; give its corners in order, going round."
        )
    return corners


def _corner(text: str, quantities: Quantities, what: str) -> tuple[float, float]:
    words = text.split()
    try:
        x, y = (quantities.entered(float(word.replace(",", "."))) for word in words)
    except ValueError:
        raise WorkshopError(
            f"{what}: “{text.strip()}” is no corner; write x and y with a space between, such as "
            "200 0, and a semicolon between corners."
        ) from None
    if not all(abs(each) < 1e6 for each in (x, y)):
        raise WorkshopError(f"{what}: “{text.strip()}” is too far away for a corner of a bed.")
    return x, y
