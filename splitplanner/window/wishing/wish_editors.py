"""The keep-out regions and the must-cut planes: a list, and the numbers of what is chosen in it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from splitplanner.arrays import Floats, to_vector
from splitplanner.score import KeepOutBox, KeepOutSphere, Region
from splitplanner.solid import Plane
from splitplanner.window.parts.buttons import button
from splitplanner.window.quantities import Quantities
from splitplanner.window.wishing.region_form import PlaneForm, RegionForm, square_plane
from splitplanner.window.wishing.wish_rows import WishList, plane_text, region_text

_NO_PART = np.array([[0.0, 0.0, 0.0], [100.0, 100.0, 100.0]])
_FIRST_SHARE = 1.0 / 3.0
"""How large a new region is, as a share of the part."""
_KIND_NAMES = {"box": "box", "sphere": "sphere", "faces": "painted region"}


class RegionsEditor(QWidget):
    """Takes keep-out regions.

    Signals
    -------
    edited(str, object)
        What was done, and the regions as they should be now, a tuple.
    region_chosen(int)
        The user went to a region; -1 if there is none any more.
    """

    edited = Signal(str, object)
    region_chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._regions: tuple[Region, ...] = ()
        self._bounds: Floats | None = None
        self._areas: Floats | None = None
        self._quantities = Quantities()
        self._nothing = QLabel("None: seams may run anywhere.")
        self.list = WishList("Keep-out regions", self)
        self.form = RegionForm(self)
        box = button("Add box", "Add a box that no seam crosses.", self._add_box)
        sphere = button("Add sphere", "Add a sphere that no seam crosses.", self._add_sphere)
        self._delete = button(
            "Delete", "Delete the chosen keep-out region (Del in the list).", self._delete_chosen
        )
        _stack(self, self._nothing, self.list, self.form, row_of(box, sphere, self._delete, None))
        self.list.row_chosen.connect(self._on_chosen)
        self.list.delete_asked.connect(self._delete_chosen)
        self.form.region_edited.connect(self._on_edited)
        self._show()

    def show_regions(
        self, regions: Sequence[Region], bounds: Floats | None, areas: Floats | None
    ) -> None:
        """Show regions of a part within `bounds` (2, 3), mm, with face `areas` (m,), mm²."""
        self._regions, self._bounds, self._areas = tuple(regions), bounds, areas
        self._show()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write lengths in another unit."""
        self._quantities = quantities
        self.form.set_quantities(quantities)
        self._show()

    @property
    def chosen(self) -> int:
        """The region whose numbers are shown; -1 for none."""
        return self.list.currentRow()

    def choose(self, row: int) -> None:
        """Show the numbers of a region, or of none: -1; nothing is signalled."""
        self.list.choose(row)
        self._show()

    def _show(self) -> None:
        self.list.show_texts([region_text(r, self._quantities, self._areas) for r in self._regions])
        self._nothing.setVisible(not self._regions)
        chosen = self._regions[self.chosen] if self.chosen >= 0 else None
        self.form.show_region(chosen, self._areas)
        self._delete.setEnabled(chosen is not None)

    def _tell(self, label: str, regions: Sequence[Region], chosen: int) -> None:
        self._regions = tuple(regions)
        before = self.chosen
        self._show()
        self.choose(min(chosen, len(regions) - 1))
        self.edited.emit(label, self._regions)
        if self.chosen != before:
            self.region_chosen.emit(self.chosen)

    def _on_chosen(self, row: int) -> None:
        self._show()
        self.region_chosen.emit(row)

    def _on_edited(self, region: Region) -> None:
        at = self.chosen
        regions = (*self._regions[:at], region, *self._regions[at + 1 :])
        self._tell(f"change a keep-out {_KIND_NAMES[region.kind]}", regions, at)

    def _around(self) -> tuple[Floats, Floats]:
        """Return corners of a box in the middle of the part, mm."""
        bounds = _NO_PART if self._bounds is None else self._bounds
        middle = bounds.mean(axis=0)
        half = np.maximum(_FIRST_SHARE * np.ptp(bounds, axis=0) / 2.0, 0.5)
        return np.round(middle - half, 1), np.round(middle + half, 1)

    def _add_box(self) -> None:
        low, high = self._around()
        box = KeepOutBox(to_vector(low), to_vector(high))
        self._tell("keep seams out of a box", (*self._regions, box), len(self._regions))

    def _add_sphere(self) -> None:
        low, high = self._around()
        radius = round(float((high - low).min()) / 2.0, 1)
        ball = KeepOutSphere(to_vector(np.round((low + high) / 2.0, 1)), radius)
        self._tell("keep seams out of a sphere", (*self._regions, ball), len(self._regions))

    def _delete_chosen(self) -> None:
        rows = self.list.chosen_rows
        if rows:
            kind = _KIND_NAMES[self._regions[rows[0]].kind]
            label = f"delete a keep-out {kind}" if len(rows) == 1 else "delete keep-out regions"
            self._tell(label, _without(self._regions, rows), rows[0])


