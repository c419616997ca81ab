"""Widgets below each other, and in tabs."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtWidgets import QSplitter, QTabWidget, QVBoxLayout, QWidget

from splitplanner.window.view.part_view import PartView


def stacked(*widgets: QWidget) -> QWidget:
    """Return a widget with others below each other; a view or a splitter takes the room."""
    box = QWidget()
    layout = QVBoxLayout(box)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(2)
    for widget in widgets:
        layout.addWidget(widget, 1 if isinstance(widget, PartView | QSplitter) else 0)
    return box


def fill(tabs: QTabWidget, widgets: Mapping[str, QWidget]) -> None:
    """Put widgets into tabs, by title, with a margin round each."""
    for title, widget in widgets.items():
        box = QWidget()
        layout = QVBoxLayout(box)
        layout.setContentsMargins(6, 6, 6, 6)
        layout.addWidget(widget)
        tabs.addTab(box, title)
