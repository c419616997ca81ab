"""Starts the window: the entry point of ``splitplanner-window``.

It loads nothing but this until it is known that Qt can be loaded, and tells what is missing if it
cannot. Made into one folder, the program also is its own helper: such a program has no Python that
could be started with the name of a module.
"""

from __future__ import annotations

import importlib
import multiprocessing
import os
import sys

from splitplanner.child_processes import FROZEN_FLAG

HELPERS = (
    "splitplanner.background.process",
    "splitplanner.suggest.second_process",
    "splitplanner.viewport.gl_try",
)
"""The modules that are started as processes of their own; see `child_processes.start_module`."""


def main() -> int:
    """Run the program; return its exit code."""
    # Here processes that were spawned by this one go their own way, and do not come back.
    multiprocessing.freeze_support()
    if getattr(sys, "frozen", False):
        # So that loops compiled when the folder was made suit every processor of the kind.
        os.environ.setdefault("NUMBA_CPU_NAME", "generic")
    arguments = sys.argv[1:]
    if len(arguments) == 2 and arguments[0] == FROZEN_FLAG and arguments[1] in HELPERS:
        return importlib.import_module(arguments[1]).main() or 0
    from splitplanner.window.system_libraries import has_screen, obstacle, tell

    if "--example" in arguments and not has_screen():
        return _without_screen()
    if why := obstacle():
        tell(why)
        return 1
    from splitplanner.window.application import run

    return run(arguments)


def _without_screen() -> int:
    """Do with the example what can be done without a screen: plan it and write everything."""
    from splitplanner.__main__ import main as command_line

    print("There is no screen to open a window on; the example is planned all the same.")  # noqa: T201
    sys.argv = ["splitplanner", "demo"]
    command_line()
    return 0


if __name__ == "__main__":
    sys.exit(main())
