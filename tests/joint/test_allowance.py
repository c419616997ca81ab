"""Pieces as files have them, and seams of pieces that shrink differently, against closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from shapely.geometry import Polygon

from splitplanner.joint import as_in_file, check_allowances, file_allowance, scaled_fit
from splitplanner.joint.allowance.checks import seam_misfit, sizes_of
from splitplanner.joint.allowance.foot import with_foot
from splitplanner.output import printable_mesh
from splitplanner.plan import Cut, Joint, PartFile, Pin, Plan, divide
from splitplanner.score import bed_fit
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Material, Printer

WIDE, HIGH, LINE = 0.3, 0.5, 0.45
FLOOR = Plane((0.0, 0.0, 1.0), 0.0)
ANGLE = Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)])
UNEVEN = Material("petg", 1.27, shrink=(0.5, 0.8, 0.0))


def plate(shape, high=20.0):
    return Solid.prism(shape, FLOOR, 0.0, high)


def taken_off(section):
    """Return the volume between a section and itself moved in, over the chamfer's height."""
    return quad(lambda z: section(z, 0.0) - section(z, WIDE * (1 - z / HIGH)), 0.0, HIGH)[0]


# -- the chamfer at the bed ----------------------------------------------------------------------
# Each section is a closed form of the height and of how far its outline moves in.
SHAPES = {
    "box": (Solid.box((40, 30, 20)), lambda z, d: (40 - 2 * d) * (30 - 2 * d)),
    # A polygon of n sides that touch a circle of r has n r² tan(pi / n).
    "bar": (
        Solid.cylinder((0, 0, 0), (0, 0, 30), 10.0, 200),
        lambda z, d: 200 * np.tan(np.pi / 200) * (10.0 - d) ** 2,
    ),
    "tube": (
        Solid.cylinder((0, 0, 0), (0, 0, 30), 10.0, 96).difference(
            Solid.cylinder((0, 0, -1), (0, 0, 31), 5.0, 96)
        ),
        lambda z, d: 96 * np.tan(np.pi / 96) * ((10.0 - d) ** 2 - (5.0 + d) ** 2),
    ),
    # An inner corner: shapely's own offset, with mitres.
    "angle": (plate(ANGLE), lambda z, d: ANGLE.buffer(-d, join_style="mitre").area),
    # Walls that lean out by 1 in 2, and in by as much.
    "out": (
        Solid.hull_of([(x * s, y * s, z) for x in (-1, 1) for y in (-1, 1)
                       for s, z in ((10, 0), (20, 20))]),
        lambda z, d: (20 + z - 2 * d) ** 2,
    ),
    "in": (
        Solid.hull_of([(x * s, y * s, z) for x in (-1, 1) for y in (-1, 1)
                       for s, z in ((20, 0), (10, 20))]),
        lambda z, d: (40 - z - 2 * d) ** 2,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SHAPES)
def test_a_chamfer_takes_off_what_its_outline_says(name):
    solid, section = SHAPES[name]
    done = with_foot(solid, WIDE, HIGH, LINE)
    assert solid.volume - done.volume == pytest.approx(taken_off(section), rel=1e-6)
    assert len(done.bodies()) == 1
    assert done.bounds[:, 2] == pytest.approx(solid.bounds[:, 2], abs=1e-12)
    at = np.array([0.1, HIGH - 0.01, HIGH + 0.01, 5.0])
    for z, found in zip(at, done.sections(FLOOR, at), strict=True):
        assert found.area == pytest.approx(section(z, max(0.0, WIDE * (1 - z / HIGH))), rel=1e-5)
    assert printable_mesh(done).findings == ()


def test_no_wall_loses_its_last_line_on_the_bed():
    # 0.85 mm leave 0.2 mm on each side of a line of 0.45 mm, and 0.45 mm nothing.
    for thick, wide in ((0.85, 0.2), (0.45, 0.0), (1.2, 0.3)):
        wall = Solid.box((thick, 50, 20))
        lost = wall.volume - with_foot(wall, WIDE, HIGH, LINE).volume
        ends = 0.0 if wide == 0.0 else WIDE
        expected = quad(
            lambda z, t=thick, w=wide, e=ends: (
                t * 50 - (t - 2 * w * (1 - z / HIGH)) * (50 - 2 * e * (1 - z / HIGH))
            ), 0.0, HIGH)[0]  # fmt: skip
        # Ends of a wall take the width of its sides at their corners, less than 0.3 mm.
        assert lost == pytest.approx(expected, rel=0.02, abs=0.12 if wide == 0.0 else 1e-3)


def test_steps_of_rounding_in_the_contact_get_no_chamfer():
    # A flange that was united with its wall: their faces on the bed differ by a rounding.
    for step in (1e-7, 1e-4, 1e-3):
        whole = Solid.box((20, 30, 20)).union(Solid.box((20, 30, 20 - step), (20, 0, step)))
        lost = whole.volume - with_foot(whole, WIDE, HIGH, LINE).volume
        assert lost == pytest.approx(taken_off(SHAPES["box"][1]), rel=0.01)


def test_a_corner_of_two_points_a_hair_apart_leaves_no_film():
    hair = 3e-4
    shape = Polygon(
        [(0, 0), (30, 0), (30, 10), (10 + hair, 10), (10, 10 + hair), (10, 30), (0, 30)]
    )
    done = with_foot(plate(shape), WIDE, HIGH, LINE)
    assert len(done.bodies()) == 1
    assert printable_mesh(done).findings == ()
    lost = plate(shape).volume - done.volume
    assert lost == pytest.approx(taken_off(SHAPES["angle"][1]), rel=1e-3)


def test_a_round_outline_of_many_sides_is_chamfered_by_few_bodies():
    bar = Solid.cylinder((0, 0, 0), (0, 0, 10), 60.0, 3000)
    done = with_foot(bar, WIDE, HIGH, LINE)
    expected = taken_off(lambda z, d: np.pi * (60.0 - d) ** 2)
    assert bar.volume - done.volume == pytest.approx(expected, rel=0.01)
    assert printable_mesh(done).findings == ()


def test_what_needs_no_chamfer_has_none():
    ball = Solid.box((10, 10, 10))
    assert with_foot(ball, 0.0, HIGH, LINE) is ball
    assert with_foot(ball, WIDE, 0.0, LINE) is ball
    # A bar on its round side lies on the bed by a strip that slopes away on both sides.
    lying = Solid.cylinder((0, 0, 10), (50, 0, 10), 10.0, 96)
    lying = lying.transformed(np.hstack([np.eye(3), [[0], [0], [-lying.bounds[0, 2]]]]))
    lost = lying.volume - with_foot(lying, WIDE, HIGH, LINE).volume
    # Its two ends alone, each no more than its height times its width times that of the strip.
    assert 0.0 <= lost < 2 * WIDE * HIGH * 10.0


# -- scale -----------------------------------------------------------------------------------
def test_files_make_up_for_what_prints_shrink():
    material = Material("petg", 1.27, shrink=(0.5, 0.8, 0.2), annealing=(1.0, -0.5, 0.0))
    allowance = file_allowance(Printer(), material)
    assert np.array(allowance.scale) * material.sizes == pytest.approx(np.ones(3), abs=1e-15)
    # By hand: 1 / (0.995 x 0.99), 1 / (0.992 x 1.005), 1 / 0.998.
    assert allowance.scale == pytest.approx((1.015177, 1.003049, 1.002004), abs=1e-6)
    for nothing in (None, Material("petg", 1.27), replace(material, scaled=False)):
        assert file_allowance(Printer(), nothing).is_nothing


@pytest.mark.parametrize("up", [(0, 0, 1), (0, 1, 0), (1, 0, 0), (0.6, 0.0, 0.8)])
def test_a_piece_in_a_file_shrinks_to_what_was_wanted(up):
    piece = Solid.box((100, 60, 40), (300.0, -50.0, 20.0))
    printer = Printer(bed=Bed.parse("220x220x250"))
    allowance = file_allowance(printer, UNEVEN)
    fit = scaled_fit(piece, bed_fit(piece, up, printer.bed), allowance, printer.bed)
    filed = as_in_file(piece, fit.pose(piece), allowance)
    assert filed.volume == pytest.approx(piece.volume / (0.995 * 0.992), rel=1e-9)
    assert filed.bounds[0, 2] == pytest.approx(0.0, abs=1e-9)
    assert filed.bounds[:, :2].mean(axis=0) == pytest.approx([110.0, 110.0], abs=1e-6)
    wanted = piece.transformed(fit.pose(piece))
    assert filed.extents * UNEVEN.sizes == pytest.approx(wanted.extents, abs=1e-9)


def test_the_bed_has_to_hold_the_scaled_piece():
    # 199.5 mm fit a bed of 200 mm, and 199.5 / 0.995 = 200.5 mm do not.
    piece, bed = Solid.box((199.5, 199.5, 40)), Bed.parse("200x200x200")
    fit = bed_fit(piece, (0, 0, 1), bed)
    even = file_allowance(Printer(bed=bed), Material("petg", 1.27, shrink=(0.5, 0.5, 0.5)))
    scaled = scaled_fit(piece, fit, even, bed)
    assert fit.fits
    assert not scaled.fits
    assert scaled.over == pytest.approx(199.5 / 0.995 - 200.0, abs=1e-6)
    # Along x it shrinks by less than is free.
    along = file_allowance(Printer(bed=bed), Material("petg", 1.27, shrink=(0.2, 0.2, 0.5)))
    assert scaled_fit(piece, fit, along, bed).fits


def test_of_two_turns_that_fit_the_one_is_told_that_the_piece_was_scaled_for():
    # Long along y, which grows by a tenth: 180 / 0.9 = 200 fits 201; turned by 90° it would too.
    piece, bed = Solid.box((20, 180, 10)), Bed.parse("181x201x50")
    allowance = file_allowance(Printer(bed=bed), Material("x", 1.0, shrink=(0.0, 10.0, 0.0)))
    fit = scaled_fit(piece, bed_fit(piece, (0, 0, 1), bed), allowance, bed)
    assert fit.fits
    filed = as_in_file(piece, fit.pose(piece), allowance)
    assert (filed.bounds[0] >= -1e-6).all()
    assert (filed.bounds[1, :2] <= (181.0, 201.0)).all()


# -- seams -----------------------------------------------------------------------------------
def halved(ups, material, joints=(), **printer):
    """Return a bar of 400 x 200 x 20 mm cut in the middle of its length, and its plan."""
    part = Solid.box((400, 200, 20))
    cuts = (Cut(Plane((1.0, 0.0, 0.0), 200.0), None),)
    division = divide(part, cuts)
    names = [piece.name for piece in division.pieces]
    machine = Printer(bed=Bed.parse("210x210x210"), **printer)
    plan = Plan(
        PartFile("bar.stl", "mm", part.fingerprint), machine, cuts,
        dict(zip(names, ups, strict=True)), joints, material=material,
    )  # fmt: skip
    fits = {
        piece.name: bed_fit(piece.solid, plan.up(piece.name), machine.bed)
        for piece in division.pieces
    }
    return division, plan, fits


def found_in(ups, material, joints=(), **printer):
    division, plan, fits = halved(ups, material, joints, **printer)
    found = check_allowances(division, plan, division.pieces, fits)
    return {finding.kind: finding for finding in found}


FLAT, UPRIGHT = (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)
LYING = Material("asa", 1.07, shrink=(0.5, 0.5, 0.8), scaled=False)


def test_two_bars_that_print_in_different_directions_leave_a_step():
    # The seam is 200 mm along y: 0.5 % of it goes where y is in the layers, 0.8 % where it is up.
    # Held in the middle, each end is off by half of 0.3 % of 200 mm; across, by 0.3 % of 10 mm.
    found = found_in((FLAT, UPRIGHT), LYING)
    step = found["allowance.step"]
    assert step.measured == pytest.approx(np.hypot(0.3, 0.03), abs=1e-9)
    assert step.subject == "S1"
    assert np.abs(step.where[0] - (200.0, 100.0, 10.0)) == pytest.approx([0, 100, 10], abs=1e-9)
    # The part is 400 mm long, along the layers of both: 0.5 % of that.
    assert found["allowance.size"].measured == pytest.approx(2.0, abs=1e-6)


def test_no_step_where_both_shrink_alike_or_files_make_up_for_it_or_nothing_is_known():
    for ups, material in (
        ((FLAT, FLAT), LYING),
        ((FLAT, UPRIGHT), replace(LYING, shrink=(0.6, 0.6, 0.6))),
        ((FLAT, UPRIGHT), replace(LYING, scaled=True)),
    ):
        assert "allowance.step" not in found_in(ups, material), (ups, material)
    for unknown in (None, Material("asa", 1.07), replace(LYING, shrink=(0.0, 0.0, 0.0))):
        assert found_in((FLAT, UPRIGHT), unknown) == {}


def test_what_is_left_after_files_made_up_for_it_is_rounding():
    division, plan, fits = halved((FLAT, UPRIGHT), replace(LYING, scaled=True))
    allowance = file_allowance(plan.printer, plan.material)
    one, other = (sizes_of(fits[p.name], plan.material, allowance) for p in division.pieces)
    misfit = seam_misfit(division.seams[0], Joint("S1"), one, other)
    assert misfit.step == pytest.approx(0.0, abs=1e-12)


def test_a_step_is_the_difference_of_points_that_were_moved_one_by_one():
    """Brute force: every corner of the seam is turned, shrunk and turned back in both pieces."""
    material = Material("x", 1.0, shrink=(0.4, 1.1, 0.7), annealing=(1.0, 0.2, 0.0), scaled=False)
    ups = (0.6, 0.0, 0.8), (0.0, 1.0, 0.0)
    division, plan, fits = halved(ups, material)
    seam, centre = division.seams[0], np.array([200.0, 100.0, 10.0])
    moved = []
    for piece in division.pieces:
        turn = fits[piece.name].rotation
        points = np.array([(200.0, y, z) for y in (0, 200) for z in (0, 20)]) - centre
        shrunk = (points @ turn.T) * [0.996 * 0.99, 0.989 * 0.998, 0.993]
        moved.append((shrunk @ turn)[:, 1:])
    expected = np.linalg.norm(moved[0] - moved[1], axis=1).max()
    allowance = file_allowance(plan.printer, material)
    maps = [sizes_of(fits[piece.name], material, allowance) for piece in division.pieces]
    assert seam_misfit(seam, Joint("S1"), *maps).step == pytest.approx(expected, abs=1e-9)


def pin(y, slot=(0.0, 0.0, 0.0)):
    return Pin((200.0, y, 10.0), (1.0, 0.0, 0.0), "ISO 8734", 4.0, 20.0, 4.2, 10.5, 3.1, slot=slot)


def test_pins_are_the_more_wrong_the_further_they_are_apart():
    # 0.3 % of 150 mm between the outer two; held in their middle, 25 mm off that of the seam.
    joint = Joint("S1", (pin(0.0 + 50.0), pin(200.0)))
    found = found_in((FLAT, UPRIGHT), LYING, (joint,))
    assert found["allowance.pins"].measured == pytest.approx(0.45, abs=1e-9)
    assert found["allowance.step"].measured == pytest.approx(np.hypot(0.375, 0.03), abs=1e-9)
    # A slot towards the other pin takes all of it.
    slotted = Joint("S1", (pin(50.0), pin(200.0, slot=(0.0, 1.0, 0.0))))
    assert "allowance.pins" not in found_in((FLAT, UPRIGHT), LYING, (slotted,))


def test_what_files_have_is_told_once_and_what_does_not_fit_is_a_fault():
    found = found_in((FLAT, FLAT), UNEVEN, foot_width=0.2, foot_height=0.3)
    told = found["allowance.files"].message
    assert "1.0050 x 1.0081 x 1.0000" in told
    assert "0.2 mm, 0.3 mm high" in told
    assert found["allowance.turning"].measured == pytest.approx(1 - 0.992 / 0.995, abs=1e-9)
    assert "allowance.bed_fit" not in found
    large = found_in((FLAT, FLAT), Material("x", 1.0, shrink=(6.0, 6.0, 0.0)))
    assert large["allowance.bed_fit"].severity == "fault"
    # 200 / 0.94 on a bed of 210 mm.
    assert "is 2.77 mm too large" in large["allowance.bed_fit"].message
