"""Patterns of places. Expected values: brute force over all subsets, and plane geometry."""

import itertools
import math
import time

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.distance import cdist, pdist
from shapely.geometry import MultiPolygon, Point, box

from splitplanner.joint.fasteners import spreading
from splitplanner.joint.fasteners.mirrored import MirrorLine, mirror_line, unlikeness
from splitplanner.joint.fasteners.spreading import EVEN, lever_sum, spread
from splitplanner.plan import Cut, Seam, divide
from splitplanner.solid import Plane, Section, Solid

UP = (0.0, 0.0, 1.0)


def brute_force(places, count, spacing, centre, pitch, line, units=None):
    """Return the best lever sum by the definition, over all subsets; None when there is none."""
    units = units or [(index,) for index in range(len(places))]
    line = line[cdist(line, places).min(axis=1) <= pitch / 2]
    found = []
    for number in range(1, count + 1):
        for some in itertools.combinations(units, number):
            chosen = [index for unit in some for index in unit]
            if len(chosen) != count:
                continue
            least = pdist(places[chosen]).min()
            if least >= spacing - 1e-9:
                reach = cdist(line, places[chosen]).min(axis=1).max(initial=0.0)
                lever = ((places[chosen] - centre) ** 2).sum()
                found.append((least, reach, lever))
    if not found:
        return None
    even = EVEN * max(least for least, _, _ in found)
    patterns = [one for one in found if one[0] >= max(spacing, even) - 1e-9]
    nearest = min(reach for _, reach, _ in patterns)
    allowed = pitch / 2 if nearest <= pitch / 2 + 1e-9 else nearest / EVEN
    allowed = max(pitch / 2, allowed)
    return max(lever for _, reach, lever in patterns if reach <= allowed + 1e-9)


@settings(derandomize=True, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    number=st.integers(5, 14),
    count=st.integers(2, 5),
    wide=st.sampled_from([0.0, 5.0, 40.0, 100.0]),
    spacing=st.sampled_from([3.0, 9.0, 20.0]),
    pitch=st.sampled_from([20.0, 30.0, 50.0, 100.0]),
)
def test_best_of_all_subsets(seed, number, count, wide, spacing, pitch):
    places = np.random.default_rng(seed).random((number, 2)) * [100.0, wide]
    centre = places.mean(axis=0)
    # What has to be held goes on beyond the places.
    line = np.vstack([places, np.random.default_rng(seed + 1).random((6, 2)) * [160.0, wide]])
    found = spread(places, count, spacing, centre, pitch=pitch, line=line)
    best = brute_force(places, count, spacing, centre, pitch, line)
    assert found.is_exact
    if best is None:
        # Then as many as do: one more does not.
        assert len(found.chosen) < count
        more = len(found.chosen) + 1
        assert brute_force(places, more, spacing, centre, pitch, line) is None
        return
    assert len(set(found.chosen)) == count
    assert found.lever == pytest.approx(best, rel=1e-9, abs=1e-9)
    chosen = places[list(found.chosen)]
    assert found.least == pytest.approx(pdist(chosen).min())
    assert found.reach == pytest.approx(cdist(line, chosen).min(axis=1).max())
    assert found.lever == pytest.approx(lever_sum(chosen, centre))


@settings(derandomize=True, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    pairs=st.integers(2, 6),
    lone=st.integers(0, 2),
    count=st.integers(2, 6),
)
def test_best_of_all_mirrored_subsets(seed, pairs, lone, count):
    draw = np.random.default_rng(seed)
    left = draw.random((pairs, 2)) * [50.0, 40.0] + [0.5, 0.0]
    line = MirrorLine((7.0, 3.0), (1.0, 2.0))
    on_line = np.array(line.point) + draw.random((lone, 1)) * 40 * np.array(line.direction)
    places = np.vstack([left, line.image(left), on_line])
    units = [(index, index + pairs) for index in range(pairs)]
    units += [(2 * pairs + index,) for index in range(lone)]
    centre = np.array([8.0, 9.0])
    found = spread(places, count, 4.0, centre, pitch=30.0, mirror=line)
    best = brute_force(places, count, 4.0, centre, 30.0, places, units)
    assert found.is_exact
    if best is None:
        assert len(found.chosen) < count
    else:
        assert len(found.chosen) == count
        assert found.lever == pytest.approx(best)
    images = line.image(places[list(found.chosen)])
    for image in images:
        assert cdist([image], places[list(found.chosen)]).min() < 1e-6


