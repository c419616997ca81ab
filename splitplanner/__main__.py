"""Starts the command line: the entry point of ``splitplanner`` and ``python -m splitplanner``.

It loads nothing but this until the signals are taken care of, so that Ctrl-C ends the program
quietly also in the first moments, while everything else is loaded.
"""

from __future__ import annotations

import os
import signal
from typing import Any

_STOPPED = 130
"""Exit code of a program stopped by Ctrl-C: 128 + 2, the number of SIGINT (shells' custom)."""


def _leave(number: int, frame: Any) -> None:
    """Handle a signal before the program has begun: end at once.

    An exception in the midst of the import of a compiled library could come out as another one.
    """
    os.write(2, b"Stopped; nothing was begun.\n")
    os._exit(_STOPPED)


def main() -> None:
    """Run the program."""
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        # What was ignored from the start (nohup, a shell's background job) stays ignored.
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _leave)
    from splitplanner.command_line import main as run

    run()


if __name__ == "__main__":
    main()
