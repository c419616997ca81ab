"""Thin skins: told without cutting as they are on cut pieces."""

import numpy as np
import pytest

from splitplanner.plan import Cut, divide
from splitplanner.score import thin_skins
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.estimate.skins import leaves_skin, skin_behind
from tests.suggest.shapes import PRINTER, demo, survey_of

X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)


def steps():
    """A bar with a step 20 mm high at x = 200."""
    return Solid.box((400, 80, 40)).union(Solid.box((200, 80, 20), (0, 0, 40)))


def told(part, cut, survey=None):
    """Whether a cut leaves a skin: as estimated, and on the cut pieces."""
    survey = survey or survey_of(part)
    seams = survey.estimate(survey.sketch([cut])).numbers.seams
    found = any(
        leaves_skin(
            skin_behind(survey.ground, seam.plane), seam.polygons, survey.costs.printer.line_width
        )
        for seam in seams
    )
    division = divide(part, [cut])
    width = PRINTER.line_width
    exact = any(any(thin_skins(seam, division, width)) for seam in division.seams)
    return found, exact


@pytest.mark.parametrize(
    ("offset", "thin"),
    [
        # Short of the riser by less than a line; by more; in it; beyond, where all of it goes on.
        (199.9, True),
        (199.6, True),
        (199.5, False),
        (200.0, False),
        (200.2, False),
        (150.0, False),
    ],
)
@pytest.mark.parametrize("flipped", [False, True])
def test_cuts_beside_a_step(offset, thin, flipped):
    plane = Plane(X, offset)
    cut = Cut(plane.flipped() if flipped else plane)
    assert told(steps(), cut) == (thin, thin)


def test_narrow_ledges_are_feather_edges():
    # A ledge of 1 mm, twice a line, all along: it closes in the print.
    part = Solid.box((400, 80, 40)).union(Solid.box((200, 80, 1), (0, 0, 40)))
    assert told(part, Cut(Plane(X, 199.8))) == (False, False)


@pytest.mark.parametrize("name", ["dew_shield", "cargo_lid", "l_bracket"])
def test_demonstration_parts(name):
    part = demo(name)
    survey = survey_of(part)
    level = np.abs(part.face_normals[:, 2]) > 0.999
    flats = np.unique(np.round(part.face_centroids[level, 2], 3))
    low, high = part.bounds[:, 2]
    answers = []
    for flat in flats[(flats > low + 5) & (flats < high - 5)][:4]:
        for beside in (-0.3, -0.1, 0.1, 0.3, 1.0):
            found, exact = told(part, Cut(Plane(Z, float(flat) + beside)), survey)
            # Of slopes that cross the depth of a line nothing is said beforehand.
            assert exact or not found, (flat, beside)
            assert found == exact or name != "dew_shield", (flat, beside)
            answers.append(found)
    assert not all(answers)
    assert name != "dew_shield" or any(answers)


def test_such_plans_are_not_chosen():
    survey = survey_of(steps())
    scores = [
        survey.estimate(survey.sketch([Cut(Plane(X, offset))])).score for offset in (199.8, 199.0)
    ]
    assert scores[0] > scores[1] + 5
