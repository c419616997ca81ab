"""Steps from plan to plan: cuts, print directions, pins."""

from dataclasses import replace

import numpy as np
import pytest

from splitplanner.plan import (
    BraceWish,
    Cut,
    Fastening,
    Joint,
    Loading,
    PartFile,
    Pin,
    Plan,
    PointLoad,
    Screw,
    cantilever,
    divide,
    mirrored,
    with_brace,
    with_cut,
    with_cut_at,
    with_cut_copied,
    with_cut_flipped,
    with_cut_mirrored,
    with_fastening,
    with_joint,
    with_loading,
    with_other_screw,
    with_own_fastening,
    with_pin,
    with_pin_at,
    with_plane,
    with_screw,
    with_screw_at,
    with_screw_turned,
    with_seam_open,
    with_target,
    with_targets_there,
    with_up,
    without_brace,
    without_cut,
    without_loading,
    without_pin,
    without_screw,
)
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

X, Y = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
PART = Solid.box((90.0, 40.0, 20.0))
PLAN = Plan(
    PartFile("bar.stl", "mm", "x"),
    Printer(),
    (Cut(Plane(X, 30.0), "whole"), Cut(Plane(X, 60.0), "2"), Cut(Plane(Y, 20.0), "1")),
)
PIN = Pin((30.0, 10.0, 10.0), X, "ISO 8734", 3.0, 10.0, 3.2, 5.5, 2.6)


def names(plan):
    return {piece.name for piece in divide(PART, plan.cuts).pieces}


def test_a_cut_is_added_moved_and_taken_away():
    plan = with_cut(PLAN, Plane(Y, 10.0), "2.2")
    assert plan.cuts[-1] == Cut(Plane(Y, 10.0), "2.2")
    moved = with_plane(plan, 0, Plane(X, 25.0))
    assert moved.cuts[0] == Cut(Plane(X, 25.0), "whole")
    assert without_cut(plan, 3) == PLAN
    assert with_target(plan, 3, None).cuts[3].piece is None


def test_a_flipped_cut_leaves_the_same_pieces_with_the_same_directions():
    plan = with_up(with_up(PLAN, "1.1", X), "2.1", Y)
    before = {piece.name: piece.solid.bounds for piece in divide(PART, plan.cuts).pieces}
    flipped = with_cut_flipped(plan, 0)
    after = {piece.name: piece.solid.bounds for piece in divide(PART, flipped.cuts).pieces}
    assert np.allclose(before["1.1"], after["2.1"])
    assert np.allclose(before["2.2"], after["1.2"])
    assert flipped.print_directions == {"2.1": X, "1.1": Y}
    assert with_cut_flipped(flipped, 0) == plan


def test_a_flipped_cut_of_all_pieces_leaves_directions_open():
    plan = with_up(with_target(PLAN, 0, None), "1.1", X)
    assert with_cut_flipped(plan, 0).print_directions == {}


def test_a_copy_is_shifted_along_the_normal():
    assert with_cut_copied(PLAN, 0, -12.0).cuts[-1] == Cut(Plane(X, 18.0))


def test_a_mirror_image_is_as_far_on_the_other_side():
    image = with_cut_mirrored(PLAN, 0, Plane(X, 45.0)).cuts[-1]
    assert image.piece is None
    assert image.plane == Plane((-1.0, 0.0, 0.0), -60.0)


def test_points_of_a_tilted_plane_and_of_its_image_are_mirrored():
    plane, middle = Plane((0.6, 0.0, 0.8), 11.0), Plane((0.0, 0.6, 0.8), -4.0)
    image = mirrored(plane, middle)
    points = plane.to_space(np.array([[0.0, 0.0], [5.0, 1.0], [-3.0, 7.0]]))
    # Reflection in a plane: p - 2 (n·p - d) n (any linear algebra text).
    reflected = points - 2.0 * middle.height(points)[:, None] * np.array(middle.normal)
    assert np.allclose(image.height(reflected), 0.0)
    above = (points + plane.normal) - 2.0 * middle.height(points + plane.normal)[
        :, None
    ] * np.array(middle.normal)
    assert np.allclose(image.height(above), 1.0)


def test_cuts_change_their_order():
    assert [cut.piece for cut in with_cut_at(PLAN, 2, 1).cuts] == ["whole", "1", "2"]
    assert [cut.piece for cut in with_cut_at(PLAN, 0, 99).cuts] == ["2", "1", "whole"]


def test_cuts_of_pieces_that_are_gone_divide_what_they_meet():
    left = without_cut(PLAN, 0)
    mended = with_targets_there(left, PART)
    assert [cut.piece for cut in mended.cuts] == [None, "1"]
    assert names(mended) == {"1.1", "1.2", "2"}
    assert with_targets_there(PLAN, PART) is PLAN


