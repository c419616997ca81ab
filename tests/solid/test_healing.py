"""Healing: bad input with volumes known in closed form."""

from itertools import pairwise

import numpy as np
import pytest
import trimesh

from splitplanner.errors import Cancelled, OpenSolidError, SolidError
from splitplanner.findings import Severity
from splitplanner.solid import heal
from splitplanner.solid.holes import HoleLimits
from tests.solid.soups import (
    apart,
    assert_closed,
    box,
    cells,
    fine_box,
    found,
    inside_out,
    kinds,
    sphere,
    together,
    without,
)


def test_a_sound_mesh_is_kept_as_it_is():
    healed = heal(*box((10, 20, 30)))
    assert healed.findings == ()
    assert healed.solid.volume == pytest.approx(6000, rel=1e-12)
    assert len(healed.solid.faces) == 12


def test_stl_style_corners_are_no_repair():
    healed = heal(*apart(box((10, 20, 30))))
    assert healed.findings == ()
    assert len(healed.solid.vertices) == 8


@pytest.mark.parametrize("jitter", [1e-9, 1e-7, 1e-5, 1e-4, 5e-4])
def test_jittered_corners_are_joined(jitter):
    vertices, faces = apart(sphere(10.0, fineness=3))
    exact = heal(vertices, faces).solid.volume
    shaken = vertices + np.random.default_rng(7).uniform(-jitter, jitter, vertices.shape)
    healed = heal(shaken, faces)
    assert_closed(healed.solid)
    # No corner moves farther than the jitter, so the volume changes by less than area times it.
    assert abs(healed.solid.volume - exact) < 4 * np.pi * 10**2 * jitter
    weld = found(healed, "healing.weld")
    assert 0 < weld.measured <= 4 * jitter
    assert weld.measured <= weld.allowed
    assert np.abs(np.linalg.norm(weld.where, axis=1) - 10).max() < 3 * jitter


def test_shaken_beyond_the_limit_is_refused_with_the_open_edges():
    vertices, faces = apart(sphere(10.0, fineness=3))
    shaken = vertices + np.random.default_rng(7).uniform(-0.3, 0.3, vertices.shape)
    with pytest.raises(OpenSolidError, match="open: 3840 edges") as caught:
        heal(shaken, faces)
    (finding,) = caught.value.findings
    assert finding.kind == "healing.open"
    assert finding.severity is Severity.FAULT
    assert len(finding.where) == 3840


def test_inside_out_is_turned():
    healed = heal(*inside_out(box()))
    assert healed.solid.volume == pytest.approx(1000)
    finding = found(healed, "healing.orientation")
    assert finding.measured == 1
    np.testing.assert_allclose(finding.where, [[0, 0, 0]], atol=1e-12)


def test_single_faces_that_look_inward_are_turned():
    vertices, faces = fine_box(2)
    wrong = np.random.default_rng(5).random(len(faces)) < 0.3
    mixed = np.where(wrong[:, None], faces[:, ::-1], faces)
    healed = heal(vertices, mixed)
    assert healed.solid.volume == pytest.approx(1000)
    finding = found(healed, "healing.orientation")
    assert finding.measured == wrong.sum()
    expected = vertices[faces[wrong]].mean(axis=1)
    np.testing.assert_allclose(np.sort(finding.where, axis=0), np.sort(expected, axis=0))


def test_a_missing_flat_face_is_closed_with_a_warning():
    healed = heal(*without(fine_box(2), lambda at: at[:, 2] > 4.99))
    assert_closed(healed.solid)
    assert healed.solid.volume == pytest.approx(1000)
    finding = found(healed, "healing.hole")
    assert finding.severity is Severity.WARNING
    assert finding.measured == pytest.approx(40)
    np.testing.assert_allclose(finding.where, [[0, 0, 5]], atol=1e-9)


def test_small_holes_are_closed_even_when_they_meet_at_a_corner():
    vertices, faces = fine_box(3)
    top = np.flatnonzero(vertices[faces].mean(axis=1)[:, 2] > 4.99)
    centre = np.flatnonzero((np.abs(vertices - [0, 0, 5]) < 1e-9).all(axis=1))[0]
    fan = [face for face in top if centre in faces[face]]
    first = fan[0]
    second = next(f for f in fan if len(set(faces[f]) & set(faces[first])) == 1)
    healed = heal(vertices, np.delete(faces, [first, second], axis=0))
    assert_closed(healed.solid)
    assert healed.solid.volume == pytest.approx(1000)
    finding = found(healed, "healing.hole")
    assert finding.severity is Severity.NOTE
    assert len(finding.where) == 2


