"""What was found out about a plan, as it comes from the process that examined it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from splitplanner.findings import Finding
from splitplanner.plan import Plan
from splitplanner.score import GoodSideFigures, Scorecard, WallFigures

if TYPE_CHECKING:
    # They take long to load, and who only passes this on has no need of them.
    from splitplanner.joint import Assembly
    from splitplanner.loaded import StrengthAnswer
    from splitplanner.suggest import LowerBound


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
    """

    plan: Plan
    card: Scorecard
    bound: LowerBound
    findings: tuple[Finding, ...]
    order: Assembly | None = None
    good_sides: tuple[GoodSideFigures, ...] = ()
    walls: WallFigures | None = None
    strength: StrengthAnswer | None = None
