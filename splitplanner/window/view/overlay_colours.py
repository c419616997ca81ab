"""Colours for figures on faces: a scale that colour-blind people can read, and its legend."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats
from splitplanner.background.overlay import Overlay
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
_SHARE = 2.0
"""Of the values so many percent at either end do not stretch the scale."""
_WALLS = 3.0
"""The scale of wall thickness ends at so many times the usual wall."""


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
    values = overlay.values.get(body.name)
    if values is None or len(values) != len(body.faces):
        return body
    return replace(body, face_colours=face_colours(values, overlay))


def face_colours(values: Floats, overlay: Overlay) -> NDArray[np.uint8]:
    """Return a colour (m, 3) for each value (m,)."""
    found = np.full((len(values), 3), _NO, dtype=np.uint8)
    known = np.isfinite(values)
    if overlay.name in _YES:
        found[known & (values > 0)] = _YES[overlay.name]
        return found
    low, high = scale_of(overlay)
    share = np.clip((values[known] - low) / max(high - low, 1e-9), 0.0, 1.0)
    at = share * (len(_SCALE) - 1)
    below = np.minimum(at.astype(np.int64), len(_SCALE) - 2)
    rest = (at - below)[:, None]
    found[known] = np.rint((1.0 - rest) * _SCALE[below] + rest * _SCALE[below + 1])
    return found


def scale_of(overlay: Overlay) -> tuple[float, float]:
    """Return the values at both ends of the scale."""
    values = np.concatenate([each[np.isfinite(each)] for each in overlay.values.values()])
    if not len(values):
        return 0.0, 1.0
    low, high = np.percentile(values, [_SHARE, 100.0 - _SHARE])
    if overlay.unit == "mm":
        # What is seen through a rib from end to end is no wall.
        high = min(high, _WALLS * float(np.median(values)))
    return float(low), float(high)


def legend_of(overlay: Overlay, quantities: Quantities) -> Legend:
    """Return what the colours stand for."""
    entries: tuple[tuple[str, str], ...]
    if overlay.name in _YES:
        words = {"overhang": "needs support", "support": "needs support", "good side": "good side"}
        entries = ((_hex(_YES[overlay.name]), words[overlay.name]), (_hex(_NO), "the rest"))
        return Legend(overlay.name.capitalize(), entries)
    low, high = scale_of(overlay)
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
