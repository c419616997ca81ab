"""How quick and steady the whole window is: `python -m tests.bench.bench_window [PART ...]`.

The window is 1400 x 900 pixels without a screen, drawn by software GL where there is no graphics
card, with its real helper processes. Nothing else should run meanwhile. Parts: drag, held-up, stop,
idle, start, leak.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest

from splitplanner.background.live_cut import LiveCut
from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.output import save_stl
from splitplanner.plan import Cut
from splitplanner.solid import Plane
from splitplanner.window.dialogs.export_dialog import ExportChoice
from splitplanner.window.dragging import Dragging
from splitplanner.window.links.chart_link import ChartLink
from splitplanner.window.links.tables_link import TablesLink
from splitplanner.window.links.view_link import ViewLink
from splitplanner.window.main_window import MainWindow
from splitplanner.window.view.part_view import PartView
from splitplanner.window.view.picture import PictureMaker
from tests.bench import whole_window as whole  # first of all: it says how to draw

MOVES = 200
WINDOWS = 50


def say(*cells):
    """Write a row of a table."""
    texts = [f"{cell:.1f}" if isinstance(cell, float) else str(cell) for cell in cells]
    sys.stdout.write("| " + " | ".join(texts) + " |\n")
    sys.stdout.flush()


def head(*cells):
    """Write the head of a table."""
    sys.stdout.write("\n")
    say(*cells)
    say(*["---"] * len(cells))


def cuts_of(part, count):
    """Return planes through a part: across its long side, and then one along it."""
    (low, *_), (high, *_) = part.bounds
    across = [
        Cut(Plane((1.0, 0.0, 0.0), float(low + (high - low) * share)))
        for share in (0.5, 0.25, 0.75)
    ]
    along = Cut(Plane((0.0, 1.0, 0.0), float(part.bounds[:, 1].mean())))
    return tuple([*across, along][:count])


# -- dragging -------------------------------------------------------------------------------
class Drag:
    """Moves the arrow of the first plane to and fro."""

    def __init__(self, desk):
        self.desk, self.view = desk, desk.view
        self.application = whole.application()

    def send(self, kind, place, held):
        """Post a mouse event."""
        moves = kind == QEvent.Type.MouseMove
        button = Qt.MouseButton.NoButton if moves else Qt.MouseButton.LeftButton
        event = QMouseEvent(
            kind, place, self.view.mapToGlobal(place), button, held, Qt.KeyboardModifier.NoModifier
        )
        self.application.postEvent(self.view, event)
        self.application.processEvents()

    def take(self):
        """Press the button on the arrow; return where, and which way it points."""
        foot, tip = self.desk.arrow(0)
        way = (tip - foot) / np.linalg.norm(tip - foot)
        start, left = 0.5 * (foot + tip), Qt.MouseButton.LeftButton
        self.send(QEvent.Type.MouseButtonPress, QPointF(*start), left)
        assert self.view.is_dragging, "the arrow was not taken"
        return start, way

    def drop(self, place):
        """Let go of it."""
        self.send(QEvent.Type.MouseButtonRelease, QPointF(*place), Qt.MouseButton.NoButton)

    def nudge(self):
        """Drag it a little."""
        start, way = self.take()
        for step in range(20):
            self.move(start + step * way)
            QTest.qWait(10)
        self.drop(start + 19 * way)

    def move(self, place):
        """Move the pointer."""
        self.send(QEvent.Type.MouseMove, QPointF(*place), Qt.MouseButton.LeftButton)

    def run(self, clocks):
        """Drag; return how long each frame took, seconds, and what it was for on average."""
        start, way = self.take()
        clocks.times.clear()
        own = time.thread_time()
        frames, painted = [], clocks.times["paint"]
        for move in range(MOVES):
            place = start + way * 60.0 * np.sin(2 * np.pi * (move + 1) / MOVES)
            began, before = time.perf_counter(), len(painted)
            self.move(place)
            # What has changed is painted a moment later, as it would be on a screen.
            while len(painted) == before:
                self.application.processEvents()
            frames.append(time.perf_counter() - began)
        shares = {title: clocks.sum(title) / MOVES for title in list(clocks.times)}
        shares["own"] = (time.thread_time() - own) / MOVES
        self.drop(start)
        return frames, shares


def drag(sizes, folder):
    """Measure dragging a plane."""
    clocks = whole.Clocks()
    clocks.watch(LiveCut, "at", "cut")
    clocks.watch(ViewLink, "_live", "show")
    clocks.watch(ViewLink, "_change", "planes")
    clocks.watch(ChartLink, "_on_live", "chart")
    clocks.watch(ChartLink, "_show_cuts", "chart")
    clocks.watch(TablesLink, "_show_cuts", "tables")
    clocks.watch(MainWindow, "_enable", "tables")
    clocks.watch(Dragging, "_figure", "figures")
    clocks.watch(PictureMaker, "image", "picture")
    clocks.watch(PartView, "paintEvent", "paint")
    head(
        "triangles", "cuts", "frame, ms: median", "95 %", "worst", "frames a second: median",
        "95 %", "mean ms: cut", "show", "paint", "of it picture", "chart and tables", "figures",
        "rest",
        "processor time of the window's thread",
    )  # fmt: skip
    for size in sizes:
        for count in (1, 4):
            desk = whole.whole_window(folder)
            desk.begin(whole.hood(folder, size))
            desk.drawn()
            desk.session.apply(
                "cut", replace(desk.session.plan, cuts=cuts_of(desk.session.part, count))
            )
            desk.window.selection.choose_cut(0)
            desk.settle()
            desk.idle()
            QTest.qWait(1000)
            frames, shares = Drag(desk).run(clocks)
            middle, slow, worst = np.percentile(1000 * np.array(frames), [50, 95, 100])
            of = {title: 1000 * share for title, share in shares.items()}
            show = of["show"] + of.get("planes", 0.0)
            tables = of.get("chart", 0.0) + of.get("tables", 0.0)
            rest = 1000 * np.mean(frames) - of["cut"] - show - of["paint"] - tables
            figures = of.get("figures", 0.0)
            say(
                len(desk.session.part.faces), count, middle, slow, worst, 1000 / middle,
                1000 / slow, of["cut"], show, of["paint"], of["picture"], tables, figures,
                rest - figures,
                of["own"],
            )  # fmt: skip
            desk.settle()
            desk.close()
            QTest.qWait(200)


# -- held up ----------------------------------------------------------------------------------
def held_up(sizes, folder, explains):
    """Measure for how long the window is held up while something goes on."""
    head("triangles", "the window is held up while", "at most, ms", "processor time of it, ms")
    for size in sizes:
        held_up_at(size, folder, explains)


def held_up_at(size, folder, explains):
    """Measure it at one size."""
    gaps = whole.Gaps(explains)
    desk = whole.whole_window(folder)
    desk.drawn()
    window, session = desk.window, desk.session
    path = whole.hood(folder, size)
    QTest.qWait(500)
    with gaps.during("a part is read, healed and shown"):
        desk.open(path)
        desk.idle()
        QTest.qWait(1000)
    with gaps.during("a plan of four cuts is examined"):
        session.apply("cut", replace(session.plan, cuts=cuts_of(session.part, 4)))
        desk.settle()
        desk.idle()
        QTest.qWait(1000)
    with gaps.during("a cut is dragged and let go"):
        window.selection.choose_cut(0)
        Drag(desk).nudge()
        desk.settle()
        desk.idle()
        QTest.qWait(1000)
    with gaps.during("proposals come in"):
        window.proposals_link.ask()
        desk.until(lambda: not session.proposing.is_on)
        desk.idle()
        QTest.qWait(500)
    with gaps.during("a proposal is looked at"):
        for proposal in window.proposals.proposals[:2]:
            window.proposals.previewed.emit(proposal)
            QTest.qWait(700)
        window.proposals.previewed.emit(None)
        QTest.qWait(700)
    with gaps.during("a proposal is accepted"):
        window.proposals.accepted.emit(window.proposals.proposals[0])
        desk.settle()
        desk.idle()
        QTest.qWait(1000)
    for name in ("overhang", "wall thickness"):
        with gaps.during(f"{name} is shown"):
            window.tools.faces.setCurrentText(name)
            desk.idle()
            QTest.qWait(1000)
    window.tools.faces.setCurrentIndex(0)
    with gaps.during("a step is undone"):
        session.document.undo()
        desk.settle()
        desk.idle()
        QTest.qWait(1000)
    with gaps.during("everything is exported"):
        done = len(desk.said)
        window.export.write(
            ExportChoice(
                Path(folder) / f"out{size}",
                pictures=True,
                stl=True,
                three_mf=True,
                overwrite=True,
            )
        )
        desk.until(lambda: any(text.startswith("Exported") for text in desk.said[done:]))
    for title, (longest, own) in gaps.found.items():
        say(len(session.part.faces), title, 1000 * longest, 1000 * own)
    say(
        len(session.part.faces),
        "memory of the window's process, MB",
        whole.memory_of(os.getpid()),
    )
    desk.close()
    QTest.qWait(200)


# -- stopping ---------------------------------------------------------------------------------
def stop(sizes, folder):
    """Measure how long stopping takes."""
    head(
        "triangles", "stopped while", "the window says so after, ms", "the next job answers, ms",
        "processor time of the process, ms"
    )  # fmt: skip
    for size in sizes:
        stop_at(size, folder)


def until_done(desk, job, share):
    """Wait until so much of a job is done, or all of it."""
    desk.until(lambda: job.done >= share or job.is_over)


def stop_at(size, folder):
    """Measure it at one size."""
    desk = whole.whole_window(folder)
    desk.drawn()
    session, jobs = desk.session, desk.session.jobs
    path = whole.hood(folder, size)

    def stopped(title, desk_name, job, stopping):
        pids = whole.family_of(jobs.process_of(desk_name))
        used = whole.processors_of(pids)
        began, answers = time.perf_counter(), []
        stopping()
        assert job.is_over
        QTest.qWait(1)
        said = time.perf_counter() - began
        jobs.ask(desk_name, "wait", 0.0, answered=lambda _: answers.append(1))
        desk.until(lambda: answers)
        after = time.perf_counter() - began
        QTest.qWait(300)
        left = whole.processors_of(pids) - used
        is_gone = any(not Path(f"/proc/{pid}").exists() for pid in pids)
        say(size, title, 1000 * said, 1000 * after, "ended" if is_gone else 1000 * left)

    desk.window.files._files.open(path)
    job = desk.window.files._files._reading
    for share in (0.02, 0.4, 0.7):
        until_done(desk, job, share)
        if job.is_over:
            break
        stopped(f"reading, {100 * job.done:.0f} % done", "examiner", job, partial(jobs.stop, job))
        desk.window.files._files.open(path)
        job = desk.window.files._files._reading
    desk.open(path)
    desk.idle()
    for share in (0.02, 0.3, 0.8):
        session.propose()
        job = session.proposing.job
        until_done(desk, job, share)
        stopped(f"proposing, {100 * job.done:.0f} % done", "searcher", job, session.proposing.stop)
    session.apply("cut", replace(session.plan, cuts=cuts_of(session.part, 4)))
    desk.settle()
    choice = ExportChoice(
        Path(folder) / "stopped", pictures=True, stl=True, three_mf=True, overwrite=True
    )
    for share in (0.02, 0.5, 0.9):
        desk.window.export.write(choice)
        job = desk.window.export._job
        until_done(desk, job, share)
        if job.is_over:
            break
        stopped(
            f"exporting, {100 * job.done:.0f} % done",
            "examiner",
            job,
            desk.window.export._stop,
        )
    desk.close()
    QTest.qWait(200)


# -- doing nothing ------------------------------------------------------------------------------
def idle(sizes, folder, seconds=10.0):
    """Measure the processor time of a window that nobody touches."""
    head("triangles", "share of a processor, %: window", "all its processes", "memory, MB: window",
         "all its processes")  # fmt: skip
    for size in sizes:
        desk = whole.whole_window(folder)
        desk.begin(whole.hood(folder, size))
        desk.idle()
        QTest.qWait(4000)
        pids = whole.family_of(os.getpid())
        before = [whole.processor_of(pid) for pid in pids]
        QTest.qWait(int(1000 * seconds))
        used = [whole.processor_of(pid) - b for pid, b in zip(pids, before, strict=True)]
        sizes_of = [whole.memory_of(pid) for pid in pids]
        say(size, 100 * used[0] / seconds, 100 * sum(used) / seconds, sizes_of[0], sum(sizes_of))
        desk.close()
        QTest.qWait(200)


# -- starting -----------------------------------------------------------------------------------
_STARTED = """
import sys, time
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
import splitplanner.window.application as application
inner = QApplication.exec
def told(*_):
    def when_idle():
        # The window is laid out, painted and takes events.
        print(time.time(), len(sys.modules), flush=True)
        QTimer.singleShot(0, QApplication.closeAllWindows)
    def look():
        windows = [w for w in QApplication.topLevelWidgets() if w.isWindow() and w.isVisible()]
        (QTimer.singleShot(0, when_idle) if windows else QTimer.singleShot(1, look))
    QTimer.singleShot(0, look)
    return inner()
