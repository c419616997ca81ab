"""Planning one model of a batch, in whichever process."""

from __future__ import annotations

import math
import multiprocessing
from collections import Counter
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from splitplanner.atomic import export_error
from splitplanner.batch.marks import (
    Mark,
    file_hashes,
    input_fingerprint,
    is_own,
    is_whole,
    read_mark,
    write_mark,
)
from splitplanner.batch.models import shown_name
from splitplanner.batch.rows import BatchRow, Outcome
from splitplanner.errors import SplitPlannerError
from splitplanner.findings import Severity
from splitplanner.job import AskedBraces, AskedLoads, braces_for, loads_for, plan_part, write
from splitplanner.output import Result, refuse_target
from splitplanner.plan import Fastening
from splitplanner.score import Wishes
from splitplanner.workshop import Material, Printer, Shelf, hardware_shelf


@dataclass(frozen=True)
class BatchOptions:
    """How every model of a batch is planned.

    Attributes
    ----------
    unit, seed, proposal, shelf, fastening, own_fastenings, weights, wishes, material
        Given to `splitplanner.job.plan_part`, where they are described.
    pictures : bool
        Whether pictures are drawn.
    loads : LoadSheet, "usual" or None
        What every model has to stand; stations count from its own low end.
    braces : tuple of BraceWish, "two" or None
        What is bolted over the seams of every model: these, or two that are proposed for it.
    """

    unit: str | None = None
    seed: int = 0
    proposal: int = 1
    shelf: Shelf | None = None
    fastening: Fastening = field(default_factory=Fastening)
    own_fastenings: Mapping[str, Fastening] = field(default_factory=dict)
    weights: Mapping[str, float] | None = None
    wishes: Wishes | None = None
    pictures: bool = True
    material: Material | None = None
    loads: AskedLoads | None = None
    braces: AskedBraces | None = None

    def for_planning(self) -> dict[str, Any]:
        """Return the keyword arguments for `splitplanner.job.plan_part`."""
        others = ("pictures", "loads", "braces")
        names = (name for name in self.__dataclass_fields__ if name not in others)
        found = {name: getattr(self, name) for name in names}
        loads, braces = loads_for(self.loads), braces_for(self.braces, self.shelf)
        if loads is not None:
            found["loadings"] = loads
        if braces is not None:
            found["braces"] = braces
        return found


@dataclass(frozen=True)
class Task:
    """One model to plan; goes to another process, and perhaps to another machine.

    Attributes
    ----------
    model : Path
        Absolute.
    out : Path
        Absolute; the result goes to a folder in it.
    folder : str
        Name of that folder.
    printer : Printer
    options : BatchOptions
    overwrite : bool
        Whether results may be replaced that the batch did not write, or that were changed since.
    """

    model: Path
    out: Path
    folder: str
    printer: Printer
    options: BatchOptions
    overwrite: bool = False

    def fingerprint(self) -> str:
        """Return the fingerprint of all that the result depends on."""
        # What is not said is what is built in: from here and from the command line alike.
        options = replace(self.options, shelf=self.options.shelf or hardware_shelf())
        return input_fingerprint(self.model, self.out, [self.printer, options])

    def row(self, outcome: Outcome, **figures: Any) -> BatchRow:
        """Return the model's row in the table."""
        return BatchRow(shown_name(self.model), self.folder, outcome, **figures)

    def failed(self, failure: str, fault: str) -> BatchRow:
        """Return the row that says why the model was not planned."""
        return self.row(Outcome.FAILED, failure=failure, fault=fault)

    def done_before(self) -> BatchRow | None:
        """Return the row of an earlier run if its result is whole and nothing has changed."""
        mark = read_mark(self.out, self.folder)
        if mark is None or mark.row is None or mark.row.outcome is not Outcome.PLANNED:
            return None
        try:
            whole = is_whole(self.out, self.folder, mark)
        except OSError:
            return None
        return mark.row if whole and mark.fingerprint == self.fingerprint() else None


