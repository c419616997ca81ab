"""Runs the window: what is asked for on the command line, Qt, and the end of it all."""

from __future__ import annotations

import argparse
import signal
import sys
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from splitplanner import __version__
from splitplanner.window.places_kept import PlacesKept


def run(arguments: Sequence[str]) -> int:
    """Run the window until it is closed; return the exit code.

    Parameters
    ----------
    arguments : sequence of str
        Without the program's name.
    """
    asked = _parsed(arguments)
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    application.setApplicationName("splitplanner")
    application.setApplicationDisplayName("Split planner")
    application.setApplicationVersion(__version__)
    application.setDesktopFileName("splitplanner")
    # Ctrl-C in the terminal ends the program, as anywhere.
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    places = PlacesKept.usual() if asked.settings is None else PlacesKept.inside(asked.settings)
    from splitplanner.window.look_menu import put_on
    from splitplanner.window.main_window import MainWindow

    window = MainWindow(places)
    put_on(window.settings.look)
    window.show()
    QTimer.singleShot(0, lambda: _begin(window, asked))
    return application.exec()


def _parsed(arguments: Sequence[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="splitplanner-window",
        description="Split a model that is larger than the print bed, in a window.",
    )
    parser.add_argument("file", nargs="?", type=Path, help="a model or a plan to open")
    parser.add_argument("--example", action="store_true", help="open the example part")
    parser.add_argument(
        "--settings", type=Path, metavar="DIR", help="keep settings and the like in this folder"
    )
    # For the script that makes the program into one folder: see `splitplanner.window.tour`.
    parser.add_argument("--try", dest="tried", type=Path, help=argparse.SUPPRESS)
    # For scripts that move a real pointer: see `splitplanner.window.report`.
    parser.add_argument("--report", type=Path, help=argparse.SUPPRESS)
    parser.add_argument("--version", action="version", version=f"splitplanner {__version__}")
    return parser.parse_args(list(arguments))


def _begin(window: object, asked: argparse.Namespace) -> None:
    """Do what is left to do once the window is there."""
    from splitplanner.window.main_window import MainWindow

    assert isinstance(window, MainWindow)
    if asked.report is not None:
        from splitplanner.window.report import Report

        Report(window, asked.report)
    window.session.jobs.start("examiner")
    window.files.look_for_leftovers()
    if asked.file is not None:
        window.files.open(asked.file)
    elif asked.example:
        window.files.open_example()
    elif asked.tried is not None:
        from splitplanner.window.tour import try_out

        try_out(window, asked.tried)
