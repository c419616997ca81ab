"""What a kept check by cells answers to other screws, pins and braces."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from splitplanner.background.live_told import LiveTold
from splitplanner.window.lists.tables import RowsModel
from splitplanner.window.parts.note_line import TEXT_FLAGS, Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.live_words import LIVE_COLUMNS, headline, live_rows
from splitplanner.window.strength.ratio_bars import ratio_table

_BASE = (
    "Answered by the pieces as they were checked: holes and seats of what is new are not in them, "
    "and only the check tells what walls take. Before → now."
)
_EARLIER = "The check is of an earlier plan: {}. Check again to know of this one."
_LOST = (
    "The check is not at hand any more, as its process was started anew or took up other work. "
    "Check again to have changes answered at once."
)


class LivePanel(QWidget):
    """Shows an answer, or why there is none; hidden while nothing is kept.

    Signals
    -------
    check_asked()
    seam_chosen(str)
    """

    check_asked = Signal()
    seam_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown: tuple[LiveTold, frozenset[str]] | None = None
        self.note = NoteLine()
        self.again = self.note.add_button("Check again", "Check the plan as it is by cells.")
        self.again.clicked.connect(self._ask)
        self.said = _label()
        self.seams = ratio_table(RowsModel(LIVE_COLUMNS), "Seams answered by cells")
        self.seams.setMinimumHeight(80)
        self.seams.row_chosen.connect(self._choose)
        self.base = _label()
        self.base.setText(_BASE)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        for each in (self.note, self.said, self.seams, self.base):
            whole.addWidget(each)
        self.show_nothing()

    def show_nothing(self) -> None:
        """Show nothing."""
        self._clear()
        self.hide()

    def show_told(self, told: LiveTold, left_out: frozenset[str]) -> None:
        """Show an answer.

        Parameters
        ----------
        told : LiveTold
        left_out : set of str
            Names of braces that are taken not to be there.
        """
        self._shown = told, left_out
        self.note.say(Mark.INFO, "")
        self.said.setText(headline(told, left_out, self.seams.rows_model.quantities))
        self.seams.show_rows(live_rows(told))
        for each in (self.said, self.seams, self.base):
            each.show()
        self.show()

    def show_working(self) -> None:
        """Show no old figures while an answer takes longer than usual."""
        self._say(Mark.INFO, "Working out what the change does…", can_check=False)

    def show_earlier(self, why: str) -> None:
        """Say that the check is of another plan, and offer to check again."""
        self._say(Mark.WARNING, _EARLIER.format(why), can_check=True)

    def show_lost(self) -> None:
        """Say that nothing is kept any more, and offer to check again."""
        self._say(Mark.WARNING, _LOST, can_check=True)

    def show_fault(self, why: str) -> None:
        """Say why there is no answer to this plan."""
        self._say(Mark.FAULT, why, can_check=False)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.seams.set_quantities(quantities)
        if self._shown is not None:
            self.said.setText(headline(*self._shown, quantities))

    def choose_seam(self, name: str | None) -> None:
        """Choose a seam, or none, without signalling it."""
        self.seams.choose(name)

    def _say(self, mark: Mark, text: str, *, can_check: bool) -> None:
        self._clear()
        self.again.setVisible(can_check)
        self.note.say(mark, text)
        self.show()

    def _clear(self) -> None:
        self._shown = None
        self.note.say(Mark.INFO, "")
        for each in (self.said, self.seams, self.base):
            each.hide()

    def _ask(self, *_: object) -> None:
        self.check_asked.emit()

    def _choose(self, row: int) -> None:
        self.seam_chosen.emit(self.seams.rows_model.rows[row].key)


def _label() -> QLabel:
    made = QLabel()
    made.setWordWrap(True)
    made.setTextInteractionFlags(TEXT_FLAGS)
    made.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
    return made
