"""Load cases on faces. Expected values: closed forms of a cantilever (Euler and Bernoulli)."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from splitplanner.background.overlay import BENT, LEVELS, SHARE
from splitplanner.background.strength_overlays import (
    areas_of,
    checked_overlay,
    face_shares,
    fine_mesh,
    load_overlay,
    motion_at,
    relief_at,
    stress_at,
)
from splitplanner.plan import (
    Cut,
    Loading,
    PartFile,
    Plan,
    PointLoad,
    cantilever,
    divide,
    over_two_supports,
)
from splitplanner.solid import Plane
from splitplanner.strength import LayeredStrength
from splitplanner.workshop import Printer, known_material
from tests.strength.bars import X, bar
from tests.window.loaded import MODULUS, answer_of, strength_of

LENGTH, WIDTH, HEIGHT, FORCE, PULL = 200.0, 20.0, 10.0, 40.0, 300.0
INERTIA, AREA = WIDTH * HEIGHT**3 / 12.0, WIDTH * HEIGHT
PLACES = np.array([[30.0, 4.0, 5.0], [120.0, -10.0, -3.0], [190.0, 0.0, 0.0]])


def held(*loads):
    return Loading(X, cantilever(0.0, *loads, name="held"))


@pytest.fixture(scope="module")
def part():
    return bar(LENGTH, WIDTH, HEIGHT)


@pytest.fixture(scope="module")
def answer(part):
    loads = PointLoad(LENGTH, (0.0, 0.0, -FORCE)), PointLoad(LENGTH, (PULL, 0.0, 0.0))
    return answer_of(part, held(*loads))


@pytest.fixture(scope="module")
def plan():
    return Plan(PartFile("bar.stl", "mm", ""), Printer())


def test_stress_is_that_of_the_place_in_the_section(answer):
    x, _, z = PLACES.T
    # The upper side is pulled, as it is pressed down at the free end.
    expected = PULL / AREA + FORCE * (LENGTH - x) * z / INERTIA
    assert stress_at(answer.diagrams, PLACES) == pytest.approx(expected, rel=1e-6)


def test_places_move_as_the_axis_bends_and_its_sections_lean(part):
    answer = answer_of(part, held(PointLoad(LENGTH, (0.0, 0.0, -FORCE))), count=201)
    x, _, z = PLACES.T
    sag = FORCE * x**2 * (3.0 * LENGTH - x) / (6.0 * MODULUS * INERTIA)
    slope = FORCE * x * (2.0 * LENGTH - x) / (2.0 * MODULUS * INERTIA)
    moved = motion_at(answer.diagrams, PLACES)
    assert moved[:, 2] == pytest.approx(-sag, rel=2e-3)
    assert moved[:, 0] == pytest.approx(slope * z, rel=1e-2, abs=1e-9)
    assert moved[:, 1] == pytest.approx(0.0, abs=1e-9)


def test_pulled_across_its_layers_a_piece_takes_more_of_its_strength(part, answer, plan):
    material = known_material(None)[0]
    strength = LayeredStrength.of(material)
    stress = stress_at(answer.diagrams, part.face_centroids)
    assert stress.min() < 0.0 < stress.max()
    places = part.face_centroids
    along, across = (face_shares(places, up, answer, plan) for up in ((0.0, 0.0, 1.0), X))
    # Without braces nothing is taken off.
    assert relief_at(answer, PLACES[:, 0]) == pytest.approx(1.0)
    assert along == pytest.approx(np.abs(stress) / strength.along)
    pulled = stress > 0.0
    assert across[pulled] == pytest.approx(stress[pulled] / strength.across)
    assert across[~pulled] == pytest.approx(-stress[~pulled] / strength.along)


def test_what_braces_take_off_is_taken_off(answer):
    way = answer.ways[0]
    half = replace(way, layers=replace(way.layers, share=way.layers.share / 2.0))
    braced = replace(answer, ways=(way, half))
    assert relief_at(braced, PLACES[:2, 0]) == pytest.approx(0.5)


def test_overlays_are_of_the_load_case_that_is_asked_for_and_of_every_piece(part, plan):
    down = held(PointLoad(LENGTH, (0.0, 0.0, -FORCE)))
    load = PointLoad(100.0, (0.0, -FORCE, 0.0))
    aside = Loading(X, over_two_supports(10.0, 190.0, load, name="aside"))
    strength = strength_of(part, down, aside)
    cuts = (Cut(Plane(X, 80.0)),)
    division = divide(part, cuts)
    planned = replace(plan, cuts=cuts)
    shown = load_overlay(SHARE, "aside", division, planned, strength)
    assert set(shown.values) == set(division.by_name)
    assert "“aside”" in shown.words
    assert shown.scale[0] == 0.0
    first = load_overlay(SHARE, "gone", division, planned, strength)
    assert "“held”" in first.words
    bent = load_overlay(BENT, "held", division, planned, strength)
    tip = FORCE * LENGTH**3 / (3.0 * MODULUS * INERTIA)
    for piece in division.pieces:
        vertices, faces = bent.meshes[piece.name]
        assert len(faces) == len(bent.values[piece.name]) > len(piece.solid.faces)
        moved = bent.bent(piece.name, vertices)
        assert bent.bent(piece.name, vertices) is moved
        far = np.linalg.norm(moved - vertices, axis=1).max()
        assert far <= 0.1 * part.size * 1.01
    assert bent.times * tip == pytest.approx(far, rel=0.02)
    assert shown.moves == {}


def test_long_faces_are_divided_and_the_surface_stays_the_same_and_closed(part):
    fine = fine_mesh(part, 7.0)
    mesh = trimesh.Trimesh(fine.vertices, fine.faces, process=False)
    assert mesh.edges_unique_length.max() <= 7.0
    assert mesh.volume == pytest.approx(part.volume)
    assert areas_of(fine).sum() == pytest.approx(part.face_areas.sum())
    assert len(np.unique(fine.vertices, axis=0)) == len(fine.vertices)
    assert fine_mesh(part, 1000.0).faces is part.faces


def test_without_a_load_case_nothing_is_coloured_and_it_is_said_why(part, plan):
    shown = load_overlay(SHARE, "", divide(part, ()), plan, None)
    assert all((each == 0).all() for each in shown.levels.values())
    assert "no load case" in shown.words


def test_a_check_in_cells_is_shown_in_the_same_way():
    found = checked_overlay(SHARE, "drop", {"1": np.array([0.0, 0.2, np.nan])})
    assert (found.name, found.unit) == ("share of strength, checked", "share")
    assert found.levels["1"].tolist() == [1, LEVELS, 0]
