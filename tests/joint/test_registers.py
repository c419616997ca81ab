"""Registers in seams. Expected values: theorem of Pappus, plane geometry, shapely, trimesh."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from shapely.geometry import MultiLineString, MultiPolygon, Point, box

from splitplanner.joint.glue import glue_relief
from splitplanner.joint.register.checks import check_register
from splitplanner.joint.register.foot import DEEPER, inner_lines, opened
from splitplanner.joint.register.planning import plan_register, register_gap, wall_thickness
from splitplanner.joint.register.solids import register_bodies, register_zone
from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

PRINTER = Printer()
LINES = 2 * PRINTER.line_width
GAP = 0.2
UP = (0.0, 0.0, 1.0)
BANDS = ("lap", "tongue", "wedge")


def seam_of(part, normal=UP):
    division = divide(part, [Cut(Plane.through(part.bounds.mean(axis=0), normal))])
    (seam,) = division.seams
    return seam, division.piece(seam.below).solid, division.piece(seam.above).solid


def tube(outer, wall, sides=256):
    bar = Solid.cylinder((0, 0, 0), (0, 0, 60), outer, sides)
    return bar.difference(Solid.cylinder((0, 0, -1), (0, 0, 61), outer - wall, sides))


def channel(wall=6.0):
    inside = (60 - 2 * wall, 60, 80)
    return Solid.box((60, 60, 60)).difference(Solid.box(inside, (wall, -wall, -1)))


def cone():
    turns = np.linspace(0, 2 * math.pi, 96, endpoint=False)
    ring = np.column_stack([np.cos(turns), np.sin(turns), np.zeros(96)])

    def solid(low, high, first, last):
        points = [ring * (low, low, 0) + (0, 0, first), ring * (high, high, 0) + (0, 0, last)]
        return Solid.hull_of(np.vstack(points))

    return solid(42, 27, 0, 60).difference(solid(34.25, 18.75, -1, 61))


@pytest.fixture(scope="module")
def ring():
    return seam_of(tube(40, 6))


@pytest.fixture(scope="module")
def plate():
    return seam_of(Solid.box((60, 8, 60)))


def planned(form, case, **options):
    register, findings = plan_register(form, *case, PRINTER, **options)
    assert register is not None
    return register, findings


def made(register, case, **options):
    _, below, above = case
    added, removed = register_bodies(register, *case, **options)
    return below.union(added), above.difference(removed)


def test_wall_thickness():
    round_wall = (
        Point(0, 0).buffer(40, quad_segs=128).difference(Point(0, 0).buffer(34, quad_segs=128))
    )
    assert wall_thickness(MultiPolygon([round_wall]), 3.0) == pytest.approx(6.0, abs=0.01)
    assert wall_thickness(MultiPolygon([box(0, 0, 90, 7)]), 3.0) == pytest.approx(7.0, abs=2e-3)
    # Discs in the corners of a square leave (4 - pi) r² of it: a tenth of what discs of the least
    # thickness cover at this radius.
    square = math.sqrt(0.1 * 40**2 / (4 - math.pi) + 0.9 * 1.5**2)
    found = wall_thickness(MultiPolygon([box(0, 0, 40, 40)]), 3.0)
    assert found == pytest.approx(2 * square, rel=1e-3)
    # A thin wall beside a thick one does not count, unless all is thin.
    both = MultiPolygon([box(0, 0, 90, 7), box(0, 20, 90, 22)])
    assert wall_thickness(both, 3.0) == pytest.approx(7.0, abs=2e-3)
    assert wall_thickness(MultiPolygon([box(0, 0, 90, 2)]), 3.0) == pytest.approx(2.0, abs=2e-3)
    assert wall_thickness(MultiPolygon(), 3.0) == 0.0


def test_opening_rounds_the_corners():
    area = opened(MultiPolygon([box(0, 0, 20, 6)]), 2.0).area
    assert area == pytest.approx(20 * 6 - (4 - math.pi) * 4, rel=1e-4)


def test_inner_lines():
    def length(shape):
        return inner_lines(shape).length

    hollow = MultiPolygon([box(0, 0, 60, 40).difference(box(5, 5, 55, 35))])
    assert length(hollow) == pytest.approx(2 * (50 + 30))
    three_sides = MultiPolygon([box(0, 0, 60, 40).difference(box(5, 5, 55, 45))])
    assert length(three_sides) == pytest.approx(50 + 2 * 35, abs=0.1)
    walls = inner_lines(MultiPolygon([box(0, 0, 4, 50), box(40, 0, 44, 50)]))
    assert walls.length == pytest.approx(100, abs=0.1)
    assert walls.bounds[0] == pytest.approx(4)
    assert walls.bounds[2] == pytest.approx(40)
    assert length(MultiPolygon([box(0, 0, 60, 8)])) == pytest.approx(60)
    corner = MultiPolygon([box(0, 0, 60, 8).union(box(0, 0, 8, 50))])
    assert length(corner) == pytest.approx(52 + 42, abs=0.1)


def test_gap():
    assert register_gap(PRINTER) == pytest.approx(GAP)
    assert register_gap(Printer(hole_allowance=-0.3)) == pytest.approx(0.1)


def test_lap_in_a_tube_by_pappus(ring):
    register, findings = planned("lap", ring)
    # Two leaves of one thickness and the gap between them.
    assert register.width == pytest.approx((6 - GAP) / 2, abs=0.01)
    assert 6.0 <= register.height <= 9.0
    assert findings == ()
    lower, upper = made(register, ring)
    _, below, above = ring
    width, height = register.width, register.height
    stands = 2 * math.pi * (34 + width / 2) * width * height
    taken = 2 * math.pi * (34 + (width + GAP) / 2) * (width + GAP) * (height + DEEPER)
    assert lower.volume - below.volume == pytest.approx(stands, rel=1e-3)
    assert above.volume - upper.volume == pytest.approx(taken, rel=1e-3)


def test_tongue_in_a_tube_by_pappus(ring):
    register, findings = planned("tongue", ring)
    assert register.width == pytest.approx((6 - 2 * GAP) / 3, abs=0.01)
    assert register.height == pytest.approx(register.width, abs=0.01)
    assert findings == ()
    lower, upper = made(register, ring)
    _, below, above = ring
    width, height = register.width, register.height
    # The tip is chamfered by a fifth of the width, in steps of at most 0.1 mm.
    chamfer = width / 5
    steps = math.ceil(chamfer / 0.1)
    corner = chamfer**2 * (steps + 1) / (2 * steps)
    stands = 2 * math.pi * 37 * (width * height - 2 * corner)
    taken = 2 * math.pi * 37 * (width + 2 * GAP) * (height + DEEPER)
    assert lower.volume - below.volume == pytest.approx(stands, rel=4e-3)
    assert above.volume - upper.volume == pytest.approx(taken, rel=4e-3)


def test_wedge_in_a_tube_by_pappus(ring):
    register, findings = planned("wedge", ring)
    assert findings == ()
    lower, upper = made(register, ring)
    _, below, above = ring
    width, height = register.width, register.height
    slant = math.tan(math.radians(15))
    assert width - 2 * slant * height >= LINES
    count = math.ceil(height / 0.2)
    tops = height * np.arange(1, count + 1) / count
    stands = 2 * math.pi * 37 * float(np.sum(width - 2 * slant * tops)) * height / count
    assert lower.volume - below.volume == pytest.approx(stands, rel=4e-3)
    # The steps lie inside the true taper, by no more than one of them.
    smooth = 2 * math.pi * 37 * height * (width - slant * height)
    assert 0.9 * smooth < lower.volume - below.volume < smooth
    groove = 2 * math.pi * 37 * height * (width + 2 * GAP - slant * height)
    assert above.volume - upper.volume > groove


def test_tongue_in_a_plate(plate):
    register, _ = planned("tongue", plate)
    lower, _ = made(register, plate)
    seam, below, _ = plate
    side, width = register.width + GAP, register.width
    # A band with round ends along the middle, as far from the ends as from the sides.
    long, wide = 60 - 2 * side, 8 - 2 * side
    assert wide == pytest.approx(width, abs=5e-3)
    band = long * wide - (4 - math.pi) * (0.49 * width) ** 2
    foot = lower.section(seam.plane.shifted(0.5)).shape
    assert foot.area == pytest.approx(band, rel=2e-3)
    assert foot.distance(seam.section.shape.boundary) == pytest.approx(side, abs=5e-3)
    assert lower.volume - below.volume < band * register.height


@pytest.mark.parametrize("normal", [UP, (0.15, 0.1, 1.0)])
@pytest.mark.parametrize("form", [*BANDS, "studs"])
def test_channel(form, normal):
    """On an open section, upright and leaning: sound, and the pieces slide together."""
    case = seam_of(channel(8.0 if form == "studs" else 6.0), normal)
    seam, below, above = case
    register, _ = planned(form, case)
    assert check_register(register, *case, PRINTER) == ()
    lower, upper = made(register, case)
    for solid in (lower, upper):
        mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert len(solid.bodies()) == 1
        assert mesh.volume == pytest.approx(solid.volume, rel=1e-9)
    # All of the part is still in one of the pieces, or in the gap between them.
    added, removed = register_bodies(register, *case)
    both = lower.union(upper)
    gap = removed.intersection(above).difference(added)
    assert both.volume + gap.volume == pytest.approx(below.volume + above.volume, rel=1e-9)
    assert lower.intersection(upper).volume == pytest.approx(0, abs=1e-9)
    # Pushed together along the normal they never overlap (boolean volume, 12 places).
    way = np.array(seam.plane.normal)
    for distance in np.linspace(0.0, register.height + 1, 12):
        moved = upper.transformed(np.hstack([np.eye(3), (way * distance)[:, None]]))
        assert moved.intersection(lower).volume == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("form", BANDS)
def test_gap_all_round(ring, form):
    seam, _, _ = ring
    register, _ = planned(form, ring)
    lower, upper = made(register, ring)
    for share in (0.1, 0.5, 0.75):
        plane = seam.plane.shifted(share * register.height)
        inner, outer = lower.section(plane).shape, upper.section(plane).shape
        slack = 0.11 if form == "wedge" else 0.001
        assert GAP - 0.006 <= inner.distance(outer) <= GAP + slack + 0.005
    ceiling = upper.section(seam.plane.shifted(register.height + DEEPER + 0.01)).shape
    assert ceiling.area == pytest.approx(seam.section.area, rel=1e-6)


@pytest.mark.parametrize("form", BANDS)
def test_leaning_wall(form):
    case = seam_of(cone())
    register, _ = planned(form, case)
    assert check_register(register, *case, PRINTER) == ()
    lower, upper = made(register, case)
    assert len(lower.bodies()) == len(upper.bodies()) == 1
    # It stays inside the part that was cut.
    part = case[1].union(case[2])
    assert lower.difference(part).volume == pytest.approx(0, abs=1e-2)


@pytest.mark.parametrize("form", [*BANDS, "studs"])
def test_on_a_face_that_was_set_back(plate, form):
    """A face set back for glue first still carries the register, and all of it."""
    seam, below, above = plate
    register, _ = planned(form, plate)
    relief, _ = glue_relief(seam, 1.0, PRINTER, whole=True)
    added, removed = register_bodies(register, *plate)
    lower = below.difference(relief.below).union(added)
    upper = above.difference(relief.above).difference(removed)
    assert len(lower.bodies()) == len(upper.bodies()) == 1
    assert lower.intersection(upper).volume == pytest.approx(0, abs=1e-9)
    _, whole = below.union(added).split(seam.plane)
    _, left = lower.split(seam.plane)
    assert left.volume == pytest.approx(whole.volume, rel=1e-6)


def test_inside_the_outlines(plate):
    seam = plate[0]
    rim = seam.section.shape.boundary
    for form in ("tongue", "wedge", "studs"):
        register, _ = planned(form, plate)
        zone = register_zone(register, *plate)
        assert zone.distance(rim) >= LINES - 1e-3
        _, removed = register_bodies(register, *plate)
        low = removed.section(seam.plane.shifted(0.01)).shape
        assert low.symmetric_difference(zone).area < 2e-3 * zone.area


def test_lap_follows_the_hidden_side(plate):
    seam = plate[0]
    register, _ = planned("lap", plate)
    low_u, low_v, high_u, high_v = seam.section.shape.bounds
    across = int(high_v - low_v > high_u - low_u)
    for value in (seam.section.shape.bounds[1 - across], seam.section.shape.bounds[3 - across]):
        ends = [[low_u, low_v], [high_u, high_v]]
        for end in ends:
            end[1 - across] = value
        hidden = MultiLineString([ends])
        zone = register_zone(register, *plate, hidden=hidden)
        foot = made(register, plate, hidden=hidden)[0].section(seam.plane.shifted(1.0)).shape
        assert foot.distance(hidden) == pytest.approx(0, abs=1e-6)
        other = shapely.difference(seam.section.shape.boundary, hidden.buffer(1e-3))
        assert zone.distance(other) >= LINES
        assert foot.area == pytest.approx(register.width * 60, rel=0.2)
        assert check_register(register, *plate, PRINTER, hidden=hidden) == ()
    assert register_bodies(register, *plate, hidden=MultiLineString())[0].is_empty


def test_keeps_clear_of_holes(ring):
    hole = Point(37, 0).buffer(3.0)
    clear = MultiPolygon([hole])
    for form in BANDS:
        register, _ = planned(form, ring, clear=clear)
        zone = register_zone(register, *ring, clear=clear)
        assert zone.distance(hole) < 2.0
        assert zone.intersection(hole).area < 0.01
        assert register_zone(register, *ring).intersection(hole).area > 1.0


def test_thin_wall_is_refused():
    case = seam_of(tube(40, 2.4))
    for form, leaves in (("tongue", 3), ("wedge", 3), ("studs", 2)):
        register, (finding,) = plan_register(form, *case, PRINTER)
        assert register is None
        assert finding.kind == "register.no_room"
        assert finding.measured == pytest.approx(2.4, abs=0.01)
        assert finding.allowed >= leaves * LINES + 2 * GAP
    # Half of it is two lines still.
    register, findings = planned("lap", case)
    assert findings == ()
    assert register.width == pytest.approx(1.1, abs=0.01)
    assert check_register(register, *case, PRINTER) == ()


def test_thick_block_gets_a_ring():
    case = seam_of(Solid.box((70, 50, 60)))
    register, findings = planned("tongue", case)
    assert register.width == 5.0
    assert findings == ()
    (band,) = made(register, case)[0].section(case[0].plane.shifted(1.0)).shape.geoms
    assert len(band.interiors) == 1
    outer, inner = 70 - 2 * 5.2, 70 - 2 * 10.2
    radii = (0.49 * 5, 0.5 * 5 + GAP)
    area = outer * (outer - 20) - inner * (inner - 20)
    corners = (4 - math.pi) * (radii[1] ** 2 - radii[0] ** 2)
    assert band.area == pytest.approx(area + corners, rel=1e-3)


def test_studs(plate):
    register, findings = planned("studs", plate)
    assert findings == ()
    diameter = register.width
    assert diameter >= 4.0
    assert register.height == diameter
    places = np.array(register.places)
    edge = diameter / 2 + GAP + LINES
    for place in places:
        assert plate[0].section.shape.boundary.distance(Point(place)) >= edge - 1e-3
    apart = np.linalg.norm(places[0] - places[1])
    assert apart > 0.7 * math.hypot(60 - 2 * edge, 8 - 2 * edge)
    # Not the same the other way round: half a turn about their middle moves the outline.
    middle = places.mean(axis=0)
    turned = shapely.affinity.rotate(plate[0].section.shape, 180, origin=tuple(middle))
    assert turned.hausdorff_distance(plate[0].section.shape) >= 2.0 - 0.3


def test_stud_volume(plate):
    register, _ = planned("studs", plate)
    lower, _ = made(register, plate)
    radius, height = register.width / 2, register.height
    chamfer = min(0.5, register.width / 5)
    neck = radius - (height - chamfer) * math.tan(math.radians(5))

    def frustum(low, high, tall):
        # A prism of n sides in a circle has area n/2·sin(2·pi/n)·r².
        return 24 * math.sin(math.pi / 24) * tall / 3 * (low**2 + low * high + high**2)

    one = frustum(radius, neck, height - chamfer) + frustum(neck, neck - chamfer, chamfer)
    both = lower.volume - plate[1].volume
    assert both == pytest.approx(len(register.places) * one, rel=1e-6)


def test_more_studs_on_a_long_seam():
    register, _ = planned("studs", seam_of(Solid.box((400, 10, 60))))
    assert len(register.places) == 3
    positions = sorted(np.ptp(np.array(register.places), axis=0))
    assert positions[-1] > 300


def test_print_direction(plate):
    def kinds(form, up):
        return [finding.kind for finding in planned(form, plate, up=up)[1]]

    assert kinds("studs", (0, 0, 1)) == ["register.layers"]
    assert kinds("studs", (0, 0, -2)) == ["register.layers", "register.bed"]
    assert kinds("studs", (1, 0, 0)) == []
    assert kinds("tongue", (0, 0, 1)) == []
    assert kinds("tongue", (0, 0, -1)) == ["register.bed"]


def test_short_and_hardly_any():
    # A thick rib beside a long thin wall.
    thin = Solid.box((100, 2, 60))
    few = seam_of(thin.union(Solid.box((40, 6, 60), (0, -2, 0))))
    register, (finding,) = plan_register("tongue", *few, PRINTER)
    assert register is not None
    assert finding.kind == "register.short"
    assert 0.2 < finding.measured < 0.5
    hardly = seam_of(thin.union(Solid.box((12, 6, 60), (0, -2, 0))))
    register, (finding,) = plan_register("tongue", *hardly, PRINTER)
    assert register is None
    assert finding.kind == "register.short"
    assert finding.measured < 0.2


def check_kinds(register, case):
    findings = check_register(register, *case, PRINTER)
    assert all(finding.where.shape[1] == 3 and len(finding.where) for finding in findings)
    return {finding.kind for finding in findings}


def test_edited_registers(plate, ring):
    lap, _ = planned("lap", ring)
    # As wide as that leaves 1.3 mm: a leaf thinner than the lap itself does not come about.
    assert check_kinds(replace(lap, width=4.5), ring) == {"register.empty"}
    assert "register.thin" in check_kinds(replace(lap, width=0.5), ring)
    narrow, _ = planned("tongue", ring)
    assert {"register.thin", "register.cheek"} - check_kinds(replace(narrow, width=0.4), ring) <= {
        "register.thin"
    }
    assert "register.cheek" in check_kinds(replace(narrow, width=0.4), ring)
    studs, _ = planned("studs", plate)
    at_the_edge = replace(studs, places=((2.0, 2.0), studs.places[1]))
    assert {"register.outside", "register.cheek", "register.loose"} <= check_kinds(
        at_the_edge, plate
    )
    in_the_air = replace(studs, places=((-20.0, 2.0), studs.places[1]))
    assert {"register.outside", "register.loose"} <= check_kinds(in_the_air, plate)
    assert check_kinds(replace(studs, places=()), plate) == {"register.empty"}


def test_cheek_is_measured(plate):
    studs, _ = planned("studs", plate)
    near = replace(studs, places=((studs.width / 2 + GAP + 0.5, 4.0), studs.places[1]))
    findings = [
        finding
        for finding in check_register(near, *plate, PRINTER)
        if finding.kind == "register.cheek"
    ]
    assert len(findings) == 1
    assert findings[0].measured == pytest.approx(0.5, abs=0.02)
    assert findings[0].allowed == pytest.approx(LINES)


def test_same_register_again(ring):
    first, second = (planned("wedge", ring)[0] for _ in range(2))
    assert first == second
    bodies = [register_bodies(first, *ring) for _ in range(2)]
    for one, other in zip(*bodies, strict=True):
        assert one.fingerprint == other.fingerprint
