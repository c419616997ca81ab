"""Figures at stations along an axis. Expected values: closed forms, named at each check."""

import math
import pickle

import numpy as np
import pytest
import shapely
import shapely.affinity
from scipy.spatial.transform import Rotation
from shapely.geometry import MultiPolygon, Polygon, box

from splitplanner.errors import Cancelled
from splitplanner.score import overhang, room, section_modulus, station_axes, stations
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

PRINTER = Printer()


def several(*polygons):
    return MultiPolygon(polygons)


def placed(shape, turn, away):
    return shapely.affinity.translate(
        shapely.affinity.rotate(shape, turn, origin=(0, 0)), away, -3 * away
    )


def polygon(sides, radius):
    turn = np.arange(sides) * 2 * np.pi / sides
    return Polygon(radius * np.stack([np.cos(turn), np.sin(turn)], axis=1))


def turned(solid, rotation, shift=(0.0, 0.0, 0.0)):
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = rotation.as_matrix(), shift
    return solid.transformed(matrix)


PLACES = pytest.mark.parametrize(
    ("turn", "away"), [(0.0, 0.0), (33.3, 0.0), (90.0, 5e3), (-71.0, 1e5)]
)


@PLACES
def test_modulus_of_a_rectangle(turn, away):
    # Handbook form: b h² / 6 about the axis along b; the lesser is with the shorter side as h.
    assert section_modulus(placed(several(box(0, 0, 60, 20)), turn, away)) == pytest.approx(
        60 * 20**2 / 6, rel=1e-6
    )


@PLACES
def test_modulus_of_a_hollow_rectangle(turn, away):
    # Handbook form: (b h³ - b' h'³) / (6 h).
    tube = several(box(0, 0, 80, 50).difference(box(3, 3, 77, 47)))
    assert section_modulus(placed(tube, turn, away)) == pytest.approx(
        (80 * 50**3 - 74 * 44**3) / (6 * 50), rel=1e-6
    )


@PLACES
def test_modulus_of_a_round_bar_and_a_tube(turn, away):
    # π R³ / 4 and π (R⁴ - r⁴) / (4 R), of which a polygon of 720 corners falls short a little.
    bar, tube = polygon(720, 20.0), polygon(720, 20.0).difference(polygon(720, 17.0))
    assert section_modulus(placed(several(bar), turn, away)) == pytest.approx(
        math.pi * 20**3 / 4, rel=1e-4
    )
    assert section_modulus(placed(several(tube), turn, away)) == pytest.approx(
        math.pi * (20**4 - 17**4) / 80, rel=1e-4
    )


@PLACES
def test_modulus_of_a_square_is_that_about_its_diagonal(turn, away):
    # Every axis is principal: I = a⁴ / 12, the corner a / √2 away.
    assert section_modulus(placed(several(box(0, 0, 30, 30)), turn, away)) == pytest.approx(
        30**3 * math.sqrt(2) / 12, rel=1e-6
    )


@PLACES
def test_modulus_of_an_angle_about_its_inclined_axis(turn, away):
    # Equal legs a, thickness t: the weak axis runs across the line of symmetry. By parts, with
    # Steiner's theorem: two rectangles, in coordinates along and across the line of symmetry.
    a, t = 40.0, 5.0
    angle = several(box(0, 0, a, t).union(box(0, t, t, a)))
    parts = [(a, t, a / 2, t / 2), (t, a - t, t / 2, (a + t) / 2)]
    area = sum(b * h for b, h, _, _ in parts)
    middle = sum(b * h * x for b, h, x, _ in parts) / area
    ixx = sum(b * h**3 / 12 + b * h * (y - middle) ** 2 for b, h, _, y in parts)
    ixy = sum(b * h * (x - middle) * (y - middle) for b, h, x, y in parts)
    weak, strong = ixx - abs(ixy), ixx + abs(ixy)
    # The weak moment is of the spread along the line of symmetry: corner and ends of the legs.
    along = max(middle * math.sqrt(2), abs((a + t) / math.sqrt(2) - middle * math.sqrt(2)))
    across = a / math.sqrt(2)
    expected = min(weak / along, strong / across)
    assert section_modulus(placed(angle, turn, away)) == pytest.approx(expected, rel=1e-6)


