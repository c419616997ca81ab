"""Layers of solids whose sections are known, and of others beside their sections as polygons."""

import math
from dataclasses import replace
from importlib import import_module

import numpy as np
import pytest
import shapely

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.score._layering_kernels import MOST_IN_TURN, _travel
from splitplanner.score.islands import printed_layers
from splitplanner.score.layering import layering
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

# The package has the function by this name.
room = import_module("splitplanner.score.layering")
UP = (0.0, 0.0, 1.0)
PRINTER = Printer(line_width=0.5, layer_height=0.2, wall_lines=3, top_layers=4, bottom_layers=3)
WALL = 1.5


def ring_area(sides, radius):
    """Area of a regular polygon by the radius to its corners."""
    return sides / 2 * radius**2 * math.sin(2 * math.pi / sides)


def ring_length(sides, radius):
    """Length of its outline."""
    return 2 * sides * radius * math.sin(math.pi / sides)


def cone(sides, radius, height):
    angles = 2 * np.pi * np.arange(sides) / sides
    base = np.column_stack([radius * np.cos(angles), radius * np.sin(angles), 0 * angles])
    return Solid.hull_of(np.vstack([base, [0.0, 0.0, height]]))


# -- closed forms -----------------------------------------------------------------------------
def test_a_box():
    found = layering(Solid.box((40, 30, 20), (5, -3, 7)), UP, PRINTER)
    inner = (40 - 2 * WALL) * (30 - 2 * WALL)
    assert (found.layers, found.looked_at, found.thickness) == (100, 100, pytest.approx(0.2))
    assert found.heights == pytest.approx(0.1 + 0.2 * np.arange(100))
    assert found.areas == pytest.approx(1200)
    assert found.perimeters == pytest.approx(140)
    assert found.volume == pytest.approx(24_000)
    assert found.outer_walls == pytest.approx(1200 - 39 * 29)
    assert found.walls == pytest.approx(1200 - inner)
    # Three layers at the bottom and four at the top are solid, each whole.
    solid = np.zeros(100)
    solid[:3] = solid[-4:] = inner
    assert found.solid == pytest.approx(solid)
    assert found.filling == pytest.approx(inner - solid)
    ends = np.zeros(100)
    ends[-1] = 1200
    assert found.open_above == pytest.approx(ends)
    assert found.open_below == pytest.approx(ends[::-1])
    assert (found.islands == 1).all()
    assert (found.travels == 0).all()
    assert found.crossings == 0


def test_a_tube_of_two_lines_is_all_wall():
    outer = Solid.cylinder((0, 0, 0), (0, 0, 60), 50, 96)
    tube = outer.difference(Solid.cylinder((0, 0, -1), (0, 0, 61), 49, 96))
    printer = Printer(line_width=0.5, layer_height=0.3, wall_lines=2)
    found = layering(tube, UP, printer)
    # Bars are drawn round their circle; the radius is that to the sides.
    corner = 1 / math.cos(math.pi / 96)
    area = ring_area(96, 50 * corner) - ring_area(96, 49 * corner)
    length = ring_length(96, 50 * corner) + ring_length(96, 49 * corner)
    assert found.layers == 200
    assert found.areas == pytest.approx(area)
    assert found.perimeters == pytest.approx(length)
    # Half of 1 mm is nearer than one line to either outline.
    assert found.outer_walls == pytest.approx(area, rel=1e-3)
    assert found.walls == pytest.approx(area)
    assert found.solid == pytest.approx(0, abs=1e-6)
    assert (found.islands == 1).all()


def test_a_cone_tapers_by_the_square_of_the_height():
    found = layering(cone(64, 30.0, 40.0), UP, PRINTER)
    share = 1 - found.heights / 40.0
    assert found.areas == pytest.approx(ring_area(64, 30) * share**2)
    assert found.perimeters == pytest.approx(ring_length(64, 30) * share)
    # The middle of each layer is of second order: 1 - 1 / (2 layers)² of the volume is off.
    assert found.volume == pytest.approx(ring_area(64, 30) * 40 / 3, rel=1e-4)
    assert found.open_above[:-1] == pytest.approx(-np.diff(found.areas))
    assert found.open_below[1:] == pytest.approx(0)
    # Within a regular polygon, parallel lines leave one with the radius to its sides less the wall.
    middle = math.cos(math.pi / 64)
    left = np.maximum(30 * share * middle - WALL, 0) / middle
    assert found.walls == pytest.approx(found.areas - ring_area(64, left), rel=0.01, abs=0.5)