def test_a_hole_on_a_curved_surface_is_closed():
    ball = sphere(10.0)
    healed = heal(*without(ball, lambda at: np.linalg.norm(at - [0, 0, 10], axis=1) < 0.7))
    assert_closed(healed.solid)
    # Lost is the cap over the hole, whose rim lies within 2 mm of the axis:
    # pi h^2 (3 r - h) / 3 with h = 10 - sqrt(100 - 4).
    height = 10 - np.sqrt(96)
    full = heal(*ball).solid.volume
    assert full - np.pi * height**2 * (30 - height) / 3 < healed.solid.volume < full
    assert found(healed, "healing.hole").severity is Severity.NOTE


@pytest.mark.parametrize("mesh", [fine_box(2), sphere(10.0)], ids=["box", "sphere"])
def test_a_missing_half_is_refused(mesh):
    half = without(mesh, lambda at: at[:, 2] > 0)
    with pytest.raises(OpenSolidError, match=r"longest gap, .* near \(.*\) mm") as caught:
        heal(*half)
    (finding,) = caught.value.findings
    # trimesh counts the open edges independently.
    outline = trimesh.Trimesh(*half, process=False)
    edges = outline.edges_sorted[trimesh.grouping.group_rows(outline.edges_sorted, require_count=1)]
    assert len(finding.where) == len(edges)
    ends = half[0][edges]
    length = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1).sum()
    assert finding.measured == pytest.approx(length)
    assert f"{len(edges)} edges" in str(caught.value)


def test_the_hole_limits_can_be_set():
    half = without(fine_box(2), lambda at: at[:, 2] > 0)
    healed = heal(*half, limits=HoleLimits(area=0.5))
    assert healed.solid.volume == pytest.approx(500)
    top_gone = without(fine_box(2), lambda at: at[:, 2] > 4.99)
    with pytest.raises(OpenSolidError):
        heal(*top_gone, limits=HoleLimits(outline=0.01, area=0.01))


def test_faces_written_twice_are_dropped():
    vertices, faces = box()
    healed = heal(vertices, np.vstack([faces, faces[:5], faces[:2]]))
    assert healed.solid.volume == pytest.approx(1000)
    assert found(healed, "healing.duplicate").measured == 7


def test_a_surface_with_both_sides_is_one_surface():
    vertices, faces = box()
    healed = heal(vertices, np.vstack([faces, faces[:, ::-1]]))
    assert healed.solid.volume == pytest.approx(1000)
    assert found(healed, "healing.duplicate").measured == 12


def test_degenerate_faces_are_dropped():
    vertices, faces = box()
    vertices = np.vstack([vertices, (vertices[0] + vertices[1]) / 2])
    healed = heal(vertices, np.vstack([faces, [[0, 0, 1], [3, 3, 3], [0, 8, 1]]]))
    assert_closed(healed.solid)
    assert healed.solid.volume == pytest.approx(1000)
    counts = [f.measured for f in healed.findings if f.kind == "healing.degenerate"]
    assert sum(counts) == 3


@pytest.mark.parametrize("parts", [2, 3, 7])
def test_corners_on_a_neighbours_edge_are_joined(parts):
    vertices, faces = box()
    a, b, c = faces[0]
    steps = np.linspace(0, 1, parts + 1)[1:-1, None]
    fresh = vertices[a] + steps * (vertices[b] - vertices[a])
    row = [a, *range(8, 8 + len(fresh)), b]
    fan = [(here, there, c) for here, there in pairwise(row)]
    healed = heal(*apart((np.vstack([vertices, fresh]), np.vstack([faces[1:], fan]))))
    assert_closed(healed.solid)
    assert healed.solid.volume == pytest.approx(1000)
    finding = found(healed, "healing.junction")
    assert finding.measured == parts - 1


def test_scraps_beside_the_part_are_dropped_with_a_warning():
    scrap = (np.array([[0, 0, 20], [0.1, 0, 20], [0, 0.1, 20.0]]), np.array([[0, 1, 2]]))
    healed = heal(*together(sphere(), scrap))
    finding = found(healed, "healing.stray")
    assert finding.severity is Severity.WARNING
    assert finding.measured == pytest.approx(0.005)
    assert healed.solid.bounds[1, 2] == pytest.approx(10)