class PlanesEditor(QWidget):
    """Takes must-cut planes.

    Signals
    -------
    edited(str, object)
        What was done, and the planes as they should be now, a tuple.
    """

    edited = Signal(str, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._planes: tuple[Plane, ...] = ()
        self._bounds: Floats | None = None
        self._quantities = Quantities()
        self._nothing = QLabel("None: the part is cut where it suits best.")
        self.list = WishList("Must-cut planes", self)
        self.form = PlaneForm(self)
        add = button("Add plane", "Add a plane that no piece reaches across.", self._add)
        self._delete = button(
            "Delete", "Delete the chosen must-cut plane (Del in the list).", self._delete_chosen
        )
        _stack(self, self._nothing, self.list, self.form, row_of(add, self._delete, None))
        self.list.row_chosen.connect(self._show)
        self.list.delete_asked.connect(self._delete_chosen)
        self.form.plane_edited.connect(self._on_edited)
        self._show()

    def show_planes(self, planes: Sequence[Plane], bounds: Floats | None) -> None:
        """Show planes through a part within `bounds` (2, 3), mm."""
        self._planes, self._bounds = tuple(planes), bounds
        self._show()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write lengths in another unit."""
        self._quantities = quantities
        self.form.set_quantities(quantities)
        self._show()

    @property
    def chosen(self) -> int:
        """The plane whose numbers are shown; -1 for none."""
        return self.list.currentRow()

    def choose(self, row: int) -> None:
        """Show the numbers of a plane, or of none: -1."""
        self.list.choose(row)
        self._show()

    def _show(self, *_: object) -> None:
        self.list.show_texts([plane_text(plane, self._quantities) for plane in self._planes])
        self._nothing.setVisible(not self._planes)
        chosen = self._planes[self.chosen] if self.chosen >= 0 else None
        self.form.show_plane(chosen, self._bounds)
        self._delete.setEnabled(chosen is not None)

    def _tell(self, label: str, planes: Sequence[Plane], chosen: int) -> None:
        self._planes = tuple(planes)
        self._show()
        self.choose(min(chosen, len(planes) - 1))
        self.edited.emit(label, self._planes)

    def _on_edited(self, plane: Plane) -> None:
        at = self.chosen
        planes = (*self._planes[:at], plane, *self._planes[at + 1 :])
        self._tell("move a must-cut plane", planes, at)

    def _add(self) -> None:
        bounds = _NO_PART if self._bounds is None else self._bounds
        axis = int(np.argmax(np.ptp(bounds, axis=0)))
        plane = square_plane(axis, round(float(bounds[:, axis].mean()), 1))
        self._tell("add a must-cut plane", (*self._planes, plane), len(self._planes))

    def _delete_chosen(self) -> None:
        rows = self.list.chosen_rows
        if rows:
            label = "delete a must-cut plane" if len(rows) == 1 else "delete must-cut planes"
            self._tell(label, _without(self._planes, rows), rows[0])


def row_of(*widgets: QWidget | None) -> QHBoxLayout:
    """Return widgets side by side; None is what room there is."""
    row = QHBoxLayout()
    row.setSpacing(6)
    for widget in widgets:
        if widget is None:
            row.addStretch(1)
        else:
            row.addWidget(widget)
    return row


def _stack(editor: QWidget, *parts: QWidget | QHBoxLayout) -> None:
    column = QVBoxLayout(editor)
    column.setContentsMargins(0, 0, 0, 0)
    for part in parts:
        if isinstance(part, QWidget):
            column.addWidget(part)
        else:
            column.addLayout(part)


def _without(values: Sequence[Any], rows: Sequence[int]) -> tuple[Any, ...]:
    return tuple(value for row, value in enumerate(values) if row not in rows)
