"""The figures of a printer that the print time by layers comes from."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFormLayout, QHBoxLayout, QWidget

from splitplanner.window.dialogs.number_box import NumberField, boxes_of
from splitplanner.window.parts.buttons import button
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Printer

_SPEEDS = (
    NumberField("outer_speed", "Outer lines", "Speed of the outermost line of a wall.",
                " mm/s", 10_000, 5),
    NumberField("inner_speed", "Inner lines", "Speed of the other lines of a wall.",
                " mm/s", 10_000, 5),
    NumberField("infill_speed", "Infill speed", "Speed of infill, solid layers and support.",
                " mm/s", 10_000, 5),
    NumberField("travel_speed", "Travel speed", "Speed between islands, without printing.",
                " mm/s", 10_000, 10),
)  # fmt: skip
_LAYERS = (
    NumberField("flow_limit", "Flow limit", "Largest volume that the hotend melts.",
                " mm³/s", 1000, 0.5, 1),
    NumberField("least_layer_seconds", "Least layer time",
                "A layer that would take less is printed slower, so that it sets.",
                " s", 1000, 1, 1),
    NumberField("layer_change_seconds", "Layer change",
                "Lost between the end of a layer and the start of the next.", " s", 1000, 0.5, 1),
    NumberField("travel_seconds", "Each travel",
                "Lost with each travel from island to island, besides the way.",
                " s", 1000, 0.1, 1),
)  # fmt: skip
_OTHERS = (
    NumberField("top_layers", "Top layers", "Printed solid below what is open to above.",
                " layers", 1000, 1, is_count=True),
    NumberField("bottom_layers", "Bottom layers", "Printed solid above what is open to below.",
                " layers", 1000, 1, is_count=True),
    NumberField("time_factor", "Time factor",
                "Hours that a print of yours took, for each hour that is worked out with 1 here.",
                "", 100, 0.05, 3),
    NumberField("mass_factor", "Mass factor",
                "Grams that a print of yours weighed, for each gram that is worked out with 1 "
                "here.", "", 100, 0.01, 3),
)  # fmt: skip


class PrintTimeForm(QWidget):
    """Shows speeds, times, solid layers and factors of a printer, and takes changes.

    Signals
    -------
    edited()
    known_asked()
        The user knows a print, by which the factors are found.
    """

    edited = Signal()
    known_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._boxes = boxes_of((*_SPEEDS, *_LAYERS, *_OTHERS), self)
        columns = QHBoxLayout(self)
        for fields in (_SPEEDS, _LAYERS, _OTHERS):
            column = QFormLayout()
            for field in fields:
                column.addRow(field.label, self._boxes[field.name])
            if fields is _OTHERS:
                self._known = button(
                    "A print you &know…",
                    "Find both factors by the hours and grams of a print of yours.",
                    self._ask_known,
                )
                column.addRow("", self._known)
            columns.addLayout(column)
            columns.addSpacing(24)
        columns.addStretch(1)
        for box in self._boxes.values():
            box.valueChanged.connect(self.edited)

    def _ask_known(self) -> None:
        self.known_asked.emit()

    def set_known_offered(self, is_offered: bool) -> None:
        """Offer to find the factors by a known print, or not."""
        self._known.setEnabled(is_offered)

    def set_printer(self, printer: Printer) -> None:
        """Show the figures of a printer."""
        for name, box in self._boxes.items():
            box.set_number(getattr(printer, name))

    def set_factors(self, printer: Printer) -> None:
        """Show the factors of a printer, and leave all else."""
        for name in ("time_factor", "mass_factor"):
            self._boxes[name].blockSignals(True)
            self._boxes[name].set_number(float(f"{getattr(printer, name):.4g}"))
            self._boxes[name].blockSignals(False)

    def figures(self) -> dict[str, Any]:
        """Return what was entered, by the names of the fields of `Printer`."""
        return {name: box.number for name, box in self._boxes.items()}

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way; speeds are in mm/s everywhere."""
        for box in self._boxes.values():
            box.setLocale(quantities.locale)
