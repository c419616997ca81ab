"""Whole plans: sound, exact, really different, and the same every time."""

import itertools
import math
import re
from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest
import trimesh

from splitplanner.errors import Cancelled, NoProposalError
from splitplanner.findings import faults
from splitplanner.plan import Cut, PartFile, divide
from splitplanner.score import measure, scorecard, soundness
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.suggest import Layout, Refiner, suggest
from splitplanner.suggest.proposals import (
    STAND_IN_TRIANGLES,
    _why_nothing,
    _worth_showing,
    choose_sound,
    same_idea,
)
from splitplanner.suggest.reasons import advantage, reason
from splitplanner.workshop import Bed, Printer

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
PRINTER = Printer(bed=Bed.rectangle(220, 220, 250))


def part_file(part):
    return PartFile("part.stl", "mm", part.fingerprint)


def suggested(part, printer=PRINTER, **options):
    return suggest(part, part_file(part), printer, **options)


def box_in_two():
    return Solid.box((430, 200, 240))


def l_shape():
    return Solid.box((400, 60, 60)).union(Solid.box((60, 400, 60)))


@pytest.fixture(scope="module")
def of_box():
    return suggested(box_in_two(), seed=7)


@pytest.fixture(scope="module")
def of_l():
    return suggested(l_shape())


@pytest.fixture(params=["of_box", "of_l"])
def found(request):
    return request.getfixturevalue(request.param)


# -- what is proposed -----------------------------------------------------------------------------
def test_the_least_number_of_pieces_is_among_the_proposals(of_box, of_l):
    # Derived in test_bounds: 430 mm is longer than the bed's diagonal; the L's three far corners.
    assert (of_box.least_pieces, of_box.bound.pieces) == (2, 2)
    assert (of_l.least_pieces, of_l.bound.pieces) == (3, 3)


def test_at_least_three_where_there_are_as_many(found):
    assert 3 <= len(found.proposals) <= 5


def test_numbered_best_first(found):
    assert [proposal.number for proposal in found.proposals] == list(
        range(1, len(found.proposals) + 1)
    )
    scores = [proposal.draft.score for proposal in found.proposals]
    assert scores == sorted(scores)


def test_every_proposal_is_sound(found):
    for proposal in found.proposals:
        plan, division = proposal.plan, proposal.draft.division
        assert set(plan.print_directions) == {piece.name for piece in division.pieces}
        again = divide(division.part, plan.cuts)
        assert faults(soundness(again, plan.print_directions, plan.cuts, PRINTER)) == ()
        total = sum(piece.solid.volume for piece in again.pieces)
        assert total == pytest.approx(division.part.volume, rel=1e-9)


def test_every_piece_lies_inside_the_bed(found):
    for proposal in found.proposals:
        for row in proposal.draft.card.figures.pieces:
            pose = row.fit.pose(row.piece.solid)
            np.testing.assert_allclose(pose[2, :3], row.up, atol=1e-9)
            placed = row.piece.solid.vertices @ pose[:3, :3].T + pose[:3, 3]
            assert (placed >= -1e-5).all()
            assert (placed <= np.array([220, 220, 250]) + 1e-5).all()


def test_the_figures_are_those_of_the_plan(found):
    for proposal in found.proposals:
        draft = proposal.draft
        assert draft.cuts == proposal.plan.cuts
        assert draft.ups == proposal.plan.print_directions
        assert draft.card.figures.exact
        part = draft.division.part
        figures = measure(divide(part, draft.cuts), draft.ups, PRINTER, seen_from_outside(part))
        assert [term.value for term in draft.card.terms] == pytest.approx(
            [term.value for term in scorecard(figures).terms], rel=1e-6, abs=1e-9
        )


def cut_distance(one, other, part):
    """How unlike two plans are: the worst cut of the best pairing, 1 for 15° or size / 12."""
    if len(one) != len(other):
        return math.inf

    def apart(a, b):
        cosine = float(np.dot(a.plane.normal, b.plane.normal))
        angle = math.degrees(math.acos(min(abs(cosine), 1.0)))
        middle = part.bounds.mean(axis=0)
        shift = a.plane.height(middle) - math.copysign(1, cosine) * b.plane.height(middle)
        return max(angle / 15, 12 * abs(float(shift)) / part.size)

    return min(
        max(apart(a, b) for a, b in zip(one, order, strict=True))
        for order in itertools.permutations(other)
    )


def test_proposals_are_really_different(found):
    part = found.proposals[0].draft.division.part
    for one, other in itertools.combinations(found.proposals, 2):
        assert cut_distance(one.plan.cuts, other.plan.cuts, part) >= 1


