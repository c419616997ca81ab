"""The figures of plans whose figures are known, and how they add up to a score."""

import math

import numpy as np
import pytest

from splitplanner.plan import Cut, Division, Piece, divide
from splitplanner.score import (
    CRITERIA,
    LEAST_CONTACT,
    REFERENCE_PIN,
    Criterion,
    Figures,
    Term,
    Views,
    measure,
    measure_piece,
    measure_seam,
    scorecard,
    seen_from,
)
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.workshop import Bed, Printer

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
DOWN = (0.0, 0.0, -1.0)
PRINTER = Printer(bed=Bed.rectangle(220, 220, 250))
EDGE = PRINTER.edge_distance(REFERENCE_PIN)


def figures_of(part, *cuts, ups=None, printer=PRINTER):
    division = divide(part, cuts)
    ups = ups or {piece.name: Z for piece in division.pieces}
    return measure(division, ups, printer, seen_from_outside(part))


def values(figures):
    return {term.criterion.name: term.value for term in scorecard(figures).terms}


@pytest.fixture(scope="module")
def two_boxes():
    """A bar 400 x 100 x 100 cut in the middle, both halves printed as they lie."""
    return figures_of(Solid.box((400, 100, 100)), Cut(Plane(X, 200.0)))


# -- figures ------------------------------------------------------------------------------------
def test_every_figure_of_a_bar_in_two(two_boxes):
    # Diagonal of 400 x 100 x 100 mm.
    size = math.sqrt(400**2 + 2 * 100**2)
    assert values(two_boxes) == pytest.approx(
        {
            "pieces": 2,
            "too large for the bed": 0,
            "tight fit": 0,
            "overhang area": 0,
            "support volume": 0,
            "hardly touching the bed": 0,
            # The seam's outline is 400 mm; its 100 mm on the bottom face nobody sees.
            "seam seen": 300 / size,
            "seam hidden": 100 / size,
            "seams without room for two pins": 0,
            "strength lost at seams": 0,
            # Each half is 200 x 100 x 100 mm: lines of 0.45 x 0.2 mm on sides of 60 000 mm², an
            # outer one at 30 and two at 50 mm/s; 8 solid layers of 20 000 mm² and 15 % of the
            # rest at 70 mm/s; 500 layers at 1 s.
            "print time": 2
            * (27e3 / 2.7 + 54e3 / 4.5 + (32e3 + 0.15 * (2e6 - 113e3)) / 6.3 + 500)
            / 3600,
            # 100 + 5 + 100 mm on 220.
            "print beds": 1,
            "uneven pieces": 0,
            "slender prints": 0,
            "plan without bed contact": 0,
            "travel crossings": 0,
            "travel crossings seen": 0,
            # Nobody sees what lies on the bed; its sharp corners are half a diagonal from the
            # middle, and curl up from 70 mm on.
            "marks on the good side": 0,
            "printing risks": 2 * math.hypot(100, 50) / 70,
            # The layers lie along the bar, across its seam; no screw reaches 200 mm to its ends.
            "layers pulled apart at seams": 0,
            "layers across the long axis": 0,
            "seams out of a driver's reach": 1,
        },
        abs=1e-12,
    )


def test_the_rows_of_a_bar_in_two(two_boxes):
    assert two_boxes.exact
    assert [row.piece.name for row in two_boxes.pieces] == ["1", "2"]
    for row in two_boxes.pieces:
        assert row.up == Z
        assert row.fit.fits
        # 200 x 100 on 220 x 220, 100 high of 250: the long side counts.
        assert row.fit.spare == pytest.approx(1.1)
        assert row.overhang.contact_area == pytest.approx(200 * 100)
        assert row.support.volume == 0
    (row,) = two_boxes.seams
    assert (row.figures.length, row.figures.area) == pytest.approx((400, 10000))
    inner = (100 - 2 * EDGE) ** 2
    assert (row.room.area, row.deep_room.area) == pytest.approx((inner, inner))
    # On a square of side 95 mm at 9 mm: at least the square lattice of 11 x 11.
    assert row.room.count >= 121
    assert row.deep_room.count == row.room.count


