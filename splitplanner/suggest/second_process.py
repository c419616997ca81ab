"""What runs in the second process of a search; see `splitplanner.suggest.second`."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import IO

from splitplanner.plan import Vector
from splitplanner.progress import Report, silent
from splitplanner.suggest.bounds import LowerBound, lower_bound
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.improving import Improver
from splitplanner.suggest.judging import Judge, Verdict
from splitplanner.suggest.messages import receive, send
from splitplanner.suggest.searching import improver_for
from splitplanner.suggest.second import Cuts, Setup
from splitplanner.suggest.standing_in import Standing, stand_in_for
from splitplanner.suggest.wishing import wishing_for

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

    def bound(self) -> LowerBound:
        """Return the least number of pieces that could do."""
        return lower_bound(self.setup.part, self.setup.printer.bed)

    def look(self) -> Standing:
        """Find the good side and make a stand-in."""
        self.standing = stand_in_for(self.setup.part, self.setup.wishes, self.report)
        return self.standing

    def stand(self, standing: Standing) -> None:
        """Take a stand-in that was made elsewhere."""
        self.standing = standing

    def prepare(self) -> None:
        """Measure the stand-in, so that improving plans of it can begin at once."""
        survey = self._improver.grower.survey
        survey.estimate(survey.start)

    def improve(self, cuts: Cuts, fixed: int) -> list[Cuts] | None:
        """Return the cuts of a plan slid to where it scores least, and these with one more cut.

        The first `fixed` ones stay where they are. None if the cuts do not divide the part.
        """
        improver = replace(self._improver, fixed=fixed)
        survey = improver.grower.survey
        sketch = survey.sketch(cuts)
        if sketch is None:
            return None
        plan, further = improver.improved(survey.estimate(sketch), self.report)
        return [plan.sketch.cuts, *(sketch.cuts for sketch in further)]

    def judge(self, cuts: Cuts, ups: Mapping[str, Vector] | None) -> Verdict:
        """Cut a plan exactly and tell whether it is sound."""
        return self._judge.verdict(cuts, ups, self.report)

    @cached_property
    def _costs(self) -> Costs:
        return Costs(self.setup.part, self.setup.printer, self.setup.weights)

    @cached_property
    def _judge(self) -> Judge:
        assert self.standing is not None
        return Judge(self.setup.part, self.standing, self._costs, self.setup.wishes)

    @cached_property
    def _improver(self) -> Improver:
        assert self.standing is not None
        wishing = wishing_for(self.setup.part, self.setup.wishes, self.standing.tolerance)
        return improver_for(self.standing, self._costs, wishing)


def main() -> None:
    """Answer tasks from standard input on standard output until there are no more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    # Whatever else is printed must not get in between.
    os.dup2(2, 1)
    tasks = sys.stdin.buffer
    setup: Setup = receive(tasks)
    bench = Bench(setup)
    while True:
        try:
            number, what, given = receive(tasks, [setup.part])
        except EOFError:
            return
        bench.report = _now_and_then(answers, number)
        task: Callable[..., object] = getattr(bench, what)
        send(answers, (number, True, task(*given)), [setup.part])


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
