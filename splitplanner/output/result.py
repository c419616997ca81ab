"""Everything known about one planned part: what the papers, files and pictures are made from."""

from __future__ import annotations

from dataclasses import dataclass, replace

from splitplanner.findings import Finding, faults
from splitplanner.plan import Division, Joint, Piece, Pin, Plan, Seam
from splitplanner.score import Scorecard
from splitplanner.solid import ReadPart
from splitplanner.suggest import LowerBound, Suggestion


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

    def assembly(self) -> list[tuple[Seam, Joint]]:
        """Return the seams in the order in which the pieces go together: the last cut first."""
        seams = sorted(self.division.seams, key=lambda seam: -seam.cut)
        return [(seam, self.plan.joint(seam.name)) for seam in seams]


def piece_file_name(piece: Piece) -> str:
    """Return the stem of the files of a piece, such as ``piece-03``."""
    return f"piece-{piece.number:02d}"
