"""Goes through the window by itself, to see that it works and how it looks.

``splitplanner-window --try DIR`` opens the example, accepts the first proposal, exports it and
ends. ``python -m splitplanner.window.shots DIR`` keeps a picture of every state on the way.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QEventLoop, QTimer
from PySide6.QtWidgets import QApplication

from splitplanner.errors import HelperError, SplitPlannerError
from splitplanner.findings import faults
from splitplanner.window.dialogs.export_dialog import ExportChoice
from splitplanner.window.main_window import MainWindow

_PATIENCE = 600.0
"""Nothing takes longer than this, however slow the machine, s."""
_BEAT = 10
_LAID_OUT = 250
"""After so long everything has been laid out and drawn, ms."""


class Tour:
    """Does one thing after the other in a window, and waits for what comes of each.

    Attributes
    ----------
    window : MainWindow
    """

    def __init__(self, window: MainWindow) -> None:
        self.window = window
        self._fault: Exception | None = None
        window.session.failed.connect(self._fail)

    def until(self, is_true: Callable[[], bool]) -> None:
        """Let the window go on until something is true.

        Raises
        ------
        SplitPlannerError
            If something failed meanwhile, or nothing came of it.
        """
        begun = time.monotonic()
        while not is_true():
            self.rest(_BEAT)
            if self._fault is not None:
                fault, self._fault = self._fault, None
                raise fault
            if time.monotonic() - begun > _PATIENCE:
                raise HelperError("The window waited in vain; close other programs and try again.")

    def rest(self, milliseconds: int = _LAID_OUT) -> None:
        """Let the window go on for a time."""
        loop = QEventLoop()
        QTimer.singleShot(milliseconds, loop.quit)
        loop.exec()

    def settle(self) -> None:
        """Wait until the plan is examined and all pictures are drawn."""
        session = self.window.session
        self.until(lambda: session.examined is not None and session.jobs.is_idle)
        self.rest()

    def open_example(self) -> None:
        """Open the example, and wait until all is known of it."""
        window = self.window
        window.files.open_example()
        self.until(lambda: window.session.stations is not None)
        self.settle()

    def propose(self) -> None:
        """Ask for proposals, and wait for all of them."""
        session = self.window.session
        self.window.proposals_link.ask()
        self.until(lambda: not session.proposing.is_on)
        self.settle()

    def accept(self, place: int = 0) -> None:
        """Accept one of the proposals."""
        self.window.proposals.accepted.emit(self.window.proposals.proposals[place])
        self.settle()

    def export(self, folder: Path) -> None:
        """Export everything to a folder, in place of an older result."""
        written: list[str] = []
        self.window.session.said.connect(written.append)
        choice = ExportChoice(folder, pictures=True, stl=True, three_mf=True, overwrite=True)
        self.window.export.write(choice)
        self.until(lambda: any(text.startswith("Exported") for text in written))

    def _fail(self, fault: Exception) -> None:
        self._fault = fault


def try_out(window: MainWindow, folder: Path) -> None:
    """Go from the example to its exported folder, and end the program: 0 if all went well."""
    tour = Tour(window)
    try:
        tour.open_example()
        tour.propose()
        tour.accept()
        tour.export(folder)
        is_sound = not faults(window.session.findings_of_plan)
    except SplitPlannerError as fault:
        print(fault)  # noqa: T201 - whoever tries it looks at the output
        is_sound = False
    if window.session.document is not None:
        window.session.document.mark_saved()
    window.close()
    QApplication.exit(0 if is_sound else 1)
