"""Where the good side is: found all around, seen from directions, or painted."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QGridLayout, QLabel, QVBoxLayout, QWidget

from splitplanner.arrays import Floats
from splitplanner.plan import Vector
from splitplanner.score import GoodSide
from splitplanner.window.parts.note_line import TEXT_FLAGS
from splitplanner.window.quantities import Quantities
from splitplanner.window.wishing.wish_rows import faces_text

DIRECTIONS: tuple[tuple[str, Vector], ...] = (
    ("Front", (0.0, -1.0, 0.0)),
    ("Left", (-1.0, 0.0, 0.0)),
    ("Top", (0.0, 0.0, 1.0)),
    ("Back", (0.0, 1.0, 0.0)),
    ("Right", (1.0, 0.0, 0.0)),
    ("Bottom", (0.0, 0.0, -1.0)),
)
"""Towards the viewers, in the part's frame."""
ALL_AROUND, FROM_DIRECTIONS, PAINTED = range(3)
_WAYS = ("Found by a look from all around", "Seen from these directions", "Painted in the view")
_TIPS = (
    "All faces that show when one walks round the part; seams and stringing on them are seen.",
    "All faces that show from the directions ticked.",
    "Only the faces that you paint.",
)


class GoodSideForm(QWidget):
    """Takes a `GoodSide`.

    What one way holds is kept while another one is chosen, so that going back loses nothing.

    Signals
    -------
    edited(str, object)
        What was done, and the GoodSide as it should be now.
    painting_wanted()
        The user chose to paint it, and nothing is painted yet.
    """

    edited = Signal(str, object)
    painting_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._side = GoodSide()
        self._kept = {FROM_DIRECTIONS: GoodSide(), PAINTED: GoodSide()}
        self._areas: Floats | None = None
        self._quantities = Quantities()
        self._way = QComboBox(self)
        self._way.addItems(_WAYS)
        self._way.setAccessibleName("Good side")
        # The panel may be narrower than the longest of them.
        self._way.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self._way.setMinimumContentsLength(12)
        self._way.setToolTip("How it is known which faces people see.")
        self._views = QWidget(self)
        self._grid = QGridLayout(self._views)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._boxes: dict[Vector, QCheckBox] = {}
        for name, direction in DIRECTIONS:
            self._add_box(name, direction)
        self._hint = QLabel(self)
        self._hint.setWordWrap(True)
        self._hint.setTextInteractionFlags(TEXT_FLAGS)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        for widget in (self._way, self._views, self._hint):
            layout.addWidget(widget)
        self._way.activated.connect(self._choose_way)
        self._show()

    def _add_box(self, name: str, direction: Vector) -> None:
        box = QCheckBox(name)
        box.setAccessibleName(f"Seen from {name.lower()}")
        x, y, z = (self._quantities.number(each, 2) for each in direction)
        box.setToolTip(f"Viewers stand at the part's {name.lower()}: towards ({x}, {y}, {z}).")
        box.clicked.connect(self._on_tick)
        at = len(self._boxes)
        self._boxes[direction] = box
        self._grid.addWidget(box, at // 3, at % 3)

    def show_side(
        self, side: GoodSide, areas: Floats | None = None, is_same_part: bool = True
    ) -> None:
        """Show a good side.

        Parameters
        ----------
        side : GoodSide
        areas : (m,) float array or None
            Of the part's faces, mm².
        is_same_part : bool
            Whether faces that were painted before are still faces of the part.
        """
        if not is_same_part:
            self._kept = {FROM_DIRECTIONS: GoodSide(), PAINTED: GoodSide()}
        self._areas = areas
        # While nothing is ticked or painted yet, the good side is found all around, but the way
        # that was just chosen stays.
        if side != self._side or not is_same_part:
            self._side = side
            self._way.setCurrentIndex(_way_of(side))
        self._keep()
        self._show()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities
        self._show()

    def _keep(self) -> None:
        if self._side.faces:
            self._kept[PAINTED] = self._side
        elif self._side.directions:
            self._kept[FROM_DIRECTIONS] = self._side

    def _show(self) -> None:
        way, side = self._way.currentIndex(), self._side
        self._way.setToolTip(_TIPS[way])
        self._way.setAccessibleDescription(_TIPS[way])
        for direction in side.directions:
            if direction not in self._boxes:
                numbers = "; ".join(self._quantities.number(each, 2) for each in direction)
                self._add_box(f"({numbers})", direction)
        for direction, box in self._boxes.items():
            box.setChecked(direction in side.directions)
        self._views.setVisible(way == FROM_DIRECTIONS)
        text = ""
        if way == FROM_DIRECTIONS and not side.directions:
            text = "Tick at least one; until then the good side is found all around."
        elif way == PAINTED and side.faces:
            text = f"{faces_text(side.faces, self._areas, self._quantities)} painted."
        elif way == PAINTED:
            text = "Nothing is painted yet; until then the good side is found all around."
        self._hint.setText(text)
        self._hint.setVisible(bool(text))

    def _choose_way(self, way: int) -> None:
        self._keep()
        labels = (
            "find the good side all around",
            "see the good side from directions",
            "take the painted good side",
        )
        self._change(labels[way], self._kept.get(way, GoodSide()))
        if way == PAINTED and not self._side.faces:
            self.painting_wanted.emit()

    def _on_tick(self) -> None:
        ticked = tuple(way for way, box in self._boxes.items() if box.isChecked())
        self._kept[FROM_DIRECTIONS] = GoodSide(directions=ticked)
        self._change("see the good side from directions", GoodSide(directions=ticked))

    def _change(self, label: str, side: GoodSide) -> None:
        before, self._side = self._side, side
        self._show()
        if side != before:
            self.edited.emit(label, side)


def _way_of(side: GoodSide) -> int:
    if side.faces:
        return PAINTED
    return FROM_DIRECTIONS if side.directions else ALL_AROUND
