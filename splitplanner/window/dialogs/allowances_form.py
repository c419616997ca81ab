"""Hole allowances by diameter, as they were measured: a row for each, added, changed, taken out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QPalette
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from splitplanner.window.parts.buttons import button, small_button
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Allowances, allowance_at

_USUAL = (3.0, 4.0, 5.0, 6.0, 8.0, 2.0, 2.5, 10.0, 12.0)
"""Diameters that a new row begins with, mm: the first that has no row yet."""
_SHOWN = 4
"""So many rows are seen without scrolling."""
_DIAMETER = "Nominal diameter of a hole that was tried, such as that of its pin."
_ALLOWANCE = (
    "What was added to this diameter when the hole that fitted best was drawn; between the rows, "
    "the allowance is interpolated."
)


@dataclass(frozen=True)
class _Row:
    """The fields of one diameter."""

    diameter: LengthBox
    allowance: LengthBox
    remove: QToolButton

    @property
    def widgets(self) -> tuple[QWidget, ...]:
        return self.diameter, self.allowance, self.remove


class AllowancesForm(QGroupBox):
    """Shows hole allowances by diameter and takes changes.

    Parameters
    ----------
    otherwise : function
        Returns the allowance where nothing was measured, mm.

    Signals
    -------
    edited()
    coupon_asked()
        The user wants to find allowances with the fit coupon.
    """

    edited = Signal()
    coupon_asked = Signal()

    def __init__(self, otherwise: Callable[[], float], parent: QWidget | None = None) -> None:
        super().__init__("Holes as measured", parent)
        self._otherwise = otherwise
        self._quantities = Quantities()
        self._rows: list[_Row] = []
        self._none = QLabel("Nothing measured: each hole gets the hole allowance.")
        self._none.setWordWrap(True)
        self._none.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._add = button(
            "Add diameter", "Add a row for a diameter that you have measured.", self.add_row
        )
        self._coupon = button(
            "Fit coupon…",
            "Make a plate with graded holes, print it, and enter which of them fit best.",
            self.coupon_asked.emit,
        )
        for each in (self._add, self._coupon):
            each.setAutoDefault(False)
        self._lay_out()

    def _lay_out(self) -> None:
        inside = QWidget()
        self._grid = QGridLayout(inside)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setVerticalSpacing(2)
        self._heads = (QLabel("Diameter"), QLabel("Allowance"))
        for column, head in enumerate(self._heads):
            self._grid.addWidget(head, 0, column)
        self._grid.setColumnStretch(3, 1)
        self._grid.setRowStretch(1000, 1)
        self._area = QScrollArea()
        self._area.setWidget(inside)
        self._area.setWidgetResizable(True)
        # As the group that it is in.
        self._area.viewport().setAutoFillBackground(False)
        inside.setAutoFillBackground(False)
        self._area.setFrameShape(QFrame.Shape.NoFrame)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        buttons = QHBoxLayout()
        buttons.addWidget(self._add)
        buttons.addWidget(self._coupon)
        buttons.addStretch(1)
        whole = QVBoxLayout(self)
        whole.addWidget(self._none)
        whole.addWidget(self._area, 1)
        whole.addLayout(buttons)
        self._show_what_is_there()

    # -- what the owner tells it --------------------------------------------------------------
    def set_allowances(self, allowances: Allowances) -> None:
        """Show other allowances, without telling of it."""
        while len(self._rows) > len(allowances):
            self._drop(self._rows[-1])
        while len(self._rows) < len(allowances):
            self._append()
        for row, (diameter, allowance) in zip(self._rows, allowances, strict=True):
            row.diameter.set_mm(diameter)
            row.allowance.set_mm(allowance)
        self._name_rows()
        self._show_what_is_there()

    def allowances(self) -> Allowances:
        """Return what the fields make, by rising diameter, mm; not checked."""
        return tuple(sorted((row.diameter.mm, row.allowance.mm) for row in self._rows))

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit."""
        self._quantities = quantities
        for row in self._rows:
            row.diameter.set_quantities(quantities)
            row.allowance.set_quantities(quantities)

    def set_coupon_offered(self, is_offered: bool) -> None:
        """Say whether there is a printer to make a coupon for."""
        self._coupon.setEnabled(is_offered)

    # -- what the user does -------------------------------------------------------------------
    def add_row(self) -> None:
        """Add a diameter, with the allowance that it has so far, and put the keyboard into it."""
        before = self.allowances()
        taken = {diameter for diameter, _ in before}
        further = (each + 1.0 for each in (max(taken, default=0.0),))
        diameter = next(each for each in (*_USUAL, *further) if each not in taken)
        allowance = round(allowance_at(before, diameter, self._otherwise()), 6)
        after = tuple(sorted((*before, (diameter, allowance))))
        self.set_allowances(after)
        row = self._rows[after.index((diameter, allowance))]
        row.diameter.setFocus()
        row.diameter.selectAll()
        self._area.ensureWidgetVisible(row.diameter)
        self.edited.emit()

    def _remove(self) -> None:
        """Take out the row whose button was pressed, and leave the keyboard nearby."""
        (index,) = (i for i, row in enumerate(self._rows) if row.remove is self.sender())
        self._remove_row(index)

    def _remove_row(self, index: int) -> None:
        self._drop(self._rows[index])
        self._name_rows()
        self._show_what_is_there()
        near = self._rows[min(index, len(self._rows) - 1)].remove if self._rows else self._add
        near.setFocus()
        self.edited.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Delete takes out the row whose button has the keyboard; in a field it deletes digits."""
        here = [index for index, row in enumerate(self._rows) if row.remove.hasFocus()]
        if event.key() == Qt.Key.Key_Delete and here:
            self._remove_row(here[0])
        else:
            super().keyPressEvent(event)

    # -- rows ---------------------------------------------------------------------------------
    def _append(self) -> None:
        row = _Row(
            LengthBox("", _DIAMETER, largest=1000.0, digits=2, step=0.5),
            LengthBox("", _ALLOWANCE, least=-10.0, largest=10.0, digits=2, step=0.01),
            small_button("✕", "", "Take out this row.", self._remove),
        )
        row.remove.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        at = len(self._rows) + 1
        for column, widget in enumerate(row.widgets):
            self._grid.addWidget(widget, at, column)
            # A layout would show it only later, and the keyboard may go there now.
            widget.show()
        for box in (row.diameter, row.allowance):
            box.set_quantities(self._quantities)
            box.edited.connect(self.edited)
        self._rows.append(row)

    def _drop(self, row: _Row) -> None:
        self._rows.remove(row)
        for widget in row.widgets:
            self._grid.removeWidget(widget)
            # It may be the one that tells of this, so it is not deleted at once.
            widget.hide()
            widget.setParent(None)
            widget.deleteLater()

    def _name_rows(self) -> None:
        """Name the fields by their place, put them there, and let Tab go through them in order."""
        before: QWidget | None = None
        for number, row in enumerate(self._rows, 1):
            row.diameter.setAccessibleName(f"Diameter of hole {number}")
            row.allowance.setAccessibleName(f"Allowance of hole {number}")
            row.remove.setAccessibleName(f"Take out hole {number}")
            for column, widget in enumerate(row.widgets):
                self._grid.addWidget(widget, number, column)
                if before is not None:
                    QWidget.setTabOrder(before, widget)
                before = widget
        if before is not None:
            QWidget.setTabOrder(before, self._add)
        QWidget.setTabOrder(self._add, self._coupon)

    def _show_what_is_there(self) -> None:
        self._none.setVisible(not self._rows)
        self._area.setVisible(bool(self._rows))
        if self._rows:
            lines = min(len(self._rows), _SHOWN)
            high = self._rows[0].diameter.sizeHint().height() + self._grid.verticalSpacing()
            self._area.setMinimumHeight(self._heads[0].sizeHint().height() + lines * high + 6)
            wide = sum(widget.sizeHint().width() for widget in self._rows[0].widgets)
            self._area.setMinimumWidth(wide + 3 * self._grid.horizontalSpacing() + 20)
