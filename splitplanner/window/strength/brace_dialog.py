"""The editor of one brace: where it runs, how large it is, and what holds it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike
from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QDialog,
    QFormLayout,
    QGroupBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from splitplanner.arrays import to_vector
from splitplanner.errors import LoadError
from splitplanner.plan import BraceWish, Vector
from splitplanner.solid import Solid
from splitplanner.window.dialogs.fields import choose_in, fill_list, group_box, list_box, tell
from splitplanner.window.dialogs.offered import Offered
from splitplanner.window.parts.buttons import button
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.vector_box import WayBox

PRINTED = "printed flat"
"""What stands among the metals for a brace that is printed."""
_HOLDS = (("nut", "nuts in bosses"), ("insert", "heat-set inserts"), ("plastic", "plastic itself"))
_FURTHEST = 1e5
_LEAST = 0.1
_SIZES = (
    ("depth", "&Depth", "Of the strip, from its inner to its outer edge."),
    ("stock", "Th&ickness", "Of the sheet it is cut from, or of the print."),
    ("cutter", "C&utter", "Diameter of the tool that cuts the outline; corners are eased for it."),
    ("clearance", "Clearance", "Left between the inner edge and what it seats on."),
    ("spacing", "Bolts apart", "Greatest distance between two bolts of a piece."),
    ("bridged", "Bridged", "Hollows narrower than twice this are passed over; lands fill them."),
    ("land_margin", "Land margin", "By how much lands are wider than the sheet, on each side."),
    ("deepest", "Deepest land", "Where the part lies deeper below the brace there is no land."),
    ("root", "Root", "How far lands and bosses are sunk into the wall."),
)
_MAY_BE_NONE = ("clearance", "bridged", "land_margin")


def span_of(part: Solid, way: ArrayLike) -> tuple[float, float]:
    """Return where a part begins along a direction, and how long it is, mm."""
    along = part.vertices @ np.asarray(way, float)
    low = float(along.min())
    return low, float(along.max()) - low


def new_brace(part: Solid, axis: Vector, name: str) -> BraceWish:
    """Return a brace to begin with: over the middle of the part, on its upper side."""
    low, length = span_of(part, axis)
    towards: Vector = (0.0, 0.0, 1.0) if abs(axis[2]) < 0.5 else (0.0, 1.0, 0.0)
    square = np.array(towards) - float(np.dot(towards, axis)) * np.array(axis)
    across = np.cross(axis, square)
    start, wide = span_of(part, across / np.linalg.norm(across))
    return BraceWish(
        axis,
        to_vector(square),
        round(start + wide / 2, 1),
        round(low + 0.05 * length, 1),
        round(low + 0.95 * length, 1),
        depth=20.0,
        stock=4.0,
        name=name,
    )


class BraceDialog(QDialog):
    """Asks for a brace.

    Parameters
    ----------
    part : Solid
        The part or a light stand-in.
    brace : BraceWish
    metals : sequence of str
        Sheet metals on the shelf.
    offered : Offered
        Screws that can be had.
    taken : collection of str
        Names that other braces have.

    Signals
    -------
    applied(BraceWish)
        The dialog is closed by then.
    """

    applied = Signal(object)

    def __init__(
        self,
        part: Solid,
        brace: BraceWish,
        metals: Sequence[str],
        offered: Offered,
        taken: Collection[str] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Brace")
        self._part, self._brace = part, brace
        self._metals, self._offered, self._taken = tuple(metals), offered, frozenset(taken)
        self._make_places()
        self._make_sizes()
        self._make_screws()
        self._accept = button("&Keep it", "Take the brace into the plan.", self.accept)
        self._accept.setDefault(True)
        self._cancel = button("Cancel", "Leave all as it was.", self.reject)
        self._cancel.setAutoDefault(False)
        self._lay_out()
        self._show()
        self._judge()

    def _make_places(self) -> None:
        self.name = QLineEdit()
        tell(self.name, "Name", "By which the brace is told in lists, papers and files.")
        self.way = WayBox("Way", "Along which the brace runs.")
        self.side = WayBox(
            "Side",
            "From the part to the brace: outwards for one outside, into the hollow for one on the "
            "hidden side. The brace is put on against it.",
        )
        stations = "mm along its way, from the low end of the part."
        self.low = LengthBox("From", stations, least=-_FURTHEST, largest=_FURTHEST, step=5.0)
        self.high = LengthBox("To", stations, least=-_FURTHEST, largest=_FURTHEST, step=5.0)
        self.across = LengthBox(
            "Middle of the sheet",
            "Where the middle of its thickness lies, square to its way and its side.",
            least=-_FURTHEST,
            largest=_FURTHEST,
            step=2.0,
        )
        self._across_words = QLabel()
        self.name_note, self.side_note, self.note = NoteLine(), NoteLine(), NoteLine()

    def _make_sizes(self) -> None:
        self.sizes = {
            name: LengthBox(
                label.replace("&", ""),
                tip,
                least=0.0 if name in _MAY_BE_NONE else _LEAST,
                largest=1000.0,
                step=0.5,
            )
            for name, label, tip in _SIZES
        }
        self.metal = list_box(
            "Cut from",
            "A sheet metal of the workshop, or printed flat of the plan's material.",
            [*((name, name) for name in self._metals), (PRINTED, PRINTED)],
        )

    def _make_screws(self) -> None:
        self.hold = list_box("Threads go into", "In bosses on the pieces.", _HOLDS)
        self.standard = list_box("Screws", "Their standard.")
        self.thread_size = list_box("Thread", "Of its bolts.")

    def _place_box(self) -> QGroupBox:
        """Return the fields of where it runs."""
        place = QGroupBox("Where it runs")
        form = QFormLayout(place)
        for text, fields, note in (
            ("&Way", (self.way,), None),
            ("&Side", (self.side,), self.side_note),
            ("&From", (self.low, QLabel("to"), self.high), None),
            ("&Middle", (self.across, self._across_words), None),
        ):
            row = QHBoxLayout()
            for field in fields:
                row.addWidget(field)
            row.addStretch(1)
            label = QLabel(text)
            first = fields[0]
            label.setBuddy(first.list if isinstance(first, WayBox) else first)
            form.addRow(label, row)
            if note is not None:
                form.addRow(note)
        return place

    def _lay_out(self) -> None:
        place = self._place_box()
        labels = {name: label for name, label, _ in _SIZES}
        named = [(labels[name], box) for name, box in self.sizes.items()]
        sheet = group_box("The strip", ("Cut f&rom", self.metal), *named[:3])
        bolts = group_box(
            "Its bolts",
            ("&Threads go into", self.hold),
            ("Scr&ews", self.standard),
            ("T&hread", self.thread_size),
        )
        more = group_box("How it seats", *named[3:])
        left, right, beside = QVBoxLayout(), QVBoxLayout(), QHBoxLayout()
        for column, groups in ((left, (sheet, bolts)), (right, (more,))):
            for group in groups:
                column.addWidget(group)
            column.addStretch(1)
            beside.addLayout(column)
        over = QFormLayout()
        over.addRow("&Name", self.name)
        over.addRow(self.name_note)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self._accept)
        buttons.addWidget(self._cancel)
        whole = QVBoxLayout(self)
        whole.addLayout(over)
        whole.addWidget(place)
        whole.addLayout(beside)
        whole.addStretch(1)
        whole.addWidget(self.note)
        whole.addLayout(buttons)

    # -- what is shown ------------------------------------------------------------------------
    def _show(self) -> None:
        brace = self._brace
        self.name.setText(brace.name)
        self.way.set_way(brace.along)
        self.side.set_way(brace.towards)
        low = span_of(self._part, brace.along)[0]
        self.low.set_mm(brace.low - low)
        self.high.set_mm(brace.high - low)
        self.across.set_mm(brace.offset - span_of(self._part, brace.axes[2])[0])
        for name, box in self.sizes.items():
            box.set_mm(getattr(brace, name))
        fill_list(self.metal, (*self._metals, PRINTED), brace.metal)
        if brace.is_printed:
            choose_in(self.metal, PRINTED)
        choose_in(self.hold, brace.hold)
        self._fill_screws(brace.screw_standard, brace.screw_size)
        for field in self._fields:
            field.edited.connect(self._judge)
        self.name.textChanged.connect(self._judge)
        for choice in (self.metal, self.thread_size):
            choice.activated.connect(self._judge)
        for choice in (self.hold, self.standard):
            choice.activated.connect(self._choose_screws)

    @property
    def _fields(self) -> tuple[WayBox | LengthBox, ...]:
        places = self.low, self.high, self.across
        return self.way, self.side, *places, *self.sizes.values()

    def _choose_screws(self, *_: object) -> None:
        self._fill_screws(self.standard.currentData() or "", self.thread_size.currentData() or "")
        self._judge()

    def _fill_screws(self, standard: str, size: str) -> None:
        """Offer the screws that go into what is chosen."""
        hold = self.hold.currentData()
        standards = self._offered.standards(hold)
        # Those that form their thread have no standard.
        self.standard.setEnabled(bool(standards))
        fill_list(self.standard, standards or (standard,), standard)
        sizes = self._offered.sizes_of(hold, standard)
        fill_list(self.thread_size, sizes, size)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way."""
        for field in self._fields:
            field.set_quantities(quantities)
        self._judge()

    # -- what is said of it -------------------------------------------------------------------
    def _judge(self, *_: object) -> None:
        """Say beside each field what is wrong with it."""
        self._accept.setEnabled(self._asked() is not None)

    def _asked(self) -> BraceWish | None:
        """Return the brace that the fields ask for; None where they make no sense."""
        name = self.name.text().strip()
        name_fault = "" if name else "Give it a name."
        if name in self._taken:
            name_fault = f"Another brace is called “{name}”; give this one a name of its own."
        side_fault, fault, found = "", "", None
        try:
            along, towards = self.way.way, self.side.way
            if abs(float(np.dot(along, towards))) > 1e-6:
                side_fault = "The brace must stand square to its way; choose another side."
            else:
                found = self._brace_along(name, along, towards)
        except LoadError as wrong:
            side_fault = str(wrong)
        except ValueError as wrong:
            fault = str(wrong)
        self.name_note.say(Mark.FAULT, name_fault)
        self.side_note.say(Mark.FAULT, side_fault)
        self.note.say(Mark.FAULT, fault)
        return None if name_fault else found

    def _brace_along(self, name: str, along: Vector, towards: Vector) -> BraceWish:
        before = self._brace
        normal = np.cross(along, towards)
        axis = int(np.abs(normal).argmax())
        sign = "−" if normal[axis] < 0 else "+"
        self._across_words.setText(
            f"across, from the low end of the part along {sign}{'xyz'[axis]}"
        )
        low, start = span_of(self._part, along)[0], span_of(self._part, normal)[0]
        given: dict[str, float] = {each: box.mm for each, box in self.sizes.items()}
        is_printed = self.metal.currentData() == PRINTED
        return replace(
            before,
            name=name or before.name,
            along=along,
            towards=towards,
            offset=_kept(start + self.across.mm, before.offset),
            low=_kept(low + self.low.mm, before.low),
            high=_kept(low + self.high.mm, before.high),
            is_printed=is_printed,
            metal=before.metal if is_printed else self.metal.currentData(),
            hold=self.hold.currentData(),
            screw_standard=self.standard.currentData() or before.screw_standard,
            screw_size=self.thread_size.currentData() or before.screw_size,
            **given,
        )

    @property
    def faults(self) -> list[str]:
        """All that is wrong, from the top."""
        return [note.text for note in (self.name_note, self.side_note, self.note) if note.text]

    def accept(self) -> None:
        """Take the brace; stay if something is wrong with it."""
        # Where a click on a button does not take the keyboard, a number may still be half typed.
        for box in self.findChildren(QAbstractSpinBox):
            box.interpretText()
        brace = self._asked()
        if brace is None:
            self._judge()
            return
        super().accept()
        self.applied.emit(brace)


def _kept(value: float, before: float) -> float:
    """Return a place; the one before where it is the same but for rounding."""
    return before if abs(value - before) < 1e-9 else round(value, 6)
