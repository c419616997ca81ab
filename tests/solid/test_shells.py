"""Shells: touching, overlapping and nested bodies with volumes known in closed form."""

import numpy as np
import pytest

from splitplanner.errors import OpenSolidError
from splitplanner.findings import Severity
from splitplanner.solid import heal
from tests.solid.soups import (
    apart,
    assert_closed,
    box,
    cells,
    found,
    inside_out,
    kinds,
    sphere,
    together,
)


@pytest.mark.parametrize(
    ("shift", "bodies"),
    [((10, 10, 0), 2), ((10, 10, 10), 2), ((10, 0, 0), 1), ((10, 3, 4), 1), ((30, 0, 0), 2)],
    ids=["edge", "corner", "face", "part of a face", "apart"],
)
@pytest.mark.parametrize("labelled", [True, False])
def test_two_cubes_that_touch(shift, bodies, labelled):
    both = together(box(), box(centre=shift))
    healed = heal(*both, bodies=np.repeat([0, 1], 8)) if labelled else heal(*apart(both))
    assert_closed(healed.solid)
    assert healed.solid.volume == pytest.approx(2000)
    assert len(healed.solid.bodies()) == bodies
    assert kinds(healed) <= {"healing.nonmanifold", "healing.overlap", "healing.partition"}
    if bodies == 1:
        assert found(healed, "healing.overlap").measured == 0.0


def test_the_edge_where_two_cubes_touch_is_named():
    healed = heal(*apart(together(box(), box(centre=(10, 10, 0)))))
    finding = found(healed, "healing.nonmanifold")
    assert finding.measured == 1
    np.testing.assert_allclose(finding.where, [[5, 5, 0]])


def test_cubes_with_the_same_triangles_on_the_shared_face():
    left = box()
    # The mirror image across x = 5 has the very same triangles there.
    right = inside_out((left[0] * [-1, 1, 1] + [10, 0, 0], left[1]))
    healed = heal(*apart(together(left, right)))
    assert_closed(healed.solid)
    assert healed.solid.volume == pytest.approx(2000)
    assert healed.solid.area == pytest.approx(1000)
    finding = found(healed, "healing.partition")
    assert finding.measured == 2
    np.testing.assert_allclose(finding.where[:, 0], 5)


def test_a_surface_that_touches_itself_along_part_of_an_edge():
    # Two full layers of four unit cells, joined by two cells that stand edge to edge.
    layers = [(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 2)]
    healed = heal(*cells([*layers, (0, 0, 1), (1, 1, 1)]))
    assert_closed(healed.solid)
    assert healed.solid.volume == pytest.approx(10, rel=1e-9)
    assert len(healed.solid.bodies()) == 1


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("share", [0.3, 0.5, 0.7])
def test_random_cells_have_their_count_as_volume(seed, share):
    filled = np.argwhere(np.random.default_rng(seed).random((5, 5, 5)) < share)
    mesh = cells(filled)
    shaken = np.random.default_rng(seed).permutation(len(mesh[1]))
    healed = heal(*apart((mesh[0], mesh[1][shaken])))
    assert_closed(healed.solid)
    assert healed.solid.volume == pytest.approx(len(filled), rel=1e-9)


@pytest.mark.parametrize(("shift", "volume"), [((5, 5, 5), 1875.0), ((9, 0, 0), 1900.0)])
def test_overlapping_boxes_are_united(shift, volume):
    # 2 * 1000 less the shared box: 5 * 5 * 5, or 1 * 10 * 10.
    healed = heal(*together(box(), box(centre=shift)))
    assert_closed(healed.solid)
    assert healed.solid.volume == pytest.approx(volume)
    finding = found(healed, "healing.overlap")
    assert finding.measured == pytest.approx(2000 - volume)
    np.testing.assert_allclose(finding.where, [np.array(shift) / 2])


def test_overlapping_spheres():
    # Two spheres at distance d: the lens has pi (4 r + d) (2 r - d)^2 / 12 (Weisstein, MathWorld,
    # "Sphere-Sphere Intersection").
    radius, distance = 10.0, 12.0
    lens = np.pi * (4 * radius + distance) * (2 * radius - distance) ** 2 / 12
    healed = heal(*together(sphere(radius), sphere(radius, (distance, 0, 0))))
    exact = 2 * 4 / 3 * np.pi * radius**3 - lens
    assert healed.solid.volume == pytest.approx(exact, rel=5e-3)
    assert found(healed, "healing.overlap").measured == pytest.approx(lens, rel=2e-2)


def test_a_void_is_kept():
    healed = heal(*together(box(), inside_out(box((4, 4, 4)))))
    assert healed.solid.volume == pytest.approx(936)
    assert kinds(healed) == {"healing.void"}
    finding = found(healed, "healing.void")
    assert finding.measured == pytest.approx(64)
    assert finding.severity is Severity.NOTE


def test_voids_in_overlapping_bodies_are_kept():
    void = inside_out(box((2, 2, 2), (-3, -3, -3)))
    healed = heal(*together(box(), void, box(centre=(5, 5, 5))))
    assert healed.solid.volume == pytest.approx(1875 - 8)


def test_a_body_that_crosses_a_void_fills_what_it_covers():
    void = inside_out(box((4, 4, 4)))
    bar = box((30, 2, 2))
    healed = heal(*together(box(), void, bar))
    # 1000 - 64, the bar's 4 * 2 * 2 in the void, and its two ends of 10 * 2 * 2.
    assert healed.solid.volume == pytest.approx(936 + 16 + 80)


def test_a_loose_body_in_a_void_stays():
    healed = heal(*together(box(), inside_out(box((6, 6, 6))), box((2, 2, 2))))
    assert healed.solid.volume == pytest.approx(1000 - 216 + 8)
    assert len(healed.solid.bodies()) == 2


def test_a_whole_file_inside_out_keeps_its_void():
    healed = heal(*inside_out(together(box(), inside_out(box((4, 4, 4))))))
    assert healed.solid.volume == pytest.approx(936)
    assert {"healing.orientation", "healing.void"} == kinds(healed)


def test_an_outward_shell_inside_another_vanishes_with_a_warning():
    healed = heal(*together(box(), box((4, 4, 4), (1, 0, 0))))
    assert healed.solid.volume == pytest.approx(1000)
    finding = found(healed, "healing.swallowed")
    assert finding.severity is Severity.WARNING
    assert finding.measured == pytest.approx(64)
    np.testing.assert_allclose(finding.where, [[1, 0, 0]])


def test_a_flat_closed_surface_is_refused():
    vertices = np.array([[0, 0, 0], [9, 0, 0], [9, 9, 0], [0, 9, 0.0]])
    faces = np.array([[0, 1, 2], [0, 2, 3], [0, 3, 1], [1, 3, 2]])
    with pytest.raises(OpenSolidError, match="thickness"):
        heal(vertices, faces)