def test_a_slope_is_solid_beside_the_wall():
    # It rises 0.2 mm over 1 mm: four layers run 4 mm, of which the wall takes 1.5 mm.
    wedge = Solid.hull_of([(x, y, z) for y in (0, 300) for x, z in ((0, 0), (60, 0), (0, 12))])
    found = layering(wedge, UP, PRINTER)
    strip = (4.0 - WALL) * 300
    assert found.solid[10:50] == pytest.approx(strip)
    # Walls cross the ends of the strip.
    assert found.solid[10:50] == pytest.approx((4.0 - WALL) * (300 - 2 * WALL), rel=0.02)
    steep = layering(wedge, (1.0, 0.0, 0.0), PRINTER)
    # The other way up the slope runs 0.04 mm in a layer, which is all wall.
    assert steep.solid[10:250] == pytest.approx(0)


def test_the_last_layer_is_no_half_one():
    found = layering(Solid.box((10, 10, 1.05)), UP, PRINTER)
    assert (found.layers, found.thickness) == (6, pytest.approx(0.175))
    assert found.volume == pytest.approx(105)
    # With three and four solid layers there is nothing else.
    assert found.filling == pytest.approx(0)


def test_a_print_of_one_layer():
    found = layering(Solid.box((10, 10, 0.15)), UP, PRINTER)
    assert (found.layers, found.thickness) == (1, pytest.approx(0.15))
    assert (found.areas, found.perimeters, found.islands) == pytest.approx((100, 40, 1))
    assert found.walls + found.solid == pytest.approx(100)
    assert (found.open_above, found.open_below) == pytest.approx((100, 100))


def test_corners_in_a_level_count_as_above_it():
    # The middle of the second layer is at 0.375 mm, right at the step.
    low, high = Solid.box((20, 20, 0.375)), Solid.box((10, 20, 2.5))
    found = layering(low.union(high), UP, replace(PRINTER, layer_height=0.25))
    assert found.areas == pytest.approx([400, 400] + 8 * [200])
    assert found.open_above == pytest.approx([0, 200] + 7 * [0] + [200])


@pytest.mark.parametrize("up", [UP, (0.0, 0.0, -3.0), (0.3, -0.5, 0.8), (1.0, 0.0, 0.0)])
def test_what_one_layer_has_more_than_the_last_is_open_below(up):
    # Divergence theorem between two layers; the one part has overhangs, tips and flats.
    part = DEMO_PARTS["garden_heron"].make(triangles=5000)
    found = layering(part, up, Printer(layer_height=1.5))
    gained = found.open_below[1:] - found.open_above[:-1]
    assert gained == pytest.approx(np.diff(found.areas), abs=1e-6 * found.areas.max())
    assert found.volume == pytest.approx(part.volume, rel=0.01)


# -- islands ----------------------------------------------------------------------------------
def test_islands_holes_and_travels():
    # A tower, a tube with a pin in it 50 mm to its right, and a thread too thin to print.
    tower = Solid.box((10, 10, 40))
    tube = Solid.cylinder((55, 5, 0), (55, 5, 20), 10, 48)
    tube = tube.difference(Solid.cylinder((55, 5, -1), (55, 5, 21), 8, 48))
    pin = Solid.cylinder((55, 5, 0), (55, 5, 30), 3, 48)
    thread = Solid.box((0.1, 0.1, 40), (100, 0, 0))
    found = layering(tower.union(tube, pin, thread), UP, PRINTER)
    below = found.heights < 20
    pins = (found.heights > 20) & (found.heights < 30)
    assert (found.islands[below] == 3).all()
    assert (found.islands[pins] == 2).all()
    assert (found.islands[found.heights > 30] == 1).all()
    assert found.travels[found.heights < 30] == pytest.approx(50)
    assert found.travels[found.heights > 30] == pytest.approx(0)
    assert found.crossings == 100 * 2 + 50


def test_the_way_through_many_islands_is_like_that_through_some_fewer():
    rng = np.random.default_rng(4)
    for count in (MOST_IN_TURN + 1, 200, 400):
        places = rng.uniform(0, 100, (count, 2))
        left, at, way = set(range(1, count)), 0, 0.0
        while left:
            after = min(left, key=lambda other: np.linalg.norm(places[other] - places[at]))
            way += float(np.linalg.norm(places[after] - places[at]))
            left.remove(after)
            at = after
        assert _travel(places, count) == pytest.approx(way, rel=0.2)


# -- beside sections as polygons --------------------------------------------------------------
def by_polygons(part, up, printer, heights):
    """Area of walls and of solid layers, by shapely, from all sections."""
    low = float((part.vertices @ np.array(up)).min())
    sections = part.sections(Plane.through((0, 0, 0), up), low + heights)
    shapes = [section.shape for section in sections]
    inner = shapely.buffer(shapes, -printer.wall_lines * printer.line_width, join_style="mitre")
    nothing = shapely.MultiPolygon()

    def layer(number):
        return shapes[number] if 0 <= number < len(shapes) else nothing

    solid = []
    for number, within in enumerate(inner):
        covered = [layer(number + k) for k in range(1, printer.top_layers + 1)]
        carried = [layer(number - k) for k in range(1, printer.bottom_layers + 1)]
        solid.append(within.area - shapely.intersection_all([within, *covered, *carried]).area)
    return shapely.area(shapes), shapely.length(shapes), shapely.area(inner), np.array(solid)