def test_a_large_sheet_beside_the_part_is_not_dropped():
    sheet = (np.array([[0, 0, 20], [9, 0, 20], [0, 9, 20.0]]), np.array([[0, 1, 2]]))
    with pytest.raises(OpenSolidError, match="open: 3 edges"):
        heal(*together(sphere(), sheet))


def test_objects_that_make_one_solid_together_are_joined():
    vertices, faces = box()
    halves = together((vertices, faces[:6]), (vertices, faces[6:]))
    healed = heal(*halves, bodies=np.repeat([0, 1], 8))
    assert healed.solid.volume == pytest.approx(1000)


def test_a_closed_one_sided_surface_is_refused():
    # The projective plane with six corners: an icosahedron with opposite corners made one.
    ball = trimesh.creation.icosahedron()
    opposite = np.linalg.norm(ball.vertices[:, None] + ball.vertices, axis=2).argmin(axis=1)
    _, corner = np.unique(np.minimum(np.arange(12), opposite), return_inverse=True)
    faces = np.unique(np.sort(corner[ball.faces], axis=1), axis=0)
    assert len(faces) == 10
    with pytest.raises(OpenSolidError, match="no inside") as caught:
        heal(np.random.default_rng(4).uniform(0, 10, (6, 3)), faces)
    assert len(caught.value.findings[0].where) == 10


def test_a_twisted_band_is_refused():
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    rim = []
    for side in (-2.0, 2.0):
        radius = 10 + side * np.cos(turn / 2)
        rim.append([radius * np.cos(turn), radius * np.sin(turn), side * np.sin(turn / 2)])
    low, high = np.arange(24), np.arange(24) + 24
    next_low, next_high = np.append(low[1:], 24), np.append(high[1:], 0)
    faces = np.vstack(
        [np.column_stack([low, next_low, high]), np.column_stack([high, next_low, next_high])]
    )
    # A Möbius band of 24 squares has a single rim of 48 edges.
    with pytest.raises(OpenSolidError):
        heal(np.swapaxes(rim, 1, 2).reshape(-1, 3), faces)


@pytest.mark.parametrize("factor", [1e-4, 1.0, 1e6])
def test_size_does_not_matter(factor):
    both = together(box(), box(centre=(5, 5, 5)))
    healed = heal(both[0] * factor, both[1])
    assert healed.solid.volume == pytest.approx(1875 * factor**3, rel=1e-9)
    assert kinds(healed) == {"healing.overlap"}


@pytest.mark.parametrize("far", [1e4, 1e6])
def test_far_from_the_origin(far):
    vertices, faces = apart(box((10, 20, 30), (far, -far, far)))
    healed = heal(vertices, faces)
    assert healed.solid.volume == pytest.approx(6000, rel=1e-8)
    np.testing.assert_allclose(healed.solid.extents, [10, 20, 30], rtol=1e-8)


def test_the_answer_is_the_same_every_time():
    mesh = apart(cells(np.argwhere(np.random.default_rng(2).random((4, 4, 4)) < 0.5)))
    assert heal(*mesh).solid.fingerprint == heal(*mesh).solid.fingerprint


@pytest.mark.parametrize(
    ("vertices", "faces", "what"),
    [
        (np.empty((0, 3)), np.empty((0, 3), int), "no triangles"),
        (np.zeros((3, 3)), [[0, 1, 7]], "do not exist"),
        ([[0, 0, 0], [1, 0, 0], [0, np.nan, 0]], [[0, 1, 2]], "not finite"),
    ],
)
def test_what_is_no_mesh_is_refused(vertices, faces, what):
    with pytest.raises(SolidError, match=what):
        heal(vertices, faces)


def test_points_in_one_place_are_refused():
    with pytest.raises(OpenSolidError):
        heal(np.zeros((3, 3)), [[0, 1, 2]])


def test_the_job_can_be_stopped_at_every_stage():
    stages = []
    heal(*apart(box()), lambda done, doing: stages.append((done, doing)))
    shares = [done for done, _ in stages]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    for stop in range(len(stages)):
        calls = iter(range(len(stages)))

        def report(done, doing, stop=stop, calls=calls):
            if next(calls) == stop:
                raise Cancelled("stopped")

        with pytest.raises(Cancelled):
            heal(*apart(box()), report)
