"""Heads, tools and nuts that must be reached.

Expected values: plane geometry of blocks and walls. The lines of sight are compared with the solid
that head, shaft and arm sweep, intersected with the obstacles.
"""

import math
from dataclasses import replace
from time import perf_counter

import numpy as np
import pytest
import shapely

from splitplanner.joint.screws.access import SeamAccess, Tool, good_side_of
from splitplanner.joint.screws.access_checks import check_access
from splitplanner.joint.screws.sight import Past
from splitplanner.plan import Cut, Joint, Screw, Seam, divide
from splitplanner.solid import Plane, Solid

UP = (0.0, 0.0, 1.0)
DRIVER = Tool("straight", 4.0, 60.0)
KEY = Tool("key", 2.5, 22.0, 58.0)
ROOM = 6.5


def seam_of(part, height=0.0):
    (seam,) = divide(part, [Cut(Plane(UP, height))]).seams
    return seam


def nothing(part):
    return np.zeros(len(part.faces), dtype=bool)


def access(part, tool=DRIVER, good=None, height=0.0):
    seen = nothing(part) if good is None else good
    return SeamAccess(seam_of(part, height), part, seen, () if tool is None else (tool,))


def at(found, *places):
    """Return plane coordinates of places (x, y) of the seam."""
    plane = found.seam.plane
    return plane.to_plane([(x, y, plane.offset) for x, y in places])


def slab(*more, low=-20.0, high=8.0):
    """Return a slab of 100 x 100, centred, from `low` to `high`, with `more` on it."""
    plate = Solid.box((100, 100, high - low), (-50, -50, low))
    return plate.union(*more) if more else plate


def test_the_seat_is_the_surface_or_the_thickest_with_a_counterbore():
    found = access(slab())
    places = at(found, (0, 0), (30, -20))
    assert found.seats(places, 1, ROOM, 12, 0) == pytest.approx([8, 8], abs=1e-3)
    # 8 mm are 3 more than 5: a counterbore of 3 mm and no less.
    assert found.seats(places, 1, ROOM, 5, 3) == pytest.approx([5, 5])
    assert np.isnan(found.seats(places, 1, ROOM, 5, 2.9)).all()
    assert np.isnan(found.seats(places, 1, ROOM, 12, 0, thinnest=8.1)).all()
    assert not np.isnan(found.seats(places, 1, ROOM, 12, 0, thinnest=7.9)).any()
    # The other piece is 20 mm thick.
    assert found.seats(places, -1, ROOM, 25, 0) == pytest.approx([20, 20], abs=1e-3)
    assert np.isnan(found.seats(places, -1, ROOM, 12, 7)).all()
    # A head that hangs over the edge has no material under all of it.
    edge = at(found, (50 - ROOM / 2 - 0.1, 0), (50 - ROOM / 2 + 0.1, 0))
    assert np.isnan(found.seats(edge, 1, ROOM, 12, 0)).tolist() == [False, True]
    assert found.seats(np.empty((0, 2)), 1, ROOM, 12, 0).shape == (0,)


def test_no_seat_on_the_good_side():
    part = slab()
    top = part.face_normals @ np.array(UP) > 0.9
    found = access(part, good=top)
    place = at(found, (0, 0))
    assert np.isnan(found.seats(place, 1, ROOM, 12, 0)).all()
    assert found.seats(place, -1, ROOM, 25, 0) == pytest.approx([20], abs=1e-3)
    # The same as a function of places; a boss that was added covers the good side there.
    boss = part.union(Solid.box((20, 20, 4), (20, 20, 8)))
    found = replace(found, assembled=boss, good_side_seen=good_side_of(part, top))
    seats = found.seats(at(found, (0, 0), (30, 30)), 1, ROOM, 15, 0)
    assert np.isnan(seats[0])
    assert seats[1] == pytest.approx(12, abs=1e-3)


@pytest.mark.parametrize("degrees", [5.0, 15.0])
def test_spot_face_on_an_inclined_surface(degrees):
    slope = math.tan(math.radians(degrees))
    profile = shapely.Polygon(
        [(-50, -20), (50, -20), (50, 10 + 50 * slope), (-50, 10 - 50 * slope)]
    )
    # Drawn in the plane of x and z, along y.
    plane = Plane((0.0, -1.0, 0.0), 0.0)
    corners = plane.to_plane([(x, 0.0, z) for x, z in profile.exterior.coords])
    part = Solid.prism(shapely.Polygon(corners), plane, -50, 50)
    found = access(part)
    place = at(found, (0, 0))
    drop = ROOM / 2 * slope
    # The head bears all round where its lowest rim meets the surface; both halves are bored away.
    seat = found.seats(place, 1, ROOM, 20, 2 * drop + 0.02)
    assert seat == pytest.approx([10 - drop], abs=0.02 * drop + 1e-3)
    assert np.isnan(found.seats(place, 1, ROOM, 20, 1.9 * drop)).all()


