"""Pieces in their own cells with springs between them, against the uncut part and statics."""

from functools import cache

import numpy as np
import pytest
from scipy.sparse import csr_array
from shapely.geometry import Polygon

from splitplanner.errors import LoadError
from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane, Solid
from splitplanner.strength import section_properties
from splitplanner.strength.cells import (
    Assembly,
    Contact,
    Hold,
    Tie,
    condensed,
    embedded,
    factorised,
    seam_points,
    sprung,
    stacked,
)
from tests.strength.embedding import alike, mean_move, moved_by

PLASTIC = alike(2000.0, 0.35)
LENGTH, WIDTH, HEIGHT, WALL = 240.0, 80.0, 60.0, 3.0
STRAIGHT = Plane((1.0, 0.0, 0.0), 125.0)
OBLIQUE = Plane((0.9, 0.3, 0.2), 110.0)
LOAD = np.array([0.0, 0.0, -20.0])


def channel():
    """Open above, along x."""
    outside = Solid.box((LENGTH, WIDTH, HEIGHT), (0, -WIDTH / 2, 0))
    inside = Solid.box((LENGTH + 2, WIDTH - 2 * WALL, HEIGHT), (-1, -WIDTH / 2 + WALL, WALL))
    return outside.difference(inside)


def walled_channel():
    """With walls of 6 mm across at x = 119 to 131: a flange on each side of the seam at 125."""
    rib = Solid.box((12, WIDTH - WALL, HEIGHT - 1), (119, -WIDTH / 2 + WALL / 2, 1))
    return channel().union(rib)


def at_end(model, x):
    """The faces of a model at one end, as a patch."""
    across = np.abs(model.solid.face_normals[:, 0]) > 0.99
    return model.patch(across & (np.abs(model.solid.face_centroids[:, 0] - x) < 1.0))


@cache
def held_whole(part):
    model = embedded(part, PLASTIC, size=12.0)
    start, end = at_end(model, 0.0), at_end(model, LENGTH)
    moved = moved_by(model, [Hold(start)], model.pushed(end, LOAD / end.area))
    return mean_move(model, moved, end)


@cache
def parted(part, *planes, spacing=8.0):
    """An assembly held at x = 0, loaded at the other end: with contacts, forces and the tip."""
    division = divide(part, [Cut(plane) for plane in planes])
    order = sorted(division.pieces, key=lambda piece: piece.solid.centroid[0])
    models = tuple(embedded(piece.solid, PLASTIC, size=12.0) for piece in order)
    names = [piece.name for piece in order]
    last = models[-1]
    start, end = at_end(models[0], 0.0), at_end(last, LENGTH)
    assembly = Assembly(models, ((0, Hold(start)),))
    contacts = [
        Contact(
            names.index(seam.below),
            names.index(seam.above),
            seam_points(seam.plane, seam.section.polygons, spacing),
        )
        for seam in division.seams
    ]
    which = len(models) - 1
    forces = assembly.forces({which: last.pushed(end, LOAD / end.area)})
    mean = np.kron(end.areas / end.area, np.eye(3))
    tip = assembly.widened(which, last.motion(end.points, end.rows))
    return assembly, contacts, forces, csr_array(mean) @ tip, end.middle


@pytest.mark.parametrize(
    "planes", [(STRAIGHT,), (OBLIQUE,), (Plane((1.0, 0.0, 0.0), 70.0), OBLIQUE)]
)
def test_glue_everywhere_gives_back_the_uncut_part(planes):
    part = channel()
    assembly, contacts, forces, tip, _ = parted(part, *planes)
    assert len(assembly.models) == len(planes) + 1
    matrix = assembly.matrix
    for contact in contacts:
        matrix = sprung(matrix, assembly.contact_gaps(contact), assembly.glued(contact))
    found = tip @ factorised(matrix).solve(forces)
    assert found[2] == pytest.approx(held_whole(part)[2], rel=1e-3)


BOLTS = np.array([(y, z) for y in (-30.0, 0.0, 30.0) for z in (10.0, 50.0)])
"""Where bolts go through the walls across, (y, z)."""
STEEL = 2.0e5 * 8.78 / 12.0
"""An M4 bolt over 12 mm, N/mm."""


