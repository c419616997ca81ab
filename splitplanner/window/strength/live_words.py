"""What a kept check by cells answers, in words: before and after a change."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.background.live_told import LiveState, LiveTold
from splitplanner.loaded import percent_words
from splitplanner.loaded.wording import named
from splitplanner.window.lists.lines import Shown
from splitplanner.window.lists.tables import NOTHING, Column, Figure
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.flat import letter

if TYPE_CHECKING:
    from splitplanner.loaded.cells_values import SeamInCells

BOUND = "hand: lower bound"


def changed(before: str, after: str) -> str:
    """Return a figure before and after; once where it reads the same, or was not known."""
    if before in ("", after):
        return after
    figure, _, unit = before.rpartition(" ")
    # The unit is read once.
    is_alike = bool(figure) and after.rpartition(" ")[2] == unit
    return f"{figure if is_alike else before} → {after}"


def force_words(newton: float, q: Quantities) -> str:
    """Return a force, N; small ones to a tenth."""
    return f"{q.number(newton, 1 if newton < 10.0 else 0)} N"


@dataclass(frozen=True, eq=False)
class LiveSeamRow:
    """A seam before and after.

    Attributes
    ----------
    key : str
        Its name.
    before : SeamInCells or None
        As it was checked.
    after : SeamInCells
    by_hand : (n,) float array
        Of each screw after, how many times what the hand formula gives it; NaN where that is
        nothing.
    """

    key: str
    before: SeamInCells | None
    after: SeamInCells
    by_hand: Floats

    @property
    def worst(self) -> int:
        """Which screw is pulled most after; -1 without screws."""
        return int(np.argmax(self.after.screws)) if len(self.after.screws) else -1


def live_rows(told: LiveTold) -> list[LiveSeamRow]:
    """Return a row for each seam."""
    before = told.before
    return [
        LiveSeamRow(
            each.seam,
            None if before is None else before.seam(each.seam),
            each,
            told.after.by_hand[each.seam],
        )
        for each in told.after.answer.seams
    ]


def pull_words(row: LiveSeamRow, q: Quantities) -> str:
    """Return the largest pull in a screw before and after, and in which."""
    most = row.worst
    if most < 0:
        return "no screws"
    pulls = None if row.before is None else row.before.screws
    before = "" if pulls is None or not len(pulls) else force_words(float(pulls.max()), q)
    after = force_words(float(row.after.screws[most]), q)
    return f"{changed(before, after)} in {letter(most)}"


def by_hand_words(row: LiveSeamRow, q: Quantities) -> str:
    """Return how many times the hand figure that is; empty where that knows nothing of it."""
    most = row.worst
    if most < 0:
        return ""
    times = float(row.by_hand[most])
    if math.isnan(times):
        return "0 N by hand" if row.after.screws[most] > 0.0 else ""
    return f"{q.number(times, 2)} × by hand"


def gap_words(row: LiveSeamRow, q: Quantities) -> str:
    """Return how far a seam gapes before and after."""
    before = "" if row.before is None else q.length(row.before.opening, 2)
    return changed(before, q.length(row.after.opening, 2))


def stiffness_words(told: LiveTold) -> str:
    """Return the stiffness beside the uncut part before and after."""
    before = "" if told.before is None else _stiffness(told.before)
    return changed(before, _stiffness(told.after))


def _stiffness(state: LiveState) -> str:
    share = state.answer.stiffness
    return NOTHING if share is None else percent_words(share)


def brace_lines(told: LiveTold, q: Quantities) -> list[str]:
    """Return the stress in every brace before and after; those that are gone carry nothing."""
    lines = []
    old = () if told.before is None else told.before.answer.braces
    names = dict.fromkeys(each.brace for each in (*old, *told.after.answer.braces))
    for name in names:
        before = None if told.before is None else told.before.brace(name)
        after = told.after.brace(name)
        first = "" if before is None else q.number(before.stress)
        last = "not there" if after is None else q.number(after.stress)
        known = after or before
        proof = "" if known is None else f" of {q.number(known.proof)} MPa"
        text = f"{changed(first, last)}{proof}" if after is not None else f"{first}{proof} → {last}"
        lines.append(f"{named('brace', name)} {text}")
    return lines


def headline(told: LiveTold, left_out: frozenset[str], q: Quantities) -> str:
    """Return the answer in a sentence or two, relative figures first."""
    names = sorted(each for each in left_out if told.after.brace(each) is None)
    without = f", without {' and '.join(named('brace', each) for each in names)}" if names else ""
    said = f"“{told.load}”{without}: {stiffness_words(told)} as stiff as printed in one."
    braces = brace_lines(told, q)
    if braces:
        text = "; ".join(braces)
        said += f" Stress in {text}."
    return said


def seam_line(told: LiveTold, row: LiveSeamRow, q: Quantities) -> str:
    """Return what is told of one seam below its plan."""
    by_hand = by_hand_words(row, q)
    pull = f"largest pull {pull_words(row, q)}" if row.worst >= 0 else "no screws"
    parts = (
        pull + (f", {by_hand}, a lower bound" if by_hand else ""),
        f"widest gap {gap_words(row, q)}",
        f"stiffness {stiffness_words(told)} of the uncut",
    )
    return f"By cells, “{told.load}”: {'; '.join(parts)}."


def _pulls(row: LiveSeamRow, q: Quantities) -> Shown:
    if not len(row.after.screws):
        return Shown("no screws", faint=True)
    return Shown(", ".join(q.number(each) for each in row.after.screws.tolist()) + " N")


def _factors(row: LiveSeamRow, q: Quantities) -> Shown:
    if not len(row.by_hand):
        return Shown("")
    times = ", ".join(q.number(each, 1) for each in row.by_hand.tolist())
    return Shown(f"{times} × by hand", faint=True)


def _gaping(row: LiveSeamRow, q: Quantities) -> Shown:
    before = "" if row.before is None else q.share(row.before.gaping)
    return Shown(f"{changed(before, q.share(row.after.gaping))} open", faint=True)


LIVE_COLUMNS = (
    Column("Seam", (Figure("seam", lambda row, _: Shown(row.key)),), 7, right=False),
    Column(
        "Gap\nopen",
        (
            Figure("cells opening", lambda row, q: Shown(gap_words(row, q))),
            Figure("cells gaping", _gaping),
        ),
        13,
    ),
    Column(
        f"Largest pull\n{BOUND}",
        (
            Figure("live pull", lambda row, q: Shown(pull_words(row, q))),
            Figure("live by hand", lambda row, q: Shown(by_hand_words(row, q), faint=True)),
        ),
        19,
        right=False,
    ),
    Column(
        "Pull in each screw\nbeside the hand figure",
        (Figure("cells screws", _pulls), Figure("live factors", _factors)),
        12,
        right=False,
        stretches=True,
    ),
)
