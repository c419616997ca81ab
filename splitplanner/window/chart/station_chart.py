"""The station chart: figures of the part along an axis, cuts to drag over them, pieces below."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFontMetrics, QResizeEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from splitplanner.plan import Vector
from splitplanner.score import Stations
from splitplanner.window.chart.canvas import ChartCanvas
from splitplanner.window.chart.ground import Snap
from splitplanner.window.chart.keys import KEYS_TOLD
from splitplanner.window.chart.load_marks import LoadMark
from splitplanner.window.chart.load_painting import SeamHold
from splitplanner.window.chart.picture import EMPTY, MEASURING
from splitplanner.window.chart.values import (
    CURVES,
    LOAD_CURVES,
    CutMark,
    LoadCurve,
    Span,
    curve_named,
)
from splitplanner.window.quantities import Quantities

_SAME_AXIS = 1.0 - 1e-9
_BETWEEN = "   ·   "
_LEAST = 7, 11
"""The lists of axes and load cases may be so narrow where there is no room, characters."""
_LOAD_TIP = "The load case whose supports, loads and figures are shown."


class StationChart(QWidget):
    """A chart over an axis of the part.

    It shows what it is given and tells what the user does; it changes no plan. All stations are
    offsets ``axis · p`` in mm; the ruler counts from the low end of the part.

    Signals
    -------
    cut_grabbed(int)
        The user begins to move a cut, by its index.
    cut_dragged(int, float, float, bool)
        Index, wanted station, mm of axis a pixel takes in, and whether the move is a fine one
        (Shift, or by keys), for which the place is meant as it is. The chart shows the cut there
        until `set_cuts` says where it is.
    cut_dropped(int), cut_aborted(int)
        End of the move; the second one gives it up.
    cut_chosen(int)
        -1 for none.
    cut_asked(float)
        A new cut is wanted at a station.
    delete_asked(int)
        A cut is to be removed.
    axis_chosen(object)
        Another axis is wanted, (x, y, z).
    curve_chosen(str)
        Another figure is drawn now.
    load_chosen(str)
        Another load case is to be shown, by its name.
    load_moved(object, float)
        A marker of the load case, as it was, and the offset at which it was let go. The chart
        shows it there until `set_loads`.
    load_mark_chosen(int)
        A marker of the load case by its index; -1 for none.
    load_asked(str, float)
        Something is to be added at an offset: support, clamp, force, spread, on face, new
        supported or new clamped.
    load_delete_asked(object), load_edit_asked(object)
        A marker of the load case is to be removed, or what it stands for edited.
    """

    cut_grabbed = Signal(int)
    cut_dragged = Signal(int, float, float, bool)
    cut_dropped = Signal(int)
    cut_aborted = Signal(int)
    cut_chosen = Signal(int)
    cut_asked = Signal(float)
    delete_asked = Signal(int)
    axis_chosen = Signal(object)
    curve_chosen = Signal(str)
    load_chosen = Signal(str)
    load_moved = Signal(object, float)
    load_mark_chosen = Signal(int)
    load_asked = Signal(str, float)
    load_delete_asked = Signal(object)
    load_edit_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._axes: list[tuple[str, Vector]] = []
        self._read: tuple[list[tuple[str, str]], int] | None = None
        self.canvas = ChartCanvas(self)
        self.axis_box = QComboBox(self)
        self.curve_box = QComboBox(self)
        self.load_box = QComboBox(self)
        # However a load case is called, the lists beside the chart keep their width.
        for box, least in zip((self.axis_box, self.load_box), _LEAST, strict=True):
            box.setMinimumWidth(least * box.fontMetrics().averageCharWidth())
        self.load_label = QLabel("Load", self)
        self.readout = QLabel(self)
        self._name_controls()
        self._lay_out()
        self._connect()
        self._show_reading()

    # -- what is shown --------------------------------------------------------------------
    def set_stations(self, stations: Stations | None, *, is_measuring: bool = False) -> None:
        """Show figures along an axis; None when no part is open, or while it is measured."""
        self.canvas.words_instead = MEASURING if is_measuring else EMPTY
        self.canvas.show_stations(stations)
        self._show_axis()

    def set_axes(self, axes: Sequence[tuple[str, Vector]]) -> None:
        """Give the axes to choose from, each with what it is called."""
        self._axes = list(axes)
        self.axis_box.clear()
        self.axis_box.addItems([label for label, _ in self._axes])
        self._show_axis()

    def set_cuts(self, cuts: Sequence[CutMark]) -> None:
        """Show markers for cuts."""
        self.canvas.show_cuts(cuts)

    def set_spans(self, spans: Sequence[Span]) -> None:
        """Show where pieces lie; those that overlap lie below each other, in up to three rows."""
        self.canvas.show_spans(spans)

    def set_selected(self, index: int | None) -> None:
        """Show which cut is chosen."""
        if index != self.canvas.selected:
            self.canvas.show_chosen(index)

    def set_quantities(self, quantities: Quantities) -> None:
        """Show figures in other units or numbers."""
        self.canvas.quantities = quantities
        self.canvas.refit()

    def set_curve(self, name: str) -> None:
        """Draw another figure: area, length, room, overhang, wall or modulus.

        Where a load case is shown, also moment, shear, torque, deflection, stress or strength.

        Raises
        ------
        ValueError
            If there is no such figure.
        """
        curves = {curve.name: curve for curve in self.canvas.curves}
        curve = curves[name] if name in curves else curve_named(name)
        self.curve_box.setCurrentIndex([*curves].index(curve.name))
        self.curve_box.setToolTip(f"{curve.label}. {curve.meaning}")
        self.canvas.curve = curve
        self.canvas.redraw()

    def set_snaps(self, snaps: Sequence[Snap]) -> None:
        """Show sensible places for cuts: stations, and why each is one."""
        self.canvas.snaps = tuple(snaps)
        self.canvas.redraw()

    def set_loads(
        self,
        names: Sequence[str],
        chosen: str | None,
        marks: Sequence[LoadMark] | None,
        curves: Sequence[LoadCurve] = LOAD_CURVES,
        holds: Sequence[SeamHold] = (),
    ) -> None:
        """Show a load case.

        Parameters
        ----------
        names : sequence of str
            Of all load cases.
        chosen : str or None
        marks : sequence of LoadMark, or None
            Where it is held, and what acts; None if none is shown along this axis.
        curves : sequence of LoadCurve
            Its figures; without values while they are not known.
        holds : sequence of SeamHold
            What seams hold.
        """
        canvas = self.canvas
        had_loads, canvas.has_loads = canvas.has_loads, marks is not None
        canvas.holds = tuple(holds) if marks is not None else ()
        canvas.curves = (*CURVES, *(curves if marks is not None else ()))
        self._list_loads(names, chosen if marks is not None else None)
        self._list_curves()
        if had_loads != canvas.has_loads:
            canvas.updateGeometry()
            canvas.refit()
        canvas.loads.show(marks or ())
        canvas.redraw()
        self._read = None
        self._show_reading()

    # -- inside ---------------------------------------------------------------------------
    def _name_controls(self) -> None:
        self.axis_box.setAccessibleName("Axis of the chart")
        self.axis_box.setToolTip("The axis along which the part is looked at.")
        self.curve_box.setAccessibleName("Figure that is drawn")
        self._list_curves()
        self.load_box.setAccessibleName("Load case that is shown")
        self.load_box.setMaximumWidth(160)
        self.load_box.setPlaceholderText("along another axis")
        self._list_loads((), None)
        self.readout.setAccessibleName("Figures at a station")
        self.readout.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.readout.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.canvas.setAccessibleDescription(KEYS_TOLD)

    def _list_loads(self, names: Sequence[str], chosen: str | None) -> None:
        """Write the load cases into their box, which is there if there are any."""
        shown = [self.load_box.itemText(row) for row in range(self.load_box.count())]
        if shown != list(names):
            self.load_box.clear()
            self.load_box.addItems(list(names))
        self.load_box.setCurrentIndex(-1 if chosen is None else self.load_box.findText(chosen))
        # Where the window is narrow its name is cut off.
        name = f"“{chosen}”. " if chosen is not None else ""
        self.load_box.setToolTip(f"{name}{_LOAD_TIP}")
        for widget in (self.load_label, self.load_box):
            widget.setVisible(bool(names))

    def _list_curves(self) -> None:
        """Write the figures into their box, and go on with the one that is drawn if it is there."""
        box, curves = self.curve_box, self.canvas.curves
        labels = [curve.label for curve in curves]
        if labels != [box.itemText(row) for row in range(box.count())]:
            box.clear()
            box.addItems(labels)
            for row, curve in enumerate(curves):
                box.setItemData(row, curve.meaning, Qt.ItemDataRole.ToolTipRole)
        names = [curve.name for curve in curves]
        name = self.canvas.curve.name
        self.set_curve(name if name in names else names[0])

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.setContentsMargins(8, 4, 8, 2)
        head.setSpacing(6)
        for words, box in (("Along", self.axis_box), ("Show", self.curve_box)):
            label = QLabel(words, self)
            label.setBuddy(box)
            head.addWidget(label)
            head.addWidget(box)
            head.addSpacing(4)
        self.load_label.setBuddy(self.load_box)
        head.addWidget(self.load_label)
        head.addWidget(self.load_box)
        head.addWidget(self.readout, 1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addLayout(head)
        rows.addWidget(self.canvas, 1)
        # As they are seen: the line above first.
        self.setTabOrder(self.axis_box, self.curve_box)
        self.setTabOrder(self.curve_box, self.load_box)
        self.setTabOrder(self.load_box, self.canvas)

    def _connect(self) -> None:
        canvas = self.canvas
        for name in ("grabbed", "dragged", "dropped", "aborted", "chosen", "asked"):
            getattr(canvas, f"cut_{name}").connect(getattr(self, f"cut_{name}"))
        canvas.delete_asked.connect(self.delete_asked)
        canvas.loads.moved.connect(self.load_moved)
        canvas.loads.chosen.connect(self.load_mark_chosen)
        for name in ("load_asked", "load_delete_asked", "load_edit_asked"):
            getattr(canvas, name).connect(getattr(self, name))
        self.load_box.textActivated.connect(self.load_chosen)
        canvas.pointed.connect(self._show_reading)
        self.axis_box.activated.connect(self._choose_axis)
        self.curve_box.activated.connect(self._choose_curve)

    def _choose_axis(self, row: int) -> None:
        self.axis_chosen.emit(self._axes[row][1])

    def _choose_curve(self, row: int) -> None:
        name = self.canvas.curves[row].name
        self.set_curve(name)
        self.curve_chosen.emit(name)

    def _show_axis(self) -> None:
        """Show in the box along which axis the figures are; none if it is not among them."""
        stations = self.canvas.stations
        row = -1
        for at, (_, axis) in enumerate(self._axes):
            if stations is not None and float(np.dot(axis, stations.axis)) > _SAME_AXIS:
                row = at
                break
        self.axis_box.setCurrentIndex(row)
        self.axis_box.setEnabled(stations is not None)

    def _show_reading(self) -> None:
        """Tell the station that is read and as many of its figures as there is place for."""
        readings, width = self.canvas.readings(), self.readout.width()
        if (readings, width) == self._read:
            return
        self._read = (readings, width)
        fonts = QFontMetrics(self.readout.font())
        text = ""
        for at, (name, value) in enumerate(readings):
            words = f"at {value}" if at == 0 else f"{name} {value}"
            longer = f"{text}{_BETWEEN}{words}" if text else words
            if text and fonts.horizontalAdvance(longer) > width:
                break
            text = longer
        self.readout.setText(text)
        self.readout.setToolTip("\n".join(f"{name}: {value}" for name, value in readings))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Tell more or fewer figures in another width."""
        super().resizeEvent(event)
        self._show_reading()

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802
        """Tell more or fewer figures in other letters."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._read = None
            self._show_reading()
