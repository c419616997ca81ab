"""The search: from a part or its stand-in to the pool of plans that are worth cutting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.plan import Cut
from splitplanner.progress import Report, part_of, silent
from splitplanner.suggest.bounds import lower_bound
from splitplanner.suggest.candidates import cut_directions
from splitplanner.suggest.concerns import Concerns
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.estimate import Estimate, Sketch, Survey, surveyed
from splitplanner.suggest.growing import Grower
from splitplanner.suggest.improving import Improver
from splitplanner.suggest.mirroring import Mirror
from splitplanner.suggest.pool import Pool
from splitplanner.suggest.second import Second
from splitplanner.suggest.standing_in import Standing
from splitplanner.suggest.stations import Stations
from splitplanner.suggest.tilting import Tilter
from splitplanner.suggest.wishing import Wishing

_ASKEW = float(np.cos(np.radians(20.0)))
_COSTLY = 0.5
"""A part that fits uncut is cut all the same if it scores more than this: what two pieces cost."""


@dataclass(frozen=True, eq=False)
class Search:
    """What a search found.

    Attributes
    ----------
    pool : Pool
    mirrors : list of Mirror
        The part's planes of symmetry.
    """

    pool: Pool
    mirrors: list[Mirror]


def search(
    standing: Standing,
    costs: Costs,
    early: Callable[[Estimate], bool],
    report: Report,
    wishing: Wishing | None = None,
    second: Second | None = None,
) -> Search:
    """Look for plans.

    Parameters
    ----------
    standing : Standing
    costs : Costs
    early : function of Estimate
        Gets the first plans that are found, best first, until it takes one by returning True.
    report : progress callback
    wishing : Wishing, optional
        What the user wants besides.
    second : Second, optional
        Takes some of the work.
    """
    improver = improver_for(standing, costs, wishing, second)
    grower = improver.grower
    start, first = grown(improver, wishing, early, report)
    short = len(start.blocks) < improver.wanted
    mirrors = mirrors_of(grower.stations, grower.survey.directions)
    if not first.done or short or first.score > _COSTLY * len(start.blocks):
        improver.run(part_of(report, 0.5, 0.95))
        Tilter(improver, mirrors).run(part_of(report, 0.95, 1.0))
    return Search(grower.pool, mirrors)


def grown(
    improver: Improver,
    wishing: Wishing | None,
    early: Callable[[Estimate], bool] = lambda _: True,
    report: Report = silent,
) -> tuple[Sketch, Estimate]:
    """Fill the pool with plans to be improved.

    Returns
    -------
    start, first : Sketch, Estimate
        The part uncut but for cuts that must be.
    """
    report(0.0, "measuring the part")
    grower = improver.grower
    start = _with_must_cuts(grower.survey, wishing)
    report(0.05, "measuring the part")
    first = grower.survey.estimate(start)
    grower.pool.add(first)
    if not first.done:
        report(0.1, "trying grids of planes")
        grower.grids_from(start)
        report(0.15, "cutting the first plan")
        any(early(plan) for plan in grower.pool.all[:3])
        grower.trees_from(first, part_of(report, 0.2, 0.5))
    return start, first


def improver_for(
    standing: Standing,
    costs: Costs,
    wishing: Wishing | None = None,
    second: Second | None = None,
) -> Improver:
    """Return what grows and improves plans of a part."""
    solid, bed = standing.solid, costs.printer.bed
    stations = Stations(solid, bed)
    survey = surveyed(solid, standing.seen, _directions(stations, wishing), costs, wishing)
    wanted = 0 if wishing is None else wishing.wishes.pieces or 0
    concerns = Concerns(costs.weights)
    pool = Pool(lambda plan: concerns.of(plan.numbers))
    grower = Grower(survey, stations, pool, max(lower_bound(solid, bed).pieces, wanted))
    return Improver(grower, len(_with_must_cuts(survey, wishing).cuts), wanted, second)


def _directions(stations: Stations, wishing: Wishing | None) -> Floats:
    """Return directions for cuts: those of the part, and those of planes that must be cut.

    Next to the plane of symmetry of a part, directions a little askew to it are left out: nobody
    would cut like that.
    """
    found = cut_directions(stations.solid)
    for mirror in mirrors_of(stations, found):
        along = np.abs(found @ np.array(mirror.normal))
        found = found[(along < _ASKEW) | (along > 1 - 1e-9)]
    wanted = () if wishing is None else wishing.wishes.must_cut
    fresh = [
        plane.normal
        for plane in wanted
        if (np.abs(found @ np.array(plane.normal)) < 1 - 1e-9).all()
    ]
    return np.vstack([found, *np.array(fresh).reshape(-1, 3)]) if fresh else found


def _with_must_cuts(survey: Survey, wishing: Wishing | None) -> Sketch:
    """Return the uncut part, or what the cuts that must be leave of it."""
    sketch = survey.start
    for plane in () if wishing is None else wishing.wishes.must_cut:
        # A plane beside the part divides nothing and is no wish broken.
        sketch = survey.applied(sketch, Cut(plane)) or sketch
    return sketch


def mirrors_of(stations: Stations, directions: Floats) -> list[Mirror]:
    """Return the planes of symmetry across the directions of cuts."""
    found = []
    for normal in map(to_vector, directions):
        offset = stations.mirror(normal)
        if offset is not None:
            found.append(Mirror(normal, offset))
    return found
