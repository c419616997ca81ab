"""Connects load cases with the station chart and the view: what holds the part, and what acts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QObject

from splitplanner.arrays import to_vector
from splitplanner.errors import LoadError
from splitplanner.plan import (
    LoadCase,
    Loading,
    PointLoad,
    SpreadLoad,
    Support,
    Vector,
    cantilever,
    over_two_supports,
    with_loading,
)
from splitplanner.solid import Solid
from splitplanner.window.chart import load_marks
from splitplanner.window.chart.load_curves import load_curves, seam_holds
from splitplanner.window.chart.load_marks import LoadMark
from splitplanner.window.chart.load_painting import SeamHold
from splitplanner.window.chart.station_chart import StationChart
from splitplanner.window.chart.values import LoadCurve
from splitplanner.window.links.view_link import ViewLink
from splitplanner.window.quantities import Quantities
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.view.load_shapes import LoadShape, LoadShapes
from splitplanner.window.view.part_view import PartView

if TYPE_CHECKING:
    from splitplanner.loaded import LoadAnswer
    from splitplanner.window.strength.loading_dialog import LoadingDialog

FORCE = 100.0
"""Of a load that is added, until it is edited, N."""
_END, _STRETCH = 0.06, 0.1
"""Supports of a new load case stand so far from the ends, and a new spread load reaches so far to
both sides, as shares of the part's length."""
_SAME_AXIS = 1.0 - 1e-9
_UPRIGHT = 0.9
_CLICK = "Click where the force is to press on the part; Esc gives it up."


