"""Candidates for the benchmarks, the same ones on every run."""

from unittest.mock import patch

import numpy as np

from splitplanner.plan import WHOLE, Cut
from splitplanner.progress import silent
from splitplanner.score import REFERENCE_PIN  # noqa: F401  (the room is loaded before it is timed)
from splitplanner.solid import Plane, seen_from_outside
from splitplanner.suggest.candidates import cut_directions
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.estimate import Survey, surveyed
from splitplanner.suggest.searching import search
from splitplanner.suggest.standing_in import Standing, stand_in_for


def light(part):
    """Return the stand-in on which the search works."""
    return stand_in_for(part).solid


def survey_of(solid, printer):
    """Return a fresh survey of a solid."""
    costs = Costs(solid, printer)
    return surveyed(solid, seen_from_outside(solid), cut_directions(solid), costs)


def searched(solid, printer):
    """Return the cuts of every plan that a search of a solid estimates, in its order."""
    found, estimate = [], Survey.estimate

    def noted(survey, sketch):
        found.append(sketch.cuts)
        return estimate(survey, sketch)

    seen = seen_from_outside(solid)
    standing = Standing(solid, seen, seen, 0.0)
    with patch.object(Survey, "estimate", noted):
        search(standing, Costs(solid, printer), lambda _: True, silent)
    return [cuts for cuts in found if cuts]


def unrelated(survey, count, seed=5):
    """Return plans of two to four cuts that have no plane in common, a third of them tilted.

    Cuts are of all pieces or of one that is in one, since the plain way does not name bodies.
    """
    rng = np.random.default_rng(seed)
    found = []
    while len(found) < count:
        sketch = survey.start
        for _ in range(int(rng.integers(2, 5))):
            cut = _cut(survey, sketch, rng)
            sketch = None if cut is None else survey.applied(sketch, cut)
            if sketch is None:
                break
        if sketch is not None:
            found.append(sketch.cuts)
    return found


def has_letters(name):
    """Return whether a piece, or one that it was cut from, is a body of several."""
    return any(letter.isalpha() for letter in name)


def _cut(survey, sketch, rng):
    names = [name for name in sketch.blocks if name == WHOLE or not has_letters(name)]
    if not names:
        return None
    name = names[rng.integers(len(names))]
    normal = survey.directions[rng.integers(len(survey.directions))]
    if rng.random() < 0.3:
        normal = normal + 0.25 * rng.normal(size=3)
    normal = tuple((normal / np.linalg.norm(normal)).tolist())
    heights = sketch.blocks[name].points @ np.array(normal)
    offset = heights.min() + np.ptp(heights) * rng.uniform(0.2, 0.8)
    return Cut(Plane(normal, float(offset)), None if rng.random() < 0.4 else name)
