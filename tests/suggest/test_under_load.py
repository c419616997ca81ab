"""Proposals for parts that have to stand something: seams go where the part is bent little."""

import pytest
import trimesh

from splitplanner.plan import Loading, PartFile, PointLoad, cantilever, over_two_supports
from splitplanner.plan.files import plan_to_text
from splitplanner.score.criteria.seam_strength import HELD
from splitplanner.solid import Solid
from splitplanner.strength.whole import BESIDE
from splitplanner.suggest import suggest
from splitplanner.suggest.reasons import reason
from splitplanner.suggest.standing_in import TRIANGLES
from splitplanner.workshop import Bed, Printer
from tests.catalogue import solid_of
from tests.suggest.test_second import told

X = (1.0, 0.0, 0.0)
NAME = "strength lost at seams"
BAR = Solid.box((600.0, 40.0, 30.0))
DOWN = (0.0, 0.0, -100.0)
SUPPORTED = Loading(X, over_two_supports(0.0, 600.0, PointLoad(300.0, DOWN)))
HANGING = Loading(X, cantilever(0.0, PointLoad(600.0, DOWN)))
LONG, SHORT = Printer(bed=Bed.rectangle(480, 60, 250)), Printer(bed=Bed.rectangle(260, 60, 250))


def suggested(part, printer, *loadings, **options):
    file = PartFile("part.stl", "mm", part.fingerprint)
    return suggest(part, file, printer, loadings=loadings, **options)


def places(proposal):
    """Return where the cuts across x are."""
    planes = [cut.plane for cut in proposal.plan.cuts]
    return sorted(plane.offset for plane in planes if abs(plane.normal[0]) > 0.999)


def lost(proposal):
    (term,) = [t for t in proposal.draft.card.terms if t.criterion.name == NAME]
    return term.value


def share_in_the_middle(place):
    """Of the largest moment over two supports, F x / 2 (Roark), as far as a joint reaches."""
    return min(1.0, (min(place, 600.0 - place) + BESIDE) / 300.0)


def test_seams_of_a_bar_over_two_supports_leave_the_middle():
    without = suggested(BAR, LONG).proposals[0]
    assert places(without) == [300.0]
    best = suggested(BAR, LONG, SUPPORTED).proposals[0]
    (place,) = places(best)
    # No loss where the moment is half the largest one, at 150 mm from an end.
    assert share_in_the_middle(place) <= HELD
    assert lost(best) == 0.0
    assert best.draft.score == pytest.approx(without.draft.score, abs=0.01)
    assert best.plan.loadings == (SUPPORTED,)
    assert without.plan.loadings == ()


def test_where_the_bed_leaves_no_such_place_seams_lose_as_little_as_it_can_be():
    # Three pieces of at most 260 mm: the middle one decides how near to the middle seams come.
    # So much weight that it does not pay to cut less often.
    found = suggested(BAR, SHORT, SUPPORTED, weights={NAME: 3.0, "tight fit": 0.0})
    best = found.proposals[0]
    assert len(best.draft.division.pieces) == 3
    (low, high) = places(best)
    assert max(low, high - low, 600.0 - high) <= 260.0
    # With 260 mm in the middle both seams are 170 mm from an end.
    nearest = HELD / share_in_the_middle((600.0 - 260.0) / 2)
    assert lost(best) == pytest.approx(100 * (1 - nearest), abs=0.5)
    # Evenly spaced cuts would lose more.
    assert lost(best) < 0.65 * 100 * (1 - HELD / share_in_the_middle(200.0))


def test_seams_of_a_cantilever_go_to_its_free_end():
    best = suggested(BAR, LONG, HANGING).proposals[0]
    (place,) = places(best)
    # M = F (L - x): half of it is left in the middle.
    assert place >= 300.0 + BESIDE - 1.0
    assert lost(best) < 1.0


def test_load_cases_that_do_not_suit_the_part_are_told_and_left_out():
    beside = Loading(X, cantilever(0.0, PointLoad(700.0, DOWN), name="beside"))
    found = suggested(BAR, LONG, beside)
    assert [finding.subject for finding in found.findings] == ["beside"]
    assert places(found.proposals[0]) == [300.0]
    assert not suggested(BAR, LONG, SUPPORTED).findings


def test_reasons_say_where_seams_lie():
    proposals = suggested(BAR, SHORT, SUPPORTED).proposals
    by_loss = sorted(proposals, key=lost)
    assert lost(by_loss[0]) < lost(by_loss[-1]) - 20
    drafts = [proposal.draft for proposal in proposals]
    assert "seams where the part is bent least" in reason(by_loss[0].draft, drafts)


def test_two_processes_find_the_same_and_always_do():
    mesh = trimesh.Trimesh(BAR.vertices, BAR.faces, process=False)
    while len(mesh.faces) <= TRIANGLES:
        mesh = mesh.subdivide()
    fine = solid_of(mesh)
    both = suggested(fine, LONG, SUPPORTED, HANGING, seed=3, most=3)
    alone = suggested(fine, LONG, SUPPORTED, HANGING, seed=3, most=3, alone=True)
    assert told(both) == told(alone)
    assert [plan_to_text(p.plan) for p in both.proposals] == [
        plan_to_text(p.plan) for p in alone.proposals
    ]
    # Towards the free end, and away from the middle as well.
    (place,) = places(both.proposals[0])
    assert place > 440.0
    assert lost(both.proposals[0]) == 0.0
