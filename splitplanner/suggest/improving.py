"""Improving plans: sliding cuts, adding and leaving out cuts, as long as the plan score falls."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.plan import Cut
from splitplanner.progress import Report, part_of
from splitplanner.solid import Plane
from splitplanner.suggest.estimate import Estimate, Sketch
from splitplanner.suggest.growing import Grower
from splitplanner.suggest.second import Cuts, Second

_EACH = 2
"""Plans improved for every number of pieces."""
_SWEEPS = 2
_MORE = 6
"""Of the cuts that could be made besides, so many are taken."""
_NATURALS = 3
"""So many short sections and flats are tried for a cut."""
_HARDLY = 0.6
"""Plans with one more cut are kept that score worse by up to this."""
_PATIENCE = 2
"""So many more pieces than the best plan so far are tried."""
_HOPELESS = 1.2
"""Plans of more pieces that score this many times the best are slid to no better than that: cuts
that are slid gain a tenth at most."""
_MANY, _TOO_MANY = 12, 30
"""Above the first number of pieces only one plan is improved and none gets one more cut; above the
second cuts stay where they are."""
_BETTER = 1e-4
_STEPS = (6.0, 2.0)
"""By how much a cut is slid at last, mm."""
_MIRRORED = 0.6
"""Cuts whose offsets are mirror images to within this are slid together, mm."""
_COSTLY = 0.3
"""Pieces that add less than this to the plan score are not divided further."""


@dataclass(eq=False)
class Improver:
    """Improves the plans in a pool.

    Attributes
    ----------
    grower : Grower
        What found the plans; its pool takes what becomes of them.
    fixed : int
        So many of the first cuts of every plan stay where they are.
    wanted : int
        Number of pieces that the user asked for, or 0: more cuts are made until it is reached.
    second : Second, optional
        Slides the cuts of every second plan.
    """

    grower: Grower
    fixed: int = 0
    wanted: int = 0
    second: Second | None = None

    def run(self, report: Report) -> None:
        """Improve the best plans of every number of pieces, few pieces first.

        What a plan gains by one more cut goes into the pool, and is improved in its turn, as long
        as more pieces have paid not long ago.
        """
        pool = self.grower.pool
        best, paid = math.inf, 0
        count = pool.least
        while count is not None and self._goes_on(count, best, paid):
            each = _EACH if count <= _MANY else 1
            at = count - (pool.least or 0)
            span = (1 - 0.7**at, 1 - 0.7 ** (at + 1))
            here = part_of(report, *span)
            # At the last number of pieces, more are of interest only where these pay.
            is_last = not self._goes_on(count + 1, best, paid)
            below = best - _BETTER if is_last else math.inf
            for better, further in self._improved(pool.of(count)[:each], below, here):
                pool.add(better)
                if better.score < best - _BETTER:
                    best, paid = better.score, count
                for sketch in further:
                    pool.add(self.grower.survey.estimate(sketch))
            count = next((other for other in pool.counts if other > count), None)

    def _improved(
        self, plans: list[Estimate], below: float, report: Report
    ) -> Iterator[tuple[Estimate, Iterable[Sketch]]]:
        """Yield plans with their cuts slid, and with one more cut; the other process helps.

        Cuts of plans of very many pieces stay where they are.
        """
        if plans and len(plans[0].sketch.blocks) > _TOO_MANY:
            yield from ((plan, ()) for plan in plans)
            return
        away: dict[int, int] = {}
        if self.second is not None:
            for at in range(1, len(plans), 2):
                away[at] = self.second.ask("improve", plans[at].sketch.cuts, below)
        for at, plan in enumerate(plans):
            here = part_of(report, at / len(plans), (at + 1) / len(plans))
            found = None if at not in away else self._from_second(away[at], here)
            yield found or self.improved(plan, below, here)

    def improved(
        self, plan: Estimate, below: float, report: Report
    ) -> tuple[Estimate, list[Sketch]]:
        """Return a plan with its cuts slid and, if it scores below that, with one more cut too."""
        better = self.slid(plan, report)
        more = len(better.sketch.blocks) <= _MANY and better.score < below
        return better, self._further(better, part_of(report, 1.0, 1.0)) if more else []

    def _from_second(self, number: int, report: Report) -> tuple[Estimate, list[Sketch]] | None:
        assert self.second is not None
        survey = self.grower.survey
        found = self.second.answer(number, lambda: report(0.0, "moving cuts"))
        sketches = [] if found is None else [survey.sketch(cuts) for cuts in found]
        if not sketches or None in sketches:
            return None
        slid, *further = (sketch for sketch in sketches if sketch is not None)
        return survey.estimate(slid), further

    def _goes_on(self, count: int, best: float, paid: int) -> bool:
        if self.wanted:
            return count <= self.wanted
        if best == math.inf or count <= (self.grower.pool.least or 0) + 1:
            return True
        plans = self.grower.pool.of(count)
        hopeless = bool(plans) and plans[0].score > _HOPELESS * best
        return count <= paid + _PATIENCE and not (count > paid and hopeless)

    def slid(self, plan: Estimate, report: Report) -> Estimate:
        """Slide the cuts of a plan, one after another, to where the plan scores least."""
        count = len(plan.sketch.cuts)
        # What was no better than a plan is no better than what has become of it.
        tried = {plan.sketch.cuts}
        for sweep in range(_SWEEPS):
            before = plan
            for index in range(self.fixed, count):
                share = (sweep + index / count) / _SWEEPS
                plan = self._slide(plan, index, sweep == 0, tried, part_of(report, share, share))
            if before.score - plan.score < _BETTER:
                break
        return plan

    def _slide(
        self, plan: Estimate, index: int, coarse: bool, tried: set[Cuts], report: Report
    ) -> Estimate:
        if coarse:
            for offset in self._stations(plan, index):
                report(0.0, f"moving cut {index + 1}")
                plan = self._better(plan, self._moved(plan, index, offset), tried)
                together = self._moved_together(plan, index, offset)
                if together is not None:
                    plan = self._better(plan, together, tried)
        for step in _STEPS[0 if coarse else 1 :]:
            for side in (-1, 1):
                while True:
                    report(0.0, f"moving cut {index + 1}")
                    here = plan.sketch.cuts[index].plane.offset
                    offset = round(2 * (here + side * step)) / 2
                    moved = self._better(plan, self._moved(plan, index, offset), tried)
                    if moved is plan:
                        break
                    plan = moved
        return plan

    def _stations(self, plan: Estimate, index: int) -> list[float]:
        survey, cut = self.grower.survey, plan.sketch.cuts[index]
        if cut.piece is None:
            block = next(iter(survey.start.blocks.values()))
        else:
            before = survey.sketch(plan.sketch.cuts[:index])
            assert before is not None
            block = before.blocks[cut.piece]
        # A cut that goes on in the plane of another one makes one long seam of two.
        others = [
            other.plane.offset
            for other in plan.sketch.cuts
            if other.plane.normal == cut.plane.normal and other.plane != cut.plane
        ]
        usual = self.grower.stations.along(block, cut.plane.normal, naturals=_NATURALS)
        return list(dict.fromkeys([*others, *usual]))

    def _moved(self, plan: Estimate, index: int, offset: float) -> list[Cut]:
        """Return the cuts with one of them, and its mirror image if there is one, elsewhere."""
        cuts = list(plan.sketch.cuts)
        cut = cuts[index]
        middle = self.grower.stations.mirror(cut.plane.normal)
        if middle is not None:
            image = 2 * middle - cut.plane.offset
            for other, twin in enumerate(cuts):
                near = abs(twin.plane.offset - image) < _MIRRORED
                if other != index and twin.plane.normal == cut.plane.normal and near:
                    cuts[other] = _at(twin, 2 * middle - offset)
        cuts[index] = _at(cut, offset)
        return cuts

    def _moved_together(self, plan: Estimate, index: int, offset: float) -> list[Cut] | None:
        """Return the cuts with all that lie in the plane of one elsewhere; None if it is alone."""
        cuts, plane = plan.sketch.cuts, plan.sketch.cuts[index].plane
        alike = [at for at in range(self.fixed, len(cuts)) if cuts[at].plane == plane]
        if len(alike) < 2:
            return None
        return [_at(cut, offset) if at in alike else cut for at, cut in enumerate(cuts)]

    def _better(self, plan: Estimate, cuts: list[Cut], tried: set[Cuts]) -> Estimate:
        """Return the plan that `cuts` make if it is better than `plan`, else `plan`."""
        if tuple(cuts) in tried:
            return plan
        tried.add(tuple(cuts))
        survey = self.grower.survey
        sketch = survey.sketch(cuts)
        if sketch is None or len(sketch.blocks) > len(plan.sketch.blocks):
            return plan
        if survey.cheaper(sketch, plan.score, fitting=plan.done) is None:
            return plan
        estimate = survey.estimate(sketch)
        self.grower.pool.add(estimate, on_the_way=True)
        return estimate if estimate.score < plan.score - _BETTER else plan

    def _further(self, plan: Estimate, report: Report) -> list[Sketch]:
        """Return what becomes of a plan by one more cut, where that may pay.

        All cuts are compared by what pieces and seams would cost, and the best are taken.
        """
        survey = self.grower.survey
        sketches: list[tuple[float, int, Sketch]] = []
        for number, cut in enumerate(self._more_cuts(plan)):
            report(0.0, "trying one more cut")
            sketch = survey.applied(plan.sketch, cut)
            if sketch is not None:
                sketches.append((round(survey.least_cost(sketch), 6), number, sketch))
        ranked: list[tuple[float, int, Sketch]] = []
        # The most promising first: the others need no closer look then.
        for _, number, sketch in sorted(sketches, key=lambda item: item[:2]):
            report(0.0, "trying one more cut")
            wanted = len(sketch.blocks) <= self.wanted
            most = math.inf if wanted else plan.score + _HARDLY
            if len(ranked) == _MORE:
                most = min(most, ranked[-1][0] + _BETTER)
            cost = survey.cheaper(sketch, most)
            if cost is not None:
                ranked.append((round(cost, 6), number, sketch))
                ranked.sort(key=lambda item: item[:2])
                del ranked[_MORE:]
        return [sketch for *_, sketch in ranked]

    def _more_cuts(self, plan: Estimate) -> Iterator[Cut]:
        """Yield cuts through the costliest piece, and such as divide every piece they meet."""
        grower = self.grower
        costs = {name: row.cost for name, row in plan.prints.items()}
        name = max(costs, key=lambda name: round(costs[name], 6))
        if costs[name] < _COSTLY and len(costs) >= self.wanted:
            return
        block = plan.sketch.blocks[name]
        for normal in grower.normals(block)[:4]:
            heights = block.points @ np.array(normal)
            low, high = float(heights.min()), float(heights.max())
            middle = grower.stations.mirror(normal)
            through = middle is not None and low < middle < high
            halfway = middle if middle is not None and through else (low + high) / 2
            offsets = [halfway, *grower.stations.naturals(normal, low, high, _NATURALS)]
            for offset in dict.fromkeys(offsets):
                yield Cut(Plane(normal, offset), name)
            yield Cut(Plane(normal, halfway))


def _at(cut: Cut, offset: float) -> Cut:
    return replace(cut, plane=Plane(cut.plane.normal, offset))
