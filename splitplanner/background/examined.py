"""What was found out about a plan, as it comes from the process that examined it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from splitplanner.findings import Finding
from splitplanner.plan import Plan, Vector
from splitplanner.score import GoodSideFigures, Scorecard, WallFigures
from splitplanner.solid import Solid

if TYPE_CHECKING:
    # They take long to load, and who only passes this on has no need of them.
    from splitplanner.joint import Assembly
    from splitplanner.joint.brace.bolts import BraceBolt
    from splitplanner.joint.brace.first_hole import FirstHole
    from splitplanner.loaded import StrengthAnswer
    from splitplanner.output import PartsList
    from splitplanner.suggest import LowerBound


@dataclass(frozen=True, eq=False)
class MadeBrace:
    """A brace of the plan as it is made.

    Attributes
    ----------
    name : str
    solid : Solid
        With its holes, in the part's frame, mm.
    towards : (x, y, z)
        Away from the part.
    bolts : tuple of BraceBolt
        Along the brace.
    first : FirstHole or None
        Which of its ends goes where.
    """

    name: str
    solid: Solid
    towards: Vector
    bolts: tuple[BraceBolt, ...] = ()
    first: FirstHole | None = None

    @property
    def pieces(self) -> tuple[str, ...]:
        """Names of the pieces that it is bolted to."""
        return tuple(dict.fromkeys(bolt.piece for bolt in self.bolts))


@dataclass(frozen=True, eq=False)
class Examined:
    """What was found out about a plan, beside its `Division` and `Figures`.

    Attributes
    ----------
    plan : Plan
        With what was filled in.
    card : Scorecard
    bound : LowerBound
    findings : tuple of Finding
        Of checking; those of reading the part are not among them.
    order : Assembly or None
        In which order the pieces go together; its findings are among those above.
    good_sides : tuple of GoodSideFigures
        What each piece has on the good side as it prints.
    walls : WallFigures or None
        How the walls of the uncut part come out in whole printed lines.
    strength : StrengthAnswer or None
        What the plan's load cases do; None where it has none.
    braces : tuple of MadeBrace
        Those of the plan that can be made.
    needed : PartsList or None
        What has to be bought and made for the plan and these braces.
    """

    plan: Plan
    card: Scorecard
    bound: LowerBound
    findings: tuple[Finding, ...]
    order: Assembly | None = None
    good_sides: tuple[GoodSideFigures, ...] = ()
    walls: WallFigures | None = None
    strength: StrengthAnswer | None = None
    braces: tuple[MadeBrace, ...] = ()
    needed: PartsList | None = None
