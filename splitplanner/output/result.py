"""Everything known about one planned part: what the papers, files and pictures are made from."""

from __future__ import annotations

from dataclasses import dataclass, replace

from splitplanner.findings import Finding, faults
from splitplanner.plan import Division, Piece, Pin, Plan, Seam, Vector
from splitplanner.score import Scorecard
from splitplanner.solid import ReadPart
from splitplanner.suggest import LowerBound, Suggestion


@dataclass(frozen=True, eq=False)
class AssemblyStep:
    """One push that joins what stands on the two sides of a cut.

    Attributes
    ----------
    below, above : tuple of int
        Numbers of the pieces on each side; those joined by earlier steps hang together already.
    seams : tuple of Seam
        All that this push closes.
    pins : int
        How many pins go into them.
    """

    below: tuple[int, ...]
    above: tuple[int, ...]
    seams: tuple[Seam, ...]
    pins: int

    @property
    def direction(self) -> Vector:
        """The way in which the pieces below go, in the part's frame; those above come against."""
        return self.seams[0].plane.normal


@dataclass(frozen=True, eq=False)
class Result:
    """A plan with all its figures.

    Attributes
    ----------
    title : str
        Name of the part, for headings.
    source : ReadPart
        The part and how it was read.
    plan : Plan
    division : Division
    card : Scorecard
    bound : LowerBound
        The number of pieces that no plan can go below.
    suggestion : Suggestion or None
        All proposals, when the plan is one of them.
    findings : tuple of Finding
        Of reading, healing, joining, checking and writing, in that order.
    """

    title: str
    source: ReadPart
    plan: Plan
    division: Division
    card: Scorecard
    bound: LowerBound
    suggestion: Suggestion | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def is_sound(self) -> bool:
        """True when no finding is a fault."""
        return not faults(self.findings)

    def with_findings(self, *more: Finding) -> Result:
        """Return the result with more findings."""
        return replace(self, findings=(*self.findings, *more))

    def number(self, piece_name: str) -> int:
        """Return the number of a piece by its name."""
        return self.division.piece(piece_name).number

    def pins_of(self, piece: Piece) -> list[tuple[Pin, int]]:
        """Return the pins in a piece, each with the side of its seam the piece is on.

        The side is 1 where the piece is above the seam, and -1 where it is below.
        """
        found = []
        for seam in self.division.seams:
            if piece.name in (seam.below, seam.above):
                side = 1 if piece.name == seam.above else -1
                found += [(pin, side) for pin in self.plan.joint(seam.name).pins]
        return found

    def assembly(self) -> tuple[AssemblyStep, ...]:
        """Return in which order the pieces go together: the last cut first.

        Seams of one cut that lie between the same pieces, or between pieces that hang together by
        then, close in one push.
        """
        blocks = {piece.name: frozenset({piece.name}) for piece in self.division.pieces}
        steps: list[AssemblyStep] = []
        for cut in sorted({seam.cut for seam in self.division.seams}, reverse=True):
            pushes: list[list[Seam]] = []
            reach: list[frozenset[str]] = []
            for seam in (seam for seam in self.division.seams if seam.cut == cut):
                both = blocks[seam.below] | blocks[seam.above]
                meets = [index for index, names in enumerate(reach) if names & both]
                group = [each for index in meets for each in pushes[index]] + [seam]
                both = both.union(*(reach[index] for index in meets))
                pushes = [p for index, p in enumerate(pushes) if index not in meets] + [group]
                reach = [r for index, r in enumerate(reach) if index not in meets] + [both]
            steps += [self._step(seams, blocks) for seams in pushes]
            for names in reach:
                blocks.update(dict.fromkeys(names, names))
        return tuple(steps)

    def _step(self, seams: list[Seam], blocks: dict[str, frozenset[str]]) -> AssemblyStep:
        below = {name for seam in seams for name in blocks[seam.below]}
        above = {name for seam in seams for name in blocks[seam.above]}
        return AssemblyStep(
            tuple(sorted(self.number(name) for name in below)),
            tuple(sorted(self.number(name) for name in above)),
            tuple(seams),
            sum(len(self.plan.joint(seam.name).pins) for seam in seams),
        )


def piece_file_name(piece: Piece) -> str:
    """Return the stem of the files of a piece, such as ``piece-03``."""
    return f"piece-{piece.number:02d}"
