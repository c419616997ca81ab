"""What runs in the second process of a search; see `splitplanner.suggest.second`."""

from __future__ import annotations

import ctypes
import gc
import math
import os
import select
import sys
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from typing import IO

from splitplanner.arrays import Bools
from splitplanner.child_processes import own_streams
from splitplanner.messages import receive, send
from splitplanner.plan import Cut, Vector
from splitplanner.progress import Report, silent
from splitplanner.score import Wishes, good_side
from splitplanner.solid import Plane, Solid
from splitplanner.strength import UnderLoads, WholeUnderLoad, under_loads
from splitplanner.suggest.bounds import LowerBound, lower_bound
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.improving import Improver
from splitplanner.suggest.judging import Judge, Verdict
from splitplanner.suggest.searching import grown, improver_for
from splitplanner.suggest.second import Cuts, Setup
from splitplanner.suggest.standing_in import Standing, lightened, standing_with
from splitplanner.suggest.wishing import Wishing, wishing_for
from splitplanner.workshop import Printer

_OFTEN = 0.1
"""Progress is told this often, s."""


@dataclass(eq=False)
class Bench:
    """Does the tasks; each is a method with the task's name.

    Attributes
    ----------
    setup : Setup
    report : progress callback
    """

    setup: Setup
    report: Report = silent
    standing: Standing | None = None
    seen: Bools | None = None
    under_load: tuple[WholeUnderLoad, ...] = ()

    def bound(self) -> LowerBound:
        """Return the least number of pieces that could do."""
        return lower_bound(self.setup.part, self.setup.printer.bed)

    def lighten(self) -> tuple[Solid, float]:
        """Return a solid with fewer triangles, and how far its surface may lie from the part's."""
        return lightened(self.setup.part, self.report)

    def see(self) -> None:
        """Find the good side, for `carry`."""
        self.seen = good_side(self.setup.part, self.setup.wishes, self.report)

    def carry(self, light: tuple[Solid, float]) -> Standing:
        """Return a stand-in, wherever it was made, with the good side that was found."""
        assert self.seen is not None
        return standing_with(self.setup.part, self.seen, *light)

    def stand(self, standing: Standing) -> None:
        """Take a stand-in that was made elsewhere."""
        self.standing = standing

    def load(self) -> UnderLoads:
        """Work out the stresses of the uncut part under its load cases, and what is wrong there."""
        return under_loads(self.setup.part, self.setup.loadings, self.setup.material, self.report)

    def bear(self, under_load: tuple[WholeUnderLoad, ...]) -> None:
        """Take stresses of the uncut part, wherever they were worked out, before plans are made."""
        self.under_load = under_load

    def prepare(self) -> None:
        """Grow plans as the first process does, which knows all that comes up there by then.

        So this one knows as much when it is asked to improve some of them.
        """
        grown(self._improver, self._wishing, report=self.report)

    def improve(self, cuts: Cuts, below: float) -> list[Cuts] | None:
        """Return the cuts of a plan slid to where it scores least, and these with one more cut.

        The latter only if it scores `below` that. None if the cuts do not divide the part.
        """
        survey = self._improver.grower.survey
        sketch = survey.sketch(cuts)
        if sketch is None:
            return None
        plan, further = self._improver.improved(survey.estimate(sketch), below, self.report)
        return [plan.sketch.cuts, *(sketch.cuts for sketch in further)]

    def judge(self, cuts: Cuts, ups: Mapping[str, Vector] | None) -> Verdict:
        """Cut a plan exactly and tell whether it is sound."""
        return self._judge.verdict(cuts, ups, self.report)

    @cached_property
    def _costs(self) -> Costs:
        setup = self.setup
        return Costs(setup.part, setup.printer, setup.weights, self.under_load)

    @cached_property
    def _judge(self) -> Judge:
        assert self.standing is not None
        return Judge(self.setup.part, self.standing, self._costs, self.setup.wishes)

    @cached_property
    def _improver(self) -> Improver:
        assert self.standing is not None
        return improver_for(self.standing, self._costs, self._wishing)

    @cached_property
    def _wishing(self) -> Wishing | None:
        assert self.standing is not None
        return wishing_for(self.setup.part, self.setup.wishes, self.standing.tolerance)


def main() -> None:
    """Answer tasks from standard input on standard output, one search after another.

    The process ends when nobody is left who could send something.
    """
    tasks, answers = own_streams()
    if not _is_awaited():
        _load_loops()
    with suppress(EOFError):
        while True:
            _serve(tasks, answers)
            _forget()
    # Whoever started this one waits for it, and taking down all that is loaded would take long.
    os._exit(0)


def _serve(tasks: IO[bytes], answers: IO[bytes]) -> None:
    """Do the tasks of one search, and say when it is over."""
    setup: Setup = receive(tasks)
    send(answers, (0, True, None))
    bench = Bench(setup)
    while (given := receive(tasks, [setup.part])) is not None:
        number, what, values = given
        bench.report = _now_and_then(answers, number)
        task: Callable[..., object] = getattr(bench, what)
        send(answers, (number, True, task(*values)), [setup.part])
    send(answers, None)


def _forget() -> None:
    """Give back the memory of the last search, while nobody waits."""
    gc.collect()
    # Where the system's allocator keeps what is free, it is told to give it back (glibc has this).
    with suppress(AttributeError, OSError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)


def _is_awaited() -> bool:
    """Return whether a search has begun already, or true where the system does not tell."""
    try:
        return bool(select.select([sys.stdin], [], [], 0.0)[0])
    except OSError:
        return True


def _load_loops() -> None:
    """Load the compiled loops before the first search needs them, by cutting a ring."""
    whole, gap = Solid.box((400.0, 150.0, 90.0)), Solid.box((300.0, 50.0, 90.0), (50.0, 50.0, 0.0))
    ring = whole.difference(gap)
    bench = Bench(Setup(ring, Printer(), {}, Wishes()))
    bench.see()
    bench.stand(bench.carry(bench.lighten()))
    cuts = (Cut(Plane((1.0, 0.0, 0.0), 195.0)), Cut(Plane((0.0, 1.0, 0.0), 75.0)))
    bench.improve(cuts, math.inf)
    bench.judge(cuts, None)


def _now_and_then(answers: IO[bytes], number: int) -> Report:
    """Return a report that tells the other process how far a task is, but not too often."""
    last = -_OFTEN

    def report(done: float, doing: str) -> None:
        nonlocal last
        if time.monotonic() - last >= _OFTEN:
            last = time.monotonic()
            send(answers, (number, False, (done, doing)))

    return report


if __name__ == "__main__":
    main()
