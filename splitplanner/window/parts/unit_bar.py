"""A slim bar that asks in which unit a file was drawn, where it does not say so."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton, QWidget

from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities

_OFFERED = ("mm", "inch", "cm", "m")
"""Those a user may mean; what the file seems to be in is added where it is another one."""
_PLURALS = {"inch": "inches", "foot": "feet", "m": "metres", "micron": "microns"}


class UnitBar(NoteLine):
    """Asks once; hidden while there is nothing to ask.

    Signals
    -------
    unit_chosen(str)
        The file is to be read anew in this unit.
    kept()
        It is as it was read.
    """

    unit_chosen = Signal(str)
    kept = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._quantities = Quantities()
        self._asked: tuple[str, tuple[float, ...], str, str] | None = None
        self._units: list[QPushButton] = []
        self._keep = self.add_button("&Keep", "It is right as it was read.")
        self._keep.clicked.connect(self._answer_keep)

    def ask(self, name: str, extents: tuple[float, ...], read_in: str, guess: str) -> None:
        """Ask about a file.

        Parameters
        ----------
        name : str
        extents : tuple of float
            Of the part, in the file's own numbers.
        read_in, guess : str
            The unit that it was read in, and the one that it seems to be in: keys of
            `splitplanner.solid.units.MM_PER`.
        """
        self._asked = (name, tuple(extents), read_in, guess)
        self._write()
        (self._units or [self._keep])[0].setFocus()

    def withdraw(self) -> None:
        """Ask no more, without an answer: another file was opened."""
        self._asked = None
        self.say(Mark.QUESTION, "")

    def set_quantities(self, quantities: Quantities) -> None:
        """Write sizes in another unit."""
        self._quantities = quantities
        if self._asked is not None:
            self._write()

    def _write(self) -> None:
        assert self._asked is not None
        name, extents, read_in, guess = self._asked
        for button in self._units:
            button.setParent(None)
            button.deleteLater()
        units = [guess, *(each for each in _OFFERED if each not in (guess, read_in))]
        self._units = [self._unit_button(unit, extents) for unit in units if unit != read_in]
        # Keeping comes last.
        self._row.removeWidget(self._keep)
        self._row.addWidget(self._keep)
        for before, after in zip(self._units, [*self._units[1:], self._keep], strict=True):
            QWidget.setTabOrder(before, after)
        self.say(
            Mark.QUESTION,
            f"{name} does not say its unit. Read in {_PLURALS.get(read_in, read_in)} it is "
            f"{self._size(extents, read_in)}; it looks as if it were in "
            f"{_PLURALS.get(guess, guess)}: {self._size(extents, guess)}. Read it in:",
        )

    def _unit_button(self, unit: str, extents: tuple[float, ...]) -> QPushButton:
        tip = f"It is then {self._size(extents, unit)}."
        button = self.add_button(unit, tip)
        button.setAccessibleName(f"Read it in {_PLURALS.get(unit, unit)}")
        button.clicked.connect(lambda: self._answer(unit))
        button.show()
        return button

    def _size(self, extents: tuple[float, ...], unit: str) -> str:
        from splitplanner.solid.units import MM_PER

        size = tuple(each * MM_PER[unit] for each in extents)
        # Three figures of the largest are enough to tell units apart.
        digits = max(0, 2 - len(str(int(self._quantities.shown(max(size))))) + 1)
        return self._quantities.size(size, min(digits, 3))

    def _answer(self, unit: str) -> None:
        self.withdraw()
        self.unit_chosen.emit(unit)

    def _answer_keep(self) -> None:
        self.withdraw()
        self.kept.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Escape keeps it as it is."""
        if event.key() == Qt.Key.Key_Escape and self._asked is not None:
            self._answer_keep()
        else:
            super().keyPressEvent(event)
