"""A stage in a thread of its own, so that who asks for a large picture need not wait for it."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from splitplanner.output.camera import Camera
from splitplanner.viewport.bodies import Placed, Sheet, Wires
from splitplanner.viewport.stage import Stage

# Elsewhere a window, and be it one that is not shown, belongs to the first thread.
_HAS_THREAD = sys.platform == "linux"


@cache
def _thread() -> ThreadPoolExecutor:
    """Return the thread of all stages: each new one would keep memory that others have freed."""
    return ThreadPoolExecutor(1, thread_name_prefix="stage")


@dataclass(frozen=True, eq=False)
class Setting:
    """What is to be drawn; see `Stage`."""

    camera: Camera
    bodies: Sequence[Placed]
    kept: Sequence[Placed]
    sheets: Sequence[Sheet]
    wires: Sequence[Wires]
    paper: str
    ink: str
    line: float


@dataclass(frozen=True, eq=False)
class Drawn:
    """A picture (height, width, 4), and how long it took, seconds."""

    pixels: NDArray[np.uint8]
    took: float


class StageThread:
    """Draws settings, one after the other."""

    def __init__(self) -> None:
        self._pool = _thread() if _HAS_THREAD else None
        self._stage: Stage | None = None
        self._last: Future[Drawn] | None = None
        if self._pool is None:
            self._make()
        else:
            self._pool.submit(self._make).result()

    @property
    def is_busy(self) -> bool:
        """Whether a picture is being drawn."""
        return self._last is not None and not self._last.done()

    def draw(
        self, setting: Setting, patience: float | None, then: Callable[[Drawn], None]
    ) -> Drawn | None:
        """Return a picture; waits for one that is being drawn.

        Parameters
        ----------
        setting : Setting
        patience : float or None
            Seconds to wait; with None as long as it takes.
        then : callable
            Gets the picture, in the other thread, when it takes longer; None is returned then.
        """
        if self._pool is None:
            return self._draw(setting)
        self._last = self._pool.submit(self._draw, setting)
        try:
            return self._last.result(patience)
        except TimeoutError:
            self._last.add_done_callback(lambda done: then(done.result()))
            return None

    def draw_later(self, setting: Setting, then: Callable[[Drawn], None]) -> None:
        """Have a picture drawn, and then something done with it in the other thread."""
        if self._pool is None:
            then(self._draw(setting))
            return
        self._last = self._pool.submit(self._draw, setting)
        self._last.add_done_callback(lambda done: then(done.result()))

    def close(self) -> None:
        """Give back what the graphics driver holds, once the last picture is drawn."""
        if self._pool is None:
            self._end()
        else:
            self._pool.submit(self._end).result()

    def _make(self) -> None:
        self._stage = Stage()

    def _draw(self, setting: Setting) -> Drawn:
        assert self._stage is not None
        began = time.perf_counter()
        self._stage.show(setting.bodies, setting.kept)
        self._stage.show_flat(setting.sheets, setting.wires)
        pixels = self._stage.picture(
            setting.camera, paper=setting.paper, ink=setting.ink, line=setting.line
        )
        return Drawn(pixels, time.perf_counter() - began)

    def _end(self) -> None:
        if self._stage is not None:
            self._stage.close()
            self._stage = None
