"""A small plan of one seam in its cut plane: what holds it is seen there and moved by hand."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget
from shapely.geometry import MultiLineString

from splitplanner.plan import Joint
from splitplanner.score import SeamRow
from splitplanner.window.parts.buttons import small_button
from splitplanner.window.parts.note_line import TEXT_FLAGS
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.canvas import SeamCanvas
from splitplanner.window.seams.flat import flat_fasteners
from splitplanner.window.seams.ground import ground_of
from splitplanner.window.seams.legend import SeamLegend, kinds_of

PLAIN = "#B8BDC6"
"""Of pieces that have no colour yet."""


_SIGNALS = ("moved", "deleted", "turned", "pin_added", "screw_added", "screw_asked", "taken")


class SeamPlan(QWidget):
    """Shows one seam, the room in it, its flange, and its pins and screws.

    Pins and screws have one numbering, the pins first.

    Signals
    -------
    moved(int, float, float)
        Index of a pin or screw and where it was put, plane coordinates, mm; once for each drag.
    deleted(int)
    turned(int)
        The head of a screw is wanted in the other piece.
    pin_added(float, float)
        A pin is wanted at a place of the plane, mm.
    screw_added(float, float)
    screw_asked()
        A screw is wanted wherever there is most room.
    taken(int)
        Another one is chosen.
    """

    moved = Signal(int, float, float)
    deleted = Signal(int)
    turned = Signal(int)
    pin_added = Signal(float, float)
    screw_added = Signal(float, float)
    screw_asked = Signal()
    taken = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.canvas = SeamCanvas()
        for name in _SIGNALS:
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
        self.live = QLabel()
        self.live.setWordWrap(True)
        self.live.setTextFormat(Qt.TextFormat.PlainText)
        self.live.setTextInteractionFlags(TEXT_FLAGS)
        self.live.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self._all = small_button(
            "All", "See the whole seam", "See the whole seam (0).", self.canvas.fit_all
        )
        self._near = small_button(
            "Near",
            "See pins and screws near by",
            "See pins and screws near by (F).",
            self.canvas.fit_fasteners,
        )
        self._lay_out()
        self.show_seam(None, None, 0.0)

    def _lay_out(self) -> None:
        said = QHBoxLayout()
        said.setContentsMargins(0, 0, 0, 0)
        said.addWidget(self._told, 1)
        for each in (self._all, self._near):
            said.addWidget(each, 0, Qt.AlignmentFlag.AlignTop)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        layout.addWidget(self.canvas, 1)
        layout.addLayout(said)
        layout.addWidget(self.live)
        layout.addWidget(self._legend)
        self.tell_strength("")

    def show_seam(
        self,
        row: SeamRow | None,
        joint: Joint | None,
        edge_distance: float,
        below_colour: str = PLAIN,
        above_colour: str = PLAIN,
        names: tuple[str, str] | None = None,
        shown: MultiLineString | None = None,
        screw_distance: float | None = None,
    ) -> None:
        """Show a seam and what holds it; zoom and choice stay as long as it is the same seam.

        Parameters
        ----------
        row : SeamRow or None
            None for no seam, or while it is being measured.
        joint : Joint or None
            What holds it; None for nothing.
        edge_distance : float
            Of a pin that would be added, mm.
        below_colour, above_colour : str
            ``#RRGGBB`` of the two pieces.
        names : (str, str), optional
            Of the two pieces, as the user knows them; else as the division names them.
        shown : MultiLineString, optional
            What of the outlines lies on the good side, plane coordinates, mm.
        screw_distance : float, optional
            Edge distance of a screw that would be added, mm; else that of a pin.
        """
        names = names or (("", "") if row is None else row.between)
        joint = joint or Joint("")
        if row is None:
            self.canvas.show_ground(None, (), 0.0, below_colour)
        else:
            ground = ground_of(row, joint, shown)
            self.canvas.screw_distance = screw_distance or edge_distance
            fasteners = flat_fasteners(row.seam.plane, joint, names)
            self.canvas.show_ground(ground, fasteners, edge_distance, below_colour)
        self._legend.show_pieces((below_colour, above_colour), names)
        self._legend.show_kinds(kinds_of(joint) if row is not None else frozenset())
        title = "Plan of the chosen seam" if row is None else f"Plan of seam {row.seam.name}"
        self.canvas.setAccessibleName(title)
        for each in (self._all, self._near):
            each.setEnabled(row is not None)

    def choose(self, index: int | None) -> None:
        """Choose a pin or screw, or none, without signalling it."""
        self.canvas.choose(index)

    def note(self, text: str) -> None:
        """Say something below the drawing until the user goes on."""
        self.canvas.note(text)

    def tell_strength(self, text: str) -> None:
        """Say below the drawing what the seam takes of a load; nothing for an empty text."""
        self.live.setText(text)
        self.live.setVisible(bool(text))

    @property
    def chosen(self) -> int | None:
        """The index of the chosen pin or screw."""
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
