"""The second process of a search: it does the same work, and nothing is lost without it."""

import math
import pickle
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import Cancelled
from splitplanner.plan import Cut, PartFile
from splitplanner.progress import silent
from splitplanner.score import Wishes
from splitplanner.solid import Plane, Solid
from splitplanner.suggest import proposals, spare, suggest
from splitplanner.suggest.bounds import lower_bound
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.judging import Judge
from splitplanner.suggest.searching import improver_for
from splitplanner.suggest.second import Second, Setup
from splitplanner.suggest.standing_in import TRIANGLES, stand_in_for
from splitplanner.suggest.wishing import wishing_for
from splitplanner.workshop import Bed, Printer
from tests.catalogue import solid_of
from tests.suggest.shapes import l_shape

PRINTER = Printer(bed=Bed.rectangle(220, 220, 250))
WIDE = Printer(bed=Bed.rectangle(300, 300, 250))
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


@pytest.fixture(scope="module")
def setup(hood):
    return Setup(hood, PRINTER, {}, Wishes())


@pytest.fixture(scope="module")
def judge(hood, standing, costs):
    return Judge(hood, standing, costs, Wishes())


@pytest.fixture(scope="module")
def angle():
    """An L in small triangles: it has a stand-in, and one that is searched fast."""
    shape = l_shape()
    mesh = trimesh.Trimesh(shape.vertices, shape.faces, process=False)
    while len(mesh.faces) <= TRIANGLES:
        mesh = mesh.subdivide()
    return solid_of(mesh)


def suggested(part, printer=PRINTER, **options):
    return suggest(part, PartFile("part.stl", "mm", part.fingerprint), printer, **options)


@pytest.fixture(scope="module")
def alone(angle):
    return told(suggested(angle, alone=True))


def told(suggestion):
    """Return all that is written of proposals, and their meshes."""
    return [
        (
            proposal.plan.cuts,
            proposal.draft.ups,
            proposal.reason,
            [(term.criterion.name, term.value) for term in proposal.draft.card.terms],
            [piece.solid.fingerprint for piece in proposal.draft.division.pieces],
        )
        for proposal in suggestion.proposals
    ]


def test_a_solid_comes_through_with_its_faces_in_their_order(standing):
    solid = standing.solid
    again = pickle.loads(pickle.dumps(solid))
    assert np.array_equal(again.faces, solid.faces)
    assert again.volume == pytest.approx(solid.volume, rel=1e-12)


# -- tasks ----------------------------------------------------------------------------------------
@pytest.mark.parametrize(("fixed", "below"), [(0, math.inf), (1, math.inf), (0, 0.0)])
def test_it_improves_as_this_process_does(setup, standing, costs, fixed, below):
    wishes = Wishes(must_cut=tuple(cut.plane for cut in CUTS[:fixed]))
    with Second(replace(setup, wishes=wishes)) as second:
        second.ask("stand", standing)
        found = second.answer(second.ask("improve", CUTS, below), nothing)
    improver = improver_for(standing, costs, wishing_for(setup.part, wishes, standing.tolerance))
    survey = improver.grower.survey
    here, further = improver.improved(survey.estimate(survey.sketch(CUTS)), below, silent)
    assert found == [here.sketch.cuts, *(sketch.cuts for sketch in further)]
    assert found[0][:fixed] == CUTS[:fixed]
    assert found[0] != CUTS
    assert all(len(cuts) == len(CUTS) + 1 for cuts in found[1:])
    # What no plan can score below is not cut once more.
    assert (len(found) > 1) == (below > 0)


def test_it_looks_at_the_part_as_this_process_does(setup, hood, standing):
    with Second(setup) as second, Second(setup) as third:
        # Answers may be fetched in any order.
        bound, _ = second.ask("bound"), second.ask("see")
        light = third.answer(third.ask("lighten"), nothing)
        found = second.answer(second.ask("carry", light), nothing)
        assert second.answer(bound, nothing) == lower_bound(hood, PRINTER.bed)
    assert found.solid.fingerprint == standing.solid.fingerprint
    assert np.array_equal(found.seen, standing.seen)
    assert np.array_equal(found.part_seen, standing.part_seen)
    assert found.tolerance == standing.tolerance


@pytest.mark.parametrize("ahead", [False, True])
def test_it_judges_as_this_process_does(setup, hood, standing, judge, ahead):
    ups = judge.ups(CUTS) if ahead else None
    with Second(setup) as second:
        second.ask("stand", standing)
        found = second.answer(second.ask("judge", CUTS, ups), nothing)
    here = judge.verdict(CUTS)
    assert found.draft.score == here.draft.score
    assert found.draft.ups == here.draft.ups
    # The part itself is not sent to and fro.
    assert found.draft.division.part is hood
    assert found.draft.card.figures.part is hood
    for there, mine in zip(found.draft.division.pieces, here.draft.division.pieces, strict=True):
        assert there.solid.fingerprint == mine.solid.fingerprint
        assert np.array_equal(there.solid.faces, mine.solid.faces)
    for there, mine in zip(
        found.draft.card.figures.seams, here.draft.card.figures.seams, strict=True
    ):
        assert there.figures == mine.figures
        assert np.array_equal(there.room.positions, mine.room.positions)


