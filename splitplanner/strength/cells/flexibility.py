"""How gaps move by forces in each other: a table that grows by a few gaps at a time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from splitplanner.arrays import Floats


@dataclass(frozen=True, eq=False)
class NewGaps:
    """Gaps that are to stand behind the r that are known, and how all of it moves by them.

    Attributes
    ----------
    gaps : sparse (t, f) array
    rigid : (t, 6 p) float array
        By the ways in which pieces move without bending.
    across : (r + w + a, t) float array, mm/N
        How what is known moves by unit forces in the new ones.
    own : (t, t) float array, mm/N
        How they move by those themselves.
    loaded : (t,) float array, mm
        And by the load.
    """

    gaps: Any
    rigid: Floats
    across: Floats
    own: Floats
    loaded: Floats


class Flexibility:
    """A symmetric table of flexibilities, mm/N, put together when it is first asked for.

    It may be large, and who has taken glue in needs what is new of it alone.
    """

    def __init__(self, whole: Floats) -> None:
        self._whole: Floats | None = whole
        self._before: tuple[Flexibility, int, NewGaps] | None = None

    def grown(self, at: int, new: NewGaps) -> Flexibility:
        """Return it with rows and columns of new gaps, which begin at `at`."""
        found = Flexibility(np.empty((0, 0)))
        found._whole, found._before = None, (self, at, new)
        return found

    @property
    def whole(self) -> Floats:
        """The table, (n, n), symmetric; not to be written to."""
        if self._whole is None:
            assert self._before is not None
            before, at, new = self._before
            known, first, last = before.whole, new.across[:at], new.across[at:]
            self._whole = np.block(
                [
                    [known[:at, :at], first, known[:at, at:]],
                    [first.T, new.own, last.T],
                    [known[at:, :at], last, known[at:, at:]],
                ]
            )
            self._whole.setflags(write=False)
            self._before = None
        return self._whole
