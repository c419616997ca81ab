"""Digits, letters and arrows as polygons, drawn with a pen of one width.

The strokes are those that A. V. Hershey drew at the U.S. National Bureau of Standards (NBS Special
Publication 424, 1976), in the plain face with single strokes, as the package Hershey-Fonts has
them: made for plotters and engraving, so that every line is as wide as the pen and none thinner.
"""

from __future__ import annotations

from functools import lru_cache

import shapely
from shapely.geometry import LineString, MultiLineString, MultiPolygon

from splitplanner.solid.section import to_polygons

_FACE = "futural"
"""The face with single strokes and no serifs."""
_BARB = 0.35
"""How far the barbs of an arrow reach back and to the sides, as a share of its length."""
_QUARTER = 6
"""Corners in a quarter of a round end: a line's end is no more than a millimetre wide."""


def lettering(text: str, height: float, stroke: float) -> MultiPolygon:
    """Return the outline of a line of text.

    Parameters
    ----------
    text : str
        Printable ASCII.
    height : float
        Of capitals and digits over all, mm; they stand on y = 0, and the text begins at x = 0.
    stroke : float
        Width of every line, mm; line ends are round.

    Returns
    -------
    shapely MultiPolygon, mm
        Strokes that touch are one polygon; bowls of letters are holes.

    Raises
    ------
    ValueError
        If the text has nothing to draw or a character that is not in the font, or the stroke is
        not above 0 and below a quarter of the height, where bowls close.
    """
    _check_pen(height, stroke)
    strokes = text_strokes(text, height, stroke)
    if not strokes:
        raise ValueError(f"there is nothing to draw in {text!r}")
    return _drawn(MultiLineString(strokes), stroke)


def text_strokes(text: str, height: float, stroke: float) -> list[list[tuple[float, float]]]:
    """Return the middles of the strokes of `lettering`: a line of corners (x, y) each, mm."""
    glyphs, base, capital = _font()
    scale = (height - stroke) / capital
    strokes: list[list[tuple[float, float]]] = []
    left = 0.0
    for character in text:
        if character not in glyphs:
            raise ValueError(f"the font has no {character!r}")
        width, lines = glyphs[character]
        strokes += [
            [(left + x * scale, (base - y) * scale + stroke / 2) for x, y in line] for line in lines
        ]
        # A stroke's width more, so that what is free between letters is as the font has it.
        left += width * scale + stroke
    low = min((x for line in strokes for x, _ in line), default=0.0) - stroke / 2
    return [[(x - low, y) for x, y in line] for line in strokes]


def arrow(length: float, stroke: float) -> MultiPolygon:
    """Return the outline of an arrow that points along +y, from y = 0 to y = `length` (mm).

    Its shaft is on x = 0.

    Parameters
    ----------
    length : float
        Over all, mm.
    stroke : float
        Width of its lines, mm; their ends are round.

    Raises
    ------
    ValueError
        If the stroke is not above 0 and below a quarter of the length.
    """
    _check_pen(length, stroke)
    half = stroke / 2
    tip, barb = length - half, _BARB * (length - stroke)
    shaft = LineString([(0.0, half), (0.0, tip)])
    head = LineString([(-barb, tip - barb), (0.0, tip), (barb, tip - barb)])
    return _drawn(MultiLineString([shaft, head]), stroke)


def _drawn(lines: MultiLineString, stroke: float) -> MultiPolygon:
    return MultiPolygon(to_polygons(shapely.buffer(lines, stroke / 2, quad_segs=_QUARTER)))


def _check_pen(height: float, stroke: float) -> None:
    if not 0 < stroke < height / 4:
        raise ValueError(
            f"a stroke of {stroke:g} mm draws nothing that can be read {height:g} mm high"
        )


Glyph = tuple[float, tuple[tuple[tuple[float, float], ...], ...]]
"""Width, and strokes from the left margin on, in the font's own unit, y down."""


@lru_cache(maxsize=1)
def _font() -> tuple[dict[str, Glyph], float, float]:
    """Return the glyphs, where they stand, and how high capitals are, in the font's unit."""
    # Imported late: it unpacks its fonts, and most commands draw no letters.
    from HersheyFonts import HersheyFonts

    font = HersheyFonts()
    font.load_default_font(_FACE)
    glyphs = {
        character: (
            float(glyph.char_width),
            tuple(
                tuple((float(x - glyph.left_offset), float(y)) for x, y in line)
                for line in glyph.strokes
                if len(line) > 1
            ),
        )
        for character, glyph in font.all_glyphs.items()
        if character.isascii() and character.isprintable()
    }
    # The lines on which capitals stand and end are those of the letter H.
    heights = [y for line in glyphs["H"][1] for _, y in line]
    return glyphs, max(heights), max(heights) - min(heights)
