"""Tilting: the last step of the refinement, in which cuts of the best plans leave their direction.

A plane askew is harder to set, to print on and to glue than a square one, so that a tilt has to
earn it. What is told by the direction of a cut alone is looked at first (how long the crossing is),
since every new direction costs new soundings, sections and crossings.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from operator import attrgetter

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.plan import WHOLE, Cut
from splitplanner.progress import Report, part_of
from splitplanner.solid import Plane, plane_segments
from splitplanner.suggest.estimate import Estimate
from splitplanner.suggest.estimate.clipping import clipped
from splitplanner.suggest.estimate.seams import SeamEstimate
from splitplanner.suggest.improving import Improver
from splitplanner.suggest.mirroring import Mirror, is_mirrored

_PLANS = 2
"""So many of the best plans are tried."""
_TRIALS = 8
"""Tilts judged in all that lead nowhere: one or two in a hundred of what a search judges,
at twice the price."""
_CUTS = 3
"""Of a plan, so many cuts are tried, the costliest first."""
_WORTH = 0.05
"""By how much a tilt has to lower the plan score: as much as a piece adds that fills the bed to its
edge, and a fifth of what one more piece adds. For less nobody should have to set an odd angle."""
_SURE = 0.02
"""And by this share of the score: estimates of overhang and support are off by up to 2 %."""
_COARSE = 8
"""Tilts that are judged in any case, degrees."""
_LOOKED_AT, _ASIDE = (4, 8, 12), (0.0, -6.0, 6.0, -12.0, 12.0, -18.0, 18.0, -24.0, 24.0)
"""Tilts, degrees, and slides, mm, of which the length of the crossing is looked at."""
_PROMISING = 0.5
"""A tilt that does not bring at least this share of what it has to is not looked at any closer."""
_FINE = (3, 1)
"""Steps by which a tilt that helps is made better, degrees, and by which the cut is slid, mm."""
_MOST = 30
"""No cut is tilted by more, degrees."""
_BETTER = 1e-4
_NEAR = 1.0
"""Middles of sections this near to each other are the same, mm."""
_SAME_WAY = 1e-3

Pose = tuple[int, int, float]
"""Slopes along the two in-plane axes of a hinge, whole degrees; and how far the cut is slid, mm."""
_UPRIGHT: Pose = (0, 0, 0.0)


@dataclass(frozen=True, eq=False)
class Hinge:
    """How one cut of a plan may be tilted, and the cuts that have to go with it.

    Attributes
    ----------
    normal : (3,) float array
        Of the cut as it was.
    axes : (2, 3) float array
        In the plane, across each other; a tilt slopes along them.
    free : tuple of 2 bool
        Along which of them it may slope so that a symmetric plan stays so.
    ways : dict of int to (3, 3) float array
        For the cut and its mirror images, by their places in the plan, the reflections that lead
        from the cut to them.
    pivots : dict of int to (3,) float array, mm
        The middles of their sections.
    """

    normal: Floats
    axes: Floats
    free: tuple[bool, bool]
    ways: dict[int, Floats]
    pivots: dict[int, Floats]

    def turned(self, cuts: Sequence[Cut], pose: Pose) -> list[Cut]:
        """Return the cuts with these tilted about their pivots, then slid.

        The distance from the origin is made a whole number of half millimetres, as of other cuts.
        """
        slopes = np.tan(np.radians(pose[:2]))
        normal = self.normal + slopes @ self.axes
        normal /= np.linalg.norm(normal)
        first = next(iter(self.ways))
        away = float(normal @ self.pivots[first])
        moved = round(2 * (away + pose[2])) / 2 - away
        result = list(cuts)
        for index, way in self.ways.items():
            image = way @ normal
            plane = Plane(to_vector(image), float(image @ self.pivots[index]) + moved)
            same = float(image @ np.array(cuts[index].plane.normal)) > 0
            result[index] = replace(cuts[index], plane=plane if same else plane.flipped())
        return result


@dataclass(eq=False)
class Tilter:
    """Tilts cuts of the best plans in a pool.

    Attributes
    ----------
    improver : Improver
        What slid the cuts; its pool takes what becomes of them, its fixed cuts stay.
    mirrors : list of Mirror
        The part's planes of symmetry.
    trials : int
        So many tilts that lead nowhere are judged.
    """

    improver: Improver
    mirrors: list[Mirror]
    trials: int = _TRIALS

    def run(self, report: Report) -> None:
        """Try the best plans; what is worth an odd plane goes into the pool."""
        pool = self.improver.grower.pool
        # The same planes may have cut all pieces or a named one, which comes to the same.
        by_planes = {_planes(plan): plan for plan in reversed(pool.all) if plan.sketch.cuts}
        plans = sorted(by_planes.values(), key=attrgetter("rank"))[:_PLANS]
        for at, plan in enumerate(plans):
            here = part_of(report, at / len(plans), (at + 1) / len(plans))
            tilted = self.tilted(plan, here)
            if tilted is not plan:
                pool.add(tilted)

    def tilted(self, plan: Estimate, report: Report) -> Estimate:
        """Return a plan with its cuts tilted as far as that is worth it, else the plan itself."""
        kept = [mirror for mirror in self.mirrors if is_mirrored(plan.sketch, mirror)]
        done: set[int] = set()
        order = self._costliest(plan)
        for at, index in enumerate(order):
            if index in done or self.trials <= 0:
                continue
            report(at / len(order), f"tilting cut {index + 1}")
            hinge = hinge_of(plan, index, kept)
            if hinge is None or min(hinge.ways) < self.improver.fixed or not any(hinge.free):
                continue
            done |= set(hinge.ways)
            trial = _Trial(self, plan, index, hinge, kept, part_of(report, at / len(order), 1.0))
            found = trial.best()
            if found.score <= plan.score - worth(plan):
                plan = found
        return plan

    def _costliest(self, plan: Estimate) -> list[int]:
        """Return the cuts whose seams cost most, with the pieces on either side."""
        costs = []
        for index in range(self.improver.fixed, len(plan.sketch.cuts)):
            names: set[str] = set()
            cost = 0.0
            for seam in seams_of(plan, index):
                cost += self.improver.grower.survey.costs.of_seam(seam)
                names |= set(seam.between)
            cost += sum(plan.prints[name].cost for name in names)
            costs.append((-round(cost, 6), index))
        return [index for _, index in sorted(costs)[:_CUTS]]


@dataclass(eq=False)
class _Trial:
    """The tilts of one cut of one plan."""

    tilter: Tilter
    plan: Estimate
    index: int
    hinge: Hinge
    kept: list[Mirror]
    report: Report

    def best(self) -> Estimate:
        """Return the plan with the cut tilted best, slid again; else the plan itself."""
        best, pose = self.plan, _UPRIGHT
        promising = _PROMISING * worth(self.plan)
        for first in self._firsts():
            if self.tilter.trials > 0:
                found = self._judged(best, first, promising if best is self.plan else _BETTER)
                self.tilter.trials -= found is best
                best, pose = (best, pose) if found is best else (found, first)
        if best is self.plan:
            return best
        for step in _FINE:
            best, pose = self._climbed(best, pose, self._steps(step))
        return best

    def _turns(self, angles: Sequence[int]) -> list[Pose]:
        """Return tilts by each of the angles, one way and the other, along the free axes."""
        either = [side * angle for angle in angles for side in (-1, 1)]
        first, second = self.hinge.free
        return [
            pose
            for angle in either
            for pose, free in (((angle, 0, 0.0), first), ((0, angle, 0.0), second))
            if free
        ]

    def _firsts(self) -> list[Pose]:
        """Return what to judge first: where the seam is far shorter; one way and the other."""
        poses = self._turns([_COARSE])
        survey = self.tilter.improver.grower.survey
        seams = [seam for at in self.hinge.ways for seam in seams_of(self.plan, at)]
        cost = sum(map(survey.costs.of_seam, seams))
        promising = _PROMISING * worth(self.plan)
        if cost > promising:
            shortest, share = self._shortest()
            if cost * (1 - share) > promising:
                return [shortest, *poses]
        return poses

    def _shortest(self) -> tuple[Pose, float]:
        """Return where the cut crosses least of the surface, and how much of what it does now."""
        looked = [(a, b, shift) for a, b, _ in self._turns(_LOOKED_AT) for shift in _ASIDE]
        length, at = min((round(self._length(pose), 3), at) for at, pose in enumerate(looked))
        best = looked[at]
        for a, b, shift in [pose for step in _FINE for pose in self._steps(step)]:
            further = (best[0] + a, best[1] + b, best[2] + shift)
            found = round(self._length(further), 3)
            if found < length:
                best, length = further, found
        return best, length / max(self._length(_UPRIGHT), 1e-9)

    def _steps(self, step: int) -> list[Pose]:
        """Return steps by so many degrees, and by as many millimetres."""
        return [*self._turns([step]), (0, 0, -float(step)), (0, 0, float(step))]

    def _length(self, pose: Pose) -> float:
        """Return the length of what the cut in a pose crosses of the surface, mm."""
        survey = self.tilter.improver.grower.survey
        cut = self.hinge.turned(self.plan.sketch.cuts, pose)[self.index]
        before = survey.sketch(self.plan.sketch.cuts[: self.index])
        assert before is not None
        total = 0.0
        for block in [before.blocks[cut.piece]] if cut.piece else before.blocks.values():
            crossed, _ = plane_segments(block.ground.solid, cut.plane)
            segments, _ = clipped(crossed, block.rows)
            total += float(np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1).sum())
        return total

    def _judged(self, best: Estimate, pose: Pose, by: float = _BETTER) -> Estimate:
        """Return the plan with the cut in a pose if it is better than `best` by so much."""
        self.report(0.0, f"tilting cut {self.index + 1}")
        survey = self.tilter.improver.grower.survey
        sketch = survey.sketch(self.hinge.turned(self.plan.sketch.cuts, pose))
        if sketch is None or sketch.blocks.keys() != self.plan.sketch.blocks.keys():
            return best
        if not all(is_mirrored(sketch, one) for one in self.kept):
            return best
        if survey.cheaper(sketch, best.score - by, fitting=True) is None:
            return best
        found = survey.estimate(sketch)
        return found if found.score < best.score - by else best

    def _climbed(self, best: Estimate, pose: Pose, steps: list[Pose]) -> tuple[Estimate, Pose]:
        """Go by each of the steps as long as the plan becomes better."""
        for a, b, shift in steps:
            while True:
                further = (pose[0] + a, pose[1] + b, pose[2] + shift)
                if max(abs(further[0]), abs(further[1])) > _MOST:
                    break
                found = self._judged(best, further)
                if found is best:
                    break
                best, pose = found, further
        return best, pose


def worth(plan: Estimate) -> float:
    """Return by how much a tilt has to lower the score of a plan."""
    return max(_WORTH, _SURE * plan.score)


def _planes(plan: Estimate) -> tuple[Plane, ...]:
    return tuple(cut.plane for cut in plan.sketch.cuts)


def seams_of(plan: Estimate, index: int) -> list[SeamEstimate]:
    """Return the seams that one cut of a plan made."""
    cut = plan.sketch.cuts[index]
    stem = "" if cut.piece in (None, WHOLE) else f"{cut.piece}."
    return [
        seam
        for seam in plan.numbers.seams
        if isinstance(seam, SeamEstimate)
        and seam.plane == cut.plane
        and all(name.startswith(stem) for name in seam.between)
    ]


def hinge_of(plan: Estimate, index: int, mirrors: Sequence[Mirror]) -> Hinge | None:
    """Return how a cut may be tilted in a plan that is its own image in all of `mirrors`.

    Tilted together with the cut are its mirror images. Where a mirror, or several one after
    another, brings the cut back to itself, it may only slope in ways that these leave as they are:
    a cut across the plane of symmetry only along that plane, one that lies in it not at all.

    Returns
    -------
    Hinge or None
        None if the cut divides nothing, or an image of it is no cut of the plan.
    """
    cuts = plan.sketch.cuts
    middles = {at: middle for at in range(len(cuts)) if (middle := _middle(plan, at)) is not None}
    if index not in middles:
        return None
    normals = {at: np.array(cuts[at].plane.normal) for at in middles}
    ways, back, queue = {index: np.eye(3)}, [], [index]
    while queue:
        at = queue.pop(0)
        for mirror in mirrors:
            n = np.array(mirror.normal)
            reflected = np.eye(3) - 2 * np.outer(n, n)
            place = middles[at] - 2 * (float(n @ middles[at]) - mirror.offset) * n
            image = _found(normals, middles, reflected @ normals[at], place)
            if image is None:
                return None
            way = reflected @ ways[at]
            if image in ways:
                back.append(ways[image].T @ way)
            else:
                ways[image] = way
                queue.append(image)
    axes, normal = _axes(cuts[index].plane, mirrors), normals[index]
    # What turns the cut round turns a slope that leaves it as it is round as well.
    sides = [(turn, np.sign(normal @ turn @ normal)) for turn in back]
    free = [
        all(np.allclose(turn @ axis, side * axis, atol=_SAME_WAY) for turn, side in sides)
        for axis in axes
    ]
    return Hinge(normal, axes, (free[0], free[1]), ways, {at: middles[at] for at in ways})


def _middle(plan: Estimate, index: int) -> Floats | None:
    """Return the middle of the section of a cut, (3,) mm."""
    plane = plan.sketch.cuts[index].plane
    flat = [polygon for seam in seams_of(plan, index) for polygon in seam.polygons]
    if not flat:
        return None
    centres = np.array([polygon.centroid.coords[0] for polygon in flat])
    areas = np.array([polygon.area for polygon in flat])
    middle: Floats = plane.to_space(np.average(centres, axis=0, weights=areas)[None])[0]
    return middle


def _found(
    normals: dict[int, Floats], middles: dict[int, Floats], normal: Floats, middle: Floats
) -> int | None:
    """Return which cut lies there, whichever way its normal points."""
    for at, other in normals.items():
        along = abs(float(normal @ other))
        if along > 1 - _SAME_WAY**2 and math.dist(middles[at], middle) < _NEAR:
            return at
    return None


def _axes(plane: Plane, mirrors: Sequence[Mirror]) -> Floats:
    """Return two axes in a plane, across each other; along a mirror's normal where there is one."""
    normal = np.array(plane.normal)
    for mirror in mirrors:
        across = np.array(mirror.normal)
        if abs(float(across @ normal)) < _SAME_WAY:
            return np.array([across, np.cross(normal, across)])
    return plane.frame[:2]
