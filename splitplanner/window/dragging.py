"""Dragging a cut, in the view or in the chart: both are the same act."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QObject, QTimer, Signal

from splitplanner.arrays import to_vector
from splitplanner.background.live_cut import LiveCut, LiveFigures, LivePieces
from splitplanner.plan import Plan, with_plane
from splitplanner.solid import Plane
from splitplanner.window.chart.cut_places import moved_to_station
from splitplanner.window.jobs import Job
from splitplanner.window.session import Session

SNAP = 7.0
"""A plane clicks into a sensible place from so many pixels away."""
_STEEP = float(np.cos(np.radians(2.0)))
"""A plane that is tilted clicks into an axis from 2° away."""
_SQUARE = 1.0 - 1e-9
_REST = 60
"""Slow figures are worked out anew no more often than this, ms."""


class Dragging(QObject):
    """Moves one cut of the session's plan with the pointer; one drag is one step."""

    lived = Signal(object)
    """The pieces at this moment, `LivePieces`."""
    figured = Signal(object)
    """What is known of them, `LiveFigures`."""
    ended = Signal()

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._cut: LiveCut | None = None
        self._before: Plan | None = None
        self._index = -1
        self._live: LivePieces | None = None
        self._snap = ""
        self._figuring: Job | None = None
        self._is_behind = False
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST)
        self._rest.timeout.connect(self._figure)

    @property
    def is_on(self) -> bool:
        """Whether a cut is being dragged."""
        return self._before is not None

    @property
    def live(self) -> LivePieces | None:
        """The pieces at this moment; None when no cut is dragged, or no light part is there."""
        return self._live

    @property
    def snap(self) -> str:
        """What the cut has clicked into; empty if nothing."""
        return self._snap

    def begin(self, index: int) -> None:
        """Take a cut in hand."""
        session = self._session
        if session.document is None or session.plan is None or self.is_on:
            return
        self._index, self._before = index, session.plan
        if session.light is not None:
            self._cut = LiveCut(session.light, self._before, index)
        session.document.begin(f"move cut {index + 1}")

    def move(self, plane: Plane, mm_per_pixel: float, is_fine: bool) -> None:
        """Move the cut to a plane, or to a sensible place beside it."""
        session = self._session
        if self._before is None or session.document is None:
            return
        self._snap = ""
        if not is_fine:
            plane = self._snapped(plane, mm_per_pixel)
        current = session.document.current
        session.document.preview(current.with_plan(with_plane(self._before, self._index, plane)))
        if self._cut is not None:
            self._live = self._cut.at(plane)
            self.lived.emit(self._live)
        if not self._rest.isActive():
            self._rest.start()

    def move_along(self, station: float, mm_per_pixel: float, is_fine: bool) -> None:
        """Move the cut along the chart's axis to an offset along it, mm, without tilting it."""
        if self._before is None:
            return
        plane = self._before.cuts[self._index].plane
        axis = self._session.chart_axis
        self.move(moved_to_station(plane, station - axis.low, axis), mm_per_pixel, is_fine)

    def drop(self) -> None:
        """Leave the cut where it is."""
        document = self._session.document
        if self.is_on and document is not None:
            self._stop()
            document.commit()
            self.ended.emit()

    def abort(self) -> None:
        """Put the cut back to where it was taken from."""
        document = self._session.document
        if self.is_on and document is not None:
            self._stop()
            document.abort()
            self.ended.emit()

    def _stop(self) -> None:
        self._rest.stop()
        self._before = self._cut = self._live = None

    def _figure(self) -> None:
        """Have the slow figures worked out for the cut as it is now, one after the other."""
        live, plan = self._live, self._session.plan
        if live is None or plan is None:
            return
        if self._figuring is not None and not self._figuring.is_over:
            # They are asked for again as soon as these are there.
            self._is_behind = True
            return
        self._is_behind = False
        self._figuring = self._session.jobs.ask(
            "painter", "figure_live_cut", plan, self._index, answered=self._take_figures
        )

    def _take_figures(self, figures: LiveFigures) -> None:
        if self.is_on and figures.index == self._index:
            self.figured.emit(figures)
        if self._is_behind:
            self._figure()

    # -- snapping ---------------------------------------------------------------------------
    def _snapped(self, plane: Plane, mm_per_pixel: float) -> Plane:
        """Return a sensible plane beside one; else the plane in tenths of a millimetre."""
        assert self._before is not None
        before = self._before.cuts[self._index].plane
        if before.normal != plane.normal:
            return self._straightened(plane)
        along = float(np.dot(plane.normal, self._session.axis))
        if abs(along) < _SQUARE:
            return Plane(plane.normal, round(plane.offset, 1))
        station = plane.offset / along
        near = [
            (abs(place.station - station), place)
            for place in self._session.places
            if abs(place.station - station) <= SNAP * mm_per_pixel
        ]
        if near:
            place = min(near, key=lambda each: each[0])[1]
            self._snap = place.why
            return Plane(plane.normal, place.station * along)
        return Plane(plane.normal, round(plane.offset, 1))

    def _straightened(self, plane: Plane) -> Plane:
        """Return a plane square to an axis of the part if it nearly is, turned about its foot."""
        normal = np.array(plane.normal)
        axes = np.vstack([np.eye(3), [self._session.axis]])
        cosines = axes @ normal
        best = int(np.abs(cosines).argmax())
        if abs(cosines[best]) < _STEEP:
            return plane
        straight = np.sign(cosines[best]) * axes[best]
        self._snap = "square to an axis"
        middle = np.array(self._session.part_middle)
        foot = middle - float(plane.height(middle[None, :])[0]) * normal
        return Plane.through(foot, to_vector(straight))
