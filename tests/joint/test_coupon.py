"""The fit coupon. Expected values: closed forms, for sections and volume, and the bed it is for."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import Point

from splitplanner.errors import WorkshopError
from splitplanner.findings import Severity
from splitplanner.joint.coupon import CHAMFER, SLOT_RUN, STEPS, coupon
from splitplanner.score import bed_fit, overhang
from splitplanner.solid import Plane
from splitplanner.solid.lettering import lettering
from splitplanner.workshop import Bed, Insert, Printer

INSERT = Insert("example", "M3", 4.0, 5.7, 4.6, 1.6, "example")
UP = (0.0, 0.0, 1.0)


@pytest.fixture(scope="module")
def printed():
    return coupon(Printer(), [6.0, 3.0], [INSERT])


def circle(diameter):
    """Return the area of the 48 sides drawn round a circle."""
    return 48 * math.tan(math.pi / 48) * diameter**2 / 4


def holes_at(found, z):
    """Return the holes of the plate in its section at a height, by row and index."""
    (plate,) = found.solid.section(Plane(UP, z)).polygons
    holes = [shapely.polygons(ring) for ring in plate.interiors]
    located = {}
    for number, row in enumerate(found.rows):
        for index, centre in enumerate(row.centres):
            (hole,) = [hole for hole in holes if hole.contains(Point(centre))]
            located[number, index] = hole
    assert len(located) == len(holes)
    return plate, located


def test_its_rows(printed):
    assert [row.label for row in printed.rows] == ["D3", "D6", "S3", "S6", "I4"]
    assert printed.findings == ()
    for number, row in enumerate(printed.rows):
        # Default allowance 0.2, three tenths each way.
        assert row.allowances == (-0.1, 0.0, 0.1, 0.2, 0.3, 0.4, 0.5)
        for index, allowance in enumerate(row.allowances):
            assert printed.allowance_of(number, index) == allowance
    # The rows follow each other downwards, the holes of a row from left to right.
    heights = [row.centres[0][1] for row in printed.rows]
    assert heights == sorted(heights, reverse=True)
    for row in printed.rows:
        assert np.ptp([y for _, y in row.centres]) == 0
        assert (np.diff([x for x, _ in row.centres]) > 0).all()


def test_every_hole_has_the_diameter_that_its_number_tells(printed):
    _, holes = holes_at(printed, printed.thickness / 2)
    for (number, index), hole in holes.items():
        row = printed.rows[number]
        drawn = row.nominal + row.allowances[index]
        run = SLOT_RUN if row.kind == "slot" else 0.0
        assert hole.area == pytest.approx(circle(drawn) + run * drawn, rel=1e-7)
        west, south, east, north = hole.bounds
        # A circle's own sides touch it above and below.
        assert north - south == pytest.approx(drawn, rel=1e-7)
        assert east - west == pytest.approx(drawn + run, rel=3e-3)
        assert (hole.centroid.x, hole.centroid.y) == pytest.approx(row.centres[index])


def test_holes_widen_at_both_mouths(printed):
    for z in (1e-4, printed.thickness - 1e-4):
        _, holes = holes_at(printed, z)
        for (number, index), hole in holes.items():
            row = printed.rows[number]
            wide = row.nominal + row.allowances[index] + 2 * CHAMFER
            run = SLOT_RUN if row.kind == "slot" else 0.0
            assert hole.area == pytest.approx(circle(wide) + run * wide, rel=1e-3)


def test_a_wall_of_two_lines_and_more_stands_round_every_hole(printed):
    line = Printer().line_width
    for z in (1e-4, printed.thickness / 2, printed.thickness - 1e-4):
        plate, holes = holes_at(printed, z)
        shapes = list(holes.values())
        for at, hole in enumerate(shapes):
            assert hole.distance(plate.exterior) >= 2 * line
            assert all(hole.distance(other) >= 2 * line for other in shapes[:at])
    # Round an insert as much as its data sheet asks, from its own outside.
    _, holes = holes_at(printed, printed.thickness / 2)
    inserts = [hole for (number, _), hole in holes.items() if number == 4]
    for hole, other in pairwise(inserts):
        assert hole.distance(other) >= 2 * (0.3 + 1.6)


def test_its_numbers_stand_out_and_read_what_was_added(printed):
    printer = Printer()
    level = printed.solid.section(Plane(UP, printed.thickness + 0.3))
    text = level.shape
    # Three layers high.
    assert printed.solid.bounds[1, 2] == pytest.approx(printed.thickness + 0.6)
    _, holes = holes_at(printed, printed.thickness - 1e-4)
    for (number, index), hole in holes.items():
        row = printed.rows[number]
        wanted = lettering(f"{round(row.allowances[index] * 100)}", 4.05, 4.05 / 8)
        west, south, east, _ = hole.bounds
        middle = (west + east) / 2
        half = wanted.bounds[2] / 2
        below = shapely.box(middle - half - 0.01, south - 4.05 - 3, middle + half + 0.01, south)
        found = text.intersection(below)
        low = found.bounds[1]
        placed = affinity.translate(wanted, middle - half, low)
        assert found.symmetric_difference(placed).area < 5e-3 * wanted.area
        # Clear of the hole.
        assert text.distance(hole) >= 2 * printer.line_width - 1e-6
    names = [lettering(row.label, 4.05, 4.05 / 8).area for row in printed.rows]
    numbers = [
        lettering(f"{round(allowance * 100)}", 4.05, 4.05 / 8).area
        for row in printed.rows
        for allowance in row.allowances
    ]
    title = lettering("1/100 MM", 4.05, 4.05 / 8).area
    assert level.area == pytest.approx(sum(names) + sum(numbers) + title, rel=1e-6)


def test_its_volume_is_that_of_plate_holes_and_numbers(printed):
    thick = printed.thickness
    x, y, _ = printed.solid.extents
    wanted = x * y * thick + printed.solid.section(Plane(UP, thick + 0.3)).area * 0.6
    for row in printed.rows:
        run = SLOT_RUN if row.kind == "slot" else 0.0
        for allowance in row.allowances:
            hole = row.nominal + allowance
            wide = hole + 2 * CHAMFER
            # A frustum by its two faces and the one half way (Simpson's rule is exact for it).
            middle = (hole + wide) / 2
            faces = [circle(d) + run * d for d in (hole, middle, wide)]
            mouth = CHAMFER * (faces[0] + 4 * faces[1] + faces[2]) / 6
            wanted -= faces[0] * (thick - 2 * CHAMFER) + 2 * mouth
    # The lower chamfer is a hair higher than wide.
    assert printed.solid.volume == pytest.approx(wanted, rel=1e-5)
    assert len(printed.solid.bodies()) == 1
    # One handle for each of the 35 holes: 2 - 2 g by Euler.
    solid = printed.solid
    assert len(solid.vertices) - len(solid.faces) // 2 == 2 - 2 * 35


@pytest.mark.parametrize("limit", [30.0, 45.0, 60.0])
def test_it_prints_without_support(limit):
    printer = Printer(overhang_limit=limit)
    found = coupon(printer, [5.0], steps=(0.0, 0.1))
    area = overhang(found.solid, UP, limit, printer.bridge_span).area
    assert area == pytest.approx(0.0, abs=1e-5)


@pytest.mark.parametrize(
    "bed",
    [
        Bed.rectangle(220, 220, 250),
        Bed.rectangle(60, 200, 50, 3.0),
        Bed.rectangle(200, 45, 50),
        Bed.circle(110, 100),
        Bed.of_outline(((0, 0), (150, 0), (0, 150)), 50.0),
    ],
)
def test_it_fits_the_bed(bed):
    found = coupon(Printer(bed=bed), [3.0], slots=True)
    assert found.findings == ()
    assert bed_fit(found.solid, UP, bed).fits
    assert [len(row.centres) for row in found.rows] == [7, 7]
    # Holes stay in order, line by line from the top.
    for row in found.rows:
        keys = [(-y, x) for x, y in row.centres]
        assert keys == sorted(keys)
    assert found.solid.bounds[0] == pytest.approx((0, 0, 0), abs=1e-9)


def test_what_no_bed_holds_is_told():
    printer = Printer(bed=Bed.rectangle(40, 40, 50))
    found = coupon(printer, [3.0, 4.0, 5.0, 6.0])
    (finding,) = found.findings
    assert (finding.kind, finding.severity) == ("coupon.bed_fit", Severity.WARNING)
    assert finding.measured == pytest.approx(bed_fit(found.solid, UP, printer.bed).over)
    assert finding.measured > 0
    low = coupon(Printer(bed=Bed.rectangle(200, 200, 4)), [3.0])
    assert low.findings[0].measured == pytest.approx(low.solid.extents[2] - 4)


def test_it_is_graded_round_what_was_measured_and_the_best_is_kept():
    printer = Printer(hole_allowances=((3.0, 0.1), (5.0, 0.2)))
    found = coupon(printer, [4.0, 10.0], slots=True, steps=(-0.05, 0.0, 0.05))
    # Half way from 0.1 to 0.2, and beyond 5 mm as there.
    assert found.rows[0].allowances == (0.1, 0.15, 0.2)
    assert found.rows[1].allowances == (0.15, 0.2, 0.25)
    better = found.with_best(printer, 0, 2)
    assert better.hole_allowances == ((3.0, 0.1), (4.0, 0.2), (5.0, 0.2))
    assert better.hole_diameter(4.0) == pytest.approx(4.2)
    # Never finer than the number beside it tells.
    odd = coupon(replace(printer, hole_allowances=((3.0, 0.1234),)), [3.0], steps=(0.0,))
    assert odd.rows[0].allowances == (0.12,)
    with pytest.raises(WorkshopError, match="Row S4 has slots"):
        found.with_best(printer, 2, 0)


def test_the_plate_is_as_thick_as_its_widest_pin_in_whole_layers():
    assert coupon(Printer(), [3.0], steps=(0.0,)).thickness == pytest.approx(4.0)
    assert coupon(Printer(layer_height=0.3), [8.0], steps=(0.0,)).thickness == pytest.approx(8.1)
    broad = coupon(Printer(line_width=0.9, layer_height=0.4), [3.0], steps=STEPS)
    assert len(broad.solid.bodies()) == 1
    # 8.1 mm letters: nine lines.
    number = broad.solid.section(Plane(UP, broad.thickness + 0.2))
    assert number.area > 0


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ({"diameters": []}, "at least one diameter or insert"),
        ({"diameters": [3.0], "steps": ()}, "one step"),
        ({"diameters": [0.0]}, "wider than 0 mm, got 0 mm"),
        ({"diameters": [math.nan]}, "wider than 0 mm, got nan mm"),
        ({"diameters": [0.5], "steps": (-0.8,)}, "allowance of -0.6 mm has no width"),
    ],
)
def test_what_cannot_be_graded_is_refused(given, expected):
    with pytest.raises(WorkshopError, match=expected):
        coupon(Printer(), **given)


def test_rows_and_holes_that_are_not_there(printed):
    with pytest.raises(WorkshopError, match="has 5 rows, got row 6"):
        printed.allowance_of(5, 0)
    with pytest.raises(WorkshopError, match="Row D3 has 7 holes, got hole 8"):
        printed.allowance_of(0, 7)
    with pytest.raises(WorkshopError, match="got row 0"):
        printed.allowance_of(-1, 0)
