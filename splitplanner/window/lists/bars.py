"""The main figures of proposals as small bars, each beside the worst that is shown."""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QHelpEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from splitplanner.score import Figures, print_time
from splitplanner.window.lists.definitions import definition
from splitplanner.window.look import look_of
from splitplanner.window.quantities import Quantities

ENOUGH_PINS = 2
"""As its label says. With room for so many pins a seam counts as one with room."""
_COLUMNS = 2
_BAR = 4
_GAP_X, _GAP_Y = 14, 5


@dataclass(frozen=True)
class Bar:
    """One figure of a plan; less is better.

    Attributes
    ----------
    name : str
        As `splitplanner.window.lists.definitions` explains it.
    label : str
        Before the number.
    value : function of Figures
    text : function of the value, Figures and Quantities
    """

    name: str
    label: str
    value: Callable[[Figures], float]
    text: Callable[[float, Figures, Quantities], str]


def _lacking(figures: Figures) -> float:
    return float(sum(row.deep_room.count < ENOUGH_PINS for row in figures.seams))


def _hours(figures: Figures) -> float:
    return sum(
        print_time(row.volume, row.area, row.fit.height, row.support.volume, figures.printer).hours
        for row in figures.pieces
    )


BARS = (
    Bar(
        "overhang",
        "Overhang",
        lambda figures: sum(row.overhang.area for row in figures.pieces),
        lambda value, _, quantities: quantities.area(value),
    ),
    Bar(
        "support",
        "Support",
        lambda figures: sum(row.support.volume for row in figures.pieces),
        lambda value, _, quantities: quantities.volume(value),
    ),
    Bar(
        "seam seen",
        "Seam seen",
        lambda figures: sum(row.figures.seen_length for row in figures.seams),
        lambda value, _, quantities: quantities.length(value, 0),
    ),
    Bar(
        "seam hidden",
        "Hidden",
        lambda figures: sum(row.figures.hidden_length for row in figures.seams),
        lambda value, _, quantities: quantities.length(value, 0),
    ),
    Bar(
        "seams lacking room",
        "Under 2 pins",
        _lacking,
        lambda value, figures, _: f"{value:.0f} of {len(figures.seams)}",
    ),
    Bar(
        "estimated time", "Prints", _hours, lambda value, _, quantities: quantities.duration(value)
    ),
)


class Bars(QWidget):
    """Draws the bars of one plan, two beside each other."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.values: dict[str, float] = {}
        self.worst: dict[str, float] = {}
        self._texts: dict[str, str] = {}
        self._figures: Figures | None = None
        self._quantities = Quantities()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_figures(self, figures: Figures) -> None:
        """Show the figures of a plan."""
        self._figures = figures
        self.values = {bar.name: bar.value(figures) for bar in BARS}
        self._write()

    def set_worst(self, worst: Mapping[str, float]) -> None:
        """Set which value fills each bar."""
        self.worst = dict(worst)
        self.update()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities
        self._write()

    def _write(self) -> None:
        if self._figures is not None:
            self._texts = {
                bar.name: bar.text(self.values[bar.name], self._figures, self._quantities)
                for bar in BARS
            }
        self.update()

    def share(self, name: str) -> float:
        """Return how full a bar is, 0 to 1."""
        worst = self.worst.get(name, 0.0)
        return min(1.0, self.values.get(name, 0.0) / worst) if worst > 0 else 0.0

    @property
    def words(self) -> str:
        """All figures in words."""
        return ", ".join(f"{bar.name} {self._texts.get(bar.name, '')}" for bar in BARS)

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return the room that all bars take."""
        rows = -(-len(BARS) // _COLUMNS)
        return QSize(270, rows * self._row() - _GAP_Y)

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Return the least room: numbers are cut short below it."""
        return QSize(200, self.sizeHint().height())

    def _row(self) -> int:
        return self.fontMetrics().height() + _BAR + 1 + _GAP_Y

    def _box(self, at: int) -> QRect:
        width = (self.width() - _GAP_X * (_COLUMNS - 1)) // _COLUMNS
        row, column = divmod(at, _COLUMNS)
        return QRect(column * (width + _GAP_X), row * self._row(), width, self._row() - _GAP_Y)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw every figure with its bar below it."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look, metrics = look_of(self.palette()), self.fontMetrics()
        for at, bar in enumerate(BARS):
            box = self._box(at)
            line = QRect(box.left(), box.top(), box.width(), metrics.height())
            text = self._texts.get(bar.name, "")
            left = box.width() - metrics.horizontalAdvance(text) - 6
            label = metrics.elidedText(bar.label, Qt.TextElideMode.ElideRight, left)
            painter.setPen(look.colour("faint"))
            painter.drawText(line, Qt.AlignmentFlag.AlignLeft, label)
            painter.setPen(look.colour("ink"))
            painter.drawText(line, Qt.AlignmentFlag.AlignRight, text)
            track = QRectF(box.left(), box.bottom() - _BAR + 1, box.width(), _BAR)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(look.colour("rule"))
            painter.drawRoundedRect(track, 2, 2)
            share = self.share(bar.name)
            if share > 0:
                track.setWidth(max(_BAR, share * track.width()))
                painter.setBrush(look.colour("accent"))
                painter.drawRoundedRect(track, 2, 2)

    def tip_at(self, place: QPointF) -> str:
        """Return what the figure at a place means."""
        for at, bar in enumerate(BARS):
            if self._box(at).contains(place.toPoint()):
                text = html.escape(f"{bar.name}: {self._texts.get(bar.name, '')}")
                text = text[:1].upper() + text[1:]
                beside = (
                    "The bar stands beside the worst of all proposals shown; shorter is better."
                )
                return f"<p><b>{text}</b><br>{html.escape(definition(bar.name))} {beside}</p>"
        return ""

    def event(self, event: QEvent) -> bool:
        """Explain the figure under the pointer."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            QToolTip.showText(event.globalPos(), self.tip_at(QPointF(event.pos())), self)
            return True
        return super().event(event)
