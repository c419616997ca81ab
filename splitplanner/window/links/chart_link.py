"""Connects the station chart with what the window works on."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from splitplanner.background.live_cut import LiveFigures, LivePieces
from splitplanner.score import station_axes
from splitplanner.score.lying import Fit
from splitplanner.window.chart.station_chart import StationChart
from splitplanner.window.dragging import Dragging
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.view import showing


class ChartLink(QObject):
    """Shows cuts and pieces along the axis of the chart, and hears what is done there."""

    cut_asked = Signal(float)
    """A cut is wanted across the axis, at this offset, mm."""
    delete_asked = Signal(int)

    def __init__(
        self,
        session: Session,
        selection: Selection,
        dragging: Dragging,
        chart: StationChart,
        colours: dict[str, str],
    ) -> None:
        super().__init__(chart)
        self._session, self._selection, self._dragging = session, selection, dragging
        self._chart, self._colours = chart, colours
        self._live: LivePieces | None = None
        self._fits: dict[str, Fit] = {}
        session.opened.connect(self._open)
        session.changed.connect(self._show_cuts)
        session.charted.connect(self._show_stations)
        session.divided.connect(self._show_spans)
        session.measured.connect(self._show_spans)
        dragging.lived.connect(self._on_live)
        dragging.figured.connect(self._on_figures)
        dragging.ended.connect(self._end_drag)
        selection.cut_changed.connect(lambda: chart.set_selected(selection.cut))
        chart.cut_grabbed.connect(dragging.begin)
        chart.cut_dragged.connect(lambda _, *how: dragging.move_along(*how))
        chart.cut_dropped.connect(lambda _: dragging.drop())
        chart.cut_aborted.connect(lambda _: dragging.abort())
        chart.cut_chosen.connect(selection.choose_cut)
        chart.cut_asked.connect(self.cut_asked)
        chart.delete_asked.connect(self.delete_asked)
        chart.axis_chosen.connect(self._choose_axis)

    def set_colours(self, colours: dict[str, str]) -> None:
        """Show pieces in other colours."""
        self._colours = colours
        self._show_spans()

    def _open(self) -> None:
        self._chart.set_stations(None, is_measuring=True)
        self._chart.set_snaps(())
        if self._session.light is not None:
            self._chart.set_axes(station_axes(self._session.light))
        self._show_cuts()
        self._show_spans()

    def _choose_axis(self, axis: tuple[float, float, float]) -> None:
        self._session.choose_axis(axis)
        self._show_cuts()
        self._show_spans()

    def _show_stations(self) -> None:
        session = self._session
        if session.light is not None:
            self._chart.set_axes(station_axes(session.light))
        self._chart.set_stations(session.stations)
        self._chart.set_snaps([(place.station, place.why) for place in session.places])
        self._show_cuts()
        self._show_spans()

    def _show_cuts(self) -> None:
        plan = self._session.plan
        self._chart.set_cuts(
            [] if plan is None else showing.cut_marks(plan, self._session.chart_axis)
        )

    def _show_spans(self) -> None:
        session, axis = self._session, self._session.chart_axis
        if self._live is not None:
            spans = showing.live_spans(
                self._live.pieces,
                self._fits,
                self._colours,
                axis,
                showing.numbers_of(session.division),
            )
        elif session.division is None:
            return
        else:
            spans = showing.spans_of(session.division, session.figures, self._colours, axis)
        self._chart.set_spans(spans)

    def _on_live(self, live: LivePieces) -> None:
        self._live = live
        self._show_spans()

    def _on_figures(self, figures: LiveFigures) -> None:
        self._fits = figures.fits
        self._show_spans()

    def _end_drag(self) -> None:
        self._live, self._fits = None, {}
        self._show_spans()
        # A drag that was given up leaves the marker where it was drawn.
        self._show_cuts()
