"""Editing a number in a cell of a table, in the unit and the digits that it is shown with."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QAbstractItemModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtWidgets import QDoubleSpinBox, QStyleOptionViewItem, QWidget

from splitplanner.window.lists.lines import LinesDelegate
from splitplanner.window.quantities import Quantities

Index = QModelIndex | QPersistentModelIndex
_FURTHEST = 1e5
"""Lengths beyond this (mm) are no places in a part."""


class NumberDelegate(LinesDelegate):
    """Edits lengths or angles; the model gives and takes plain numbers as they are shown.

    Parameters
    ----------
    quantities : function that returns how figures are written now
    is_angle : bool
        Whether it is degrees that are edited, and not a length.
    digits : int
    low, high : float
        The numbers that may be entered.
    """

    def __init__(
        self,
        parent: QWidget,
        quantities: Callable[[], Quantities],
        *,
        is_angle: bool = False,
        digits: int = 3,
        low: float = -_FURTHEST,
        high: float = _FURTHEST,
    ) -> None:
        super().__init__(parent)
        self._quantities, self._is_angle = quantities, is_angle
        self._digits, self._range = digits, (low, high)

    def createEditor(  # noqa: N802
        self, parent: QWidget, option: QStyleOptionViewItem, index: Index
    ) -> QWidget:
        """Return a field for the number."""
        field = QDoubleSpinBox(parent)
        field.setFrame(False)
        field.setDecimals(self._digits)
        field.setRange(*self._range)
        field.setButtonSymbols(QDoubleSpinBox.ButtonSymbols.NoButtons)
        quantities = self._quantities()
        field.setLocale(quantities.locale)
        field.setSuffix("°" if self._is_angle else f" {quantities.suffix}")
        field.setAlignment(Qt.AlignmentFlag.AlignRight)
        field.setMinimumWidth(field.fontMetrics().horizontalAdvance("−00000.00 mm"))
        name = index.model().headerData(index.column(), Qt.Orientation.Horizontal)
        field.setAccessibleName(str(name).replace("\n", " "))
        return field

    def setEditorData(self, editor: QWidget, index: Index) -> None:  # noqa: N802
        """Show the number as it is."""
        value = index.data(Qt.ItemDataRole.EditRole)
        if isinstance(editor, QDoubleSpinBox) and value is not None:
            editor.setValue(float(value))
            editor.selectAll()

    def setModelData(  # noqa: N802
        self, editor: QWidget, model: QAbstractItemModel, index: Index
    ) -> None:
        """Hand on the number if it was changed."""
        if not isinstance(editor, QDoubleSpinBox):
            return
        editor.interpretText()
        before: Any = index.data(Qt.ItemDataRole.EditRole)
        # What is shown is rounded: left as it is, the number keeps its digits.
        if before is None or abs(editor.value() - before) > 0.5 * 10.0**-self._digits:
            model.setData(index, editor.value(), Qt.ItemDataRole.EditRole)
