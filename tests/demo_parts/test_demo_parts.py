"""The demonstration parts are what their names say."""

import math

import numpy as np
import pytest
import shapely
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.demo_parts._shapes import Skin
from splitplanner.solid import Plane, Solid

# Named sizes (mm), holes right through the part, and mean wall 2V/A (mm): a thin plate of
# thickness t has area 2A and volume tA; a bar of side t has 2V/A = t/2.
EXPECTED = {
    "rain_hood": ((540, 230, 165), 4, (2.4, 3.0)),
    "dew_shield": ((200, 214, 620), 1 + 6, (3.0, 4.5)),
    "garden_heron": ((380, 160, 700), 1, (15, 30)),
    "l_bracket": ((660, 90, 240), 8 + 1 + 2, (10, 18)),
    "cargo_lid": ((590, 420, 70), 4, (3.0, 4.5)),
}
SIZES = (5_000, 130_000)
_made: dict[tuple[str, int], Solid] = {}


def made(name, triangles):
    key = (name, triangles)
    if key not in _made:
        _made[key] = DEMO_PARTS[name].make(triangles)
    return _made[key]


def test_registry_is_complete():
    assert set(DEMO_PARTS) == set(EXPECTED)
    assert all(part.name == name for name, part in DEMO_PARTS.items())


@pytest.mark.parametrize("triangles", SIZES)
@pytest.mark.parametrize("name", EXPECTED)
def test_part_is_closed_connected_and_of_the_named_size(name, triangles):
    sizes, _, _ = EXPECTED[name]
    solid = made(name, triangles)
    assert np.abs(solid.extents - sizes).max() < 0.01
    assert abs(solid.bounds[0, 2]) < 0.01
    assert 0.75 * triangles <= len(solid.faces) <= 1.25 * triangles
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert mesh.volume == pytest.approx(solid.volume, rel=1e-9)


@pytest.mark.parametrize("triangles", SIZES)
@pytest.mark.parametrize("name", EXPECTED)
def test_holes_and_mean_wall_are_those_of_the_drawing(name, triangles):
    _, holes, (thin, thick) = EXPECTED[name]
    solid = made(name, triangles)
    # Euler-Poincaré: V - E + F = 2 (1 - genus) for one closed surface.
    euler = len(solid.vertices) - len(solid.faces) // 2
    assert (2 - euler) / 2 == holes
    assert thin < 2 * solid.volume / solid.area < thick


@pytest.mark.parametrize("name", EXPECTED)
def test_same_number_gives_the_same_mesh(name):
    again = DEMO_PARTS[name].make(5_000)
    assert again.fingerprint == made(name, 5_000).fingerprint


def walls_across(solid, x, z):
    """Return the lengths of material met along y at station x and height z, mm."""
    plane = Plane((1.0, 0.0, 0.0), x)
    across = plane.to_plane([[x, -400.0, z], [x, 400.0, z]])
    met = shapely.intersection(solid.section(plane).shape, shapely.LineString(across))
    return sorted(line.length for line in shapely.get_parts(met))


def test_rain_hood_has_its_wall_and_its_rim():
    solid = made("rain_hood", 130_000)
    # Between two frames. The sides lean by atan(11 / 97) = 6.5°, so a cut along y is 0.65 % longer.
    walls = walls_across(solid, -30.0, 60.0)
    assert len(walls) == 2
    assert walls == pytest.approx([2.4, 2.4], rel=0.015)
    assert walls_across(solid, -30.0, 3.5) == pytest.approx([9.0, 9.0], abs=0.01)


def test_dew_shield_has_the_section_of_a_tube():
    section = made("dew_shield", 130_000).section(Plane((0.0, 0.0, 1.0), 400.0))
    assert section.area == pytest.approx(math.pi * (100.0**2 - 97.0**2), rel=1e-3)
    ring = made("dew_shield", 130_000).section(Plane((0.0, 0.0, 1.0), 610.0))
    assert ring.area == pytest.approx(math.pi * (100.0**2 - 92.0**2), rel=1e-3)


def test_bracket_has_the_section_of_its_legs():
    solid = made("l_bracket", 130_000)
    assert solid.section(Plane((1.0, 0.0, 0.0), 390.0)).area == pytest.approx(90 * 16, rel=1e-6)
    upright = solid.section(Plane((0.0, 0.0, 1.0), 195.0))
    # 10 mm beside the hole at z = 205: beyond its 5.5 mm, within its 11 mm seat, 1.5 mm deep.
    seat = 2 * math.sqrt(11.0**2 - 10.0**2) * 1.5
    assert upright.area == pytest.approx(90 * 18 - seat, rel=2e-3)


def test_heron_stands_on_legs_thick_enough_to_print():
    legs = made("garden_heron", 130_000).section(Plane((0.0, 0.0, 1.0), 100.0))
    assert len(legs.polygons) == 2
    for leg in legs.polygons:
        x0, y0, x1, y1 = leg.bounds
        assert min(x1 - x0, y1 - y0) >= 16.0


def test_lid_skin_is_three_millimetres_between_ribs():
    solid = made("cargo_lid", 130_000)
    # Straight down through the skin at (50, 47.5): no rib, no strip; the dome leans by under 2°.
    plane = Plane((1.0, 0.0, 0.0), 50.0)
    down = shapely.LineString(plane.to_plane([[50.0, 47.5, -10.0], [50.0, 47.5, 100.0]]))
    met = shapely.intersection(solid.section(plane).shape, down)
    assert met.length == pytest.approx(3.0, rel=0.01)


@pytest.mark.parametrize("depth", [0.0, 3.0, 8.0])
def test_a_skin_lies_at_even_depth(depth):
    # Steiner's formula: the body within r of a box a x b x c holds
    # abc + 2 (ab + bc + ca) r + pi (a + b + c) r² + 4/3 pi r³.
    a, b, c = 120.0, 60.0, 30.0
    corners = np.stack(np.meshgrid([0, a], [0, b], [0, c]), axis=-1).reshape(-1, 3)
    skin = Skin.around(lambda steps: corners, 10.0, 3.0, 500_000)
    r = 10.0 - depth
    volume = a * b * c + 2 * (a * b + b * c + c * a) * r + math.pi * (a + b + c) * r**2
    volume += 4 / 3 * math.pi * r**3
    assert skin.below(depth).volume() == pytest.approx(volume, rel=2e-3)
    assert skin.inner.volume() == skin.below(3.0).volume()
    assert skin.middle.volume() == skin.below(1.5).volume()
