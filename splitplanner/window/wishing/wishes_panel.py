"""What the user wishes of proposals: how many pieces, where no seam goes, what people see."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QIcon, QKeyEvent, QPainter, QPen, QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from splitplanner.arrays import Floats
from splitplanner.errors import WishesError
from splitplanner.score import GoodSide, Region, Wishes
from splitplanner.score.wishes import EQUAL
from splitplanner.solid import Plane
from splitplanner.window.parts.buttons import button
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.window.wishing.brush_bar import BrushBar
from splitplanner.window.wishing.good_side_form import GoodSideForm
from splitplanner.window.wishing.limit_field import LimitField
from splitplanner.window.wishing.painting import (
    BOX,
    GOOD_SIDE,
    GOOD_SIDE_COLOUR,
    KEEP_OUT,
    KEEP_OUT_COLOUR,
)
from splitplanner.window.wishing.wish_editors import PlanesEditor, RegionsEditor, row_of

_FIRST_SEAM, _FIRST_PIECE = 500.0, 40.0
_MOST_PIECES = 9999
_TIPS = {
    "pieces": "So many pieces, no more and no fewer.",
    "equal_pieces": f"All pieces have the same volume, to {EQUAL:.0%}.",
    "support_free": "Every piece prints without support.",
    "longest_seam": "No seam is longer: the length of all outlines of one contact area.",
    "smallest_piece": "No piece is shorter from any of its seams to its other end.",
}


class WishesPanel(QWidget):
    """Shows wishes and lets the user change them.

    Signals
    -------
    wishes_changed(str, object)
        What was done, as the step is called, and the Wishes as they should be now.
    tool_asked(str)
        One of `painting.TOOLS` for the left button in the view; empty for none.
    brush_changed(float)
        Radius of the brush, mm.
    erase_toggled(bool)
    region_chosen(int)
        The user went to a keep-out region; -1 if there is none any more.
    read_asked(), save_asked()
        The user wants wishes from a file, or in one.
    """

    wishes_changed = Signal(str, object)
    tool_asked = Signal(str)
    brush_changed = Signal(float)
    erase_toggled = Signal(bool)
    region_chosen = Signal(int)
    read_asked = Signal()
    save_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._wishes = Wishes()
        self._bounds: Floats | None = None
        self._areas: Floats | None = None
        self._quantities = Quantities()
        self._make_counts()
        self.regions, self.planes = RegionsEditor(self), PlanesEditor(self)
        self.regions.edited.connect(self._on_regions)
        self.regions.region_chosen.connect(self.region_chosen)
        self.planes.edited.connect(self._on_planes)
        self.good_side = GoodSideForm(self)
        self.good_side.edited.connect(self._on_good_side)
        self.good_side.painting_wanted.connect(self._on_painting_wanted)
        self._tools = {
            KEEP_OUT: self._tool("Paint keep-out", "Paint faces that no seam runs over.", KEEP_OUT),
            BOX: self._tool("Box by dragging", "Drag a keep-out box over the model.", BOX),
            GOOD_SIDE: self._tool("Paint good side", "Paint the faces that people see.", GOOD_SIDE),
        }
        self.note = NoteLine(self)
        self.brush = BrushBar(self)
        self.brush.radius_changed.connect(self.brush_changed)
        self.brush.erase_toggled.connect(self.erase_toggled)
        self.brush.ended.connect(self._end_tool)
        self._lay_out()
        self._show()

    # -- making it ----------------------------------------------------------------------------
    def _make_counts(self) -> None:
        self.pieces = QSpinBox(self)
        self.pieces.setRange(0, _MOST_PIECES)
        self.pieces.setSpecialValueText("any")
        self.pieces.setKeyboardTracking(False)
        self.pieces.setAccessibleName("Number of pieces")
        self.pieces.setToolTip(_TIPS["pieces"])
        self.pieces.setAccessibleDescription(f"{_TIPS['pieces']} 0 is any number.")
        self.pieces.valueChanged.connect(self._on_pieces)
        self.equal = self._check("Pieces of equal volume", "equal_pieces", self._on_equal)
        self.support_free = self._check("No support", "support_free", self._on_support)
        self.longest = LimitField("Longest seam", _TIPS["longest_seam"], _FIRST_SEAM, self)
        self.smallest = LimitField("Smallest piece", _TIPS["smallest_piece"], _FIRST_PIECE, self)
        self.longest.edited.connect(self._on_longest)
        self.smallest.edited.connect(self._on_smallest)

    def _check(self, text: str, wish: str, done: Any) -> QCheckBox:
        box = QCheckBox(text, self)
        box.setToolTip(_TIPS[wish])
        box.setAccessibleDescription(_TIPS[wish])
        box.clicked.connect(done)
        return box

    def _tool(self, text: str, tip: str, tool: str) -> QPushButton:
        made = button(text, tip, self._on_tool)
        made.setCheckable(True)
        if tool == GOOD_SIDE:
            made.setIcon(_swatch(GOOD_SIDE_COLOUR, is_kept_out=False))
        else:
            made.setIcon(_swatch(KEEP_OUT_COLOUR, is_kept_out=True))
        return made

    def _lay_out(self) -> None:
        inner = QWidget()
        content = QVBoxLayout(inner)
        content.setContentsMargins(6, 6, 6, 6)
        content.setSpacing(10)
        intro = QLabel("Proposals keep these wishes; your own cuts are checked against them.")
        intro.setWordWrap(True)
        content.addWidget(intro)
        count = QLabel("Number of pieces")
        count.setBuddy(self.pieces)
        content.addWidget(
            _group(
                "Pieces and seams",
                row_of(count, None, self.pieces),
                self.longest,
                self.smallest,
                self.equal,
                self.support_free,
            )
        )
        kept_out = row_of(self._tools[KEEP_OUT], self._tools[BOX], None)
        content.addWidget(_group("Keep-out regions", self.regions, kept_out))
        content.addWidget(_group("Must-cut planes", self.planes))
        content.addWidget(_group("Good side", self.good_side, row_of(self._tools[GOOD_SIDE], None)))
        content.addStretch(1)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setWidget(inner)
        read = button("Read wishes…", "Take wishes from a file.", self._ask_read)
        save = button("Save wishes…", "Write these wishes to a file.", self._ask_save)
        files = row_of(read, save, None)
        files.setContentsMargins(6, 0, 6, 6)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(scroll, 1)
        whole.addWidget(self.note)
        whole.addWidget(self.brush)
        whole.addLayout(files)

    # -- what is shown ------------------------------------------------------------------------
    @property
    def wishes(self) -> Wishes:
        """The wishes that are shown."""
        return self._wishes

    def show_wishes(
        self,
        wishes: Wishes,
        part_bounds: ArrayLike | None = None,
        face_areas: Floats | None = None,
    ) -> None:
        """Show wishes; what was entered and cannot be taken stays where its wish is what it was.

        Parameters
        ----------
        wishes : Wishes
        part_bounds : (2, 3) array or None, mm
            Of the part: where new regions are put.
        face_areas : (m,) float array or None, mm²
            Of the part's faces: how large what is painted is.
        """
        bounds = None if part_bounds is None else np.asarray(part_bounds, float)
        known = self._bounds, self._areas
        if wishes is self._wishes and bounds is known[0] and face_areas is known[1]:
            # Told at every step of a drag elsewhere.
            return
        if wishes.part != self._wishes.part and self._wishes.part:
            self.good_side.show_side(wishes.good_side, face_areas, is_same_part=False)
        if wishes != self._wishes:
            self.note.say(Mark.INFO, "")
        self._wishes = wishes
        self._bounds, self._areas = bounds, face_areas
        self._show()

    def _show(self, *_: object) -> None:
        wishes = self._wishes
        self.pieces.blockSignals(True)
        self.pieces.setValue(wishes.pieces or 0)
        self.pieces.blockSignals(False)
        self.equal.setChecked(wishes.equal_pieces)
        self.support_free.setChecked(wishes.support_free)
        self.longest.show_value(wishes.longest_seam)
        self.smallest.show_value(wishes.smallest_piece)
        self.good_side.show_side(wishes.good_side, self._areas)
        self.regions.show_regions(wishes.keep_out, self._bounds, self._areas)
        self.planes.show_planes(wishes.must_cut, self._bounds)

    @property
    def chosen_region(self) -> int:
        """The keep-out region whose numbers are shown; -1 for none."""
        return self.regions.chosen

    def choose_region(self, index: int) -> None:
        """Show the numbers of a keep-out region, or of none: -1; nothing is signalled."""
        self.regions.choose(index)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write lengths in another unit."""
        self._quantities = quantities
        self.pieces.setLocale(quantities.locale)
        for part in (
            self.longest,
            self.smallest,
            self.regions,
            self.planes,
            self.good_side,
            self.brush,
        ):
            part.set_quantities(quantities)
        self._show()

    def say(self, mark: Mark, text: str) -> None:
        """Say something in place, such as why a file of wishes cannot be read."""
        self.note.say(mark, text)

    # -- tools --------------------------------------------------------------------------------
    @property
    def tool(self) -> str:
        """The tool in hand; empty for none."""
        return next((tool for tool, made in self._tools.items() if made.isChecked()), "")

    def set_tool(self, tool: str) -> None:
        """Show which tool is in hand, without signalling it."""
        for name, made in self._tools.items():
            made.setChecked(name == tool)
        self.brush.set_tool(self.tool)

    @property
    def brush_radius(self) -> float:
        """Radius of the brush, mm."""
        return self.brush.radius

    @brush_radius.setter
    def brush_radius(self, radius: float) -> None:
        self.brush.set_radius(radius)

    @property
    def is_erasing(self) -> bool:
        """Whether the brush takes faces away."""
        return self.brush.is_erasing

    def _on_tool(self) -> None:
        clicked = self.sender()
        tool = next(name for name, made in self._tools.items() if made is clicked)
        self._take_tool(tool if self._tools[tool].isChecked() else "")

    def _on_painting_wanted(self) -> None:
        self._take_tool(GOOD_SIDE)

    def _end_tool(self) -> None:
        self._take_tool("")

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Escape puts the tool away."""
        if event.key() == Qt.Key.Key_Escape and self.tool:
            self._end_tool()
            event.accept()
            return
        super().keyPressEvent(event)

    def _take_tool(self, tool: str) -> None:
        before, at = self.tool, self.focusWidget()
        self.set_tool(tool)
        if before and not tool and at is not None and self.brush.isAncestorOf(at):
            # The bar is gone: the keyboard goes back to where it came from.
            self._tools[before].setFocus()
        self.tool_asked.emit(tool)

    # -- what the user does -------------------------------------------------------------------
    def _change(self, label: str, **changes: Any) -> str:
        """Wish something else; return why it cannot be wished, empty if it can."""
        try:
            wishes = replace(self._wishes, **changes)
        except WishesError as error:
            return f"Not taken yet: {error}"
        self.note.say(Mark.INFO, "")
        if wishes != self._wishes:
            self._wishes = wishes
            self._show()
            self.wishes_changed.emit(label, wishes)
        return ""

    def _on_pieces(self, count: int) -> None:
        wanted = f"wish for {count} pieces" if count > 1 else "wish for one piece"
        self._change(wanted if count else "wish for any number of pieces", pieces=count or None)

    def _on_equal(self, wanted: bool) -> None:
        label = "wish for pieces of equal volume" if wanted else "let pieces be unequal"
        self._change(label, equal_pieces=wanted)

    def _on_support(self, wanted: bool) -> None:
        self._change("wish for no support" if wanted else "allow support", support_free=wanted)

    def _on_longest(self, length: float | None) -> None:
        label = "let seams be of any length" if length is None else "limit the length of seams"
        self._limit(self.longest, label, longest_seam=length)

    def _on_smallest(self, length: float | None) -> None:
        label = "let pieces be of any size" if length is None else "limit how small pieces are"
        self._limit(self.smallest, label, smallest_piece=length)

    def _limit(self, field: LimitField, label: str, **limit: float | None) -> None:
        why = self._change(label, **limit)
        if why:
            field.refuse(why)

    def _on_good_side(self, label: str, side: GoodSide) -> None:
        self._change(label, good_side=side)

    def _on_regions(self, label: str, regions: tuple[Region, ...]) -> None:
        self._change(label, keep_out=regions)

    def _on_planes(self, label: str, planes: tuple[Plane, ...]) -> None:
        self._change(label, must_cut=planes)

    def _ask_read(self) -> None:
        self.read_asked.emit()

    def _ask_save(self) -> None:
        self.save_asked.emit()


def _group(title: str, *parts: QWidget | QHBoxLayout) -> QGroupBox:
    group = QGroupBox(title)
    column = QVBoxLayout(group)
    column.setContentsMargins(8, 8, 8, 8)
    for part in parts:
        if isinstance(part, QWidget):
            column.addWidget(part)
        else:
            column.addLayout(part)
    return group


def _swatch(colour: str, is_kept_out: bool) -> QIcon:
    """Return what a colour in the view stands for: crossed out, or a disc."""
    picture = QPixmap(64, 64)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(colour))
    box = QRectF(6, 6, 52, 52)
    if is_kept_out:
        painter.drawRoundedRect(box, 8, 8)
        painter.setPen(QPen(QColor("#FFFFFF"), 8))
        painter.drawLine(QPointF(18, 18), QPointF(46, 46))
        painter.drawLine(QPointF(46, 18), QPointF(18, 46))
    else:
        painter.drawEllipse(box)
    painter.end()
    return QIcon(picture)
