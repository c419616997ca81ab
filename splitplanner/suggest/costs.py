"""What a piece, a seam or a plan adds to the plan score, under the user's weights."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from splitplanner.score import CRITERIA, Criterion, Numbers
from splitplanner.score.criteria.piece_count import PIECE_COUNT
from splitplanner.score.criterion import PartNumbers, PieceNumbers, SeamNumbers
from splitplanner.score.scorecard import weighed
from splitplanner.strength import WholeUnderLoad
from splitplanner.workshop import Printer


@dataclass(frozen=True, eq=False)
class PlanNumbers:
    """The numbers of a plan, or of one piece or seam taken alone."""

    part: PartNumbers
    printer: Printer
    pieces: Sequence[PieceNumbers] = ()
    seams: Sequence[SeamNumbers] = ()
    under_load: Sequence[WholeUnderLoad] = ()


@dataclass(frozen=True, eq=False)
class Costs:
    """The criteria that count and can be told from numbers alone.

    Attributes
    ----------
    part : PartNumbers
        The uncut part, by which figures are scaled.
    printer : Printer
    weights : mapping of criterion name to weight
        Replaces default weights.
    under_load : tuple of WholeUnderLoad
        The uncut part under each of its load cases.
    """

    part: PartNumbers
    printer: Printer
    weights: Mapping[str, float] = field(default_factory=dict)
    under_load: tuple[WholeUnderLoad, ...] = ()
    _single: list[tuple[Criterion, float]] = field(default_factory=list)
    _pieces: list[tuple[Criterion, float]] = field(default_factory=list)
    _seams: list[tuple[Criterion, float]] = field(default_factory=list)
    _whole: list[tuple[Criterion, float]] = field(default_factory=list)
    _of_pieces: list[Criterion] = field(default_factory=list)

    def __post_init__(self) -> None:
        for criterion, factor in told_by_numbers(self.weights):
            read = _read_by(criterion, _Watched(self.part, self.printer, self.under_load))
            if not criterion.adds_up:
                self._whole.append((criterion, factor))
                if "pieces" in read:
                    self._of_pieces.append(criterion)
                continue
            self._single.append((criterion, factor))
            if "pieces" in read:
                self._pieces.append((criterion, factor))
            if "seams" in read:
                self._seams.append((criterion, factor))

    @property
    def needs_fit(self) -> bool:
        """Whether criteria count that look at how a piece lies on the bed in each direction."""
        usual = all(criterion.weight for criterion, _ in self._single)
        return bool(self._of_pieces) or not usual

    @cached_property
    def least_piece(self) -> float:
        """What any piece adds, if it prints without flaw and in no time: that it is one more."""
        return sum(weight for criterion, weight in self._single if criterion is PIECE_COUNT)

    def of_piece(self, piece: PieceNumbers) -> float:
        """Return what a piece adds to the plan score."""
        return _total(self._pieces, PlanNumbers(self.part, self.printer, pieces=(piece,)))

    def of_print(self, piece: PieceNumbers) -> float:
        """Return by what the print directions of one piece are compared.

        What the piece adds, and what a plan of this piece alone would score by the criteria that
        do not add up.
        """
        alone = PlanNumbers(self.part, self.printer, pieces=(piece,))
        return _total(self._pieces, alone) + _total(self._whole, alone)

    def of_seam(self, seam: SeamNumbers) -> float:
        """Return what a seam adds to the plan score."""
        return _total(self._seams, PlanNumbers(self.part, self.printer, seams=(seam,)))

    def of_whole(self, plan: Numbers) -> float:
        """Return what a plan scores by the criteria that do not add up."""
        return _total(self._whole, plan)


def told_by_numbers(weights: Mapping[str, float]) -> list[tuple[Criterion, float]]:
    """Return the criteria that count and can be told from numbers alone, and their share for 1."""
    return [
        (criterion, weight / criterion.reference)
        for criterion, weight in weighed(CRITERIA, weights)
        if weight and criterion.estimate is not None
    ]


class _Watched:
    """The numbers of a plan of nothing, which notes what is read of it."""

    def __init__(
        self, part: PartNumbers, printer: Printer, under_load: Sequence[WholeUnderLoad]
    ) -> None:
        self.part, self.printer, self.under_load = part, printer, under_load
        self.read: set[str] = set()

    @property
    def pieces(self) -> Sequence[PieceNumbers]:
        """None."""
        self.read.add("pieces")
        return ()

    @property
    def seams(self) -> Sequence[SeamNumbers]:
        """None."""
        self.read.add("seams")
        return ()


def _read_by(criterion: Criterion, watched: _Watched) -> set[str]:
    """Return what a criterion looks at, pieces or seams: others need not be asked about these."""
    assert criterion.estimate is not None
    criterion.estimate(watched)
    return watched.read


def _total(criteria: list[tuple[Criterion, float]], plan: Numbers) -> float:
    total = 0.0
    for criterion, weight in criteria:
        assert criterion.estimate is not None
        total += weight * criterion.estimate(plan)
    return total
