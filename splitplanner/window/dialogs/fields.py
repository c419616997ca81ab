"""Fields of a form: each has a name and a tip, for eyes and for screen readers."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDoubleSpinBox,
    QFormLayout,
    QGroupBox,
    QWidget,
)

_ROUNDING = 1e-9


def tick_box(text: str, tip: str) -> QCheckBox:
    """Return a box to tick."""
    made = QCheckBox(text)
    made.setToolTip(tip)
    made.setAccessibleDescription(tip)
    return made


def list_box(name: str, tip: str, entries: Sequence[tuple[str, str]] = ()) -> QComboBox:
    """Return a list of entries: a key, and what is read."""
    made = QComboBox()
    tell(made, name, tip)
    made.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
    for key, text in entries:
        made.addItem(text, key)
    return made


def fill_list(combo: QComboBox, keys: Sequence[str], chosen: str) -> None:
    """Offer other entries, without telling; one that is chosen and not among them is marked."""
    combo.blockSignals(True)
    combo.clear()
    for key in keys:
        combo.addItem(key, key)
    if chosen not in keys:
        combo.addItem(f"{chosen} (not on the shelf)", chosen)
    choose_in(combo, chosen)
    combo.blockSignals(False)


def choose_in(combo: QComboBox, key: str) -> None:
    """Choose an entry by its key."""
    combo.setCurrentIndex(combo.findData(key))


def number_box(most: float, digits: int, step: float, suffix: str) -> QDoubleSpinBox:
    """Return a box for a number from 0 on."""
    box = QDoubleSpinBox()
    box.setDecimals(digits)
    box.setRange(0.0, most)
    box.setSingleStep(step)
    box.setSuffix(suffix)
    return box


def kept_number(box: QDoubleSpinBox, before: float, scale: float) -> float:
    """Return a number; as it was to the last digit where what is shown is still that."""
    if abs(box.value() - before * scale) <= 0.5 * 10.0 ** -box.decimals() + _ROUNDING:
        return before
    return round(box.value() / scale, 9)


def tell(box: QWidget, name: str, tip: str) -> None:
    """Say what a field is, and what it is for."""
    box.setAccessibleName(name)
    box.setToolTip(tip)
    box.setAccessibleDescription(tip)


def group_box(title: str, *rows: QWidget | tuple[str, QWidget]) -> QGroupBox:
    """Return fields below each other, those with a label beside it."""
    made = QGroupBox(title)
    form = QFormLayout(made)
    for row in rows:
        if isinstance(row, tuple):
            form.addRow(*row)
        else:
            form.addRow(row)
    return made


def embolden(field: QWidget, is_bold: bool) -> None:
    """Write a field's label bold or plain, or its own words where it has no label."""
    parent = field.parentWidget()
    form = None if parent is None else parent.layout()
    label = form.labelForField(field) if isinstance(form, QFormLayout) else None
    written = field if label is None else label
    font = written.font()
    font.setBold(is_bold)
    written.setFont(font)
