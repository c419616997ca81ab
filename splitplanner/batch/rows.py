"""What a batch found out about each model."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path


class Outcome(StrEnum):
    """What became of one model."""

    PLANNED = "planned"
    FAILED = "failed"
    WAITING = "waiting"
    """The batch was stopped before the model was planned."""


@dataclass(frozen=True)
class BatchRow:
    """One model in the table of a batch.

    Attributes
    ----------
    model : str
        Name of its file.
    folder : str
        Name of its result folder, beside the table.
    outcome : Outcome
    pieces : int or None
        Number of pieces; None, like the other figures, if the model was not planned.
    score : float or None
        The plan score; lower is better.
    least_pieces : int or None
        The number of pieces that no plan can go below.
    hours : float or None
        Print time by layers, for one piece after another; None also where layers are not known.
    mass : float or None
        Of the filament, supports included, g; None where the material is not known either.
    spools : int or None
        Full ones, if no spool is started; the same.
    cost : float or None
        Of the filament, in the user's own money; None where its price is not known either.
    ratio : float or None
        What the plan holds over what the uncut part holds, the least of all load cases; None
        without any.
    holds : float or None
        How many times its load cases the plan holds, the least of all; None too where no seam is
        loaded.
    warnings, notes : int
        How many findings there are of each severity; `Severity.WARNING`, `Severity.NOTE`.
    failure : str
        One sentence that says why the model was not planned; else empty.
    fault : str
        Name of the class of the fault, of `splitplanner.errors`; else empty.
    """

    model: str
    folder: str
    outcome: Outcome
    pieces: int | None = None
    score: float | None = None
    least_pieces: int | None = None
    hours: float | None = None
    mass: float | None = None
    spools: int | None = None
    cost: float | None = None
    ratio: float | None = None
    holds: float | None = None
    warnings: int = 0
    notes: int = 0
    failure: str = ""
    fault: str = ""


@dataclass(frozen=True)
class BatchResult:
    """The table of a batch.

    Attributes
    ----------
    out : Path
        Folder with the results and the tables.
    bed : str
        Size of the bed, mm.
    rows : tuple of BatchRow
        In the order of the models, whatever the order in which they were finished.
    kept : int
        How many models were not planned anew because their results were there, whole.
    """

    out: Path
    bed: str
    rows: tuple[BatchRow, ...]
    kept: int = 0

    def count(self, outcome: Outcome) -> int:
        """Return how many models ended in that way."""
        return sum(row.outcome is outcome for row in self.rows)

    def total(self, figure: str) -> float | None:
        """Return the sum of a figure, such as ``hours``, over the rows that have it, if any has."""
        known = [value for row in self.rows if (value := getattr(row, figure)) is not None]
        return float(sum(known)) if known else None

    @property
    def all_planned(self) -> bool:
        """True when no model failed or waits."""
        return all(row.outcome is Outcome.PLANNED for row in self.rows)
