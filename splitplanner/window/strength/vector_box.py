"""A force, a couple or a mere direction: how large it is, and where it points."""

from __future__ import annotations

import math

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QDoubleSpinBox, QHBoxLayout, QLabel, QWidget

from splitplanner.arrays import to_vector, unit_vector
from splitplanner.errors import LoadError
from splitplanner.plan import Vector
from splitplanner.window.dialogs.fields import number_box, tell
from splitplanner.window.quantities import Quantities

WAYS: tuple[tuple[str, Vector], ...] = (
    ("+x", (1.0, 0.0, 0.0)),
    ("−x", (-1.0, 0.0, 0.0)),
    ("+y", (0.0, 1.0, 0.0)),
    ("−y", (0.0, -1.0, 0.0)),
    ("+z", (0.0, 0.0, 1.0)),
    ("−z", (0.0, 0.0, -1.0)),
)
"""Along the axes of the part's frame."""
_OTHER = "other way"
_SAME = 1e-12
_LARGEST = 1e6
_NARROW = 11
"""Room for so many figures is enough for a component."""


class WayBox(QWidget):
    """Takes a direction: one of the axes, or three numbers.

    Signals
    -------
    edited()
    """

    edited = Signal()

    def __init__(self, name: str, tip: str, *, has_signs: bool = True) -> None:
        super().__init__()
        self._name = name
        self._ways = WAYS if has_signs else tuple((word[1:], way) for word, way in WAYS[::2])
        self._kept: Vector | None = None
        self.list = QComboBox()
        tell(self.list, name, tip)
        self.list.addItems([*(word for word, _ in self._ways), _OTHER])
        self.numbers = tuple(self._number(axis, tip) for axis in "xyz")
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for widget in (self.list, *self.numbers):
            row.addWidget(widget)
        self.list.currentIndexChanged.connect(self._choose)
        self.set_way(self._ways[0][1])

    def _number(self, axis: str, tip: str) -> QDoubleSpinBox:
        box = number_box(_LARGEST, 3, 0.1, "")
        box.setRange(-_LARGEST, _LARGEST)
        box.setPrefix(f"{axis} ")
        box.setKeyboardTracking(False)
        box.setMaximumWidth(_NARROW * box.fontMetrics().horizontalAdvance("0"))
        tell(box, f"{self._name}, {axis}", f"{tip} Its share along {axis}, of any length.")
        box.valueChanged.connect(self._edit)
        return box

    def set_way(self, way: Vector) -> None:
        """Show a direction, without telling of it."""
        unit = unit_vector(way)
        found = [
            at
            for at, (_, axis) in enumerate(self._ways)
            if max(abs(a - b) for a, b in zip(unit, axis, strict=True)) < _SAME
        ]
        self._show(found[0] if found else len(self._ways), to_vector(unit))
        self._kept = to_vector(unit)

    def _show(self, at: int, way: Vector) -> None:
        for box in (self.list, *self.numbers):
            box.blockSignals(True)
        self.list.setCurrentIndex(at)
        for box, value in zip(self.numbers, way, strict=True):
            box.setValue(value)
            box.setVisible(at == len(self._ways))
        for box in (self.list, *self.numbers):
            box.blockSignals(False)

    @property
    def way(self) -> Vector:
        """The direction, of length 1.

        Raises
        ------
        LoadError
            If its three numbers are all 0.
        """
        if self._kept is not None:
            return self._kept
        at = self.list.currentIndex()
        if at < len(self._ways):
            return self._ways[at][1]
        given = tuple(box.value() for box in self.numbers)
        if not any(given):
            raise LoadError(f"{self._name}: three zeros point nowhere; give one of them a value.")
        return to_vector(unit_vector(given))

    def _choose(self, at: int) -> None:
        # Three numbers begin with the axis that was chosen before.
        before = self._kept or (1.0, 0.0, 0.0)
        is_axis = at < len(self._ways)
        self._kept = self._ways[at][1] if is_axis else before
        self._show(at, self._kept)
        self.edited.emit()

    def _edit(self) -> None:
        self._kept = None
        self.edited.emit()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way."""
        for box in self.numbers:
            box.setLocale(quantities.locale)


class VectorBox(QWidget):
    """Takes a vector; one that is not touched stays as it is to the last digit.

    Parameters
    ----------
    name, tip : str
    suffix : str
        Of the size, with its space.
    scale : float
        What one of the unit shown is inside.
    word : str
        Between the size and where it points.

    Signals
    -------
    edited()
    """

    edited = Signal()

    def __init__(
        self, name: str, tip: str, suffix: str, *, scale: float = 1.0, word: str = "towards"
    ) -> None:
        super().__init__()
        self._scale = scale
        self._kept: Vector | None = (0.0, 0.0, 0.0)
        self.size_box = number_box(_LARGEST, 2, 1.0, suffix)
        self.size_box.setKeyboardTracking(False)
        self.size_box.setMaximumWidth(15 * self.size_box.fontMetrics().horizontalAdvance("0"))
        tell(self.size_box, name, tip)
        self.way_box = WayBox(f"{name}, {word}", "Where it points, in the axes of the part.")
        self.way_box.set_way(WAYS[-1][1])
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for widget in (self.size_box, QLabel(word), self.way_box):
            row.addWidget(widget)
        row.addStretch(1)
        self.size_box.valueChanged.connect(self._edit)
        self.way_box.edited.connect(self._edit)

    def set_vector(self, vector: Vector) -> None:
        """Show a vector, without telling of it; a zero keeps where the last one pointed."""
        size = math.hypot(*vector)
        self.size_box.blockSignals(True)
        self.size_box.setValue(size / self._scale)
        self.size_box.blockSignals(False)
        if size > 0.0:
            self.way_box.set_way(vector)
        self._kept = vector

    @property
    def vector(self) -> Vector:
        """The vector.

        Raises
        ------
        LoadError
            If it points nowhere.
        """
        if self._kept is not None:
            return self._kept
        size = self.size_box.value() * self._scale
        x, y, z = (size * each + 0.0 for each in self.way_box.way)
        return x, y, z

    def _edit(self) -> None:
        self._kept = None
        self.edited.emit()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way."""
        self.size_box.setLocale(quantities.locale)
        self.way_box.set_quantities(quantities)
