"""Cells against closed forms: moments of solids, pulled and bent bars, layers."""

import numpy as np
import pytest
import trimesh
from shapely.geometry import box as rectangle

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import LoadError
from splitplanner.solid import Plane, Solid
from splitplanner.strength import LayeredStiffness
from splitplanner.strength.cells import (
    Hold,
    cell_grid,
    elastic_tensor,
    embedded,
    factorised,
    held_matrix,
    reaction,
)
from splitplanner.strength.cells.ordering import dissected
from tests.strength.embedding import (
    TURNED,
    alike,
    facing,
    held_along,
    mean_move,
    moved_by,
    turned_box,
)

STRAIGHT = np.eye(3)
LENGTH, WIDTH, HEIGHT = 200.0, 20.0, 10.0
MODULUS = 2000.0


def bar(frame):
    return turned_box((LENGTH, WIDTH, HEIGHT), (0.0, -WIDTH / 2, -HEIGHT / 2), frame)


def second_moments(grid):
    """∫ p pᵀ over the solid about the origin, from the moments of its cells."""
    moments = grid.moments.reshape(-1, 5, 5, 5) * grid.steps.prod() / 8.0
    total = np.zeros((3, 3))
    middles, halves = grid.corner + grid.steps * (grid.cells + 0.5), grid.steps / 2
    unit = np.eye(3, dtype=int)
    first = np.stack([moments[:, *unit[a]] for a in range(3)], axis=1)
    for a in range(3):
        for b in range(3):
            second = moments[:, *(unit[a] + unit[b])] * halves[a] * halves[b]
            mixed = middles[:, a] * halves[b] * first[:, b]
            mixed = mixed + middles[:, b] * halves[a] * first[:, a]
            own = middles[:, a] * middles[:, b] * moments[:, 0, 0, 0]
            total[a, b] = (second + mixed + own).sum()
    return total


@pytest.mark.parametrize("axes", [STRAIGHT, TURNED])
def test_moments_of_the_hood_are_those_of_its_mesh(axes):
    # trimesh integrates over the surface without any grid.
    part = DEMO_PARTS["rain_hood"].make(5_000)
    grid = cell_grid(part, 12.0, axes)
    mesh = trimesh.Trimesh(part.vertices, part.faces, process=False)
    assert grid.volume == pytest.approx(mesh.volume, rel=1e-9)
    inertia = mesh.moment_inertia + mesh.volume * (
        mesh.center_mass @ mesh.center_mass * np.eye(3)
        - np.outer(mesh.center_mass, mesh.center_mass)
    )
    found = axes.T @ second_moments(grid) @ axes
    assert np.trace(found) * np.eye(3) - found == pytest.approx(inertia, rel=1e-7, abs=1e-4)


def test_moments_of_the_highest_degree_are_exact():
    # A box that ends inside cells: every moment is a product of three integrals of powers.
    low, high = np.array([1.0, 2.0, 0.5]), np.array([6.0, 7.5, 9.0])
    part = Solid.box((10.0, 10.0, 10.0)).difference(Solid.box(high - low, low))
    grid = cell_grid(part, 10.0)
    power = np.arange(5)[:, None]
    ends = np.stack([low, high]) / 5.0 - 1.0
    one = (1.0 - (-1.0) ** (power + 1)) / (power + 1) * np.ones(3)
    hole = (ends[1] ** (power + 1) - ends[0] ** (power + 1)) / (power + 1)
    expected = [np.einsum("a,b,c->abc", *each.T).ravel() for each in (one, hole)]
    assert grid.moments == pytest.approx((expected[0] - expected[1])[None], abs=1e-13)


def test_moments_of_a_leaning_solid_are_exact_to_the_eighth_degree():
    # Volumes of a finer grid's cells, each integrated about its own middle, add up to the coarse.
    part = turned_box((9.0, 6.0, 4.0), (0.0, 0.0, 0.0), TURNED)
    coarse, fine = cell_grid(part, 100.0), cell_grid(part, 2.0)
    shift = (2.0 * fine.cells + 1.0) / fine.shape - 1.0
    ends, weights = np.zeros((len(fine.cells), 3, 5, 5)), 1.0 / fine.shape
    for power in range(5):
        for below in range(power + 1):
            share = np.array([1, 1, 2, 6, 24])
            choose = share[power] / share[below] / share[power - below]
            ends[:, :, power, below] = (
                choose * shift ** (power - below) * weights.astype(float) ** below
            )
    own = fine.moments.reshape(-1, 5, 5, 5)
    total = np.einsum("nau,nbv,ncw,nuvw->abc", ends[:, 0], ends[:, 1], ends[:, 2], own)
    assert coarse.moments[0] == pytest.approx(total.ravel() * weights.prod(), abs=1e-11)


