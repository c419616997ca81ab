"""A whole window on the rain hood, for measuring: who takes how long, and who holds up the rest."""

import os
import signal
import sys
import time
import traceback
from collections import defaultdict
from contextlib import contextmanager, suppress
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.output import save_stl
from tests.window.desk import Desk

SIZE = (1400, 900)


def application():
    """Return Qt's application."""
    return QApplication.instance() or QApplication([])


def hood(folder, triangles):
    """Return the file of a rain hood."""
    path = Path(folder) / f"hood{triangles}.stl"
    if not path.exists():
        save_stl(DEMO_PARTS["rain_hood"].make(triangles), path)
    return path


def whole_window(folder):
    """Return a window of the usual size."""
    application()
    desk = Desk(Path(folder) / "kept")
    desk.window.resize(*SIZE)
    return desk


class Clocks:
    """How long functions take, one time for each call, seconds."""

    def __init__(self):
        self.times = defaultdict(list)

    def watch(self, owner, name, title):
        """Time a method of a class from now on."""
        inner = getattr(owner, name)

        def timed(*arguments, **options):
            began = time.perf_counter()
            try:
                return inner(*arguments, **options)
            finally:
                self.times[title].append(time.perf_counter() - began)

        setattr(owner, name, timed)

    def sum(self, title):
        """Return what all calls took together."""
        return sum(self.times[title])


class Gaps:
    """The longest time during which the window does nothing else.

    Beside it, the longest processor time of its thread between two beats: without what other
    programs take on a busy machine, and without waiting.

    Parameters
    ----------
    explains : bool
        Write where the window is when it has been held up for too long; that takes time itself.
    """

    def __init__(self, explains=False):
        self.found = {}
        self._last = self._longest = self._last_own = self._own = 0.0
        self._timer = QTimer(interval=5)
        self._timer.timeout.connect(self._tick)
        self._explains = explains
        if explains:
            signal.signal(signal.SIGALRM, self._look)
            signal.setitimer(signal.ITIMER_REAL, 0.01, 0.01)

    def _tick(self):
        now, own = time.perf_counter(), time.thread_time()
        self._longest = max(self._longest, now - self._last)
        self._own = max(self._own, own - self._last_own)
        self._last, self._last_own = now, own

    @contextmanager
    def during(self, title):
        """Measure what happens in here."""
        self._last, self._longest = time.perf_counter(), 0.0
        self._last_own, self._own = time.thread_time(), 0.0
        self._timer.start()
        if self._explains:
            sys.stderr.write(f"== {title}\n")
        yield
        self._tick()
        self._timer.stop()
        self.found[title] = self._longest, self._own

    def _look(self, _, frame):
        held = time.perf_counter() - self._last
        if self._timer.isActive() and held > 0.03:
            where = traceback.extract_stack(frame)[-14:]
            text = " < ".join(f"{Path(f.filename).name}:{f.lineno} {f.name}" for f in where[::-1])
            sys.stderr.write(f"{1000 * held:4.0f} ms: {text}\n")


def memory_of(pid):
    """Return the resident memory of a process, MB."""
    for line in Path(f"/proc/{pid}/status").read_text("utf-8").splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return 0.0


def processor_of(pid):
    """Return the processor time of a process, s."""
    fields = Path(f"/proc/{pid}/stat").read_text("utf-8").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def processors_of(pids):
    """Return the processor time of those of some processes that are there, s."""
    found = 0.0
    for pid in pids:
        with suppress(OSError):
            found += processor_of(pid)
    return found


def family_of(pid):
    """Return a process and all that it started, by number."""
    found, parents = [pid], {}
    for each in Path("/proc").iterdir():
        if each.name.isdigit():
            try:
                fields = (each / "stat").read_text("utf-8").rsplit(")", 1)[1].split()
            except OSError:
                continue
            parents[int(each.name)] = int(fields[1])
    for one in found:
        found += [child for child, parent in parents.items() if parent == one]
    return found
