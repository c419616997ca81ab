"""What turns screws, and places that any of several tools reaches. Expected values: plane geometry,
and the shelf's own rows."""

from dataclasses import replace

import numpy as np
import pytest

from splitplanner.joint.fasteners.placing import place_fasteners
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.screws.access import SeamAccess, Tool
from splitplanner.joint.screws.fits import tools_for, tools_of
from splitplanner.joint.screws.room import ScrewRoom
from splitplanner.plan import Cut, Fastening, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import HexDriver, Printer, hardware_shelf

SHELF = hardware_shelf()
ROOM = 6.5
NUTS = Fastening(pins=False, screws="nut")


def split(part, level):
    division = divide(part, [Cut(Plane((0.0, 0.0, 1.0), level))])
    (seam,) = division.seams
    return seam, division.piece(seam.below).solid, division.piece(seam.above).solid


def ways(seam, part, tools):
    nothing = np.zeros(len(part.faces), dtype=bool)
    return SeamAccess(seam, part, nothing, tuple(tools))


def test_a_screw_is_turned_by_both_arms_of_its_key_and_by_a_driver():
    # M3 of ISO 4762: 2.5 mm across flats. ISO 2936 has arms of 20.5 and 58.5 mm for it.
    short, long, driver = tools_for(NUTS, SHELF)
    assert (short.kind, short.length, short.swing) == ("key", 20.5, 58.5)
    assert (long.kind, long.length, long.swing) == ("key", 58.5, 20.5)
    row = SHELF.driver(2.5)
    handle = row.handle_diameter
    assert driver == Tool("straight", row.shaft_diameter, row.length, handle=handle)
    # Thread-forming screws by the key of their own row.
    forming = tools_for(replace(NUTS, screws="plastic"), SHELF)
    assert forming[-1].diameter == SHELF.driver(SHELF.forming_screw(3.0).key).shaft_diameter


def test_what_stands_up_least_comes_first():
    stubby = replace(SHELF, drivers=(HexDriver(2.5, 6.0, 25.0, 30.0, "mine"), *SHELF.drivers))
    tools = tools_for(NUTS, stubby)
    assert [tool.length for tool in tools] == [20.5, 25.0, 58.5]
    assert tools[1] == Tool("straight", 6.0, 25.0, handle=30.0)


def test_without_a_driver_of_the_size_there_is_the_key():
    others = tuple(row for row in SHELF.drivers if row.across_flats != 2.5)
    tools = tools_for(NUTS, replace(SHELF, drivers=others))
    assert [tool.kind for tool in tools] == ["key", "key"]


@pytest.mark.parametrize("hold", ["nut", "insert", "plastic"])
def test_screws_in_a_plan_are_turned_by_what_those_that_are_wanted_are(hold):
    part = Solid.box((50, 40, 80))
    wanted = Fastening(pins=False, screws=hold)
    access = ways(split(part, 40.0)[0], part, tools_for(wanted, SHELF))
    _, screws, _ = place_fasteners(*split(part, 40.0), Printer(), wanted, SHELF, access)
    assert screws
    assert {tools_of(screw, SHELF) for screw in screws} == {tools_for(wanted, SHELF)}


@pytest.mark.parametrize(("over", "reached"), [(160.0, "straight"), (150.0, "")])
def test_a_driver_reaches_where_no_key_turns(over, reached):
    # A well of 24 mm, 60 mm deep: either arm of the key that lies across is longer than its half
    # width, also in its corners. The blade of 75 mm stands out of it, and its handle of 80 mm has
    # room where the roof leaves it.
    well = Solid.box((24, 24, 60), (-12, -12, 8))
    part = Solid.box((60, 60, 88), (-30, -30, -20)).difference(well)
    seam, _, _ = split(part, 0.0)
    part = part.union(Solid.box((200, 200, 5), (-100, -100, 8 + over)))
    place = seam.plane.to_plane([(0.0, 0.0, 0.0)])
    for tool in tools_for(NUTS, SHELF):
        seat = ways(seam, part, [tool]).seats(place, 1, ROOM, 12, 0)
        assert np.isnan(seat[0]) == (tool.kind != reached)
    either = ways(seam, part, tools_for(NUTS, SHELF)).seats(place, 1, ROOM, 12, 0)
    assert np.isnan(either[0]) == (not reached)
    if reached:
        assert either == pytest.approx([8], abs=1e-3)


def test_a_nut_needs_room_and_a_way_but_no_key():
    # 14 mm under the plate a floor: too low for any tool of the screw, whose shortest is 20.5 mm
    # high, and enough for a nut of 2.4 mm over the 3 mm of tip and what holds it.
    plate = Solid.box((100, 9, 12))
    part = plate.union(Solid.box((140, 60, 3), (-20, -25, -17)))
    seam, below, above = split(plate, 6.0)
    tools = tools_for(NUTS, SHELF)
    access = ways(seam, part, tools)
    middle = seam.plane.to_plane([(50.0, 4.5, 6.0)])
    assert np.isnan(access.seats(middle, -1, ROOM, 12, 0)).all()
    _, screws, _ = place_fasteners(seam, below, above, Printer(), NUTS, SHELF, access)
    assert len(screws) >= 2
    assert {screw.axis for screw in screws} == {(0.0, 0.0, -1.0)}
    # A single tool finds the same.
    alone = replace(access, tools=tools[:1])
    assert place_fasteners(seam, below, above, Printer(), NUTS, SHELF, alone)[1] == screws
    # A floor 1 mm below leaves no room for the nut either, which is 2.4 mm high.
    low = plate.union(Solid.box((140, 60, 3), (-20, -25, -4)))
    access = ways(seam, low, tools)
    assert place_fasteners(seam, below, above, Printer(), NUTS, SHELF, access)[1] == ()


def test_access_by_another_tool_is_that_of_the_tool_alone():
    part = Solid.box((60, 60, 40), (-30, -30, -20))
    seam, below, above = split(part, 0.0)
    access = ways(seam, part, tools_for(NUTS, SHELF))
    room = ScrewRoom(SeamMaterial.around(seam, below, above, 5.0), access)
    holder = Tool("straight", 6.4, 8.0)
    for tools in ((holder,), ()):
        other = room._with(*tools)
        assert other.tools == tools
        assert (other.seam, other.assembled) == (seam, part)
