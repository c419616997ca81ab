"""What can be done at a place of the station chart, for those who ask by the right button."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMenu

from splitplanner.window.chart.load_marks import LoadMark

if TYPE_CHECKING:
    from splitplanner.window.chart.canvas import ChartCanvas

ASKED = {
    "support": "&Support here",
    "clamp": "C&lamp here",
    "force": "&Force here …",
    "spread": "Force s&pread about here …",
    "on face": "Force on a &face of the model …",
}
"""What can be added to a load case, and how it is offered."""
ASKED_ANEW = {
    "new supported": "New load case on &two supports, force here …",
    "new clamped": "New load case, c&lamped here …",
}


def chart_menu(canvas: ChartCanvas, station: float, load: LoadMark | None) -> QMenu:
    """Return the menu at a station; of a support or load if one is there."""
    menu = QMenu(canvas)
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    if load is not None:
        if not load.is_support:
            menu.addAction("&Edit …", partial(canvas.load_edit_asked.emit, load))
        menu.addAction(f"&Delete {load.name.lower()}", partial(canvas.load_delete_asked.emit, load))
        return menu
    menu.addAction(
        f"&Cut at {canvas.station_text(station)}", partial(canvas.cut_asked.emit, station)
    )
    menu.addSeparator()
    if canvas.has_loads:
        for kind, words in ASKED.items():
            menu.addAction(words, partial(canvas.load_asked.emit, kind, station))
        menu.addSeparator()
    for kind, words in ASKED_ANEW.items():
        menu.addAction(words, partial(canvas.load_asked.emit, kind, station))
    return menu