def test_polygons_apart_count_as_one_section():
    # Two flanges without a web: (b H³ - b h³) / (6 H) about the axis between them, more about it.
    flanges = several(box(0, 0, 100, 4), box(0, 16, 100, 20))
    assert section_modulus(flanges) == pytest.approx(100 * (20**3 - 12**3) / (6 * 20), rel=1e-9)
    assert section_modulus(MultiPolygon()) == 0.0


def test_a_box_along_its_length():
    part = Solid.box((200.0, 40.0, 25.0), (1000.0, -7.0, 3.0))
    found = stations(part, (3.0, 0.0, 0.0), PRINTER, 41)
    assert found.axis == (1.0, 0.0, 0.0)
    assert found.ends == (1000.0, 1200.0)
    assert found.positions[0] == pytest.approx(1000.2)
    assert found.positions[-1] == pytest.approx(1199.8)
    assert np.ptp(np.diff(found.positions)) < 1e-9
    assert found.area == pytest.approx(np.full(41, 1000.0))
    assert found.length == pytest.approx(np.full(41, 130.0))
    assert found.wall == pytest.approx(np.full(41, 2000.0 / 130.0))
    assert found.modulus == pytest.approx(np.full(41, 40 * 25**2 / 6))
    section = part.section(Plane((1.0, 0.0, 0.0), 1100.0))
    assert found.room.tolist() == [room(section, PRINTER.edge_distance(3.0), 9.0).count] * 41
    # Nothing overhangs but what rests on the bed.
    assert found.overhang.tolist() == [0.0] * 41
    assert not found.area.flags.writeable


def test_turned_and_far_away_it_is_the_same():
    part = Solid.box((200.0, 40.0, 25.0)).difference(Solid.box((100.0, 34.0, 19.0), (50, 3, 3)))
    rotation = Rotation.from_rotvec([0.4, -1.1, 0.7])
    there = turned(part, rotation, (3e3, -5e3, 2e3))
    straight = stations(part, (1.0, 0.0, 0.0), PRINTER, 30)
    leaning = stations(there, rotation.apply([1.0, 0.0, 0.0]), PRINTER, 30)
    for name in ("area", "length", "wall", "modulus"):
        assert getattr(leaning, name) == pytest.approx(getattr(straight, name), rel=1e-6)


def test_wall_of_a_tube_is_its_wall():
    # 2 π (R² - r²) / (2 π (R + r)) = R - r exactly; the same for polygons drawn round circles.
    outer = Solid.cylinder((0, 0, 0), (0, 0, 80), 30.0, 96)
    tube = outer.difference(Solid.cylinder((0, 0, -1), (0, 0, 81), 27.6, 96))
    found = stations(tube, (0, 0, 1), PRINTER, 12)
    assert found.wall == pytest.approx(np.full(12, 2.4), rel=1e-9)