def test_a_box_fills_the_cells_that_lie_along_it():
    grid = cell_grid(bar(TURNED), 5.0, TURNED.T)
    assert grid.shape == pytest.approx((40, 4, 2))
    assert grid.fill == pytest.approx(1.0, abs=1e-9)
    assert len(grid.cells) == 320
    ends = grid.places @ TURNED
    assert np.ptp(ends, axis=0) == pytest.approx((LENGTH, WIDTH, HEIGHT))


@pytest.mark.parametrize(
    ("frame", "axes", "within"),
    [
        (STRAIGHT, STRAIGHT, 1e-9),
        (TURNED, STRAIGHT, 1e-6),
        (TURNED, TURNED.T, 1e-9),
        (STRAIGHT, TURNED, 1e-6),
    ],
)
def test_a_pulled_bar_stretches_and_gets_thinner(frame, axes, within):
    # u = F L / (E A), and contraction by Poisson's ratio: a linear field, which cells hold exactly.
    model = embedded(bar(frame), alike(MODULUS, 0.35), size=12.0, frame=axes)
    x, y, z = frame.T
    force = 100.0 * x
    holds = held_along(model, -x, -y, -z)
    end = facing(model, x)
    moved = moved_by(model, holds, model.pushed(end, force / end.area))
    strain = 100.0 / (MODULUS * WIDTH * HEIGHT)
    stretch = mean_move(model, moved, end) - mean_move(model, moved, facing(model, -x))
    assert stretch @ x == pytest.approx(strain * LENGTH, rel=within)
    middle = 0.5 * LENGTH * x[None]
    rows = model.rows_at(middle)
    found = frame.T @ model.strains(moved, middle, rows)[0] @ frame
    assert found == pytest.approx(strain * np.diag([1.0, -0.35, -0.35]), abs=strain * 10 * within)
    stress = model.stresses(moved, middle, rows)[0]
    assert stress == pytest.approx(0.5 * np.outer(x, x), abs=5 * within)


@pytest.mark.parametrize(
    ("frame", "axes"), [(STRAIGHT, STRAIGHT), (TURNED, STRAIGHT), (TURNED, TURNED.T)]
)
def test_a_cantilever_bends_as_timoshenko_says(frame, axes):
    # F L³ / 3EI + F L / (5/6 G A), no contraction so that the clamp adds nothing (Timoshenko,
    # Strength of Materials; from memory).
    model = embedded(bar(frame), alike(MODULUS), size=12.0, frame=axes)
    x, _, z = frame.T
    clamp, end = Hold(facing(model, -x)), facing(model, x)
    moved = moved_by(model, [clamp], model.pushed(end, -10.0 * z / end.area))
    second = WIDTH * HEIGHT**3 / 12
    bending = 10.0 * LENGTH**3 / (3 * MODULUS * second)
    sliding = 10.0 * LENGTH / (MODULUS / 2 * WIDTH * HEIGHT * 5 / 6)
    assert -mean_move(model, moved, end) @ z == pytest.approx(bending + sliding, rel=0.003)
    top = (LENGTH / 2 * x + HEIGHT / 2 * z)[None]
    stress = model.stresses(moved, top, model.rows_at(top, z))[0]
    assert x @ stress @ x == pytest.approx(10.0 * LENGTH / 2 * HEIGHT / 2 / second, rel=0.01)
    force, moment = reaction(model, clamp, moved)
    assert force == pytest.approx(10.0 * z, abs=1e-6)
    assert moment == pytest.approx(np.cross(LENGTH * x, 10.0 * z), abs=1e-5)


