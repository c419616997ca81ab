"""Whole plans: sound, exact, really different, and the same every time."""

import itertools
import math
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import trimesh

from splitplanner.errors import Cancelled, NoProposalError
from splitplanner.findings import faults
from splitplanner.plan import Cut, PartFile, divide
from splitplanner.score import measure, scorecard, soundness
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.suggest import suggest
from splitplanner.suggest.choosing import worth_showing
from splitplanner.suggest.concerns import covers, levels_of
from splitplanner.suggest.proposals import _why_nothing
from splitplanner.suggest.standing_in import TRIANGLES
from splitplanner.suggest.wording import words_for
from splitplanner.workshop import Bed, Printer
from tests.catalogue import hollow_roof

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
FIGURES = ("support volume", "overhang area", "seam seen", "seam hidden", "pieces")
PRINTER = Printer(bed=Bed.rectangle(220, 220, 250))


def part_file(part):
    return PartFile("part.stl", "mm", part.fingerprint)


def suggested(part, printer=PRINTER, **options):
    return suggest(part, part_file(part), printer, **options)


def counts_of(found):
    return [len(proposal.draft.division.pieces) for proposal in found.proposals]


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
    assert (min(counts_of(of_box)), of_box.bound.pieces) == (2, 2)
    assert (min(counts_of(of_l)), of_l.bound.pieces) == (3, 3)
    # And one of one more.
    assert 3 in counts_of(of_box)
    assert 4 in counts_of(of_l)


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
    least = min(counts_of(found))
    for proposal in found.proposals:
        count = len(proposal.draft.division.pieces)
        wanted = {0: "Fewest pieces", 1: "One piece more than the fewest"}.get(count - least)
        assert proposal.reason.startswith(wanted or "")
        assert ("more than the fewest" in proposal.reason) == (count > least)
        assert re.fullmatch(r"[A-Z][^.]*(\.\d[^.]*)*\.", proposal.reason)  # One sentence.


def test_no_two_proposals_have_the_same_reason(found):
    reasons = [proposal.reason for proposal in found.proposals]
    assert len(set(reasons)) == len(reasons)


def test_each_differs_in_something_that_matters_from_those_that_score_better(found):
    # But for what is promised: the fewest pieces, one more, a symmetric one, and three in all.
    levels = [levels_of(proposal.draft.card) for proposal in found.proposals]
    twins = [
        number
        for number in range(len(levels))
        if any(covers(levels[better], levels[number]) for better in range(number))
    ]
    assert len(twins) <= 3
    assert len(found.proposals) == 3 or len(twins) <= 2


def test_a_figure_said_to_be_least_is_the_least(found):
    for proposal in found.proposals:
        said = re.split("[,;.] ?", proposal.reason)
        for index, term in enumerate(proposal.draft.card.terms):
            words = words_for(term.criterion.name)
            values = [p.draft.card.terms[index].value for p in found.proposals]
            if words.least in said:
                assert term.value == min(values)
                assert values.count(term.value) == 1
                assert term.weight > 0
            if f"but {words.most}" in said or words.most in said:
                assert term.value == max(values)
            if words.none in said:
                assert term.value == pytest.approx(0, abs=1e-9)


def test_what_weighs_nothing_is_not_measured_to_tell_which_plans_to_show(found):
    fresh = [replace(p.draft, card=scorecard(p.draft.card.figures)) for p in found.proposals]
    assert len(worth_showing(fresh)) >= 3
    for draft in fresh:
        for term in draft.card.terms:
            counts = term.weight > 0 and term.applies
            assert ("value" in vars(term)) == counts


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
    assert 0.6 < shares[-1] <= 1


# -- parts that need no cut -----------------------------------------------------------------------
@pytest.mark.parametrize(
    "size", [(200, 200, 200), (280, 15, 15), (330, 10, 10), (252, 252, 3)], ids=str
)
def test_a_part_that_fits_gets_a_plan_without_cuts(size):
    found = suggested(Solid.box(size))
    (proposal,) = (proposal for proposal in found.proposals if not proposal.plan.cuts)
    assert found.bound.pieces == 1
    assert proposal.reason.startswith("No cut is needed")
    assert proposal.draft.card.figures.seams == ()
    assert proposal.draft.card.figures.pieces[0].fit.fits
    # Only what has to lean may be better off cut.
    assert len(found.proposals) == 1 or size in ((330, 10, 10), (252, 252, 3))


def test_loose_bodies_that_fit_are_pieces():
    part = Solid.box((150, 150, 150)).union(Solid.box((150, 150, 150), (400, 0, 0)))
    (proposal,) = suggested(part).proposals
    assert proposal.plan.cuts == ()
    assert set(proposal.plan.print_directions) == {"a", "b"}


# -- rounding -------------------------------------------------------------------------------------
@pytest.mark.parametrize("bed", [(100, 60, 100), (60, 60, 60)], ids=str)
def test_films_beside_a_ridge_are_no_pieces(bed):
    part = hollow_roof()
    for proposal in suggested(part, Printer(bed=Bed.rectangle(*bed))).proposals:
        volumes = [piece.solid.volume for piece in proposal.draft.division.pieces]
        assert min(volumes) > 100
        assert sum(volumes) == pytest.approx(part.volume, rel=1e-6)


# -- a finely meshed part -------------------------------------------------------------------------
def test_a_fine_mesh_is_cut_exactly():
    # 49 152 triangles are too many to search on; the plans are cut from the part itself all the
    # same.
    mesh = trimesh.creation.box((300, 120, 120))
    for _ in range(6):
        mesh = mesh.subdivide()
    part = Solid.from_arrays(mesh.vertices, mesh.faces)
    assert len(part.faces) > TRIANGLES
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
    def why(part, *cuts):
        plans = [SimpleNamespace(sketch=SimpleNamespace(cuts=c)) for c in cuts]
        return _why_nothing(part, SimpleNamespace(pool=SimpleNamespace(all=plans)), PRINTER)

    x, y = (Cut(Plane(X, 250.0)),), (Cut(Plane(Y, 150.0)),)
    part = Solid.box((500, 300, 0.31))
    one = why(part, x)
    assert one.startswith("1 way to cut the part (500 x 300 x 0.31 mm) fits the bed")
    assert why(part, x, y).startswith("2 ways to cut the part (500 x 300")
    uncut = why(Solid.box((100, 100, 0.3)), ())
    assert "100 x 100 x 0.3 mm" in uncut
    assert "uncut" in uncut
    assert "use a larger bed" in why(part)
    for text in (one, uncut, why(part)):
        assert text.endswith(".")
        assert ". " not in text
