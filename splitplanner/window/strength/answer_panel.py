"""What a plan stands of the chosen load case: in a sentence, by ways of holding, and by seams."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QSizePolicy, QSplitter, QVBoxLayout, QWidget

from splitplanner.findings import Finding, Severity, counted
from splitplanner.loaded import LoadAnswer, fall_words, ways_words
from splitplanner.window.lists.tables import RowsModel, Table
from splitplanner.window.parts.note_line import TEXT_FLAGS, Mark, NoteLine
from splitplanner.window.quantities import TIMES, Quantities
from splitplanner.window.strength.answer_rows import (
    SEAM_COLUMNS,
    WAY_COLUMNS,
    SeamStandsRow,
    WayRow,
)
from splitplanner.window.strength.ratio_bars import ratio_table

NO_CASE = "Choose a load case above to see what the plan stands of it."
NO_CASES = "Say what the part has to stand: add a load case, or have the usual ones proposed."
WAITING = "What the plan stands is being worked out."
STALE = "The plan is being checked; these are the figures of the plan before."
_MOST = 1
"""So many findings are shown here; all of them are in their own list."""
_MARKS = {
    Severity.FAULT: Mark.FAULT,
    Severity.WARNING: Mark.WARNING,
    Severity.NOTE: Mark.INFO,
}


class AnswerPanel(QWidget):
    """The figures of one load case, relative ones first.

    Signals
    -------
    seam_chosen(str)
        The user went to a seam.
    """

    seam_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._answer: LoadAnswer | None = None
        self._low = 0.0
        self.said = QLabel(NO_CASES)
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(TEXT_FLAGS)
        self.said.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.stale = NoteLine()
        self.ways = ratio_table(RowsModel(WAY_COLUMNS), "What holds the seams")
        self.ways.setAccessibleDescription("The seams below are shown held as in the chosen row.")
        self.ways.chosen_changed.connect(self._show_seams)
        self.heading = QLabel()
        self.heading.setWordWrap(True)
        self.seams = ratio_table(RowsModel(SEAM_COLUMNS), "Seams under the load")
        self.seams.row_chosen.connect(self._choose)
        self.notes = [NoteLine() for _ in range(_MOST)]
        self.more = QLabel()
        self._lay_out()
        self.show_nothing(NO_CASES)

    def _lay_out(self) -> None:
        below = QWidget()
        lower = QVBoxLayout(below)
        lower.setContentsMargins(0, 0, 0, 0)
        lower.addWidget(self.heading)
        lower.addWidget(self.seams, 1)
        self._splitter = QSplitter(Qt.Orientation.Vertical)
        self._splitter.setChildrenCollapsible(False)
        for widget in (self.ways, below):
            self._splitter.addWidget(widget)
        # All ways at a glance; of many seams one looks at the weakest.
        self._splitter.setSizes([250, 150])
        # Three ways and two seams can be read in any window: where it is low the page is scrolled.
        for table, rows in ((self.ways, 3), (self.seams, 2)):
            table.setMinimumHeight(_height_of(table, rows))
        # It takes the room that there is: what is not seen of a table is scrolled in the table.
        least = self._splitter.minimumSizeHint().height() + self.heading.fontMetrics().lineSpacing()
        self._splitter.setMinimumHeight(least)
        self._splitter.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Ignored)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 4, 0, 0)
        layout.addWidget(self.stale)
        layout.addWidget(self.said)
        layout.addWidget(self._splitter, 1)
        for note in self.notes:
            layout.addWidget(note)
        layout.addWidget(self.more)
        layout.addStretch()

    def show_answer(
        self,
        answer: LoadAnswer,
        low: float,
        *,
        numbers: Mapping[str, int],
        has_hardware: bool,
        findings: Sequence[Finding] = (),
        is_stale: bool = False,
    ) -> None:
        """Show what is known of a load case.

        Parameters
        ----------
        answer : LoadAnswer
        low : float
            Offset of the part's low end along the load case's axis, mm.
        numbers : mapping of piece name to number
        has_hardware : bool
            Whether there are pins or screws at all.
        findings : sequence of Finding
        is_stale : bool
            Whether it is of the plan before, while the present one is checked.
        """
        was = None if self._answer is None else len(self._answer.ways)
        chosen = self.ways.chosen_key
        self._answer, self._low = answer, low
        self.stale.say(Mark.INFO, STALE if is_stale else "")
        self.said.setText(
            " ".join(filter(None, (ways_words(answer, numbers, TIMES), fall_words(answer))))
        )
        rows = [WayRow(None, answer)]
        rows += [WayRow(held, answer, numbers, has_hardware) for held in answer.ways]
        self.ways.show_rows(rows)
        keys = [row.key for row in rows]
        if chosen not in keys or was != len(answer.ways):
            self.ways.choose(keys[-1])
        self._splitter.show()
        self._hug_ways(len(rows))
        self._show_seams()
        self._show_findings(findings)

    def _hug_ways(self, count: int) -> None:
        """Leave to the seams what room the ways do not take."""
        self.ways.setMaximumHeight(_height_of(self.ways, count))

    def show_nothing(self, why: str, findings: Sequence[Finding] = ()) -> None:
        """Show no figures, and why."""
        self._answer = None
        self.stale.say(Mark.INFO, "")
        self.said.setText(why)
        self.ways.show_rows(())
        self.seams.show_rows(())
        self._splitter.hide()
        self._show_findings(findings)

    def _show_seams(self) -> None:
        at, answer = self.ways.chosen, self._answer
        if at < 0 or answer is None:
            self.seams.show_rows(())
            self.heading.setText("")
            return
        row = self.ways.rows_model.rows[at]
        if row.held is None:
            self.seams.show_rows(())
            self.heading.setText("Printed in one there are no seams.")
            return
        planned = ", as planned" if row.held is answer.planned else ""
        by = "with" if row.words.endswith("besides") else "held by"
        self.heading.setText(f"The seams {by} {row.words}{planned}:")
        self.seams.show_rows([SeamStandsRow(seam, self._low) for seam in row.held.seams])

    def _show_findings(self, findings: Sequence[Finding]) -> None:
        for note, finding in zip(self.notes, [*findings[:_MOST], *[None] * _MOST], strict=False):
            if finding is None:
                note.say(Mark.INFO, "")
            else:
                note.say(_MARKS[finding.severity], finding.message)
        left = len(findings) - _MOST
        self.more.setText(f"And {counted(left, 'more finding')} in the list of findings.")
        self.more.setVisible(left > 0)

    def choose_seam(self, name: str | None) -> None:
        """Choose a seam, or none, without signalling it."""
        self.seams.choose(name)

    def _choose(self, row: int) -> None:
        self.seam_chosen.emit(self.seams.rows_model.rows[row].key)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        for table in (self.ways, self.seams):
            table.set_quantities(quantities)


def _height_of(table: Table, count: int) -> int:
    """Return how high a table is that shows so many rows, logical pixels."""
    rows = count * table.verticalHeader().defaultSectionSize()
    return rows + table.horizontalHeader().sizeHint().height() + 2 * table.frameWidth()