QApplication.exec = told
sys.argv = ["splitplanner-window", "--settings", sys.argv[1]]
from splitplanner.window.start import main
sys.exit(main())
"""


def start(folder, times=7):
    """Measure how long it takes until the window is there."""
    took = []
    for _ in range(times):
        began = time.time()
        done = subprocess.run(
            [sys.executable, "-c", _STARTED, str(folder)],
            capture_output=True,
            encoding="utf-8",
            check=True,
        )
        took.append(float(done.stdout.split()[0]) - began)
    head("", "s")
    say(
        "from the start of the process until the window takes events, median",
        f"{np.median(took):.2f}",
    )
    say("slowest", f"{max(took):.2f}")
    say("modules loaded", int(done.stdout.split()[1]))


# -- opened and closed --------------------------------------------------------------------------
def leak(folder):
    """Measure what windows leave behind."""
    path = Path(folder) / "small.stl"
    save_stl(DEMO_PARTS["rain_hood"].make(2_000), path)
    sizes = []
    for _ in range(WINDOWS):
        desk = whole.whole_window(folder)
        desk.open(path)
        desk.drawn()
        desk.idle()
        desk.close()
        del desk
        QTest.qWait(50)
        whole.application().sendPostedEvents(None, QEvent.Type.DeferredDelete)
        sizes.append(whole.memory_of(os.getpid()))
    head("", "MB")
    say("after the first window", sizes[0])
    say("after ten", sizes[9])
    say(f"after {WINDOWS}", sizes[-1])
    say("a window, over the last forty", f"{(sizes[-1] - sizes[9]) / (WINDOWS - 10):.2f}")


def main():
    """Measure what is asked for."""
    parser = argparse.ArgumentParser()
    parts = ("drag", "held-up", "stop", "idle", "start", "leak")
    parser.add_argument("parts", nargs="*", choices=[[], *parts])
    parser.add_argument("--triangles", nargs="+", type=int, default=[130_000, 520_000])
    parser.add_argument("--explain", action="store_true", help="say what holds up the window")
    parser.add_argument("--folder", type=Path, help="keep models here between runs")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = asked.folder or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        for part in asked.parts or parts:
            if part == "drag":
                drag(asked.triangles, folder)
            elif part == "held-up":
                held_up(asked.triangles, folder, asked.explain)
            elif part == "stop":
                stop(asked.triangles, folder)
            elif part == "idle":
                idle(asked.triangles, folder)
            elif part == "start":
                start(folder)
            else:
                leak(folder)


if __name__ == "__main__":
    main()
