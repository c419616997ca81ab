"""Cells of tables: lines of text below each other, each with a coloured mark if it needs one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPalette
from PySide6.QtWidgets import (
    QApplication,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
)

from splitplanner.findings import Severity
from splitplanner.score.lying import Fit
from splitplanner.window.look import FIT_COLOURS, FIT_MARKS

PADDING = 5
"""Between a cell's edge and its text, logical pixels."""
_GAP = 5
_DARK_INK, _LIGHT_INK = QColor("#101010"), QColor("#FFFFFF")

SEVERITY_COLOURS = {
    Severity.FAULT: "#D55E00",
    Severity.WARNING: "#E69F00",
    Severity.NOTE: "#56B4E9",
}
"""Okabe & Ito, "Color Universal Design" (2008): vermilion, orange and sky blue."""
SEVERITY_MARKS = {Severity.FAULT: "✕", Severity.WARNING: "!", Severity.NOTE: "i"}
RANK = (Severity.FAULT, Severity.WARNING, Severity.NOTE)
"""The worst first."""


@dataclass(frozen=True)
class Shown:
    """One line of a cell.

    Attributes
    ----------
    text : str
    mark : str
        A sign that stands before it, on a patch of `colour`; none if empty.
    colour : str
        ``#RRGGBB``.
    faint : bool
        Whether it matters less than the lines beside it.
    """

    text: str
    mark: str = ""
    colour: str = ""
    faint: bool = False


def shown_fit(fit: Fit) -> Shown:
    """Return a fit as a mark in its colour, and in words."""
    return Shown(str(fit), FIT_MARKS[fit], FIT_COLOURS[fit])


def shown_findings(count: int, worst: Severity | None) -> Shown:
    """Return how many findings there are, with the mark of the worst."""
    if worst is None or not count:
        return Shown("none", faint=True)
    return Shown(str(count), SEVERITY_MARKS[worst], SEVERITY_COLOURS[worst])


def ink_on(colour: QColor) -> QColor:
    """Return black or white, whichever is read better on a colour.

    By the contrast ratio of WCAG 2.1, section 1.4.3.
    """
    light = _luminance(colour)
    on_dark, on_light = 1.05 / (light + 0.05), (light + 0.05) / (_luminance(_DARK_INK) + 0.05)
    return _DARK_INK if on_light >= on_dark else _LIGHT_INK


def _luminance(colour: QColor) -> float:
    """Return the relative luminance, 0 to 1 (WCAG 2.1, definition of relative luminance)."""
    channels = (colour.redF(), colour.greenF(), colour.blueF())
    red, green, blue = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def draw_badge(painter: QPainter, box: QRectF, text: str, colour: str) -> None:
    """Draw a mark or a number on a patch of colour that fills a box."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colour))
    painter.drawRoundedRect(box, 3.5, 3.5)
    font = QFont(painter.font())
    font.setBold(True)
    painter.setFont(font)
    painter.setPen(ink_on(QColor(colour)))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.restore()


def badge_width(metrics: QFontMetrics, text: str) -> int:
    """Return how wide a mark's patch is, logical pixels: square for one sign."""
    return max(metrics.height(), metrics.horizontalAdvance(text) + 6)


def draw_line(
    painter: QPainter, box: QRect, line: Shown, ink: QColor, faint: QColor, right: bool
) -> None:
    """Draw one line in a box, cut short with dots where it is too long."""
    metrics = painter.fontMetrics()
    patch = badge_width(metrics, line.mark) if line.mark else 0
    lead = patch + _GAP if patch else 0
    text = metrics.elidedText(line.text, Qt.TextElideMode.ElideRight, box.width() - lead)
    width = lead + metrics.horizontalAdvance(text)
    left = box.right() + 1 - width if right else box.left()
    if patch:
        side = metrics.height() - 2
        top = box.top() + (box.height() - side) / 2
        draw_badge(painter, QRectF(left, top, patch, side), line.mark, line.colour)
    painter.setPen(faint if line.faint else ink)
    start = QRect(left + lead, box.top(), box.right() + 2 - left - lead, box.height())
    painter.drawText(start, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)


class LinesDelegate(QStyledItemDelegate):
    """Draws the lines of a cell."""

    role = Qt.ItemDataRole.UserRole + 1

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Draw the cell's ground as the style has it, and the lines on it."""
        opt: Any = QStyleOptionViewItem(option)
        self.initStyleOption(opt, index)
        opt.text = ""
        style = opt.widget.style() if opt.widget else QApplication.style()
        painter.save()
        painter.setFont(opt.font)
        style.drawControl(QStyle.ControlElement.CE_ItemViewItem, opt, painter, opt.widget)
        self.draw_lines(painter, opt, index)
        painter.restore()

    def draw_lines(
        self, painter: QPainter, opt: Any, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Draw the lines in the middle of the cell."""
        lines = [line for line in index.data(self.role) or () if line.text or line.mark]
        ink, faint = inks(opt)
        height = painter.fontMetrics().height()
        top = opt.rect.top() + (opt.rect.height() - height * len(lines)) // 2
        right = bool(opt.displayAlignment & Qt.AlignmentFlag.AlignRight)
        for number, line in enumerate(lines):
            box = QRect(
                opt.rect.left() + PADDING,
                top + number * height,
                opt.rect.width() - 2 * PADDING,
                height,
            )
            draw_line(painter, box, line, ink, faint, right)

    def sizeHint(  # noqa: N802
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """Return the size that shows all lines whole."""
        metrics: QFontMetrics = option.fontMetrics
        lines = index.data(self.role) or ()
        widths = [
            metrics.horizontalAdvance(line.text)
            + (badge_width(metrics, line.mark) + _GAP if line.mark else 0)
            for line in lines
        ]
        return QSize(
            max(widths, default=0) + 2 * PADDING, metrics.height() * len(lines) + 2 * PADDING
        )


def inks(opt: Any) -> tuple[QColor, QColor]:
    """Return the colours of texts and of those that matter less, as an item is shown."""
    palette: QPalette = opt.palette
    group = (
        QPalette.ColorGroup.Active
        if opt.state & QStyle.StateFlag.State_Active
        else QPalette.ColorGroup.Inactive
    )
    chosen = bool(opt.state & QStyle.StateFlag.State_Selected)
    role = QPalette.ColorRole.HighlightedText if chosen else QPalette.ColorRole.Text
    ink = palette.color(group, role)
    faint = QColor(ink)
    faint.setAlphaF(0.85 if chosen else 0.7)
    return ink, faint
