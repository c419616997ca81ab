"""One proposal as a card: picture, figures as bars, and why one would choose it."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QGuiApplication,
    QImage,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
)
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from splitplanner.findings import counted
from splitplanner.window.lists.bars import BARS, Bars
from splitplanner.window.lists.definitions import definition
from splitplanner.window.lists.lines import badge_width, draw_badge
from splitplanner.window.look import look_of
from splitplanner.window.quantities import Quantities

__all__ = ["BARS", "ProposalCard"]

_PICTURE = QSize(100, 75)
_KEYS_THAT_ACCEPT = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class _Picture(QWidget):
    """The picture of a plan, with its number in the corner."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFixedSize(_PICTURE)
        self.image = QImage()
        self.number = 0
        self._scaled: QPixmap | None = None

    def set_image(self, image: QImage) -> None:
        self.image, self._scaled = image, None
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        painter = QPainter(self)
        look, ratio = look_of(self.palette()), self.devicePixelRatioF()
        if self.image.isNull():
            painter.setPen(look.colour("rule"))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        else:
            if self._scaled is None or self._scaled.devicePixelRatio() != ratio:
                self._scaled = QPixmap.fromImage(
                    self.image.scaled(
                        _PICTURE * ratio,
                        Qt.AspectRatioMode.KeepAspectRatio,
                        Qt.TransformationMode.SmoothTransformation,
                    )
                )
                self._scaled.setDevicePixelRatio(ratio)
            size = self._scaled.deviceIndependentSize()
            left, top = (self.width() - size.width()) / 2, (self.height() - size.height()) / 2
            painter.drawPixmap(
                QRectF(left, top, size.width(), size.height()),
                self._scaled,
                QRectF(self._scaled.rect()),
            )
        text, side = str(self.number), self.fontMetrics().height()
        width = badge_width(self.fontMetrics(), text)
        draw_badge(painter, QRectF(0, 0, width, side), text, look.accent)


class ProposalCard(QFrame):
    """One proposal.

    Signals
    -------
    entered(object), left(object)
        This card: the pointer or the focus came to it, or the focus left it.
    accepted(object)
        The proposal.
    """

    entered = Signal(object)
    left = Signal(object)
    accepted = Signal(object)

    def __init__(self, proposal: Any, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.bars = Bars()
        self._picture = _Picture()
        self._title, self._reason, self._estimated = QLabel(), QLabel(), QLabel("≈ estimated")
        self._title.setToolTip(definition("plan score"))
        self._estimated.setToolTip(definition("estimated"))
        self._reason.setWordWrap(True)
        self._reason.setTextFormat(Qt.TextFormat.PlainText)
        self._accept = QToolButton()
        self._accept.setText("Accept")
        # Enter accepts from the card: one stop of the Tab key for each is enough.
        self._accept.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._accept.setToolTip("Make this the plan, in one step that can be undone (Enter).")
        self._accept.clicked.connect(self.accept)
        self._is_shown = False
        self._quantities = Quantities()
        self._lay_out()
        self.show_proposal(proposal)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self._title)
        head.addStretch()
        head.addWidget(self._accept)
        right = QVBoxLayout()
        right.setSpacing(4)
        right.addLayout(head)
        right.addWidget(self._reason)
        right.addStretch()
        upper = QHBoxLayout()
        upper.setSpacing(10)
        left = QVBoxLayout()
        left.setSpacing(2)
        left.addWidget(self._picture)
        left.addWidget(self._estimated, 0, Qt.AlignmentFlag.AlignHCenter)
        left.addStretch()
        upper.addLayout(left)
        upper.addLayout(right, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 8, 8, 8)
        layout.setSpacing(5)
        layout.addLayout(upper)
        # Over the whole width, so that their names can be read.
        layout.addWidget(self.bars)

    def show_proposal(self, proposal: Any, score: float | None = None) -> None:
        """Show a proposal, with its plan score by other weights if it is given."""
        self.proposal = proposal
        self.score = proposal.draft.score if score is None else score
        self._picture.number = proposal.number
        self._picture.update()
        self.bars.show_figures(proposal.draft.card.figures)
        self._estimated.setVisible(not proposal.draft.card.figures.exact)
        self._reason.setText(proposal.reason)
        self._write()

    def _write(self) -> None:
        pieces = counted(len(self.proposal.draft.card.figures.pieces), "piece")
        score = self._quantities.number(self.score, 3)
        self._title.setText(f"<b>{pieces}</b>, score {score}")
        self._accept.setAccessibleName(f"Accept proposal {self.proposal.number}")
        self.setAccessibleName(f"Proposal {self.proposal.number}: {pieces}, score {score}")
        estimated = "" if self.proposal.draft.card.figures.exact else "Estimated. "
        self.setAccessibleDescription(f"{estimated}{self.proposal.reason} {self.bars.words}")

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities
        self.bars.set_quantities(quantities)
        self._write()

    def set_picture(self, image: QImage) -> None:
        """Show a picture of the plan."""
        self._picture.set_image(image)

    @property
    def picture(self) -> QImage:
        """The picture of the plan; null till there is one."""
        return self._picture.image

    @property
    def is_estimated(self) -> bool:
        """Whether it is said that the figures are estimated."""
        return not self._estimated.isHidden()

    def set_shown(self, is_shown: bool) -> None:
        """Mark it as the proposal that is previewed."""
        self._is_shown = is_shown
        self.update()

    def accept(self, *_: object) -> None:
        """Take the proposal."""
        self.accepted.emit(self.proposal)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw the card's ground, with a frame of its own when it is previewed."""
        look = look_of(self.palette())
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        chosen = self._is_shown or self.hasFocus()
        painter.setPen(QPen(look.colour("accent" if chosen else "rule"), 2 if chosen else 1))
        painter.setBrush(look.colour("raised"))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 5, 5)

    def event(self, event: QEvent) -> bool:
        """Preview the plan over which the pointer moves.

        A pointer that rests while cards are scrolled below it by keys does not count.
        """
        if event.type() == QEvent.Type.HoverMove:
            self.entered.emit(self)
        return super().event(event)

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Preview the plan that the keyboard went to."""
        super().focusInEvent(event)
        if event.reason() not in (
            Qt.FocusReason.ActiveWindowFocusReason,
            Qt.FocusReason.PopupFocusReason,
        ):
            self.entered.emit(self)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802
        """Go back to the plan itself when the keyboard goes elsewhere."""
        super().focusOutEvent(event)
        self.left.emit(self)
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Enter takes the proposal; it is copied in words as any text is."""
        if event.key() in _KEYS_THAT_ACCEPT:
            self.accept()
        elif event.matches(QKeySequence.StandardKey.Copy):
            text = f"{self.accessibleName()}. {self.accessibleDescription()}"
            QGuiApplication.clipboard().setText(text)
        else:
            super().keyPressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802
        """Take the proposal."""
        self.accept()
