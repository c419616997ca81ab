"""Braces of a plan: on the pieces as they are made, and beside all else that holds these."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from splitplanner.errors import JointError
from splitplanner.findings import Severity, faults
from splitplanner.joint import Maker, check_joints
from splitplanner.joint.brace.on_sheet import fit_on_sheet
from splitplanner.joint.brace.planned import brace_screw
from splitplanner.plan import (
    BraceWish,
    Cut,
    Fastening,
    Flange,
    Joint,
    PartFile,
    Plan,
    Screw,
    divide,
)
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Printer, hardware_shelf

SHELF = hardware_shelf()
PRINTER = Printer(bed=Bed(kind="rectangle", width=256, depth=256, height=256))
PLATE = Solid.box((200, 80, 6), (0, -40, -6))
CUT = Cut(Plane((1.0, 0.0, 0.0), 100.0))
WISH = BraceWish(
    (1, 0, 0), (0, 0, 1), 0.0, 10, 190, 20, 4, hold="insert", screw_size="M3", name="a"
)


def plan_with(*braces, part=PLATE, **more):
    return Plan(PartFile("p", "mm", part.fingerprint), PRINTER, (CUT,), braces=braces, **more)


def checked(plan, part=PLATE):
    division = divide(part, plan.cuts)
    seen = np.ones(len(part.faces), dtype=bool)
    return check_joints(division, plan, SHELF, seen=seen)


def kinds(findings):
    return {each.kind for each in findings if each.kind.startswith("brace.")}


# -- making ---------------------------------------------------------------------------------
def test_pieces_have_their_bosses_drilled():
    # Two braces side by side, heads away from each other, on a flat plate: no lands. A boss is the
    # hull of two circles, thicker than the sheet is wide; its hole is a cylinder.
    other = replace(WISH, along=(-1, 0, 0), offset=-30.0, low=-190, high=-10, name="b")
    division, plan, maker = divide(PLATE, [CUT]), plan_with(WISH, other), Maker()
    made, braces = maker.make(division, plan, shelf=SHELF), maker.braces(division, plan, SHELF)
    assert [brace.wish for brace in braces] == [WISH, other]
    assert not made.findings
    for piece, bare in zip(made.pieces, division.pieces, strict=True):
        grown = [solid for brace in braces for solid in brace.added[bare.name]]
        holes = [hole for brace in braces for hole in brace.taken[bare.name]]
        assert len(grown) == len(holes) >= 4
        expected = bare.solid.union(*grown).difference(*holes)
        assert piece.solid.volume == pytest.approx(expected.volume, rel=1e-9)
        assert piece.solid.volume > bare.solid.volume + 1000
        assert len(piece.solid.bodies()) == 1
    # What is made is remembered, by the plan's name of the brace too.
    again = maker.make(division, plan, shelf=SHELF)
    assert all(one.solid is two.solid for one, two in zip(made.pieces, again.pieces, strict=True))
    assert maker.braces(division, plan, SHELF)[0] is braces[0]
    # Its inserts are those of no product, and that is all that is said.
    found = checked(plan)
    assert not kinds(found)
    assert [each.kind for each in found] == ["hardware.example"]


def test_a_brace_that_cannot_be_made_is_one_fault_and_the_rest_goes_on():
    beside = replace(WISH, offset=100.0, name="off")
    unknown = replace(WISH, offset=-30.0, screw_size="M7", name="odd")
    plan = plan_with(beside, WISH, unknown)
    division, maker = divide(PLATE, [CUT]), Maker()
    found = checked(plan)
    told = [each for each in found if each.kind == "brace.impossible"]
    assert [each.subject for each in told] == ["off", "odd"]
    assert all(each.severity is Severity.FAULT for each in told)
    # The plate is 80 mm wide, about the middle.
    assert "offset of 100 mm, is beside the part, which reaches from -40.0 to 40.0 mm" in (
        told[0].message
    )
    assert "M7" in told[1].message
    assert [brace.wish.name for brace in maker.braces(division, plan, SHELF)] == ["a"]
    made = maker.make(division, plan, shelf=SHELF)
    assert [each.message for each in made.findings] == [each.message for each in told]
    assert all(
        piece.solid.volume > bare.solid.volume
        for piece, bare in zip(made.pieces, division.pieces, strict=True)
    )


def test_without_braces_nothing_changes():
    division = divide(PLATE, [CUT])
    made = Maker().make(division, plan_with())
    assert all(
        one.solid is two.solid for one, two in zip(made.pieces, division.pieces, strict=True)
    )
    assert Maker().braces(division, plan_with()) == ()


def test_a_brace_passes_over_flanges():
    # A channel of 3 mm wall, open below: a rim 12 mm wide runs along its inside on both pieces.
    outer = Solid.box((200, 80, 60), (0, -40, 0))
    part = outer.difference(Solid.box((220, 74, 60), (-10, -37, -3)))
    plan = plan_with(part=part)
    division = divide(part, [CUT])
    plane = division.seams[0].plane
    corners = [(100, -37, 0), (100, -37, 57), (100, 37, 57), (100, 37, 0)]
    line = tuple(map(tuple, plane.to_plane(corners).tolist()))
    flange = Flange(lines=(line,), width=12.0, thickness=4.0)
    joint = Joint("S1", flange=flange)
    wish = replace(WISH, towards=(0, 0, -1), bridged=20.0)
    plan = plan_with(wish, part=part, joints=(joint,))
    maker = Maker()
    ground = maker.grounded(division, plan)
    assert ground.part.volume > part.volume + 1000
    (brace,) = maker.braces(division, plan, SHELF)
    # Its inner edge is below the rim, and it shares nothing with the pieces as they are made.
    rim = wish.section(ground.part, 0.0).intersection(shapely.box(95, -60, 105, 0)).bounds[3]
    assert rim == pytest.approx(-57 + 12, abs=0.1)
    edge = brace.profile.outline.intersection(shapely.box(99, -60, 101, 0)).bounds[1]
    assert edge == pytest.approx(rim + wish.clearance, abs=0.05)
    for piece in maker.make(division, plan, shelf=SHELF).pieces:
        assert brace.solid.intersection(piece.solid).volume < 1e-6


def test_coats_leave_room_between_lands_too():
    # The lands of a brace along a falling plate meet at the seam; with a coat of 0.15 mm on all
    # faces all of the seam is open by 0.3 mm.
    part = Solid.hull_of(
        [(x, y, z - down) for x in (0, 200) for y, z in ((-30, 2), (30, -2)) for down in (0, 6)]
    )
    wide = replace(WISH, land_margin=4.0)
    plan = plan_with(wide, part=part, fastening=Fastening(coat=0.15))
    pieces = Maker().make(divide(part, [CUT]), plan, shelf=SHELF).pieces
    gap = pieces[1].solid.bounds[0, 0] - pieces[0].solid.bounds[1, 0]
    assert gap == pytest.approx(0.3, abs=1e-6)
    plain = Maker().make(divide(part, [CUT]), plan_with(wide, part=part), shelf=SHELF).pieces
    assert plain[1].solid.bounds[0, 0] == pytest.approx(plain[0].solid.bounds[1, 0], abs=1e-6)


# -- beside all else ------------------------------------------------------------------------
def test_braces_that_cross_are_told():
    across = BraceWish(
        (0, 1, 0), (0, 0, 1), 30.0, -35, 35, 20, 4, hold="insert", screw_size="M3", name="b"
    )
    found = checked(plan_with(WISH, across))
    crossing = [each for each in found if each.kind == "brace.cross"]
    assert len(crossing) == 1
    # Two sheets of 4 mm, 20 mm deep, cross square: 4 x 4 x 20 mm.
    assert crossing[0].measured == pytest.approx(320, rel=1e-6)
    assert "“a” and “b”" in crossing[0].message


def test_heads_of_braces_back_to_back_are_told():
    # Heads of 3 mm on washers of 0.5 mm stand towards each other in line, 4 mm between the sheets:
    # the washers, 7 mm wide, share 3 mm of each; the prisms round them are a little larger.
    other = replace(WISH, along=(-1, 0, 0), offset=8.0, low=-190, high=-10, name="b")
    found = [each for each in checked(plan_with(WISH, other)) if each.kind == "brace.head"]
    assert (
        len(found) == len(Maker().braces(divide(PLATE, [CUT]), plan_with(WISH), SHELF)[0].taken) * 2
    )
    for each in found:
        assert each.severity is Severity.FAULT
        assert each.measured == pytest.approx(np.pi / 4 * 7**2 * 3, rel=0.01)
    # A little further apart than both need nothing touches.
    apart = replace(other, offset=4.0 + 2 * 3.5 + 0.1)
    assert kinds(checked(plan_with(WISH, apart))) <= {"brace.key"}
    # Where 2 mm are between the sheets heads stand in the other one too.
    near = replace(other, offset=6.0)
    found = [each for each in checked(plan_with(WISH, near)) if each.kind == "brace.head"]
    assert {each.subject for each in found} == {"a", "b"}


def test_bosses_of_braces_that_face_each_other_are_told():
    # Holes in line, end to end, in bosses of 7.4 mm with 8 mm between the sheets.
    other = replace(WISH, along=(-1, 0, 0), offset=-12.0, low=-190, high=-10, name="b")
    found = checked(plan_with(WISH, other))
    touching = [each for each in found if each.kind == "brace.hardware_touches"]
    assert len(touching) >= 4
    assert all(each.measured < each.allowed for each in touching)
    assert "brace.overlap" not in kinds(found)
    facing = replace(other, offset=-8.0)
    assert "brace.overlap" in kinds(checked(plan_with(WISH, facing)))


def screw_at(y, z):
    """A screw of a seam across the plate's cut, its head 12 mm beside it."""
    size = brace_screw(replace(WISH, hold="nut"), SHELF, PRINTER)
    return Screw(
        at=(100.0, y, z),
        axis=(1.0, 0.0, 0.0),
        standard="ISO 4762",
        size="M3",
        length=30.0,
        is_countersunk=False,
        hold="nut",
        washers=0,
        seat=12.0,
        depth=12.0,
        clearance=size.clearance,
        head_room=size.head_room,
        hole=size.clearance,
        nut_room=0.0,
        edge_distance=size.edge_distance,
    )


