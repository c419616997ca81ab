import numpy as np
import pytest
import trimesh

from splitplanner.solid import Plane, Solid


def _ell():
    return Solid.box((60, 40, 20)).union(Solid.box((20, 40, 80)))


def _both_ways():
    """A step that looks up and one that looks down, at the same height."""
    return _ell().union(Solid.box((40, 40, 30), (-40, 0, 20)))


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(
    ("make", "below", "above"),
    [
        # Volume and surface of each side: boxes 60 x 40 x 20, 20 x 40 x 60, and for the second an
        # extra 40 x 40 x 30 that shares a 40 x 30 side with the upright.
        (_ell, (48000, 8800), (48000, 8800)),
        (_both_ways, (48000, 8800), (96000, 8800 + 8000 - 2 * 1200)),
    ],
)
def test_no_sheet_is_left_where_faces_lie_in_the_plane(make, below, above, seed):
    rng = np.random.default_rng(seed)
    matrix = trimesh.transformations.random_rotation_matrix(rng.random(3)) if seed else np.eye(4)
    matrix[:3, 3] = rng.normal(size=3) * 50 * bool(seed)
    solid = make().transformed(matrix)
    plane = Plane.through(matrix[:3] @ [0, 0, 20, 1], matrix[:3, 2])
    for cut, wanted in ((plane, (below, above)), (plane.flipped(), (above, below))):
        for side, (volume, area) in zip(solid.split(cut), wanted, strict=True):
            assert side is not None
            assert side.volume == pytest.approx(volume, rel=1e-9)
            assert side.area == pytest.approx(area, rel=1e-9)
            assert len(side.bodies()) == 1
    upper = solid.split(plane)[1]
    assert upper is not None
    assert plane.height(upper.vertices).min() == pytest.approx(0, abs=1e-12 * 200)


def test_a_void_whose_floor_lies_in_the_plane_stays_a_void():
    hollow = Solid.box((10, 10, 10)).difference(Solid.box((4, 4, 4), (3, 3, 3)))
    below, above = hollow.split(Plane((0.0, 0.0, 1.0), 3.0))
    assert below is not None
    assert above is not None
    assert (below.volume, above.volume) == pytest.approx((300, 700 - 64))
    assert below.area == pytest.approx(2 * 100 + 4 * 30)
    assert above.area == pytest.approx(2 * 100 - 16 + 4 * 70 + 16 + 4 * 16)
