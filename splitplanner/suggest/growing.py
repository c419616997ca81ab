"""Growing plans: grids of planes, and trees of cuts, each dividing a block that does not fit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from operator import attrgetter

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.plan import Cut, Vector
from splitplanner.progress import Report
from splitplanner.solid import Plane
from splitplanner.suggest.box_sizes import box_counts
from splitplanner.suggest.estimate import Estimate, Sketch, Survey
from splitplanner.suggest.estimate.blocks import Block
from splitplanner.suggest.pool import Pool
from splitplanner.suggest.stations import Stations

_BEAM = 3
"""Unfinished plans kept at each depth for every number of pieces that they promise."""
_BUCKETS = 3
"""So many numbers of pieces are looked into at each depth, the least ones."""
_MANY = 12
"""Of plans of more pieces than this only one is kept, so that they take no hours."""
_PROMISING = 24
"""Cuts of a block that are looked at closely."""
_CHILDREN = 14
"""Cuts of a block that are judged fully, of all that are tried."""
_DIRECTIONS = 6
"""Directions in which a block is cut."""


@dataclass(eq=False)
class Grower:
    """Finds plans with few pieces.

    Attributes
    ----------
    survey : Survey
    stations : Stations
    pool : Pool
        Takes what is found.
    bound : int
        A number of pieces that no plan can go below.
    """

    survey: Survey
    stations: Stations
    pool: Pool
    bound: int

    def grids_from(self, start: Sketch) -> None:
        """Fill the pool with grids of planes."""
        for cuts in self.grids(start):
            self._take(start, cuts)

    def _take(self, start: Sketch, cuts: list[Cut]) -> None:
        sketch: Sketch | None = start
        for cut in cuts:
            sketch = None if sketch is None else self.survey.applied(sketch, cut)
        if sketch is not None and self.survey.fits(sketch):
            self.pool.add(self.survey.estimate(sketch))

    def grids(self, start: Sketch) -> Iterator[list[Cut]]:
        """Yield grids of evenly spaced planes, of up to twice the boxes that are needed."""
        points = np.concatenate([block.points for block in start.blocks.values()])
        for frame in self.survey.frames[:2]:
            spans = np.ptp(points @ frame.T, axis=0)
            tried = sorted(set(box_counts(spans, self.stations.bed)), key=math.prod)
            for counts in tried:
                if math.prod(counts) <= 2 * math.prod(tried[0]):
                    yield list(_grid(points, frame, counts))

    def trees_from(self, start: Estimate, report: Report) -> None:
        """Cut one block that does not fit after another, keeping the most promising plans."""
        beam = [start]
        depth = 0
        while beam:
            depth += 1
            # By the boxes round them open parts seem to need more than they do.
            most = max(self._limit(), start.needs)
            buckets: dict[int, list[Estimate]] = {}
            for index, state in enumerate(beam):
                for child in self._children(state, most):
                    report(
                        1 - 0.6 ** (depth - 1 + index / len(beam)), f"trying cuts, depth {depth}"
                    )
                    self._sort_in(child, buckets)
            promising = [needs for needs in sorted(buckets) if needs <= most][:_BUCKETS]
            beam = [plan for needs in promising for plan in buckets[needs]]

    def _sort_in(self, child: Sketch, buckets: dict[int, list[Estimate]]) -> None:
        """Take a plan into the pool or, if it is not done, into the best that promise as many."""
        reaches = [self.survey.reach(block) for block in child.blocks.values()]
        if all(reach.fits for reach in reaches):
            self.pool.add(self.survey.estimate(child))
            return
        needs = sum(reach.needs for reach in reaches)
        bucket = buckets.setdefault(needs, [])
        kept = _BEAM if needs <= _MANY else 1
        if len(bucket) < kept or self.survey.cheaper(child, bucket[-1].score) is not None:
            bucket.append(self.survey.estimate(child))
            bucket.sort(key=attrgetter("rank"))
            del bucket[kept:]

    def _limit(self) -> int:
        """Return how many pieces a plan may promise: one more than the least that is known."""
        least = self.pool.least
        return 10**6 if least is None else max(least, self.bound) + 1

    def _children(self, state: Estimate, most: int) -> list[Sketch]:
        """Return the most promising ways to cut the block that needs it most."""
        name, block = max(
            (item for item in state.sketch.blocks.items() if not self.survey.reach(item[1]).fits),
            key=lambda item: (self.survey.reach(item[1]).needs, _room(item[1])),
        )
        rest = state.needs - self.survey.reach(block).needs
        count = len(state.sketch.blocks) - 1
        ranked = []
        for cut, cost in self._promising(name, block):
            halves = self.survey.halves(block, cut.plane)
            if halves is None:
                continue
            reaches = [self.survey.reach(body) for side in halves for body in side]
            needs = rest + sum(reach.needs for reach in reaches)
            unfit = sum(not reach.fits for reach in reaches)
            if needs <= most and count + len(reaches) <= self._limit():
                ranked.append(((needs, unfit, round(cost, 1)), cut))
        ranked.sort(key=lambda item: item[0])
        children = (self.survey.applied(state.sketch, cut) for _, cut in ranked[:_CHILDREN])
        return [child for child in children if child is not None]

    def _promising(self, name: str, block: Block) -> list[tuple[Cut, float]]:
        """Return cuts of a block with their lengths, those that leave least to do first.

        Here the two sides are not looked at for whether they fall apart, which takes far longer.
        """
        ranked = []
        for cut, length in self._cuts(name, block):
            sides = self.survey.sides(block, cut.plane)
            if sides is not None:
                reaches = [self.survey.reach(side) for side in sides]
                needs = sum(reach.needs for reach in reaches)
                unfit = sum(not reach.fits for reach in reaches)
                ranked.append(((needs, unfit, round(length, 1)), (cut, length)))
        ranked.sort(key=lambda item: item[0])
        return [item for _, item in ranked[:_PROMISING]]

    def _cuts(self, name: str, block: Block) -> Iterator[tuple[Cut, float]]:
        """Yield cuts of a block, with the length of the whole part's section there."""
        for normal in self.normals(block):
            profile = self.stations.profile(normal)
            for offset in self.stations.along(block, normal):
                length = float(np.interp(offset, profile.stations, profile.length))
                yield Cut(Plane(normal, offset), name), length

    def normals(self, block: Block) -> list[Vector]:
        """Return directions in which to cut a block, the longest extents first."""
        spans = np.ptp(block.points @ self.survey.directions.T, axis=0)
        order = np.argsort(-np.round(spans, 3), kind="stable")[:_DIRECTIONS]
        return [to_vector(self.survey.directions[index]) for index in np.sort(order)]


def _room(block: Block) -> float:
    return round(float(np.ptp(block.points, axis=0).prod()), 3)


def _grid(points: Floats, frame: Floats, counts: tuple[int, ...]) -> Iterator[Cut]:
    for axis, count in zip(frame, counts, strict=True):
        heights = points @ axis
        low, high = float(heights.min()), float(heights.max())
        for step in range(1, count):
            yield Cut(Plane(to_vector(axis), low + (high - low) * step / count))