def test_a_brace_on_the_head_of_a_screw_is_told():
    plan = plan_with(WISH, joints=(Joint("S1", screws=(screw_at(0.0, 4.0),)),))
    (found,) = [each for each in checked(plan) if each.kind == "brace.on_hardware"]
    assert found.severity is Severity.FAULT
    assert "screw 1 of seam S1" in found.message
    # Half of the sheet's depth away it is free.
    clear = plan_with(WISH, joints=(Joint("S1", screws=(screw_at(30.0, -3.0),)),))
    assert "brace.on_hardware" not in kinds(checked(clear))


def test_a_bolt_in_the_way_of_a_screw_is_told():
    division = divide(PLATE, [CUT])
    (brace,) = Maker().braces(division, plan_with(WISH), SHELF)
    nearest = min(brace.bosses.bolts, key=lambda bolt: abs(bolt.at[0] - 95.0))
    x, y, z = np.array(nearest.at) + np.array(nearest.axis) * 5.0
    assert 88 < x < 100
    plan = plan_with(WISH, joints=(Joint("S1", screws=(screw_at(y, z),)),))
    touching = [each for each in checked(plan) if each.kind == "brace.hardware_touches"]
    assert touching
    assert touching[0].measured < touching[0].allowed


def test_a_printed_brace_has_to_fit_the_bed():
    small = Printer(bed=Bed(kind="rectangle", width=150, depth=110, height=50))
    printed = replace(WISH, is_printed=True)
    plan = replace(plan_with(printed), printer=small)
    (found,) = [each for each in checked(plan) if each.kind == "brace.bed"]
    assert found.severity is Severity.FAULT
    # 180 x 20 mm on the diagonal of 150 x 110 mm lacks some; on 256 mm it lies.
    assert found.measured > 0
    assert "180 x 20 mm" in found.message
    assert "brace.bed" not in kinds(checked(plan_with(printed)))
    assert "brace.bed" not in kinds(checked(replace(plan_with(WISH), printer=small)))