@pytest.mark.parametrize("axes", [STRAIGHT, TURNED])
def test_a_bar_of_layers_stretches_by_the_modulus_across_them(axes):
    layers = LayeredStiffness(2000.0, 1200.0, 500.0)
    for up in ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 1.0)):
        model = embedded(bar(STRAIGHT), layers, up=up, size=12.0, frame=axes)
        ends = facing(model, (-1, 0, 0)), facing(model, (1, 0, 0))
        pull = model.pushed(ends[1], (0.5, 0, 0)) + model.pushed(ends[0], (-0.5, 0, 0))
        # Held at points only, as a leaning material slides as well.
        moved = moved_by(model, [Hold(ends[0])], pull)
        middle = np.array([[LENGTH / 2, 0.0, 0.0]])
        strain = model.strains(moved, middle, model.rows_at(middle))[0, 0, 0]
        assert strain == pytest.approx(0.5 / layers.modulus((1, 0, 0), up), rel=0.002)


def test_stiffness_of_layers_is_the_turned_compliance():
    layers = LayeredStiffness(2000.0, 1200.0, 500.0)
    up = np.array([0.3, -0.5, 0.8])
    tensor = elastic_tensor(layers, up)
    assert tensor == pytest.approx(tensor.transpose(2, 3, 0, 1))
    # Along any direction d, strain by a pull of 1 MPa is 1/E.
    for pull in np.eye(3):
        pairs = [(0, 0), (1, 1), (2, 2), (1, 2), (2, 0), (0, 1)]
        voigt = np.array([[tensor[i, j, k, m] for k, m in pairs] for i, j in pairs])
        strain = np.linalg.inv(voigt) @ [np.outer(pull, pull)[i, j] for i, j in pairs]
        stretched = pull @ strain[:3]
        assert 1.0 / stretched == pytest.approx(layers.modulus(pull, up))


def test_weight_acts_on_the_whole_solid_at_its_centroid():
    part = turned_box((50.0, 30.0, 10.0), (0.0, 0.0, 0.0), TURNED)
    model = embedded(part, alike(MODULUS))
    forces = model.weighed((0.0, 0.0, -2e-5)).reshape(-1, 3)
    assert forces.sum(axis=0) == pytest.approx((0.0, 0.0, -2e-5 * part.volume))
    moment = np.cross(model.grid.places, forces).sum(axis=0)
    assert moment == pytest.approx(np.cross(part.centroid, forces.sum(axis=0)), abs=1e-9)


def test_a_patch_has_the_area_and_middle_of_its_faces():
    part = Solid.prism(rectangle(0, 0, 33, 21), Plane((0.0, 0.0, 1.0), 0.0), 0.0, 7.0)
    model = embedded(part, alike(MODULUS), size=5.0)
    for normal, area, middle in (
        ((0, 0, 1), 33 * 21, (16.5, 10.5, 7.0)),
        ((0, -1, 0), 33 * 7, (16.5, 0.0, 3.5)),
    ):
        patch = facing(model, normal)
        assert patch.area == pytest.approx(area)
        assert patch.middle == pytest.approx(middle, abs=1e-9)


def test_what_acts_on_nothing_is_refused():
    model = embedded(Solid.box((20.0, 20.0, 20.0)), alike(MODULUS))
    with pytest.raises(LoadError, match="no face"):
        model.patch(np.zeros(12, dtype=bool))
    with pytest.raises(LoadError, match="beside the piece"):
        model.rows_at([[30.0, 0.0, 0.0]])
    with pytest.raises(ValueError, match="more than 0 mm"):
        cell_grid(model.solid, 0.0)
    with pytest.raises(ValueError, match="more than"):
        cell_grid(model.solid, 0.1)
    for frame in (2.0 * np.eye(3), np.diag([1.0, 1.0, -1.0]), np.zeros((3, 3))):
        with pytest.raises(ValueError, match="right-handed frame"):
            cell_grid(model.solid, 12.0, frame)


def test_a_piece_that_nothing_holds_is_refused():
    model = embedded(Solid.box((20.0, 20.0, 20.0)), alike(MODULUS))
    forces = model.pushed(facing(model, (0, 0, 1)), (0.0, 0.0, -1.0))
    slides = Hold(facing(model, (0, 0, -1)), ((0.0, 0.0, 1.0),))
    with pytest.raises(LoadError, match="move freely"):
        factorised(held_matrix(model, [])).solve(forces)
    sideways = model.pushed(facing(model, (1, 0, 0)), (1.0, 0.0, 0.0))
    with pytest.raises(LoadError, match="move freely"):
        factorised(held_matrix(model, [slides])).solve(sideways)


def test_an_order_by_dissection_takes_every_node_once():
    grid = cell_grid(bar(TURNED), 8.0)
    order = dissected(grid.lattice)
    assert np.array_equal(np.sort(order), np.arange(len(grid.places)))
