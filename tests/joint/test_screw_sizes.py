"""Sizes and lengths of screws. Expected values: the arithmetic beside them, on ISO tables."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from splitplanner.errors import WorkshopError
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.joint.screws.sizes import Hardware
from splitplanner.plan import Fastening
from splitplanner.solid import Plane
from splitplanner.workshop import Printer, hardware_shelf

# Allowance 0.2 mm and lines of 0.45 mm.
PRINTER, SHELF = Printer(), hardware_shelf()


def sizes(hold, standard="ISO 4762", size="M3", printer=PRINTER):
    wanted = Fastening(screws=hold, screw_standard=standard, screw_size=size)
    return screw_sizes(wanted, SHELF, printer)


def test_a_nut_with_washers_and_without_and_in_a_pocket():
    washers, bare, pocket = sizes("nut")
    # ISO 273 medium 3.4 and the allowance; half of it and two lines.
    assert washers.clearance == washers.hole == pytest.approx(3.6)
    assert washers.edge_distance == pytest.approx(1.8 + 0.9)
    # ISO 7089: 7 mm wide and 0.5 mm thick; 0.2 mm allowance and 0.5 mm of play.
    assert washers.head_room == washers.nut_way == pytest.approx(7.7)
    assert (washers.washers, washers.washer, washers.bearing) == (2, 0.5, 7.0)
    assert washers.nut_bearing == 7.0
    assert (bare.washers, bare.bearing, bare.nut_bearing) == (0, 5.5, 5.5)
    # The head of ISO 4762 over its knurl is 5.68 mm, the nut of ISO 4032 over its corners more.
    assert bare.head_room == pytest.approx(11.0 / math.sqrt(3) + 0.7)
    # ISO 4032: 5.5 mm across flats, so 2 · 5.7 / √3 over the pocket's corners.
    assert pocket.nut_room == pytest.approx(5.7)
    assert pocket.nut_way == pytest.approx(11.4 / math.sqrt(3))
    assert pocket.edge_distance == pytest.approx(5.7 / math.sqrt(3) + 0.9)
    assert (pocket.washers, pocket.nut_bearing) == (1, 5.5)


def test_an_insert_by_its_data_sheet():
    washer, bare = sizes("insert")
    # The example: hole 4, length 4.5, wall 2.25 mm; 1 mm deeper than the insert is long.
    for size in (washer, bare):
        assert size.hole == pytest.approx(4.2)
        assert size.least_depth == pytest.approx(5.5)
        assert size.engagement == pytest.approx(4.5)
        assert size.edge_distance == pytest.approx(4.25)
        assert size.nut_room == size.nut_height == 0
    assert (washer.washers, bare.washers) == (1, 0)


def test_plastic_by_the_data_sheet():
    (size,) = sizes("plastic")
    # The example: pilot 0.85 d, engagement and boss 2.5 d, head 2 d; hole half a d deeper.
    assert size.hole == pytest.approx(2.55 + 0.2)
    assert size.engagement == pytest.approx(7.5)
    assert size.least_depth == pytest.approx(9.0)
    assert size.edge_distance == pytest.approx(3.75)
    assert size.head_room == pytest.approx(6.7)
    assert size.clearance == pytest.approx(3.5)


def test_a_countersunk_head():
    first, pocket = sizes("nut", "ISO 10642")
    # Sharp rim 2.24 d and the allowance; the cone of 90° is half as high as it is wide.
    assert first.is_countersunk
    assert first.head_room == pytest.approx(6.72 + 0.2)
    assert first.least_seat == pytest.approx((6.92 - 3.6) / 2 + 3.0)
    assert first.washers == pocket.washers == 0
    assert first.under_head == 0


def test_a_measured_allowance_is_followed():
    printer = Printer(hole_allowance=0.4, line_width=0.6)
    washers = sizes("nut", printer=printer)[0]
    assert washers.clearance == pytest.approx(3.8)
    assert washers.edge_distance == pytest.approx(1.9 + 1.2)
    assert washers.head_room == pytest.approx(7.9)


def test_lengths_through_a_nut():
    washers, bare, pocket = sizes("nut")
    # Grip 5 + 5, washers 2 x 0.5, nut 2.4, pitch 0.5: 13.9 mm. Stocked are 12 and 16.
    assert washers.length_for(5.0, 5.0) == 16
    # 4 + 4 + 2.4 + 0.5 = 10.9 mm.
    assert bare.length_for(4.0, 4.0) == 12
    # 4.55 + 4.55 + 2.4 + 0.5 = 12.0 mm, just; and a little more.
    assert bare.length_for(4.55, 4.55) == 12
    assert bare.length_for(4.55, 4.56) == 16
    # One washer: 6 + 6 + 0.5 + 2.4 + 0.5 = 15.4 mm.
    assert pocket.length_for(6.0, 6.0) == 16
    # The longest M3 is 30 mm: 13 + 13 + 1 + 2.4 + 0.5 = 29.9 mm, and 0.2 mm more.
    assert washers.length_for(13.0, 13.0) == 30
    assert washers.length_for(13.1, 13.1) is None
    # M4, ISO 4032 nut 3.2 and ISO 7089 washers 0.8 mm: 8 + 8 + 1.6 + 3.2 + 0.7 = 21.5 mm.
    assert sizes("nut", size="M4")[0].length_for(8.0, 8.0) == 25


def test_lengths_into_an_insert():
    washer, bare = sizes("insert")
    # Tip between 4.5 (the insert) and 5.5 - 1 (two pitches): 5 + 0.5 + 4.5 = 10 mm.
    assert washer.length_for(5.0, 5.5) == 10
    # 5.5 + 0.5 + 4.5 = 10.5 mm would be needed, and 12 would bottom.
    assert washer.length_for(5.5, 5.5) is None
    # In a hole of 7 mm the tip may reach 6: 5.5 + 0.5 + 6 = 12 mm.
    assert washer.length_for(5.5, 7.0) == 12
    assert bare.length_for(5.5, 5.5) == 10


def test_lengths_into_plastic():
    (size,) = sizes("plastic")
    # Tip between 7.5 and 9 - 1 mm: 8 + 8 = 16 mm, 8.5 + 7.5 too; stocked are 12 and 16.
    assert size.length_for(8.0, 9.0) == 16
    assert size.length_for(8.5, 9.0) == 16
    assert size.length_for(8.6, 9.0) is None
    assert size.length_for(7.9, 9.0) is None


def test_a_head_is_sunk_or_a_hole_deepened_to_suit_a_length():
    (size,) = sizes("plastic")
    first, second, *_ = size.fits(10.0)
    # By 1.5 mm for 16 mm (tip at 7.5), or the hole by 2 mm for 20 mm (tip at 10, and 1 mm).
    assert first == Hardware(8.5, 9.0, 16)
    assert second == Hardware(10.0, 11.0, 20)
    (only,) = sizes("nut")[0].fits(5.0, 6.0)
    assert only == Hardware(5.0, 6.0, 16)
    # Less than one diameter under the head, or under the nut.
    assert list(sizes("nut")[0].fits(2.9, 6.0)) == []
    assert list(sizes("nut")[0].fits(5.0, 2.9)) == []


@settings(derandomize=True, deadline=None, database=None, max_examples=300)
@given(
    hold=st.sampled_from(["nut", "insert", "plastic"]),
    standard=st.sampled_from(["ISO 4762", "ISO 7380-1", "ISO 10642"]),
    seat=st.floats(1.0, 40.0),
    depth=st.floats(1.0, 40.0),
    which=st.integers(0, 2),
)
def test_a_screw_holds_and_never_bottoms(hold, standard, seat, depth, which):
    found = sizes(hold, standard)
    size = found[which % len(found)]
    under_head = size.washer if size.washers and not size.is_countersunk else 0.0
    ways = [Hardware(seat, depth, length) for length in [size.length_for(seat, depth)] if length]
    ways += size.fits(seat, depth)
    for way in ways:
        assert way.length in size.lengths
        assert way.seat <= seat
        tip = way.length - way.seat - under_head
        if hold == "nut":
            below_nut = size.washer if size.washers == 2 else 0.0
            beyond = tip - way.depth - below_nut - size.nut_height
            assert beyond >= 0.5 - 1e-9
            shorter = [length for length in size.lengths if length < way.length]
            # And the next shorter one does not reach by a pitch.
            assert all(length - way.length + beyond < 0.5 for length in shorter)
        else:
            assert tip >= size.engagement - 1e-9
            assert tip <= way.depth - max(0.5, 2 * size.pitch) + 1e-9


def test_the_value_that_the_plan_keeps():
    washers = sizes("nut")[0]
    plane = Plane((0.0, 0.0, 1.0), 5.0)
    below = washers.screw_in(plane, [3.0, 4.0], -1, Hardware(6.0, 7.0, 20.0))
    assert (below.at, below.axis) == ((3.0, 4.0, 5.0), (0.0, 0.0, 1.0))
    assert (below.seat, below.depth, below.length, below.washers) == (6.0, 7.0, 20.0, 2)
    above = washers.screw_in(plane, [3.0, 4.0], 1, Hardware(6.0, 7.0, 20.0))
    assert above == replace(below, axis=(0.0, 0.0, -1.0))


def test_what_is_not_there_is_said():
    with pytest.raises(ValueError, match="no screws"):
        screw_sizes(Fastening(), SHELF, PRINTER)
    with pytest.raises(WorkshopError, match="M9"):
        sizes("nut", size="M9")
    with pytest.raises(WorkshopError, match="insert of size M5"):
        sizes("insert", size="M5")
