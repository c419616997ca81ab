"""The rows of a fit coupon, and a field for the number of the best hole in each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QFrame, QGridLayout, QLabel, QScrollArea, QSpinBox, QWidget

if TYPE_CHECKING:
    from splitplanner.joint.coupon import Row

_MOST = 200
"""Numbers are no larger, hundredths of a millimetre: as allowances of a printer."""
_UNTRIED = -_MOST - 1
_WHAT = {
    "hole": "round holes",
    "slot": "slots, only to compare",
    "insert": "heat-set inserts",
}


class NumberBox(QSpinBox):
    """Takes the number of a hole; steps go from one hole of the coupon to the next.

    Numbers that are not on the coupon can be typed: an older one may be at hand.
    """

    def __init__(self, label: str, numbers: Sequence[int], present: int) -> None:
        super().__init__()
        self._numbers, self._present = sorted(numbers), present
        self.setRange(_UNTRIED, _MOST)
        self.setSpecialValueText("not tried")
        self.setValue(_UNTRIED)
        self.setKeyboardTracking(False)
        self.setAccessibleName(f"Best hole of row {label}")
        tip = (
            "The number below the hole that fits best: what was added to its diameter, in "
            "hundredths of a millimetre. The lowest step is: not tried."
        )
        self.setToolTip(tip)
        self.setAccessibleDescription(tip)

    @property
    def number(self) -> int | None:
        """The number that was entered; None while nothing is."""
        return None if self.value() == _UNTRIED else self.value()

    def set_number(self, number: int | None) -> None:
        """Show a number, without telling of it."""
        self.blockSignals(True)
        self.setValue(_UNTRIED if number is None else number)
        self.blockSignals(False)

    def stepBy(self, steps: int) -> None:  # noqa: N802
        """Go to the next hole; at first to the one that is drawn as holes are now."""
        if self.number is None:
            if steps > 0:
                self.setValue(self._present)
            return
        for _ in range(abs(steps)):
            if steps > 0:
                further = [each for each in self._numbers if each > self.value()]
                self.setValue(further[0] if further else self.value())
            else:
                further = [each for each in self._numbers if each < self.value()]
                self.setValue(further[-1] if further else _UNTRIED)

    def stepEnabled(self) -> QSpinBox.StepEnabledFlag:  # noqa: N802
        """Both ways, but for down from nothing and up from the last hole."""
        up, down = QSpinBox.StepEnabledFlag.StepUpEnabled, QSpinBox.StepEnabledFlag.StepDownEnabled
        if self.number is None:
            return up
        return down if self.value() >= self._numbers[-1] else up | down


class CouponRows(QScrollArea):
    """Lists the rows of a coupon.

    Signals
    -------
    edited()
        Another number was entered.
    """

    edited = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[Row, ...] = ()
        self._boxes: dict[int, NumberBox] = {}
        self._kept: dict[str, int | None] = {}
        self.setWidgetResizable(True)
        # It follows the field that has the keyboard.
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAccessibleName("Rows of the coupon")
        self.viewport().setAutoFillBackground(False)

    def set_rows(self, rows: Sequence[Row], present: Sequence[int]) -> None:
        """List other rows; numbers that were entered are kept for when their rows are back.

        Parameters
        ----------
        rows : sequence of Row
        present : sequence of int
            For each, the number of the hole that is drawn as holes are now.
        """
        for index, field in self._boxes.items():
            self._kept[self._rows[index].label] = field.number
        self._rows, self._boxes = tuple(rows), {}
        inside = QWidget()
        grid = QGridLayout(inside)
        grid.setContentsMargins(0, 0, 0, 0)
        for column, head in enumerate(("Row", "Holes", "Best hole")):
            label = QLabel(head)
            label.setForegroundRole(QPalette.ColorRole.PlaceholderText)
            grid.addWidget(label, 0, column)
        for number, (row, drawn_now) in enumerate(zip(rows, present, strict=True)):
            grid.addWidget(QLabel(row.label), number + 1, 0)
            what = QLabel(_WHAT[row.kind])
            what.setWordWrap(True)
            if row.kind == "slot":
                what.setForegroundRole(QPalette.ColorRole.PlaceholderText)
                what.setToolTip("Slots are drawn with the allowance of round holes.")
                grid.addWidget(what, number + 1, 1, 1, 2)
                continue
            grid.addWidget(what, number + 1, 1)
            box = NumberBox(row.label, [round(each * 100) for each in row.allowances], drawn_now)
            box.set_number(self._kept.get(row.label))
            box.valueChanged.connect(self.edited)
            grid.addWidget(box, number + 1, 2)
            self._boxes[number] = box
        grid.setColumnStretch(1, 1)
        grid.setRowStretch(len(rows) + 1, 1)
        self.setWidget(inside)
        # As the group that it is in.
        inside.setAutoFillBackground(False)

    @property
    def rows(self) -> tuple[Row, ...]:
        """What is listed."""
        return self._rows

    @property
    def numbers(self) -> dict[int, int]:
        """The numbers that were entered, by row, counted from 0."""
        entered = {row: box.number for row, box in self._boxes.items()}
        return {row: number for row, number in entered.items() if number is not None}

    def start(self) -> None:
        """Put the keyboard into the first field."""
        for box in self._boxes.values():
            box.setFocus()
            box.selectAll()
            return
