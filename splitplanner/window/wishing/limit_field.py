"""A limit that is set or not: a check box with a length beside it."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QSizePolicy, QWidget

from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities

_LARGEST = 1e5
"""All outlines of a seam through many ribs are many metres, mm."""


class LimitField(QWidget):
    """Takes a length, or None while its box is not checked.

    Parameters
    ----------
    text, tip : str
    first : float
        The length to begin with when it is first checked, mm.

    Signals
    -------
    edited(object)
        The user wants this length, a float in mm, or no limit: None.
    """

    edited = Signal(object)

    def __init__(self, text: str, tip: str, first: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._value: float | None = None
        self.note = NoteLine(self)
        self.check = QCheckBox(text, self)
        self.check.setToolTip(tip)
        self.check.setAccessibleDescription(tip)
        self.length = LengthBox(text, tip, largest=_LARGEST, parent=self)
        self.length.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.length.set_mm(first)
        self.length.setEnabled(False)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.addWidget(self.check, 0, 0)
        grid.addWidget(self.length, 0, 1)
        grid.addWidget(self.note, 1, 0, 1, 2)
        grid.setColumnStretch(0, 1)
        self.check.clicked.connect(self._on_check)
        self.length.edited.connect(self._on_length)

    def show_value(self, value: float | None) -> None:
        """Show a limit; what was entered and refused stays as long as the limit is what it was."""
        if self.note.text and value == self._value:
            return
        self._value = value
        self.note.say(Mark.INFO, "")
        self.check.setChecked(value is not None)
        self.length.setEnabled(value is not None)
        if value is not None:
            self.length.set_mm(value)

    def refuse(self, why: str) -> None:
        """Say why what was entered cannot be taken; it stays there to be mended."""
        self.note.say(Mark.FAULT, why)

    def set_quantities(self, quantities: Quantities) -> None:
        """Show the length in another unit."""
        self.length.set_quantities(quantities)

    def _on_check(self, checked: bool) -> None:
        self.length.setEnabled(checked)
        self.note.say(Mark.INFO, "")
        self.edited.emit(self.length.mm if checked else None)

    def _on_length(self) -> None:
        self.note.say(Mark.INFO, "")
        self.edited.emit(self.length.mm)
