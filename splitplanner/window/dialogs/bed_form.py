"""The fields of a bed, and the bed as they make it."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QGridLayout,
    QGroupBox,
    QLabel,
    QPlainTextEdit,
    QWidget,
)

from splitplanner.errors import WorkshopError
from splitplanner.window.dialogs.bed_plan import BedPlan
from splitplanner.window.dialogs.corners import outline_of, text_of, unit_word
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Bed
from splitplanner.workshop.printer import Outline

_KINDS = (("rectangle", "Rectangle"), ("circle", "Round"), ("outline", "Outline"))


class BedForm(QGroupBox):
    """Fields for every kind of bed; only those of the chosen kind are shown.

    Signals
    -------
    edited()
    """

    edited = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Bed", parent)
        self._quantities = Quantities()
        self._exact: dict[str, Outline] = {}
        self._kind = QComboBox(self)
        for value, text in _KINDS:
            self._kind.addItem(text, value)
        self._kind.setAccessibleName("Kind of bed")
        self._kind.setToolTip("A rectangle, a round bed, or any outline of straight lines.")
        self._width = LengthBox("Width of the bed", "Along x, from left to right.")
        self._depth = LengthBox("Depth of the bed", "Along y, from front to back.")
        self._diameter = LengthBox("Diameter of the bed", "Of a round bed.")
        self._height = LengthBox("Height over the bed", "Greatest height of a piece.")
        self._margin = LengthBox(
            "Margin", "Kept free along the edge and round blocked areas, for a brim or a skirt."
        )
        self._outline = self._text_box(
            "Outline of the bed",
            "The corners in order, x and y of each with a space between, and a semicolon or a new "
            "line between corners, such as: 0 0; 200 0; 0 300",
        )
        self._blocked = self._text_box(
            "Blocked areas",
            "What has to stay free, such as clips or a camera: one area a line, each with its "
            "corners as: 0 0; 20 0; 20 10",
        )
        self._plan = BedPlan(self)
        self._lay_out()
        self._kind.currentIndexChanged.connect(self._kind_changed)
        boxes = (self._width, self._depth, self._diameter, self._height, self._margin)
        for box in boxes:
            box.edited.connect(self._edit)
        for corners in (self._outline, self._blocked):
            corners.textChanged.connect(self._edit)
        self._lengths = boxes

    def _text_box(self, name: str, tip: str) -> QPlainTextEdit:
        box = QPlainTextEdit(self)
        box.setAccessibleName(name)
        box.setAccessibleDescription(tip)
        box.setToolTip(tip)
        box.setTabChangesFocus(True)
        box.setFixedHeight(box.fontMetrics().lineSpacing() * 3 + 12)
        return box

    def _lay_out(self) -> None:
        self._form = QFormLayout()
        self._form.addRow("&Kind", self._kind)
        self._form.addRow("Width, &x", self._width)
        self._form.addRow("De&pth, y", self._depth)
        self._form.addRow("D&iameter", self._diameter)
        self._form.addRow("Outl&ine", self._outline)
        self._form.addRow("&Height", self._height)
        self._form.addRow("Mar&gin", self._margin)
        self._form.addRow("&Blocked areas", self._blocked)
        self._hint = QLabel(self)
        self._hint.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._form.addRow("", self._hint)
        grid = QGridLayout(self)
        grid.addLayout(self._form, 0, 0)
        grid.addWidget(self._plan, 0, 1)
        grid.setColumnStretch(1, 1)
        grid.setColumnMinimumWidth(0, 280)
        self._show_fields()

    # -- the bed ------------------------------------------------------------------------------
    def set_bed(self, bed: Bed) -> None:
        """Show the fields of a bed."""
        self.blockSignals(True)
        self._kind.setCurrentIndex([value for value, _ in _KINDS].index(bed.kind))
        self._width.set_mm(bed.width)
        self._depth.set_mm(bed.depth)
        self._diameter.set_mm(min(bed.width, bed.depth))
        self._height.set_mm(bed.height)
        self._margin.set_mm(bed.margin)
        w, d = bed.width, bed.depth
        corners = bed.outline or ((0.0, 0.0), (w, 0.0), (w, d), (0.0, d))
        # What is written is rounded: as long as a line stays, it stands for what it was made from.
        self._exact = {text_of(each, self._quantities): each for each in (corners, *bed.blocked)}
        self._outline.setPlainText(text_of(corners, self._quantities))
        areas = [text_of(area, self._quantities) for area in bed.blocked]
        self._blocked.setPlainText("\n".join(areas))
        self.blockSignals(False)
        self._show_fields()
        self._plan.set_bed(bed)

    def bed(self) -> Bed:
        """Return the bed that the fields make.

        Raises
        ------
        WorkshopError
            If they make none.
        """
        height, margin = self._height.mm, self._margin.mm
        blocked = tuple(
            self._corners(line, "A blocked area")
            for line in self._blocked.toPlainText().splitlines()
            if line.strip()
        )
        kind = self._kind.currentData()
        if kind == "outline":
            outline = self._corners(self._outline.toPlainText(), "The bed's outline")
            return Bed.of_outline(outline, height, margin, blocked)
        if kind == "circle":
            size = self._diameter.mm
            return Bed("circle", size, size, height, margin, blocked=blocked)
        return Bed("rectangle", self._width.mm, self._depth.mm, height, margin, blocked=blocked)

    def _corners(self, text: str, what: str) -> Outline:
        return self._exact.get(text) or outline_of(text, self._quantities, what)

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit; what is entered stays."""
        try:
            bed = self.bed()
        except WorkshopError:
            bed = None
        self._quantities = quantities
        for box in self._lengths:
            box.set_quantities(quantities)
        self._plan.set_quantities(quantities)
        self._show_fields()
        # A text that makes no outline cannot be put into the other unit.
        if bed is not None:
            self.set_bed(bed)

    def _kind_changed(self) -> None:
        self._show_fields()
        self._edit()

    def _show_fields(self) -> None:
        kind = self._kind.currentData()
        for widget, wanted in (
            (self._width, "rectangle"),
            (self._depth, "rectangle"),
            (self._diameter, "circle"),
            (self._outline, "outline"),
        ):
            self._form.setRowVisible(widget, kind == wanted)
        unit = unit_word(self._quantities)
        self._hint.setText(f"One a line, corners in {unit}: 0 0; 20 0; 20 10")

    def _edit(self) -> None:
        try:
            self._plan.set_bed(self.bed())
        except WorkshopError:
            self._plan.set_bed(None)
        self.edited.emit()
