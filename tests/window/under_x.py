"""Drags a cut with a real pointer on a real X server, and saves the plan by keys.

``python -m tests.window.under_x`` starts an X server that shows nothing (Xvfb), the program in it,
and moves pointer and keys from outside (xdotool). It says in a sentence how it went; the exit code
is 0 if all went well. No test of pytest's: those have no X server.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from splitplanner.plan import load_plan
from tests.planned import box, save

LENGTH = 430.0
SCREEN = "1280x800x24"
PATIENCE = 120.0
"""Nothing takes longer than this, s."""
NEAR = 0.5
"""So well has the cut to be where it was dragged to, mm."""
PIXELS = 70.0
"""So far is the cut dragged."""
REST = 0.6
"""What has not changed for so long has come to rest, s."""


class Failed(Exception):
    """Something did not go as it should."""


class Screen:
    """The program on an X server, and hands that move pointer and keys.

    Parameters
    ----------
    display : str
    program : Popen
    report : Path
        What the program writes of itself; see `splitplanner.window.report`.
    """

    def __init__(self, display: str, program: subprocess.Popen[bytes], report: Path) -> None:
        self._environment = {**os.environ, "DISPLAY": display}
        self._program, self._report = program, report

    def xdotool(self, *words: object) -> str:
        """Do something with pointer or keys."""
        done = subprocess.run(
            ["xdotool", *map(str, words)],
            env=self._environment, capture_output=True, encoding="utf-8", check=False,
        )  # fmt: skip
        return done.stdout.strip()

    def keys(self, *keys: str) -> None:
        """Press keys one after the other."""
        self.xdotool("key", "--delay", 40, *keys)

    def state(self) -> dict:
        """Return what the program told last of itself."""
        if not self._report.exists():
            return {}
        lines = self._report.read_text(encoding="utf-8").rpartition("\n")[0].splitlines()
        return json.loads(lines[-1]) if lines else {}

    def until(self, what: str, is_true: Callable[[], object]) -> None:
        """Wait for something."""
        begun = time.monotonic()
        while not is_true():
            if self._program.poll() is not None:
                raise Failed(f"The program ended ({self._program.returncode}) before {what}.")
            if time.monotonic() - begun > PATIENCE:
                raise Failed(f"Waited {PATIENCE:g} s in vain: {what}. Last state: {self.state()}")
            time.sleep(0.05)

    def rest(self, what: str, is_true: Callable[[dict], object] = lambda _: True) -> dict:
        """Wait until something is true and nothing changes any more; return the state then."""
        last, since = {}, time.monotonic()

        def rests() -> bool:
            nonlocal last, since
            now = self.state()
            if now != last:
                last, since = now, time.monotonic()
            is_ready = bool(now.get("is_ready")) and bool(is_true(now))
            return is_ready and time.monotonic() - since > REST

        self.until(what, rests)
        return last

    def focus(self, title: str) -> None:
        """Give the keys to a window, as no window manager does."""
        found = ""

        def is_there() -> bool:
            nonlocal found
            found = self.xdotool("search", "--onlyvisible", "--name", title).partition("\n")[0]
            return bool(found)

        self.until(f"a window called {title} is there", is_there)
        self.xdotool("windowfocus", "--sync", found)

    def drag(self, start: np.ndarray, end: np.ndarray) -> None:
        """Move the pointer from place to place with the left button down."""
        self.xdotool("mousemove", *start.astype(int))
        self.xdotool("mousedown", 1)
        for place in np.linspace(start, end, 16)[1:]:
            self.xdotool("mousemove", *place.round().astype(int))
            time.sleep(0.02)
        self.xdotool("mouseup", 1)


def go_through(screen: Screen, folder: Path) -> float:
    """Drag a cut and save the plan; return by how many mm it is beside where it was dragged."""
    screen.rest("the part is read", lambda now: now["box"])
    screen.focus("long")
    screen.keys("ctrl+k")
    state = screen.rest("a cut is added", lambda now: len(now["cuts"]) == 1)
    # A click gives the keys to the view; then from the front, without perspective.
    middle = np.mean([corner["seen"] for corner in state["box"]], axis=0).round().astype(int)
    screen.xdotool("mousemove", *middle, "click", 1)
    screen.keys("1", "p")
    before = screen.rest("the part is seen from the front", lambda now: is_flat(now["box"]))
    foot, tip = np.array(before["cuts"][0]["arrow"])
    grabbed = ((foot + tip) / 2).round()
    dropped = grabbed + np.array([PIXELS, 0.0])
    screen.drag(grabbed, dropped)
    after = screen.rest("the cut is dragged", lambda now: offset(now) != offset(before))
    wanted = offset(before) + PIXELS * mm_per_pixel(before["box"])
    plan = folder / "dragged.json"
    screen.keys("ctrl+s")
    screen.focus("Save the plan")
    screen.keys("ctrl+a")
    screen.xdotool("type", "--delay", 15, plan)
    screen.keys("Return")
    screen.until("the plan is saved", plan.is_file)
    (cut,) = load_plan(plan).cuts
    saved = cut.plane.offset * cut.plane.normal[0]
    if saved != offset(after):
        raise Failed(f"The cut was shown at {offset(after)} mm but saved at {saved} mm.")
    screen.rest("the plan counts as saved")
    screen.focus("dragged")
    screen.keys("ctrl+q")
    return abs(saved - wanted)


def offset(state: dict) -> float:
    """Return where the cut is along x, mm."""
    (cut,) = state["cuts"]
    return cut["offset"] * cut["normal"][0]


def is_flat(corners: list[dict]) -> bool:
    """Return whether corners behind each other are seen at one place: no perspective."""
    seen: dict[tuple[float, float], list[list[float]]] = {}
    for corner in corners:
        x, _, z = corner["at"]
        seen.setdefault((x, z), []).append(corner["seen"])
    return all(np.ptp(places, axis=0).max() < 0.1 for places in seen.values())


def mm_per_pixel(corners: list[dict]) -> float:
    """Return how long a pixel is at the part, from the part's own length."""
    at = np.array([corner["at"] for corner in corners])
    seen = np.array([corner["seen"] for corner in corners])
    return float(np.ptp(at[:, 0]) / np.ptp(seen[:, 0]))


