"""The last steps of the assembly, in which braces are bolted on, as its table shows them."""

from __future__ import annotations

from collections.abc import Sequence

from splitplanner.background.examined import MadeBrace
from splitplanner.joint import Step
from splitplanner.plan import Division, Joint
from splitplanner.window.lists.step_rows import StepRow, tools_of
from splitplanner.window.view.showing import BRACE
from splitplanner.workshop import Shelf, hardware_shelf


def brace_step_rows(
    braces: Sequence[MadeBrace], after: int, division: Division, shelf: Shelf | None
) -> tuple[StepRow, ...]:
    """Return a row for each brace, in their order.

    Parameters
    ----------
    braces : sequence of MadeBrace
        Of the plan that made the pieces.
    after : int
        How many steps put the pieces together.
    division : Division
        The pieces as they are printed.
    shelf : Shelf or None
        Has the keys; the built-in tables by default.
    """
    keys = shelf or hardware_shelf()
    return tuple(
        _row(brace, number, division, keys) for number, brace in enumerate(braces, after + 1)
    )


def _row(brace: MadeBrace, number: int, division: Division, shelf: Shelf) -> StepRow:
    x, y, z = brace.towards
    # All pieces are together by then.
    step = Step((), tuple(division.by_name), (), (-x + 0.0, -y + 0.0, -z + 0.0))
    numbers = sorted(division.piece(name).number for name in brace.pieces)
    return StepRow(
        number=number,
        step=step,
        moving=(),
        standing=tuple(numbers),
        joint=Joint(""),
        tapes=(),
        tools=", ".join(tools_of(brace.bolts, shelf)),
        way=0.0,
        colour=BRACE,
        findings=0,
        worst=None,
        brace=brace,
    )
