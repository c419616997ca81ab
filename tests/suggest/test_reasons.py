"""Why one would choose a plan, in a sentence a maker would say."""

from types import SimpleNamespace

import numpy as np
import pytest

from splitplanner.plan import Cut
from splitplanner.score import CRITERIA, Criterion
from splitplanner.solid import Plane
from splitplanner.suggest.mirroring import Mirror
from splitplanner.suggest.reasons import reason, reasons

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
BY_NAME = {criterion.name: criterion for criterion in CRITERIA}


class Term(SimpleNamespace):
    """A term of a scorecard whose value is given."""

    counts = True

    @property
    def weight(self):
        return self.criterion.weight or 1.0

    @property
    def contribution(self):
        return self.weight * self.value / self.criterion.reference


def judged(count, *, room=2, seen=1.0, hidden=1.0, volumes=None, **values):
    """A draft of that many pieces whose criteria (by name, _ for a space) have these values."""
    names = {name: name.replace("_", " ") for name in values}
    terms = [
        Term(
            criterion=BY_NAME.get(names[name], Criterion(names[name], "", 1.0, 1.0, lambda f: 0.0)),
            value=value,
        )
        for name, value in values.items()
    ]
    figures = SimpleNamespace(seen_length=seen, length=seen + hidden)
    rows = [SimpleNamespace(deep_room=SimpleNamespace(count=room), figures=figures)] * (count - 1)
    card = SimpleNamespace(terms=terms, figures=SimpleNamespace(seams=rows))
    cuts = tuple(Cut(Plane(X, 100.0 * k + 5)) for k in range(1, count))
    pieces = [
        SimpleNamespace(
            solid=SimpleNamespace(volume=volume, centroid=np.array([100.0 * k + 55, 50, 50]))
        )
        for k, volume in enumerate(volumes or range(1, count + 1))
    ]
    part = SimpleNamespace(bounds=np.array([[0.0, 0.0, 0.0], [400.0, 100.0, 100.0]]))
    seams = [SimpleNamespace(plane=cut.plane) for cut in cuts]
    division = SimpleNamespace(pieces=pieces, part=part, seams=seams)
    return SimpleNamespace(cuts=cuts, division=division, card=card)


# -- what it is best at and what it pays ----------------------------------------------------------
def test_a_reason_says_what_is_best_and_what_it_costs():
    few = judged(2, support_volume=900.0, seam_seen=1.0, overhang_area=9.0)
    free = judged(3, support_volume=0.0, seam_seen=2.0, overhang_area=7.0)
    middle = judged(3, support_volume=400.0, seam_seen=1.5, overhang_area=8.0)
    assert reasons([few, free, middle]) == [
        "Fewest pieces, shortest visible seam, but most support and overhang.",
        "One piece more than the fewest, no support, least overhang, but longest visible seam.",
        "One piece more than the fewest, 56 % less support than proposal 1, "
        "but more support than proposal 2.",
    ]


def test_next_to_nothing_is_not_called_least():
    some, little = judged(2, support_volume=900.0), judged(2, support_volume=3.0)
    assert reasons([little, some])[0] == "Fewest pieces, hardly any support."
    # And where most plans have none, it is nothing to tell.
    none = judged(2, support_volume=0.0)
    assert "support" not in reasons([none, none, some])[0]


def test_what_goes_together_is_said_together():
    one = judged(2, seam_seen=1.0, seam_hidden=1.0)
    other = judged(2, seam_seen=2.0, seam_hidden=2.0)
    assert reasons([one, other]) == [
        "Fewest pieces, shortest seams.",
        "Fewest pieces, cut across x at 105 mm, but longest seams.",
    ]


def test_what_can_be_counted_is_counted():
    one = judged(2, hardly_touching_the_bed=0.0, support_volume=900.0)
    other = judged(2, hardly_touching_the_bed=1.0, support_volume=500.0)
    third = judged(2, hardly_touching_the_bed=2.0, support_volume=100.0)
    said = reasons([one, other, third])
    assert said[0] == "Fewest pieces, no pieces that hardly touch the bed, but most support."
    assert said[1].endswith("but one piece that hardly touches the bed.")
    assert said[2].endswith("least support, but two pieces that hardly touch the bed.")


def test_what_another_has_and_a_plan_has_not():
    # Both others have none of it either, so that nobody is ahead in it.
    plans = [judged(2, hardly_touching_the_bed=value) for value in (1.0, 0.0, 0.0)]
    said = reasons(plans)
    assert said[0] == "Fewest pieces, best all round, but one piece that hardly touches the bed."
    assert said[1].startswith("Fewest pieces, no pieces that hardly touch the bed")


def test_the_best_plan_may_be_best_in_nothing():
    few = judged(3, support_volume=8000.0, seam_seen=1.0)
    best = judged(5, support_volume=800.0, seam_seen=2.0)
    many = judged(6, support_volume=700.0, seam_seen=2.5)
    assert reasons([best, many, few])[0] == (
        "Two pieces more than the fewest, best all round, 90 % less support than proposal 3, "
        "but longer visible seam."
    )


def test_no_more_than_three_advantages_are_told():
    names = ("overhang_area", "seam_seen", "seam_hidden", "tight_fit", "travel_crossings")
    one = judged(2, **dict.fromkeys(names, 100.0))
    other = judged(2, **dict.fromkeys(names, 9000.0))
    text = reason(one, [one, other])
    assert text.count(",") == 3
    # What tells most comes first.
    assert text.startswith("Fewest pieces, shortest seams, fewest tight fits,")


