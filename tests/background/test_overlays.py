"""Figures for every face, against shapes on which they are known."""

import numpy as np
import pytest

from splitplanner.background.overlay import LINES, OVERLAYS
from splitplanner.background.overlays import overlay
from splitplanner.plan import Cut, PartFile, Plan, divide
from splitplanner.progress import silent
from splitplanner.score import Surfaces
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.workshop import Printer

# A box of 60 x 40 x 30 mm, open below, with a wall of 3 mm.
SHELL = Solid.box((60.0, 40.0, 30.0)).difference(Solid.box((54.0, 34.0, 27.0), (3.0, 3.0, 0.0)))
PLAN = Plan(PartFile("s.stl", "mm", "x"), Printer(), (Cut(Plane((1.0, 0.0, 0.0), 31.0)),))


@pytest.fixture(scope="module")
def shown():
    division = divide(SHELL, PLAN.cuts)
    seen = seen_from_outside(SHELL)
    return division, {name: overlay(name, division, PLAN, seen, SHELL, silent) for name in OVERLAYS}


def test_there_is_a_figure_for_every_face_of_every_piece(shown):
    division, found = shown
    for each in found.values():
        for piece in division.pieces:
            assert each.values[piece.name].shape == (len(piece.solid.faces),)


def test_walls_are_as_thick_as_they_were_drawn(shown):
    division, found = shown
    for piece in division.pieces:
        solid = piece.solid
        # The flat outer walls, away from their edges.
        outer = (solid.face_normals[:, 1] < -0.99) & (solid.face_centroids[:, 1] < 1e-6)
        assert outer.any()
        assert np.allclose(found["wall thickness"].values[piece.name][outer], 3.0, atol=2e-3)


def test_only_the_ceiling_inside_hangs_over_air(shown):
    division, found = shown
    for piece in division.pieces:
        solid, hanging = piece.solid, found["overhang"].values[piece.name] > 0
        assert hanging.any()
        assert np.allclose(solid.face_centroids[hanging][:, 2], 27.0)


def test_support_reaches_from_the_ceiling_to_the_bed(shown):
    _, found = shown
    for lines in found["support"].lines.values():
        assert len(lines)
        assert np.allclose(lines[:, 0, 2], 27.0)
        assert np.allclose(lines[:, 1, 2], 0.0)


def test_the_good_side_is_outside_and_not_on_the_seam(shown):
    division, found = shown
    for piece in division.pieces:
        solid, good = piece.solid, found["good side"].values[piece.name] > 0
        top = solid.face_normals[:, 2] > 0.99
        assert good[top & (solid.face_centroids[:, 2] > 29.9)].all()
        assert not good[np.abs(solid.face_centroids[:, 0] - 31.0) < 1e-6].any()


def test_layers_of_two_walls_are_islands(shown):
    # Cut along x, each half is a U in every layer: one island.
    _, found = shown
    assert all((values == 1.0).all() for values in found["islands"].values.values())


def test_the_section_modulus_is_that_of_a_channel(shown):
    # Away from the end walls the section is a channel of 40 x 30 mm with walls of 3 mm, open
    # below. Its least modulus is about the horizontal axis, at the lower edges, by the theorem
    # of parallel axes (any text on the strength of materials).
    division, found = shown
    flange, webs = (
        (40.0 * 3.0, 28.5, 40.0 * 3.0**3 / 12),
        (2 * 3.0 * 27.0, 13.5, 6.0 * 27.0**3 / 12),
    )
    area = flange[0] + webs[0]
    middle = (flange[0] * flange[1] + webs[0] * webs[1]) / area
    inertia = sum(own + a * (at - middle) ** 2 for a, at, own in (flange, webs))
    least = inertia / max(middle, 30.0 - middle)
    piece = division.pieces[0]
    inside = np.abs(piece.solid.face_centroids[:, 0] - 15.0) < 8.0
    values = found["section modulus"].values[piece.name][inside]
    assert len(values)
    assert np.allclose(values, least, rtol=1e-3)


def test_walls_are_off_whole_lines_by_what_is_left(shown):
    # 3 mm are 6.67 lines of 0.45 mm; 7 of them are 0.15 mm too many.
    division, found = shown
    for piece in division.pieces:
        solid, gaps = piece.solid, found["wall lines"].values[piece.name]
        outer = (solid.face_normals[:, 1] < -0.99) & (solid.face_centroids[:, 1] < 1e-6)
        assert np.allclose(gaps[outer], 3.0 - 7 * 0.45, atol=2e-3)
        # The rim on which it stands is no wall, nor is the seam.
        edges = solid.face_centroids[:, 2] < 1e-6
        edges |= np.abs(solid.face_centroids[:, 0] - 31.0) < 1e-6
        assert edges.any()
        assert np.isnan(gaps[edges]).all()
        assert np.isnan(found["wall thickness"].values[piece.name][edges]).all()


def test_the_scale_of_wall_lines_is_half_a_line_to_either_side():
    surfaces, division = Surfaces(), divide(SHELL, PLAN.cuts)
    walls = surfaces.wall_lines(SHELL, PLAN.printer).in_short
    seen = seen_from_outside(SHELL)
    found = overlay(LINES, division, PLAN, seen, SHELL, silent, surfaces, walls)
    assert found.scale == pytest.approx((-0.225, 0.225))
    levels = np.concatenate(list(found.levels.values()))
    # -0.15 mm is a sixth of the way up from the least; nothing is said of 0.
    assert set(levels.tolist()) <= {0, *range(41, 47)}
    assert (levels > 0).any()
    others = overlay("support", division, PLAN, seen, SHELL, silent, surfaces, walls)
    assert others.walls is None


def test_progress_of_walls_rises():
    told = []
    seen = seen_from_outside(SHELL)
    division = divide(SHELL, PLAN.cuts)
    overlay(LINES, division, PLAN, seen, SHELL, lambda done, _: told.append(done))
    assert told == sorted(told)
    assert told[-1] <= 1.0