def test_pins_are_added_moved_and_taken_away():
    plan = with_pin(PLAN, "S1", PIN)
    assert plan.joint("S1").pins == (PIN,)
    moved = with_pin_at(plan, "S1", 0, np.array([30.0, 12.0, 8.0]))
    assert moved.joint("S1").pins[0].at == (30.0, 12.0, 8.0)
    assert without_pin(moved, "S1", 0).joints == (Joint("S1"),)


@pytest.mark.parametrize("seam", ["S1", None])
def test_a_seam_is_left_open_so_that_pins_are_placed_anew(seam):
    plan = with_pin(PLAN, "S1", PIN)
    assert with_seam_open(plan, seam).joints == ()


def test_a_seam_without_pins_is_open_again_when_cuts_change():
    plan = without_pin(with_pin(PLAN, "S1", PIN), "S1", 0)
    assert with_plane(plan, 1, Plane(X, 61.0)).joints == ()


SCREW = Screw(
    (30.0, 10.0, 10.0), X, "ISO 4762", "M3", 16.0, "nut", 5.0, 1, 3.4, 7.5, False, 6.0, 3.4, 5.7,
    4.0,
)  # fmt: skip


def test_what_hardware_and_glue_stand_leaves_all_that_is_placed():
    plan = PLAN.with_joints((Joint("S1", (PIN,)), Joint("S2")))
    glued = Fastening(
        glue_shear=8.0, glue_peel=2.0, screw_class="12.9", insert_pull_out=400.0, resin_shear=9.0
    )
    after = with_fastening(plan, glued)
    assert (after.fastening, after.joints) == (glued, plan.joints)
    own = with_own_fastening(after, "S1", replace(glued, glue_shear=0.0))
    assert own.joints == plan.joints
    # Anything else places anew what holds the seam.
    assert with_own_fastening(own, "S1", replace(glued, coat=0.1)).joints == (Joint("S2"),)
    assert with_fastening(after, replace(glued, pins=False)).joints == ()


def test_screws_are_moved_and_taken_out_one_by_one():
    screw = SCREW
    joint = Joint("S1", (PIN,), (screw, replace(screw, at=(30.0, 20.0, 10.0))))
    moved = with_screw_at(with_joint(PLAN, joint), "S1", 1, np.array([30.0, 25.0, 8.0]))
    assert moved.joint("S1").screws == (screw, replace(screw, at=(30.0, 25.0, 8.0)))
    left = without_screw(moved, "S1", 0)
    # Nothing else of the joint is touched.
    assert left.joint("S1") == replace(joint, screws=moved.joint("S1").screws[1:])


def test_a_screw_is_added_behind_the_others_and_another_stands_for_it():
    plan = with_screw(with_pin(PLAN, "S1", PIN), "S1", SCREW)
    far = replace(SCREW, at=(30.0, 20.0, 10.0))
    both = with_screw(plan, "S1", far)
    assert both.joint("S1") == Joint("S1", (PIN,), (SCREW, far))
    longer = replace(SCREW, length=20.0)
    assert with_other_screw(both, "S1", 0, longer).joint("S1").screws == (longer, far)


def test_a_screw_is_turned_round():
    plan = with_screw(with_screw(PLAN, "S1", SCREW), "S1", replace(SCREW, hold="insert"))
    nut, _ = with_screw_turned(plan, "S1", 0).joint("S1").screws
    # Head and nut change places, so that as much of the screw is needed as before.
    assert nut == replace(SCREW, axis=(-1.0, 0.0, 0.0), seat=6.0, depth=5.0)
    _, insert = with_screw_turned(plan, "S1", 1).joint("S1").screws
    assert (insert.axis, insert.seat, insert.depth) == ((-1.0, 0.0, 0.0), 5.0, 6.0)
    assert with_screw_turned(with_screw_turned(plan, "S1", 0), "S1", 0) == plan


def test_braces_and_load_cases_are_known_by_their_names():
    brace = BraceWish((1, 0, 0), (0, 0, 1), 0.0, 0.0, 90.0, 20.0, 4.0)
    loading = Loading((1, 0, 0), cantilever(0, PointLoad(9, (0, 0, 1)), name="side"))
    plan = with_loading(with_brace(with_brace(PLAN, brace), replace(brace, name="two")), loading)
    deeper = with_brace(plan, replace(brace, depth=30.0))
    assert deeper.braces == (replace(brace, depth=30.0), replace(brace, name="two"))
    assert without_brace(deeper, "brace").braces == (replace(brace, name="two"),)
    longer = with_loading(plan, replace(loading, axis=(0, 1, 0)))
    assert longer.loadings == (replace(loading, axis=(0, 1, 0)),)
    assert without_loading(longer, "side").loadings == ()