def test_a_row_holds_its_ends_and_keeps_its_pitch():
    row = np.column_stack([np.arange(0, 121, 2.0), np.zeros(61)])
    found = spread(row, 5, 9.0, (60, 0), pitch=30.0)
    # 120 mm by four gaps of 30 mm: with that largest pitch there is no other way.
    assert row[list(found.chosen), 0].tolist() == [0, 30, 60, 90, 120]
    # One more than needed: both ends, and no gap shorter than EVEN of 24 mm or over 30 mm.
    gaps = np.diff(row[list(spread(row, 6, 9.0, (60, 0), pitch=30.0).chosen), 0])
    assert gaps.sum() == 120
    assert gaps.min() >= EVEN * 24
    assert gaps.max() <= 30


def test_a_block_is_held_at_its_corners():
    u, v = np.meshgrid(np.arange(0, 101, 10.0), np.arange(0, 61, 10.0))
    block = np.column_stack([u.ravel(), v.ravel()])
    four = spread(block, 4, 9.0, (50, 30), pitch=120.0)
    assert sorted(map(tuple, block[list(four.chosen)].tolist())) == [
        (0, 0),
        (0, 60),
        (100, 0),
        (100, 60),
    ]
    # Each corner is hypot(50, 30) from the middle.
    assert four.lever == pytest.approx(4 * (50**2 + 30**2))
    assert four.least == 60
    two = spread(block, 2, 9.0, (50, 30), pitch=200.0)
    assert two.least == pytest.approx(math.hypot(100, 60))


def test_a_ring_is_divided_evenly():
    turns = np.radians(np.arange(0, 360, 3))
    ring = 50 * np.column_stack([np.cos(turns), np.sin(turns)])
    found = spread(ring, 8, 9.0, (0, 0), pitch=45.0)
    # All levers are alike: 8 times the radius squared; chords are of 45° or nearly.
    assert found.lever == pytest.approx(8 * 50**2)
    assert found.least >= EVEN * 2 * 50 * math.sin(math.radians(22.5))
    assert found.reach <= 22.5


def test_pins_keep_their_clearance():
    row = np.column_stack([np.arange(0, 101, 1.0), np.zeros(101)])
    pins = np.array([[0.0, 0.0], [50.0, 0.0]])
    found = spread(row, 3, 9.0, (50, 0), pins, [6.0, 8.0], pitch=60.0)
    chosen = row[list(found.chosen)]
    assert (cdist(chosen, pins) >= [6.0, 8.0]).all()
    assert {6.0, 100.0} <= set(chosen[:, 0].tolist())
    assert spread(row[:5], 3, 9.0, (50, 0), pins, [6.0, 8.0]).chosen == ()


def test_fewer_where_they_do_not_fit():
    row = np.column_stack([np.arange(0, 21, 1.0), np.zeros(21)])
    # 20 mm at 9 mm: three at most.
    assert len(spread(row, 8, 9.0, (10, 0)).chosen) == 3
    assert len(spread(row, 8, 21.0, (10, 0)).chosen) == 1
    # A single one stands in the middle.
    assert row[spread(row, 1, 9.0, (10, 0)).chosen[0], 0] == 10
    assert spread(np.empty((0, 2)), 4, 9.0, (0, 0)).chosen == ()
    assert spread(row, 0, 9.0, (0, 0)).chosen == ()


def test_what_makes_no_sense_is_refused():
    row = np.zeros((3, 2))
    with pytest.raises(ValueError, match="clearances"):
        spread(row, 2, 9.0, (0, 0), row, [1.0])
    for count, spacing, pitch in ((-1, 9.0, 30.0), (2, 0.0, 30.0), (2, 9.0, 0.0)):
        with pytest.raises(ValueError, match="above 0 mm"):
            spread(row, count, spacing, (0, 0), pitch=pitch)
    with pytest.raises(ValueError, match="direction"):
        MirrorLine((0, 0), (0, 0))


