import numpy as np
import pytest
import shapely

from splitplanner.plan import Cut, divide
from splitplanner.score.seam import TOLERANCE, rim_of, seam_figures
from splitplanner.solid import Plane, Solid, plane_segments, seen_from_outside


def _cut(part, *planes):
    return divide(part, [Cut(Plane.through(point, normal)) for point, normal in planes]).seams


def _tube(outer=20.0, inner=16.0, length=120.0, sides=96):
    return Solid.cylinder((0, 0, 0), (length, 0, 0), outer, sides).difference(
        Solid.cylinder((-5, 0, 0), (length + 5, 0, 0), inner, sides)
    )


def test_box_shows_the_whole_outline_but_for_its_bottom():
    box = Solid.box((100, 40, 30))
    (seam,) = _cut(box, ((37, 0, 0), (1, 0, 0)))
    found = seam_figures(seam, box, seen_from_outside(box, below=True))
    assert found.length == pytest.approx(140)
    assert found.seen_length == pytest.approx(140)
    assert (found.hidden_length, found.inner_length) == pytest.approx((0, 0), abs=1e-9)
    assert found.area == pytest.approx(1200)
    assert found.outlines == 1
    lying = seam_figures(seam, box, seen_from_outside(box))
    assert lying.seen_length == pytest.approx(40 + 2 * 30)
    assert lying.hidden_length == pytest.approx(40)


def test_oblique_cut_of_a_box():
    # At 45 degrees across the height: the outline is 2 (40 + 30 sqrt 2).
    box = Solid.box((100, 40, 30))
    (seam,) = _cut(box, ((50, 0, 15), (1, 0, 1)))
    found = seam_figures(seam, box, np.ones(len(box.faces), dtype=bool))
    assert found.length == pytest.approx(2 * (40 + 30 * np.sqrt(2)))
    assert found.seen_length == pytest.approx(found.length)


def test_tube_shows_its_outside_and_hides_its_bore():
    # Perimeter of a polygon of n sides round a circle: 2 n r tan(pi / n); its area n r^2 tan.
    # Through both open ends the bore sees out by about r / L = 16 / 480 on average, far below 10 %.
    n = 96
    tube = _tube(length=480.0, sides=n)
    (seam,) = _cut(tube, ((55, 0, 0), (1, 0, 0)))
    found = seam_figures(seam, tube, seen_from_outside(tube, below=True))
    t = n * np.tan(np.pi / n)
    assert found.length == pytest.approx(2 * t * 36, rel=1e-6)
    assert found.seen_length == pytest.approx(2 * t * 20, rel=1e-6)
    assert found.hidden_length == pytest.approx(2 * t * 16, rel=1e-6)
    assert found.area == pytest.approx(t * (400 - 256), rel=1e-6)
    assert found.outlines == 2
    assert found.inner_length == pytest.approx(0, abs=1e-9)


def test_split_along_the_axis_gives_two_strips():
    tube = _tube()
    (seam,) = _cut(tube, ((0, 0, 0.3), (0, 0, 1)))
    radial = seam_figures(seam, tube, np.ones(len(tube.faces), dtype=bool))
    assert radial.outlines == 2
    assert radial.seen_length == pytest.approx(radial.length)


def test_lines_where_seams_meet_lie_inside():
    # A box in four by two planes: the first seam comes in two parts that meet in a line of 40; the
    # second in two parts as well, that end on the first.
    box = Solid.box((100, 40, 30))
    seams = _cut(box, ((50, 0, 0), (1, 0, 0)), ((0, 0, 12), (0, 0, 1)))
    everything = np.ones(len(box.faces), dtype=bool)
    figures = [seam_figures(seam, box, everything) for seam in seams]
    assert len(figures) == 4
    for found in figures:
        assert found.inner_length == pytest.approx(40)
        assert found.hidden_length == pytest.approx(40)
        assert found.seen_length == pytest.approx(found.length - 40)
    # On the surface there is the outline of the first cut and the rest of the second's.
    assert sum(found.seen_length for found in figures) == pytest.approx(140 + 2 * 50 * 2 + 2 * 40)