@contextmanager
def x_server() -> Iterator[str]:
    """Start an X server on a free display; yield the display's name."""
    told, tells = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(tells), "-screen", "0", SCREEN, "-nolisten", "tcp"],
        pass_fds=[tells], stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.close(tells)
    try:
        with os.fdopen(told) as stream:
            number = stream.readline().strip()
        if not number:
            raise Failed("Xvfb did not start.")
        yield f":{number}"
    finally:
        server.terminate()
        server.wait()


@contextmanager
def program(display: str, model: Path, folder: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Start the program on a display; at the end nothing of it is left."""
    environment = {**os.environ, "DISPLAY": display, "QT_QPA_PLATFORM": "xcb"}
    environment.pop("WAYLAND_DISPLAY", None)
    started = subprocess.Popen(
        [sys.executable, "-m", "splitplanner.window.start", str(model),
         "--settings", str(folder / "kept"), "--report", str(folder / "report")],
        env=environment,
    )  # fmt: skip
    try:
        yield started
    finally:
        if started.poll() is None:
            started.terminate()
            started.wait()


def tell(text: str) -> None:
    """Say how it went."""
    sys.stdout.write(f"{text}\n")


def main() -> int:
    """Go through it; return the exit code."""
    missing = [name for name in ("Xvfb", "xdotool") if shutil.which(name) is None]
    if missing:
        tell(f"Missing: {' and '.join(missing)}; install the packages xvfb and xdotool.")
        return 1
    try:
        with tempfile.TemporaryDirectory() as place, x_server() as display:
            folder = Path(place)
            model = save(box((LENGTH, 100.0, 80.0)), folder / "long.stl")
            with program(display, model, folder) as started:
                away = go_through(Screen(display, started, folder / "report"), folder)
                code = started.wait(PATIENCE)
        if away > NEAR:
            raise Failed(f"The cut is {away:.2f} mm beside where it was dragged.")
        if code != 0:
            raise Failed(f"The program ended with {code} when it was closed.")
    except (Failed, subprocess.TimeoutExpired) as fault:
        tell(str(fault))
        return 1
    tell(f"Under X a cut was dragged, to {away:.2f} mm, saved by keys, and the window closed.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