def test_a_wall_too_near_for_the_driver():
    # A wall 30 mm high beside places at 4, 6 and 20 mm from it: the handle has a radius of 5.
    found = access(slab(Solid.box((5, 100, 30), (45, -50, 8))), Tool("straight", 10.0, 60.0))
    places = at(found, (41, 0), (39, 0), (25, 0))
    assert np.isnan(found.seats(places, 1, ROOM, 12, 0)).tolist() == [True, False, False]
    # A thin driver has room at all three.
    assert not np.isnan(replace(found, tools=(DRIVER,)).seats(places, 1, ROOM, 12, 0)).any()
    # The head itself does not at 3 mm, whatever turns it.
    near = at(found, (42, 0))
    assert np.isnan(replace(found, tools=()).seats(near, 1, ROOM, 12, 0)).all()


def test_a_roof_over_the_head():
    # A roof 40 mm over the surface, open at the sides.
    roof = Solid.box((100, 100, 3), (-50, -50, 48)).union(Solid.box((5, 100, 40), (-50, -50, 8)))
    found = access(slab(roof), Tool("straight", 4.0, 39.0))
    place = at(found, (0, 0))
    assert found.seats(place, 1, ROOM, 12, 0) == pytest.approx([8], abs=1e-3)
    assert np.isnan(replace(found, tools=(DRIVER,)).seats(place, 1, ROOM, 12, 0)).all()
    # The screw needs its length and its head to get in: 30 + 6.
    screw = {"head_height": 6.0}
    assert not np.isnan(found.seats(place, 1, ROOM, 12, 0, screw_length=33.0, **screw)).any()
    assert np.isnan(found.seats(place, 1, ROOM, 12, 0, screw_length=35.0, **screw)).all()


def test_shut_in():
    # A box all round has room for the tool and no way to it; a window opens it.
    room = Solid.box((90, 90, 80), (-45, -45, 8))
    shell = slab(high=100).difference(room)
    place = (0.0, 0.0)
    found = access(shell)
    assert np.isnan(found.seats(at(found, place), 1, ROOM, 12, 0)).all()
    found = access(shell.difference(Solid.box((10, 60, 60), (42, -30, 18))))
    assert found.seats(at(found, place), 1, ROOM, 12, 0) == pytest.approx([8], abs=1e-3)


def corner(opening):
    """Return a slab with a well of 16 mm whose wall is open through `opening` degrees."""
    ring = Solid.cylinder((0, 0, 8), (0, 0, 60), 45, 96)
    ring = ring.difference(Solid.cylinder((0, 0, 0), (0, 0, 70), 8, 96))
    half = math.radians(opening / 2)
    wedge = [(0.0, 0.0)]
    wedge += [(90 * math.cos(a), 90 * math.sin(a)) for a in np.linspace(-half, half, 19)]
    return slab(ring.difference(Solid.prism(shapely.Polygon(wedge), Plane(UP, 0.0), 9, 100)))


@pytest.mark.parametrize(
    ("opening", "turns"), [(50, False), (60, False), (75, False), (84, True), (120, True)]
)
def test_a_key_needs_its_segment(opening, turns):
    # The edges of an arm 2.5 mm wide pass the wall 8 mm out: 60 + 2 asin(1.25 / 8) = 78°.
    found = access(corner(opening), KEY)
    seats = found.seats(at(found, (0, 0)), 1, ROOM, 12, 0)
    assert np.isnan(seats).tolist() == [not turns]
    # A straight driver does not mind.
    assert replace(found, tools=(DRIVER,)).seats(at(found, (0, 0)), 1, ROOM, 12, 0)[0] > 7.9


def test_a_key_turns_above_a_deep_counterbore_only():
    found = access(slab(high=40), KEY)
    place = at(found, (0, 0))
    # The key's arm lies 19.5 to 22 mm above the seat.
    assert found.seats(place, 1, ROOM, 21, 19.1) == pytest.approx([21])
    assert np.isnan(found.seats(place, 1, ROOM, 20, 20.1)).all()


def space(foot, room, height, tool):
    """Return the space of a head and the tool's shaft over it, upward."""
    foot = np.array(foot)
    head = Solid.cylinder(foot, foot + np.array([0, 0, height]), room / 2)
    return head.union(Solid.cylinder(foot, foot + np.array([0, 0, tool.length]), tool.diameter / 2))


