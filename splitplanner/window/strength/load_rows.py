"""The rows of the editor of a load case: one a support, and one a load."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from splitplanner.errors import LoadError
from splitplanner.plan import Load, PointLoad, SpreadLoad, Support, WeightLoad
from splitplanner.window.dialogs.fields import tick_box
from splitplanner.window.parts.buttons import small_button
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.vector_box import VectorBox

_ACTS, _STRIKES = "Its own mass acts with", "Its own mass strikes"
_FURTHEST = 1e5
_ROUND = 1e-6
N_MM = 1000.0
"""N·mm in one N·m."""


def station_box(what: str) -> LengthBox:
    """Return a box for a station; what is beside the part is told, not cut off."""
    return LengthBox(
        what,
        "mm along the axis, from the low end of the part.",
        least=-_FURTHEST,
        largest=_FURTHEST,
        step=5.0,
    )


class Row(QFrame):
    """One support or load, with what is wrong with it below.

    Signals
    -------
    edited()
    removed(Row)
    """

    edited = Signal()
    removed = Signal(object)

    def __init__(self, what: str) -> None:
        super().__init__()
        self.what = what
        self.note = NoteLine(self)
        self._lengths: list[LengthBox] = []
        self._vectors: list[VectorBox] = []
        self._lines = QVBoxLayout()
        self._remove = small_button("✕", f"Remove {what}", f"Take {what} away.", self._go)
        over = QHBoxLayout()
        over.addLayout(self._lines, 1)
        over.addWidget(self._remove)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 2, 0, 2)
        whole.addLayout(over)
        whole.addWidget(self.note)

    def _line(self, *widgets: QWidget | str) -> None:
        """Put fields beside each other, and words between them."""
        row = QHBoxLayout()
        for each in widgets:
            row.addWidget(QLabel(each) if isinstance(each, str) else each)
            if isinstance(each, LengthBox):
                self._lengths.append(each)
                each.edited.connect(self.edited)
            elif isinstance(each, VectorBox):
                self._vectors.append(each)
                each.edited.connect(self.edited)
            elif isinstance(each, QCheckBox):
                each.clicked.connect(self.edited)
        row.addStretch(1)
        self._lines.addLayout(row)

    def _go(self, *_: object) -> None:
        self.removed.emit(self)

    def tell_fall(self, is_all_that_falls: bool) -> None:
        """Take note that the load comes by a fall and nothing else acts: its size is not asked."""

    def begin(self) -> None:
        """Take the keyboard, to be filled in."""
        (self._lengths[0] if self._lengths else self._vectors[0].size_box).setFocus()

    def refuse(self, why: str) -> None:
        """Say what is wrong with it; nothing is if empty."""
        self.note.say(Mark.FAULT, why)

    @property
    def stations(self) -> tuple[float, ...]:
        """Where it is, mm from the low end."""
        return ()

    def fault(self, length: float) -> str:
        """Return what is wrong with it on a part so long, mm; empty if nothing is."""
        try:
            self.value()
        except LoadError as fault:
            return str(fault)
        for station in self.stations:
            if not -_ROUND <= station <= length + _ROUND:
                return (
                    f"The station {station:.1f} mm is beside the part, which is {length:.1f} mm "
                    "long that way; stations count from its low end."
                )
        return ""

    def value(self) -> Support | Load:
        """Return what it says.

        Raises
        ------
        LoadError
            If it makes no sense.
        """
        raise NotImplementedError

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way."""
        boxes: tuple[LengthBox | VectorBox, ...] = (*self._lengths, *self._vectors)
        for box in boxes:
            box.set_quantities(quantities)


class SupportRow(Row):
    """A place where the part is held."""

    def __init__(self, support: Support) -> None:
        super().__init__("this support")
        self._support = support
        self.station = station_box("Station of the support")
        self.station.set_mm(support.station)
        self.clamped = tick_box(
            "clamped", "It keeps the part from tilting there too, as a vice does."
        )
        self.clamped.setChecked(support.clamped)
        self._line("Held at", self.station, self.clamped)

    @property
    def stations(self) -> tuple[float, ...]:
        """Where it is, mm from the low end."""
        return (self.station.mm,)

    def value(self) -> Support:
        """Return the support; what this form does not ask stays as it was."""
        before = self._support
        return Support(self.station.mm, self.clamped.isChecked(), before.twist, before.axial)


