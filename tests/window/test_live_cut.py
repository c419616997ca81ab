"""A cut in hand: the light part cut anew is what the exact cut would be."""

import numpy as np
import pytest

from splitplanner.background.live_cut import LightPieces, LiveCut
from splitplanner.plan import Cut, PartFile, Plan, divide, with_plane
from splitplanner.score import REFERENCE_PIN, room
from splitplanner.score.lying import Fit, quick_fit
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Printer

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
# A trough of 300 x 80 x 60 mm with walls of 4 mm, open above.
PART = Solid.box((300.0, 80.0, 60.0)).difference(Solid.box((292.0, 72.0, 56.0), (4.0, 4.0, 4.0)))
PLAN = Plan(
    PartFile("trough.stl", "mm", "x"),
    Printer(),
    (Cut(Plane(X, 100.0)), Cut(Plane(X, 200.0), "2"), Cut(Plane(Y, 40.0), "2.1")),
)


def divided(plan):
    return {piece.name: piece.solid.volume for piece in divide(PART, plan.cuts).pieces}


@pytest.mark.parametrize("index", [0, 1, 2])
@pytest.mark.parametrize("shift", [-13.7, 0.0, 21.3])
def test_pieces_are_those_of_the_plan_with_the_plane_moved(index, shift):
    plane = PLAN.cuts[index].plane.shifted(shift)
    live = LiveCut(PART, PLAN, index).at(plane)
    wanted = divided(with_plane(PLAN, index, plane))
    assert {name: solid.volume for name, solid in live.pieces.items()} == pytest.approx(wanted)


def test_the_sides_are_what_lies_below_and_above():
    live = LiveCut(PART, PLAN, 0).at(Plane(X, 90.0))
    assert live.sides == ({"1"}, {"2.1.1", "2.1.2", "2.2"})
    below, above = (
        np.vstack([live.pieces[name].bounds for name in sorted(side)])[:, 0] for side in live.sides
    )
    assert below.max() == pytest.approx(90.0)
    assert above.min() == pytest.approx(90.0)


def test_later_cuts_of_pieces_that_are_not_there_divide_nothing():
    # Moved beyond the second cut, the first one leaves no piece that it could meet.
    live = LiveCut(PART, PLAN, 0).at(Plane(X, 250.0))
    assert set(live.pieces) == {"1", "2"}


def test_a_plane_that_misses_the_part_leaves_it_whole():
    live = LiveCut(PART, PLAN, 0).at(Plane(X, 900.0))
    assert set(live.pieces) == {"whole"}
    assert live.length == 0.0
    assert live.pins(PLAN.printer) == 0


def test_figures_of_the_seam_are_those_of_the_section():
    live = LiveCut(PART, PLAN, 0).at(Plane(X, 120.0))
    # A U of 80 x 60 mm with walls of 4 mm: by hand.
    assert live.area == pytest.approx(80 * 60 - 72 * 56)
    assert live.length == pytest.approx(80 + 2 * 60 + 2 * 56 + 72 + 2 * 4)
    printer = PLAN.printer
    section = PART.section(Plane(X, 120.0))
    wanted = room(section, printer.edge_distance(REFERENCE_PIN), 3 * REFERENCE_PIN)
    assert live.pins(printer) == wanted.count


@pytest.mark.parametrize(
    ("size", "fit"),
    [
        ((200.0, 100.0, 50.0), Fit.SQUARE),
        # Too long to lie square on 220 x 220 mm, not for its diagonal of 311 mm.
        ((280.0, 20.0, 20.0), Fit.TURNED),
        ((400.0, 100.0, 50.0), Fit.TOO_LARGE),
    ],
)
def test_how_a_box_fits_the_bed(size, fit):
    assert quick_fit(Solid.box(size), Bed.parse("220x220x100")) is fit


def test_all_pieces_of_a_plan():
    pieces = LightPieces.of(PART, PLAN.cuts).pieces
    assert {name: solid.volume for name, solid in pieces.items()} == pytest.approx(divided(PLAN))
    assert set(LightPieces.of(PART, ()).pieces) == {"whole"}


def test_what_each_cut_of_a_plan_could_divide():
    targets = LightPieces.of(PART, PLAN.cuts).targets
    assert targets == (("whole",), ("1", "2"), ("1", "2.1", "2.2"))


def test_what_the_plane_in_hand_does_not_touch_is_the_same_object():
    live = LiveCut(PART, PLAN, 1)
    one, other = live.at(Plane(X, 200.0)), live.at(Plane(X, 210.0))
    assert one.pieces["1"] is other.pieces["1"]
    plan = Plan(PLAN.part, PLAN.printer, (*PLAN.cuts[:2], Cut(Plane(Y, 40.0), "1")))
    live = LiveCut(PART, plan, 1)
    one, other = live.at(Plane(X, 200.0)), live.at(Plane(X, 210.0))
    assert one.pieces["1.1"] is other.pieces["1.1"]
    assert one.pieces["2.1"] is not other.pieces["2.1"]