def test_every_proposal_has_a_reason(found):
    least = found.least_pieces
    for proposal in found.proposals:
        count = len(proposal.draft.division.pieces)
        wanted = {0: "Fewest pieces", 1: "One piece more than the fewest"}.get(count - least)
        assert proposal.reason.startswith(wanted or "")
        assert ("more than the fewest" in proposal.reason) == (count > least)
        assert re.fullmatch(r"[A-Z][^.]*(\.\d[^.]*)*\.", proposal.reason)  # One sentence.


def test_no_two_proposals_have_the_same_reason(of_box):
    reasons = [proposal.reason for proposal in of_box.proposals]
    assert len(set(reasons)) == len(reasons)


def test_a_figure_said_to_be_least_is_the_least(found):
    for proposal in found.proposals:
        said = re.split("[,;.] ?", proposal.reason)
        for index, term in enumerate(proposal.draft.card.terms):
            if advantage(term.criterion.name) in said:
                rest = [p.draft.card.terms[index].value for p in found.proposals]
                assert term.value == min(rest)
                assert rest.count(term.value) == 1
                assert term.weight > 0


def test_what_weighs_nothing_is_not_measured_to_tell_which_plans_to_show(found):
    fresh = [replace(p.draft, card=scorecard(p.draft.card.figures)) for p in found.proposals]
    assert len(_worth_showing(fresh)) >= 3
    for draft in fresh:
        for term in draft.card.terms:
            assert ("value" in vars(term)) == (term.weight > 0)


def test_a_plan_says_what_it_is_made_from(of_box):
    for proposal in of_box.proposals:
        assert proposal.plan.part == part_file(box_in_two())
        assert proposal.plan.printer == PRINTER
        assert proposal.plan.seed == 7
        assert proposal.plan.joints == ()


def test_the_same_input_gives_the_same_plans(of_box):
    again = suggested(box_in_two(), seed=7)
    assert [p.plan for p in again.proposals] == [p.plan for p in of_box.proposals]
    assert [p.reason for p in again.proposals] == [p.reason for p in of_box.proposals]
    assert [p.draft.score for p in again.proposals] == [p.draft.score for p in of_box.proposals]


def test_no_more_than_asked_for():
    heard = []
    bar = Solid.box((240, 215, 215))
    found = suggested(bar, most=1, report=lambda done, doing: heard.append((done, doing)))
    assert len(found.proposals) == 1
    assert found.proposals[0].number == 1
    shares = [done for done, _ in heard]
    assert shares == sorted(shares)
    assert shares[0] == 0
    assert 0.9 < shares[-1] <= 1


# -- parts that need no cut -----------------------------------------------------------------------
@pytest.mark.parametrize("size", [(200, 200, 200), (280, 15, 15), (330, 10, 10)], ids=str)
def test_a_part_that_fits_gets_one_plan_without_cuts(size):
    found = suggested(Solid.box(size))
    (proposal,) = found.proposals
    assert proposal.plan.cuts == ()
    assert found.least_pieces == found.bound.pieces == 1
    assert proposal.reason
    assert proposal.draft.card.figures.seams == ()
    assert proposal.draft.card.figures.pieces[0].fit.fits


def test_loose_bodies_that_fit_are_pieces():
    part = Solid.box((150, 150, 150)).union(Solid.box((150, 150, 150), (400, 0, 0)))
    (proposal,) = suggested(part).proposals
    assert proposal.plan.cuts == ()
    assert set(proposal.plan.print_directions) == {"a", "b"}


# -- a finely meshed part -------------------------------------------------------------------------
def test_a_fine_mesh_is_cut_exactly():
    # 49 152 triangles are too many to search on; the plans are cut from the part itself all the
    # same.
    mesh = trimesh.creation.box((300, 120, 120))
    for _ in range(6):
        mesh = mesh.subdivide()
    part = Solid.from_arrays(mesh.vertices, mesh.faces)
    assert len(part.faces) > STAND_IN_TRIANGLES
    found = suggested(part, most=2)
    for proposal in found.proposals:
        figures = proposal.draft.card.figures
        assert figures.exact
        assert figures.part is part
        total = sum(row.piece.solid.volume for row in figures.pieces)
        assert total == pytest.approx(part.volume, rel=1e-9)


# -- impossible cases -----------------------------------------------------------------------------
def test_a_foil_thinner_than_a_line_has_no_plan():
    with pytest.raises(NoProposalError, match=r"0\.3 mm.*thinner than a line") as caught:
        suggested(Solid.box((100, 100, 0.3)))
    assert str(caught.value).endswith(".")


def test_walls_thinner_than_a_line_have_no_plan():
    # Tried with a line of 6 mm: the part is larger than the bed, and every piece would be a sliver.
    printer = Printer(bed=PRINTER.bed, nozzle=5.0, line_width=6.0)
    with pytest.raises(NoProposalError, match=r"500 x 300 x 5 mm.*slivers or skins"):
        suggested(Solid.box((500, 300, 5)), printer)


