"""The program's icon: an arch cut in two, with the dashed seam and two pins across it.

``python -m splitplanner.window.icon DIR`` draws it anew into DIR, as SVG and as PNG.
"""

from __future__ import annotations

import sys
from importlib import resources
from pathlib import Path

from PySide6.QtCore import QByteArray
from PySide6.QtGui import QIcon, QImage, QPainter, QPixmap

NAME = "splitplanner"
SIDE = 256
"""Of the PNG, pixels; and of the drawing, in its own units."""
_BLUE, _ORANGE, _INK, _LIGHT = "#0072B2", "#E69F00", "#1A1A1A", "#FFFFFF"
"""Okabe & Ito's blue and orange."""
_LEFT = "M116 44 H84 C46 44 20 70 20 108 V212 H74 V120 C74 108 82 100 94 100 H116 Z"
_RIGHT = "M140 44 H172 C210 44 236 70 236 108 V212 H182 V120 C182 108 174 100 162 100 H140 Z"
_PINS = (58, 78)
"""The upper ends of the two pins."""


def svg() -> str:
    """Return the drawing as SVG."""
    outline = f'stroke="{_INK}" stroke-width="6" stroke-linejoin="round"'
    pins = "\n".join(
        f'  <rect x="100" y="{top}" width="56" height="10" rx="5" fill="{_LIGHT}" '
        f'stroke="{_INK}" stroke-width="4"/>'
        for top in _PINS
    )
    return f"""<svg xmlns="http://www.w3.org/2000/svg" width="{SIDE}" height="{SIDE}" \
viewBox="0 0 {SIDE} {SIDE}">
  <title>Split planner</title>
  <path d="{_LEFT}" fill="{_BLUE}" {outline}/>
  <path d="{_RIGHT}" fill="{_ORANGE}" {outline}/>
  <path d="M128 18 V126" stroke="{_LIGHT}" stroke-width="12" stroke-linecap="round"/>
  <path d="M128 18 V126" stroke="{_INK}" stroke-width="6" stroke-dasharray="14 10" \
stroke-linecap="butt"/>
{pins}
</svg>
"""


def image(side: int = SIDE) -> QImage:
    """Return the drawing as an image of `side` pixels, clear where nothing is."""
    from PySide6.QtSvg import QSvgRenderer

    drawn = QImage(side, side, QImage.Format.Format_ARGB32)
    drawn.fill(0)
    painter = QPainter(drawn)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    QSvgRenderer(QByteArray(svg().encode())).render(painter)
    painter.end()
    return drawn


def application_icon() -> QIcon:
    """Return the icon of windows, from the copy in the package: no plugin has to be loaded."""
    data = (resources.files("splitplanner.window") / "data" / f"{NAME}.png").read_bytes()
    picture = QPixmap()
    picture.loadFromData(data, "PNG")
    return QIcon(picture)


def draw_into(folder: Path) -> None:
    """Write the drawing as SVG and as PNG."""
    (folder / f"{NAME}.svg").write_text(svg(), encoding="utf-8", newline="\n")
    image().save(str(folder / f"{NAME}.png"))


if __name__ == "__main__":
    draw_into(Path(sys.argv[1]))
