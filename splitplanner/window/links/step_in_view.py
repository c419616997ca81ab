"""The step of the assembly that the view shows: how far apart, and from where the part was seen."""

from __future__ import annotations

from splitplanner.viewport.turntable import Turntable
from splitplanner.window.view.part_view import PartView
from splitplanner.window.view.steps import ShownStep

_APART = 0.6
"""What moves is shown apart by this share of what is most, until it is changed."""


class StepInView:
    """A step that is shown in place of the whole part, or none.

    Attributes
    ----------
    shown : ShownStep or None
    spread : float
        By which share of what is most, 0 to 1, what moves in a step is pulled apart.
    """

    def __init__(self, view: PartView) -> None:
        self.shown: ShownStep | None = None
        self.spread = _APART
        self._view = view
        self._seen_from: tuple[Turntable, Turntable] | None = None

    def take(self, step: ShownStep | None) -> bool:
        """Take another step, or none; return whether steps begin or end with it."""
        was, self.shown = self.shown, step
        if was is None and step is not None:
            self._seen_from = self._view.turntable, self._view.turntable
        return (was is None) != (step is None)

    def fit_if_cut_off(self) -> None:
        """Bring everything into the picture if something has left it, and remember from where."""
        is_own = self._seen_from is not None and self._view.turntable == self._seen_from[1]
        self._view.fit_if_cut_off()
        if is_own and self._seen_from is not None:
            self._seen_from = self._seen_from[0], self._view.turntable

    def look_back(self) -> None:
        """Look from where the part was seen before the steps, unless the user has turned it."""
        if self._seen_from is None:
            return
        before, last = self._seen_from
        self._seen_from = None
        # Who has turned the view himself wants it so.
        if self._view.turntable == last:
            self._view.turn_to(before)
