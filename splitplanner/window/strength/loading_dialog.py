"""The editor of one load case: where the part is held, and what acts on it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import TypeVar

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QDialog,
    QFormLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from splitplanner.errors import LoadError
from splitplanner.loaded import loading_words
from splitplanner.plan import LoadCase, Loading, PointLoad, SpreadLoad, Support, Vector, WeightLoad
from splitplanner.plan.loading_file import shifted
from splitplanner.window.dialogs.fields import list_box, tell
from splitplanner.window.parts.buttons import button
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.beginnings import KINDS, beginning
from splitplanner.window.strength.fall_form import FallForm
from splitplanner.window.strength.load_rows import Row, SupportRow, row_of
from splitplanner.window.strength.loaded_part import LoadedPart
from splitplanner.window.strength.vector_box import WayBox

Made = TypeVar("Made")
_NOTHING_ACTS = "Nothing acts on the part; add a force, or its own weight."
_FORCE = 100.0
"""Of a load that is added, N."""
_TALL, _AROUND = 760, 40
"""How tall the dialog is, and what of a screen its frame takes, pixels."""


class LoadingDialog(QDialog):
    """Asks what a part has to stand.

    Parameters
    ----------
    part : LoadedPart
    loading : Loading or None
        None for a new one, which may begin with a usual one.
    taken : collection of str
        Names that other load cases have.

    Signals
    -------
    applied(Loading)
        With its stations as offsets along its axis; the dialog is closed by then.
    """

    applied = Signal(object)

    def __init__(
        self,
        part: LoadedPart,
        loading: Loading | None = None,
        taken: Collection[str] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("New load case" if loading is None else "Load case")
        self._part, self._taken = part, frozenset(taken)
        self._quantities = Quantities()
        self._added: Row | None = None
        self._spans: dict[Vector, tuple[float, float]] = {}
        self.supports: list[Row] = []
        self.loads: list[Row] = []
        self._make_fields(loading is None)
        self._lay_out()
        if loading is None:
            loading = self._begun(KINDS[0])
        else:
            loading = shifted(loading, -self._span(loading.axis)[0])
        self._show(loading)

    def _make_fields(self, is_new: bool) -> None:
        self.name = QLineEdit()
        tell(self.name, "Name", "By which it is told in lists and papers.")
        self.name.textChanged.connect(self._judge)
        self.name.textEdited.connect(self._take_name)
        self._is_named = False
        self.begin = list_box(
            "Begin with", "Fill all fields with a usual load case.", [(each,) * 2 for each in KINDS]
        )
        self.begin.activated.connect(self._begin)
        self._begins = is_new
        self.axis = WayBox("Axis", "Along which stations are counted.", has_signs=False)
        self.axis.edited.connect(self._judge)
        self._length = QLabel()
        self.fall = FallForm()
        self.fall.edited.connect(self._judge)
        self.name_note, self.axis_note = NoteLine(), NoteLine()
        self.supports_note, self.loads_note = NoteLine(), NoteLine()
        self.words = NoteLine()
        self._accept = button("&Keep it", "Take the load case into the plan.", self.accept)
        self._accept.setDefault(True)
        self._cancel = button("Cancel", "Leave all as it was.", self.reject)
        self._cancel.setAutoDefault(False)

    def _adder(self, text: str, tip: str, done: Callable[..., None]) -> QPushButton:
        made = button(text, tip, done)
        made.setAutoDefault(False)
        return made

    def _lay_out(self) -> None:
        over = QFormLayout()
        over.addRow("&Name", self.name)
        over.addRow(self.name_note)
        if self._begins:
            over.addRow("&Begin with", self.begin)
        along = QHBoxLayout()
        for widget in (self.axis, self._length):
            along.addWidget(widget)
        along.addStretch(1)
        label = QLabel("Along a&xis")
        label.setBuddy(self.axis.list)
        over.addRow(label, along)
        over.addRow(self.axis_note)
        self._support_rows, held = self._group(
            "Where it is held",
            self.supports_note,
            self._adder("Add su&pport", "One more place where it is held.", self._add_support),
        )
        self._load_rows, acting = self._group(
            "What acts on it",
            self.loads_note,
            self._adder("Add f&orce", "A force or a couple at one station.", self._add_point),
            self._adder("Add sp&read force", "A force along a stretch.", self._add_spread),
            self._adder("Add own &weight", "A force spread as the mass is.", self._add_weight),
        )
        inner = QWidget()
        fields = QVBoxLayout(inner)
        fields.addLayout(over)
        for group in (held, acting, self.fall):
            fields.addWidget(group)
        fields.addStretch(1)
        self._scroll = QScrollArea()
        self._scroll.setWidget(inner)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self._accept)
        buttons.addWidget(self._cancel)
        whole = QVBoxLayout(self)
        whole.addWidget(self._scroll, 1)
        whole.addWidget(self.words)
        whole.addLayout(buttons)
        # Its buttons are to be seen on a low screen too; what acts is scrolled.
        self.resize(640, min(_TALL, self.screen().availableGeometry().height() - _AROUND))

    def _group(
        self, title: str, note: NoteLine, *adders: QPushButton
    ) -> tuple[QVBoxLayout, QGroupBox]:
        made, rows, below = QGroupBox(title), QVBoxLayout(), QHBoxLayout()
        for adder in adders:
            below.addWidget(adder)
        below.addStretch(1)
        whole = QVBoxLayout(made)
        whole.addLayout(rows)
        whole.addWidget(note)
        whole.addLayout(below)
        return rows, made

    # -- what is shown ------------------------------------------------------------------------
    def _span(self, axis: Vector) -> tuple[float, float]:
        if axis not in self._spans:
            self._spans[axis] = self._part.span(axis)
        return self._spans[axis]

    def _begun(self, kind: str) -> Loading:
        axis = self._part.axis
        return beginning(kind, axis, self._span(axis)[1], self._part.weight)

    def _begin(self, *_: object) -> None:
        kind = self.begin.currentData()
        typed = self.name.text()
        self._show(self._begun(kind))
        if self._is_named:
            self.name.setText(typed)

    def _show(self, loading: Loading) -> None:
        """Show a load case whose stations count from the low end."""
        for row in (*self.supports, *self.loads):
            self._drop(row)
        self.supports, self.loads = [], []
        self.name.setText(self._free(loading.name) if self._begins else loading.name)
        self.axis.set_way(loading.axis)
        for support in loading.case.supports:
            self._put(SupportRow(support), self.supports, self._support_rows)
        for load in loading.case.loads:
            self._put(row_of(load), self.loads, self._load_rows)
        self.fall.set_fall(loading.fall)
        self._judge()

    def _take_name(self, name: str) -> None:
        # What the user calls it stays, whatever he begins with then.
        self._is_named = bool(name)

    def _free(self, name: str) -> str:
        """Return a name that no other load case has."""
        return free_name(name, self._taken)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way."""
        self._quantities = quantities
        fields: tuple[Row | FallForm | WayBox, ...] = (
            *self.supports, *self.loads, self.fall, self.axis
        )  # fmt: skip
        for each in fields:
            each.set_quantities(quantities)
        self._judge()

    # -- rows ---------------------------------------------------------------------------------
    def _put(self, row: Row, rows: list[Row], layout: QVBoxLayout) -> Row:
        rows.append(row)
        layout.addWidget(row)
        row.set_quantities(self._quantities)
        row.edited.connect(self._judge)
        row.removed.connect(self._remove)
        return row

    def _drop(self, row: Row) -> None:
        row.hide()
        row.setParent(None)
        row.deleteLater()

    def _remove(self, row: Row) -> None:
        for rows in (self.supports, self.loads):
            if row in rows:
                rows.remove(row)
        self._drop(row)
        self._judge()

    def _add(self, row: Row, rows: list[Row], layout: QVBoxLayout) -> None:
        self._put(row, rows, layout)
        self._judge()
        # It has its place only at the next turn.
        self._added = row
        QTimer.singleShot(0, self._show_added)
        row.begin()

    def _show_added(self) -> None:
        if self._added in (*self.supports, *self.loads):
            self._scroll.ensureWidgetVisible(self._added)

    def _middle(self) -> float:
        return round(self._length_along() / 2)

    def _length_along(self) -> float:
        try:
            return self._span(self.axis.way)[1]
        except LoadError:
            return self._span(self._part.axis)[1]

    def _add_support(self, *_: object) -> None:
        # Where none is yet, so that it is no fault from the start.
        held = [row.stations[0] for row in self.supports]
        length = self._length_along()
        ends = [0.0, float(int(length)), *(length * share for share in (0.5, 0.25, 0.75, 0.1, 0.9))]
        free = [at for at in ends if all(abs(at - other) > 1.0 for other in held)]
        support = Support(round(free[0]) if free else 0.0)
        self._add(SupportRow(support), self.supports, self._support_rows)

    def _add_point(self, *_: object) -> None:
        self._add_load(PointLoad(self._middle(), (0.0, 0.0, -_FORCE)))

    def _add_spread(self, *_: object) -> None:
        low, high = (round(share * self._length_along()) for share in (0.3, 0.7))
        self._add_load(SpreadLoad(low, max(high, low + 1.0), (0.0, 0.0, -_FORCE)))

    def _add_weight(self, *_: object) -> None:
        self._add_load(WeightLoad((0.0, 0.0, -self._part.weight)))

    def _add_load(self, load: PointLoad | SpreadLoad | WeightLoad) -> None:
        self._add(row_of(load), self.loads, self._load_rows)

    # -- what is said of it -------------------------------------------------------------------
    def _judge(self, *_: object) -> None:
        """Say beside each field what is wrong with it, and in a sentence what all of it says."""
        only = self.loads[0] if len(self.loads) == 1 else None
        for row in self.loads:
            row.tell_fall(self.fall.isChecked() and row is only)
        found = self._loading()
        self._accept.setEnabled(found is not None)
        self.words.say(Mark.INFO, "" if found is None else loading_words(found, 0.0))

    def _loading(self) -> Loading | None:
        """Return what the fields say, stations from the low end; None where they make no sense."""
        name = self.name.text().strip()
        name_fault = "" if name else "Give it a name, such as what happens to the part."
        if name in self._taken:
            name_fault = f"Another load case is called “{name}”; give this one a name of its own."
        axis, axis_fault = _tried(lambda: self.axis.way)
        length = self._length_along()
        self._length.setText(f"{self._quantities.length(length)} long")
        has_fault = bool(name_fault or axis_fault)
        for row in (*self.supports, *self.loads):
            fault = row.fault(length)
            row.refuse(fault)
            has_fault |= bool(fault)
        loads_fault = "" if self.loads else _NOTHING_ACTS
        fall, fall_fault = _tried(self.fall.fall)
        case, held_fault = None, ""
        if not any(row.note.text for row in (*self.supports, *self.loads)):
            case, held_fault = _tried(lambda: self._case(name))
        for note, fault in (
            (self.name_note, name_fault),
            (self.axis_note, axis_fault),
            (self.supports_note, held_fault),
            (self.loads_note, loads_fault),
        ):
            note.say(Mark.FAULT, fault)
        self.fall.refuse(fall_fault)
        if has_fault or loads_fault or fall_fault or case is None or axis is None:
            return None
        return Loading(axis, case, fall)

    def _case(self, name: str) -> LoadCase:
        supports: list[Support] = [row.value() for row in self.supports]  # type: ignore[misc]
        if supports and not any(each.axial for each in supports):
            # One has to hold it along the axis, or it slides away.
            first = supports[0]
            supports[0] = Support(first.station, first.clamped, first.twist, axial=True)
        loads = tuple(row.value() for row in self.loads)
        return LoadCase(name, tuple(supports), loads)  # type: ignore[arg-type]

    @property
    def faults(self) -> list[str]:
        """All that is wrong, from the top."""
        rows: Sequence[Row] = (*self.supports, *self.loads)
        notes = [self.name_note, self.axis_note, *(row.note for row in rows), self.supports_note,
                 self.loads_note, self.fall.note]  # fmt: skip
        return [note.text for note in notes if note.text]

    def accept(self) -> None:
        """Take the load case; stay if something is wrong with it."""
        # Where a click on a button does not take the keyboard, a number may still be half typed.
        for box in self.findChildren(QAbstractSpinBox):
            box.interpretText()
        loading = self._loading()
        self._judge()
        if loading is None:
            return
        super().accept()
        self.applied.emit(shifted(loading, self._span(loading.axis)[0]))


def free_name(name: str, taken: Collection[str]) -> str:
    """Return a name, with a number behind it where another load case has it."""
    if name not in taken:
        return name
    number = 2
    while f"{name} {number}" in taken:
        number += 1
    return f"{name} {number}"


def _tried(make: Callable[[], Made]) -> tuple[Made | None, str]:
    """Return what is made, and what is wrong with it."""
    try:
        return make(), ""
    except LoadError as fault:
        return None, str(fault)
