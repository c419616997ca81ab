"""Planning many models, with one table as the result."""

from __future__ import annotations

import os
from collections.abc import Sequence
from concurrent.futures import Executor
from pathlib import Path

from splitplanner.atomic import write_file
from splitplanner.batch.marks import only_batch, remove_remains
from splitplanner.batch.models import MARKS, TABLES, folder_names, shown_name
from splitplanner.batch.rows import BatchResult, BatchRow, Outcome
from splitplanner.batch.running import run_here, run_on, usable_cores
from splitplanner.batch.tables import batch_csv, batch_json
from splitplanner.batch.task import BatchOptions, Task
from splitplanner.errors import Cancelled, ExportError
from splitplanner.findings import counted
from splitplanner.progress import Report, part_of, silent
from splitplanner.workshop import Printer

_NAMED = 3
"""How many of the models in hand the progress names."""


def plan_many(
    models: Sequence[Path],
    printer: Printer,
    out: Path,
    *,
    options: BatchOptions | None = None,
    executor: Executor | None = None,
    workers: int | None = None,
    overwrite: bool = False,
    report: Report = silent,
) -> BatchResult:
    """Plan many models, and write the result of each and a table of all.

    A model that fails is a row in the table, and the others go on. A model is passed over if its
    result is there, whole, and made from the same bytes with the same printer and options.
    The rows and all files are the same whatever the executor and the number of its workers.

    Parameters
    ----------
    models : sequence of Path
        A file named twice is planned once.
    printer : Printer
    out : Path
        Will hold a folder for each model, ``batch.csv`` and ``batch.json``.
    options : BatchOptions, optional
    executor : concurrent.futures.Executor, optional
        Where the work is done. By default in processes of this machine, started anew (spawned),
        so a script that calls this needs ``if __name__ == "__main__":``.
    workers : int, optional
        How many processes that are; as many as there are cores by default.
    overwrite : bool
        Whether results may be replaced that no batch wrote, or that were changed since.
    report : progress callback

    Returns
    -------
    BatchResult

    Raises
    ------
    Cancelled
        If the user stopped it; the models that were finished are whole.
    ExportError
        If the tables cannot be written, or another batch writes into `out`.
    ValueError
        If `workers` is below 1.
    """
    if workers is not None and workers < 1:
        raise ValueError(f"a batch needs at least one worker, got {workers}")
    out = Path(os.path.abspath(out))
    _refuse_tables(out, overwrite)
    paths = list(dict.fromkeys(Path(os.path.abspath(model)) for model in models))
    tasks = [
        Task(path, out, name, printer, options or BatchOptions(), overwrite)
        for path, name in zip(paths, folder_names(paths), strict=True)
    ]
    with only_batch(out):
        remove_remains(out)
        batch = _Batch(tasks, out, printer, report)
        try:
            waiting = batch.pass_over()
            if executor is not None:
                run_on(executor, waiting, batch.settle, batch.beat)
            else:
                run_here(waiting, workers or usable_cores(), batch.settle, batch.beat)
        except (KeyboardInterrupt, Cancelled) as stop:
            batch.settle_unheard()
            raise Cancelled(_stopped(batch.result(), executor is not None)) from stop
        finally:
            # Workers of another executor may still be writing after a stop.
            if executor is None or batch.is_settled:
                remove_remains(out)
            _write_tables(batch.result())
    report(1.0, f"{counted(len(tasks), 'model')} done")
    return batch.result()


class _Batch:
    """The rows so far."""

    def __init__(self, tasks: Sequence[Task], out: Path, printer: Printer, report: Report) -> None:
        self.tasks = tasks
        self.out = out
        self.bed = str(printer.bed)
        self.report = report
        self.rows: dict[str, BatchRow] = {}
        self.kept = 0

    def pass_over(self) -> list[Task]:
        """Settle what an earlier run has done; return what is left to do."""
        look = part_of(self.report, 0.0, 0.05)
        for index, task in enumerate(self.tasks):
            look(index / len(self.tasks), f"looking whether {shown_name(task.model)} is done")
            row = task.done_before()
            if row is not None:
                self.settle(task, row)
        self.kept = len(self.rows)
        return [task for task in self.tasks if task.folder not in self.rows]

    def settle(self, task: Task, row: BatchRow) -> None:
        """Note the row of a model."""
        self.rows[task.folder] = row

    def beat(self, in_hand: Sequence[Task]) -> None:
        """Report how far the batch is."""
        failed = sum(row.outcome is Outcome.FAILED for row in self.rows.values())
        text = f"{len(self.rows)} of {counted(len(self.tasks), 'model')} done"
        text += f", {failed} failed" if failed else ""
        names = [shown_name(task.model) for task in in_hand]
        if names:
            more = len(names) - _NAMED
            text += f"; in hand {', '.join(names[:_NAMED])}"
            text += f" and {more} more" if more > 0 else ""
        left = len(self.tasks) - self.kept
        share = (len(self.rows) - self.kept) / left if left else 1.0
        part_of(self.report, 0.05, 1.0)(share, text)

    def settle_unheard(self) -> None:
        """Settle what was finished just before a stop, and whose row did not come through."""
        for task in self.tasks:
            row = None if task.folder in self.rows else task.done_before()
            if row is not None:
                self.settle(task, row)

    @property
    def is_settled(self) -> bool:
        """True when every model has its row."""
        return len(self.rows) == len(self.tasks)

    def result(self) -> BatchResult:
        """Return the table as it is."""
        rows = (self.rows.get(task.folder) or task.row(Outcome.WAITING) for task in self.tasks)
        return BatchResult(self.out, self.bed, tuple(rows), self.kept)


def _refuse_tables(out: Path, overwrite: bool) -> None:
    """Refuse a folder that holds tables of the same names which no batch wrote."""
    if overwrite or (out / MARKS).is_dir():
        return
    for name in TABLES:
        if (out / name).exists():
            raise ExportError(
                f"{out} holds “{name}”, which no batch wrote there; choose another folder, or "
                "replace it with --overwrite.",
                subject=str(out),
            )


def _write_tables(result: BatchResult) -> None:
    write_file(result.out / "batch.csv", batch_csv(result).encode())
    write_file(result.out / "batch.json", batch_json(result).encode())


def _stopped(result: BatchResult, elsewhere: bool) -> str:
    planned = result.count(Outcome.PLANNED)
    others = ", and those begun may still be finished by their workers" if elsewhere else ""
    return (
        f"Stopped: {planned} of {counted(len(result.rows), 'model')} planned and whole{others}; "
        "give the same command again to go on with the rest."
    )
