"""The least number of pieces: pigeonholes by hand, and never more than a plan that is known."""

import itertools
import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from splitplanner.errors import WorkshopError
from splitplanner.solid import Solid
from splitplanner.suggest import lower_bound
from splitplanner.suggest.bounds import bed_diagonal, bed_volume
from splitplanner.workshop import Bed

BED = Bed.rectangle(220, 220, 250)  # Space diagonal sqrt(220² + 220² + 250²) = 399.1 mm.
TURNS = [(0, 0, 0), (20, 30, 50), (45, 0, 0), (17, 81, 3)]


def turned(solid, angles):
    matrix = np.eye(4)
    matrix[:3, :3] = Rotation.from_euler("xyz", angles, degrees=True).as_matrix()
    matrix[:3, 3] = (310, -42, 7)
    return solid.transformed(matrix)


def l_shape(leg=400.0, side=60.0):
    return Solid.box((leg, side, side)).union(Solid.box((side, leg, side)))


# Pairs of corners that are more than 399.1 mm apart. Box 430 long: its two ends. 430 x 430: its
# four upright edges. 430 x 430 x 480: all eight corners. L: the far ends of both legs are
# 404 mm or more from the outer corner (sqrt(400² + 60²), the corner's top to the end's foot) and
# 566 mm from each other. Bar 900 long: 900 / 399.1 = 2.26, so a chain of three.
PIGEONHOLES = {
    "bar": ((280, 15, 15), 1),
    "box in 2": ((430, 200, 240), 2),
    "box in 4": ((430, 430, 240), 4),
    "box in 8": ((430, 430, 480), 8),
    "L": (None, 3),
    "rod": ((900, 20, 20), 3),
}


@pytest.mark.parametrize("angles", TURNS, ids=str)
@pytest.mark.parametrize(("size", "least"), PIGEONHOLES.values(), ids=PIGEONHOLES.keys())
def test_pigeonholes(size, least, angles):
    part = l_shape() if size is None else Solid.box(size)
    assert lower_bound(turned(part, angles), BED).pieces == least


def test_reasons_name_the_bound_that_won():
    assert lower_bound(Solid.box((10, 10, 10)), BED).reason == "nothing rules out one piece"
    assert "900 mm long" in lower_bound(Solid.box((900, 1, 1)), Bed.rectangle(500, 10, 10)).reason
    assert "4 of its points" in lower_bound(Solid.box((430, 430, 240)), BED).reason
    # 395 mm cube: 61.6 litres, the bed holds 12.1. Its eight corners are pairwise 395 mm apart or
    # more, but only those on different diagonals more than 399.1: four of them.
    cube = lower_bound(Solid.box((395, 395, 395)), BED)
    assert cube.pieces == math.ceil(395**3 / (220 * 220 * 250)) == 6
    assert cube.reason == "its volume is 5.1 times the bed's"


def test_volume_of_a_ball():
    mesh = trimesh.creation.icosphere(5, 300.0)
    ball = Solid.from_arrays(mesh.vertices, mesh.faces)
    # Over 2000 hull corners: not every two are compared. 4/3 pi 300³ is 9.3 beds of 12.1 litres.
    assert len(ball.hull.vertices) > 2000
    assert lower_bound(ball, BED).pieces == math.ceil(4 / 3 * math.pi * 300**3 / 12.1e6) == 10


def test_length_over_many_hull_corners():
    # A capsule of 700 mm with 5000 corners: 700 / 399.1 = 1.75, and its volume is far below a bed.
    mesh = trimesh.creation.capsule(height=640.0, radius=30.0, count=[70, 72])
    mesh.merge_vertices()
    capsule = turned(Solid.from_arrays(mesh.vertices, mesh.faces), (20, 30, 50))
    assert len(capsule.hull.vertices) > 2000
    bound = lower_bound(capsule, BED)
    assert bound.pieces == 2
    assert "700 mm long" in bound.reason


# -- what fits needs one piece ------------------------------------------------------------------
@pytest.mark.parametrize("seed", range(6))
def test_a_box_as_large_as_the_bed_is_not_ruled_out(seed):
    box = Solid.box((220, 220, 250))
    matrix = np.eye(4)
    matrix[:3, :3] = Rotation.random(random_state=seed).as_matrix()
    matrix[:3, 3] = (1234.5, -777.7, 90.1)
    assert lower_bound(box.transformed(matrix), BED).pieces == 1


side = st.floats(5.0, 900.0)


