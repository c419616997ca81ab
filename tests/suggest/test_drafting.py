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