@pytest.mark.parametrize("name", ["rain_hood", "l_bracket", "garden_heron", "cargo_lid"])
def test_demo_parts_beside_their_sections(name):
    part = DEMO_PARTS[name].make(triangles=5000)
    up, printer = (
        (0.0, 0.6, 0.8),
        Printer(layer_height=0.6, wall_lines=2, top_layers=2, bottom_layers=2),
    )
    found = layering(part, up, printer)
    areas, lengths, inner, solid = by_polygons(part, up, printer, found.heights)
    assert found.areas == pytest.approx(areas, abs=1e-6 * areas.max())
    assert found.perimeters == pytest.approx(lengths, rel=1e-6, abs=1e-6)
    layers, polygons = printed_layers(part, up, 0.6, printer.line_width, 10_000)
    assert layers == found.layers
    counted = np.array([len(each) for _, each in polygons])
    # A polygon counts by its area without holes, here with them.
    assert (counted != found.islands).mean() < 0.01
    assert found.walls.sum() == pytest.approx((areas - inner).sum(), rel=0.01)
    # Along flat steps the walls are counted twice.
    assert 0.98 * solid.sum() < found.solid.sum() < 1.3 * solid.sum() + 1e-3 * areas.sum()
    laid = (found.walls + found.solid + 0.2 * found.filling).sum()
    assert laid == pytest.approx((areas - inner + solid + 0.2 * (inner - solid)).sum(), rel=0.015)


def test_outlines_that_cross_themselves_by_a_rounding_count_whole():
    square = np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])
    hole = np.array([[2, 2], [2, 8], [8, 8], [8 + 1e-6, 4.9], [8 + 1e-6, 5.1], [8, 2]])
    assert not shapely.Polygon(hole).is_valid
    shape = room._shape([square, hole], 64.0)
    assert shape.is_valid
    assert shape.area == pytest.approx(64, abs=1e-3)
    # Where it cannot be told what is inside, the layer is left to its neighbours.
    assert room._shape([square, hole], 90.0) is None


def test_walls_of_layers_that_cannot_be_told_are_as_wide_as_their_outlines(monkeypatch):
    monkeypatch.setattr(room, "_shape", lambda rings, area: None)
    found = layering(Solid.box((40, 30, 20)), UP, PRINTER)
    assert found.outer_walls == pytest.approx(140 * 0.5)
    assert found.walls == pytest.approx(140 * WALL)


def test_edges_that_meet_right_in_a_level_make_one_point():
    # A double pyramid that is cut at its belt, of 40 corners that each have four edges there.
    angles = 2 * np.pi * np.arange(40) / 40
    belt = np.column_stack([30 * np.cos(angles), 30 * np.sin(angles), 0 * angles + 0.375])
    part = Solid.hull_of(np.vstack([belt, [0, 0, 0], [0, 0, 0.75]]))
    for up in (UP, (0, 0, -1.0)):
        found = layering(part, up, Printer(layer_height=0.25))
        assert found.areas[1] == pytest.approx(ring_area(40, 30))
        middle = math.cos(math.pi / 40)
        left = ring_area(40, 30 - 3 * 0.45 / middle)
        assert found.walls[1] == pytest.approx(ring_area(40, 30) - left)


def test_of_too_many_layers_fewer_are_followed(monkeypatch):
    tall = cone(64, 30.0, 40.0)
    block = Solid.box((80, 80, 10), (-40, -40, -10))
    part = tall.union(block)
    printer = Printer(layer_height=0.05)
    exact = layering(part, UP, printer)
    monkeypatch.setattr(room, "MOST_CROSSINGS", 20_000)
    found = layering(part, UP, printer)
    assert (exact.looked_at, found.layers) == (1000, 1000)
    assert 100 < found.looked_at < 400
    assert found.areas[250:] == pytest.approx(exact.areas[250:], rel=1e-3, abs=3)
    assert found.volume == pytest.approx(exact.volume, rel=0.01)
    assert found.walls.sum() == pytest.approx(exact.walls.sum(), rel=0.02)
    for name in ("open_above", "open_below"):
        # What is open at the step may come to lie a few layers off, but nothing is lost.
        assert getattr(found, name).sum() == pytest.approx(getattr(exact, name).sum())
    # The tip is less than a dot.
    assert (found.islands[:970] == 1).all()


def test_arrays_cannot_be_changed():
    found = layering(Solid.box((10, 10, 2)), UP, PRINTER)
    for values in (found.areas, found.islands, found.solid, found.open_below):
        with pytest.raises(ValueError, match="read-only"):
            values[0] = 1
    with pytest.raises(ValueError, match="needs a length"):
        layering(Solid.box((10, 10, 2)), (0, 0, 0), PRINTER)
