"""Tilts of rods and plates against closed forms of what fits in a box."""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from splitplanner.score import best_fit, fits_any, leaning_directions, print_directions
from splitplanner.solid import Solid
from splitplanner.workshop import Bed

BED = Bed.rectangle(220.0, 220.0, 250.0)
X = np.array([1.0, 0.0, 0.0])


def turned(solid, rotation):
    return solid.transformed(np.hstack([rotation.as_matrix(), np.zeros((3, 1))]))


def test_thin_rod_as_long_as_the_space_diagonal_fits_by_a_diagonal_tilt():
    # sqrt(220² + 220² + 250²) = 399.12 mm; a rod of 1 mm x 1 mm loses a little of it.
    longest = float(np.sqrt(220.0**2 + 220.0**2 + 250.0**2))
    rod = Solid.box((longest - 3.5, 1.0, 1.0))
    assert not best_fit(rod, print_directions(rod), BED).fits
    tilts = leaning_directions(rod, BED)
    assert best_fit(rod, tilts, BED).fits
    too_long = Solid.box((longest, 1.0, 1.0))
    assert not best_fit(too_long, leaning_directions(too_long, BED), BED).fits


@pytest.mark.parametrize("seed", range(3))
def test_tilts_follow_the_piece_when_it_is_turned_in_space(seed):
    rod = turned(Solid.box((380.0, 6.0, 4.0)), Rotation.random(random_state=seed))
    tilts = leaning_directions(rod, BED)
    np.testing.assert_allclose(np.linalg.norm(tilts, axis=1), 1.0)
    assert best_fit(rod, tilts, BED).fits


def test_round_bed_takes_a_rod_across_its_upright_diagonal():
    # Diameter 200, height 150: the diagonal is 250 mm.
    bed = Bed.circle(200.0, 150.0)
    rod = Solid.box((247.0, 1.0, 1.0))
    assert not best_fit(rod, print_directions(rod), bed).fits
    assert best_fit(rod, leaning_directions(rod, bed), bed).fits


def test_plate_wider_than_the_bed_fits_leaning():
    # Too tall by 2 mm when it stands; leaning by 10° it is 252 cos 10° + 3 sin 10° = 248.7 mm high.
    plate = Solid.box((252.0, 252.0, 3.0))
    assert not best_fit(plate, print_directions(plate), BED).fits
    assert best_fit(plate, leaning_directions(plate, BED), BED).fits


def test_small_piece_needs_no_tilt():
    assert leaning_directions(Solid.box((100, 50, 20)), BED).shape == (0, 3)


def test_leaning_directions_hold_the_space_diagonal():
    rod = Solid.cylinder((0, 0, 0), (330, 0, 0), 5.0, 12)
    ups = leaning_directions(rod, BED)
    np.testing.assert_allclose(np.linalg.norm(ups, axis=1), 1.0)
    # The rod's axis then rises from the bed by the elevation of the space diagonal.
    rise = np.arctan2(250.0, np.hypot(220.0, 220.0))
    assert np.isclose(ups @ X, np.sin(rise)).any()
    assert fits_any(rod, ups, BED)
    assert not fits_any(rod, np.eye(3), BED)
    assert len(leaning_directions(Solid.box((200, 20, 20)), BED)) == 0


def largest_square(thickness, side=220.0, height=250.0):
    """Side of the largest square plate that leans about an edge on a square bed, and its tilt.

    A rectangle wider than a square bed fits on it where its sides add up to no more than the bed's
    diagonal (Carver, Math. Mag. 30 (1957) 147; here from memory): of the plate, tilted until it
    reaches the height of the bed, ``a + a cos e + t sin e <= side sqrt 2``.
    """

    def tilt(a):
        return np.arcsin(height / np.hypot(a, thickness)) - np.arctan2(thickness, a)

    def over(a):
        e = tilt(a)
        return a + a * np.cos(e) + thickness * np.sin(e) - side * np.sqrt(2.0)

    a = brentq(over, 250.0, 300.0)
    return a, tilt(a)


@pytest.mark.parametrize("thickness", [0.5, 3.0, 8.0])
@pytest.mark.parametrize("rotation", [Rotation.identity(), Rotation.random(random_state=4)])
def test_the_largest_square_plate_leans(thickness, rotation):
    a, e = largest_square(thickness)
    plate = turned(Solid.box((a - 0.01, a - 0.01, thickness)), rotation)
    ups = leaning_directions(plate, BED)
    assert fits_any(plate, ups, BED)
    # The plate's normal rises by the complement of its tilt.
    normal = rotation.apply([0.0, 0.0, 1.0])
    assert np.isclose(ups @ normal, np.cos(e), atol=1e-3).any()
    larger = Solid.box((a + 0.2, a + 0.2, thickness))
    assert not fits_any(larger, leaning_directions(larger, BED), BED)


def test_plates_lean_where_many_tilts_find_a_way():
    # A tenth as many tilts as the brute force lose less than 2 % of the size.
    rng = np.random.default_rng(8)
    elevation, heading = np.meshgrid(np.radians(np.arange(40, 91, 2.5)), np.radians(np.arange(72)))
    elevation, heading = elevation.ravel() + 0.0, 5.0 * heading.ravel()
    flat = np.stack([np.cos(heading), np.sin(heading)], axis=1)
    many = np.column_stack([np.sin(elevation)[:, None] * flat, np.cos(elevation)])
    found = 0
    for _ in range(40):
        size = np.array([*rng.uniform(222, 300, 2), rng.uniform(1, 8)])
        plate, smaller = Solid.box(size), Solid.box(0.98 * size)
        if fits_any(plate, many, BED):
            assert fits_any(smaller, leaning_directions(smaller, BED), BED)
            found += 1
    assert found > 5


def test_a_disc_is_measured_by_itself_not_by_its_box():
    # Of a disc every heading is as long; 254 mm, it leans as the strip across it does.
    disc = Solid.cylinder((0, 0, 0), (0, 0, 2), 127.0, 90)
    assert not fits_any(disc, print_directions(disc), BED)
    assert fits_any(disc, leaning_directions(disc, BED), BED)
