"""A box for one length, in the unit that the user reads."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QDoubleSpinBox, QWidget

from splitplanner.window.quantities import Quantities


class LengthBox(QDoubleSpinBox):
    """Takes a length and keeps it in mm, to the bit where the user did not change it.

    Signals
    -------
    edited()
        The user changed it.
    """

    edited = Signal()

    def __init__(
        self,
        name: str,
        tip: str,
        *,
        largest: float = 10_000.0,
        least: float = 0.0,
        digits: int = 1,
        step: float = 1.0,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._mm = 0.0
        self._range = (least, largest)
        self._digits = digits
        self._step = step
        self.setAccessibleName(name)
        self.setToolTip(tip)
        self.setAccessibleDescription(tip)
        # Half a number is not taken: 1 on the way to 150.
        self.setKeyboardTracking(False)
        self._quantities = Quantities()
        self.set_quantities(self._quantities)
        self.valueChanged.connect(self._take)

    @property
    def mm(self) -> float:
        """The length, mm."""
        return self._mm

    def set_mm(self, length: float) -> None:
        """Show a length, mm, without telling of it."""
        self._mm = length
        self.blockSignals(True)
        self.setValue(self._quantities.shown(length))
        self.blockSignals(False)

    def set_quantities(self, quantities: Quantities) -> None:
        """Show the length in another unit."""
        self._quantities = quantities
        is_inch = quantities.unit == "inch"
        length = self._mm
        self.blockSignals(True)
        self.setLocale(quantities.locale)
        self.setDecimals(self._digits + (2 if is_inch else 0))
        self.setRange(*(quantities.shown(each) for each in self._range))
        # A fair step in inches is a tenth of one where it is a millimetre, roughly.
        self.setSingleStep(self._step / (10.0 if is_inch else 1.0))
        self.setSuffix(f" {quantities.suffix}")
        self.blockSignals(False)
        self.set_mm(length)

    def _take(self, value: float) -> None:
        self._mm = round(self._quantities.entered(value), 6)
        self.edited.emit()
