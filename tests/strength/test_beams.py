"""Beams by stations. Expected values: closed forms of the handbooks, named at each check."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.spatial.transform import Rotation

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import LoadError
from splitplanner.plan import (
    LoadCase,
    PointLoad,
    SpreadLoad,
    Support,
    WeightLoad,
    between_clamps,
    cantilever,
    over_two_supports,
)
from splitplanner.solid import Plane
from splitplanner.strength import diagrams, section_chain
from tests.strength.bars import X, bar, bar_chain, leaning, moved, wedge

E_BAR = 3000.0
EI = E_BAR * 20 * 10**3 / 12
"""Of `bar` in the xz plane: 5e6 N·mm²."""


def down(station, force):
    return PointLoad(station, (0.0, 0.0, -force))


def spread(start, end, force):
    return SpreadLoad(start, end, (0.0, 0.0, -force))


def sag(found, station):
    """How far down the centroid goes at a station."""
    at = np.flatnonzero(np.abs(found.positions - station) < 1e-6)
    assert len(at)
    return -found.deflection_in_space[at[0], 2]


L, P, W = 200.0, 10.0, 0.1
# Bending alone, as the tables have it.
# Roark, table of shear, moment and deflection of straight beams; Shigley, table A-9: from memory,
# each formula beside its case. Where the deflection is looked at, what it is, largest |M|.
TABLE = {
    "cantilever, end force: P L³ / 3EI": (
        cantilever(0.0, down(L, P)), L, P * L**3 / (3 * EI), P * L,
    ),
    "cantilever held at its high end": (
        cantilever(L, down(0.0, P)), 0.0, P * L**3 / (3 * EI), P * L,
    ),
    "cantilever, force at a: P a² (3L - a) / 6EI": (
        cantilever(0.0, down(70.0, P)), L, P * 70**2 * (3 * L - 70) / (6 * EI), P * 70,
    ),
    "cantilever, spread: w L⁴ / 8EI": (
        cantilever(0.0, spread(0.0, L, W * L)), L, W * L**4 / (8 * EI), W * L**2 / 2,
    ),
    "cantilever, its own weight": (
        cantilever(0.0, WeightLoad((0, 0, -W * L))), L, W * L**4 / (8 * EI), W * L**2 / 2,
    ),
    "cantilever, end couple: M L² / 2EI": (
        cantilever(0.0, PointLoad(L, moment=(0.0, 300.0, 0.0))), L, 300 * L**2 / (2 * EI), 300.0,
    ),
    "two supports, force in the middle: P L³ / 48EI": (
        over_two_supports(0.0, L, down(L / 2, P)), L / 2, P * L**3 / (48 * EI), P * L / 4,
    ),
    "two supports, force at a: P a² b² / 3EIL": (
        over_two_supports(0.0, L, down(60.0, P)), 60.0,
        P * 60**2 * 140**2 / (3 * EI * L), P * 60 * 140 / L,
    ),
    "two supports, spread: 5 w L⁴ / 384EI": (
        over_two_supports(0.0, L, spread(0.0, L, W * L)), L / 2,
        5 * W * L**4 / (384 * EI), W * L**2 / 8,
    ),
    "reaching a beyond its supports: P a² (l + a) / 3EI": (
        over_two_supports(0.0, 140.0, down(L, P)), L, P * 60**2 * L / (3 * EI), P * 60,
    ),
    "clamped at both ends, force in the middle: P L³ / 192EI": (
        between_clamps(0.0, L, down(L / 2, P)), L / 2, P * L**3 / (192 * EI), P * L / 8,
    ),
    "clamped at both ends, spread: w L⁴ / 384EI": (
        between_clamps(0.0, L, spread(0.0, L, W * L)), L / 2, W * L**4 / (384 * EI), W * L**2 / 12,
    ),
    "clamped and propped, spread: w L⁴ / 192EI in the middle": (
        LoadCase("propped", (Support.clamp(0.0), Support.rolling(L)), (spread(0.0, L, W * L),)),
        L / 2, W * L**4 / (192 * EI), W * L**2 / 8,
    ),
    "three supports, spread: two propped spans, 0 over the middle one": (
        LoadCase(
            "three",
            (Support.pinned(0.0), Support.rolling(L / 2), Support.rolling(L)),
            (spread(0.0, L, W * L),),
        ),
        L / 2, 0.0, W * (L / 2) ** 2 / 8,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", TABLE)
def test_handbook_table(name):
    case, station, deflection, moment = TABLE[name]
    # So many stations that one lies in the middle.
    found = diagrams(bar_chain(L), case, E_BAR, twist=False)
    assert sag(found, station) == pytest.approx(deflection, rel=1e-8, abs=1e-9)
    assert np.abs(found.moment).max() == pytest.approx(moment, rel=1e-8)
    # M / W at the outer fibres.
    assert found.largest_stress == pytest.approx(moment / (20 * 10**2 / 6), rel=1e-8)


def test_frozen_deflections():
    # The same with numbers: b20 h10 E3000, P = 10, w = 0.1 (closed forms, one of them also from an
    # independent frame solver).
    short = bar_chain(100.0)
    assert sag(
        diagrams(short, cantilever(0.0, down(100.0, 10.0)), E_BAR, twist=False), 100.0
    ) == pytest.approx(0.666667, abs=1e-6)
    assert sag(
        diagrams(short, cantilever(0.0, spread(0.0, 100.0, 10.0)), E_BAR, twist=False), 100.0
    ) == pytest.approx(0.25, abs=1e-6)
    long = bar_chain(200.0)
    assert sag(
        diagrams(long, over_two_supports(0.0, 200.0, down(100.0, 10.0)), E_BAR, twist=False), 100.0
    ) == pytest.approx(0.333333, abs=1e-6)
    assert sag(
        diagrams(long, between_clamps(0.0, 200.0, down(100.0, 10.0)), E_BAR, twist=False), 100.0
    ) == pytest.approx(0.0833333, abs=1e-6)


def test_reactions_of_a_propped_beam():
    # 5wL/8 and wL²/8 at the clamp, 3wL/8 at the prop (Roark, from memory).
    case = TABLE["clamped and propped, spread: w L⁴ / 192EI in the middle"][0]
    clamp, prop = diagrams(bar_chain(L), case, E_BAR, twist=False).reactions
    assert clamp.force == pytest.approx((0.0, 0.0, 5 * W * L / 8), abs=1e-9)
    # It turns the end up: about -y.
    assert clamp.moment == pytest.approx((0.0, -W * L**2 / 8, 0.0), abs=1e-7)
    assert prop.force == pytest.approx((0.0, 0.0, 3 * W * L / 8), abs=1e-9)


def test_shear_jumps_where_a_force_acts():
    found = diagrams(bar_chain(L), over_two_supports(0.0, L, down(60.0, P)), E_BAR)
    along = found.shear @ found.chain.frame[:2, 2]
    at = np.flatnonzero(np.abs(found.positions - 60.0) < 1e-9)
    assert along[at] == pytest.approx([P * 0.7, -P * 0.3])
    assert (np.diff(found.positions) >= 0.0).all()
    assert found.weakest_station == pytest.approx(60.0)
    assert found.mean_shear[0] == pytest.approx(7.0 / 200)


def test_pull_and_push():
    # F L / EA; between two holds the nearer one takes F b / L (Shigley).
    found = diagrams(bar_chain(L), cantilever(0.0, PointLoad(L, (500.0, 0, 0))), E_BAR)
    assert found.stretch[-1] == pytest.approx(500 * L / (E_BAR * 200))
    assert found.normal_stress == pytest.approx(np.full((len(found.positions), 2), 2.5))
    held = LoadCase("held", (Support.clamp(0.0), Support.clamp(L)), (PointLoad(50, (400, 0, 0)),))
    found = diagrams(bar_chain(L), held, E_BAR)
    assert [r.force[0] for r in found.reactions] == pytest.approx([-300.0, -100.0])
    assert found.axial[[0, -1]] == pytest.approx([300.0, -100.0])


def test_an_end_load_beside_the_centroid_bends():
    # M = P e all along, deflection P e L² / 2EI, stress P/A + P e / W (Shigley).
    load = PointLoad(L, (-500.0, 0.0, 0.0), at=(0.0, 0.0, 4.0))
    found = diagrams(bar_chain(L), cantilever(0.0, load), E_BAR)
    # Pressed at its upper side it bows with the hollow side up.
    assert sag(found, L) == pytest.approx(-500 * 4 * L**2 / (2 * EI))
    section = 20 * 100 / 6
    assert found.normal_stress[7] == pytest.approx(
        [-500 / 200 - 2000 / section, -500 / 200 + 2000 / section]
    )


def test_a_side_load_beside_the_axis_twists():
    load = PointLoad(150.0, (0.0, 0.0, -30.0), at=(0.0, 8.0, 0.0))
    found = diagrams(bar_chain(L), cantilever(0.0, load), E_BAR)
    # r x F = (0, 8, 0) x (0, 0, -30).
    assert found.torque[0] == pytest.approx(-240.0)
    assert found.torque[-1] == pytest.approx(0.0, abs=1e-9)
    assert np.abs(found.moment).max() == pytest.approx(30 * 150)


def test_a_plate_that_tapers_to_a_point():
    # Constant stress 6 P L / (b t²) and deflection P L³ / 2EI, one and a half times that of an even
    # one (triangular leaf spring; Shigley). The point is 0.4 mm wide: that is in 1e-2 of it.
    part = wedge()
    chain = section_chain(part, X, 400)
    found = diagrams(chain, cantilever(0.0, down(200.0, 10.0)), E_BAR, twist=False)
    second = 40 * 10**3 / 12
    assert sag(found, 200.0) == pytest.approx(10 * 200**3 / (2 * E_BAR * second), rel=0.02)
    along = found.normal_stress[found.positions < 180.0, 1]
    assert along == pytest.approx(np.full(len(along), 6 * 10 * 200 / (40 * 100)), rel=0.1)
    # Exact, with the width w0 - s x left: ∫ P (L-x)² / (E I(x)) dx.
    x = np.linspace(0, 200, 200_001)
    exact = np.trapezoid(10 * (200 - x) ** 2 / (E_BAR * (40 - 0.198 * x) * 1000 / 12), x)
    assert sag(found, 200.0) == pytest.approx(exact, rel=1e-4)


@pytest.mark.parametrize("turn", [0.0, 30.0, -71.0])
def test_bending_out_of_the_principal_axes(turn):
    # A bar turned about its axis: each principal direction by itself, added up.
    angle = math.radians(turn)
    part = moved(bar(L), Rotation.from_rotvec([angle, 0, 0]).as_matrix())
    found = diagrams(section_chain(part, X, 11), cantilever(0.0, down(L, P)), E_BAR, twist=False)
    flat = np.array([0.0, -math.sin(angle), math.cos(angle)])
    wide = np.array([0.0, math.cos(angle), math.sin(angle)])
    force = np.array([0.0, 0.0, -P])
    expected = L**3 / (3 * EI) * (flat * (force @ flat) + wide * (force @ wide) / 4)
    assert found.deflection_in_space[-1] == pytest.approx(expected, rel=1e-8, abs=1e-12)
    stress = L * (abs(force @ flat) / (20 * 100 / 6) + abs(force @ wide) / (10 * 400 / 6))
    assert found.largest_stress == pytest.approx(stress, rel=1e-8)


def some_loads(rng, low, high, count=3):
    points = [
        PointLoad(
            float(rng.uniform(low, high)),
            tuple(rng.uniform(-20, 20, 3)),
            tuple(rng.uniform(-500, 500, 3)),
            tuple(rng.uniform(-9, 9, 3)),
        )
        for _ in range(count)
    ]
    start, end = low + 0.2 * (high - low), high - 0.1 * (high - low)
    even = SpreadLoad(start, end, tuple(rng.uniform(-5, 5, 3)))
    return (*points, even, WeightLoad(tuple(rng.uniform(-5, 5, 3))))


HOLDS = {
    "cantilever": (Support.clamp(20.0),),
    "two": (Support.pinned(30.0), Support.rolling(170.0)),
    "more": (Support.clamp(10.0), Support.rolling(90.0), Support.pinned(150.0)),
}


@pytest.mark.parametrize("held", HOLDS)
@pytest.mark.parametrize("seed", range(3))
def test_everything_is_in_balance(held, seed):
    # Forces and moments of loads and supports about the origin, in space: all sums are 0, also
    # where the centroids do not lie in a straight line along the axis.
    rng = np.random.default_rng(seed)
    chain = section_chain(leaning(), X, 31)
    low, high = chain.ends
    # Without weight: near the ends, beyond the last stations, centroids are taken to lie level.
    case = LoadCase(held, HOLDS[held], some_loads(rng, low, high)[:-1])
    found = diagrams(chain, case, E_BAR)

    def middle(station):
        place = chain.between(chain.centroids, [station])
        return Plane(X, float(station)).to_space(place)[0]

    force, turning, size = np.zeros(3), np.zeros(3), 0.0
    for reaction in found.reactions:
        force += reaction.force
        turning += np.cross(middle(reaction.station), reaction.force) + reaction.moment
    for load in case.loads:
        size += np.linalg.norm(load.total)
        force += load.total
        if isinstance(load, PointLoad):
            place = np.array([load.station, load.at[1], load.at[2]])
            turning += np.cross(place, load.force) + np.array(load.moment)
        else:
            # Along centroids on a straight line: in the middle of its stretch.
            turning += np.cross(middle((load.start + load.end) / 2), load.total)
    assert np.abs(force).max() < 1e-9 * size
    assert np.abs(turning).max() < 1e-9 * size * (high - low)
    # Supports keep their place.
    for support in case.supports:
        at = np.argmin(np.abs(found.positions - support.station))
        assert found.deflection[at] == pytest.approx(
            [0, 0], abs=1e-9 * np.abs(found.deflection).max()
        )


def test_balance_to_the_last_digits():
    rng = np.random.default_rng(7)
    chain = bar_chain(L)
    case = LoadCase("two", HOLDS["two"], some_loads(rng, 0.0, L))
    found = diagrams(chain, case, E_BAR)
    force, turning, size = np.zeros(3), np.zeros(3), 0.0
    for r in found.reactions:
        force += r.force
        turning += np.cross((r.station, 0, 0), r.force) + r.moment
    for load in case.loads:
        size += np.linalg.norm(load.total)
        force += load.total
        if isinstance(load, PointLoad):
            turning += np.cross((load.station, *load.at[1:]), load.force) + np.array(load.moment)
        else:
            middle = (load.start + load.end) / 2 if isinstance(load, SpreadLoad) else L / 2
            turning += np.cross((middle, 0, 0), load.total)
    assert np.abs(force).max() < 1e-9 * size
    assert np.abs(turning).max() < 1e-9 * size * L


@pytest.mark.parametrize("held", HOLDS)
def test_loads_add_up(held):
    # Superposition, for all that is linear.
    chain = section_chain(leaning(), X, 31)
    loads = some_loads(np.random.default_rng(3), 0.0, 200.0)
    cases = [LoadCase(held, HOLDS[held], part) for part in (loads, loads[:2], loads[2:])]
    # The same knots for all, by loads of nothing.
    at = tuple(load.times(0.0) for load in loads)
    found = [diagrams(chain, LoadCase(held, c.supports, c.loads + at), E_BAR) for c in cases]
    for name in ("shear", "moment", "axial", "torque", "deflection", "stretch", "twist"):
        whole, one, other = (getattr(f, name) for f in found)
        assert whole == pytest.approx(one + other, abs=1e-9 * (np.abs(whole).max() + 1e-9)), name
    twice = diagrams(chain, cases[0].times(2.0), E_BAR)
    assert twice.energy == pytest.approx(4 * found[0].energy)


@pytest.mark.parametrize("held", HOLDS)
def test_what_is_stored_is_what_was_done(held):
    # Clapeyron: the elastic energy is half the forces times how far they go, all of them in the
    # centroids, and couples about the axis times how far they turn.
    rng = np.random.default_rng(5)
    chain = section_chain(leaning(), X, 31)
    loads = tuple(
        PointLoad(s, tuple(rng.uniform(-20, 20, 3)), (float(rng.uniform(-900, 900)), 0.0, 0.0))
        for s in (45.0, 120.0, 190.0)
    )
    found = diagrams(chain, LoadCase(held, HOLDS[held], loads), E_BAR)
    done = 0.0
    for load in loads:
        at = np.argmin(np.abs(found.positions - load.station))
        done += np.dot(load.force, found.deflection_in_space[at]) / 2
        done += load.moment[0] * math.radians(found.twist[at]) / 2
    assert found.energy == pytest.approx(done, rel=1e-9)


def test_what_a_force_here_does_there():
    # Maxwell: the deflection at b by a force at a is that at a by the same force at b.
    chain = section_chain(DEMO_PARTS["rain_hood"].make(5_000), X, 60)
    low, high = chain.ends
    a, b = low + 0.3 * (high - low), low + 0.8 * (high - low)
    one, other = np.array([0, 3.0, -7.0]), np.array([0, -5.0, 2.0])

    def case(station, force):
        both = (PointLoad(a), PointLoad(b), PointLoad(station, tuple(force)))
        return cantilever(low, *both)

    def at(found, station):
        return found.deflection_in_space[np.argmin(np.abs(found.positions - station))]

    there = at(diagrams(chain, case(a, one), E_BAR), b) @ other
    here = at(diagrams(chain, case(b, other), E_BAR), a) @ one
    assert there == pytest.approx(here, rel=1e-9)


def test_a_real_part_against_a_solver_of_differential_equations():
    # w'' = (E S)⁻¹ m with m = F (L - x), integrated by scipy with the same flexibilities; and as
    # centroids do not lie in a straight line, a twist moves them too: left out by a part whose
    # sections twist by nothing.
    chain = section_chain(DEMO_PARTS["rain_hood"].make(5_000), X, 40)
    low, high = chain.ends
    force = np.array([0.0, 4.0, -9.0])
    case = cantilever(low, PointLoad(high, tuple(force)))
    found = diagrams(chain, case, E_BAR, 1e12, twist=False)
    soft = np.linalg.inv(E_BAR * chain.tensors)
    across = chain.frame[:2] @ force

    def slopes(x, state):
        curve = chain.between(soft, [x])[0] @ (across * (high - x))
        return [*state[2:], *curve]

    solved = solve_ivp(slopes, (low, high), np.zeros(4), rtol=1e-10, atol=1e-12, max_step=2.0)
    assert found.deflection[-1] == pytest.approx(solved.y[:2, -1], rel=1e-6)


def test_stiffness_may_change_along_the_part():
    # A softer outer half: δ = P/3E₁I (L³ - l³) + P l³/3E₂I with l = L/2 (Castigliano).
    chain = section_chain(bar(L), X, 2001)
    modulus = np.where(chain.positions < L / 2, 3000.0, 1500.0)
    found = diagrams(chain, cantilever(0.0, down(L, P)), modulus, twist=False)
    expected = P * (L**3 - (L / 2) ** 3) / (3 * EI) + P * (L / 2) ** 3 / (3 * EI / 2)
    assert sag(found, L) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: LoadCase("x", (), ()), "not held"),
        (lambda: LoadCase("x", (Support.pinned(3.0),), ()), "not held"),
        (lambda: over_two_supports(5.0, 5.0), "one station"),
        (lambda: SpreadLoad(5.0, 5.0, (0, 0, 1)), "end after it starts"),
        (lambda: PointLoad(math.nan), "finite"),
        (lambda: Support(math.inf), "finite"),
    ],
)
def test_cases_that_cannot_be(make, match):
    with pytest.raises(LoadError, match=match):
        make()


@pytest.mark.parametrize(
    ("case", "match"),
    [
        (cantilever(0.0, down(201.0, 1.0)), "beside the part"),
        (over_two_supports(-1.0, 100.0), "beside the part"),
        (over_two_supports(50.0, 50.0 + 1e-8), "one station"),
        (
            LoadCase("x", (Support(0.0), Support(9.0)), (PointLoad(3.0, (1.0, 0, 0)),)),
            "slide along",
        ),
        (
            LoadCase(
                "x",
                (Support(0.0, twist=False), Support(9.0, twist=False)),
                (PointLoad(3.0, moment=(1.0, 0, 0)),),
            ),
            "turn about",
        ),
    ],
)
def test_cases_that_do_not_suit_the_part(case, match):
    with pytest.raises(LoadError, match=match):
        diagrams(bar_chain(L), case, E_BAR)


def test_moduli_must_be_above_0():
    with pytest.raises(ValueError, match="above 0"):
        diagrams(bar_chain(L), cantilever(0.0), 0.0)
