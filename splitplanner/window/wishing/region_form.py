"""The numbers of one keep-out region, and of one must-cut plane."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QComboBox,
    QGridLayout,
    QLabel,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from splitplanner.arrays import Floats
from splitplanner.errors import WishesError
from splitplanner.plan import Vector
from splitplanner.score import KeepOutBox, KeepOutFaces, KeepOutSphere, Region
from splitplanner.solid import Plane
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.parts.note_line import TEXT_FLAGS, Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.window.wishing.wish_rows import axis_of, faces_text, normal_text, position_of

_FURTHEST = 1e5
"""Coordinates beyond this (mm) are no places in a part."""


class Coordinates:
    """Three fields side by side for one point."""

    def __init__(self, name: str, tip: str) -> None:
        self.boxes = tuple(
            _narrow(LengthBox(f"{name}, {axis}", f"{tip}, along {axis}.", least=-_FURTHEST,
                              largest=_FURTHEST))
            for axis in "xyz"
        )  # fmt: skip

    @property
    def point(self) -> Vector:
        """The point, mm."""
        x, y, z = (box.mm for box in self.boxes)
        return x, y, z

    def set_point(self, point: Sequence[float]) -> None:
        """Show a point, mm."""
        for box, value in zip(self.boxes, point, strict=True):
            box.set_mm(value)


class RegionForm(QWidget):
    """Shows one keep-out region by its numbers.

    Signals
    -------
    region_edited(object)
        The region as it should be now. What makes no region is said in place, and not signalled.
    """

    region_edited = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._region: Region | None = None
        self._quantities = Quantities()
        self._low = Coordinates("Low corner", "The corner of the box where all numbers are least")
        self._high = Coordinates("High corner", "The corner where all numbers are greatest")
        self._centre = Coordinates("Centre", "The middle of the sphere")
        self._radius = _narrow(LengthBox("Radius", "From the sphere's middle to its surface."))
        self._faces = QLabel(self)
        self._faces.setTextInteractionFlags(TEXT_FLAGS)
        self._faces.setWordWrap(True)
        self._note = NoteLine(self)
        self._box_page = _page(("Low", self._low.boxes), ("High", self._high.boxes))
        self._sphere_page = _page(("Centre", self._centre.boxes), ("Radius", (self._radius,)))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        for widget in (self._box_page, self._sphere_page, self._faces, self._note):
            layout.addWidget(widget)
        for box in self._lengths:
            box.edited.connect(self._edit)
        self.show_region(None)

    @property
    def _lengths(self) -> tuple[LengthBox, ...]:
        return (*self._low.boxes, *self._high.boxes, *self._centre.boxes, self._radius)

    def show_region(self, region: Region | None, areas: Floats | None = None) -> None:
        """Show a region, or none.

        Numbers that were entered and make no region stay as long as the region is what it was.

        Parameters
        ----------
        region : Region or None
        areas : (m,) float array or None
            Of the part's faces, mm².
        """
        if self._note.text and region is not None and region == self._region:
            return
        self._region = region
        self._note.say(Mark.INFO, "")
        if isinstance(region, KeepOutBox):
            self._low.set_point(region.low)
            self._high.set_point(region.high)
        elif isinstance(region, KeepOutSphere):
            self._centre.set_point(region.centre)
            self._radius.set_mm(region.radius)
        elif region is not None:
            faces = faces_text(region.faces, areas, self._quantities)
            self._faces.setText(f"{faces}. “Paint keep-out” changes them in the view.")
        self._box_page.setVisible(isinstance(region, KeepOutBox))
        self._sphere_page.setVisible(isinstance(region, KeepOutSphere))
        self._faces.setVisible(isinstance(region, KeepOutFaces))
        self.setVisible(region is not None)

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit."""
        self._quantities = quantities
        for box in self._lengths:
            box.set_quantities(quantities)

    @property
    def fault(self) -> str:
        """What is wrong with the numbers; empty if nothing is."""
        return self._note.text

    def _edit(self) -> None:
        is_box = isinstance(self._region, KeepOutBox)
        try:
            region: Region = (
                KeepOutBox(self._low.point, self._high.point)
                if is_box
                else KeepOutSphere(self._centre.point, self._radius.mm)
            )
        except WishesError as error:
            self._note.say(Mark.FAULT, self._why_no_box() if is_box else str(error))
            return
        self._note.say(Mark.INFO, "")
        if region != self._region:
            self._region = region
            self.region_edited.emit(region)

    def _why_no_box(self) -> str:
        wrong = [
            f"{axis} goes from {self._quantities.length(low)} to {self._quantities.length(high)}"
            for axis, low, high in zip("xyz", self._low.point, self._high.point, strict=True)
            if low >= high
        ]
        return (
            f"Not taken yet: {' and '.join(wrong)}; every number of the high corner must be above "
            "that of the low one."
        )


