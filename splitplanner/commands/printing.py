"""What commands print: tables or JSON, and faults as one sentence with an exit code."""

from __future__ import annotations

import json
import os
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import typer
from rich.console import Console, RenderableType
from rich.text import Text

from splitplanner.errors import (
    Cancelled,
    ClusterError,
    CutError,
    ExportError,
    HelperError,
    JointError,
    LoadError,
    NoProposalError,
    OpenSolidError,
    PlanFileError,
    ReadError,
    SolidError,
    SplitPlannerError,
    UnsoundError,
    WishesError,
    WorkshopError,
)
from splitplanner.findings import faults

EXIT_CODES: tuple[tuple[type[SplitPlannerError], int], ...] = (
    (UnsoundError, 1),
    (ReadError, 3),
    (OpenSolidError, 3),
    (SolidError, 3),
    (NoProposalError, 4),
    (ExportError, 5),
    (WorkshopError, 6),
    (PlanFileError, 6),
    (WishesError, 6),
    (CutError, 6),
    (JointError, 6),
    (LoadError, 6),
    (ClusterError, 8),
    (HelperError, 70),
    (Cancelled, 130),
)
"""Which fault ends the program with which exit code."""

DEBUG = "SPLITPLANNER_DEBUG"
"""Environment variable; when it is set, a failure of the program itself shows its trace."""
_FAILED = 70
"""Exit code when the program itself failed; EX_SOFTWARE of sysexits.h (BSD)."""


def show(result: Any, as_json: bool, closing: str) -> None:
    """Print the scorecard of a result."""
    from splitplanner.output import scorecard_record, scorecard_tables

    if as_json:
        print_json(scorecard_record(result))
    else:
        print_tables(scorecard_tables(result), closing)


def print_tables(tables: RenderableType, closing: str) -> None:
    """Print tables for a screen, or as plain text into a file or another program."""
    from splitplanner.output import plain_text

    if not sys.stdout.isatty():
        sys.stdout.write(f"{plain_text(tables)}\n{closing}.\n")
        return
    console = Console(highlight=False)
    console.print(tables)
    console.print(Text(f"\n{closing}.", style="bold"), soft_wrap=True)


@contextmanager
def faults_as_sentences(as_json: bool) -> Iterator[None]:
    """Turn expected faults into one sentence and an exit code; Ctrl-C ends without a trace."""
    try:
        yield
    except SplitPlannerError as fault:
        code = next((code for kind, code in EXIT_CODES if isinstance(fault, kind)), 1)
        _complain(fault, code, as_json)
        raise typer.Exit(code) from fault
    except KeyboardInterrupt:
        _complain(Cancelled("Stopped; nothing was left half written."), 130, as_json)
        raise typer.Exit(130) from None
    except BrokenPipeError:
        raise  # whoever read the output has enough; typer ends the program without a word
    except Exception as fault:  # the border of the program: no trace for the user
        if os.environ.get(DEBUG):
            traceback.print_exc()
        _complain(_own_fault(fault), _FAILED, as_json)
        raise typer.Exit(_FAILED) from fault


def print_json(record: dict[str, Any]) -> None:
    """Print a record as one JSON document."""
    # In ASCII, which every encoding of a terminal or pipe can hold.
    sys.stdout.write(json.dumps(record, indent=2, allow_nan=False) + "\n")


def _own_fault(fault: Exception) -> SplitPlannerError:
    what = type(fault).__name__ + (f": {fault}" if str(fault) else "")
    return SplitPlannerError(
        f"The program itself failed ({what}); nothing was left half written. Please report it with "
        f"the model and the options, and with what it prints when {DEBUG}=1 is set."
    )


def _complain(fault: SplitPlannerError, code: int, as_json: bool) -> None:
    if as_json:
        record = {
            "error": type(fault).__name__,
            "exit_code": code,
            "message": str(fault),
            "subject": fault.subject,
            "findings": [finding.as_record() for finding in fault.findings],
        }
        print_json(record)
    console = Console(stderr=True, highlight=False, soft_wrap=True)
    console.print(Text(str(fault), style="bold red"))
    for finding in faults(fault.findings):
        if finding.message not in str(fault):
            console.print(Text(f"  {finding.message}"))
