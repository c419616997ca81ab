"""The picture behind everything in the view: when it is drawn, of what, and how finely."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage

from splitplanner.output.camera import Camera
from splitplanner.viewport.bodies import Mesh, Placed, Sheet, Wires
from splitplanner.viewport.gl import gl_works
from splitplanner.viewport.stage_thread import Setting
from splitplanner.window.view.values import ShownBody

if TYPE_CHECKING:
    from splitplanner.viewport.stage_thread import Drawn, StageThread

_QUICK = 0.014
"""While something moves a picture should take no longer, seconds."""
_SCALES = (1.0, 0.8, 0.65, 0.5)
"""Pictures are drawn with so many pixels for each logical pixel while something moves."""
_MOST_PIXELS = 6_000_000
"""What rests is drawn with no more."""
_ABLE = 0.012
"""What draws all bodies in this many seconds also draws four pixels for each."""
_PATIENCE = 0.03
"""For a large picture of what moves the window waits so long; then it comes later, seconds."""
_LARGE = 60_000
"""For more triangles nobody waits, unless something moves."""
_HEAVY = 200_000
"""More triangles are not drawn while the view moves, if a light stand-in is there."""


class PictureMaker(QObject):
    """Draws what stands in the view, once the GL has been tried and VTK is loaded.

    Parameters
    ----------
    check : callable
        Returns why nothing can be drawn, or an empty text; see `gl_works`.
    """

    loaded = Signal()
    """From now on pictures are drawn, or `fault` says why they are not."""
    drawn = Signal(QImage, bool)
    """A picture that took so long that nobody waited for it, and whether it was of a move."""
    edges_found = Signal()
    """Sharp edges that were missing can be drawn now."""
    _tried = Signal(str)
    _finished = Signal(object, bool, bool, float)

    def __init__(self, check: Callable[[], str] = gl_works, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.fault = ""
        self._check = check
        self._stage: StageThread | None = None
        self.is_asked = self._is_over = False
        self._tried.connect(self._load)
        self._finished.connect(self._hand_over)
        self._meshes: dict[tuple[int, int], Mesh] = {}
        self._full: tuple[Placed, ...] = ()
        self._stand_ins: tuple[Placed, ...] = ()
        self._light: tuple[Placed, ...] | None = None
        self._flat: tuple[Sequence[Sheet], Sequence[Wires]] = ((), ())
        self._took: dict[str, float] = {}
        self._scale = 1.0
        self._drawn: set[Mesh] = set()

    @property
    def full(self) -> tuple[Placed, ...]:
        """All bodies as they are, in order."""
        return self._full

    @property
    def is_ready(self) -> bool:
        """Whether a picture can be had at once."""
        return self._stage is not None and not self._stage.is_busy

    def show(self, bodies: Sequence[ShownBody]) -> None:
        """Show bodies in full."""
        self._full = tuple(self._placed(body, has_edges=True) for body in bodies)
        self._forget()
        if not all(body.mesh.knows_edges for body in self._full):
            # Not a thread of its own, for the start of which the window would wait.
            _finder().submit(self._find_edges, self._full)

    def stand_in(self, bodies: Sequence[ShownBody]) -> None:
        """Keep bodies that are drawn in place of heavy ones while the view moves."""
        self._stand_ins = tuple(self._placed(body, has_edges=False) for body in bodies)
        self._forget()

    def show_light(self, bodies: Sequence[ShownBody] | None) -> None:
        """Show other bodies instead, until None."""
        found = None
        if bodies is not None:
            found = tuple(self._placed(body, has_edges=False) for body in bodies)
        self._light = found
        self._forget()

    def show_flat(self, sheets: Sequence[Sheet], wires: Sequence[Wires]) -> None:
        """Show sheets and lines."""
        self._flat = (sheets, wires)

    def load(self) -> None:
        """Begin to get ready, in a thread, for it takes a second or two."""
        if not self.is_asked:
            self.is_asked = True
            # No daemon: one that is cut off in the midst of loading takes the whole program down.
            threading.Thread(target=self._try, name="loads VTK").start()

    def image(
        self, camera: Camera, ratio: float, is_moving: bool, paper: str, ink: str
    ) -> QImage | None:
        """Return a picture; None if it comes later by `drawn`, or none can be had yet.

        Parameters
        ----------
        camera : Camera
            Its size is in logical pixels.
        ratio : float
            Pixels of the screen for each.
        is_moving : bool
            Draw as quickly as can be.
        paper, ink : str
        """
        if self._stage is None:
            return None
        bodies = self._chosen(is_moving)
        scale = self._scale_for(camera, ratio, is_moving)
        size = max(1, round(scale * camera.size[0])), max(1, round(scale * camera.size[1]))
        setting = Setting(
            replace(camera, size=size),
            [replace(b, has_edges=b.has_edges and b.mesh.knows_edges) for b in bodies],
            (*self._full, *self._stand_ins),
            *self._flat,
            paper,
            ink,
            max(1.0, 1.2 * scale),
        )
        is_full = bodies is self._full
        is_large = _is_large(bodies)

        def later(drawn: Drawn) -> None:
            self._tell(drawn, is_full, is_moving, scale)

        if is_large and not is_moving:
            self._stage.draw_later(setting, later)
            return None
        drawn = self._stage.draw(setting, self._patience(bodies), later)
        return None if drawn is None else self._finish(drawn, is_full, is_moving, scale)

    def _patience(self, bodies: Sequence[Placed]) -> float | None:
        """Return how long to wait for a picture, seconds; None for as long as it takes."""
        meshes = {body.mesh for body in bodies}
        is_new = not meshes <= self._drawn
        self._drawn = meshes
        if not _is_large(bodies):
            return None
        # What is drawn for the first time takes longer in any case.
        return 0.0 if is_new else _PATIENCE

    def _finish(self, drawn: Drawn, is_full: bool, is_moving: bool, scale: float) -> QImage:
        """Return what has been drawn as Qt has it."""
        self._pace(is_full, is_moving, drawn.took, scale)
        height, width = drawn.pixels.shape[:2]
        pixels = drawn.pixels.data
        image = QImage(pixels, width, height, 4 * width, QImage.Format.Format_RGBX8888)
        # Painted far more quickly, and holds its pixels itself.
        return image.convertToFormat(QImage.Format.Format_RGB32)

    def _tell(self, drawn: Drawn, is_full: bool, is_moving: bool, scale: float) -> None:
        """Bring a picture from the other thread into that of the window."""
        # The window may have been closed meanwhile, and with it this.
        with contextlib.suppress(RuntimeError):
            self._finished.emit(drawn, is_full, is_moving, scale)

    def _hand_over(self, drawn: Drawn, is_full: bool, is_moving: bool, scale: float) -> None:
        if not self._is_over:
            self.drawn.emit(self._finish(drawn, is_full, is_moving, scale), is_moving)

    def release(self) -> None:
        """Give back what the graphics driver holds."""
        self._is_over = True
        if self._stage is not None:
            self._stage.close()
            self._stage = None

    def _placed(self, body: ShownBody, has_edges: bool) -> Placed:
        key = (id(body.vertices), id(body.faces))
        mesh = self._meshes.get(key)
        if mesh is None:
            mesh = self._meshes[key] = Mesh(body.vertices, body.faces)
        return Placed(mesh, body.colour, body.shift, body.face_colours, has_edges)

    def _forget(self) -> None:
        """Let go of meshes that are shown no more."""
        shown = (*self._full, *self._stand_ins, *(self._light or ()))
        self._meshes = {(id(b.mesh.vertices), id(b.mesh.faces)): b.mesh for b in shown}

    def _chosen(self, is_moving: bool) -> tuple[Placed, ...]:
        if self._light is not None:
            return self._light
        count = sum(len(body.mesh.faces) for body in self._full)
        is_heavy = count > _HEAVY or self._took.get("full", 0.0) > 2 * _QUICK
        return self._stand_ins if is_moving and self._stand_ins and is_heavy else self._full

    def _scale_for(self, camera: Camera, ratio: float, is_moving: bool) -> float:
        if is_moving:
            return self._scale
        width, height = camera.size
        finest = ratio * (2.0 if self._took.get("full", 1.0) < _ABLE else 1.0)
        return float(min(finest, np.sqrt(_MOST_PIXELS / max(1, width * height))))

    def _pace(self, is_full: bool, is_moving: bool, took: float, scale: float) -> None:
        """Remember how long a picture took, and draw more coarsely or finely from now on."""
        if is_full:
            # As if it had been drawn with a pixel for each.
            self._took["full"] = took / max(1.0, scale**2)
        if not is_moving:
            return
        self._took["moving"] = 0.7 * self._took.get("moving", took) + 0.3 * took
        at = _SCALES.index(self._scale)
        if self._took["moving"] > _QUICK and at + 1 < len(_SCALES):
            self._rescale(at + 1)
        elif at and self._took["moving"] < 0.5 * _QUICK:
            self._rescale(at - 1)

    def _rescale(self, at: int) -> None:
        change = (_SCALES[at] / self._scale) ** 2
        self._scale = _SCALES[at]
        self._took["moving"] *= change

    def _find_edges(self, wanted: tuple[Placed, ...]) -> None:
        """Find sharp edges, in a thread, until others are wanted."""
        for body in wanted:
            if self._is_over or self._full is not wanted:
                return
            _ = body.mesh.sharp_edges
        with contextlib.suppress(RuntimeError):
            self.edges_found.emit()

    def _try(self) -> None:
        """Try the GL, and load VTK meanwhile."""
        loading = threading.Thread(target=_load_vtk)
        loading.start()
        fault = self._check()
        loading.join()
        # The window may have been closed meanwhile, and with it this.
        with contextlib.suppress(RuntimeError):
            if not self._is_over:
                self._tried.emit(fault)

    def _load(self, fault: str) -> None:
        if self._is_over:
            return
        self.fault = fault
        if not fault:
            from splitplanner.viewport.stage_thread import StageThread

            self._stage = StageThread()
        self.loaded.emit()


@cache
def _finder() -> ThreadPoolExecutor:
    """Return the thread in which sharp edges are found."""
    return ThreadPoolExecutor(1, thread_name_prefix="edges")


def _load_vtk() -> None:
    """Load what takes long."""
    from splitplanner.output.camera import Ray
    from splitplanner.solid import Plane, Solid
    from splitplanner.viewport import stage
    from splitplanner.viewport.bodies import first_hit

    stage.load()
    # Compiled loops are fetched when they are first used.
    box = Solid.box((1.0, 1.0, 1.0))
    ray = Ray(np.array([0.3, 0.4, 5.0]), np.array([0.0, 0.0, -1.0]))
    first_hit(ray, [Placed(Mesh(box.vertices, box.faces), "#000000")])
    halves = box.split(Plane((1.0, 0.0, 0.0), 0.4))
    for half in halves:
        _ = half.bodies() if half is not None else ()
    _ = box.section(Plane((1.0, 0.0, 0.0), 0.4)).rings()


def _is_large(bodies: Sequence[Placed]) -> bool:
    return sum(len(body.mesh.faces) for body in bodies) > _LARGE
