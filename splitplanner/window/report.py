"""Writes down where things are on the screen, for scripts that move a real pointer over them.

``splitplanner-window --report FILE`` appends a line of JSON whenever something has changed:

- ``title``: of the window;
- ``is_ready``: whether a plan is there, examined, and nothing is under way;
- ``box``: the eight corners of the part's box, and where each is seen, pixels of the screen;
- ``cuts``: of each cut its ``normal`` and ``offset`` (mm), and where the foot and the tip of its
  ``arrow`` are seen; none while the handle is not shown;
- ``focus``: what the control that has the keyboard is called.
"""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
from PySide6.QtCore import QObject, QPointF, QTimer
from PySide6.QtWidgets import QApplication

from splitplanner.arrays import Floats
from splitplanner.window.main_window import MainWindow
from splitplanner.window.view.drag import handle_of

_BEAT = 50
"""It is looked so often, ms."""


class Report(QObject):
    """Looks at a window as long as it is there.

    Parameters
    ----------
    window : MainWindow
    file : Path
        Is made if it is not there.
    """

    def __init__(self, window: MainWindow, file: Path) -> None:
        super().__init__(window)
        self._window, self._file = window, file
        self._last = ""
        timer = QTimer(self)
        timer.setInterval(_BEAT)
        timer.timeout.connect(self._look)
        timer.start()

    def _look(self) -> None:
        line = json.dumps(self.state())
        if line != self._last:
            self._last = line
            with self._file.open("a", encoding="utf-8") as stream:
                stream.write(line + "\n")

    def state(self) -> dict[str, Any]:
        """Return what there is to tell now."""
        session = self._window.session
        focused = QApplication.focusWidget()
        return {
            "title": self._window.windowTitle(),
            "is_ready": session.examined is not None and session.jobs.is_idle,
            "box": self._box(),
            "cuts": self._cuts(),
            "focus": "" if focused is None else focused.accessibleName(),
        }

    def _box(self) -> list[dict[str, Any]]:
        part = self._window.session.part
        if part is None:
            return []
        corners = np.array(list(product(*part.bounds.T)))
        return [
            {"at": corner.tolist(), "seen": seen}
            for corner, seen in zip(corners, self._seen(corners), strict=True)
        ]

    def _cuts(self) -> list[dict[str, Any]]:
        plan, view = self._window.session.plan, self._window.view
        shown = {plane.index: plane for plane in view.planes}
        told = []
        for index, cut in enumerate(() if plan is None else plan.cuts):
            arrow = None
            if index in shown:
                handle = handle_of(shown[index].plane, shown[index].centre, view.camera)
                arrow = self._seen(handle.outline("arrow"))
            told.append({"normal": cut.plane.normal, "offset": cut.plane.offset, "arrow": arrow})
        return told

    def _seen(self, points: Floats) -> list[list[float]]:
        """Return where points (n, 3) are seen on the screen, in its own pixels."""
        view = self._window.view
        ratio = view.devicePixelRatioF()
        places = []
        for x, y in view.camera.pixels(points):
            at = view.mapToGlobal(QPointF(float(x), float(y)))
            places.append([round(at.x() * ratio, 2), round(at.y() * ratio, 2)])
        return places