def test_overhang_is_shared_out_along_the_axis_and_nothing_is_lost():
    # A table: a plate on a post. Of its lower side 100 x 60 less the post hangs, and no bridge.
    plate = Solid.box((100.0, 60.0, 5.0), (0.0, 0.0, 40.0))
    part = plate.union(Solid.box((20.0, 60.0, 41.0), (40.0, 0.0, 0.0)))
    hanging = overhang(part, (0, 0, 1), PRINTER.overhang_limit, PRINTER.bridge_span)
    assert hanging.area == pytest.approx(80.0 * 60.0)
    found = stations(part, (1, 0, 0), PRINTER, 101)
    inner = (found.positions > 1) & (found.positions < 99)
    away = np.abs(found.positions - 50.0)
    assert found.overhang[inner & (away > 11)] == pytest.approx(60.0)
    assert found.overhang[inner & (away < 9)] == pytest.approx(0.0)
    for axis in ((1, 0, 0), (0, 0, 1), (1.0, 2.0, -0.5)):
        found = stations(part, axis, PRINTER, 37)
        middles = (found.positions[1:] + found.positions[:-1]) / 2
        widths = np.diff([found.ends[0], *middles, found.ends[1]])
        assert found.overhang @ widths == pytest.approx(hanging.area)
    # Along z all of it is at the plate's lower side.
    upright = stations(part, (0, 0, 1), PRINTER, 46)
    assert np.flatnonzero(upright.overhang).tolist() == [
        int(np.abs(upright.positions - 40.0).argmin())
    ]


def test_no_section_and_no_room():
    # Two posts with nothing between, and a rod too thin for any pin.
    posts = Solid.box((10.0, 30.0, 30.0)).union(Solid.box((10.0, 4.0, 4.0), (50.0, 0.0, 0.0)))
    found = stations(posts, (1, 0, 0), PRINTER, 61)
    gap = (found.positions > 11) & (found.positions < 49)
    assert found.area[gap].tolist() == [0.0] * gap.sum()
    assert np.isnan(found.wall[gap]).all()
    assert found.modulus[gap].tolist() == [0.0] * gap.sum()
    assert found.room[found.positions < 10].min() > 0
    assert found.room[found.positions > 10].tolist() == [0.0] * (found.positions > 10).sum()


def test_pins_are_counted_in_every_narrow_rib():
    # Six ribs of one station each on a thin plate, all of other heights.
    part = Solid.box((300.0, 60.0, 6.0))
    for index in range(6):
        rib = Solid.box((3.0, 60.0, 12.0 + 9.0 * index), (40.0 + 40.0 * index, 0.0, 0.0))
        part = part.union(rib)
    found = stations(part, (1, 0, 0), PRINTER, 120)
    base = Plane((1.0, 0.0, 0.0), 0.0)
    counts = [
        room(section, PRINTER.edge_distance(3.0), 9.0).count
        for section in part.sections(base, found.positions)
    ]
    assert len(set(counts)) == 7
    assert found.room.tolist() == counts


def test_axes_to_choose_from():
    tilted = turned(Solid.box((90.0, 20.0, 10.0)), Rotation.from_euler("z", 200, degrees=True))
    named = dict(station_axes(tilted))
    assert list(named) == ["long axis", "x", "y", "z"]
    # Turned by half a turn it would point the other way: the largest component is above 0.
    along = [math.cos(math.radians(20)), math.sin(math.radians(20)), 0.0]
    assert named["long axis"] == pytest.approx(along)
    assert [named[name] for name in "xyz"] == [(1, 0, 0), (0, 1, 0), (0, 0, 1)]
    straight = station_axes(Solid.box((20.0, 90.0, 10.0)))
    assert straight == (
        ("long axis, y", (0.0, 1.0, 0.0)),
        ("x", (1.0, 0.0, 0.0)),
        ("z", (0.0, 0.0, 1.0)),
    )


def test_it_can_be_stopped_says_how_far_it_is_and_travels_between_processes():
    part, calls = Solid.box((200.0, 40.0, 25.0)), []
    found = stations(part, (1, 0, 0), PRINTER, 30, lambda done, doing: calls.append(done))
    assert calls == sorted(calls)
    assert calls[0] == 0.0
    assert 0.3 < calls[-1] <= 1.0
    again = pickle.loads(pickle.dumps(found))
    assert again.area.tolist() == found.area.tolist()

    def stop(done, doing):
        if done > 0.2:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        stations(part, (1, 0, 0), PRINTER, 30, stop)
    with pytest.raises(ValueError, match="at least two stations"):
        stations(part, (1, 0, 0), PRINTER, 1)
