"""How a long job says how far it is, and how it is stopped."""

from __future__ import annotations

from collections.abc import Callable

Report = Callable[[float, str], None]
"""``report(done, doing)``: `done` from 0 to 1, `doing` a few words. It stops the job by raising
`splitplanner.errors.Cancelled` (or any other exception); the job then leaves nothing half done.
"""


def silent(done: float, doing: str) -> None:
    """Report to nobody."""


def part_of(report: Report, start: float, end: float) -> Report:
    """Return a report for one stage of a job, which covers `start` to `end` of the whole."""

    def staged(done: float, doing: str) -> None:
        report(start + (end - start) * min(max(done, 0.0), 1.0), doing)

    return staged


def rising(report: Report) -> Report:
    """Return a report that never goes back: for work that is done in another order than shown."""
    furthest = 0.0

    def risen(done: float, doing: str) -> None:
        nonlocal furthest
        furthest = max(furthest, done)
        report(furthest, doing)

    return risen
