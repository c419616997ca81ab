"""Colours for figures on faces: a scale that colour-blind people can read, and its legend."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from splitplanner.background.overlay import LEVELS, Overlay
from splitplanner.window.quantities import Quantities
from splitplanner.window.view.values import ShownBody

_NO = (0xB8, 0xBD, 0xC6)
_YES = {
    "overhang": (0xD5, 0x5E, 0x00),
    "support": (0xD5, 0x5E, 0x00),
    "good side": (0x00, 0x9E, 0x73),
}
"""Vermilion and bluish green: Okabe & Ito, "Color Universal Design" (2008)."""
_SCALE = np.array(
    [
        (0x00, 0x72, 0xB2),
        (0x56, 0xB4, 0xE9),
        (0xF0, 0xE4, 0x42),
        (0xE6, 0x9F, 0x00),
        (0xD5, 0x5E, 0),
    ],
    dtype=np.float64,
)
"""From little to much: blue, sky blue, yellow, orange and vermilion of the same set."""


@dataclass(frozen=True)
class Legend:
    """What colours of an overlay stand for.

    Attributes
    ----------
    title : str
    entries : tuple of (colour as ``#RRGGBB``, text)
    """

    title: str
    entries: tuple[tuple[str, str], ...]


def coloured(body: ShownBody, overlay: Overlay) -> ShownBody:
    """Return a body with a colour for each face; as it is if the overlay is not of its mesh."""
    levels = overlay.levels.get(body.name)
    if levels is None or len(levels) != len(body.faces):
        return body
    return replace(body, face_colours=_palette(overlay.name)[levels])


@cache
def _palette(name: str) -> NDArray[np.uint8]:
    """Return the colour of each level of an overlay, (LEVELS + 1, 3)."""
    share = np.linspace(0.0, len(_SCALE) - 1, LEVELS)
    steps = np.arange(len(_SCALE))
    scale = np.stack([np.interp(share, steps, channel) for channel in _SCALE.T], axis=1)
    found = np.vstack([_NO, np.rint(scale)]).astype(np.uint8)
    if name in _YES:
        found[1:] = _YES[name]
    return found


def legend_of(overlay: Overlay, quantities: Quantities) -> Legend:
    """Return what the colours stand for."""
    entries: tuple[tuple[str, str], ...]
    if overlay.name in _YES:
        words = {"overhang": "needs support", "support": "needs support", "good side": "good side"}
        entries = ((_hex(_YES[overlay.name]), words[overlay.name]), (_hex(_NO), "the rest"))
        return Legend(overlay.name.capitalize(), entries)
    low, high = overlay.scale
    texts = []
    for step in range(len(_SCALE)):
        value = low + (high - low) * step / (len(_SCALE) - 1)
        texts.append(_value_text(value, overlay.unit, quantities))
    entries = tuple((_hex(_SCALE[at]), text) for at, text in enumerate(texts))
    return Legend(overlay.name.capitalize(), entries)


def _value_text(value: float, unit: str, quantities: Quantities) -> str:
    if unit == "mm":
        return quantities.length(value, 2)
    return quantities.volume(value, 2) if unit == "mm3" else quantities.number(value, 1)


def _hex(colour: object) -> str:
    red, green, blue = (int(part) for part in np.asarray(colour))
    return f"#{red:02X}{green:02X}{blue:02X}"
