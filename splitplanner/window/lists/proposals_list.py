"""The list of proposals: asked for, streamed in, compared, previewed and accepted."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QImage, QKeyEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from splitplanner.window.lists.proposal_card import BARS, ProposalCard
from splitplanner.window.parts.column_scroll import ColumnScroll
from splitplanner.window.quantities import Quantities

_ASK, _STOP = "&Ask for proposals", "St&op"
_ASK_TIP = "Look for plans that fit the bed. The plan you have stays as it is till you accept one."
_STOP_TIP = "End the search. The proposals found so far stay."
_STEPS = 1000


class _Scroll(ColumnScroll):
    """Leaves all keys but those of whole pages to the list, which goes from card to card."""

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        if event.key() in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            super().keyPressEvent(event)
        else:
            event.ignore()


class ProposalsList(QWidget):
    """Proposals as cards; a proposal is any `splitplanner.suggest.Proposal`.

    Signals
    -------
    previewed(object)
        The proposal that the pointer or the keyboard is on, or None when it is on none.
    accepted(object)
        The proposal that is to become the plan.
    asked(), stopped()
        Proposals are asked for, or no more of them.
    """

    previewed = Signal(object)
    accepted = Signal(object)
    asked = Signal()
    stopped = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cards: list[ProposalCard] = []
        self._shown: ProposalCard | None = None
        self._quantities = Quantities()
        self._button = QPushButton()
        self._button.clicked.connect(self._pressed)
        self._bar = QProgressBar()
        self._bar.setRange(0, _STEPS)
        self._bar.setTextVisible(False)
        self._bar.setMaximumHeight(10)
        self._bar.setAccessibleName("Search")
        self._message = QLabel()
        self._message.setWordWrap(True)
        self._message.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._is_busy = False
        self._lay_out()
        self.set_idle("")

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self._button)
        head.addWidget(self._bar, 1)
        head.addStretch()
        inside = QWidget()
        self._column = QVBoxLayout(inside)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(6)
        self._column.addStretch()
        self._scroll = _Scroll(inside)
        self._scroll.viewport().installEventFilter(self)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(head)
        layout.addWidget(self._message)
        layout.addWidget(self._scroll, 1)

    # ----- what is shown

    @property
    def proposals(self) -> list[Any]:
        """The proposals in the order in which they are shown."""
        return [card.proposal for card in self._cards]

    def add(self, proposal: Any, picture: QImage | None = None) -> None:
        """Show one more proposal at the end, or new figures of one with the same cuts."""
        card = self._card_of(proposal)
        if card is None:
            card = ProposalCard(proposal)
            card.set_quantities(self._quantities)
            card.entered.connect(self._preview)
            card.left.connect(self._left)
            card.accepted.connect(self.accepted)
            self._cards.append(card)
            self._column.insertWidget(self._column.count() - 1, card)
            self._order_tabs()
        else:
            card.show_proposal(proposal)
        if picture is not None:
            card.set_picture(picture)
        self._compare()

    def set_picture(self, number: int, picture: QImage) -> None:
        """Show the picture of the proposal of this number, the latest if several had it."""
        found = [card for card in self._cards if card.proposal.number == number]
        if found:
            found[-1].set_picture(picture)

    def set_order(self, ranked: Sequence[tuple[Any, float]]) -> None:
        """Show these proposals in this order, each with its plan score; pictures are kept.

        Parameters
        ----------
        ranked : sequence of (Proposal, float)
            As `splitplanner.suggest.ranking.reranked` returns them.
        """
        known = {id(card): card for card in self._cards}
        for proposal, _ in ranked:
            if self._card_of(proposal) is None:
                self.add(proposal)
        wanted: list[ProposalCard] = []
        for proposal, score in ranked:
            card = self._card_of(proposal)
            if card is not None and card not in wanted:
                card.show_proposal(proposal, score)
                wanted.append(card)
        for card in known.values():
            if card not in wanted:
                self._remove(card)
        self._cards = wanted
        for at, card in enumerate(wanted):
            if self._column.indexOf(card) != at:
                self._column.insertWidget(at, card)
        self._order_tabs()
        self._compare()

    def _order_tabs(self) -> None:
        """Let Tab go from the button to the cards: what is new comes last in Qt's own order."""
        for before, after in pairwise((self._button, *self._cards)):
            QWidget.setTabOrder(before, after)

    def clear(self) -> None:
        """Show no proposals."""
        for card in self._cards:
            self._remove(card)
        self._cards = []

    def _remove(self, card: ProposalCard) -> None:
        if card is self._shown:
            self._preview(None)
        self._column.removeWidget(card)
        card.hide()
        card.deleteLater()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities
        for card in self._cards:
            card.set_quantities(quantities)

    def _card_of(self, proposal: Any) -> ProposalCard | None:
        cuts = proposal.plan.cuts
        return next((card for card in self._cards if card.proposal.plan.cuts == cuts), None)

    def _compare(self) -> None:
        """Set the bars of all beside the worst of each."""
        worst = {
            bar.name: max((card.bars.values[bar.name] for card in self._cards), default=0.0)
            for bar in BARS
        }
        for card in self._cards:
            card.bars.set_worst(worst)
        self._scroll.updateGeometry()

    # ----- the search

    def set_progress(self, done: float, doing: str) -> None:
        """Show how far the search is: a share of 1, and what is being done."""
        self._set_busy(True)
        self._bar.setValue(round(_STEPS * done))
        self._message.setText(doing)
        self._message.setVisible(bool(doing))

    def set_idle(self, message: str) -> None:
        """Show that no search is going on, and what came of the last."""
        self._set_busy(False)
        self._message.setText(message)
        self._message.setVisible(bool(message))

    def _set_busy(self, is_busy: bool) -> None:
        self._is_busy = is_busy
        self._bar.setVisible(is_busy)
        self._button.setText(_STOP if is_busy else _ASK)
        tip = _STOP_TIP if is_busy else _ASK_TIP
        self._button.setToolTip(tip)
        self._button.setAccessibleDescription(tip)

    def _pressed(self, *_: object) -> None:
        if self._is_busy:
            self.stopped.emit()
        else:
            self.asked.emit()

    # ----- previews

    def _preview(self, card: ProposalCard | None) -> None:
        if card is self._shown:
            return
        if self._shown is not None:
            self._shown.set_shown(False)
        self._shown = card
        if card is not None:
            card.set_shown(True)
        self.previewed.emit(None if card is None else card.proposal)

    def _left(self, card: ProposalCard) -> None:
        if card is self._shown:
            self._preview(None)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """End the preview when the pointer leaves the cards altogether."""
        if event.type() == QEvent.Type.Leave and watched is self._scroll.viewport():
            self._preview(None)
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Up, down, Home and End go from card to card."""
        count = len(self._cards)
        at = next((i for i, card in enumerate(self._cards) if card.hasFocus()), None)
        steps = {
            Qt.Key.Key_Down: 0 if at is None else at + 1,
            Qt.Key.Key_Up: count - 1 if at is None else at - 1,
            Qt.Key.Key_Home: 0,
            Qt.Key.Key_End: count - 1,
        }
        if event.key() not in steps or not count:
            super().keyPressEvent(event)
            return
        card = self._cards[min(max(steps[Qt.Key(event.key())], 0), count - 1)]
        card.setFocus(Qt.FocusReason.TabFocusReason)
        self._scroll.ensureWidgetVisible(card, 0, 0)
