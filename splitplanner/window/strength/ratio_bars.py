"""Cells in which a ratio is a bar too: how much of the track is filled."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QStyle, QStyleOptionViewItem

from splitplanner.window.lists.lines import PADDING, LinesDelegate, Shown
from splitplanner.window.lists.rows_model import RowsModel
from splitplanner.window.lists.tables import Table
from splitplanner.window.look import look_of

_BAR = 4
HOLDS, FAILS = "#009E73", "#D55E00"
"""Okabe & Ito (2008): bluish green and vermilion."""


@dataclass(frozen=True)
class Ratio(Shown):
    """A line with a bar at the foot of its cell.

    Attributes
    ----------
    share : float
        Of the track that is filled; more than 1 fills it.
    """

    share: float = 0.0


class BarsDelegate(LinesDelegate):
    """Draws the lines of a cell, and a bar below them where one is a `Ratio`."""

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Draw the lines, and the bar on them."""
        super().paint(painter, option, index)
        ratio = next(
            (line for line in index.data(self.role) or () if isinstance(line, Ratio)), None
        )
        opt: Any = option
        if ratio is None or not math.isfinite(ratio.share):
            return
        look = look_of(opt.palette)
        box = QRectF(opt.rect).adjusted(PADDING, 0, -PADDING, -2)
        track = QRectF(box.left(), box.bottom() - _BAR, box.width(), _BAR)
        is_chosen = bool(opt.state & QStyle.StateFlag.State_Selected)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look.colour("rule"))
        painter.drawRoundedRect(track, 2, 2)
        if ratio.share > 0.0:
            track.setWidth(max(_BAR, min(ratio.share, 1.0) * track.width()))
            painter.setBrush(look.colour("paper" if is_chosen else "accent"))
            painter.drawRoundedRect(track, 2, 2)
        painter.restore()

    def sizeHint(  # noqa: N802
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """Return the size of the lines, with room for a bar."""
        return super().sizeHint(option, index) + QSize(0, _BAR)


def ratio_table(model: RowsModel, name: str) -> Table:
    """Return a table whose ratios are bars too."""
    made = Table(model, name)
    made.setItemDelegate(BarsDelegate(made))
    lines = max(len(column.figures) for column in model.columns)
    made.set_least_height(lines * made.fontMetrics().height() + 2 * PADDING + _BAR)
    return made
