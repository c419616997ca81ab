"""What the left button does in the view for the wishes: the brush, or a box by dragging."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QCheckBox, QFrame, QGridLayout, QLabel, QPushButton, QWidget

from splitplanner.window.look import look_of
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.quantities import Quantities
from splitplanner.window.wishing.painting import BOX, GOOD_SIDE, KEEP_OUT

_HINTS = {
    KEEP_OUT: "Drag over the model: no seam will run over the faces painted.",
    GOOD_SIDE: "Drag over the model: people see the faces painted.",
    BOX: "Drag over the model from one corner of the box to the opposite one; it reaches beyond "
    "both by the margin.",
}
_LENGTHS = {
    False: (
        "Brush radius",
        "Faces that come so near to the pointer are painted, on this side of the wall alone.",
    ),
    True: ("Margin", "How far the box reaches beyond its corners on every side, and so how deep."),
}
"""Name and tip of the one length, for a brush and for a box."""
_FIRST_RADIUS, _LEAST, _LARGEST = 10.0, 0.1, 500.0


class BrushBar(QFrame):
    """Shown while a tool is in hand; the margin of a box is the radius of the brush.

    Signals
    -------
    radius_changed(float)
        mm.
    erase_toggled(bool)
    ended()
        The user puts the tool away.
    """

    radius_changed = Signal(float)
    erase_toggled = Signal(bool)
    ended = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._hint = QLabel(self)
        self._hint.setWordWrap(True)
        self._label = QLabel("Brush radi&us", self)
        self._radius = LengthBox(*_LENGTHS[False], least=_LEAST, largest=_LARGEST)
        self._radius.set_mm(_FIRST_RADIUS)
        self._label.setBuddy(self._radius)
        self._erase = QCheckBox("Er&ase", self)
        self._erase.setToolTip("Take faces away instead of adding them.")
        self._erase.setAccessibleDescription(self._erase.toolTip())
        self._done = QPushButton("Done", self)
        self._done.setToolTip("Put the tool away (Esc).")
        self._done.setAccessibleDescription(self._done.toolTip())
        self._done.setAutoDefault(False)
        grid = QGridLayout(self)
        grid.setContentsMargins(14, 8, 10, 8)
        grid.addWidget(self._hint, 0, 0, 1, 4)
        grid.addWidget(self._label, 1, 0)
        grid.addWidget(self._radius, 1, 1)
        grid.addWidget(self._erase, 1, 2)
        grid.addWidget(self._done, 1, 3, Qt.AlignmentFlag.AlignRight)
        grid.setColumnStretch(3, 1)
        self._radius.edited.connect(self._on_radius)
        self._erase.toggled.connect(self.erase_toggled)
        self._done.clicked.connect(self.ended)
        self.set_tool("")

    def set_tool(self, tool: str) -> None:
        """Show what goes with a tool of `painting.TOOLS`; an empty name hides it."""
        self._hint.setText(_HINTS.get(tool, ""))
        self._label.setText("&Margin" if tool == BOX else "Brush radi&us")
        name, tip = _LENGTHS[tool == BOX]
        self._radius.setAccessibleName(name)
        self._radius.setToolTip(tip)
        self._radius.setAccessibleDescription(tip)
        self._erase.setVisible(tool != BOX)
        self.setVisible(bool(tool))

    @property
    def radius(self) -> float:
        """Radius of the brush, mm."""
        return self._radius.mm

    def set_radius(self, radius: float) -> None:
        """Show a radius, mm, without signalling it."""
        self._radius.set_mm(min(max(radius, _LEAST), _LARGEST))

    @property
    def is_erasing(self) -> bool:
        """Whether faces are taken away instead of added."""
        return self._erase.isChecked()

    def set_erases(self, erases: bool) -> None:
        """Show whether faces are taken away, without signalling it."""
        self._erase.blockSignals(True)
        self._erase.setChecked(erases)
        self._erase.blockSignals(False)

    def set_quantities(self, quantities: Quantities) -> None:
        """Show the radius in another unit."""
        self._radius.set_quantities(quantities)

    def _on_radius(self) -> None:
        self.radius_changed.emit(self._radius.mm)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw the slip that it stands on, with a stripe in the colour of what is chosen."""
        look = look_of(self.palette())
        painter = QPainter(self)
        painter.fillRect(self.rect(), look.colour("raised"))
        painter.fillRect(0, 0, 4, self.height(), look.colour("accent"))
