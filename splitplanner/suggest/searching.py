"""The search: from a part or its stand-in to the pool of plans that are worth cutting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from splitplanner.arrays import Floats
from splitplanner.progress import Report, part_of
from splitplanner.suggest.bounds import lower_bound
from splitplanner.suggest.candidates import cut_directions
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.estimate import Estimate, surveyed
from splitplanner.suggest.growing import Grower
from splitplanner.suggest.improving import Improver
from splitplanner.suggest.mirroring import Mirror
from splitplanner.suggest.pool import Pool
from splitplanner.suggest.standing_in import Standing
from splitplanner.suggest.stations import Stations


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
    standing: Standing, costs: Costs, early: Callable[[Estimate], bool], report: Report
) -> Search:
    """Look for plans.

    Parameters
    ----------
    standing : Standing
    costs : Costs
    early : function of Estimate
        Gets the first plans that are found, best first, until it takes one by returning True.
    report : progress callback
    """
    bed = costs.printer.bed
    report(0.0, "measuring the part")
    survey = surveyed(standing.solid, standing.seen, cut_directions(standing.solid), costs)
    stations = Stations(standing.solid, bed)
    pool = Pool()
    bound = lower_bound(standing.solid, bed).pieces
    grower = Grower(survey, stations, pool, bound)
    start = survey.start()
    first = survey.estimate(start)
    pool.add(first)
    if not first.done:
        report(0.1, "trying grids of planes")
        grower.grids_from(start)
        report(0.15, "cutting the first plan")
        any(early(plan) for plan in pool.all[:3])
        grower.trees_from(first, part_of(report, 0.2, 0.5))
        Improver(grower).run(part_of(report, 0.5, 1.0))
    return Search(pool, mirrors_of(stations, survey.directions))


def mirrors_of(stations: Stations, directions: Floats) -> list[Mirror]:
    """Return the planes of symmetry across the directions of cuts."""
    found = []
    for x, y, z in directions:
        normal = (float(x), float(y), float(z))
        offset = stations.mirror(normal)
        if offset is not None:
            found.append(Mirror(normal, offset))
    return found
