"""All fields of a printer, and the printer that they make."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QSizePolicy,
    QSpinBox,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from splitplanner.errors import WorkshopError
from splitplanner.window.dialogs.allowances_form import AllowancesForm
from splitplanner.window.dialogs.bed_form import BedForm
from splitplanner.window.dialogs.number_box import NumberField, boxes_of
from splitplanner.window.dialogs.print_time_form import PrintTimeForm
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Insert, Printer, hardware_shelf

if TYPE_CHECKING:
    from splitplanner.window.dialogs.known_print_dialog import KnownPrints

_LENGTHS = (
    ("nozzle", "No&zzle", "Bore of the nozzle.", 2),
    ("line_width", "&Line width", "Width of one printed line; a little more than the bore.", 2),
    ("layer_height", "La&yer height", "Height of one layer.", 2),
    ("bridge_span", "B&ridge span", "Longest flat ceiling between two walls without support.", 1),
    (
        "hole_allowance",
        "Hole &allowance",
        "Added to the diameter of a hole so that it comes out at size, where none was measured; "
        "less than nothing where holes come out too wide.",
        2,
    ),
    (
        "foot_width",
        "Bed chamfer, width",
        "Of the chamfer along the outline on the bed, in files of pieces, by as much as first "
        "layers spread; 0 for none.",
        2,
    ),
    (
        "foot_height",
        "Bed chamfer, height",
        "How far up from the bed that chamfer goes; 0 for none.",
        2,
    ),
)
_NUMBERS = (
    NumberField(
        "overhang_limit",
        "O&verhang limit",
        "Steepest overhang that prints without support, from vertical: a wall has 0°. That of a "
        "material counts instead, where it has one.",
        "°",
        90,
        1,
    ),
    NumberField("infill", "In&fill", "Share of the inside that is printed.", " %", 100, 5, 0, 100),
    NumberField(
        "support_infill",
        "&Support infill",
        "Share of the support's volume that is printed.",
        " %",
        100,
        5,
        0,
        100,
    ),
)


def built_in_inserts() -> tuple[Insert, ...]:
    """Return the heat-set inserts of the built-in table."""
    return hardware_shelf().inserts


class PrinterForm(QWidget):
    """Shows a printer and takes changes.

    Parameters
    ----------
    inserts : function, optional
        Returns the heat-set inserts on the shelf, for the fit coupon.
    known : KnownPrints, optional
        For finding the factors by a print that is known; not offered without it.

    Signals
    -------
    edited()
    """

    edited = Signal()

    def __init__(
        self,
        parent: QWidget | None = None,
        inserts: Callable[[], tuple[Insert, ...]] = built_in_inserts,
        known: KnownPrints | None = None,
    ) -> None:
        super().__init__(parent)
        self._before = Printer()
        self._inserts, self._known = inserts, known
        self._quantities = Quantities()
        self._name = QLineEdit(self)
        self._name.setAccessibleName("Name of the printer")
        self._name.setToolTip("What you call it.")
        self._bed = BedForm(self)
        self._lengths = {
            name: LengthBox(
                label.replace("&", ""),
                tip,
                least=-10.0 if name == "hole_allowance" else 0.0,
                largest=1000.0,
                digits=digits,
                step=0.05 if digits == 2 else 1.0,
            )
            for name, label, tip, digits in _LENGTHS
        }
        self._walls = QSpinBox(self)
        self._walls.setRange(0, 99)
        self._walls.setSuffix(" lines")
        self._walls.setKeyboardTracking(False)
        self._numbers = boxes_of(_NUMBERS, self)
        self._print_time = PrintTimeForm(self)
        self._allowances = AllowancesForm(self._otherwise, self)
        self._lay_out()
        self._hear()

    def _hear(self) -> None:
        self._walls.valueChanged.connect(self.edited)
        self._name.textChanged.connect(self.edited)
        self._bed.edited.connect(self.edited)
        for box in self._lengths.values():
            box.edited.connect(self.edited)
        self._print_time.edited.connect(self.edited)
        self._print_time.known_asked.connect(self._ask_known)
        for number in self._numbers.values():
            number.valueChanged.connect(self.edited)
        self._allowances.edited.connect(self.edited)
        self._allowances.coupon_asked.connect(self._ask_coupon)
        self.edited.connect(self._offer_coupon)

    def _otherwise(self) -> float:
        """Return the allowance of holes where none was measured, mm."""
        return self._lengths["hole_allowance"].mm

    def _lay_out(self) -> None:
        printing = QWidget(self)
        left, right = QFormLayout(), QFormLayout()
        for length, label, _, _ in _LENGTHS:
            left.addRow(label, self._lengths[length])
        _tell(self._walls, "Walls", "Lines side by side in the skin all round a piece.")
        right.addRow("&Walls", self._walls)
        for number in self._numbers.values():
            right.addRow(number.field.label, number)
        columns = QHBoxLayout(printing)
        columns.addLayout(left)
        columns.addSpacing(24)
        columns.addLayout(right)
        columns.addSpacing(24)
        columns.addWidget(self._allowances, 1)
        tabs = QTabWidget(self)
        tabs.setAccessibleName("Figures of the printer")
        tabs.addTab(printing, "Printing")
        tabs.addTab(self._print_time, "Print time")
        # What room there is belongs to the drawing of the bed.
        tabs.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        name = QFormLayout()
        name.addRow("Nam&e", self._name)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addLayout(name)
        whole.addWidget(self._bed, 1)
        whole.addWidget(tabs)

    def set_thing(self, printer: Printer) -> None:
        """Show a printer."""
        self._before = printer
        self.blockSignals(True)
        self._name.setText(printer.name)
        self._bed.set_bed(printer.bed)
        for name, box in self._lengths.items():
            box.set_mm(getattr(printer, name))
        self._walls.setValue(printer.wall_lines)
        for name, number in self._numbers.items():
            number.set_number(getattr(printer, name))
        self._print_time.set_printer(printer)
        self._allowances.set_allowances(printer.hole_allowances)
        self.blockSignals(False)
        self._offer_coupon()

    def thing(self) -> Printer:
        """Return the printer that the fields make.

        Raises
        ------
        WorkshopError
            If they make none.
        """
        figures: dict[str, Any] = {
            **{name: box.mm for name, box in self._lengths.items()},
            **{name: box.number for name, box in self._numbers.items()},
            **self._print_time.figures(),
        }
        return replace(
            self._before,
            name=self._name.text().strip(),
            bed=self._bed.bed(),
            wall_lines=self._walls.value(),
            hole_allowances=self._allowances.allowances(),
            **figures,
        )

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit."""
        self._quantities = quantities
        self._allowances.set_quantities(quantities)
        self._bed.set_quantities(quantities)
        self._print_time.set_quantities(quantities)
        for box in self._lengths.values():
            box.set_quantities(quantities)

    # -- the fit coupon -----------------------------------------------------------------------
    def _offer_coupon(self) -> None:
        """Offer a coupon, and factors by a known print, only for what is a printer."""
        try:
            self.thing()
        except WorkshopError:
            is_printer = False
        else:
            is_printer = True
        self._allowances.set_coupon_offered(is_printer)
        self._print_time.set_known_offered(is_printer and self._known is not None)

    def _ask_coupon(self) -> None:
        """Open the dialog of the fit coupon; what is found with it goes into the allowances."""
        from splitplanner.window.dialogs.coupon_dialog import CouponDialog

        dialog = CouponDialog(self.thing(), self._inserts(), self)
        dialog.set_quantities(self._quantities)
        dialog.measured.connect(self._take_measured)
        dialog.exec()
        dialog.deleteLater()

    def _ask_known(self) -> None:
        """Open the dialog about a known print; its factors go into the fields."""
        from splitplanner.window.dialogs.known_print_dialog import KnownPrintDialog

        if self._known is None:
            return
        dialog = KnownPrintDialog(self.thing(), self._known, self)
        dialog.set_quantities(self._quantities)
        dialog.found.connect(self._take_factors)
        dialog.exec()
        dialog.deleteLater()

    def _take_factors(self, printer: Printer) -> None:
        self._print_time.set_factors(printer)
        self.edited.emit()

    def _take_measured(self, printer: Printer) -> None:
        self._allowances.set_allowances(printer.hole_allowances)
        self.edited.emit()

    def start(self) -> None:
        """Put the keyboard into the name."""
        self._name.setFocus()
        self._name.selectAll()


def _tell(box: QWidget, name: str, tip: str) -> None:
    box.setAccessibleName(name)
    box.setToolTip(tip)
    box.setAccessibleDescription(tip)
