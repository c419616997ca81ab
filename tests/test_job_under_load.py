"""A part with load cases, from its file to the scorecard."""

from dataclasses import replace

import pytest

from splitplanner.job import plan_part
from splitplanner.output import scorecard_text
from splitplanner.output.records import scorecard_record
from splitplanner.plan import Loading, PointLoad, over_two_supports
from splitplanner.score import scorecard
from splitplanner.score.criteria.seam_strength import HELD, SEAM_STRENGTH
from splitplanner.strength.whole import BESIDE
from splitplanner.workshop import Bed, Printer
from tests.planned import box, save

NAME = SEAM_STRENGTH.name
MIDDLE = PointLoad(300.0, (0.0, 0.0, -100.0))
LOADING = Loading((1.0, 0.0, 0.0), over_two_supports(0.0, 600.0, MIDDLE))


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    model = tmp_path_factory.mktemp("bar") / "bar.stl"
    save(box((600.0, 40.0, 30.0)), model)
    return plan_part(model, Printer(bed=Bed.rectangle(480, 60, 250)), loadings=[LOADING])


def terms(card):
    return {term.criterion.name: term for term in card.terms}


def test_the_plan_keeps_its_load_cases_and_its_seam_lies_where_little_bends(result):
    assert result.plan.loadings == (LOADING,)
    (cut,) = result.plan.cuts
    # Half of the moment in the middle is left 150 mm from it; a joint reaches further.
    assert abs(cut.plane.offset - 300.0) >= 150.0 + BESIDE
    # By the examination as by the search, as long as the joint is not looked at.
    (proposal,) = [p for p in result.suggestion.proposals if p.plan.cuts == result.plan.cuts]
    bare = scorecard(replace(result.card.figures, seam_ratios=None))
    for card in (bare, proposal.draft.card):
        assert (terms(card)[NAME].counts, terms(card)[NAME].value) == (True, 0.0)
    assert terms(bare)[NAME].contribution == 0.0


def test_it_is_shown_where_there_are_load_cases(result):
    def told(figures):
        known = replace(result, card=scorecard(figures))
        names = [each["criterion"] for each in scorecard_record(known)["score"]["terms"]]
        return NAME in scorecard_text(known), NAME in names

    assert told(result.card.figures) == (True, True)
    assert told(replace(result.card.figures, under_load=(), seam_ratios=None)) == (False, False)
    # A joint that is known counts instead of what it is taken to hold.
    seam = result.division.seams[0].name
    known = scorecard(replace(result.card.figures, seam_ratios={seam: HELD / 2}))
    assert terms(known)[NAME].value == pytest.approx(75.0)