def test_a_part_out_of_all_proportion_is_refused_at_once():
    with pytest.raises(NoProposalError, match=r"over 1000 pieces.*check the unit"):
        suggested(Solid.box((43_000, 20_000, 24_000)))


def test_cancelling_stops_at_once():
    def cancel(done, doing):
        if done > 0.3:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        suggested(Solid.box((240, 215, 215)), report=cancel)


def test_what_stopped_every_plan_is_told_in_good_english():
    x, y = Layout((Cut(Plane(X, 250.0)),), 2), Layout((Cut(Plane(Y, 150.0)),), 2)
    part = Solid.box((500, 300, 0.31))
    one = _why_nothing(part, [x], PRINTER)
    assert one.startswith("1 way to cut the part (500 x 300 x 0.31 mm) fits the bed")
    assert _why_nothing(part, [x, y], PRINTER).startswith("2 ways to cut the part (500 x 300")
    uncut = _why_nothing(Solid.box((100, 100, 0.3)), [Layout((), 1)], PRINTER)
    assert "100 x 100 x 0.3 mm" in uncut
    assert "uncut" in uncut


# -- which plans are kept -------------------------------------------------------------------------
@dataclass(frozen=True)
class Stub:
    """What `choose_sound` and `_worth_showing` look at of a draft."""

    cuts: tuple[Cut, ...]
    score: float

    @property
    def division(self):
        return SimpleNamespace(pieces=[None] * (len(self.cuts) + 1))

    @property
    def card(self):
        return SimpleNamespace(terms=[])


def stubs(*counts):
    """Drafts of as many pieces, best first, each cut in places of its own."""
    places = itertools.count(10.0, 400.0)
    return [
        Stub(tuple(Cut(Plane(X, next(places))) for _ in range(count - 1)), float(rank))
        for rank, count in enumerate(counts)
    ]


def pieces_of(drafts):
    return [len(draft.division.pieces) for draft in drafts]


def chosen(drafts, most, unsound=()):
    asked = []

    def sound(draft):
        asked.append(draft)
        return None if drafts.index(draft) in unsound else draft

    return choose_sound(drafts, sound, most, Solid.box((400, 100, 100))), asked


@pytest.mark.parametrize(
    ("counts", "unsound", "kept"),
    [
        # The fewest are last by score, as is one more.
        ((6, 6, 6, 6, 6, 4, 5), (), [6, 4, 5, 6, 6]),
        # Of the fewest the best is not sound, but the next is.
        ((6, 6, 6, 6, 6, 4, 4), (5,), [6, 4, 6, 6, 6]),
        # None of the fewest is sound: the least is then the next number.
        ((7, 7, 7, 7, 7, 4, 5, 6), (5,), [7, 5, 6, 7, 7]),
        # Two more is not promised.
        ((6, 6, 6, 6, 6, 3, 5), (), [6, 3, 6, 6, 6]),
        ((3, 4, 4, 5), (), [3, 4, 4, 5]),
        ((3, 4), (0, 1), []),
    ],
)
def test_one_plan_of_the_least_pieces_and_one_of_one_more_are_kept(counts, unsound, kept):
    found, _ = chosen(stubs(*counts), 5, unsound)
    assert pieces_of(found) == kept


def test_no_more_drafts_are_cut_exactly_than_needed():
    drafts = stubs(4, 4, 4, 3, 3, 4)
    found, asked = chosen(drafts, 1)
    assert found == drafts[:1]
    assert set(asked) == {drafts[0]}


def test_a_beaten_plan_of_one_more_piece_than_the_least_is_still_shown(monkeypatch):
    drafts = stubs(2, 2, 2, 2, 3, 4)
    monkeypatch.setattr("splitplanner.suggest.proposals._beats", lambda a, b: a.score < b.score)
    assert pieces_of(_worth_showing(drafts)) == [2, 2, 3]


# -- why one would choose a plan ------------------------------------------------------------------
def judged(count, **values):
    """A draft of that many pieces whose criteria (by name, _ for a space) have these values."""
    terms = [
        SimpleNamespace(
            criterion=SimpleNamespace(name=name.replace("_", " ")), counts=True, value=v
        )
        for name, v in values.items()
    ]
    rooms = [SimpleNamespace(deep_room=SimpleNamespace(count=2))] * (count - 1)
    card = SimpleNamespace(terms=terms, figures=SimpleNamespace(seams=rooms))
    cuts = tuple(Cut(Plane(X, 100.0 * k + 5)) for k in range(1, count))
    division = SimpleNamespace(pieces=[None] * count)
    return SimpleNamespace(cuts=cuts, division=division, card=card)


