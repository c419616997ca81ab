"""The second process of a search: it does the same work, and nothing is lost without it."""

import pickle

import numpy as np
import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import Cancelled
from splitplanner.plan import Cut, PartFile
from splitplanner.progress import silent
from splitplanner.solid import Plane, Solid
from splitplanner.suggest import suggest
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.drafting import light_drafter
from splitplanner.suggest.searching import improver_for
from splitplanner.suggest.second import Second, Setup
from splitplanner.suggest.standing_in import stand_in_for
from splitplanner.workshop import Bed, Printer

PRINTER = Printer(bed=Bed.rectangle(220, 220, 250))
X = (1.0, 0.0, 0.0)
CUTS = (Cut(Plane(X, -80.0)), Cut(Plane(X, 80.0)))


def nothing():
    pass


@pytest.fixture(scope="module")
def hood():
    return DEMO_PARTS["rain_hood"].make(12_000)


@pytest.fixture(scope="module")
def standing(hood):
    return stand_in_for(hood)


@pytest.fixture(scope="module")
def costs(hood):
    return Costs(hood, PRINTER)


def test_a_solid_comes_through_with_its_faces_in_their_order(standing):
    solid = standing.solid
    again = pickle.loads(pickle.dumps(solid))
    assert np.array_equal(again.faces, solid.faces)
    assert again.volume == pytest.approx(solid.volume, rel=1e-12)


def test_it_slides_and_orients_as_this_process_does(standing, costs):
    assert standing.solid is not costs.part
    with Second(Setup.of(standing, costs)) as second:
        slid, ups = second.ask("slide", CUTS), second.ask("ups", CUTS)
        # Answers may be fetched in any order.
        found_ups, found = second.answer(ups, nothing), second.answer(slid, nothing)
    improver = improver_for(standing, costs)
    survey = improver.grower.survey
    here = improver.slid(survey.estimate(survey.sketch(CUTS)), silent)
    assert found == here.sketch.cuts
    assert found_ups == light_drafter(standing, costs).ups(CUTS)


def test_a_task_that_makes_no_sense_has_no_answer(standing, costs):
    with Second(Setup.of(standing, costs)) as second:
        beside = (Cut(Plane(X, 1e6)),)
        assert second.answer(second.ask("slide", beside), nothing) is None
        assert second.answer(second.ask("slide", CUTS), nothing) is not None


def test_a_process_that_died_answers_nothing_and_harms_nothing(standing, costs):
    with Second(Setup.of(standing, costs)) as second:
        second._process.kill()
        second._process.wait()
        assert second.answer(second.ask("slide", CUTS), nothing) is None
        assert second.answer(second.ask("ups", CUTS), nothing) is None


def test_waiting_can_be_stopped(standing, costs):
    def stop():
        raise Cancelled("stopped")

    with Second(Setup.of(standing, costs)) as second:
        number = second.ask("slide", CUTS)
        with pytest.raises(Cancelled):
            second.answer(number, stop)
    assert second._process.poll() is not None


def test_alone_or_not_the_same_plans_come_out(hood):
    file = PartFile("hood.stl", "mm", hood.fingerprint)
    alone = suggest(hood, file, PRINTER, alone=True)
    both = suggest(hood, file, PRINTER)
    assert [p.plan.cuts for p in both.proposals] == [p.plan.cuts for p in alone.proposals]
    assert [p.draft.ups for p in both.proposals] == [p.draft.ups for p in alone.proposals]


def test_small_parts_are_searched_in_one_process(monkeypatch):
    def started(self):
        raise AssertionError("a second process for a box")

    monkeypatch.setattr(Second, "__enter__", started)
    box = Solid.box((300, 100, 100))
    assert suggest(box, PartFile("box.stl", "mm", box.fingerprint), PRINTER).proposals
