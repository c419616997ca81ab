"""Beds of every kind, and plain shapes to put on them."""

import numpy as np
import pytest
import shapely
from scipy.spatial.transform import Rotation

from splitplanner.solid import Solid
from splitplanner.workshop import Bed

UP = (0.0, 0.0, 1.0)
BED = Bed.rectangle(220.0, 220.0, 250.0)
L_BED = Bed.of_outline(((0, 0), (300, 0), (300, 100), (100, 100), (100, 300), (0, 300)), 200.0)
PENTAGON = Bed.of_outline(
    tuple((100 * np.cos(a), 100 * np.sin(a)) for a in np.radians(90 + 72 * np.arange(5))), 200.0
)
CORNER = ((190, 190), (220, 190), (220, 220), (190, 220))
CLIPPED_BED = Bed("rectangle", 220.0, 220.0, 250.0, blocked=(CORNER,))
BEDS = {
    "square": BED,
    "oblong": Bed.rectangle(300.0, 180.0, 150.0, 5.0),
    "round": Bed.circle(260.0, 300.0, 4.0),
    "L": L_BED,
    "pentagon": PENTAGON,
    "clip": CLIPPED_BED,
    "round with clip": Bed(
        "circle", 260.0, 260.0, 300.0, blocked=(((120, 240), (140, 240), (130, 262)),)
    ),
}


def box(*size):
    return Solid.box(size).vertices


def prism(plan, height=10.0):
    plan = np.asarray(plan, float)
    return np.vstack([np.column_stack([plan, np.full(len(plan), z)]) for z in (0.0, height)])


def turned(points, yaw):
    return points @ Rotation.from_euler("z", yaw, degrees=True).as_matrix().T


def free_polygon(bed):
    """The bed's plan by shapely alone; a circle as the 4096-gon round it."""
    if bed.kind == "circle":
        radius = bed.width / 2
        angles = 2 * np.pi * np.arange(4096) / 4096
        ring = np.column_stack([np.cos(angles), np.sin(angles)]) * (radius - bed.margin)
        shape = shapely.Polygon(ring / np.cos(np.pi / 4096) + radius)
    elif bed.kind == "rectangle":
        m = bed.margin
        shape = shapely.box(m, m, bed.width - m, bed.depth - m)
    else:
        shape = shapely.Polygon(bed.outline).buffer(-bed.margin)
    for area in bed.blocked:
        shape = shape.difference(shapely.Polygon(area).buffer(bed.margin))
    return shape


def assert_lies_on(points, fit, bed):
    """The pose puts every point over the free plan, between z = 0 and the bed's height."""
    pose = fit.pose(points)
    np.testing.assert_allclose(pose[:3, :3] @ pose[:3, :3].T, np.eye(3), rtol=0, atol=1e-12)
    assert np.linalg.det(pose[:3, :3]) == pytest.approx(1.0, abs=1e-12)
    placed = np.asarray(points) @ pose[:3, :3].T + pose[:3, 3]
    assert placed[:, 2].min() == pytest.approx(0.0, abs=1e-9)
    assert placed[:, 2].max() == pytest.approx(fit.height, abs=1e-9)
    assert placed[:, 2].max() <= bed.height + 2e-6
    hull = shapely.MultiPoint(placed[:, :2]).convex_hull
    assert hull.difference(free_polygon(bed)).area <= 1e-5 * hull.length
