"""Which pins are added to seams, and where."""

from dataclasses import replace

import numpy as np
import pytest

from splitplanner.joint import pin_sizes
from splitplanner.plan import Fastening, Joint, PartFile, Pin, Plan
from splitplanner.window.seams.known_seams import KnownSeams, planned_seams
from splitplanner.window.seams.new_pins import one_more_pin, pin_at, pin_like
from splitplanner.window.seams.seam_plan import PLAIN
from splitplanner.workshop import DowelPin, dowel_pins, hardware_shelf
from tests.window.boxes import CUTS, PRINTER, division, figures, joint


def plan(*joints):
    return Plan(PartFile("box.stl", "mm", "f"), PRINTER, CUTS, (), joints)


def row():
    return figures().seams[0]


def test_a_pin_is_like_the_others_of_its_seam():
    made = pin_at(row(), plan(joint()), 3.0, 4.0)
    assert made == replace(joint().pins[0], at=made.at)
    assert row().seam.plane.to_plane([made.at])[0] == pytest.approx([3.0, 4.0])
    assert row().seam.plane.height([made.at]) == pytest.approx(0.0)


def test_it_is_like_those_of_other_seams_if_such_fit():
    elsewhere = Pin((0, 0, 0), (0, 1, 0), "ISO 8734", 5, 20, 5.2, 10.5, 4.5)
    assert pin_like(row(), plan(Joint("S9", (elsewhere,)))) == replace(
        elsewhere, axis=row().seam.plane.normal
    )
    # The seam is 200 mm wide.
    too_large = replace(elsewhere, edge_distance=101.0)
    assert pin_like(row(), plan(Joint("S9", (too_large,)))).diameter < 5


def test_the_first_pin_of_a_plan_is_the_smallest_that_prints():
    smallest = min(
        pin_sizes(dowel_pins(), PRINTER, 0.0), key=lambda size: (size.margin, size.reach)
    )
    made = pin_at(row(), plan(), 0.0, 0.0)
    assert (made.diameter, made.length, made.depth, made.hole_diameter, made.edge_distance) == (
        smallest.diameter, smallest.length, smallest.depth, smallest.hole_diameter,
        smallest.edge_distance,
    )  # fmt: skip


@pytest.mark.parametrize("pins", [joint().pins, joint().pins[:1], ()])
def test_one_more_pin_stands_clear_of_edges_and_pins(pins):
    made = one_more_pin(row(), plan(Joint("S1", pins)))
    assert all(np.linalg.norm(np.subtract(pin.at, made.at)) > 3 * made.diameter for pin in pins)
    u, v = row().seam.plane.to_plane([made.at])[0]
    low_u, low_v, high_u, high_v = row().seam.section.shape.bounds
    assert min(u - low_u, v - low_v, high_u - u, high_v - v) >= made.edge_distance


def test_pins_are_of_the_users_own_shelf():
    own = DowelPin("my rod", 3.5, 14.0, 14.0, 0.5, "measured", (14.0,))
    shelf = replace(hardware_shelf(), dowel_pins=(own,))
    for made in (pin_at(row(), plan(), 0.0, 0.0, shelf), one_more_pin(row(), plan(), shelf)):
        assert (made.standard, made.diameter, made.length) == ("my rod", 3.5, 14.0)
    assert pin_at(row(), plan(), 0.0, 0.0, replace(shelf, dowel_pins=())) is None
    # What is there already is gone on with.
    assert pin_like(row(), plan(joint()), shelf) == replace(joint().pins[0], slot=(0.0, 0.0, 0.0))


def test_a_new_pin_has_round_holes_whatever_it_is_like():
    slotted = replace(joint().pins[0], slot=(0.0, 0.3, 0.0))
    assert pin_at(row(), plan(Joint("S1", (slotted,))), 3.0, 4.0).slot == (0.0, 0.0, 0.0)
    assert pin_like(row(), plan(Joint("S9", (slotted,)))).slot == (0.0, 0.0, 0.0)


def test_a_screw_is_added_with_the_room_that_it_needs():
    known = KnownSeams(plan(), division(), figures())

    def distance(fastening, shelf=None):
        wanted = replace(plan(), fastening=fastening)
        return planned_seams(known, wanted, {}, shelf)["S1"].screw_distance

    # Without screws in the plan, of one with a nut: its clearance hole is 3.4 mm (ISO 273).
    assert distance(Fastening()) == distance(Fastening(screws="nut"))
    assert distance(Fastening()) == pytest.approx(PRINTER.edge_distance(3.4))
    assert distance(Fastening(screws="insert")) > distance(Fastening())
    assert distance(Fastening(), replace(hardware_shelf(), screws=())) is None


def test_where_there_is_no_room_there_is_no_pin():
    # The seam is 200 mm wide.
    wide = replace(joint().pins[0], diameter=90, edge_distance=101)
    assert one_more_pin(row(), plan(Joint("S1", (wide,)))) is None


def test_seams_hold_while_only_pins_change():
    known = KnownSeams(plan(), division(), figures())
    assert known.is_of(plan(joint()))
    assert not known.is_of(replace(plan(), cuts=()))
    assert not known.is_of(replace(plan(), part=PartFile("box.stl", "mm", "g")))


def test_seams_are_planned_with_colours_numbers_and_pins():
    known = KnownSeams(plan(), division(), figures())
    below = row().between[0]
    (seam,) = planned_seams(known, plan(joint()), {below: "#009E73"}).values()
    assert (seam.colours, seam.names) == (("#009E73", PLAIN), ("1", "2"))
    assert seam.joint == joint()
    assert seam.edge_distance == joint().pins[0].edge_distance
    assert seam.shown.length == pytest.approx(row().figures.seen_length, abs=0.1)
    # Found once.
    (again,) = planned_seams(known, plan(), {}).values()
    assert again.shown is seam.shown