def plan_one(task: Task) -> BatchRow:
    """Plan one model and write its result; a failure is a row too.

    The mark says that the model is begun until it is done or has failed, so that what a killed
    process left is known as the batch's own.
    """
    before = read_mark(task.out, task.folder)
    begun = False
    try:
        replace = task.overwrite or is_own(task.out, task.folder, before)
        refuse_target(task.out / task.folder, replace)
        write_mark(task.out, task.folder, Mark())
        begun = True
        return _planned(task, replace)
    except BaseException as fault:
        if begun:
            # What an earlier run had only begun is marked no longer, unless files of it are left.
            done = before is not None and before.row is not None
            kept = before if done or (task.out / task.folder).exists() else None
            with suppress(SplitPlannerError):
                write_mark(task.out, task.folder, kept)
        if isinstance(fault, SplitPlannerError):
            return task.failed(str(fault), type(fault).__name__)
        if isinstance(fault, OSError):
            return task.failed(str(export_error(task.out / task.folder, fault)), "ExportError")
        if isinstance(fault, Exception):  # the border of the process: the batch goes on
            return task.failed(_own_fault(fault), type(fault).__name__)
        raise


def _planned(task: Task, replace: bool) -> BatchRow:
    fingerprint = task.fingerprint()
    result = plan_part(task.model, task.printer, alone=True, **task.options.for_planning())
    if task.options.pictures:
        _may_have_children()
    result = write(
        result,
        task.out / task.folder,
        task.model,
        pictures=task.options.pictures,
        overwrite=replace,
    )
    row = _row(task, result)
    hashes = file_hashes(task.out / task.folder)
    write_mark(task.out, task.folder, Mark(fingerprint, hashes, row))
    return row


def _row(task: Task, result: Result) -> BatchRow:
    count = Counter(finding.severity for finding in result.findings)
    return task.row(
        Outcome.PLANNED,
        pieces=len(result.division.pieces),
        score=_figure(result.card.total),
        least_pieces=result.bound.pieces,
        **_printing(result),
        **_strength(result),
        warnings=count[Severity.WARNING],
        notes=count[Severity.NOTE],
    )


def _printing(result: Result) -> dict[str, float | int | None]:
    """Return what is known of what the pieces take to print."""
    totals = result.printing()
    if totals is None:
        return {}
    found: dict[str, float | int | None] = {"hours": _figure(totals.hours)}
    if totals.filament is not None and totals.spools is not None:
        cost = totals.filament.cost
        found["mass"] = _figure(totals.filament.mass)
        found["spools"] = totals.spools.new_spools
        found["cost"] = None if cost is None else _figure(cost)
    return found


def _strength(result: Result) -> dict[str, float | None]:
    """Return what the plan holds of its load cases, the least of all; nothing without any."""
    loads = () if result.strength is None else result.strength.loads
    loaded = [each.planned for each in loads if math.isfinite(each.uncut.factor)]
    if not loaded:
        return {}
    holds = min(each.weakest.factor for each in loaded)
    return {
        "ratio": _figure(min(each.ratio for each in loaded)),
        "holds": _figure(holds) if math.isfinite(holds) else None,
    }


def _figure(value: float) -> float:
    return round(float(value), 4) + 0.0


def _may_have_children() -> None:
    """Let this process start the one that draws: workers of a cluster are daemons, which may not.

    In a spawned or forked child the flag can be changed, since only its parent looks at it to end
    the child with itself; the drawing process ends when nobody listens to it any more.
    """
    process = multiprocessing.current_process()
    if process.daemon:
        process.daemon = False


def _own_fault(fault: Exception) -> str:
    what = type(fault).__name__ + (f": {fault}" if str(fault) else "")
    return (
        f"The program itself failed ({what}); please report it with the model and the options, and "
        "with what “splitplanner plan” prints for it."
    )
