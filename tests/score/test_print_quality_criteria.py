"""Marks on the good side and printing risks, on boxes and the like where both can be reckoned."""

import math

import numpy as np
import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.plan import Cut, divide
from splitplanner.score import CRITERIA, good_sides, measure, print_findings, scorecard
from splitplanner.score.printability.findings import lying_findings
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.workshop import Printer

X, Y, UP, DOWN = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
MARKS, RISKS = "marks on the good side", "printing risks"
BY_NAME = {criterion.name: criterion for criterion in CRITERIA}


def figures_of(part, *cuts, up=UP, good=None, printer=None):
    """Measure a plan; `good` is where the good side looks, everything seen if None."""
    division = divide(part, cuts)
    seen = seen_from_outside(part) if good is None else part.face_normals @ np.array(good) > 0.999
    ups = up if isinstance(up, dict) else {piece.name: up for piece in division.pieces}
    return measure(division, ups, printer or Printer(), seen)


def marked(part, *cuts, **given):
    """The area of the good side that is marked, mm²."""
    return BY_NAME[MARKS].measure(figures_of(part, *cuts, **given)) * part.area / 100


def risks(part, *cuts, **given):
    return BY_NAME[RISKS].measure(figures_of(part, *cuts, **given))


def post_with_ledge():
    """A post 40 x 40 x 60 with a ledge 30 mm wide and 10 high along one side of its top."""
    return Solid.box((40, 40, 60)).union(Solid.box((70, 40, 10), (0, 0, 50)))


def bracket():
    """An L: a base 60 x 40 x 5, and on its low-x end a wall 5 x 40, 50 high in all."""
    return Solid.box((60, 40, 5)).union(Solid.box((5, 40, 50)))


def arch(span):
    """A plate 30 wide and 10 thick, 40 up, on two legs 10 long with `span` between them."""
    plate = Solid.box((span + 20, 30, 10), (0, 0, 40))
    return plate.union(Solid.box((10, 30, 40)), Solid.box((10, 30, 40), (span + 10, 0, 0)))


# -- marks on the good side -----------------------------------------------------------------------
def test_a_ledge_is_marked_from_below_where_that_side_is_good():
    part = post_with_ledge()
    # Its underside, and the foot of the post, which looks the same way.
    assert marked(part, good=DOWN) == pytest.approx(30 * 40 + 40 * 40, rel=1e-9)
    assert marked(part, good=UP) == 0
    # The other way up it is the top that lies on the bed, and nothing hangs.
    assert marked(part, up=DOWN, good=DOWN) == 0
    assert marked(part, up=DOWN, good=UP) == pytest.approx(70 * 40, rel=1e-9)


def test_the_inside_of_a_bracket_is_marked_upside_down():
    # The wall stands on its upper edge, and support holds the base from the bed.
    part = bracket()
    assert marked(part, up=DOWN, good=UP) == pytest.approx(5 * 40 + 55 * 40, rel=1e-9)
    assert marked(part, up=UP, good=UP) == 0
    # With its back on the bed the base is a wall, and none of it faces down.
    assert marked(part, up=X, good=UP) == 0


def test_what_supports_stand_on_is_marked_too():
    # A roof over the base: what holds it up stands on all of the base but the wall.
    part = bracket().union(Solid.box((60, 40, 5), (0, 0, 50)))
    assert marked(part, good=UP) == pytest.approx(55 * 40, rel=0.01)


def test_marks_are_told_beside_the_surface():
    part = bracket()
    area = 2 * (60 * 40 + (60 * 5 + 5 * 45)) + 2 * 50 * 40
    assert part.area == pytest.approx(area)
    value = BY_NAME[MARKS].measure(figures_of(part, up=DOWN, good=UP))
    assert value == pytest.approx((5 * 40 + 55 * 40) / (area / 100), rel=1e-9)


def test_a_cut_that_lets_a_piece_lie_otherwise_saves_its_marks():
    # The post as it stands; the ledge with its wall on the bed, on the face of the cut.
    part = post_with_ledge()
    cut = Cut(Plane(X, 40.0))
    ledge = next(p.name for p in divide(part, (cut,)).pieces if p.solid.bounds[0, 0] > 39)
    post = next(p.name for p in divide(part, (cut,)).pieces if p.name != ledge)
    assert marked(part, cut, up={post: UP, ledge: X}, good=DOWN) == pytest.approx(40 * 40)
    # Face down it is the good underside that lies there.
    flat = marked(part, cut, up={post: UP, ledge: UP}, good=DOWN)
    assert flat == pytest.approx(40 * 40 + 30 * 40)


@pytest.mark.parametrize("up", [UP, X])
def test_marks_are_those_of_the_pieces(up):
    part = DEMO_PARTS["garden_heron"].make(triangles=5000)
    middle = float(part.bounds.mean(axis=0)[2])
    figures = figures_of(part, Cut(Plane(UP, middle)), up=up)
    told = sum(each.supports + each.contact for each in good_sides(figures))
    assert told > 100
    assert BY_NAME[MARKS].measure(figures) * part.area / 100 == pytest.approx(told, rel=1e-12)