def test_a_criterion_without_a_phrase_of_its_own_still_reads_well():
    one, other = judged(2, balance_of_piece_sizes=0.1), judged(2, balance_of_piece_sizes=0.2)
    assert reason(one, [one, other]) == "Fewest pieces, best for balance of piece sizes."


def test_hardly_different_figures_are_no_advantage():
    one, other = judged(2, support_volume=500.0), judged(2, support_volume=505.0)
    assert "support" not in reason(one, [one, other])
    assert "support" not in reason(other, [one, other])


# -- alone, and alike -----------------------------------------------------------------------------
def test_a_plan_without_cuts_says_so():
    alone = judged(1)
    assert reason(alone, [alone]) == "No cut is needed."


def test_a_plan_alone_has_no_advantage_over_others():
    alone = judged(3, support_volume=1.0)
    assert reason(alone, [alone]) == "Fewest pieces."


def test_plans_that_stand_alike_are_told_apart_by_where_they_are_cut():
    one, other, third = (judged(3, support_volume=100.0) for _ in range(3))
    other.cuts = (Cut(Plane(X, 50.0)), Cut(Plane(Y, 20.0), "2"))
    third.cuts = (Cut(Plane(X, 50.0)), Cut(Plane(Y, 30.0), "2"))
    said = reasons([one, other, third])
    assert len(set(said)) == 3
    assert said[1] == "Fewest pieces, cut across x at 50 mm and across y at 20 mm."
    assert said[0].startswith("Fewest pieces, best all round")


# -- room for pins --------------------------------------------------------------------------------
def test_seams_without_room_are_told_where_plans_differ_in_them():
    roomy = judged(3, room=2, seams_without_room_for_two_pins=0.0)
    tight = judged(3, room=0, seams_without_room_for_two_pins=2.0)
    said = reasons([roomy, tight])
    assert said[0] == "Fewest pieces, room for pins at every seam."
    assert said[1].endswith("; at two seams not even one pin fits.")
    assert "pins" not in reasons([tight, tight])[0]
    half = judged(2, room=0, seams_without_room_for_two_pins=1.0)
    assert reasons([roomy, half])[1].endswith("; at one seam not even one pin fits.")


# -- symmetric, hidden, equal ---------------------------------------------------------------------
def test_what_is_so_of_some_plans_only_is_told():
    plain = judged(2)
    equal = judged(2, volumes=[2.0, 2.001])
    assert reasons([equal, plain])[0] == "Fewest pieces, pieces of equal size."
    assert "equal" not in reasons([equal, equal])[0]
    hidden = judged(2, seen=0.5, hidden=9.5)
    assert reasons([plain, hidden])[1] == "Fewest pieces, seams nearly all hidden."
    assert "hidden" not in reasons([plain, replace_seen(hidden, 2.0)])[1]


def replace_seen(draft, seen):
    figures = SimpleNamespace(seen_length=seen, length=10.0)
    draft.card.figures.seams = [
        SimpleNamespace(deep_room=row.deep_room, figures=figures)
        for row in draft.card.figures.seams
    ]
    return draft


@pytest.mark.parametrize("flipped", [False, True])
def test_symmetric_plans(flipped):
    mirrors = [Mirror(X, 105.0)]
    halves = judged(2, volumes=[1.0, 1.01])  # Centroids at 55 and 155, cut at 105.
    if flipped:
        halves.division.seams = [SimpleNamespace(plane=halves.cuts[0].plane.flipped())]
    uneven = judged(2, volumes=[1.0, 2.0])
    assert reasons([uneven, halves], mirrors)[1] == "Fewest pieces, halves that mirror each other."
    assert "mirror" not in reasons([halves, halves], mirrors)[0]
    three = judged(3, volumes=[1.0, 5.0, 1.01])
    said = reasons([uneven, three], [Mirror(X, 155.0)])
    assert said[1].endswith("symmetric without a seam in the middle.")


# -- where it is cut ------------------------------------------------------------------------------
def where(*cuts):
    one, other = judged(3), judged(3)
    other.cuts = cuts
    return reasons([one, other])[1]


def test_cuts_backwards_and_tilted():
    # The middle of the part is (200, 50, 50).
    tilt = np.tan(np.radians(7.0))
    text = where(
        Cut(Plane(X, 50.0).flipped()), Cut(Plane.through((120, 50, 50), (1.0, -tilt, 0.0)))
    )
    assert text == "Fewest pieces, cut across x at 50 mm and across x, tilted 7° to -y, at 120 mm."
    slanted = Plane.through((200, 50, 60), (np.tan(np.radians(10)), -np.tan(np.radians(3.5)), 1))
    assert where(Cut(slanted)).endswith("cut across z, tilted 10° to x and 3.5° to -y, at 60 mm.")
    assert where(Cut(slanted.flipped())) == where(Cut(slanted))


def test_two_pieces_cut_at_one_plane_are_told_once():
    plane = Plane(Y, 0.0)
    text = where(Cut(Plane(X, 50.0)), Cut(plane, "P1"), Cut(plane.flipped(), "P2"))
    assert text == "Fewest pieces, cut across x at 50 mm and across y at 0 mm."