def crowds():
    draw = np.random.default_rng(5)
    along = draw.random(200) * 300
    turn, radius = draw.random(200) * 2 * np.pi, 80 - 3 * draw.random(200)
    return {
        "wall": np.column_stack([along, draw.random(200) * 4]),
        "bar": draw.random((200, 2)) * [150, 30],
        "block": draw.random((200, 2)) * 100,
        "ring": np.column_stack([radius * np.cos(turn), radius * np.sin(turn)]),
    }


@pytest.mark.parametrize("name", crowds())
def test_twelve_of_two_hundred_places_take_less_than_a_second(name):
    places = crowds()[name]
    spread(places[:9], 4, 9.0, (0, 0))  # Loads the compiled loops.
    start = time.process_time()
    found = spread(places, 12, 9.0, places.mean(axis=0), pitch=30.0)
    assert time.process_time() - start < 1.0
    assert len(found.chosen) == 12
    assert found.least >= 9.0


@pytest.mark.parametrize("name", crowds())
def test_exchanges_alone_come_near_the_exact_pattern(name, monkeypatch):
    places = crowds()[name][:60]
    exact = spread(places, 7, 5.0, places.mean(axis=0), pitch=400.0)
    assert exact.is_exact
    monkeypatch.setattr(spreading, "_STEPS", 0)
    quick = spread(places, 7, 5.0, places.mean(axis=0), pitch=400.0)
    assert not quick.is_exact
    assert quick.least >= 0.9 * exact.least
    assert quick.lever >= 0.98 * exact.lever


def seam_on(shape, plane):
    return Seam("S1", 0, "1", "2", Section(plane, tuple(MultiPolygon(shape).geoms)))


def test_mirror_line_of_a_seam():
    # A channel that is its own image in x = 50, cut square across.
    channel = Solid.box((100, 60, 100)).difference(Solid.box((84, 60, 100), (8, 8, 0)))
    seam = divide(channel, [Cut(Plane(UP, 50.0))]).seams[0]
    line = mirror_line(seam, Plane((1.0, 0.0, 0.0), 50.0))
    spots = np.array([[10.0, 20.0, 50.0], [50.0, 7.0, 50.0]])
    flat = seam.plane.to_plane(spots)
    there = seam.plane.to_plane(np.array([[90.0, 20.0, 50.0], [50.0, 7.0, 50.0]]))
    assert line.image(flat) == pytest.approx(there)
    assert line.onto(flat) == pytest.approx((flat + there) / 2)
    assert unlikeness(seam.section.shape, line) == pytest.approx(0.0, abs=1e-9)
    # Not across it, not of the seam's own plane, and not where the plane is off the middle.
    assert mirror_line(seam, Plane((0.0, 1.0, 0.0), 30.0)) is None
    assert mirror_line(seam, Plane(UP, 50.0)) is None
    assert mirror_line(seam, Plane((1.0, 0.0, 0.0), 45.0)) is None


def test_mirror_line_on_a_slanting_plane():
    plane = Plane.through((5.0, 6.0, 7.0), (0.0, 1.0, 2.0))
    normal = np.array([1.0, 0.0, 0.0])
    centre = np.array([30.0, 0.0])
    # A shape that mirrors x about 30: in the plane, x is one axis and the other lies across.
    frame = plane.frame
    along = frame[:2] @ normal
    across = np.array([-along[1], along[0]])
    corners = [30 * along + a * along + b * across for a, b in ((-8, 0), (8, 0), (3, 9), (-3, 9))]
    line = mirror_line(seam_on([shapely.Polygon(corners)], plane), Plane((1.0, 0.0, 0.0), 30.0))
    assert line is not None
    on_line = plane.to_space([np.array(line.point), np.array(line.point) + line.direction])
    assert on_line[:, 0] == pytest.approx(centre[0])


def test_unlikeness_is_the_share_that_is_not_shared():
    line = MirrorLine((0.0, 0.0), (0.0, 1.0))
    # The box from -10 to 6: its image has 4 of 16 mm to itself.
    assert unlikeness(MultiPolygon([box(-10, 0, 6, 5)]), line) == pytest.approx(4 / 16)
    slanting = MirrorLine((1.0, 0.0), (1.0, 1.0))
    circle = MultiPolygon([Point(4.0, 3.0).buffer(3.0)])
    assert unlikeness(circle, slanting) == pytest.approx(0.0, abs=1e-9)
    assert unlikeness(shapely.affinity.translate(circle, 20.0), slanting) == pytest.approx(1.0)
