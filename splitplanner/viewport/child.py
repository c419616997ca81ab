"""Drawing in a process of its own: without a usable GL, VTK ends the process it runs in."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import sys
import time
from collections.abc import Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from splitplanner.child_processes import ctrl_c_waits
from splitplanner.errors import SplitPlannerError
from splitplanner.findings import Finding, Severity
from splitplanner.output.scene import Scene
from splitplanner.progress import Report, silent
from splitplanner.viewport.drawing import draw
from splitplanner.viewport.gl import GL_CHOICE

_BEAT = 1.0
"""The user hears something at least this often, seconds."""
_PATIENCE = 300.0
"""A child that says nothing for so long has hung, seconds."""

Scenes = Sequence[tuple[Path, Scene]]


def draw_in_child(
    scenes: Scenes, report: Report = silent, patience: float = _PATIENCE
) -> tuple[Finding, ...]:
    """Draw scenes as `draw` does, in a child process that may die without harm.

    Parameters
    ----------
    scenes : sequence of (path, Scene)
    report : progress callback
        Called at least once a second. If it raises, the child is ended and the exception goes on.
    patience : float
        A child that says nothing for so long is taken as dead, seconds.

    Returns
    -------
    tuple of Finding
        Empty when all pictures were drawn, else one warning ``pictures.not_drawn``.

    Raises
    ------
    ExportError
        If a picture was drawn but its file cannot be written.
    """
    if not scenes:
        return ()
    report(0.0, "starting to draw the pictures")
    drawn, why = 0, ""
    for choice in _gl_choices():
        share, why = _attempt(scenes, choice, report, patience)
        drawn = max(drawn, round(share * len(scenes)))
        if not why:
            return ()
    return (_not_drawn(drawn, len(scenes), why),)


def _gl_choices() -> tuple[str | None, ...]:
    """Return the kinds of GL window to try in turn; None leaves it to VTK."""
    if sys.platform != "linux" or os.environ.get(GL_CHOICE):
        return (None,)
    return ("vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow")


def _attempt(
    scenes: Scenes, choice: str | None, report: Report, patience: float
) -> tuple[float, str]:
    """Return the share of pictures that were drawn, and why no more; empty when all were."""
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    child = context.Process(target=_child, args=(list(scenes), choice, theirs), daemon=True)
    with ctrl_c_waits():
        child.start()
    theirs.close()
    try:
        return _listen(ours, child, report, patience)
    finally:
        if child.is_alive():
            child.terminate()
        child.join(5.0)
        if child.is_alive():
            child.kill()
            child.join()
        ours.close()


def _listen(ours: Connection, child: Any, report: Report, patience: float) -> tuple[float, str]:
    """Relay what the child says until it has finished or died."""
    done, doing = 0.0, "starting to draw the pictures"
    heard = time.monotonic()
    while True:
        if not ours.poll(_BEAT):
            if time.monotonic() - heard > patience:
                return done, "the drawing hung"
            report(done, doing)
            continue
        try:
            kind, content = ours.recv()
        except (EOFError, OSError):
            child.join(5.0)
            return done, f"the drawing process ended with code {child.exitcode}"
        heard = time.monotonic()
        if kind == "finished":
            return 1.0, ""
        if kind == "refused":
            raise content
        if kind == "failed":
            return done, str(content)
        done, doing = content
        report(done, doing)


def _child(scenes: list[tuple[Path, Scene]], choice: str | None, theirs: Connection) -> None:
    """Draw, and tell the parent how it goes."""
    if choice is not None:
        os.environ[GL_CHOICE] = choice
    # What VTK and the GL say before they give up is no use to the user, who gets one sentence.
    with contextlib.suppress(OSError):
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 2)
        os.close(quiet)
    try:
        draw(scenes, lambda done, doing: theirs.send(("progress", (done, doing))))
        theirs.send(("finished", None))
    except SplitPlannerError as fault:
        theirs.send(("refused", fault))
    except Exception as fault:  # noqa: BLE001 - the border of the process: all is told the parent
        theirs.send(("failed", f"{type(fault).__name__}: {fault}"))
    finally:
        theirs.close()


def _not_drawn(drawn: int, wanted: int, why: str) -> Finding:
    remedy = (
        "on Debian or Ubuntu install libegl1, libgl1 and libgl1-mesa-dri, then run it again"
        if sys.platform == "linux"
        else "update the graphics driver, then run it again"
    )
    return Finding(
        "pictures.not_drawn",
        Severity.WARNING,
        f"{wanted - drawn} of {wanted} pictures were not drawn ({why}), all other files were "
        f"written; {remedy}.",
        measured=float(drawn),
        allowed=float(wanted),
        unit="1",
    )
