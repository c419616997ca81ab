"""What runs in the second process of a search; see `splitplanner.suggest.second`."""

from __future__ import annotations

import os
import pickle
import signal
import sys
from typing import IO

from splitplanner.progress import silent
from splitplanner.solid import Solid
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.drafting import Drafter, light_drafter
from splitplanner.suggest.improving import Improver
from splitplanner.suggest.searching import improver_for
from splitplanner.suggest.second import Cuts, Setup
from splitplanner.suggest.standing_in import Standing


def main() -> None:
    """Answer tasks from standard input on standard output until there are no more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    # Whatever else is printed must not get in between.
    os.dup2(2, 1)
    tasks = sys.stdin.buffer
    setup: Setup = pickle.load(tasks)
    solid = Solid.reopened(setup.vertices, setup.faces)
    costs = Costs(setup.facts, setup.printer, setup.weights)
    standing = Standing(solid, setup.seen, setup.seen, 0.0)
    _serve(tasks, answers, improver_for(standing, costs), light_drafter(standing, costs))


def _serve(tasks: IO[bytes], answers: IO[bytes], improver: Improver, drafter: Drafter) -> None:
    while True:
        try:
            number, what, cuts = pickle.load(tasks)
        except EOFError:
            return
        answer = _slid(improver, cuts) if what == "slide" else drafter.ups(cuts)
        pickle.dump((number, answer), answers)
        answers.flush()


def _slid(improver: Improver, cuts: Cuts) -> Cuts | None:
    """Return the cuts of a plan, slid to where it scores least."""
    sketch = improver.grower.survey.sketch(cuts)
    if sketch is None:
        return None
    plan = improver.grower.survey.estimate(sketch)
    return improver.slid(plan, silent).sketch.cuts


if __name__ == "__main__":
    main()
