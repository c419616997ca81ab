"""The dialog of the fit coupon: what is on it, its file, and which of its holes fitted best."""

from __future__ import annotations

import re
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QCheckBox,
    QDialog,
    QFileDialog,
    QGridLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from splitplanner.errors import SplitPlannerError, WorkshopError
from splitplanner.window.dialogs.coupon_plan import CouponPlan, Drawn, drawn
from splitplanner.window.dialogs.coupon_rows import CouponRows
from splitplanner.window.parts.buttons import button
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Insert, Printer, with_measured

if TYPE_CHECKING:
    from splitplanner.joint.coupon import Coupon

_USUAL = (3.0, 4.0, 5.0)
"""Diameters at first, where none was measured, mm."""
_SIZE = QSize(980, 720)
_BEAT = 40
"""So often it is looked whether the coupon is made, ms."""
_INTRODUCTION = (
    "Printed holes come out narrower than drawn. This plate has each hole in several widths: save "
    "it, print it flat as you print pieces, try a pin or an insert in each hole, and enter the "
    "number below the one that fits best. It is hundredths of a millimetre, in whichever unit "
    "lengths are shown."
)


class CouponDialog(QDialog):
    """Makes the fit coupon of a printer and takes what was found with it.

    Parameters
    ----------
    printer : Printer
    inserts : sequence of Insert
        Heat-set inserts that can be chosen.

    Signals
    -------
    measured(Printer)
        The printer with the allowances of the holes that fitted best.
    """

    measured = Signal(object)

    def __init__(
        self, printer: Printer, inserts: Sequence[Insert] = (), parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._printer, self._inserts = printer, tuple(inserts)
        self._drawn: Drawn | None = None
        # The kernel takes a second or more, in which the dialog goes on listening.
        self._maker = ThreadPoolExecutor(1)
        self._making: Future[Drawn] | None = None
        self._wanted: tuple[tuple[float, ...], tuple[Insert, ...], bool] | None = None
        self._beat = QTimer(self)
        self._beat.setInterval(_BEAT)
        self._beat.timeout.connect(self._look)
        self.setWindowTitle(f"Fit coupon for {printer.name}")
        self._make_choices()
        self._plan = CouponPlan(self)
        self._rows = CouponRows(self)
        self._rows.edited.connect(self._judge)
        self._note, self._outcome = NoteLine(self), NoteLine(self)
        self._caution = QLabel(self)
        self._caution.setWordWrap(True)
        self._caution.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._make_buttons()
        self._lay_out()
        self.resize(_SIZE)
        self._make()

    # -- making it ----------------------------------------------------------------------------
    def _make_choices(self) -> None:
        measured = [diameter for diameter, _ in self._printer.hole_allowances]
        self._diameters = QLineEdit(" ".join(f"{each:.10g}" for each in measured or _USUAL), self)
        _tell(
            self._diameters,
            "Diameters in mm",
            "Nominal diameters of pins, or of anything else that goes into a hole, in mm with "
            "spaces between, such as: 3 4 6.35",
        )
        self._diameters.editingFinished.connect(self._make)
        self._list = QListWidget(self)
        _tell(
            self._list,
            "Heat-set inserts",
            "Inserts to try: threads of brass that are melted into the plastic. Space ticks one.",
        )
        for insert in self._inserts:
            is_told = insert.size in insert.name
            item = QListWidgetItem(insert.name if is_told else f"{insert.size}  {insert.name}")
            item.setToolTip(f"Thread {insert.size}, hole {insert.hole_diameter:g} mm")
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(Qt.CheckState.Unchecked)
            self._list.addItem(item)
        if self._inserts:
            self._list.setCurrentRow(0)
        self._list.itemChanged.connect(self._make)
        self._list.setFixedHeight(self._list.fontMetrics().lineSpacing() * 4 + 12)
        self._slots = QCheckBox("&Slots too", self)
        tip = "A row of slots for each diameter: one of two pins in a seam sits in a slot."
        self._slots.setToolTip(tip)
        self._slots.setAccessibleDescription(tip)
        self._slots.setChecked(True)
        self._slots.toggled.connect(self._make)

    def _make_buttons(self) -> None:
        self._save = button("Sa&ve STL…", "Save the coupon as a file for the slicer.", self._ask)
        self._enter = button(
            "&Enter the best holes", "Put their allowances into the printer's fields.", self.accept
        )
        self._close = button("Close", "Leave the printer's allowances as they are.", self._leave)
        for each in (self._save, self._enter, self._close):
            each.setAutoDefault(False)

    def _lay_out(self) -> None:
        introduction = QLabel(_INTRODUCTION, self)
        introduction.setWordWrap(True)
        choices = QGroupBox("On the coupon", self)
        grid = QGridLayout(choices)
        for row, (text, widget) in enumerate(
            (("&Diameters, mm", self._diameters), ("&Inserts", self._list))
        ):
            label = QLabel(text)
            label.setBuddy(widget)
            grid.addWidget(label, row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(widget, row, 1)
        grid.addWidget(self._slots, 2, 1)
        grid.addWidget(self._save, 3, 1, Qt.AlignmentFlag.AlignLeft)
        found = QGroupBox("What fitted best", self)
        QVBoxLayout(found).addWidget(self._rows)
        side = QVBoxLayout()
        side.addWidget(choices)
        side.addWidget(found, 1)
        middle = QHBoxLayout()
        middle.addLayout(side)
        middle.addWidget(self._plan, 1)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self._enter)
        buttons.addWidget(self._close)
        whole = QVBoxLayout(self)
        whole.addWidget(introduction)
        whole.addLayout(middle, 1)
        for each in (self._outcome, self._note, self._caution):
            whole.addWidget(each)
        whole.addLayout(buttons)
        choices.setFixedWidth(choices.fontMetrics().averageCharWidth() * 58)
        found.setFixedWidth(choices.width())

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way; the coupon is in mm, as its numbers are."""
        self._rows.setLocale(quantities.locale)

    # -- the coupon ---------------------------------------------------------------------------
    def _chosen(self) -> tuple[Insert, ...]:
        ticked = (
            self._list.item(row).checkState() == Qt.CheckState.Checked
            for row in range(self._list.count())
        )
        return tuple(each for each, is_in in zip(self._inserts, ticked, strict=True) if is_in)

    def _make(self) -> None:
        """Begin to make the coupon that is chosen; one that is being made is of no more use."""
        try:
            diameters = _numbers(self._diameters.text())
        except WorkshopError as fault:
            self._fail(str(fault))
            return
        wanted = diameters, self._chosen(), self._slots.isChecked()
        # A field tells that it is done when the keyboard leaves it, changed or not.
        if wanted == self._wanted:
            return
        if self._making is not None:
            self._making.cancel()
        self._wanted, self._drawn = wanted, None
        self._plan.set_drawn(None, "making the coupon …")
        self._making = self._maker.submit(_made, self._printer, *wanted)
        self._beat.start()
        self._judge()

    def _look(self) -> None:
        """Show the coupon once it is made, or say why it cannot be."""
        if self._making is None or not self._making.done():
            return
        self._beat.stop()
        done, self._making = self._making, None
        try:
            self._drawn = done.result()
        except SplitPlannerError as fault:
            self._fail(str(fault))
            return
        coupon = self._drawn.coupon
        self._plan.set_drawn(self._drawn)
        self._rows.set_rows(coupon.rows, [self._present(row.nominal) for row in coupon.rows])
        self._caution.setText("\n".join(_cautions(coupon)))
        self._judge()

    def _present(self, nominal: float) -> int:
        return round(100 * (self._printer.hole_diameter(nominal) - nominal))

    def _fail(self, why: str) -> None:
        self._beat.stop()
        if self._making is not None:
            self._making.cancel()
        self._making = self._drawn = self._wanted = None
        self._plan.set_drawn(None, "no coupon")
        self._rows.set_rows((), ())
        self._caution.setText("")
        self._judge(why)

    # -- what is found with it ----------------------------------------------------------------
    def _judge(self, fault: str = "") -> None:
        """Say what is wrong or worth knowing, and offer what can be done."""
        rows, numbers = self._rows.rows, self._rows.numbers
        fault = fault or self._quarrel()
        self._save.setEnabled(self._drawn is not None)
        self._enter.setEnabled(self._drawn is not None and bool(numbers) and not fault)
        if fault:
            self._note.say(Mark.FAULT, fault)
        elif self._drawn is not None:
            said = [finding.message for finding in self._drawn.coupon.findings]
            said += self._remarks()
            self._note.say(Mark.WARNING, "\n".join(said))
        places = {
            row: [round(each * 100) for each in rows[row].allowances].index(number)
            for row, number in numbers.items()
            if number in [round(each * 100) for each in rows[row].allowances]
        }
        self._plan.set_best(places if self._drawn is not None else {})

    def _quarrel(self) -> str:
        """Return what is wrong where two rows of one diameter have different best holes."""
        first: dict[float, tuple[str, int]] = {}
        for row, number in self._rows.numbers.items():
            found = self._rows.rows[row]
            label, other = first.setdefault(found.nominal, (found.label, number))
            if other != number:
                return (
                    f"Rows {label} and {found.label} share the allowance of {found.nominal:g} mm; "
                    "enter the one that matters more, and nothing in the other."
                )
        return ""

    def _remarks(self) -> list[str]:
        remarks = [
            f"The insert “{insert.name}” on the hardware shelf is only an example; add the one "
            "that you have, with the figures of its data sheet, before you rely on its row."
            for insert in self._chosen()
            if insert.is_example
        ]
        for row, number in self._rows.numbers.items():
            found = self._rows.rows[row]
            if number not in [round(each * 100) for each in found.allowances]:
                remarks.append(
                    f"Row {found.label} of this coupon has no hole {number}; it is taken all the "
                    "same, if it is from an older one."
                )
        return remarks

    def accept(self) -> None:
        """Hand on the printer with what fitted best."""
        for box in self.findChildren(QAbstractSpinBox):
            box.interpretText()
        if not self._enter.isEnabled():
            return
        printer = self._printer
        for row, number in self._rows.numbers.items():
            printer = with_measured(printer, self._rows.rows[row].nominal, number / 100)
        super().accept()
        self.measured.emit(printer)

    def _leave(self) -> None:
        self.reject()

    def done(self, result: int) -> None:
        """Leave; a coupon that is being made is of no more use."""
        self._beat.stop()
        self._maker.shutdown(wait=False, cancel_futures=True)
        super().done(result)

    # -- its file -----------------------------------------------------------------------------
    def _ask(self) -> None:
        """Ask where the coupon goes, and write it."""
        if self._drawn is None:
            return
        path, _ = QFileDialog.getSaveFileName(
            self, "Save the fit coupon", "fit-coupon.stl", "STL (*.stl)"
        )
        if path:
            self.save(Path(path))

    def save(self, path: Path) -> None:
        """Write the coupon; say so, or why it cannot be."""
        if self._drawn is None:
            return
        from splitplanner.output import save_stl

        if path.suffix.lower() != ".stl":
            path = path.with_name(f"{path.name}.stl")
            if path.exists():
                # It was asked about a file of another name.
                self._outcome.say(
                    Mark.FAULT,
                    f"{path} is there already; choose it to replace it, or another name.",
                )
                return
        try:
            save_stl(self._drawn.coupon.solid, path)
        except SplitPlannerError as fault:
            self._outcome.say(Mark.FAULT, str(fault))
        else:
            self._outcome.say(Mark.DONE, f"Written to {path}.")


def _made(
    printer: Printer, diameters: Sequence[float], inserts: Sequence[Insert], slots: bool
) -> Drawn:
    from splitplanner.joint.coupon import coupon

    return drawn(coupon(printer, diameters, inserts, slots=slots))


def _cautions(coupon: Coupon) -> tuple[str, ...]:
    from splitplanner.output.coupon_tables import cautions_of

    return cautions_of(coupon)


def _numbers(text: str) -> tuple[float, ...]:
    """Return the diameters (mm) in a text; the decimal sign is a point or a comma.

    Raises
    ------
    WorkshopError
        If a word is no number.
    """
    numbers = []
    for word in re.split(r"[;\s]+", text.strip()):
        if not word:
            continue
        try:
            numbers.append(float(word.replace(",", ".")))
        except ValueError:
            raise WorkshopError(
                f"“{word}” is no diameter; write numbers in mm with spaces between, such as: "
                "3 4 6.35"
            ) from None
    return tuple(numbers)


def _tell(box: QWidget, name: str, tip: str) -> None:
    box.setAccessibleName(name)
    box.setToolTip(tip)
    box.setAccessibleDescription(tip)