def test_a_task_that_makes_no_sense_has_no_answer(setup, standing):
    with Second(setup) as second:
        second.ask("stand", standing)
        beside = (Cut(Plane(X, 1e6)),)
        assert second.answer(second.ask("improve", beside, math.inf), nothing) is None
        assert second.answer(second.ask("improve", CUTS, math.inf), nothing) is not None


def test_a_task_is_taken_back_unless_it_is_begun(setup, standing):
    with Second(setup) as second:
        second.ask("stand", standing)
        first = second.ask("improve", CUTS, math.inf)
        other = second.ask("improve", CUTS[:1], math.inf)
        assert second.take_back(other)
        assert not second.take_back(other)
        assert second.answer(first, nothing) is not None
        assert not second.take_back(first)


# -- when it goes ---------------------------------------------------------------------------------
@pytest.fixture
def fresh():
    """There is no spare process, so a search starts one."""
    process = spare.taken()
    if process is not None:
        spare.dismiss(process)


@pytest.mark.usefixtures("fresh")
def test_a_process_that_died_answers_nothing_and_harms_nothing(setup):
    with Second(setup) as second:
        second._process.kill()
        second._process.wait()
        assert second.answer(second.ask("improve", CUTS, math.inf), nothing) is None
        assert second.answer(second.ask("bound"), nothing) is None
        assert second.gone


def test_waiting_can_be_stopped(setup, standing):
    def stop():
        raise Cancelled("stopped")

    second = Second(setup)

    def search():
        with second:
            second.ask("stand", standing)
            second.answer(second.ask("judge", CUTS, None), stop)

    with pytest.raises(Cancelled):
        search()
    assert second._process.wait(timeout=60) is not None


@pytest.mark.parametrize("large", [False, True])
def test_alone_or_not_the_same_plans_come_out(monkeypatch, angle, alone, large):
    if large:
        monkeypatch.setattr(proposals, "_LARGE", 0)
    assert told(suggested(angle)) == alone


def test_alone_or_not_a_part_of_many_plans_is_cut_alike(hood):
    # On a wide bed it is searched fast.
    both, alone = (suggested(hood, WIDE, alone=alone) for alone in (False, True))
    assert len(both.proposals) > 2
    assert told(both) == told(alone)


def test_wishes_are_kept_by_both(angle):
    wishes = Wishes(must_cut=(Plane(X, 150.0),), longest_seam=270.0)
    both, alone = (suggested(angle, wishes=wishes, alone=alone) for alone in (False, True))
    assert told(both) == told(alone)
    for proposal in both.proposals:
        assert any(cut.plane == Plane(X, 150.0) for cut in proposal.plan.cuts)


def killed_when(condition):
    """Return what kills the second process once, when it is asked for what meets a condition."""

    class Killed(Second):
        killed = 0

        def ask(self, what, *given):
            number = super().ask(what, *given)
            if condition(what) and not Killed.killed:
                Killed.killed = 1
                self._process.kill()
            return number

    return Killed


@pytest.mark.parametrize(
    ("task", "large"),
    [("lighten", False), ("see", True), ("stand", False), ("improve", False), ("judge", False)],
)
def test_nothing_is_lost_when_it_is_killed(monkeypatch, angle, alone, task, large):
    killed = killed_when(lambda what: what == task)
    monkeypatch.setattr(proposals, "Second", killed)
    if large:
        monkeypatch.setattr(proposals, "_LARGE", 0)
    assert told(suggested(angle)) == alone
    assert killed.killed


@pytest.fixture
def started(monkeypatch):
    """The processes that are started; all cutting is left to them, and this one only waits."""
    found = []

    class Noted(Second):
        def __enter__(self):
            found.append(self)
            return super().__enter__()

    monkeypatch.setattr(proposals, "_LARGE", 0)
    monkeypatch.setattr(proposals, "Second", Noted)
    return found


@pytest.mark.parametrize("which", [slice(1), slice(None)], ids=["one", "all"])
def test_killed_in_the_middle_of_a_finalist_it_is_not_missed(angle, alone, started, which):
    def report(done, doing):
        if doing.startswith("cutting, plane"):
            for other in started[which]:
                other._process.kill()

    assert told(suggested(angle, report=report)) == alone
    assert all(other.gone for other in started[which])


def test_a_stop_ends_it_in_the_middle_of_a_finalist(angle, started):
    said = []

    def report(done, doing):
        said.append(doing)
        if doing.startswith("cutting, plane"):
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        suggested(angle, report=report)
    assert said[-1].startswith("cutting, plane")
    assert len(started) == 2
    assert all(other._process.wait(timeout=60) is not None for other in started)


def test_small_parts_are_searched_in_one_process(monkeypatch):
    def started(self):
        raise AssertionError("a second process for a box")

    monkeypatch.setattr(Second, "__enter__", started)
    box = Solid.box((300, 100, 100))
    assert suggest(box, PartFile("box.stl", "mm", box.fingerprint), PRINTER).proposals
