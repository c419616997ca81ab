"""The dialog about a print that the user knows: from its hours and grams come the factors."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QCheckBox,
    QComboBox,
    QDialog,
    QFileDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLayout,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from splitplanner.errors import SplitPlannerError, WorkshopError
from splitplanner.plan import UP, Vector
from splitplanner.score import LayeredPrint, Spent, calibrated, spent_on
from splitplanner.solid import Solid
from splitplanner.window.dialogs.number_box import NumberField, boxes_of
from splitplanner.window.parts.buttons import button
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Material, Printer

_INTRODUCTION = (
    "Choose what you printed with this printer and these settings, in one go, and enter what it "
    "took. What is known of the two is enough."
)
_FIGURES = (
    NumberField("hours", "It took, &hours", "From start to end, in hours: 7.5 for 7 h 30 min.",
                " h", 10_000, 0.5, 2, may_be_unknown=True),
    NumberField("grams", "It &weighed", "The print with its supports, as it came off the bed.",
                " g", 100_000, 5, 1, may_be_unknown=True),
)  # fmt: skip
_UPS: tuple[tuple[str, Vector], ...] = (
    ("+z", UP),
    ("−z", (0.0, 0.0, -1.0)),
    ("+x", (1.0, 0.0, 0.0)),
    ("−x", (-1.0, 0.0, 0.0)),
    ("+y", (0.0, 1.0, 0.0)),
    ("−y", (0.0, -1.0, 0.0)),
)


@dataclass(frozen=True, eq=False)
class KnownPiece:
    """A piece of the plan at hand, which may have been printed already.

    Attributes
    ----------
    title : str
    solid : Solid
    up : (x, y, z)
        Its print direction.
    """

    title: str
    solid: Solid
    up: Vector


@dataclass(frozen=True, eq=False)
class KnownPrints:
    """What the dialog has to know, and who works prints out.

    Attributes
    ----------
    material : Material or None
        At hand; grams say nothing without it.
    pieces : sequence of KnownPiece
    ask : function
        Has a print worked out elsewhere: takes a file or a solid, its direction up, the printer,
        whether it has supports, and two functions, one of which is called at last, with a
        `LayeredPrint` or with the fault.
    """

    material: Material | None
    pieces: Sequence[KnownPiece]
    ask: Callable[..., Any]


class KnownPrintDialog(QDialog):
    """Finds the factors of a printer for time and mass.

    Parameters
    ----------
    printer : Printer
    known : KnownPrints

    Signals
    -------
    found(Printer)
        The printer with its factors, which the user wants.
    """

    found = Signal(object)

    def __init__(self, printer: Printer, known: KnownPrints, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._printer, self._known = printer, known
        self._after: Printer | None = None
        self._asked = 0
        self._quantities = Quantities()
        self.setWindowTitle("A print you know")
        self._make_fields()
        self._lay_out()
        self._change_kind()

    def _make_fields(self) -> None:
        self._what = QComboBox(self)
        self._what.setAccessibleName("What was printed")
        self._what.addItem("A model file, whole")
        for piece in self._known.pieces:
            self._what.addItem(piece.title)
        self._path = QLineEdit(self)
        self._path.setAccessibleName("Model file")
        self._path.setToolTip("The file of the model that you printed, in one piece.")
        self._browse = button("&Browse…", "Look for the file.", self._ask_path)
        self._up = QComboBox(self)
        self._up.setAccessibleName("Up on the bed")
        self._up.setToolTip("Which direction of the model was up on the bed.")
        for label, _ in _UPS:
            self._up.addItem(f"{label} of the model")
        self._held = QCheckBox("It was printed with &supports where it hangs over", self)
        self._held.setChecked(True)
        self._boxes = boxes_of(_FIGURES, self)
        for box in self._boxes.values():
            box.set_number(None)
        if self._known.material is None:
            self._boxes["grams"].setEnabled(False)
        self._note = NoteLine(self)
        self._find = button(
            "&Find the factors", "Work out what it should have taken.", self._ask_print
        )
        self._use = button("&Use these factors", "Take them over into the printer.", self.accept)
        self._cancel = button("Cancel", "Leave the factors as they are.", self.reject)
        self._what.currentIndexChanged.connect(self._change_kind)
        self._up.currentIndexChanged.connect(self._forget)
        self._path.textChanged.connect(self._forget)
        self._held.toggled.connect(self._forget)
        for box in self._boxes.values():
            box.valueChanged.connect(self._forget)

    def _lay_out(self) -> None:
        words = QLabel(_INTRODUCTION, self)
        words.setWordWrap(True)
        file = QHBoxLayout()
        file.addWidget(self._path, 1)
        file.addWidget(self._browse)
        form = QFormLayout()
        form.addRow("&What", self._what)
        model = QLabel("&Model", self)
        model.setBuddy(self._path)
        form.addRow(model, file)
        form.addRow("U&p", self._up)
        form.addRow("", self._held)
        for box in self._boxes.values():
            form.addRow(box.field.label, box)
        if self._known.material is not None:
            form.addRow("Of", QLabel(self._known.material.name, self))
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        for each in (self._find, self._use, self._cancel):
            each.setAutoDefault(False)
            buttons.addWidget(each)
        self._find.setDefault(True)
        whole = QVBoxLayout(self)
        whole.addWidget(words)
        whole.addLayout(form)
        whole.addWidget(self._note)
        whole.addLayout(buttons)
        # So that it grows with what is said.
        whole.setSizeConstraint(QLayout.SizeConstraint.SetMinimumSize)
        self.setMinimumWidth(460)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities
        for box in self._boxes.values():
            box.setLocale(quantities.locale)

    # -- what the user does -------------------------------------------------------------------
    @property
    def _piece(self) -> KnownPiece | None:
        row = self._what.currentIndex()
        return self._known.pieces[row - 1] if row > 0 else None

    def _change_kind(self) -> None:
        is_file = self._piece is None
        for each in (self._path, self._browse, self._up):
            each.setEnabled(is_file)
        self._forget()

    def _forget(self) -> None:
        """Let go of factors that were found for something else."""
        self._asked += 1
        self._after = None
        self._use.setEnabled(False)
        self._find.setEnabled(True)
        self._note.say(Mark.INFO, "")

    def _ask_path(self) -> None:
        path, _ = QFileDialog.getOpenFileName(self, "What was printed", self._path.text())
        if path:
            self._path.setText(path)

    def _spent(self) -> Spent:
        return Spent(self._boxes["hours"].number, self._boxes["grams"].number)

    def _ask_print(self) -> None:
        for box in self.findChildren(QAbstractSpinBox):
            box.interpretText()
        self._forget()
        known, piece, path = self._spent(), self._piece, self._path.text().strip()
        if known.hours is None and known.grams is None:
            self._note.say(Mark.FAULT, "Enter the hours that it took, or what it weighed, or both.")
            return
        if piece is None and not path:
            self._note.say(Mark.FAULT, "Choose the file of the model that you printed.")
            return
        what: Path | Solid = Path(path) if piece is None else piece.solid
        up = _UPS[self._up.currentIndex()][1] if piece is None else piece.up
        asked = self._asked
        self._find.setEnabled(False)
        self._note.say(Mark.INFO, "Working it out…")
        self._known.ask(
            what, up, self._printer, self._held.isChecked(),
            lambda made: self._take(asked, made), lambda fault: self._fail(asked, fault),
        )  # fmt: skip

    def _take(self, asked: int, made: LayeredPrint) -> None:
        if asked != self._asked:
            return
        worked_out, known = spent_on(made, self._known.material, self._printer), self._spent()
        try:
            self._after = calibrated(self._printer, worked_out, known)
        except WorkshopError as fault:
            self._fail(asked, fault)
            return
        self._find.setEnabled(True)
        self._use.setEnabled(True)
        self._note.say(Mark.INFO, self._told(worked_out, known, self._after))

    def _told(self, worked_out: Spent, known: Spent, after: Printer) -> str:
        """Return what was worked out without factors, what it took, and the factors."""
        written, said = self._quantities, []
        if known.hours is not None and worked_out.hours is not None:
            bare = worked_out.hours / self._printer.time_factor
            said.append(
                f"Worked out {written.duration(bare)}, it took {written.duration(known.hours)}: "
                f"a factor of {written.number(after.time_factor, 3)} for time."
            )
        if known.grams is not None and worked_out.grams is not None:
            bare = worked_out.grams / self._printer.mass_factor
            said.append(
                f"Worked out {written.number(bare, 1)} g, it weighed "
                f"{written.number(known.grams, 1)} g: "
                f"a factor of {written.number(after.mass_factor, 3)} for mass."
            )
        return " ".join(said)

    def _fail(self, asked: int, fault: Exception) -> None:
        if asked != self._asked:
            return
        self._find.setEnabled(True)
        is_expected = isinstance(fault, SplitPlannerError)
        self._note.say(Mark.FAULT, str(fault) if is_expected else f"It failed: {fault}.")

    def accept(self) -> None:
        """Hand over the factors, if there are some."""
        if self._after is None:
            return
        super().accept()
        self.found.emit(self._after)

    def done(self, result: int) -> None:
        """Hear nothing any more of what was asked."""
        self._asked += 1
        super().done(result)