def swings(spot, level, thickness, reach, degrees, blocks):
    """Return whether an arm of a key at `level` has a free fan somewhere, in plan."""
    near = [
        box for box in blocks if box.bounds[0, 2] < level and box.bounds[1, 2] > level - thickness
    ]
    plan = shapely.union_all([shapely.box(*b.bounds[0, :2], *b.bounds[1, :2]) for b in near])
    ways = np.radians(np.arange(0, 360))
    ends = spot + reach * np.column_stack([np.cos(ways), np.sin(ways)])
    arms = [shapely.LineString([spot, end]).buffer(thickness / 2, cap_style="flat") for end in ends]
    free = ~shapely.intersects(np.array(arms), plan)
    fans = np.lib.stride_tricks.sliding_window_view(np.tile(free, 2), degrees + 1)
    return bool(fans.all(axis=1).any())


@pytest.mark.parametrize("seed", range(4))
def test_lines_of_sight_agree_with_the_swept_solid(seed):
    # Blocks at random over a slab: what has volume in the swept space is in the way. Where the
    # space of a tool a little smaller and that of one a little larger disagree, either is right.
    random = np.random.default_rng(seed)
    blocks = [
        Solid.box(random.uniform(3, 25, 3), (*random.uniform(-60, 40, 2), random.uniform(8, 30)))
        for _ in range(14)
    ]
    part = slab(*blocks)
    over = blocks[0].union(*blocks[1:])
    verdicts = []
    for tool in (DRIVER, KEY):
        found = access(part, tool)
        spots = random.uniform(-45, 45, (40, 2))
        seats = found.seats(at(found, *spots), 1, ROOM, 8.0, 0.0, head_height=3.0)
        for spot, seat in zip(spots, seats, strict=True):
            fits = []
            for scale, fan in ((0.96, 57), (1.04, 66)):
                size = replace(tool, diameter=scale * tool.diameter)
                swept = space((*spot, 8.01), scale * ROOM, 3.0, size)
                fit = swept.intersection(over).volume < 1e-6
                if fit and tool.kind == "key":
                    fit = swings(spot, 30.0, size.diameter, scale * tool.swing, fan, blocks)
                fits.append(fit)
            if fits[0] == fits[1]:
                verdicts.append(fits[0])
                assert fits[0] == (not np.isnan(seat)), spot
    assert len(verdicts) > 60
    assert verdicts.count(True) > 5
    assert verdicts.count(False) > 5


def test_a_flange_in_a_tube():
    """A rim 12 mm wide and 4 mm thick on both sides of the seam, in a tube open at both ends."""
    tube = Solid.cylinder((0, 0, -150), (0, 0, 150), 60, 96)
    tube = tube.difference(Solid.cylinder((0, 0, -151), (0, 0, 151), 57, 96))
    rim = Solid.cylinder((0, 0, -4), (0, 0, 4), 58, 96)
    rim = rim.difference(Solid.cylinder((0, 0, -5), (0, 0, 5), 45, 96))
    part = tube.union(rim)
    outside = np.hypot(*part.face_centroids[:, :2].T) > 58.5
    found = access(part, KEY, good=outside)
    turns = np.radians(np.arange(0, 360, 30))

    def seats(radius, **more):
        circle = radius * np.column_stack([np.cos(turns), np.sin(turns)])
        given = replace(found, **more)
        return given.seats(at(given, *circle), 1, ROOM, 12, 0)

    # Between wall and free edge; too near to either the head hangs over.
    assert seats(51) == pytest.approx(np.full(12, 4.0), abs=1e-3)
    assert np.isnan(seats(54.5)).all()
    assert np.isnan(seats(47)).all()
    # An arm from 51 mm off the middle ends within the wall through 2 acos((51² + r² - 57²) /
    # (2 * 51 r)) degrees (law of cosines): 125 for r = 58, 76 for 88, 47 for 100 mm.
    assert not np.isnan(seats(51, tools=(Tool("key", 2.5, 22.0, 88.0),))).any()
    assert np.isnan(seats(51, tools=(Tool("key", 2.5, 22.0, 100.0),))).all()
    # A lid on one end does not shut it in; on both it does.
    lids = [Solid.cylinder((0, 0, z), (0, 0, z + 3), 60, 96) for z in (149, -152)]
    for some, expected in ((lids[:1], False), (lids, True)):
        shut = part.union(*some)
        more = {"assembled": shut, "good_side_seen": nothing(shut)}
        assert np.isnan(seats(51, **more)).all() == expected


