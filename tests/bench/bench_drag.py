"""How fluently a cut plane is dragged: `python -m tests.bench.bench_drag`.

200 real mouse moves on the arrow of a plane of the rain hood, in a view of 1400 x 900 pixels
without a screen. At each the stand-in is cut anew and both sides are drawn, by software GL where
there is no graphics card. Nothing else should run meanwhile.
"""

import os
import sys
import time

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

import numpy as np
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication

from splitplanner.arrays import to_vector
from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.solid import Plane
from splitplanner.suggest.standing_in import lightened
from splitplanner.window.view.drag import handle_of
from splitplanner.window.view.part_view import PartView
from splitplanner.window.view.values import Outline, ShownBody, ShownPlane

MOVES = 200
SIZE = (1400, 900)
COLOURS = ("#E69F00", "#56B4E9")


def shown(sides):
    """Return both sides of a cut as the view takes them."""
    return [
        ShownBody(str(at), side.vertices, side.faces, colour)
        for at, (side, colour) in enumerate(zip(sides, COLOURS, strict=True))
        if side is not None
    ]


def shown_plane(plane, part):
    """Return a plane with a sheet as large as the part."""
    first, second, normal = plane.frame
    centre = part.bounds.mean(axis=0)
    centre = centre - plane.height([centre])[0] * normal
    half = 0.3 * part.size
    corners = [
        centre + half * (a * first + b * second) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    return ShownPlane(0, plane, to_vector(centre), np.array(corners), "Cut 1", True)


class Dragging:
    """A view with the hood, and what is done at each move of its plane."""

    def __init__(self, application, triangles):
        self.application = application
        self.part = DEMO_PARTS["rain_hood"].make(triangles)
        self.light, _ = lightened(self.part)
        self.cuts, self.pictures, self.paints = [], [], []
        self.view = PartView(gl_check=lambda: "")
        self.view.resize(*SIZE)
        self.view.show()
        self.plane = Plane((1.0, 0.0, 0.0), float(self.part.bounds.mean(axis=0)[0]) - 40.0)
        self.view.show_bodies(shown(self.part.split(self.plane)))
        self.view.rest_light(shown(self.light.split(self.plane)))
        self.view.show_planes([shown_plane(self.plane, self.part)])
        self.view.plane_dragged.connect(self.follow)
        self._time_pictures()
        while not self.view._maker.is_ready:
            self.settle(0.05)
        self.settle(1.5)

    def settle(self, seconds):
        """Let everything happen that is due."""
        until = time.perf_counter() + seconds
        while time.perf_counter() < until:
            self.application.processEvents()

    def follow(self, index, plane, mm_per_pixel, is_fine):
        """Cut the stand-in where the plane is now."""
        began = time.perf_counter()
        sides = self.light.split(plane)
        rings = self.light.section(plane).rings()
        self.cuts.append(time.perf_counter() - began)
        self.plane = plane
        self.view.show_light(shown(sides))
        self.view.show_planes([shown_plane(plane, self.part)])
        self.view.show_outlines([Outline(ring, "#0072B2") for ring in rings])

    def _time_pictures(self):
        inner = self.view._maker.image

        def timed(*arguments):
            began = time.perf_counter()
            image = inner(*arguments)
            self.pictures.append(time.perf_counter() - began)
            return image

        self.view._maker.image = timed

    def send(self, kind, place, held):
        """Post a mouse event."""
        button = (
            Qt.MouseButton.NoButton if kind == QEvent.Type.MouseMove else Qt.MouseButton.LeftButton
        )
        event = QMouseEvent(
            kind, place, self.view.mapToGlobal(place), button, held, Qt.KeyboardModifier.NoModifier
        )
        self.application.postEvent(self.view, event)
        self.application.processEvents()

    def run(self):
        """Drag to and fro; return how long each frame took, seconds."""
        plane, camera = self.view.planes[0], self.view.camera
        foot, tip = camera.pixels(handle_of(plane.plane, plane.centre, camera).outline("arrow"))
        way = (tip - foot) / np.linalg.norm(tip - foot)
        start = 0.5 * (foot + tip)
        left = Qt.MouseButton.LeftButton
        self.send(QEvent.Type.MouseButtonPress, QPointF(*start), left)
        frames = []
        self.processor = -time.process_time()
        for move in range(MOVES):
            place = start + way * 60.0 * np.sin(2 * np.pi * move / MOVES)
            began, drawn = time.perf_counter(), len(self.pictures)
            self.send(QEvent.Type.MouseMove, QPointF(*place), left)
            # What has changed is painted a moment later, as it would be on a screen.
            while len(self.pictures) == drawn:
                self.application.processEvents()
            frames.append(time.perf_counter() - began)
        self.processor = (self.processor + time.process_time()) / MOVES
        self.send(QEvent.Type.MouseButtonRelease, QPointF(*start), Qt.MouseButton.NoButton)
        self.view.release()
        self.view.close()
        return frames


def main():
    """Print a table."""
    application = QApplication.instance() or QApplication([])
    write = sys.stdout.write
    write(
        "| triangles | stand-in | frame, ms: median | 95 % | frames a second: median | 95 % | "
        "cut | picture | rest, ms | processor, ms |\n|---|---|---|---|---|---|---|---|---|---|\n"
    )
    for triangles in (130_000, 520_000):
        dragging = Dragging(application, triangles)
        dragging.pictures.clear()
        frames = 1000 * np.array(dragging.run())
        assert len(dragging.cuts) == MOVES, "a move was lost"
        assert len(dragging.pictures) >= MOVES, "a picture was lost"
        cut, drawn = (
            1000 * float(np.median(times)) for times in (dragging.cuts, dragging.pictures)
        )
        middle, slow = np.percentile(frames, [50, 95])
        write(
            f"| {len(dragging.part.faces)} | {len(dragging.light.faces)} | {middle:.1f} | "
            f"{slow:.1f} | {1000 / middle:.0f} | {1000 / slow:.0f} | {cut:.1f} | {drawn:.1f} | "
            f"{middle - cut - drawn:.1f} | {1000 * dragging.processor:.1f} |\n"
        )


if __name__ == "__main__":
    main()
