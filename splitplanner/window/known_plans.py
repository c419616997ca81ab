"""Plans that have been examined, so that a step back shows at once what was known."""

from __future__ import annotations

from splitplanner.background.examined import Examined
from splitplanner.plan import Division, Plan
from splitplanner.score import Figures, Wishes

Known = tuple[Division, Figures, Examined]
_MOST = 6
"""Each holds the pieces of one plan."""


class KnownPlans:
    """The plans that were examined last, and what was found out about them."""

    def __init__(self) -> None:
        self._known: list[tuple[Plan, Wishes, Known]] = []

    def of(self, plan: Plan, wishes: Wishes) -> Known | None:
        """Return what is known of a plan under some wishes."""
        for entry in self._known:
            if entry[:2] == (plan, wishes):
                self._known.remove(entry)
                self._known.append(entry)
                return entry[2]
        return None

    def add(self, plan: Plan, wishes: Wishes, known: Known) -> None:
        """Take note of what is known of a plan under some wishes."""
        self._known = [entry for entry in self._known if entry[:2] != (plan, wishes)]
        self._known.append((plan, wishes, known))
        del self._known[:-_MOST]

    def clear(self) -> None:
        """Forget all."""
        self._known.clear()
