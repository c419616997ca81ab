"""The fall by which a load comes: how high, how it is stopped, and what falls."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QGroupBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from splitplanner.plan import Fall
from splitplanner.window.dialogs.fields import kept_number, number_box, tell, tick_box
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities

_HEIGHT, _STOPPING, _MASS = 500.0, 10.0, 1000.0
"""mm, mm and g to begin with."""


class FallForm(QGroupBox):
    """Takes a `Fall`, or None where the load acts gently.

    Signals
    -------
    edited()
    """

    edited = Signal()

    def __init__(self) -> None:
        super().__init__("It comes by a &fall")
        self.setCheckable(True)
        self.setToolTip("Of the loads above only the shares and directions count then.")
        self.setAccessibleDescription(self.toolTip())
        self.drop = LengthBox(
            "Height of the fall", "From where it is let go to where it lands.", step=50.0
        )
        self.stops = tick_box(
            "&stops within",
            "How far it comes to rest, the give of the part included. Without it only the part "
            "gives way, which makes a stiff part stand far more than on any real ground.",
        )
        self.stopping = LengthBox(
            "Way on which the fall stops", "The give of ground, padding and part.", largest=1000.0
        )
        self.is_other = tick_box(
            "something &else falls on it", "Its mass; the part falls itself otherwise."
        )
        self.mass = number_box(1e6, 0, 50.0, " g")
        tell(self.mass, "Mass that falls", "Of what falls on the part.")
        self._mass = _MASS
        self.note = NoteLine(self)
        self._lay_out()
        self.set_fall(None)
        for length in (self.drop, self.stopping):
            length.edited.connect(self.edited)
        self.mass.valueChanged.connect(self._change)
        for box in (self.stops, self.is_other):
            box.clicked.connect(self._change)
        self.toggled.connect(self._change)

    def _lay_out(self) -> None:
        whole = QVBoxLayout(self)
        for widgets in (
            (QLabel("It falls"), self.drop, self.stops, self.stopping),
            (self.is_other, self.mass),
        ):
            row = QHBoxLayout()
            for widget in widgets:
                row.addWidget(widget)
            row.addStretch(1)
            whole.addLayout(row)
        whole.addWidget(self.note)

    def set_fall(self, fall: Fall | None) -> None:
        """Show a fall, without telling of it."""
        known = fall or Fall(_HEIGHT, _STOPPING)
        before = self.blockSignals(True)
        self.setChecked(fall is not None)
        self.drop.set_mm(known.height)
        self.stops.setChecked(known.stopping is not None)
        self.stopping.set_mm(_STOPPING if known.stopping is None else known.stopping)
        self.is_other.setChecked(known.mass is not None)
        self.mass.blockSignals(True)
        self._mass = _MASS if known.mass is None else known.mass
        self.mass.setValue(self._mass)
        self.mass.blockSignals(False)
        self.blockSignals(before)
        self._enable()

    def _enable(self) -> None:
        pairs: tuple[tuple[QCheckBox, QWidget], ...] = (
            (self.stops, self.stopping), (self.is_other, self.mass)
        )  # fmt: skip
        for box, field in pairs:
            field.setEnabled(box.isChecked() and self.isChecked())

    def _change(self, *_: object) -> None:
        self._enable()
        self.edited.emit()

    def fall(self) -> Fall | None:
        """Return what it says.

        Raises
        ------
        LoadError
            If a number makes no sense.
        """
        if not self.isChecked():
            return None
        return Fall(
            self.drop.mm,
            self.stopping.mm if self.stops.isChecked() else None,
            kept_number(self.mass, self._mass, 1.0) if self.is_other.isChecked() else None,
        )

    def refuse(self, why: str) -> None:
        """Say what is wrong; nothing is if empty."""
        self.note.say(Mark.FAULT, why)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way."""
        for box in (self.drop, self.stopping):
            box.set_quantities(quantities)
        self.mass.setLocale(quantities.locale)
