"""Drafts: plans that are really cut and measured."""

import numpy as np
import pytest

from splitplanner.plan import Cut, divide
from splitplanner.score import measure, scorecard
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.suggest import Drafter
from splitplanner.suggest.costs import Costs
from tests.suggest.shapes import PRINTER, l_shape

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def drafter_of(part, **options):
    return Drafter(part, seen_from_outside(part), Costs(part, PRINTER), **options)


def draft_of(part, *cuts):
    return drafter_of(part, exact=True).draft(tuple(cuts))


def test_a_draft_has_the_figures_of_the_plan():
    part = l_shape()
    cuts = (Cut(Plane(X, 215.0)), Cut(Plane(Y, 215.0), "1"))
    draft = draft_of(part, *cuts)
    figures = measure(divide(part, cuts), draft.ups, PRINTER, seen_from_outside(part))
    assert [term.value for term in draft.card.terms if term.counts] == pytest.approx(
        [term.value for term in scorecard(figures).terms if term.counts], abs=1e-9
    )
    assert draft.score == pytest.approx(scorecard(figures).total)
    assert draft.card.figures.exact
    assert draft.cuts == cuts
    assert set(draft.ups) == {"1.1", "1.2", "2"}


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


def test_a_seam_that_leaves_a_thin_skin_makes_no_draft():
    # A cut 0.2 mm beside the step's riser leaves a skin of that thickness all over it.
    part = Solid.box((200, 80, 40)).union(Solid.box((100, 80, 20), (0, 0, 40)))
    assert draft_of(part, Cut(Plane(X, 99.8))) is None
    assert draft_of(part, Cut(Plane(X, 90.0))) is not None


def test_given_print_directions_are_kept_where_the_piece_fits_so():
    part = Solid.box((200, 100, 60))
    cuts = (Cut(Plane(X, 100.0)),)
    drafter = drafter_of(part)
    given = {"1": (0.0, 1.0, 0.0), "2": (0.0, 0.0, -1.0)}
    assert drafter.draft(cuts, given).ups == given
    # 240 x 200 x 215: on its long side it stands 215 mm high on 240 x 200, which the bed is not.
    box = Solid.box((430, 200, 240))
    halves = drafter_of(box).draft((Cut(Plane(X, 215.0)),), {"1": X})
    assert abs(halves.ups["1"][0]) < 0.5


def test_print_directions_without_figures():
    part = l_shape()
    cuts = (Cut(Plane(X, 215.0)), Cut(Plane(Y, 215.0), "1"))
    drafter = drafter_of(part)
    assert drafter.ups(cuts) == drafter.draft(cuts).ups
    assert drafter.ups((Cut(Plane(X, 20.0)),)) is None
    assert drafter.ups((Cut(Plane(X, 900.0), "7"),)) is None


def test_what_comes_up_again_is_not_measured_again(monkeypatch):
    measured = []
    import splitplanner.suggest.drafting as drafting

    inner = drafting.oriented

    def counted(piece, *given, **options):
        measured.append(piece.name)
        return inner(piece, *given, **options)

    monkeypatch.setattr(drafting, "oriented", counted)
    drafter = drafter_of(Solid.box((430, 200, 240)))
    first = drafter.draft((Cut(Plane(X, 215.0)), Cut(Plane(Y, 100.0), "1")))
    assert measured == ["1.1", "1.2", "2"] or sorted(measured) == ["1.1", "1.2", "2"]
    second = drafter.draft((Cut(Plane(X, 215.0)), Cut(Plane(Z, 120.0), "2")))
    assert sorted(measured[3:]) == ["1", "2.1", "2.2"]
    third = drafter.draft((Cut(Plane(X, 215.0)), Cut(Plane(Y, 100.0), "1")))
    assert len(measured) == 6
    assert third.score == first.score
    assert second.score != first.score


