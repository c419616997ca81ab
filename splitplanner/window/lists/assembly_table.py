"""The table of the order of assembly: step by step, each shown in the view when it is chosen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import (
    QAction,
    QContextMenuEvent,
    QGuiApplication,
    QHideEvent,
    QKeySequence,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QLabel,
    QListView,
    QMenu,
    QSlider,
    QVBoxLayout,
    QWidget,
)

from splitplanner.findings import Finding, counted, listed
from splitplanner.loaded.wording import named
from splitplanner.plan import direction_words
from splitplanner.window.lists.findings_list import FindingDelegate, FindingsModel, ranked, text_of
from splitplanner.window.lists.joint_words import fasteners_text, tape_text
from splitplanner.window.lists.lines import Shown, shown_findings
from splitplanner.window.lists.step_rows import StepRow, step_text
from splitplanner.window.lists.tables import NOTHING, Column, Figure, RowsModel, Table
from splitplanner.window.lists.way_words import way_arrow, way_brief
from splitplanner.window.parts.buttons import button
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.flat import screw_size

NO_PART = "Open a part to see in which order its pieces go together."
WAITING = "The order is known as soon as the plan is checked."
NOT_CUT = "The order is known when the plan can be cut; the findings tell what is wrong."
STALE = "The plan is being checked; these steps are of the plan before."
_ASK = "Choose a step to see it in the view; Esc shows the whole part again."
KEYS = (
    ("Up and down", "show the step before, or the next one, in the view"),
    ("Esc", "show the whole part again"),
)
"""The keys and what they do, for a list of shortcuts."""
_FINDINGS_HEIGHT = 150


def _moving(row: StepRow, _: Quantities) -> Shown:
    if row.brace is not None:
        return Shown(named("brace", row.brace.name), "▸", row.colour)
    # Pieces are told by their colours in the view.
    return Shown(" + ".join(map(str, row.moving)), "▸", row.colour)


def _standing(row: StepRow, _: Quantities) -> Shown:
    return Shown(" + ".join(map(str, row.standing)))


def _way(row: StepRow, _: Quantities) -> Shown:
    return Shown(f"{way_arrow(row.step.direction)} {way_brief(row.step.direction)}")


def _way_axes(row: StepRow, _: Quantities) -> Shown:
    return Shown(direction_words(row.step.direction), faint=True)


def _way_in(row: StepRow, q: Quantities) -> Shown:
    if row.brace is not None:
        return Shown("lies on its bosses", faint=True)
    return Shown(f"last {q.length(row.way)}" if row.way else "butts flat", faint=not row.way)


def _closes(row: StepRow, _: Quantities) -> Shown:
    if row.brace is not None:
        return Shown(NOTHING, faint=True)
    pins = counted(len(row.joint.pins), "pin")
    return Shown(", ".join(row.step.seams) + (f" on {pins}" if row.joint.pins else ""))


def _tightened(row: StepRow, _: Quantities) -> Shown:
    sizes = Counter(screw_size(screw) for screw in row.screws)
    screws = ", ".join(f"{count} × {size}" for size, count in sizes.items())
    text = ", ".join(filter(None, [screws, "then tape" if row.tapes else ""]))
    return Shown(text) if text else Shown(NOTHING, faint=True)


def _then(row: StepRow, q: Quantities) -> str:
    """Return what is done when the seams are closed; empty for nothing."""
    screws, tapes = fasteners_text(row.screws), [tape_text(tape, q) for tape in row.tapes]
    tools = f" ({row.tools})" if row.tools else ""
    done = [f"tighten {screws}{tools}"] if screws else []
    return " and ".join([*done, *([f"lay {listed(tapes)}"] if tapes else [])])


def _tools(row: StepRow, _: Quantities) -> Shown:
    return Shown(row.tools, faint=True)


COLUMNS = (
    Column(
        "Step\nfindings",
        (
            Figure("step", lambda row, _: Shown(str(row.number))),
            Figure("findings", lambda row, _: shown_findings(row.findings, row.worst)),
        ),
        6,
        right=False,
    ),
    Column("Moves\nonto", (Figure("moving", _moving), Figure("standing", _standing)), 12, False),
    Column(
        "Direction\nhow far",
        (
            Figure("way", _way),
            Figure("way in the part", _way_axes),
            Figure("way in", _way_in),
        ),
        12,
        right=False,
        stretches=True,
    ),
    Column(
        "Closes,\nthen tighten,\nby",
        (
            Figure("seams closed", _closes),
            Figure("tightened", _tightened),
            Figure("tools", _tools),
        ),
        16,
        right=False,
        stretches=True,
    ),
)


class AssemblyTable(QWidget):
    """All steps, the chosen one in words, and what is wrong with the order.

    Signals
    -------
    step_shown(object)
        The StepRow that is to be seen, or None when none is any more: it is the one that is
        chosen, as long as this is in front.
    finding_chosen(object)
        The Finding that the user went to.
    """

    step_shown = Signal(object)
    finding_chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown: StepRow | None = None
        self._is_stale = False
        self.table = Table(RowsModel(COLUMNS), "Steps of the assembly")
        self.table.setAccessibleDescription(
            "Up and down go through the steps, Esc shows the whole part again."
        )
        self.table.setContextMenuPolicy(Qt.ContextMenuPolicy.NoContextMenu)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.chosen_changed.connect(self._look)
        self.leave_action = self.table.add_command("Show the whole part", "Esc", self.leave)
        self._said, self._words = _sentence(), _sentence()
        # From the start, for the table must not jump when a step is chosen.
        self._words.setMinimumHeight(4 * self._words.fontMetrics().lineSpacing())
        self._make_goers()
        self._make_findings()
        self._lay_out()
        self.show_nothing(NO_PART)

    def _make_goers(self) -> None:
        """Make what goes from step to step without the table."""
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setAccessibleName("Step of the assembly")
        self.slider.setToolTip("Go through the steps; at its left end the whole part is shown.")
        self.slider.setPageStep(1)
        self.slider.setTickPosition(QSlider.TickPosition.TicksBelow)
        self.slider.setTickInterval(1)
        self.slider.valueChanged.connect(self.go_to)
        self.back = button("Step back", "Show the step before.", self._go_back)
        self.on = button("Next step", "Show the next step.", self._go_on)

    def _make_findings(self) -> None:
        """Make the list of what is wrong with the order."""
        self.findings_model = FindingsModel(self)
        found = self.findings = QListView()
        found.setModel(self.findings_model)
        found.setItemDelegate(FindingDelegate(found))
        found.setAccessibleName("Findings of the assembly, the worst first")
        found.setResizeMode(QListView.ResizeMode.Adjust)
        found.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        found.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        found.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        found.setMaximumHeight(_FINDINGS_HEIGHT)
        found.selectionModel().currentChanged.connect(self._finding_chosen)
        copy = QAction("Copy as text", found)
        copy.setShortcut(QKeySequence.StandardKey.Copy)
        copy.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
        copy.triggered.connect(self._copy_findings)
        found.addAction(copy)
        found.setContextMenuPolicy(Qt.ContextMenuPolicy.ActionsContextMenu)

    def _lay_out(self) -> None:
        going = self._going = QWidget()
        row = QHBoxLayout(going)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.back)
        row.addWidget(self.slider, 1)
        row.addWidget(self.on)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._said)
        layout.addWidget(self.table, 1)
        for widget in (going, self._words, self.findings):
            layout.addWidget(widget)
        layout.addStretch()

    # -- what is shown ----------------------------------------------------------------------
    def show_steps(
        self, rows: Sequence[StepRow], findings: Sequence[Finding] = (), said: str = ""
    ) -> None:
        """Show an order; the step that was chosen stays so.

        Parameters
        ----------
        rows : sequence of StepRow
        findings : sequence of Finding
            Of the order.
        said : str
            What is to be said of it as a whole; empty for what can be done here.
        """
        self._is_stale = False
        self.findings_model.show_findings(ranked(findings))
        self.findings.setVisible(bool(findings))
        self._said.setText(said or _ASK)
        for widget in (self.table, self._going, self._words):
            widget.setVisible(bool(rows))
        before = self.slider.blockSignals(True)
        self.slider.setRange(0, len(rows))
        self.slider.blockSignals(before)
        self.table.show_rows(rows)
        self._look()

    def show_nothing(self, why: str) -> None:
        """Show no steps, and why."""
        self.show_steps((), (), why)

    def show_waiting(self) -> None:
        """Say that the plan is being checked; the steps stay, and none is in the view."""
        if not self.table.rows_model.rows:
            self.show_nothing(WAITING)
            return
        self._is_stale = True
        self._said.setText(STALE)
        self._tell(None)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.table.set_quantities(quantities)
        self._show_words()

    @property
    def said(self) -> str:
        """What is said of the order as a whole, or instead of it."""
        return self._said.text()

    @property
    def words(self) -> str:
        """The chosen step in words."""
        return self._words.text()

    @property
    def chosen(self) -> StepRow | None:
        """The step that is chosen."""
        at = self.table.chosen
        row: StepRow | None = self.table.rows_model.rows[at] if at >= 0 else None
        return row

    # -- which step -------------------------------------------------------------------------
    def go_to(self, number: int) -> None:
        """Choose a step by its number; none by 0."""
        self.table.choose(number if number > 0 else None)
        self._look()

    def leave(self, *_: object) -> None:
        """Choose no step."""
        self.go_to(0)

    def _go_back(self, *_: object) -> None:
        self.slider.setValue(self.slider.value() - 1)

    def _go_on(self, *_: object) -> None:
        self.slider.setValue(self.slider.value() + 1)

    def _look(self, *_: object) -> None:
        """Show in words, and tell, which step is to be seen."""
        chosen = self.chosen
        number = 0 if chosen is None else chosen.number
        before = self.slider.blockSignals(True)
        self.slider.setValue(number)
        self.slider.blockSignals(before)
        self.back.setEnabled(number > 0)
        self.on.setEnabled(number < self.slider.maximum())
        self._show_words()
        self._tell(chosen)

    def _tell(self, chosen: StepRow | None) -> None:
        """Tell which step is to be seen: the chosen one, if it is of the plan as it is."""
        row = chosen if self.isVisible() and not self._is_stale else None
        if row is not self._shown:
            self._shown = row
            self.step_shown.emit(row)

    def _show_words(self) -> None:
        chosen, q = self.chosen, self.table.rows_model.quantities
        if chosen is None:
            self._words.setText("")
            return
        way = q.length(chosen.way) if chosen.way else ""
        first = None if chosen.brace is None else chosen.brace.first
        lies = "" if first is None else first.words(q.length(first.distance))
        self._words.setText(step_text(chosen, way, _then(chosen, q), lies))

    # -- what is done -----------------------------------------------------------------------
    def _finding_chosen(self, *_: object) -> None:
        index = self.findings.currentIndex()
        if index.isValid():
            self.finding_chosen.emit(self.findings_model.findings[index.row()])

    def _copy_findings(self, *_: object) -> None:
        rows = sorted(index.row() for index in self.findings.selectedIndexes())
        if rows:
            text = "\n".join(text_of(self.findings_model.findings[row]) for row in rows)
            QGuiApplication.clipboard().setText(text)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Show the menu of the chosen step."""
        if self.chosen is not None and not self.findings.underMouse():
            menu = QMenu(self)
            menu.addAction(self.leave_action)
            menu.addSeparator()
            menu.addAction(self.table.copy_action)
            self.table.pop_up(menu, event)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Show the chosen step in the view again."""
        super().showEvent(event)
        if not event.spontaneous():
            self._tell(self.chosen)

    def hideEvent(self, event: QHideEvent) -> None:  # noqa: N802
        """Have the view show again what it did: another list is in front."""
        super().hideEvent(event)
        if not event.spontaneous():
            self._tell(None)


def _sentence() -> QLabel:
    """Return a place for a sentence or two."""
    label = QLabel()
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setAlignment(Qt.AlignmentFlag.AlignTop)
    return label
