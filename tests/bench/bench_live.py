"""How soon changes are answered.

`python -m tests.bench.bench_live [--triangles 20000] [--window] [--glue]`.
The rain hood as in `bench_loaded_cells`. First the answers of a kept check by themselves, in
processor time; with --window also from the edit to the text that is shown, by the clock, in the
whole window with its real processes: nothing else should run meanwhile.
"""

import argparse
import os
import pickle
import sys
import tempfile
import time
from dataclasses import replace
from statistics import median

# Threads that wait for each other count as processor time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from PySide6.QtTest import QTest

from splitplanner.background.live_seams import KeptCells
from splitplanner.loaded.cells_check import check_uncut
from splitplanner.loaded.cells_model import condensed_plan
from splitplanner.plan import Screw, with_screw, without_brace, without_screw
from splitplanner.workshop import hardware_shelf
from tests.bench import whole_window as whole  # before the others: it says how to draw
from tests.bench.bench_loaded_cells import LIVE, LOADING, beside, hood

SHOWN, POSTED = 0.1, 0.005
"""What is promised: s from the edit to the text, and s of processor time for its message."""
CHECKED = 600.0
"""The check is over by then, however busy the machine, s."""


def edits(plan, plane):
    """Plans with a screw less, one more, another one elsewhere, and a brace less."""
    first = plan.joints[0]
    fewer = without_screw(plan, first.seam, 0)
    more = with_screw(plan, first.seam, beside(first, plane))
    yield "one screw less", fewer
    yield "one screw more", more
    for step in range(1, 5):
        yield "that screw 0.5 mm along", with_screw(fewer, first.seam, moved(first, step))
    yield "one brace less", without_brace(plan, plan.braces[0].name)
    yield "as it was", plan


def moved(joint, step):
    """The first screw some steps towards the second."""
    one, other = joint.screws[:2]
    way = [0.5 * step * (b - a) for a, b in zip(one.at, other.at, strict=True)]
    size = sum(each * each for each in way) ** 0.5 / (0.5 * step)
    at = tuple(a + each / size for a, each in zip(one.at, way, strict=True))
    return replace(one, at=at) if isinstance(one, Screw) else one


def answers(triangles, glue, write):
    """Answer by itself; return the longest, and how long its message takes, s."""
    shelf = hardware_shelf()
    division, plan, pieces, braces = hood(triangles, shelf, glue)
    uncut = check_uncut(division, plan, LOADING)
    plan = replace(plan, loadings=(LOADING,))
    found = condensed_plan(division, pieces, plan, shelf, LOADING, braces=braces)
    kept = KeptCells(found, LOADING.name, 1.0, uncut.sag, shelf)
    kept.told(plan, ())
    worst = posted = 0.0
    for what, other in edits(plan, found.sides[0].seam.plane):
        start = time.process_time()
        told = kept.told(other, ())
        took = time.process_time() - start
        start = time.process_time()
        letter = pickle.dumps((other, told))
        pickle.loads(letter)
        posted = max(posted, time.process_time() - start)
        worst = max(worst, took)
        stiff = f"{told.before.answer.stiffness:.0%} → {told.after.answer.stiffness:.0%}"
        write(f"{what}: {took:.3f} s, {len(letter) / 1e3:.0f} kB, {stiff}\n")
    return worst, posted, plan


class Stamps:
    """When an answer was asked for, and when its message came, in the worker's thread."""

    def __init__(self, jobs):
        self.asked = self.came = 0.0
        self._ask = jobs.ask
        jobs.ask = self.ask

    def ask(self, desk, task, *given, **hears):
        """Ask as ever."""
        start = time.perf_counter()
        job = self._ask(desk, task, *given, **hears)
        if task == "answer_seams":
            self.asked, inner = start, job.order.answered

            def answered(told):
                self.came = time.perf_counter()
                inner(told)

            job.order.answered = answered
        return job


def in_window(triangles, plan, write):
    """Edit in the whole window; return the median times of the answer and to the text, s."""
    with tempfile.TemporaryDirectory() as folder:
        desk = whole.whole_window(folder)
        try:
            desk.open(whole.hood(folder, triangles))
            session, link = desk.session, desk.window.live_link
            session.apply("plan", replace(plan, part=session.plan.part))
            desk.until(lambda: session.examined is not None)
            desk.window.selection.choose_load(LOADING.name)
            desk.window.cells_link.ask()
            started = time.perf_counter()
            while not link.is_answered:
                assert time.perf_counter() - started < CHECKED
                QTest.qWait(50)
            plane = session.division.seams[0].plane
            stamps, answers, times = Stamps(session.jobs), [], []
            for what, other in edits(session.plan, plane):
                desk.until(lambda: session.examined is not None)
                desk.idle()
                QTest.qWait(200)
                start = time.perf_counter()
                session.apply("edit", other)
                while not link.is_answered:
                    whole.application().processEvents()
                times.append(time.perf_counter() - start)
                answers.append(stamps.came - stamps.asked)
                asked = stamps.asked - start
                write(
                    f"{what}: asked {asked:.3f} s after, answered within {answers[-1]:.3f} s, "
                    f"shown {times[-1]:.3f} s after the edit\n"
                )
        finally:
            desk.close()
    return median(answers), median(times)


def main(write=sys.stdout.write):
    """Print what takes how long."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--triangles", type=int, default=20_000)
    parser.add_argument("--window", action="store_true")
    parser.add_argument("--glue", action="store_true", help="glue of 5 MPa holds every seam too")
    given = parser.parse_args()
    worst, posted, plan = answers(given.triangles, 5.0 if given.glue else 0.0, write)
    write(f"the longest answer: {worst:.3f} s of {LIVE} s; its message: {posted:.4f} s\n")
    if given.window:
        answer, shown = in_window(given.triangles, plan, write)
        write(f"answer with messages: {answer:.3f} s; edit to text: {shown:.3f} s of {SHOWN} s\n")
        assert shown < 2 * SHOWN
    assert worst < 2 * LIVE
    assert posted < POSTED


if __name__ == "__main__":
    main()
