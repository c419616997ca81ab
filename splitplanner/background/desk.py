"""The desk of a process that does jobs: what was kept there, and what jobs leave for others."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from splitplanner.examining import Examiner
from splitplanner.output import Result
from splitplanner.plan import Plan
from splitplanner.progress import Report
from splitplanner.workshop import Shelf, hardware_shelf

Desk = dict[str, Any]
"""What was kept by name, ``source`` (ReadPart), ``light`` (Solid) and ``shelf`` (Shelf, of the
user's own hardware; the built-in one where it is not there); and what jobs leave there."""
Hand = Callable[[Any], None]
"""Takes what a job knows before its end."""
KEPT_CELLS = "cells"
"""By this name a check by cells lies on the desk."""


def shelf_on(desk: Desk) -> Shelf:
    """Return the hardware that joints are made of."""
    return desk.get("shelf") or hardware_shelf()


def examiner_on(desk: Desk) -> Examiner:
    """Return the examiner of part and hardware that are kept, with all that it remembers."""
    known: Examiner | None = desk.get("examiner")
    shelf: Shelf = shelf_on(desk)
    if known is None or known.source is not desk["source"] or known.shelf != shelf:
        known = desk["examiner"] = Examiner(desk["source"], shelf)
        # It was of another part, or made of other hardware.
        desk.pop("result", None)
        desk.pop(KEPT_CELLS, None)
    return known


def result_on(desk: Desk, plan: Plan, report: Report) -> Result:
    """Return what is known of a plan: from its examination, or found out now."""
    examiner = examiner_on(desk)
    known: Result | None = desk.get("result")
    if known is None or known.plan != plan:
        known = desk["result"] = examiner.examine(plan, title_of(plan), report=report)
    return known


def title_of(plan: Plan) -> str:
    """Return the name of the part, for headings."""
    return Path(plan.part.path).stem