class LoadsLink(QObject):
    """Shows the chosen load case along the chart and on the model, and hears what is done there.

    Parameters
    ----------
    session, selection, chart, view : as elsewhere
    view_link : ViewLink
        Knows whether the part is shown as it stands.
    """

    def __init__(
        self,
        session: Session,
        selection: Selection,
        chart: StationChart,
        view: PartView,
        view_link: ViewLink,
    ) -> None:
        super().__init__(chart)
        self._session, self._selection = session, selection
        self._chart, self._view, self._view_link = chart, view, view_link
        self._quantities = Quantities()
        self._shapes: tuple[Solid, LoadShapes] | None = None
        self._drawn: tuple[Loading, Solid, tuple[LoadShape, ...]] | None = None
        self._curves: tuple[LoadAnswer | None, tuple[LoadCurve, ...]] = None, load_curves(None)
        self._edited: Loading | None = None
        self._label = ""
        self.dialog: LoadingDialog | None = None
        for signal in (session.opened, session.changed, session.charted, session.checked):
            signal.connect(self.refresh)
        session.divided.connect(self.refresh)
        view_link.refreshed.connect(self._show_shapes)
        selection.load_changed.connect(self._choose)
        chart.load_chosen.connect(self._turn_to)
        chart.load_moved.connect(self._move)
        chart.load_delete_asked.connect(self._delete)
        chart.load_edit_asked.connect(self._edit)
        chart.load_asked.connect(self._add)
        chart.load_mark_chosen.connect(self._show_in_view)
        marks, layer = chart.canvas.loads, view.loads
        marks.dragged.connect(self._preview_in_view)
        marks.aborted.connect(layer.put_back)
        layer.dragged.connect(self._preview_in_chart)
        layer.aborted.connect(marks.put_back)
        layer.moved.connect(self._move)
        layer.delete_asked.connect(self._delete)
        layer.chosen.connect(self._show_in_chart)
        view.point_picked.connect(self._place)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities
        self.refresh()

    # -- what is shown ----------------------------------------------------------------------
    @property
    def _loadings(self) -> tuple[Loading, ...]:
        plan = self._session.plan
        return () if plan is None else plan.loadings

    @property
    def loading(self) -> Loading | None:
        """The chosen load case."""
        name = self._selection.load
        return next((each for each in self._loadings if each.name == name), None)

    @property
    def _is_along(self) -> bool:
        """Whether the chosen load case runs along the axis of the chart."""
        loading = self.loading
        return loading is not None and float(np.dot(loading.axis, self._session.axis)) > _SAME_AXIS

    @property
    def _answer(self) -> LoadAnswer | None:
        """What is known of the chosen load case as it is now."""
        examined = self._session.examined
        strength = None if examined is None else examined.strength
        answers = () if strength is None else strength.loads
        return next((each for each in answers if each.loading == self.loading), None)

    def refresh(self) -> None:
        """Show the chosen load case."""
        if self._session.is_dragging:
            return
        answer, names = self._answer, [each.name for each in self._loadings]
        if self._curves[0] is not answer:
            self._curves = answer, load_curves(answer)
        marks, holds = None, tuple[SeamHold, ...]()
        if self._is_along and self._session.stations is not None:
            marks, holds = self._marks(), seam_holds(answer, self._quantities)
        name = self._selection.load
        self._chart.set_loads(names, name, marks, self._curves[1], holds)
        self._show_shapes()

    def _ends(self, axis: Vector) -> tuple[float, float]:
        """Return where the part begins and ends along an axis, mm."""
        stations, light = self._session.stations, self._session.light
        if stations is not None and float(np.dot(stations.axis, axis)) > _SAME_AXIS:
            return stations.ends
        if light is None:
            return 0.0, 1.0
        heights = light.vertices @ np.array(axis)
        return float(heights.min()), float(heights.max())

    def _marks(self) -> tuple[LoadMark, ...]:
        loading = self.loading
        if loading is None:
            return ()
        return load_marks.load_marks(loading, self._ends(loading.axis), self._quantities)

    def _show_shapes(self) -> None:
        """Draw supports and loads on the model where it stands as it is."""
        loading, light, layer = self.loading, self._session.light, self._view.loads
        if loading is None or light is None or not self._view_link.shows_plan:
            layer.show(())
            return
        if self._drawn is None or self._drawn[:2] != (loading, light):
            if self._shapes is None or self._shapes[0] is not light:
                self._shapes = light, LoadShapes(light)
            self._drawn = loading, light, self._shapes[1].of(loading, self._marks())
        places = self._chart.canvas.loads.places if self._is_along else ()
        layer.show(self._drawn[2], self._ends(loading.axis), places)

    def _choose(self) -> None:
        """Show another load case, along its axis."""
        for shown in (self._chart.canvas.loads, self._view.loads):
            shown.show_chosen(None)
        self._turn_to(self._selection.load or "")
        self.refresh()

    def _turn_to(self, name: str) -> None:
        """Choose a load case, and turn the chart to its axis."""
        if name and name != self._selection.load:
            self._selection.choose_load(name)
            return
        loading = self.loading
        if loading is not None and not self._is_along and self._session.light is not None:
            self._session.choose_axis(loading.axis)
        self.refresh()

    def _show_in_view(self, index: int) -> None:
        self._view.loads.show_chosen(None if index < 0 else index)

    def _show_in_chart(self, index: int) -> None:
        canvas = self._chart.canvas
        canvas.loads.choose(None if index < 0 else index)

    def _preview_in_view(self, mark: LoadMark, station: float) -> None:
        self._view.loads.preview(mark.index, station)

    def _preview_in_chart(self, mark: LoadMark, station: float) -> None:
        if self._is_along:
            self._chart.canvas.loads.preview(mark.index, station)

    # -- what is done -----------------------------------------------------------------------
    def _try(self, label: str, step: Callable[[], Loading]) -> None:
        """Change the chosen load case as one step, or say why that makes no sense."""
        plan = self._session.plan
        try:
            changed = step()
        except LoadError as fault:
            self._session.failed.emit(fault)
            self.refresh()
            return
        if plan is not None:
            self._session.apply(label, with_loading(plan, changed))

    def _move(self, mark: LoadMark, station: float) -> None:
        loading = self.loading
        if loading is not None:
            label = f"move {mark.name.lower()}"
            self._try(label, lambda: load_marks.with_moved(loading, mark, station))

    def _delete(self, mark: LoadMark) -> None:
        loading = self.loading
        if loading is None:
            return
        for shown in (self._chart.canvas.loads, self._view.loads):
            shown.show_chosen(None)
        label = f"delete {mark.name.lower()}"
        self._try(label, lambda: load_marks.without_mark(loading, mark))

    def _edit(self, mark: LoadMark) -> None:
        if self.loading is not None:
            self._ask(self.loading, f"change load case {self.loading.name}")

    def _add(self, kind: str, station: float) -> None:
        """Add what was asked for: a support at once, a load once its size is known."""
        if kind in ("new supported", "new clamped"):
            self._begin(kind, station)
            return
        loading = self.loading
        if loading is None:
            return
        if kind in ("support", "clamp"):
            support = Support(station, clamped=kind == "clamp")
            self._try(f"add {kind}", lambda: load_marks.with_support(loading, support))
        elif kind == "on face":
            self._view.set_mode("place")
            self._session.said.emit(_CLICK)
        else:
            force = _down(loading.axis)
            load = PointLoad(station, force) if kind == "force" else self._spread(station, force)
            self._ask(load_marks.with_load(loading, load), "add force")

    def _spread(self, station: float, force: Vector) -> SpreadLoad:
        low, high = self._ends(self._session.axis)
        reach = _STRETCH * (high - low)
        start, end = max(station - reach, low), min(station + reach, high)
        return SpreadLoad(low + round(start - low, 1), low + round(end - low, 1), force)

    def _begin(self, kind: str, station: float) -> None:
        """Ask about a new load case along the axis of the chart."""
        axis = self._session.axis
        low, high = self._ends(axis)
        force, inset = _down(axis), round(_END * (high - low))
        taken = [each.name for each in self._loadings]
        name = next(
            name
            for number in range(1, len(taken) + 2)
            if (name := f"load case {number}") not in taken
        )
        case: LoadCase
        if kind == "new clamped":
            far = high if station - low < high - station else low
            case = cantilever(station, PointLoad(far, force), name=name)
        else:
            load = PointLoad(station, force)
            case = over_two_supports(low + inset, high - inset, load, name=name)
        self._ask(Loading(axis, case), f"add load case {name}")

    def _place(self, point: Vector, normal: Vector) -> None:
        """Add a force that presses on the part where it was clicked."""
        loading = self.loading
        if loading is None:
            return
        station = float(np.dot(loading.axis, point))
        load = PointLoad(station, to_vector(-FORCE * np.array(normal) + 0.0), at=point)
        self._ask(load_marks.with_load(loading, load), "add force on a face")

    def _ask(self, loading: Loading, label: str) -> None:
        """Open the editor on a load case; what it gives back is one step."""
        from splitplanner.window.strength.loaded_part import LoadedPart
        from splitplanner.window.strength.loading_dialog import LoadingDialog

        light = self._session.light
        if light is None:
            return
        taken = {each.name for each in self._loadings} - {loading.name}
        part = LoadedPart.of(light, loading.axis, self._session.material)
        dialog = LoadingDialog(part, loading, taken, self._chart.window())
        dialog.set_quantities(self._quantities)
        self._edited, self._label, self.dialog = loading, label, dialog
        dialog.applied.connect(self._take)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()

    def _take(self, loading: Loading) -> None:
        plan, edited = self._session.plan, self._edited
        if plan is None or edited is None:
            return
        names = [each.name for each in plan.loadings]
        self._selection.blockSignals(True)
        self._selection.choose_load(loading.name)
        self._selection.blockSignals(False)
        if edited.name in names and loading.name != edited.name:
            kept = [loading if each.name == edited.name else each for each in plan.loadings]
            self._session.apply(self._label, replace(plan, loadings=tuple(kept)))
        else:
            self._session.apply(self._label, with_loading(plan, loading))
        self._selection.load_changed.emit()


def _down(axis: Vector) -> Vector:
    """Return a force that presses down on the part, N; from behind where the axis is upright."""
    return (0.0, 0.0, -FORCE) if abs(axis[2]) < _UPRIGHT else (0.0, FORCE, 0.0)
