"""Keep-out regions and must-cut planes as lines of a list: numbered, to choose and to copy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import numpy as np
from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QAction, QGuiApplication, QKeySequence
from PySide6.QtWidgets import QAbstractItemView, QListWidget, QSizePolicy, QWidget

from splitplanner.arrays import Floats
from splitplanner.score import KeepOutBox, KeepOutSphere, Region
from splitplanner.solid import Plane
from splitplanner.window.quantities import Quantities

_MOST = 5
"""So many rows are shown without scrolling."""


def faces_text(faces: Sequence[int], areas: Floats | None, quantities: Quantities) -> str:
    """Return how many faces there are, and their area where that of each face (m,) is known."""
    count = f"{quantities.number(len(faces))} {'face' if len(faces) == 1 else 'faces'}"
    chosen = np.array(faces, dtype=np.int64)
    if areas is None or (chosen < 0).any() or (chosen >= len(areas)).any():
        return count
    return f"{count}, {quantities.area(float(areas[chosen].sum()))}"


def region_text(region: Region, quantities: Quantities, areas: Floats | None = None) -> str:
    """Return a keep-out region in a few words."""
    if isinstance(region, KeepOutBox):
        x, y, z = (high - low for low, high in zip(region.low, region.high, strict=True))
        return f"Box, {quantities.size((x, y, z), 1)}"
    if isinstance(region, KeepOutSphere):
        return f"Sphere, radius {quantities.length(region.radius)}"
    return f"Painted, {faces_text(region.faces, areas, quantities)}"


def axis_of(plane: Plane) -> int:
    """Return the axis that a plane is square to, 0 to 2; -1 for one that leans."""
    along = [k for k in range(3) if plane.normal[k] != 0.0]
    return along[0] if len(along) == 1 else -1


def position_of(plane: Plane) -> float:
    """Return where a plane crosses the axis that it is square to, mm; the offset if it leans."""
    axis = axis_of(plane)
    # Which side is above does not matter for a plane that nothing reaches across.
    return plane.offset * plane.normal[axis] + 0.0 if axis >= 0 else plane.offset


def normal_text(plane: Plane, quantities: Quantities, digits: int = 4) -> str:
    """Return the normal of a plane as numbers."""
    # Semicolons, since commas are decimal signs in many places.
    return f"({'; '.join(quantities.number(each, digits) for each in plane.normal)})"


def plane_text(plane: Plane, quantities: Quantities) -> str:
    """Return a must-cut plane in a few words."""
    axis, at = axis_of(plane), quantities.length(position_of(plane), 2)
    if axis >= 0:
        return f"{'xyz'[axis]} = {at}"
    return f"Leaning, {normal_text(plane, quantities, 2)} at {at}"


class WishList(QListWidget):
    """Numbered lines, as high as there are some; hidden without any.

    Signals
    -------
    row_chosen(int)
        The user went to a row.
    delete_asked()
        The selected rows are to be deleted.
    """

    row_chosen = Signal(int)
    delete_asked = Signal()

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._quiet = False
        self.setAccessibleName(name)
        self.setAccessibleDescription("Delete deletes the chosen row; Control C copies it.")
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAlternatingRowColors(True)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        for text, key, done in (
            ("Copy as text", QKeySequence.StandardKey.Copy, self.copy),
            ("Delete", QKeySequence.StandardKey.Delete, self.delete_asked),
        ):
            action = QAction(text, self)
            action.setShortcut(QKeySequence(key))
            action.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
            action.triggered.connect(done)
            self.addAction(action)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.ActionsContextMenu)
        self.currentRowChanged.connect(self._tell)
        self.hide()

    def show_texts(self, texts: Sequence[str]) -> None:
        """Show one line for each text; the chosen row stays chosen if there is still one."""
        with self._quietly():
            numbered = [f"{number}   {text}" for number, text in enumerate(texts, 1)]
            while self.count() > len(numbered):
                self.takeItem(self.count() - 1)
            for row, text in enumerate(numbered):
                if row == self.count():
                    self.addItem(text)
                self.item(row).setText(text)
                self.item(row).setToolTip(text)
                self.item(row).setSizeHint(QSize(0, self._row_height()))
        self.setVisible(bool(texts))
        self.updateGeometry()

    def choose(self, row: int) -> None:
        """Choose a row, or none, without signalling it."""
        with self._quietly():
            self.setCurrentRow(row)

    @property
    def chosen_rows(self) -> list[int]:
        """The selected rows, from the top."""
        return sorted(index.row() for index in self.selectedIndexes())

    def copy(self) -> None:
        """Put the selected lines on the clipboard."""
        lines = [self.item(row).text() for row in self.chosen_rows]
        if lines:
            QGuiApplication.clipboard().setText("\n".join(lines))

    def sizeHint(self) -> QSize:  # noqa: N802
        """Return as much height as the rows need."""
        rows = min(max(self.count(), 1), _MOST)
        height = rows * self._row_height() + 2 * self.frameWidth()
        return QSize(super().sizeHint().width(), height)

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Return the same height: the list is as high as its rows, and no higher."""
        return QSize(0, self.sizeHint().height())

    def _row_height(self) -> int:
        return self.fontMetrics().height() + 6

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802
        """Follow another font."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self.updateGeometry()

    @contextmanager
    def _quietly(self) -> Iterator[None]:
        before, self._quiet = self._quiet, True
        try:
            yield
        finally:
            self._quiet = before

    def _tell(self, row: int) -> None:
        if not self._quiet:
            self.row_chosen.emit(row)
