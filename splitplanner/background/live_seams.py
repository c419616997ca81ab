"""A check by cells that is kept, so that other screws, pins and braces are answered to at once."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from splitplanner.arrays import Floats
from splitplanner.background.desk import KEPT_CELLS, Desk, Hand, shelf_on
from splitplanner.background.live_told import LiveState, LiveTold, change_beyond
from splitplanner.errors import LoadError
from splitplanner.plan import Joint, Plan
from splitplanner.progress import Report
from splitplanner.strength import plastic_of
from splitplanner.workshop import Shelf, known_material

if TYPE_CHECKING:
    # They take long to load, and are there when something is kept.
    from splitplanner.loaded.cells_answers import CondensedPlan
    from splitplanner.loaded.cells_hand import ByHand

_MOST = 400
"""So many gaps of places that were tried are remembered beside the plan's own."""


@dataclass(eq=False)
class KeptCells:
    """A plan under one load case, condensed to its seams.

    Attributes
    ----------
    checked : CondensedPlan
    load : str
        Name of the load case.
    factor : float
        So many times its loads.
    uncut : float
        Sag of the part as if printed in one under the loads once, mm.
    shelf : Shelf
    """

    checked: CondensedPlan
    load: str
    factor: float
    uncut: float
    shelf: Shelf
    before: LiveState | None = field(default=None, init=False)
    _known: CondensedPlan | None = field(default=None, init=False)
    _hand: ByHand = field(init=False)

    def __post_init__(self) -> None:
        from splitplanner.loaded.cells_hand import ByHand

        material, _ = known_material(self.checked.plan.material)
        self._hand = ByHand(plastic_of(material).stiffness, self.shelf)
        try:
            self.before = self._state(self.checked, self._joints(self.checked.plan), None)
        except LoadError:
            # More screws may make of it what can be worked out.
            self.before = None

    def told(self, plan: Plan, without: Collection[str]) -> LiveTold:
        """Return what a plan does, and what it did when it was checked.

        Parameters
        ----------
        plan : Plan
            One that `change_beyond` has nothing against.
        without : collection of str
            Names of braces that are taken not to be there.

        Raises
        ------
        LoadError
            If a piece is held by nothing, or a fastener is beside its pieces.
        WorkshopError
            If hardware is not on the shelf.
        """
        start = time.perf_counter()
        joints = self._joints(plan)
        braces = [each.name for each in plan.braces if each.name not in without]
        after = self._state(self._knowing(joints), joints, braces)
        return LiveTold(self.load, self.before, after, time.perf_counter() - start)

    def _joints(self, plan: Plan) -> list[Joint]:
        return [plan.joint(sides.seam.name) for sides in self.checked.sides]

    def _knowing(self, joints: list[Joint]) -> CondensedPlan:
        """Return the plan with all places that are wanted; of old ones not too many."""
        known = self._known or self.checked
        if known.found.gaps.shape[0] > self.checked.found.gaps.shape[0] + _MOST:
            known = self.checked
        self._known = known = known.knowing(joints)
        return known

    def _state(
        self, known: CondensedPlan, joints: list[Joint], braces: list[str] | None
    ) -> LiveState:
        answer = known.answer("braced", joints, braces, factor=self.factor, uncut=self.uncut)
        glued = {each.seam for each in known.glued}
        by_hand: dict[str, Floats] = {}
        for sides, joint, found in zip(known.sides, joints, answer.seams, strict=True):
            name = sides.seam.name
            by_hand[name] = self._hand.factors(sides.seam, joint, found, name in glued)
        return LiveState(answer, by_hand)


def keeping(desk: Desk, load: str) -> Callable[[CondensedPlan, float, float], None]:
    """Return what keeps a checked plan on a desk; what was kept goes at once, as it is large.

    It takes the plan, how many times the loads are on it, and the sag of the part as if printed in
    one under the loads once, mm.

    Parameters
    ----------
    desk : Desk
    load : str
        Name of the load case.
    """
    desk.pop(KEPT_CELLS, None)

    def keep(found: CondensedPlan, factor: float, uncut: float) -> None:
        desk[KEPT_CELLS] = KeptCells(found, load, factor, uncut, found.fixings.shelf)

    return keep


def answer_seams(
    desk: Desk,
    report: Report,
    hand: Hand,
    plan: Plan,
    load: str,
    without: Collection[str] = (),
) -> LiveTold | None:
    """Answer to other pins, screws and braces by the check that is kept, within 0.1 s.

    Returns
    -------
    LiveTold or None
        None if no check is kept that can answer.

    Raises
    ------
    LoadError, WorkshopError
        As `KeptCells.told`.
    """
    kept: KeptCells | None = desk.get(KEPT_CELLS)
    if kept is None or kept.load != load or kept.shelf != shelf_on(desk):
        return None
    if change_beyond(kept.checked.plan, plan, load):
        return None
    return kept.told(plan, without)
