"""Tabs that stand closer to each other, so that many titles are seen at once."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QProxyStyle, QStyle, QTabWidget

_BESIDE = 10
"""Round a title, both sides together, logical pixels."""


class _Narrow(QProxyStyle):
    """The style of the system, but for the room beside titles."""

    def pixelMetric(self, metric: Any, option: Any = None, widget: Any = None) -> int:  # noqa: N802
        usual = super().pixelMetric(metric, option, widget)
        return min(usual, _BESIDE) if metric == QStyle.PixelMetric.PM_TabBarTabHSpace else usual


class NarrowTabs(QTabWidget):
    """A `QTabWidget` with little room beside its titles."""

    def __init__(self) -> None:
        super().__init__()
        style = _Narrow()
        # A widget does not keep its style alive.
        style.setParent(self)
        self.tabBar().setStyle(style)