def test_two_hundred_places_in_half_a_second():
    part = slab(*(Solid.box((3, 3, 20), (x, y, 8)) for x in (-40, 0, 40) for y in (-40, 0, 40)))
    found = access(part, KEY)
    places = at(found, *np.random.default_rng(0).uniform(-45, 45, (200, 2)))
    found.seats(places, 1, ROOM, 12, 0)
    times = []
    for _ in range(3):
        start = perf_counter()
        found.seats(places, 1, ROOM, 12, 0)
        times.append(perf_counter() - start)
    assert min(times) < 0.5


SCREW = Screw(
    at=(0.0, 0.0, 0.0),
    axis=(0.0, 0.0, -1.0),
    standard="ISO 4762",
    size="M3",
    length=16.0,
    hold="insert",
    seat=5.0,
    washers=0,
    clearance=3.4,
    head_room=ROOM,
    is_countersunk=False,
    depth=8.0,
    hole=4.0,
    nut_room=0.0,
    edge_distance=5.0,
)


def drilled(part, screw=SCREW):
    """Return a slab with the screw's holes: head above, 8 mm thick there, nut or insert below."""
    tools = [
        Solid.cylinder((0, 0, -screw.depth), (0, 0, screw.seat + 0.1), screw.clearance / 2),
        Solid.cylinder((0, 0, screw.seat), (0, 0, 8.1), screw.head_room / 2),
    ]
    if screw.nut_room:
        tools.append(Solid.cylinder((0, 0, -40), (0, 0, -screw.depth), screw.nut_room / 2))
    return part.difference(*tools)


def kinds(part, screw=SCREW, tool=DRIVER, **more):
    seam = seam_of(slab())
    return [
        (finding.kind, finding.measured, finding.allowed)
        for finding in check_access(Joint(seam.name, screws=(screw,)), seam, part, tool, **more)
    ]


def test_a_screw_in_the_open():
    assert kinds(drilled(slab())) == []
    assert kinds(drilled(slab()), tool=KEY) == []
    # The pieces one by one, as they come: the same.
    (seam,) = divide(drilled(slab()), [Cut(Plane(UP, 0.0))]).seams
    halves = drilled(slab()).split(Plane(UP, 0.0))
    assert check_access(Joint(seam.name, screws=(SCREW,)), seam, halves, DRIVER) == ()


def test_what_is_in_the_way_of_a_screw():
    # A roof over the seat by 5, 18, 30 and 70 mm: 16 + 3 for the screw, 60 for the driver.
    for height, expected in (
        (5.0, [("joint.screw_blocked", 5.0, 19.0)]),
        (18.0, [("joint.screw_blocked", 18.0, 19.0)]),
        (30.0, [("joint.driver_blocked", 30.0, 60.0)]),
        (70.0, []),
    ):
        roof = Solid.box((100, 100, 3), (-50, -50, 5 + height))
        found = kinds([drilled(slab()), roof])
        assert [kind for kind, *_ in found] == [kind for kind, *_ in expected]
        for have, want in zip(found, expected, strict=True):
            assert have[1:] == pytest.approx(want[1:], abs=0.02)
    # Without a counterbore the head's room is in material: nothing is free.
    ((kind, free, _),) = kinds(slab())
    assert (kind, free) == ("joint.screw_blocked", pytest.approx(0.0, abs=0.02))
    # The whole finding says where.
    seam = seam_of(slab())
    (finding,) = check_access(Joint(seam.name, screws=(SCREW,)), seam, slab(), DRIVER)
    assert finding.subject == seam.name
    assert finding.where.tolist() == [[0.0, 0.0, 0.0]]
    assert finding.message.startswith(f"Seam {seam.name}, screw 1: only 0.0 mm are free")


def test_a_key_in_a_well_and_a_screw_shut_in():
    # The arm of the key, 22 mm over the seat, within the walls of a well of 30 mm.
    well = Solid.box((90, 90, 40), (-45, -45, 8)).difference(Solid.box((30, 30, 60), (-15, -15, 0)))
    ((kind, turned, needed),) = kinds([drilled(slab()), well], tool=KEY)
    assert (kind, turned, needed) == ("joint.driver_swing", 0.0, 60.0)
    assert kinds([drilled(slab()), well]) == []
    shell = slab(high=120).difference(Solid.box((99, 99, 111), (-49.5, -49.5, 8)))
    assert [kind for kind, *_ in kinds(drilled(shell))] == ["joint.driver_shut_in"]