def test_a_reason_is_a_sentence_a_maker_would_say():
    best = judged(2, support_volume=1.0, seam_seen=2.0, print_time=9.0)
    other = judged(3, support_volume=5.0, seam_seen=3.0, print_time=8.0)
    third = judged(3, support_volume=5.0, seam_seen=3.0, print_time=9.0)
    drafts = [best, other, third]
    assert reason(best, drafts) == "Fewest pieces, least support, shortest visible seam."
    assert reason(other, drafts) == "One piece more than the fewest, shortest print time."
    third_reason = "One piece more than the fewest, cut across x at 105 and 205 mm."
    assert reason(third, drafts) == third_reason
    best.card.figures.seams = [SimpleNamespace(deep_room=SimpleNamespace(count=0))]
    assert reason(best, drafts).endswith("visible seam; one seam has no room for pins.")


def test_a_criterion_without_a_phrase_of_its_own_still_reads_well():
    one, other = judged(2, balance_of_piece_sizes=0.1), judged(2, balance_of_piece_sizes=0.2)
    assert reason(one, [one, other]) == "Fewest pieces, best for balance of piece sizes."


def test_a_plan_without_cuts_says_so():
    assert reason(judged(1), [judged(1)]) == "No cut is needed."


# -- drafts ---------------------------------------------------------------------------------------
def draft_of(part, *cuts):
    return Refiner(part, seen_from_outside(part), PRINTER, exact=True).draft(tuple(cuts))


def test_a_draft_of_two_pieces_that_fill_the_same_box_keeps_them_apart():
    # Cut from edge to edge, the two wedges have equal volumes and equal bounding boxes, but only
    # one of them rests on its bottom: the other would hang over at 63° from vertical.
    part = Solid.box((200, 100, 100))
    draft = draft_of(part, Cut(Plane.through((100, 50, 50), (1, 0, 2))))
    figures = measure(draft.division, draft.ups, PRINTER, seen_from_outside(part))
    assert [row.overhang.area for row in figures.pieces] == pytest.approx([0, 0])
    assert draft.score == pytest.approx(scorecard(figures).total)


def test_there_is_no_draft_of_what_cannot_be_printed():
    part = Solid.box((430, 200, 240))
    assert draft_of(part, Cut(Plane(X, 100.0))) is None  # 330 mm left.
    assert draft_of(part, Cut(Plane(X, 0.2))) is None  # A sliver.
    assert draft_of(part, Cut(Plane(X, 900.0))) is None  # Meets nothing.
    assert draft_of(part, Cut(Plane(X, 215.0), "7")) is None  # No such piece.
    assert draft_of(part, Cut(Plane(X, 215.0))) is not None


def test_refining_moves_a_cut_to_where_the_seam_is_short():
    # A bar with a neck of 20 x 40 from 150 to 190 mm; the cut starts in the thick beside it.
    notch = Solid.box((40, 41, 50), (150, -1, -5))
    other = Solid.box((40, 41, 50), (150, 60, -5))
    part = Solid.box((400, 100, 40)).difference(notch, other)
    refiner = Refiner(part, seen_from_outside(part), PRINTER)
    start = Layout((Cut(Plane(X, 205.0)),), 2)
    before, after = refiner.draft(start.cuts), refiner.refine(start)
    assert after.score < before.score
    assert 150 < after.cuts[0].plane.offset < 190
    (seam,) = after.division.seams
    assert seam.section.area == pytest.approx(20 * 40)


# -- the same idea --------------------------------------------------------------------------------
def test_same_idea():
    part = Solid.box((400, 100, 100))  # Size 424 mm, a twelfth of it is 35 mm.
    one = (Cut(Plane(X, 200.0)),)
    assert same_idea(one, one, part)
    assert same_idea(one, (Cut(Plane(X, 230.0)),), part)
    assert not same_idea(one, (Cut(Plane(X, 240.0)),), part)
    assert same_idea(one, (Cut(Plane(X, 200.0).flipped()),), part)
    assert not same_idea(one, (Cut(Plane(Y, 50.0)),), part)
    assert not same_idea(one, (*one, Cut(Plane(X, 300.0))), part)

    def leaning(angle):
        turn = math.radians(angle)
        return (Cut(Plane.through((200, 50, 50), (math.cos(turn), math.sin(turn), 0))),)

    assert same_idea(one, leaning(14), part)
    assert not same_idea(one, leaning(16), part)


def test_the_order_of_cuts_is_no_other_idea():
    part = Solid.box((600, 100, 100))
    cuts = (Cut(Plane(X, 200.0)), Cut(Plane(X, 400.0)))
    assert same_idea(cuts, cuts[::-1], part)
    # Two cuts near each other do not both match the same one.
    assert not same_idea(cuts, (cuts[0], Cut(Plane(X, 210.0))), part)
    assert same_idea(cuts, tuple(replace(cut, plane=cut.plane.flipped()) for cut in cuts), part)