def test_the_room_is_that_for_the_reference_pin():
    assert REFERENCE_PIN == 3
    # Half the drawn hole (3.2 mm) and two lines of 0.45 mm.
    assert PRINTER.edge_distance(REFERENCE_PIN) == pytest.approx(2.5)


def mushroom():
    """A stem 20 x 20 x 50 under a cap 100 x 100 x 10."""
    return Solid.box((20, 20, 50)).union(Solid.box((100, 100, 10), (-40, -40, 50)))


def test_overhang_and_support_are_scaled_by_the_part():
    area = 2 * 100**2 + 4 * 100 * 10 + 4 * 20 * 50
    volume = 100 * 100 * 10 + 20 * 20 * 50
    found = values(figures_of(mushroom()))
    # Everything of the cap but above the stem hangs 50 mm over the bed.
    assert found["overhang area"] == pytest.approx((100**2 - 20**2) / (area / 100))
    assert found["support volume"] == pytest.approx(50 * (100**2 - 20**2) / (volume / 1000))
    turned = values(figures_of(mushroom(), ups={"whole": DOWN}))
    assert (turned["overhang area"], turned["support volume"]) == (0, 0)


def test_pieces_that_do_not_fit_count_by_what_they_are_too_large():
    figures = figures_of(Solid.box((400, 100, 100)), Cut(Plane(X, 100.0)), ups={"1": Z, "2": X})
    # 300 mm upright on a bed of 250: 1/6 too large, and no fit is tighter. 100 mm has room.
    found = values(figures)
    assert found["too large for the bed"] == pytest.approx(1 - 250 / 300)
    assert found["tight fit"] == 1


@pytest.mark.parametrize(("length", "tight"), [(217.0, 0), (218.5, 1), (220.0, 1)])
def test_less_than_a_hundredth_to_spare_is_a_tight_fit(length, tight):
    assert values(figures_of(Solid.box((length, 200, 50))))["tight fit"] == tight


def test_pieces_that_hardly_touch_the_bed_are_counted():
    # A block on a square foot: of 4.9 mm it touches with less than 25 mm², of 5.1 mm with more.
    part = Solid.box((100, 60, 40))
    for foot, afloat in ((4.9, 1), (5.1, 0)):
        on_foot = part.union(Solid.box((foot, foot, 10), (20, 20, -10)))
        assert (foot**2 < LEAST_CONTACT) == bool(afloat)
        assert values(figures_of(on_foot))["hardly touching the bed"] == afloat


# -- room ---------------------------------------------------------------------------------------
def test_a_seam_along_a_thin_rib_has_room_but_no_depth():
    # A plate of 3 mm divided into two of 1.5: pins find 200 x 100 mm of seam, but no material.
    figures = figures_of(Solid.box((200, 100, 3)), Cut(Plane(Z, 1.5)))
    (row,) = figures.seams
    assert row.room.area == pytest.approx((200 - 2 * EDGE) * (100 - 2 * EDGE))
    assert row.room.count > 100
    assert row.deep_room.count == 0
    assert values(figures)["seams without room for two pins"] == 1


def test_a_seam_across_a_thin_rib_has_no_room_at_all():
    (row,) = figures_of(Solid.box((200, 100, 3)), Cut(Plane(X, 100.0))).seams
    # 3 mm is less than two edge distances.
    assert row.room.count == row.deep_room.count == 0


@pytest.mark.parametrize("flip", [False, True], ids=["up", "down"])
def test_deep_room_leaves_out_what_does_not_go_on(flip):
    # Below the seam, from 4 to 8 mm deep, a pocket takes half of the material away.
    part = Solid.box((60, 60, 100)).difference(Solid.box((31, 62, 4), (-1, -1, 42)))
    plane = Plane(Z, 50.0)
    (row,) = figures_of(part, Cut(plane.flipped() if flip else plane)).seams
    assert row.room.area == pytest.approx((60 - 2 * EDGE) ** 2)
    assert row.deep_room.area == pytest.approx((30 - 2 * EDGE) * (60 - 2 * EDGE))
    assert 0 < row.deep_room.count < row.room.count