@settings(max_examples=60, deadline=None)
@given(
    sizes=st.tuples(side, side, side),
    bed=st.tuples(st.floats(60, 400), st.floats(60, 400), st.floats(60, 400)),
    margin=st.floats(0, 20),
    angles=st.tuples(*[st.floats(0, 90)] * 3),
)
def test_never_above_a_grid_of_boxes(sizes, bed, margin, angles):
    box = turned(Solid.box(sizes), angles)
    room = (bed[0] - 2 * margin, bed[1] - 2 * margin, bed[2])
    known = min(
        math.prod(math.ceil(s / r) for s, r in zip(sizes, order, strict=True))
        for order in itertools.permutations(room)
    )
    bound = lower_bound(box, Bed.rectangle(*bed, margin)).pieces
    assert 1 <= bound <= known
    # It is worth something: at least what volume alone says.
    assert bound >= math.prod(sizes) / math.prod(room) * (1 - 1e-5)


def test_bodies_that_do_not_touch_are_bounded_one_by_one():
    # 1000 mm from end to end, but there is no material between the two cubes: two pieces do.
    cubes = Solid.box((10, 10, 10)).union(Solid.box((10, 10, 10), (990, 0, 0)))
    bound = lower_bound(cubes, BED)
    assert bound.pieces == 2
    assert bound.reason == "it is 2 bodies that do not touch"
    mixed = Solid.box((430, 200, 240)).union(Solid.box((10, 10, 10), (0, 400, 0)))
    bound = lower_bound(mixed, BED)
    assert bound.pieces == 3
    assert "of body 1, it is 532 mm long" in bound.reason


# -- beds ---------------------------------------------------------------------------------------
def test_round_bed():
    bed = Bed.circle(200, 300, margin=5)
    assert bed_diagonal(bed) == pytest.approx(math.hypot(190, 300))
    assert bed_volume(bed) == pytest.approx(math.pi / 4 * 190**2 * 300)
    # Diagonal 355.1 mm.
    assert lower_bound(Solid.box((354, 1, 1)), bed).pieces == 1
    assert lower_bound(Solid.box((356, 1, 1)), bed).pieces == 2


def test_margin_counts():
    assert bed_diagonal(Bed.rectangle(220, 180, 250, 10)) == pytest.approx(
        math.sqrt(200**2 + 160**2 + 250**2)
    )
    assert bed_volume(Bed.rectangle(220, 180, 250, 10)) == pytest.approx(200 * 160 * 250)


def test_outline_less_margin():
    # A right triangle 300 x 400 has an inradius of (300 + 400 - 500) / 2 = 100 mm: less a margin
    # of 10 mm it is the same triangle at 0.9 scale.
    triangle = ((0.0, 0.0), (300.0, 0.0), (0.0, 400.0))
    bed = Bed.of_outline(triangle, 120, margin=10)
    assert bed_diagonal(bed) == pytest.approx(math.hypot(450, 120))
    assert bed_volume(bed) == pytest.approx(0.81 * 60000 * 120)
    # A plate of 61 000 mm² does not fit into the triangle's 60 000, but would fit into its box.
    plate = Solid.box((244, 250, 1))
    assert lower_bound(plate, Bed.of_outline(triangle, 1.0)).pieces == 2


def test_blocked_areas():
    # A strip across the whole bed leaves 90 x 220 and 110 x 220 free; a piece lies in one of them.
    strip = ((90.0, -1.0), (110.0, -1.0), (110.0, 221.0), (90.0, 221.0))
    bed = Bed("rectangle", 220, 220, 250, blocked=(strip,))
    assert bed_diagonal(bed) == pytest.approx(math.sqrt(110**2 + 220**2 + 250**2))
    assert bed_volume(bed) == pytest.approx(110 * 220 * 250)
    clip = ((0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0))
    bed = Bed("rectangle", 220, 220, 250, blocked=(clip,))
    # The other diagonal is still free.
    assert bed_diagonal(bed) == pytest.approx(bed_diagonal(BED))
    assert bed_volume(bed) == pytest.approx((220 * 220 - 400) * 250)
    round_bed = Bed("circle", 220, 220, 250, blocked=(clip,))
    assert bed_diagonal(round_bed) <= math.hypot(220, 250)


def test_a_bed_with_nothing_free_is_a_fault_of_the_workshop():
    whole = ((0.0, 0.0), (220.0, 0.0), (220.0, 220.0), (0.0, 220.0))
    bed = Bed("rectangle", 220, 220, 250, blocked=(whole,))
    with pytest.raises(WorkshopError, match="Nothing of the bed"):
        lower_bound(Solid.box((10, 10, 10)), bed)
