"""A whole window on a small part, with its real processes, for tests that go through it."""

from pathlib import Path

from PySide6.QtCore import QElapsedTimer, QPoint
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMessageBox

from splitplanner.window.main_window import MainWindow
from splitplanner.window.places_kept import PlacesKept
from splitplanner.window.view.drag import handle_of

SIZES = (430.0, 100.0, 80.0)
"""Of the part, a box, mm: too long for the bed."""
WAIT = 60_000
"""A job of a test takes no longer than this, ms, however busy the machine."""


class Desk:
    """A window, and what a test waits for."""

    def __init__(self, folder: Path) -> None:
        # No question waits for an answer that never comes.
        QMessageBox.exec = _refused
        self.is_closed = False
        self.window = MainWindow(PlacesKept.inside(folder))
        self.faults, self.said = [], []
        self.window.session.failed.connect(self.faults.append)
        self.window.session.said.connect(self.said.append)
        self.window.resize(1200, 800)
        self.window.show()
        QTest.qWaitForWindowExposed(self.window)

    @property
    def session(self):
        return self.window.session

    @property
    def view(self):
        return self.window.view

    def open(self, path: Path) -> None:
        """Open a file, without questions, and wait until all is known of it."""
        before = self.session.source
        self.count_as_saved()
        self.window.files.open(path)
        self.wait_for_part(before)

    def wait_for_part(self, before) -> None:
        """Wait until all is known of a part that is opened after another one, or none."""
        self.until(lambda: self.session.source is not before)
        self.until(lambda: self.session.light is not None)
        self.settle()
        self.until(lambda: self.session.stations is not None)

    def begin(self, path: Path) -> None:
        """Begin a test: with a part just opened, and nothing said yet."""
        self.open(path)
        self.faults.clear()
        self.said.clear()

    def settle(self) -> None:
        """Wait until the plan has been examined."""
        self.until(lambda: self.session.examined is not None)

    def idle(self) -> None:
        """Wait until nothing is under way."""
        self.until(lambda: self.session.jobs.is_idle)

    def until(self, is_true) -> None:
        """Let the window go on until something is true."""
        clock = QElapsedTimer()
        clock.start()
        while not is_true():
            assert clock.elapsed() < WAIT, f"waited in vain; faults: {self.faults}"
            QTest.qWait(5)
        # What is shown follows at the next turn.
        QTest.qWait(1)

    def drawn(self) -> None:
        """Wait until the view draws with the graphics driver."""
        self.until(lambda: self.view._maker.is_ready or bool(self.view._maker.fault))
        assert not self.view._maker.fault
        QTest.qWait(50)

    def handle(self, index: int = 0):
        """The handle of a cut."""
        shown = self.view.planes[index]
        return handle_of(shown.plane, shown.centre, self.view.camera)

    def arrow(self, index: int = 0):
        """Where the foot and the tip of the arrow of a cut are seen, pixels."""
        return self.view.camera.pixels(self.handle(index).outline("arrow"))

    def count_as_saved(self) -> None:
        """Have nothing to save, also once what is being worked out has become known."""
        session = self.session
        if session.document is not None:
            self.until(lambda: session.examined is not None or session.fault is not None)
            session.document.mark_saved()

    def close(self) -> None:
        """Close without questions; a test may have done so before all others are over."""
        if self.is_closed:
            return
        self.is_closed = True
        self.count_as_saved()
        self.window.close()
        self.window.deleteLater()


def _refused(box) -> None:
    raise AssertionError(f"asked: {box.text()}")


def point(place) -> QPoint:
    """A place in pixels as Qt has it."""
    return QPoint(round(float(place[0])), round(float(place[1])))