def test_room_for_one_pin_is_half_a_fault():
    # 5.5 x 10 mm: on the 0.5 x 5 mm of room one pin, since two want to stand 9 mm apart.
    figures = figures_of(Solid.box((60, 5.5, 10)), Cut(Plane(X, 30.0)))
    assert figures.seams[0].deep_room.count == 1
    assert values(figures)["seams without room for two pins"] == 0.5
    # 5.5 x 14.5 mm: 9.5 mm long, two pins.
    figures = figures_of(Solid.box((60, 5.5, 14.5)), Cut(Plane(X, 30.0)))
    assert figures.seams[0].deep_room.count == 2
    assert values(figures)["seams without room for two pins"] == 0


def test_seams_without_room_are_added_up():
    # One cut through the solid bar, one through a neck of 3 mm.
    part = Solid.box((300, 60, 60)).difference(Solid.box((20, 57, 70), (200, -1, -5)))
    part = part.difference(Solid.box((20, 2, 70), (200, 59, -5)))
    figures = figures_of(part, Cut(Plane(X, 100.0)), Cut(Plane(X, 210.0)))
    assert len(figures.seams) == 2
    assert values(figures)["seams without room for two pins"] == 1


def test_a_part_that_is_not_cut_has_no_seam_figures():
    found = values(figures_of(Solid.box((100, 100, 100))))
    assert found["pieces"] == 1
    assert [value for name, value in found.items() if "seam" in name] == [0] * 6


# -- adding up ----------------------------------------------------------------------------------
def test_the_score_is_the_sum_of_its_terms(two_boxes):
    card = scorecard(two_boxes)
    assert card.figures is two_boxes
    assert [term.criterion for term in card.terms] == list(CRITERIA)
    assert card.total == pytest.approx(sum(term.contribution for term in card.terms))
    # By hand, with the default weights: two pieces and 300 + 100 mm of seam.
    size = math.sqrt(400**2 + 2 * 100**2)
    assert card.total == pytest.approx(0.25 * 2 + 0.3 * 300 / size + 0.1 * 100 / size)


def test_a_term_counts_in_references(two_boxes):
    criterion = Criterion("any", "mm", 20.0, 1.0, lambda figures: 50.0)
    assert Term(criterion, two_boxes, 0.3).contribution == pytest.approx(0.3 * 50 / 20)


def test_what_weighs_nothing_is_measured_once_and_only_when_asked(two_boxes):
    asked = []

    def dear(figures):
        asked.append(figures)
        return 50.0

    term = Term(Criterion("dear", "mm", 20.0, 0.0, dear), two_boxes, 0.0)
    assert (term.contribution, term.counts, asked) == (0.0, False, [])
    assert (term.value, term.value, asked) == (50.0, 50.0, [two_boxes])
    heavy = Term(term.criterion, two_boxes, 2.0)
    assert (heavy.contribution, heavy.counts) == (pytest.approx(5.0), True)
    assert (heavy.contribution, len(asked)) == (pytest.approx(5.0), 2)


def test_the_default_score_counts_islands_for_nothing_but_they_can_be_weighed():
    # Four legs under a plate: see the test of islands. Too dear for every draft of a search.
    table = Solid.box((100, 100, 10), (0, 0, 30)).union(
        *(Solid.box((10, 10, 30), (x, y, 0)) for x in (0, 90) for y in (0, 90))
    )
    figures = figures_of(table)
    (term,) = [t for t in scorecard(figures).terms if t.criterion.name == "travel crossings"]
    assert term.contribution == 0
    assert "value" not in vars(term)
    assert term.value == pytest.approx(3 * 150)
    plain = scorecard(figures).total
    weighed = scorecard(figures, {"travel crossings": 2.0}).total
    assert weighed - plain == pytest.approx(2 * 450 / 1000)