def bolted():
    """The walled channel cut through its wall: gaps of the contact and three a bolt."""
    assembly, (contact,), forces, tip, end = parted(walled_channel(), STRAIGHT, spacing=12.0)
    around = np.radians(np.arange(0, 360, 60))
    rim = 3.0 * np.stack([np.zeros(6), np.cos(around), np.sin(around)], axis=1)
    touching, ties = assembly.contact_gaps(contact), []
    across, along = contact.at.frame[:2], contact.at.frame[2:]
    for y, z in BOLTS:
        low, seam, high = (rim + np.array([x, y, z]) for x in (119.5, 125.0, 130.5))
        ties.append(assembly.tie_gaps(Tie(0, 1, seam, seam, across)))
        ties.append(assembly.tie_gaps(Tie(0, 1, low, high, along)))
    with pytest.raises(ValueError, match="along the line"):
        Tie(0, 1, low, high, across)
    glue = assembly.glued(contact)
    springs = np.concatenate([glue, np.tile([3e4, 3e4, STEEL], len(BOLTS))])
    one_sided = np.arange(len(springs)) % 3 == 2
    one_sided[len(glue) :] = False
    # Nothing rubs: bolts alone take what slides.
    springs[: len(glue)][np.arange(len(glue)) % 3 != 2] = 0.0
    found = condensed(assembly, touching, stacked(ties), forces, tip)
    return assembly, contact, found, springs, one_sided, forces, end


@pytest.fixture(scope="module")
def joint():
    return bolted()


def test_glued_seams_carry_the_whole_load_and_its_moment():
    # Statics: the force and moment of what is beyond the seam, whatever the springs.
    for plane in (STRAIGHT, OBLIQUE):
        assembly, (contact,), forces, _, end = parted(channel(), plane)
        gaps, springs = assembly.contact_gaps(contact), assembly.glued(contact)
        moved = factorised(sprung(assembly.matrix, gaps, springs)).solve(forces)
        pulls = (springs * (gaps @ moved)).reshape(-1, 3) @ contact.at.frame
        assert pulls.sum(axis=0) == pytest.approx(LOAD, abs=1e-6 * 20)
        moment = np.cross(contact.at.points, pulls).sum(axis=0)
        assert moment == pytest.approx(np.cross(end, LOAD), abs=1e-6 * 20 * LENGTH)


def test_condensed_answers_are_those_of_solving_anew(joint):
    assembly, contact, found, springs, one_sided, forces, _ = joint
    answer = found.answer(springs, one_sided)
    assert 1 < answer.rounds < 30
    acting = np.where(answer.closed, springs, 0.0)
    direct = factorised(sprung(assembly.matrix, found.gaps, acting)).solve(forces)
    tip = found.watch @ direct
    assert answer.watched == pytest.approx(tip, abs=1e-6 * np.abs(tip).max())
    scale = np.abs(found.gaps @ direct).max()
    assert answer.gaps == pytest.approx(found.gaps @ direct, abs=1e-6 * scale)
    again = found.displacements(answer)
    assert again == pytest.approx(direct, abs=1e-6 * np.abs(direct).max())
    # Fewer rounds from a contact that is known, to the same end.
    fewer = springs.copy()
    fewer[-1] *= 0.9
    near = found.answer(fewer, one_sided, answer.closed)
    assert near.rounds < answer.rounds
    assert near.forces == pytest.approx(found.answer(fewer, one_sided).forces, abs=1e-6)
    # Glue in place of bolts, from the same condensing.
    glue = np.concatenate([assembly.glued(contact), np.zeros(3 * len(BOLTS))])
    direct = factorised(sprung(assembly.matrix, found.gaps, glue)).solve(forces)
    assert found.answer(glue).watched == pytest.approx(found.watch @ direct, rel=1e-6, abs=1e-8)


