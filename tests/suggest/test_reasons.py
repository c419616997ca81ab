"""Why one would choose a plan, in a sentence a maker would say."""

from types import SimpleNamespace

from splitplanner.plan import Cut
from splitplanner.solid import Plane
from splitplanner.suggest.reasons import reason

X = (1.0, 0.0, 0.0)


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


def test_a_plan_alone_has_no_advantage_over_others():
    alone = judged(3, support_volume=1.0)
    assert reason(alone, [alone]) == "Fewest pieces."


def test_equal_figures_are_no_advantage():
    one, other = judged(2, support_volume=1.0), judged(2, support_volume=1.0)
    assert "support" not in reason(one, [one, other])


def test_no_more_than_three_advantages_are_told():
    names = ("overhang_area", "support_volume", "seam_seen", "seam_hidden")
    one = judged(2, **dict.fromkeys(names, 1.0))
    other = judged(2, **dict.fromkeys(names, 2.0))
    text = reason(one, [one, other])
    assert "shortest visible seam" in text
    assert "hidden" not in text


def test_cuts_askew_and_backwards():
    one, other = judged(3), judged(3)
    one.cuts = (Cut(Plane(X, 50.0).flipped()), Cut(Plane.through((0, 40, 0), (0, 1, 1))))
    text = reason(one, [one, other])
    assert text == "Fewest pieces, cut across x at 50 mm and askew at 28.3 mm."


def test_two_pieces_cut_at_one_plane_are_told_once():
    one, other = judged(3), judged(3)
    plane = Plane((0.0, 1.0, 0.0), 0.0)
    one.cuts = (Cut(Plane(X, 50.0)), Cut(plane, "P1"), Cut(plane.flipped(), "P2"))
    assert reason(one, [one, other]) == "Fewest pieces, cut across x at 50 mm and across y at 0 mm."
