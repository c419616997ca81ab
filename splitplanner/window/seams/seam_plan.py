"""A small plan of one seam in its cut plane, in which its pins are seen and moved by hand."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget
from shapely.geometry import MultiLineString

from splitplanner.plan import Pin
from splitplanner.score import SeamRow
from splitplanner.window.parts.buttons import small_button
from splitplanner.window.parts.note_line import TEXT_FLAGS
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.canvas import SeamCanvas
from splitplanner.window.seams.ground import SeamGround, flat_pins
from splitplanner.window.seams.legend import SeamLegend

PLAIN = "#B8BDC6"
"""Of pieces that have no colour yet."""


class SeamPlan(QWidget):
    """Shows one seam, the room for pins in it, and its pins.

    Signals
    -------
    pin_moved(int, float, float)
        Index of a pin and where it was put, plane coordinates, mm; once for each drag.
    pin_deleted(int)
    pin_added(float, float)
        A pin is wanted at a place of the plane, mm.
    pin_chosen(int)
    """

    pin_moved = Signal(int, float, float)
    pin_deleted = Signal(int)
    pin_added = Signal(float, float)
    pin_chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.canvas = SeamCanvas()
        for name in ("pin_moved", "pin_deleted", "pin_added", "pin_chosen"):
            getattr(self.canvas, name).connect(getattr(self, name))
        self.canvas.told_changed.connect(self._tell)
        self._legend = SeamLegend()
        self._told = QLabel()
        self._told.setWordWrap(True)
        self._told.setTextFormat(Qt.TextFormat.PlainText)
        self._told.setTextInteractionFlags(TEXT_FLAGS)
        self._told.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        # Two lines from the start: the drawing must not jump while a pin is dragged.
        self._told.setMinimumHeight(2 * self._told.fontMetrics().lineSpacing())
        self._told.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._all = small_button(
            "All", "See the whole seam", "See the whole seam (0).", self.canvas.fit_all
        )
        self._pins = small_button(
            "Pins", "See the pins near by", "See the pins near by (F).", self.canvas.fit_pins
        )
        self._lay_out()
        self.show_seam(None, (), 0.0)

    def _lay_out(self) -> None:
        said = QHBoxLayout()
        said.setContentsMargins(0, 0, 0, 0)
        said.addWidget(self._told, 1)
        for each in (self._all, self._pins):
            said.addWidget(each, 0, Qt.AlignmentFlag.AlignTop)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self.canvas, 1)
        layout.addLayout(said)
        layout.addWidget(self._legend)

    def show_seam(
        self,
        row: SeamRow | None,
        pins: tuple[Pin, ...],
        edge_distance: float,
        below_colour: str = PLAIN,
        above_colour: str = PLAIN,
        names: tuple[str, str] | None = None,
        shown: MultiLineString | None = None,
    ) -> None:
        """Show a seam and its pins; zoom and chosen pin stay as long as it is the same seam.

        Parameters
        ----------
        row : SeamRow or None
            None for no seam, or while it is being measured.
        pins : tuple of Pin
        edge_distance : float
            Of a pin that would be added, mm.
        below_colour, above_colour : str
            ``#RRGGBB`` of the two pieces.
        names : (str, str), optional
            Of the two pieces, as the user knows them; else as the division names them.
        shown : MultiLineString, optional
            What of the outlines lies on the good side, plane coordinates, mm.
        """
        if row is None:
            self.canvas.show_ground(None, (), 0.0, below_colour)
        else:
            ground = SeamGround(row.seam.section.shape, row.deep_room.polygons, shown)
            self.canvas.show_ground(ground, flat_pins(row, pins), edge_distance, below_colour)
        self._legend.show_pieces(
            (below_colour, above_colour), names or (("", "") if row is None else row.between)
        )
        title = "Plan of the chosen seam" if row is None else f"Plan of seam {row.seam.name}"
        self.canvas.setAccessibleName(title)
        for each in (self._all, self._pins):
            each.setEnabled(row is not None)

    def choose(self, index: int | None) -> None:
        """Choose a pin, or none, without signalling it."""
        self.canvas.choose(index)

    @property
    def chosen(self) -> int | None:
        """The index of the chosen pin."""
        return self.canvas.chosen

    @property
    def told(self) -> str:
        """What is said below the drawing."""
        return self.canvas.told

    def set_quantities(self, quantities: Quantities) -> None:
        """Write lengths in another way."""
        self.canvas.set_quantities(quantities)

    def _tell(self) -> None:
        self._told.setText(self.canvas.told)