def test_the_nut():
    # It bears at 8 mm, the tip stands 16 - 5 - 8 = 3 mm out of that face: free for 3 + 2.85.
    nut = replace(SCREW, hold="nut", hole=3.4)
    plate = drilled(slab(low=-8), nut)
    assert kinds(plate, nut) == []
    near = Solid.box((100, 100, 3), (-50, -50, -8 - 3 - 4.0))
    ((kind, free, needed),) = kinds([plate, near], nut)
    assert kind == "joint.nut_blocked"
    assert (free, needed) == (pytest.approx(4.0, abs=0.02), pytest.approx(2 * 2.85 + 0.15))
    # A rib 3 mm from the axis: half of 5 mm is free of it, half of 6.35 mm is not.
    rib = Solid.box((3, 100, 10), (3, -50, -18))
    assert kinds([plate, rib], nut, nut_width=5.0) == []
    assert [kind for kind, *_ in kinds([plate, rib], nut, nut_width=6.35)] == ["joint.nut_blocked"]
    # In a pocket of a thick piece it goes in along the axis.
    pocketed = replace(nut, nut_room=5.8)
    assert kinds(drilled(slab(), pocketed), pocketed) == []


def test_a_way_out_that_is_hardly_there_is_no_place_but_no_fault():
    # Of 128 directions spread evenly over the sphere three lie within 16.1° of the axis and two
    # within 12.4°, acos(1 - (2 k - 1) / 128): a tube of 20 mm leads out by two at 80 mm.
    nut = replace(SCREW, hold="nut", hole=3.4)
    plate = drilled(slab(low=-8), nut)

    def tube(deep):
        low = -8 - 5.85 - deep
        outer = Solid.cylinder((0, 0, low), (0, 0, -7), 25)
        return plate.union(outer.difference(Solid.cylinder((0, 0, low - 1), (0, 0, -8), 20)))

    for deep, may_stand, passes in ((60.0, True, True), (80.0, False, True), (300.0, False, False)):
        part = tube(deep)
        place = np.array([[0.0, 0.0, -8 - 5.85]])
        assert Past([part]).lead_out(place).tolist() == [may_stand]
        assert (kinds(part, nut) == []) is passes


def test_inside_one_solid_is_inside_whatever_is_nearer():
    big, small = Solid.box((10, 10, 10)), Solid.box((1, 1, 1), (4.5, 4.5, 7))
    past = Past([small, big])
    upward = np.array([[0.0, 0.0, 1.0]])
    assert past.free(np.array([[5.0, 5.0, 5.0]]), upward).tolist() == [0.0]
    assert past.free(np.array([[5.0, 5.0, -3.0]]), upward) == pytest.approx([3.0], abs=1e-4)
    assert np.isinf(past.free(np.array([[5.0, 5.0, 11.0]]), upward)).all()


def test_values_out_of_range():
    with pytest.raises(ValueError, match="above 0"):
        Tool("straight", 0.0, 60.0)
    with pytest.raises(ValueError, match="arm"):
        Tool("key", 2.5, 20.0)
    part = slab()
    with pytest.raises(ValueError, match="mask"):
        SeamAccess(seam_of(part), part, np.zeros(3, dtype=bool), (DRIVER,))
    with pytest.raises(ValueError, match="mask"):
        good_side_of(part, np.zeros(3, dtype=bool))
    found = access(part)
    with pytest.raises(ValueError, match="side"):
        found.seats(np.zeros((1, 2)), 0, ROOM, 12, 0)
    with pytest.raises(ValueError, match="above 0"):
        found.seats(np.zeros((1, 2)), 1, 0.0, 12, 0)


def test_a_drivers_handle_has_to_go_in_as_well():
    # A well of 24 mm in a block: the blade of 75 mm reaches its floor, a handle of 25 mm stays out
    # only where the well is no deeper than the blade is long.
    blade = Tool("straight", 3.0, 75.0, handle=25.0)
    for depth, reached in ((70.0, True), (90.0, False)):
        block = Solid.box((60.0, 60.0, 10.0 + depth), (-30.0, -30.0, -10.0))
        well = Solid.cylinder((0.0, 0.0, 5.0), (0.0, 0.0, depth + 20.0), 12.0)
        whole = block.difference(well)
        section = whole.section(Plane((0.0, 0.0, 1.0), 0.0))
        seam = Seam("S1", 0, "1", "2", section)
        access = SeamAccess(seam, whole, np.zeros(len(whole.faces), dtype=bool), (blade,))
        found = access.seats(np.zeros((1, 2)), 1, 7.0, 12.0, 5.0)
        assert np.isfinite(found[0]) == reached