def test_criteria_have_names_of_their_own_and_positive_references():
    assert len({criterion.name for criterion in CRITERIA}) == len(CRITERIA)
    assert all(criterion.reference > 0 and criterion.weight >= 0 for criterion in CRITERIA)
    assert all(criterion.unit for criterion in CRITERIA)


def test_weights_replace_the_defaults(two_boxes):
    nothing = dict.fromkeys((criterion.name for criterion in CRITERIA), 0.0)
    assert scorecard(two_boxes, nothing).total == 0
    assert scorecard(two_boxes, nothing | {"pieces": 3.0}).total == pytest.approx(6)
    plain, changed = scorecard(two_boxes), scorecard(two_boxes, {"seam seen": 1.3})
    seen = values(two_boxes)["seam seen"]
    assert changed.total - plain.total == pytest.approx((1.3 - 0.3) * seen)
    assert scorecard(two_boxes, {}).total == plain.total


def test_criteria_that_know_more_than_the_plan_are_added(two_boxes):
    # An eye before the side y = 0 sees the seam's 100 mm there.
    extra = seen_from(Views(points=((200.0, -500.0, 50.0),)))
    card = scorecard(two_boxes, {extra.name: 2.0}, (*CRITERIA, extra))
    assert card.terms[-1].value == pytest.approx(100 / two_boxes.part.size)
    added = 2 * 100 / two_boxes.part.size
    assert card.total == pytest.approx(scorecard(two_boxes).total + added)


def test_a_weight_for_no_criterion_is_refused(two_boxes):
    with pytest.raises(ValueError, match="no criterion called beauty, luck"):
        scorecard(two_boxes, {"luck": 1.0, "beauty": 2.0, "pieces": 1.0})


def test_figures_may_be_put_together_one_by_one(two_boxes):
    part = two_boxes.part
    division = divide(part, [Cut(Plane(X, 200.0))])
    seen = seen_from_outside(part)
    rows = tuple(measure_piece(piece, Z, PRINTER) for piece in division.pieces)
    seams = tuple(measure_seam(seam, division, seen, PRINTER) for seam in division.seams)
    by_hand = Figures(part, PRINTER, rows, seams, exact=False)
    assert not by_hand.exact
    assert scorecard(by_hand).total == pytest.approx(scorecard(two_boxes).total, rel=1e-12)


def test_resolution_changes_only_what_lands_on_the_piece():
    # Straight down to the bed the support of a cap is exact at any resolution.
    for resolution in (None, 5.0):
        row = measure_piece(Piece("whole", 1, mushroom()), Z, PRINTER, resolution)
        assert row.support.volume == pytest.approx(50 * (100**2 - 20**2))


def test_the_score_does_not_depend_on_where_the_part_stands(two_boxes):
    move = np.column_stack([np.eye(3), [1000.0, -300.0, 77.0]])
    moved = figures_of(two_boxes.part.transformed(move), Cut(Plane(X, 1200.0)))
    assert scorecard(moved).total == pytest.approx(scorecard(two_boxes).total, rel=1e-9)


def test_progress_names_pieces_and_seams():
    heard = []
    part = Solid.box((400, 100, 100))
    division = divide(part, [Cut(Plane(X, 200.0))])
    seen = np.ones(len(part.faces), dtype=bool)
    measure(division, {"1": Z, "2": Z}, PRINTER, seen, lambda *said: heard.append(said))
    assert heard == [
        (0, "measuring piece 1"),
        (1 / 3, "measuring piece 2"),
        (2 / 3, "measuring seam S1"),
    ]


def test_measuring_a_part_that_is_not_cut():
    part = Solid.box((10, 10, 10))
    whole = Division(part, (Piece("whole", 1, part),), ())
    figures = measure(whole, {"whole": Z}, PRINTER, np.ones(len(part.faces), dtype=bool))
    assert figures.seams == ()
    assert scorecard(figures).total == pytest.approx(0.25)
