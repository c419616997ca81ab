"""Groups of fasteners by the elastic method. Expected values: published examples, equilibrium."""

import math

import numpy as np
import pytest

from splitplanner.strength.bolt_group import (
    SeamLoad,
    centroid,
    centroid_tensions,
    edge_tensions,
    elastic_forces,
    group_of,
    shear_forces,
)


def load(force, moment=(0, 0, 0), at=(0, 0)):
    return SeamLoad(np.array(force, float), np.array(moment, float), np.array(at, float))


def test_bracket_of_four_bolts():
    """Four M16 on 150 by 120 mm under 16 kN, 425 mm from their middle.

    As in Shigley's Mechanical Engineering Design, example 8-7, which prints 21.0 and 14.8 kN (from
    memory); by hand r = 96.05 mm, 4 kN and 17.70 kN.
    """
    group = group_of([(75, 60), (-75, 60), (-75, -60), (75, -60)])
    shares = shear_forces(group, load((0, -16000, 0), at=(425, 0)))
    sizes = np.linalg.norm(shares, axis=1) / 1000
    assert sizes[[0, 3]] == pytest.approx([20.973, 20.973], abs=5e-4)
    assert sizes[[1, 2]] == pytest.approx([14.789, 14.789], abs=5e-4)
    assert np.round(sizes, 1).tolist() == [21.0, 14.8, 14.8, 21.0]
    secondary = np.linalg.norm(shares - np.array([0, -4000]), axis=1) / 1000
    assert secondary == pytest.approx(np.full(4, 17.70), abs=5e-3)


def test_unequal_bolts_of_a_worked_sheet():
    """R. Abbott, analysis sheet AA-SM-004 (2008), after Niu: resultants to the printed digit."""
    places = [(1, 1), (-1, 1), (-1, -1), (1, 5), (0, 5), (10, 2)]
    areas = np.pi / 4 * np.array([0.375, 0.25, 0.25, 0.375, 0.25, 0.375]) ** 2
    group = group_of(places, areas, areas)
    sheet = load((0, -10000, 0), (0, 0, -12000), at=(0.3, 0))
    assert centroid(places, areas) == pytest.approx([2.5641, 2.3590], abs=5e-5)
    assert sheet.about(centroid(places, areas))[2] == pytest.approx(10641.0, abs=0.05)
    sizes = np.linalg.norm(shear_forces(group, sheet), axis=1)
    assert np.round(sizes).tolist() == [2493, 1210, 1220, 2507, 1165, 1451]


def test_load_in_space_by_hand():
    """Five equal bolts under a force outside their plane; worked by hand from the formulas."""
    group = group_of([(-20, 0), (20, 0), (20, 40), (-20, 40), (0, 80)])
    force, arm = np.array([300.0, -1200.0, 500.0]), np.array([15.0, 100.0, 60.0])
    found = elastic_forces(group, load(force, np.cross(arm, force)))
    middle = centroid(group.places, group.axial)
    assert load(force, np.cross(arm, force)).about(middle) == pytest.approx(
        [106000, 10500, -38400], abs=1e-6
    )
    assert found.forces[:, 2] == pytest.approx(
        [-525.893, -788.393, 158.036, 420.536, 1235.714], abs=5e-4
    )
    assert found.forces[:, :2] == pytest.approx(
        np.array(
            [
                (-142.105, -113.684),
                (-142.105, -366.316),
                (110.526, -366.316),
                (110.526, -113.684),
                (363.158, -240),
            ]
        ),
        abs=5e-4,
    )


BRACKET = [(-30, -30), (30, -30), (-30, 30), (30, 30)]


def test_bracket_about_its_centroid():
    """5000 N at 100 mm, four bolts at 30 mm above and below: M y / sum(y²) = 4166.67 N."""
    shares = centroid_tensions(group_of(BRACKET), load((0, 0, 0), (5000 * 100, 0, 0)))
    assert shares == pytest.approx([-4166.67, -4166.67, 4166.67, 4166.67], abs=5e-3)


def test_bracket_about_its_lower_edge():
    """The same with the lower edge 50 mm below the middle: M L / sum(L²), L = 20 and 80 mm."""
    contact = [(-40, -50), (40, -50), (40, 50), (-40, 50)]
    found = edge_tensions(group_of(BRACKET), load((0, 0, 0), (5000 * 100, 0, 0)), contact)
    assert found.tensions == pytest.approx([735.3, 735.3, 2941.2, 2941.2], abs=0.05)
    assert found.pressure == pytest.approx(found.tensions.sum())
    assert found.at == pytest.approx([0, -50])


def random_case(rng, slots):
    count = int(rng.integers(3, 12))
    group = group_of(
        rng.normal(0, 40, (count, 2)) + rng.normal(0, 200, 2),
        rng.uniform(0.1, 30, count),
        rng.uniform(0.1, 30, count),
        np.where(
            rng.random((count, 1)) < slots,
            [[math.cos(a), math.sin(a)] for a in rng.uniform(0, 6, count)],
            0.0,
        ),
    )
    return group, load(rng.normal(0, 500, 3), rng.normal(0, 3e4, 3), rng.normal(0, 50, 2))


