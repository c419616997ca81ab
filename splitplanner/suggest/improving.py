"""Improving plans: sliding cuts, adding and leaving out cuts, as long as the plan score falls."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.plan import Cut
from splitplanner.progress import Report, part_of
from splitplanner.solid import Plane
from splitplanner.suggest.estimate import Estimate
from splitplanner.suggest.growing import Grower

_EACH = 2
"""Plans improved for every number of pieces."""
_SWEEPS = 2
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
    most : int
        Plans of more pieces than this are not made.
    """

    grower: Grower
    most: int

    def run(self, report: Report) -> None:
        """Improve the best plans of every number of pieces, few pieces first.

        What a plan gains by one more cut goes into the pool, and is improved in its turn.
        """
        pool = self.grower.pool
        count = pool.least
        while count is not None and count <= self.most:
            share = 1.0 / max(1, self.most)
            for index, plan in enumerate(pool.of(count)[:_EACH]):
                start = share * (count - 1 + index / _EACH)
                report(min(start, 1.0), f"moving the cuts of a plan of {count} pieces")
                better = self.slid(plan, part_of(report, start, start + share / _EACH))
                self._extend(better)
            count = next((other for other in pool.counts if other > count), None)

    def slid(self, plan: Estimate, report: Report) -> Estimate:
        """Slide the cuts of a plan, one after another, to where the plan scores least."""
        for sweep in range(_SWEEPS):
            before = plan
            for index in range(len(plan.sketch.cuts)):
                report((sweep + index / len(plan.sketch.cuts)) / _SWEEPS, f"moving cut {index + 1}")
                plan = self._slide(plan, index, coarse=sweep == 0)
            if before.score - plan.score < _BETTER:
                break
        return plan

    def _slide(self, plan: Estimate, index: int, *, coarse: bool) -> Estimate:
        if coarse:
            for offset in self._stations(plan, index):
                plan = self._better(plan, self._moved(plan, index, offset))
        for step in _STEPS[0 if coarse else 1 :]:
            for side in (-1, 1):
                while True:
                    here = plan.sketch.cuts[index].plane.offset
                    offset = round(2 * (here + side * step)) / 2
                    moved = self._better(plan, self._moved(plan, index, offset))
                    if moved is plan:
                        break
                    plan = moved
        return plan

    def _stations(self, plan: Estimate, index: int) -> list[float]:
        cut = plan.sketch.cuts[index]
        before = self.grower.survey.sketch(plan.sketch.cuts[:index])
        assert before is not None
        if cut.piece is None:
            block = next(iter(self.grower.survey.start().blocks.values()))
        else:
            block = before.blocks[cut.piece]
        return self.grower.stations.along(block, cut.plane.normal, naturals=3)

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

    def _better(self, plan: Estimate, cuts: list[Cut]) -> Estimate:
        """Return the plan that `cuts` make if it is better than `plan`, else `plan`."""
        survey = self.grower.survey
        sketch = survey.sketch(cuts)
        if sketch is None or len(sketch.blocks) > len(plan.sketch.blocks):
            return plan
        if plan.done and not all(survey.reach(block).fits for block in sketch.blocks.values()):
            return plan
        if survey.at_least(sketch) >= plan.score:
            return plan
        estimate = survey.estimate(sketch)
        self.grower.pool.add(estimate)
        return estimate if estimate.score < plan.score - _BETTER else plan

    def _extend(self, plan: Estimate) -> None:
        """Put into the pool what becomes of a plan by one more cut, where that may pay."""
        survey, pool = self.grower.survey, self.grower.pool
        for cut in self._more_cuts(plan):
            sketch = survey.applied(plan.sketch, cut)
            if sketch is not None and len(sketch.blocks) <= self.most:
                pool.add(survey.estimate(sketch))

    def _more_cuts(self, plan: Estimate) -> Iterator[Cut]:
        """Yield cuts through the costliest piece, and such as divide every piece they meet."""
        grower = self.grower
        costs = {name: row.cost for name, row in plan.prints.items()}
        name = max(costs, key=lambda name: round(costs[name], 6))
        if costs[name] < _COSTLY:
            return
        block = plan.sketch.blocks[name]
        for normal in grower.normals(block)[:4]:
            heights = block.points @ np.array(normal)
            low, high = float(heights.min()), float(heights.max())
            middle = grower.stations.mirror(normal)
            halfway = (low + high) / 2
            offsets = [halfway, *grower.stations.naturals(normal, low, high, 1)]
            if middle is not None and low < middle < high:
                offsets[0] = middle
            for offset in offsets:
                yield Cut(Plane(normal, offset), name)
            yield Cut(Plane(normal, offsets[0]))


def _at(cut: Cut, offset: float) -> Cut:
    return replace(cut, plane=Plane(cut.plane.normal, offset))
