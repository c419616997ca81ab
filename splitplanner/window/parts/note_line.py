"""A line that says something in place, with a mark, and buttons to answer with."""

from __future__ import annotations

from enum import StrEnum

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QWidget,
)

from splitplanner.window.look import look_of

TEXT_FLAGS = (
    Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
)
"""What is said can be copied."""


class Mark(StrEnum):
    """What kind of thing is said; its value is what is said of it aloud."""

    INFO = "note"
    QUESTION = "question"
    DONE = "done"
    WARNING = "warning"
    FAULT = "fault"


_GLYPHS = {Mark.INFO: "i", Mark.QUESTION: "?", Mark.DONE: "✓", Mark.WARNING: "!", Mark.FAULT: "✕"}
_COLOURS = {
    Mark.INFO: "#56B4E9",
    Mark.QUESTION: "#56B4E9",
    Mark.DONE: "#009E73",
    Mark.WARNING: "#E69F00",
    Mark.FAULT: "#D55E00",
}
"""Okabe & Ito (2008): sky blue, bluish green, orange and vermilion."""


class _Badge(QWidget):
    """The mark: a glyph on a disc of its colour."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.mark = Mark.INFO
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:  # noqa: N802
        side = self.fontMetrics().height() + 4
        return QSize(side, side)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        disc = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(_COLOURS[self.mark]))
        painter.drawEllipse(disc)
        font = QFont(self.font())
        font.setBold(True)
        painter.setFont(font)
        # Black is read on each of these colours, in light and dark.
        painter.setPen(QColor("#000000"))
        painter.drawText(disc, Qt.AlignmentFlag.AlignCenter, _GLYPHS[self.mark])


class NoteLine(QFrame):
    """Says one thing; hidden while there is nothing to say."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._badge = _Badge(self)
        self._text = QLabel(self)
        self._text.setWordWrap(True)
        self._text.setTextFormat(Qt.TextFormat.PlainText)
        self._text.setTextInteractionFlags(TEXT_FLAGS)
        # Buttons are reached first by Tab; the text is still selected with the mouse and copied.
        self._text.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(14, 8, 10, 8)
        self._row.setSpacing(10)
        self._row.addWidget(self._badge)
        self._row.addWidget(self._text, 1)
        self._take_colours()
        self.hide()

    def say(self, mark: Mark, text: str) -> None:
        """Show a text with its mark; an empty one hides the line."""
        self._badge.mark = mark
        self._badge.update()
        self._text.setText(text)
        self._text.setAccessibleName(f"{mark.value}: {text}" if text else "")
        self.setAccessibleName(self._text.accessibleName())
        self.setVisible(bool(text))
        self.update()

    @property
    def text(self) -> str:
        """What is said; empty if nothing is."""
        return self._text.text()

    @property
    def mark(self) -> Mark:
        """The mark of what is said."""
        return self._badge.mark

    def add(self, widget: QWidget) -> None:
        """Put a widget at the end of the line."""
        self._row.addWidget(widget)

    def add_button(self, text: str, tip: str) -> QPushButton:
        """Put a button at the end of the line and return it."""
        button = QPushButton(text, self)
        button.setToolTip(tip)
        button.setAccessibleDescription(tip)
        button.setAutoDefault(False)
        self.add(button)
        return button

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802
        """Follow the system from light to dark."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._take_colours()
            self.update()

    def _take_colours(self) -> None:
        """Write in the ink of the look, whatever the system's colour of texts is."""
        ink = look_of(self.palette()).colour("ink")
        palette = self._text.palette()
        if palette.color(QPalette.ColorRole.WindowText) != ink:
            palette.setColor(QPalette.ColorRole.WindowText, ink)
            self._text.setPalette(palette)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw the slip that the text stands on, with a stripe in the colour of its mark."""
        look = look_of(self.palette())
        painter = QPainter(self)
        painter.fillRect(self.rect(), look.colour("raised"))
        painter.fillRect(QRectF(0, 0, 4, self.height()), QColor(_COLOURS[self._badge.mark]))
        painter.setPen(look.colour("rule"))
        painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
