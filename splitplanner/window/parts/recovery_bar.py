"""A bar that offers what a program that died has left."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from PySide6.QtCore import QDateTime, QLocale, Signal
from PySide6.QtWidgets import QWidget

from splitplanner.findings import counted
from splitplanner.window.autosave import Leftover
from splitplanner.window.parts.note_line import Mark, NoteLine


class RecoveryBar(NoteLine):
    """Offers leftovers one after the other; hidden when there is none.

    Signals
    -------
    recovered(Leftover), discarded(Leftover)
        What the user wants done with the one that was shown; the next one is shown already.
    """

    recovered = Signal(object)
    discarded = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._waiting: list[Leftover] = []
        self._recover = self.add_button("&Recover", "Open the part and go on where it ended.")
        self._discard = self.add_button("&Discard", "Remove what was kept; it cannot be undone.")
        self._later = self.add_button("&Later", "Keep it, and ask again at the next start.")
        self._recover.clicked.connect(lambda: self._answer(self.recovered))
        self._discard.clicked.connect(lambda: self._answer(self.discarded))
        self._later.clicked.connect(lambda: self._answer(None))

    def set_leftovers(self, leftovers: Sequence[Leftover]) -> None:
        """Offer these, the first one first."""
        self._waiting = list(leftovers)
        self._show()

    @property
    def offered(self) -> Leftover | None:
        """What is offered now."""
        return self._waiting[0] if self._waiting else None

    def _answer(self, signal: object) -> None:
        answered = self._waiting.pop(0)
        self._show()
        if signal is not None:
            signal.emit(answered)  # type: ignore[attr-defined]

    def _show(self) -> None:
        first = self.offered
        if first is None:
            self.say(Mark.QUESTION, "")
            return
        cuts = counted(len(first.plan.cuts), "cut")
        file = "" if first.plan_file is None else f" for {first.plan_file.name}"
        more = len(self._waiting) - 1
        others = f" {counted(more, 'other was', 'others were')} left too." if more else ""
        self.say(
            Mark.QUESTION,
            f"The program ended before its work was saved. The plan of {first.model.name}{file} "
            f"with {cuts}, as it was {self._when(first.saved_at)}, was kept.{others}",
        )
        self._recover.setFocus()

    def _when(self, moment: datetime) -> str:
        shown = QDateTime.fromSecsSinceEpoch(int(moment.timestamp()))
        if shown.date() == QDateTime.currentDateTime().date():
            clock = QLocale().toString(shown.time(), QLocale.FormatType.ShortFormat)
            return f"today at {clock}"
        return f"on {QLocale().toString(shown, QLocale.FormatType.ShortFormat)}"
