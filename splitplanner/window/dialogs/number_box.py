"""A number of a printer or a material that is no length: what is told of it, and its box."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtWidgets import QDoubleSpinBox, QWidget


@dataclass(frozen=True)
class NumberField:
    """A number that is no length.

    Attributes
    ----------
    name, label, tip : str
        The name is the printer's or the material's.
    suffix : str
    most, step : float
    digits : int
    scale : float
        What is shown for 1.
    least : float
    may_be_unknown : bool
        Whether the lowest step is None.
    is_count : bool
        Whether it is a whole number.
    """

    name: str
    label: str
    tip: str
    suffix: str
    most: float
    step: float
    digits: int = 0
    scale: float = 1.0
    least: float = 0.0
    may_be_unknown: bool = False
    is_count: bool = False


class NumberBox(QDoubleSpinBox):
    """Shows a number and takes changes; keeps it to the last digit while what is shown is still it.

    Parameters
    ----------
    field : NumberField
    """

    def __init__(self, field: NumberField, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.field = field
        self._before: float | None = None
        self.setDecimals(field.digits)
        below = 10.0**-field.digits if field.may_be_unknown else 0.0
        self.setRange(field.least - below, field.most)
        if field.may_be_unknown:
            self.setSpecialValueText("not known")
        self.setSingleStep(field.step)
        self.setSuffix(field.suffix)
        self.setKeyboardTracking(False)
        self.setAccessibleName(field.label.replace("&", ""))
        self.setToolTip(field.tip)
        self.setAccessibleDescription(field.tip)

    def set_number(self, number: float | None) -> None:
        """Show a number; None where it is not known."""
        self._before = number
        self.setValue(self.minimum() if number is None else number * self.field.scale)

    @property
    def number(self) -> float | None:
        """The number, or None."""
        field, before = self.field, self._before
        if field.may_be_unknown and self.value() == self.minimum():
            return None
        half = 0.5 * 10.0**-field.digits
        if before is not None and abs(self.value() - before * field.scale) <= half:
            return before
        if field.is_count:
            return round(self.value())
        return round(self.value() / field.scale, 9)


def boxes_of(fields: Sequence[NumberField], parent: QWidget) -> dict[str, NumberBox]:
    """Return a box for each of `fields`, by their names."""
    return {field.name: NumberBox(field, parent) for field in fields}