def test_seam_in_the_plane_of_a_face():
    # An L cut level with its step: the seam is the foot of the upright; one side of its outline is
    # the inner corner, which borders the step's face in the plane and the upright's wall.
    ell = Solid.box((60, 40, 20)).union(Solid.box((20, 40, 80)))
    (seam,) = _cut(ell, ((0, 0, 20), (0, 0, 1)))
    found = seam_figures(seam, ell, seen_from_outside(ell))
    assert found.length == pytest.approx(2 * (20 + 40))
    assert found.seen_length == pytest.approx(120)
    assert found.inner_length == pytest.approx(0, abs=1e-9)
    only_step = (ell.face_normals[:, 2] > 0.5) & (np.abs(ell.face_centroids[:, 2] - 20) < 1e-9)
    assert seam_figures(seam, ell, only_step).seen_length == pytest.approx(40, abs=0.05)


def test_a_mask_of_another_part_is_refused():
    box = Solid.box((100, 40, 30))
    (seam,) = _cut(box, ((50, 0, 0), (1, 0, 0)))
    with pytest.raises(ValueError, match="12 faces"):
        seam_figures(seam, box, np.ones(5, dtype=bool))


@pytest.mark.parametrize("at", [0.5, 3.0, 7.77, 59.0])
@pytest.mark.parametrize("sides", [5, 48, 96])
def test_one_of_every_two_triangles_of_a_tube_is_seen(sides, at):
    # Its sides are rectangles in two triangles; at a share f of the length, the diagonal divides
    # each side of the outline as f : 1 - f, and the triangles at the one end have all of one share.
    length = 60.0
    tube = _tube(outer=12.0, inner=9.0, length=length, sides=sides)
    (seam,) = _cut(tube, ((at, 0, 0), (1, 0, 0)))
    corners = tube.vertices[tube.faces]
    flat = np.ptp(corners[:, :, 0], axis=1) < 1e-9
    near = (corners[:, :, 0] < 30.0).sum(axis=1) == 2
    found = seam_figures(seam, tube, near & ~flat)
    perimeter = 2 * sides * np.tan(np.pi / sides) * (12 + 9)
    f = at / length
    assert found.length == pytest.approx(perimeter, rel=1e-6)
    assert found.seen_length == pytest.approx((1 - f) * perimeter, rel=1e-6)


@pytest.mark.parametrize("degrees", [0.5, 20.0, 60.0])
def test_the_sides_of_a_sharp_edge_are_told_apart(degrees):
    # A wedge, one face of it seen: near the edge the other face is nearer than the tolerance.
    slope = np.tan(np.radians(degrees))
    wedge = Solid.box((60, 20, 40)).split(Plane.through((0, 0, 0), (0, -slope, 1)))[0]
    (seam,) = _cut(wedge, ((25, 0, 0), (1, 0, 0)))
    sloping = wedge.face_normals @ [0, -np.sin(np.radians(degrees)), np.cos(np.radians(degrees))]
    figures = seam_figures(seam, wedge, sloping > 1 - 1e-9)
    assert figures.seen_length == pytest.approx(20 / np.cos(np.radians(degrees)), rel=1e-6)
    assert figures.length == pytest.approx(20 * (1 + slope) + figures.seen_length, rel=1e-6)


@pytest.mark.parametrize("longest", [np.inf, 1.0])
def test_outlines_lie_on_the_faces_that_shapely_finds_nearest(longest):
    part = _tube().union(Solid.box((60, 30, 8), (20, -15, -24)))
    seams = _cut(part, ((37, 0, 0), (1, 0, 0.2)), ((60, 3, 0), (0, 1, 0.1)))
    assert len(seams) > 2
    for seam in seams:
        rim = rim_of(seam, part, longest)
        segments, owners = plane_segments(part, seam.plane)
        lines = shapely.linestrings(seam.plane.to_plane(segments.reshape(-1, 3)).reshape(-1, 2, 2))
        middles = shapely.points((rim.starts + rim.ends) / 2)
        gaps = shapely.distance(middles[:, None], lines[None, :])
        nearest = gaps.min(axis=1, keepdims=True)
        places, near = np.nonzero((gaps <= TOLERANCE) & (gaps <= nearest + 1e-6))
        expected = {*zip(places.tolist(), owners[near].tolist(), strict=True)}
        assert {*zip(rim.places.tolist(), rim.faces.tolist(), strict=True)} == expected
        assert len(expected) >= len(rim.starts) / 2
        lengths = np.linalg.norm(rim.ends - rim.starts, axis=1)
        assert lengths.sum() == pytest.approx(seam.section.length)
        assert lengths.max() <= longest + 1e-9
