"""What a criterion of the plan score is, and the numbers that most of them are worked out from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from splitplanner.arrays import Floats
from splitplanner.plan import Vector
from splitplanner.score.bed_fit import BedFit
from splitplanner.score.figures import Figures
from splitplanner.score.support import Support
from splitplanner.strength import WholeUnderLoad
from splitplanner.workshop import Printer


class PartNumbers(Protocol):
    """What criteria know of the uncut part: mm, mm² and mm³."""

    @property
    def size(self) -> float:
        """Diagonal of its bounding box, mm."""

    @property
    def area(self) -> float:
        """Of its surface, mm²."""

    @property
    def volume(self) -> float:
        """mm³."""

    @property
    def long_axis(self) -> Floats:
        """Unit vector along which it is spread out most, (3,)."""


class HangingNumbers(Protocol):
    """The numbers of `splitplanner.score.overhang.Overhang`, mm²."""

    @property
    def area(self) -> float:
        """Area that needs support."""

    @property
    def contact_area(self) -> float:
        """Area that rests on the bed."""


class RoomNumbers(Protocol):
    """The numbers of `splitplanner.score.room.Room`."""

    @property
    def count(self) -> int:
        """How many fasteners fit."""


class PieceNumbers(Protocol):
    """What is known of a piece and its print direction, measured or estimated."""

    @property
    def name(self) -> str:
        """Of the piece, as seams name it."""

    @property
    def up(self) -> Vector:
        """Print direction in the part's frame."""

    @property
    def volume(self) -> float:
        """mm³."""

    @property
    def area(self) -> float:
        """Of its surface, mm²."""

    @property
    def fit(self) -> BedFit:
        """How it lies on the bed."""

    @property
    def overhang(self) -> HangingNumbers:
        """What hangs over air."""

    @property
    def support(self) -> Support:
        """What is printed below it."""


class LengthNumbers(Protocol):
    """The lengths (mm) and the area (mm²) of `splitplanner.score.seam.SeamFigures`."""

    @property
    def length(self) -> float:
        """Of all outlines."""

    @property
    def seen_length(self) -> float:
        """What of it lies on the good side."""

    @property
    def hidden_length(self) -> float:
        """The rest."""

    @property
    def inner_length(self) -> float:
        """What of that lies between other seams."""

    @property
    def area(self) -> float:
        """Of the contact."""


class SeamNumbers(Protocol):
    """What is known of a seam, measured or estimated."""

    @property
    def normal(self) -> Vector:
        """Of its plane."""

    def reach(self, axis: Vector) -> tuple[float, float]:
        """Return from where to where it reaches along a unit `axis`, mm."""

    @property
    def between(self) -> tuple[str, str]:
        """The names of the pieces on either side."""

    @property
    def figures(self) -> LengthNumbers:
        """Lengths and area."""

    @property
    def deep_room(self) -> RoomNumbers:
        """Room for pins that have material round them on both sides."""


class Numbers(Protocol):
    """The numbers of a plan: those of `Figures`, or estimates made without cutting."""

    @property
    def part(self) -> PartNumbers:
        """The uncut part."""

    @property
    def printer(self) -> Printer:
        """What it is printed on."""

    @property
    def pieces(self) -> Sequence[PieceNumbers]:
        """One for each piece."""

    @property
    def seams(self) -> Sequence[SeamNumbers]:
        """One for each seam."""

    @property
    def under_load(self) -> Sequence[WholeUnderLoad]:
        """The uncut part under each of its load cases."""


@dataclass(frozen=True)
class Criterion:
    """One figure that makes a plan better or worse; lower is better.

    Attributes
    ----------
    name, unit : str
    reference : float
        The value that counts as 1.
    weight : float
        Default weight of one reference; with 0 it counts only when the user says so, and is
        measured only where it is shown.
    measure : function of Figures
        The exact value.
    estimate : function of Numbers, optional
        The same from numbers alone, for the search; None if it takes the pieces themselves, so
        that only finalists are judged by it.
    adds_up : bool
        Whether the value of a plan is the sum of those of its pieces and seams, each taken alone;
        a search then remembers what each of them adds.
    concern : str
        What it is about, where other criteria are about the same: a maker weighs these as one.
    applies : function of Figures, optional
        Whether it says anything of the plan: where it does not its value is 0, and it is not shown.
        None if it always does.
    """

    name: str
    unit: str
    reference: float
    weight: float
    measure: Callable[[Figures], float]
    estimate: Callable[[Numbers], float] | None = None
    adds_up: bool = False
    concern: str = ""
    applies: Callable[[Figures], bool] | None = None

    @property
    def about(self) -> str:
        """What it is about: its concern, or just itself."""
        return self.concern or self.name


def by_numbers(
    name: str,
    unit: str,
    reference: float,
    weight: float,
    value: Callable[[Numbers], float],
    *,
    adds_up: bool = False,
    concern: str = "",
) -> Criterion:
    """Return a criterion whose value comes from the plan's numbers alone."""
    return Criterion(name, unit, reference, weight, value, value, adds_up, concern)
