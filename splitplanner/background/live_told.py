"""What a kept check by cells answers to another plan, and to which plans it can."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from splitplanner.arrays import Floats
from splitplanner.plan import Joint, Plan

if TYPE_CHECKING:
    # They take long to load, and who only passes this on has no need of them.
    from splitplanner.loaded.cells_values import BraceInCells, LiveAnswer, SeamInCells


@dataclass(frozen=True, eq=False)
class LiveState:
    """All seams and braces, held in one way.

    Attributes
    ----------
    answer : LiveAnswer
    by_hand : mapping of seam name to (n,) float array
        How many times what the hand formula gives each screw takes by cells; NaN for those that it
        gives nothing. It is a lower bound.
    """

    answer: LiveAnswer
    by_hand: Mapping[str, Floats]

    def seam(self, name: str) -> SeamInCells | None:
        """Return what one seam does; None if there is no such one."""
        return next((each for each in self.answer.seams if each.seam == name), None)

    def brace(self, name: str) -> BraceInCells | None:
        """Return what one brace takes; None if it is not there."""
        return next((each for each in self.answer.braces if each.brace == name), None)


@dataclass(frozen=True, eq=False)
class LiveTold:
    """What a kept check answers.

    Attributes
    ----------
    load : str
        The load case.
    before : LiveState or None
        The plan as it was checked; None where nothing could be worked out.
    after : LiveState
        The plan that is asked for.
    seconds : float
        How long it took by the clock.
    """

    load: str
    before: LiveState | None
    after: LiveState
    seconds: float


def change_beyond(checked: Plan, plan: Plan, load: str) -> str:
    """Return what keeps a check of one plan from answering to another.

    Pins, screws and tape may be others, and braces may be gone: what they hold is laid into the
    cells of the pieces as those were. Anything else makes other pieces.

    Parameters
    ----------
    checked, plan : Plan
    load : str
        Name of the load case that was checked.

    Returns
    -------
    str
        A clause such as ``the cuts are others``; empty if it can answer.
    """
    for is_same, words in (
        (checked.part == plan.part, "the part is another"),
        (checked.cuts == plan.cuts, "the cuts are others"),
        (checked.print_directions == plan.print_directions, "a print direction is another"),
        (checked.material == plan.material, "the material is another"),
        (_loading(checked, load) == _loading(plan, load), f"load case “{load}” is another"),
    ):
        if not is_same:
            return words
    known = {each.seam: each for each in checked.joints}
    for joint in plan.joints:
        if _form(joint) != _form(known.get(joint.seam, Joint(joint.seam))):
            return f"flange or register of {joint.seam} are others"
    there = {each.seam for each in plan.joints}
    for name in known:
        if name not in there:
            return f"what holds {name} is being placed anew"
    for brace in plan.braces:
        if brace not in checked.braces:
            return f"{brace.name} was not there, or ran otherwise"
    if _rest(checked) != _rest(plan):
        return "printer or hardware are others"
    return ""


def _form(joint: Joint) -> Joint:
    """Return what of a joint is in the pieces themselves."""
    return replace(joint, pins=(), screws=(), tape=None)


def _loading(plan: Plan, name: str) -> object:
    return next((each for each in plan.loadings if each.name == name), None)


def _rest(plan: Plan) -> Plan:
    """Return a plan without what was compared already, or has nothing to do with it."""
    return replace(
        plan, joints=(), braces=(), loadings=(), seed=0, seams_named_by=None, print_directions={}
    )