def test_contact_only_presses_and_balances_bolts_and_load(joint):
    _, contact, found, springs, one_sided, _, end = joint
    answer = found.answer(springs, one_sided)
    count = 3 * len(contact.at.points)
    pressing = answer.forces[:count].reshape(-1, 3)
    assert pressing[:, 2].max() <= 1e-6
    assert (answer.gaps[2:count:3][~answer.closed[2:count:3]] >= -1e-9).all()
    assert 0 < answer.closed[2:count:3].sum() < len(contact.at.points)
    held = answer.forces[count:].reshape(-1, 3) @ contact.at.frame
    assert held[:, 0].max() > 0.0
    pressed = pressing @ contact.at.frame
    total = held.sum(axis=0) + pressed.sum(axis=0)
    assert total == pytest.approx(LOAD, abs=1e-6 * 20)
    places = np.column_stack([np.full(len(BOLTS), 125.0), BOLTS])
    moment = np.cross(contact.at.points, pressed).sum(axis=0) + np.cross(places, held).sum(axis=0)
    assert moment == pytest.approx(np.cross(end, LOAD), abs=1e-6 * 20 * LENGTH)


def test_bolts_left_and_right_take_the_same(joint):
    _, contact, found, springs, one_sided, _, _ = joint
    answer = found.answer(springs, one_sided)
    tension = answer.forces[3 * len(contact.at.points) + 2 :: 3]
    assert tension[:2] == pytest.approx(tension[4:], rel=0.01, abs=0.01 * tension.max())


def test_without_contact_bolts_come_out_too_low(joint):
    # Prying: what a seam opens at one edge presses at the other.
    _, contact, found, springs, one_sided, _, _ = joint
    alone = np.where(np.arange(len(springs)) < 3 * len(contact.at.points), 0.0, springs)
    with_contact = found.answer(springs, one_sided).forces[3 * len(contact.at.points) + 2 :: 3]
    without = found.answer(alone).forces[3 * len(contact.at.points) + 2 :: 3]
    assert without.sum() == pytest.approx(0.0, abs=1e-4)
    assert with_contact.max() > 1.2 * without.max()


def test_pieces_that_no_spring_holds_are_refused(joint):
    _, _, found, springs, *_ = joint
    with pytest.raises(LoadError, match="held by nothing"):
        found.answer(np.zeros(len(springs)))
    one_bolt = np.where(np.arange(len(springs)) == len(springs) - 1, springs, 0.0)
    with pytest.raises(LoadError, match="held by nothing"):
        found.answer(one_bolt)


def test_points_of_a_seam_have_its_area_middle_and_second_moments():
    shape = Polygon([(0, 0), (50, 0), (50, 3), (3, 3), (3, 40), (20, 45), (0, 45)])
    for spacing in (4.0, 8.0, 100.0):
        at = seam_points(Plane((0.0, 0.0, 1.0), 7.0), [shape], spacing)
        expected = section_properties([shape])
        assert at.areas.sum() == pytest.approx(shape.area)
        middle = at.areas @ at.points / shape.area
        assert middle == pytest.approx((*expected.centroid, 7.0))
        off = at.points - middle
        second = off[:, :2].T @ (at.areas[:, None] * off[:, :2])
        assert second == pytest.approx(expected.tensor)
    with pytest.raises(ValueError, match="without contact"):
        seam_points(Plane((0.0, 0.0, 1.0), 0.0), [])


def test_stiffness_that_rounding_took_is_made_good_by_next_to_nothing():
    # A pivot below 0 by rounding, as where a sliver of a piece is in a cell; one that is 0 in
    # earnest stays a fault.
    from scipy.sparse import csc_array

    from splitplanner.strength.cells.reducing import _positive

    order = np.arange(3)
    found = _positive(csc_array(np.diag([2.0, -1e-11, 1.0])), order, 1.0)
    assert (found.pivots > 0.0).all()
    forces = np.array([4.0, 0.0, 3.0])
    assert found.solve(forces) == pytest.approx([2.0, 0.0, 3.0], rel=1e-6)
    with pytest.raises(LoadError, match="can move freely"):
        _positive(csc_array(np.diag([2.0, -1e-3, 1.0])), order, 1.0)