def test_an_unknown_metal_is_a_warning():
    (found,) = [
        each
        for each in checked(plan_with(replace(WISH, metal="brass")))
        if each.kind == "brace.metal"
    ]
    assert found.severity is Severity.WARNING
    assert "“brass”" in found.message
    assert not kinds(faults([found]))


# -- on a sheet -----------------------------------------------------------------------------
def test_braces_lie_on_the_users_sheet():
    other = replace(WISH, along=(-1, 0, 0), offset=-30.0, low=-190, high=-10, name="b")
    braces = Maker().braces(divide(PLATE, [CUT]), plan_with(WISH, other), SHELF)
    # Closed forms: one strip of 180 x 20 mm; square on a sheet of 196 x 32 mm with 5 mm for clamps
    # 6 x 2 mm are spare, and turned it gains nothing.
    fit, said = fit_on_sheet(braces[:1], 196, 32, 5)
    assert fit.fits
    assert fit.spare == pytest.approx(2.0, abs=0.05)
    assert "2.0 mm are spare" in said.message
    # Two, side by side: 20 + 6 + 20 mm and twice 5, in a sheet of 200 x 60 mm.
    fit, said = fit_on_sheet(braces, 200, 60, 5)
    assert fit.fits
    assert said.severity is Severity.NOTE
    laid = [lie.placed(brace.profile.outline) for lie, brace in zip(fit.lying, braces, strict=True)]
    assert shapely.distance(*laid) >= 6.0 - 1e-6
    fit, said = fit_on_sheet(braces, 200, 50, 5)
    assert not fit.fits
    assert said.severity is Severity.FAULT
    assert "mm are missing" in said.message
    # A thinner cutter makes up for it: 20 + 2 + 20 + 2 x 4.
    assert fit_on_sheet(braces, 200, 51, 4, cutter=2)[0].fits


def test_what_is_not_cut_from_one_sheet_is_refused():
    other = replace(WISH, offset=-30.0, stock=3.0, name="b")
    braces = Maker().braces(divide(PLATE, [CUT]), plan_with(WISH, other), SHELF)
    with pytest.raises(JointError, match="aluminium of 3 mm and aluminium of 4 mm"):
        fit_on_sheet(braces, 300, 300)
    with pytest.raises(JointError, match="no brace"):
        fit_on_sheet((), 300, 300)
    with pytest.raises(JointError, match="has no room"):
        fit_on_sheet(braces[:1], 300, 10, 5)
