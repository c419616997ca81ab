"""One weight of the plan score: a slider and a number, with the default marked."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRect, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPolygonF, QWheelEvent
from PySide6.QtWidgets import (
    QDoubleSpinBox,
    QGridLayout,
    QLabel,
    QSlider,
    QStyle,
    QStyleOptionSlider,
    QToolButton,
    QWidget,
)

from splitplanner.score import Criterion
from splitplanner.window.lists.definitions import criterion_definition, definition
from splitplanner.window.look import look_of
from splitplanner.window.quantities import Quantities

STEPS_TO_DEFAULT = 100
MOST_STEPS = 200
"""At the end of the slider a weight is (200 / 100)² = 4 times its default."""
SCALE_OF_UNCOUNTED = 0.25
"""Stands in for the default of criteria that have none: what one more piece costs."""
_SNAP = 4
_DIGITS = 3
_LARGEST = 1000.0


def weight_at(steps: int, criterion: Criterion) -> float:
    """Return the weight at a place of the slider: its square, so that small ones are fine."""
    scale = criterion.weight or SCALE_OF_UNCOUNTED
    return round(float(scale * (steps / STEPS_TO_DEFAULT) ** 2), _DIGITS)


def steps_at(weight: float, criterion: Criterion) -> int:
    """Return the place of the slider that is nearest to a weight."""
    scale = criterion.weight or SCALE_OF_UNCOUNTED
    return min(MOST_STEPS, round(STEPS_TO_DEFAULT * math.sqrt(weight / scale)))


class MarkedSlider(QSlider):
    """A slider with a mark at the default, to which it snaps when it is drawn near."""

    def __init__(self, mark: int, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.mark = mark
        self.setRange(0, MOST_STEPS)
        # Narrower than Qt has it, so that the lists beside it keep their room.
        self.setMinimumWidth(60)
        self.setSingleStep(2)
        self.setPageStep(20)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.sliderMoved.connect(self._snap)

    def _snap(self, place: int) -> None:
        if abs(place - self.mark) <= _SNAP:
            self.setSliderPosition(self.mark)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        """Turn only when it has the focus: else the wheel scrolls the panel."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()

    def place_of(self, value: int) -> float:
        """Return where the handle's middle stands for a value, logical pixels from the left."""
        option = QStyleOptionSlider()
        self.initStyleOption(option)
        control, part = QStyle.ComplexControl.CC_Slider, QStyle.SubControl
        groove: QRect = self.style().subControlRect(control, option, part.SC_SliderGroove, self)
        handle: QRect = self.style().subControlRect(control, option, part.SC_SliderHandle, self)
        at = QStyle.sliderPositionFromValue(0, MOST_STEPS, value, groove.width() - handle.width())
        return groove.left() + at + handle.width() / 2

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw a small triangle below the default."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(look_of(self.palette()).colour("faint"))
        x, low = self.place_of(self.mark), float(self.height())
        painter.drawPolygon(
            QPolygonF([QPointF(x, low - 5), QPointF(x - 4, low), QPointF(x + 4, low)])
        )


class _Number(QDoubleSpinBox):
    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()


class WeightRow(QWidget):
    """The weight of one criterion.

    Signals
    -------
    changed()
        The weight is another, while the slider moves as well.
    settled()
        The user let go of it.
    """

    changed = Signal()
    settled = Signal()

    def __init__(self, criterion: Criterion, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.criterion = criterion
        self._weight = criterion.weight
        self.name = QLabel(criterion.name[:1].upper() + criterion.name[1:])
        self.name.setWordWrap(True)
        self.slider = MarkedSlider(steps_at(criterion.weight, criterion))
        self.number = _Number()
        self.number.setRange(0.0, _LARGEST)
        self.number.setDecimals(_DIGITS)
        self.number.setSingleStep((criterion.weight or SCALE_OF_UNCOUNTED) / 5)
        self.number.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.number.setKeyboardTracking(False)
        self.number.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.back = QToolButton()
        self.back.setText("↺")
        self.back.setAutoRaise(True)
        self._explain(Quantities())
        self._lay_out()
        self.slider.valueChanged.connect(self._slid)
        self.slider.sliderReleased.connect(self.settled)
        self.number.valueChanged.connect(self._entered)
        self.back.clicked.connect(self._reset)
        self._show()

    def _lay_out(self) -> None:
        keep = self.back.sizePolicy()
        keep.setRetainSizeWhenHidden(True)
        self.back.setSizePolicy(keep)
        layout = QGridLayout(self)
        layout.setContentsMargins(0, 1, 0, 1)
        layout.setHorizontalSpacing(6)
        layout.addWidget(self.name, 0, 0)
        layout.addWidget(self.slider, 0, 1)
        layout.addWidget(self.number, 0, 2)
        layout.addWidget(self.back, 0, 3)
        layout.setColumnMinimumWidth(0, 120)
        layout.setColumnStretch(0, 3)
        layout.setColumnStretch(1, 4)
        self.slider.setMinimumWidth(80)

    def _explain(self, quantities: Quantities) -> None:
        criterion = self.criterion
        reference = quantities.locale.toString(criterion.reference, "g", 6)
        default = quantities.locale.toString(criterion.weight, "g", 6)
        meaning = criterion_definition(criterion.name)
        text = (
            f"{meaning} One reference is {reference} {criterion.unit}. "
            f"{definition('weight')} Default: {default}."
        )
        for each in (self.name, self.slider, self.number):
            each.setToolTip(f"<p>{text}</p>")
            each.setAccessibleDescription(text)
        self.slider.setAccessibleName(f"Weight of {criterion.name}")
        self.number.setAccessibleName(f"Weight of {criterion.name} as a number")
        self.back.setToolTip(f"Back to the default, {default}")
        self.back.setAccessibleName(f"Default weight of {criterion.name}")

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another locale."""
        self._explain(quantities)
        self.number.setLocale(quantities.locale)

    @property
    def weight(self) -> float:
        """What one reference adds to the plan score."""
        return self._weight

    @property
    def is_default(self) -> bool:
        """Whether it is as the program has it."""
        return self._weight == self.criterion.weight

    def set_weight(self, weight: float) -> None:
        """Set the weight without signalling it."""
        self._weight = weight
        self._show()

    def _show(self) -> None:
        for each in (self.slider, self.number):
            each.blockSignals(True)
        self.slider.setValue(steps_at(self._weight, self.criterion))
        self.number.setValue(self._weight)
        for each in (self.slider, self.number):
            each.blockSignals(False)
        self.back.setVisible(not self.is_default)

    def _slid(self, steps: int) -> None:
        self._become(weight_at(steps, self.criterion), is_held=self.slider.isSliderDown())

    def _entered(self, number: float) -> None:
        self._become(number, is_held=False)

    def _reset(self, *_: object) -> None:
        self._become(self.criterion.weight, is_held=False)

    def _become(self, weight: float, *, is_held: bool) -> None:
        if weight == self._weight:
            return
        self.set_weight(weight)
        self.changed.emit()
        if not is_held:
            self.settled.emit()