# -- printing risks -------------------------------------------------------------------------------
def test_corners_curl_by_how_far_out_they_lie():
    # A plate's are half its diagonal from the middle: 70 mm counts as one.
    assert risks(Solid.box((98, 98, 5))) == 0
    assert risks(Solid.box((120, 90, 5))) == pytest.approx(75 / 70, rel=1e-9)
    assert risks(Solid.box((160, 120, 5))) == pytest.approx(100 / 70, rel=1e-9)
    # Cut in two, the halves reach hypot(40, 60) = 72.1 mm.
    cut = Cut(Plane(X, 80.0))
    halves = risks(Solid.box((160, 120, 5)), cut)
    assert halves == pytest.approx(2 * math.hypot(40, 60) / 70, rel=1e-9)
    # On edge its contact is too narrow to pull at its corners.
    assert risks(Solid.box((90, 180, 15)), up=X) == 0


def test_a_disc_has_no_corners():
    assert risks(Solid.cylinder((0, 0, 0), (0, 0, 5), 90.0, 180)) == 0


def test_each_small_hole_is_a_place_unless_the_cut_opens_it():
    part = Solid.box((60, 30, 20)).difference(
        *(Solid.cylinder((x, 15, -1), (x, 15, 21), 0.5, 24) for x in (20, 40))
    )
    assert risks(part) == 2
    # Across them there is one in each piece; along them, none.
    assert risks(part, Cut(Plane(UP, 10.0))) == 4
    assert risks(part, Cut(Plane(Y, 15.0))) == 0
    wide = Solid.box((60, 30, 20)).difference(Solid.cylinder((20, 15, -1), (20, 15, 21), 2.0, 24))
    assert risks(wide) == 0


@pytest.mark.parametrize(("span", "up", "expected"), [
    (60, UP, 1), (8, UP, 0), (60, DOWN, 0), (60, Y, 0),
])  # fmt: skip
def test_an_underside_too_long_to_bridge_is_a_place(span, up, expected):
    printer = Printer(bridge_span=10.0)
    assert risks(arch(span), up=up, printer=printer) == expected


def test_a_tip_in_mid_air_is_a_place_until_it_is_turned_up():
    spikes = [
        Solid.hull_of([(x + a, y, 40.0) for a in (-5, 5) for y in (-5, 5)] + [(x, 0.0, 20.0)])
        for x in (20.0, 35.0)
    ]
    part = Solid.box((10, 10, 50), (-5, -5, 0)).union(
        Solid.box((60, 30, 5), (-15, -15, 0)), Solid.box((50, 10, 10), (-5, -5, 40)), *spikes
    )
    assert risks(part) == 2
    # On its back, with the arm on the bed, they point up.
    assert risks(part, up=DOWN) == 0


def test_long_and_thin_contact_is_a_place():
    # 2 x 150 x 3 / (2 x 153) = 2.9 mm on average, within 8 lines of 0.45 mm.
    strip = Solid.box((150, 3, 10))
    assert risks(strip) == 1
    # On its side it is 9.4 mm wide, and half as long it is short.
    assert risks(strip, up=Y) == 0
    assert risks(strip, Cut(Plane(X, 75.0))) == 0


def test_walls_thinner_than_a_line_are_told_but_count_in_no_plan():
    part = Solid.box((60, 40, 10)).union(Solid.box((40, 0.3, 30), (10, 20, 0)))
    for cuts in ((), (Cut(Plane(X, 30.0)),)):
        figures = figures_of(part, *cuts)
        assert BY_NAME[RISKS].measure(figures) == 0
        for row in figures.pieces:
            told = print_findings(row.piece, row.up, row.overhang, figures.printer)
            assert [finding.kind for finding in told] == ["print.thin"]


def test_all_other_findings_of_a_print_depend_on_the_plan():
    part = DEMO_PARTS["cargo_lid"].make(triangles=5000)
    figures = figures_of(part, Cut(Plane(X, float(part.bounds.mean(axis=0)[0]))))
    for row in figures.pieces:
        given = row.piece, row.up, row.overhang, figures.printer
        every = [f.as_record() for f in print_findings(*given) if f.kind != "print.thin"]
        assert [finding.as_record() for finding in lying_findings(*given)] == every
        assert every


# -- in the plan score ----------------------------------------------------------------------------
@pytest.mark.parametrize("name", [MARKS, RISKS])
def test_they_count_only_when_wanted(name):
    figures = figures_of(Solid.box((160, 120, 5)), good=DOWN)
    (term,) = [term for term in scorecard(figures).terms if term.criterion.name == name]
    assert (term.contribution, "value" in vars(term)) == (0.0, False)
    more = scorecard(figures, {name: 2.0}).total - scorecard(figures).total
    assert term.value > 1
    assert more == pytest.approx(2.0 * term.value / 10.0, abs=1e-12)