class PlaneForm(QWidget):
    """Shows one must-cut plane: the axis that it is square to and where, or how it leans.

    Signals
    -------
    plane_edited(object)
        The plane as it should be now.
    """

    plane_edited = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._plane: Plane | None = None
        self._bounds: Floats | None = None
        self._quantities = Quantities()
        self._axis = QComboBox(self)
        self._axis.setAccessibleName("Axis that the plane is square to")
        self._axis.setToolTip("The axis of the part's frame that the plane is square to.")
        self._position = _narrow(
            LengthBox(
                "Place of the plane",
                "Where the plane crosses the axis; for one that leans, its distance from the "
                "origin along its normal.",
                least=-_FURTHEST,
                largest=_FURTHEST,
                digits=2,
            )
        )
        self._normal = QLabel(self)
        self._normal.setTextInteractionFlags(TEXT_FLAGS)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.addWidget(_label("Square to", self._axis), 0, 0)
        grid.addWidget(self._axis, 0, 1)
        grid.addWidget(_label("at", self._position), 0, 2)
        grid.addWidget(self._position, 0, 3)
        grid.addWidget(self._normal, 1, 0, 1, 4)
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(3, 1)
        self._axis.activated.connect(self._choose_axis)
        self._position.edited.connect(self._move)
        self.show_plane(None)

    def show_plane(self, plane: Plane | None, bounds: Floats | None = None) -> None:
        """Show a plane, or none; `bounds` (2, 3) are those of the part, mm."""
        self._plane, self._bounds = plane, bounds
        self.setVisible(plane is not None)
        if plane is None:
            return
        axis = axis_of(plane)
        names = ["x", "y", "z"] if axis >= 0 else ["x", "y", "z", "leaning"]
        self._axis.clear()
        self._axis.addItems(names)
        self._axis.setCurrentIndex(axis if axis >= 0 else 3)
        self._position.set_mm(position_of(plane))
        self._normal.setText(f"Normal {normal_text(plane, self._quantities)}")
        self._normal.setVisible(axis < 0)

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit."""
        self._quantities = quantities
        self._position.set_quantities(quantities)

    def _choose_axis(self, axis: int) -> None:
        if self._plane is None or axis in (axis_of(self._plane), 3):
            return
        # The number of one axis may be far outside of the part along another.
        at = 0.0 if self._bounds is None else round(float(self._bounds[:, axis].mean()), 1)
        self._tell(square_plane(axis, at))

    def _move(self) -> None:
        if self._plane is None:
            return
        axis, at = axis_of(self._plane), self._position.mm
        offset = at * self._plane.normal[axis] if axis >= 0 else at
        self._tell(Plane(self._plane.normal, offset))

    def _tell(self, plane: Plane) -> None:
        if plane != self._plane:
            self.show_plane(plane, self._bounds)
            self.plane_edited.emit(plane)


def square_plane(axis: int, at: float) -> Plane:
    """Return the plane square to an axis, 0 to 2, that crosses it at `at` (mm)."""
    x, y, z = (1.0 if k == axis else 0.0 for k in range(3))
    return Plane((x, y, z), at)


def _narrow(box: LengthBox) -> LengthBox:
    """Let three fields stand side by side; the arrow keys still step."""
    box.setButtonSymbols(QAbstractSpinBox.ButtonSymbols.NoButtons)
    box.setAlignment(Qt.AlignmentFlag.AlignRight)
    box.setMinimumWidth(box.fontMetrics().horizontalAdvance("−000.0 mm") + 12)
    box.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
    return box


def _label(text: str, buddy: QWidget) -> QLabel:
    label = QLabel(text)
    label.setBuddy(buddy)
    return label


def _page(*rows: tuple[str, Sequence[LengthBox]]) -> QWidget:
    """Return a page with a row of fields for each name, and the axes over them."""
    page = QWidget()
    grid = QGridLayout(page)
    grid.setContentsMargins(0, 0, 0, 0)
    grid.setHorizontalSpacing(4)
    for column, axis in enumerate("xyz", 1):
        heading = QLabel(axis)
        grid.addWidget(heading, 0, column, Qt.AlignmentFlag.AlignHCenter)
        grid.setColumnStretch(column, 1)
    for row, (name, boxes) in enumerate(rows, 1):
        grid.addWidget(_label(name, boxes[0]), row, 0)
        for column, box in enumerate(boxes, 1):
            grid.addWidget(box, row, column)
    return page
