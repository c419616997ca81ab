"""Colours for figures on faces: a scale that colour-blind people can read, and its legend."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats
from splitplanner.background.overlay import LEVELS, LINES, MODULUS, THICKNESS, Overlay
from splitplanner.score import WallFigures
from splitplanner.window.quantities import Quantities
from splitplanner.window.view.values import ShownBody
from splitplanner.window.view.wall_words import lines_words, thickness_words

_NO = (0xB8, 0xBD, 0xC6)
_TINY = 1e-9
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
_TWO_SIDED = np.array(
    [
        (0x00, 0x72, 0xB2),
        (0x56, 0xB4, 0xE9),
        (0xF4, 0xF1, 0xEA),
        (0xE6, 0x9F, 0x00),
        (0xD5, 0x5E, 0),
    ],
    dtype=np.float64,
)
"""From too little to too much: blue, nearly white where it is right, vermilion."""
_WORDS = {
    "good side": "Faces that people see when the part is put together; seams and the bed leave "
    "marks on them.",
    "islands": "Separate outlines in the printed layer in which a face begins; the nozzle travels "
    "over a gap to each one more.",
    MODULUS: "How well the uncut section at each place resists bending, by the fibre that is "
    "furthest out.",
}
"""What an overlay shows, where its name does not say it."""


@dataclass(frozen=True)
class Legend:
    """What colours of an overlay stand for.

    Attributes
    ----------
    title : str
    entries : tuple of (colour as ``#RRGGBB``, text)
    words : str
        What else is to be said, in one line.
    """

    title: str
    entries: tuple[tuple[str, str], ...]
    words: str = ""


def coloured(body: ShownBody, overlay: Overlay, pose: Floats | None = None) -> ShownBody:
    """Return a body with a colour for each face; as it is if the overlay is not of its mesh.

    Parameters
    ----------
    body : ShownBody
    overlay : Overlay
    pose : (4, 4) float array, optional
        How the body lies where it is not in its place; then it is not bent either.
    """
    levels = overlay.levels.get(body.name)
    vertices, faces = overlay.meshes.get(body.name, (body.vertices, body.faces))
    if levels is None or len(levels) != len(faces):
        return body
    if pose is None:
        vertices = overlay.bent(body.name, vertices)
    elif vertices is not body.vertices:
        vertices = vertices @ pose[:3, :3].T + pose[:3, 3]
    colours = _palette(overlay.name)[levels]
    return replace(body, vertices=vertices, faces=faces, face_colours=colours)


@cache
def _palette(name: str) -> NDArray[np.uint8]:
    """Return the colour of each level of an overlay, (LEVELS + 1, 3)."""
    colours = _TWO_SIDED if name == LINES else _SCALE
    share = np.linspace(0.0, len(colours) - 1, LEVELS)
    steps = np.arange(len(colours))
    scale = np.stack([np.interp(share, steps, channel) for channel in colours.T], axis=1)
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
        said = overlay.words or _WORDS.get(overlay.name, "")
        return Legend(overlay.name.capitalize(), entries, said)
    if overlay.name == LINES and overlay.walls is not None:
        entries = tuple(_of_lines(overlay.walls, quantities))
        return Legend("Wall lines", entries, lines_words(overlay.walls, quantities))
    entries = tuple(_of_scale(overlay, quantities))
    said = _WORDS.get(overlay.name, "")
    if overlay.name == THICKNESS and overlay.walls is not None:
        entries = (*entries, (_hex(_NO), "no wall"))
        said = thickness_words(overlay.walls, quantities)
    if overlay.is_of_load:
        said = overlay.words
        if overlay.moves and overlay.times > 1.0:
            said += f" It is drawn {quantities.number(overlay.times)} times as large."
    return Legend(overlay.name.capitalize(), entries, said)


def _of_scale(overlay: Overlay, quantities: Quantities) -> Iterator[tuple[str, str]]:
    """Yield the colours along the scale of an overlay; none where no face has a figure."""
    if not any(levels.any() for levels in overlay.levels.values()):
        return
    low, high = overlay.scale
    steps = [low + (high - low) * share for share in np.linspace(0.0, 1.0, len(_SCALE))]
    if overlay.unit == "islands":
        # There is no half of one.
        steps = sorted({round(step) for step in steps})
    palette = _palette(overlay.name)
    for value in steps:
        share = min(max((value - low) / max(high - low, _TINY), 0.0), 1.0)
        yield (
            _hex(palette[1 + round(share * (LEVELS - 1))]),
            _value_text(value, overlay.unit, quantities),
        )


def _of_lines(walls: WallFigures, quantities: Quantities) -> Iterator[tuple[str, str]]:
    """Yield the colours of walls that are too thin for their lines, right, or too thick."""
    half = walls.line_width / 2
    yield _hex(_TWO_SIDED[0]), f"{quantities.length(-half, 2)} pressed"
    yield _hex(_TWO_SIDED[1]), _plain(-half / 2, quantities)
    yield _hex(_TWO_SIDED[2]), "whole"
    yield _hex(_TWO_SIDED[3]), _plain(half / 2, quantities)
    yield _hex(_TWO_SIDED[4]), f"{_plain(half, quantities)} a gap"
    yield _hex(_NO), "no wall"


def _plain(mm: float, quantities: Quantities) -> str:
    """Return a length with its sign and without its unit."""
    digits = 3 if quantities.unit == "inch" else 2
    return f"{'+' if mm > 0 else ''}{quantities.number(quantities.shown(mm), digits)}"


def _value_text(value: float, unit: str, quantities: Quantities) -> str:
    if unit == "mm":
        return quantities.length(value, 2)
    if unit == "share":
        return quantities.share(value, 0 if value >= 0.1 or value == 0.0 else 2)
    if unit == "mm3":
        return quantities.volume(value, 2)
    count = round(value)
    return "1 island" if count == 1 else f"{quantities.number(count)} islands"


def _hex(colour: object) -> str:
    red, green, blue = (int(part) for part in np.asarray(colour))
    return f"#{red:02X}{green:02X}{blue:02X}"