def test_equal_pieces_of_other_names_are_named_right():
    part = Solid.box((400, 100, 60))
    drafter = drafter_of(part)
    one = drafter.draft((Cut(Plane(X, 200.0)), Cut(Plane(X, 300.0), "2")))
    other = drafter.draft((Cut(Plane(X, 300.0)), Cut(Plane(X, 200.0), "1")))
    assert set(one.ups) == {"1", "2.1", "2.2"}
    assert set(other.ups) == {"1.1", "1.2", "2"}
    assert one.score == pytest.approx(other.score)
    for draft in (one, other):
        for row in draft.card.figures.seams:
            assert {row.seam.below, row.seam.above} <= set(draft.ups)


def test_progress_rises():
    heard = []
    drafter_of(Solid.box((430, 200, 240))).draft(
        (Cut(Plane(X, 215.0)),), report=lambda done, doing: heard.append(done)
    )
    assert heard == sorted(heard)
    assert heard[-1] == pytest.approx(0.8)
    assert np.isfinite(heard).all()


def test_cuts_that_plans_begin_with_are_made_once(monkeypatch):
    part = Solid.box((430, 200, 240))
    made = []
    inner = Solid.split

    def counted(solid, plane):
        made.append(plane)
        return inner(solid, plane)

    monkeypatch.setattr(Solid, "split", counted)
    drafter = drafter_of(part)
    first, second = Cut(Plane(X, 215.0)), Cut(Plane(Y, 100.0), "1")
    one = drafter.draft((first, second))
    assert len(made) == 2
    other = drafter.draft((first, Cut(Plane(Z, 120.0), "2")))
    assert len(made) == 3
    assert drafter.draft((first, second)).score == one.score
    assert len(made) == 3
    # As if nothing had been remembered.
    for draft in (one, other):
        alone = drafter_of(part).draft(draft.cuts)
        assert alone.score == draft.score
        fingerprints = [piece.solid.fingerprint for piece in draft.division.pieces]
        assert [piece.solid.fingerprint for piece in alone.division.pieces] == fingerprints


def test_seams_between_the_same_pieces_are_measured_once(monkeypatch):
    import splitplanner.suggest.drafting as drafting

    measured = []
    inner = drafting.measure_seam

    def counted(seam, *given):
        measured.append(seam.name)
        return inner(seam, *given)

    monkeypatch.setattr(drafting, "measure_seam", counted)
    drafter = drafter_of(Solid.box((430, 200, 240)), exact=True)
    cuts = (Cut(Plane(X, 215.0)), Cut(Plane(Y, 100.0), "1"))
    draft = drafter.draft(cuts)
    assert len(measured) == len(draft.division.seams) == 3
    again = drafter.draft((cuts[0],))
    assert len(measured) == 4
    assert len(again.card.figures.seams) == 1
    once_more = drafter.draft(cuts)
    assert len(measured) == 4
    for row, before in zip(once_more.card.figures.seams, draft.card.figures.seams, strict=True):
        assert row.seam is once_more.division.seams[int(row.seam.name[1:]) - 1]
        assert row.figures == before.figures
    # What leaves a skin is known to.
    step = Solid.box((200, 80, 40)).union(Solid.box((100, 80, 20), (0, 0, 40)))
    drafter = drafter_of(step)
    assert drafter.draft((Cut(Plane(X, 99.8)),)) is None
    assert drafter.draft((Cut(Plane(X, 99.8)),)) is None


def test_of_a_part_too_large_to_keep_nothing_is_remembered(monkeypatch):
    import splitplanner.suggest.drafting as drafting

    monkeypatch.setattr(drafting, "_REMEMBERED", 11)
    drafter = drafter_of(Solid.box((430, 200, 240)))
    cuts = (Cut(Plane(X, 215.0)), Cut(Plane(Y, 100.0), "1"))
    one, other = drafter.draft(cuts), drafter.draft(cuts)
    assert one.score == other.score
    assert not {id(piece.solid) for piece in one.division.pieces} & {
        id(piece.solid) for piece in other.division.pieces
    }