class PointRow(Row):
    """A force, a couple or both at one station."""

    def __init__(self, load: PointLoad) -> None:
        super().__init__("this load")
        self.station = station_box("Station of the load")
        self.station.set_mm(load.station)
        self.force = VectorBox("Force", "How large the force is; 0 for a mere couple.", " N")
        self.force.set_vector(load.force)
        self.couple = VectorBox(
            "Couple",
            "A couple that turns, right-handed about its direction: along the axis of the load "
            "case it twists, across it it bends.",
            " N·m",
            scale=N_MM,
            word="about",
        )
        self.couple.set_vector(load.moment)
        self.is_beside = tick_box(
            "through a point",
            "The force acts on a line through this point instead of through the middle of the "
            "section.",
        )
        self.is_beside.setChecked(load.at is not None)
        self.at = tuple(
            LengthBox(f"Point of the force, {axis}", f"Along {axis}.", least=-_FURTHEST)
            for axis in "xyz"
        )
        for box, value in zip(self.at, load.at or (0.0, 0.0, 0.0), strict=True):
            box.set_mm(value)
        self._line("Force at", self.station, self.force)
        self._line("and", self.couple)
        self._line(self.is_beside, *self.at)
        self.is_beside.toggled.connect(self._show)
        self._show()

    def _show(self, *_: object) -> None:
        for box in self.at:
            box.setVisible(self.is_beside.isChecked())

    @property
    def stations(self) -> tuple[float, ...]:
        """Where it is, mm from the low end."""
        return (self.station.mm,)

    def value(self) -> PointLoad:
        """Return the load."""
        x, y, z = (box.mm for box in self.at)
        at = (x, y, z) if self.is_beside.isChecked() else None
        made = PointLoad(self.station.mm, self.force.vector, self.couple.vector, at)
        if not any((*made.force, *made.moment)):
            raise LoadError("This load is 0; give it a force or a couple, or take it away.")
        return made


class SpreadRow(Row):
    """A force spread evenly along a stretch."""

    def __init__(self, load: SpreadLoad) -> None:
        super().__init__("this load")
        self.start, self.end = station_box("Start of the load"), station_box("End of the load")
        self.start.set_mm(load.start)
        self.end.set_mm(load.end)
        self.force = VectorBox("Force", "Of the whole stretch.", " N")
        self.force.set_vector(load.force)
        self._line("Spread from", self.start, "to", self.end)
        self._line("in all", self.force)

    @property
    def stations(self) -> tuple[float, ...]:
        """Where it is, mm from the low end."""
        return self.start.mm, self.end.mm

    def value(self) -> SpreadLoad:
        """Return the load."""
        made = SpreadLoad(self.start.mm, self.end.mm, self.force.vector)
        if not any(made.force):
            raise LoadError("This load is 0; give it a force, or take it away.")
        return made


class WeightRow(Row):
    """A force spread as the part's mass is."""

    def __init__(self, load: WeightLoad) -> None:
        super().__init__("this load")
        self.force = VectorBox(
            "Own weight",
            "Of the whole part, spread as its mass is: its weight, or what its inertia does.",
            " N",
        )
        self.force.set_vector(load.force)
        self._acts = QLabel(_ACTS)
        self._line(self._acts, self.force)

    def tell_fall(self, is_all_that_falls: bool) -> None:
        """Ask for the direction alone where the size follows from the fall."""
        self._acts.setText(_STRIKES if is_all_that_falls else _ACTS)
        self.force.size_box.setHidden(is_all_that_falls)

    def value(self) -> WeightLoad:
        """Return the load."""
        made = WeightLoad(self.force.vector)
        if not any(made.force):
            raise LoadError("This load is 0; give it a force, or take it away.")
        return made


def row_of(load: Load) -> Row:
    """Return the row that edits a load."""
    if isinstance(load, PointLoad):
        return PointRow(load)
    return SpreadRow(load) if isinstance(load, SpreadLoad) else WeightRow(load)