@pytest.mark.parametrize("slots", [0.0, 0.4])
def test_equilibrium_of_random_patterns(slots):
    """Forces and moments add up to the load: summed here about a place of no meaning."""
    rng = np.random.default_rng(7)
    for _ in range(300):
        group, given = random_case(rng, slots)
        found = elastic_forces(group, given)
        assert found.residual < 1e-9
        about = rng.normal(0, 100, 2)
        arms = np.column_stack([group.places - about, np.zeros(len(group.places))])
        scale = np.abs(given.about(about)).max() + 100 * np.abs(given.force).max()
        assert np.abs(found.forces.sum(axis=0) - given.force).max() < 1e-9 * scale
        moment = np.cross(arms, found.forces).sum(axis=0)
        assert np.abs(moment - given.about(about)).max() < 1e-9 * scale
        # Nothing along a slot.
        along = np.abs((found.forces[:, :2] * group.slots).sum(axis=1))
        assert along.max() < 1e-9 * scale


def test_equilibrium_over_the_edge():
    """Tensions and the edge's pressure balance pull and bending of random patterns."""
    rng = np.random.default_rng(11)
    for _ in range(200):
        places = rng.uniform(-50, 50, (int(rng.integers(1, 9)), 2))
        given = load((0, 0, rng.normal(0, 50)), (*rng.normal(0, 3e4, 2), 0), rng.normal(0, 20, 2))
        contact = [(-60, -60), (60, -60), (60, 60), (-60, 60)]
        found = edge_tensions(group_of(places), given, contact)
        forces = np.append(found.tensions, -found.pressure)
        spots = np.vstack([places, found.at])
        zero = given.about((0, 0))
        assert forces.sum() == pytest.approx(given.force[2], abs=1e-8)
        assert forces @ spots[:, 1] == pytest.approx(zero[0], abs=1e-6)
        assert -forces @ spots[:, 0] == pytest.approx(zero[1], abs=1e-6)
        # Plane: each tension by its distance from one straight edge.
        assert (found.tensions >= 0).all()


def test_least_energy():
    """Shares are those of least energy: any other in equilibrium with the load has more.

    Castigliano's theorem, for springs by the weights; other shares come from random vectors made
    self-balanced.
    """
    rng = np.random.default_rng(3)
    group, given = random_case(rng, 0.0)
    found = elastic_forces(group, given).forces
    count = len(group.places)
    arms = np.column_stack([group.places, np.zeros(count)])
    rows = np.zeros((6, 3 * count))
    for i in range(count):
        rows[:3, 3 * i : 3 * i + 3] = np.eye(3)
        rows[3:, 3 * i : 3 * i + 3] = np.cross(np.eye(3), arms[i]).T * -1
    weights = np.repeat(np.column_stack([group.shear, group.shear, group.axial]), 1, axis=0).ravel()
    energy = (found.ravel() ** 2 / weights).sum()
    for _ in range(50):
        other = rng.normal(0, 10, 3 * count)
        other -= np.linalg.pinv(rows) @ (rows @ other)
        assert np.abs(rows @ other).max() < 1e-8
        assert ((found.ravel() + other) ** 2 / weights).sum() > energy


def test_symmetry():
    """A mirrored pattern under the mirrored load has the mirrored shares."""
    rng = np.random.default_rng(5)
    group, given = random_case(rng, 0.0)
    flip = np.array([-1.0, 1.0])
    mirrored = group_of(group.places * flip, group.shear, group.axial)
    force = given.force * [-1, 1, 1]
    moment = given.moment * [1, -1, -1]
    first = elastic_forces(group, given).forces
    second = elastic_forces(mirrored, load(force, moment, given.at * flip)).forces
    assert second == pytest.approx(first * [-1, 1, 1], abs=1e-8)


def test_what_a_group_cannot_take_is_said():
    one = elastic_forces(group_of([(10, 0)]), load((50, 0, 0), (0, 0, 700), at=(10, 0)))
    assert not one.is_balanced
    assert one.forces[0, :2] == pytest.approx([50, 0])
    assert one.missing_moment == pytest.approx([0, 0, 700])
    line = elastic_forces(group_of([(0, 0), (20, 0), (40, 0)]), load((0, 0, 0), (800, 0, 0)))
    assert line.missing_moment == pytest.approx([800, 0, 0])
    assert elastic_forces(group_of(np.empty((0, 2))), load((1, 0, 0))).residual > 0.5
    pair = elastic_forces(group_of([(0, 0), (40, 0)]), load((0, 0, 0), (0, 800, 0)))
    assert pair.forces[:, 2] == pytest.approx([20, -20])


def test_two_pins_of_which_one_has_a_slot():
    """By hand: the round pin takes all along the slot, both share what is across, and a twist."""
    group = group_of([(0, 0), (100, 0)], slots=[(0, 0), (1, 0)])
    found = elastic_forces(group, load((30, 20, 0), (0, 0, 500), at=(50, 0)))
    assert found.forces[:, :2] == pytest.approx(np.array([(30, 5), (0, 15)]))


def test_weights_below_zero_are_refused():
    with pytest.raises(ValueError, match="below 0"):
        group_of([(0, 0)], shear=-1.0)
    with pytest.raises(ValueError, match="finite"):
        load((math.nan, 0, 0))
