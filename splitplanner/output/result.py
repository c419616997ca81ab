"""Everything known about one planned part: what the papers, files and pictures are made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from splitplanner.findings import Finding, faults, numbered
from splitplanner.joint import Assembly, Brace, Step, find_order
from splitplanner.loaded import StrengthAnswer
from splitplanner.plan import Division, Piece, Plan, Seam, Vector
from splitplanner.score import (
    BedPrint,
    GoodSideFigures,
    PrintTotals,
    Scorecard,
    WallFigures,
    filament_findings,
    print_totals,
)
from splitplanner.solid import ReadPart
from splitplanner.suggest import LowerBound, Suggestion
from splitplanner.workshop import Shelf


@dataclass(frozen=True, eq=False)
class AssemblyStep:
    """One push that joins two groups of pieces.

    Attributes
    ----------
    moving, standing : tuple of int
        Numbers of the pieces in each group; those of a group hang together already.
    seams : tuple of Seam
        All that this push closes.
    direction : (x, y, z)
        The way in which the moving group goes, in the part's frame.
    pins, screws : int
        How many go into them.
    """

    moving: tuple[int, ...]
    standing: tuple[int, ...]
    seams: tuple[Seam, ...]
    direction: Vector
    pins: int
    screws: int


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
        The pieces as cut.
    card : Scorecard
        Of the pieces as they are printed.
    bound : LowerBound
        The number of pieces that no plan can go below.
    suggestion : Suggestion or None
        All proposals, when the plan is one of them.
    findings : tuple of Finding
        Of reading, healing, joining, checking and writing, in that order; they call pieces by
        their numbers, whatever they are given as.
    order : Assembly, optional
        In which the pieces go together, found on the pieces as they are printed; by the cuts and
        the joints alone if it is not given.
    shelf : Shelf, optional
        The hardware that its joints were made of and checked by.
    good_sides : tuple of GoodSideFigures
        What each piece has on the good side as it prints; none where that was not measured.
    walls : WallFigures, optional
        How the walls of the uncut part come out in whole printed lines.
    spool_left : float or None, optional
        What is left on the started spool, g, where that is known; see `with_spool_left`.
    braces : tuple of Brace
        Those of the plan that can be made, on the pieces with their flanges.
    strength : StrengthAnswer, optional
        What it stands of the plan's load cases; None where the plan has none.
    """

    title: str
    source: ReadPart
    plan: Plan
    division: Division
    card: Scorecard
    bound: LowerBound
    suggestion: Suggestion | None = None
    findings: tuple[Finding, ...] = ()
    order: Assembly | None = None
    shelf: Shelf | None = None
    good_sides: tuple[GoodSideFigures, ...] = ()
    walls: WallFigures | None = None
    spool_left: float | None = None
    braces: tuple[Brace, ...] = ()
    strength: StrengthAnswer | None = None

    @property
    def is_sound(self) -> bool:
        """True when no finding is a fault."""
        return not faults(self.findings)

    def __post_init__(self) -> None:
        numbers = self.division.numbers
        told = tuple(numbered(finding, numbers) for finding in self.findings)
        object.__setattr__(self, "findings", told)

    def with_findings(self, *more: Finding) -> Result:
        """Return the result with more findings."""
        return replace(self, findings=(*self.findings, *more))

    def with_spool_left(self, left: float | None, beds: Sequence[BedPrint] = ()) -> Result:
        """Return the result with what is left on the started spool (g), and what that leads to.

        Where the plan says of no material, nothing is known of spools.

        Parameters
        ----------
        left : float or None
            g; None where it is not known.
        beds : sequence of BedPrint, optional
            What each bed takes, if it is known which pieces are printed together; as if each had a
            bed of its own otherwise. See `splitplanner.output.beds_of`.

        Raises
        ------
        WorkshopError
            If it is below 0 or not finite.
        """
        material = self.plan.material
        others = tuple(each for each in self.findings if not each.kind.startswith("filament."))
        figures = self.card.figures
        more = () if material is None else filament_findings(figures, material, left, beds)
        return replace(self, findings=(*others, *more), spool_left=left)

    def printing(self) -> PrintTotals | None:
        """Return what pieces and printed braces take to print; None if layers are not known."""
        return print_totals(self.card.figures, self.plan.material, self.spool_left)

    @property
    def made(self) -> Division:
        """The division with its pieces as they are printed: with flanges, holes and the like."""
        return replace(self.division, pieces=tuple(row.piece for row in self.card.figures.pieces))

    def number(self, piece_name: str) -> int:
        """Return the number of a piece by its name."""
        return self.division.piece(piece_name).number

    def printed_as(self, name: str) -> str:
        """Return what papers call something that is printed: a piece's number, a brace's name."""
        rows = {row.name: row for row in self.card.figures.pieces}
        return str(rows[name].piece.number) if name in rows else name

    def assembly(self) -> tuple[AssemblyStep, ...]:
        """Return in which order the pieces go together."""
        joints = {joint.seam: joint for joint in self.plan.joints}
        order = self.order or find_order(self.division, joints)
        return tuple(self._step(step) for step in order.steps)

    def _step(self, step: Step) -> AssemblyStep:
        closed = [self.plan.joint(name) for name in step.seams]
        return AssemblyStep(
            tuple(sorted(self.number(name) for name in step.moving)),
            tuple(sorted(self.number(name) for name in step.standing)),
            tuple(seam for seam in self.division.seams if seam.name in step.seams),
            step.direction,
            sum(len(joint.pins) for joint in closed),
            sum(len(joint.screws) for joint in closed),
        )


def piece_file_name(piece: Piece) -> str:
    """Return the stem of the files of a piece, such as ``piece-03``."""
    return f"piece-{piece.number:02d}"
