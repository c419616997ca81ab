"""Parts that twist and shear. Expected values: closed forms, named at each check."""

import math

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from splitplanner.plan import LoadCase, PointLoad, Support, cantilever, twisted
from splitplanner.solid import Plane, Solid
from splitplanner.strength import diagrams, section_chain, torsion
from tests.strength.bars import bar_chain, tube

Z = (0.0, 0.0, 1.0)
CHANNEL = box(0, 0, 40, 30).difference(box(3, 3, 37, 31))


def prism(shape, length, count):
    return section_chain(Solid.prism(shape, Plane(Z, 0.0), 0.0, length), Z, count)


def test_twist():
    # T L / GJ; T / W.
    chain = section_chain(tube(), (0, 0, 1), 21)
    found = diagrams(chain, twisted(0.0, 200.0, 8000.0, (0, 0, 2)), 2700.0, 1000.0)
    figures = torsion(chain.shapes[0])
    expected = math.degrees(8000 * 200 / (1000 * figures.constant))
    assert found.twist[-1] == pytest.approx(expected, rel=0.02)
    assert found.torque == pytest.approx(np.full(len(found.positions), 8000.0))
    assert found.twist_stress.max() == pytest.approx(8000 / figures.modulus, rel=0.1)
    assert found.twist_stress.min() == pytest.approx(found.twist_stress.max())
    assert found.reactions[0].moment == pytest.approx((0, 0, -8000.0))
    # The modulus of rigidity that is taken where none is given.
    assert diagrams(chain, found.case, 2700.0).twist[-1] == pytest.approx(found.twist[-1])


def test_shear_adds_to_the_deflection():
    # P L³ / 3EI + 6/5 P L / GA of a rectangle (Timoshenko beam with the energy's shear area).
    found = diagrams(
        bar_chain(100.0), cantilever(0.0, PointLoad(100.0, (0, 0, -10.0))), 3000.0, 900.0
    )
    expected = 10 * 100**3 / (3 * 5e6) + 1.2 * 10 * 100 / (900 * 200)
    assert -found.deflection_in_space[-1, 2] == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("length", [100.0, 400.0, 3000.0])
def test_a_clamped_channel_cannot_warp(length):
    # φ = T / GJ (L - λ tanh(L / λ)), λ² = EΓ / GJ (Vlasov): clamped at one end, free at the other.
    # At the free end all torque is carried freely but for 1 / cosh, at the clamp none.
    chain = prism(CHANNEL, length, 400)
    figures, torque = chain.torsions[0], 100.0
    found = diagrams(chain, twisted(0.0, length, torque, Z), 2000.0, 700.0)
    rigid = 700 * figures.constant
    reach = math.sqrt(2000 * figures.warping_constant / rigid)
    expected = torque / rigid * (length - reach * math.tanh(length / reach))
    assert math.radians(found.twist[-1]) == pytest.approx(expected, rel=2e-3)
    assert found.torque == pytest.approx(np.full(len(found.torque), torque))
    assert found.free_torque[0] == pytest.approx(0.0, abs=0.05 * torque)
    assert found.free_torque[-1] == pytest.approx(
        torque * (1 - 1 / math.cosh(length / reach)), rel=0.01
    )
    # The bimoment at the clamp is T λ tanh(L / λ): its stress is B ω / Γ.
    stress = torque * reach * math.tanh(length / reach)
    stress *= figures.most_warping / figures.warping_constant
    assert found.warping_stress[0] == pytest.approx(stress, rel=0.05)
    # Clapeyron.
    assert found.energy == pytest.approx(0.5 * torque * math.radians(found.twist[-1]), rel=1e-9)


def test_a_force_through_the_shear_centre_does_not_twist():
    chain = prism(CHANNEL, 400.0, 100)
    figures = chain.torsions[0]
    u, v = chain.centroids[0] + figures.shear_centre
    through = PointLoad(400.0, (5.0, 0.0, 0.0), at=(u, v, 0.0))
    found = diagrams(chain, cantilever(0.0, through), 2000.0, 700.0)
    assert np.abs(found.torque).max() < 1e-6
    assert np.abs(found.twist).max() < 1e-9
    # Through the centroid: by the arm between them, r x F about the axis.
    beside = diagrams(chain, cantilever(0.0, PointLoad(400.0, (5.0, 0.0, 0.0))), 2000.0, 700.0)
    torque = 5.0 * figures.shear_centre[1]
    assert beside.torque == pytest.approx(np.full(len(beside.torque), torque), rel=1e-6)
    alone = diagrams(chain, twisted(0.0, 400.0, torque, Z), 2000.0, 700.0)
    assert beside.twist == pytest.approx(alone.twist, abs=1e-9)
    assert beside.normal_stress == pytest.approx(found.normal_stress)
    plain = diagrams(chain, beside.case, 2000.0, 700.0, twist=False)
    assert plain.normal_stress == pytest.approx(found.normal_stress)
    assert not plain.twist_stress.any()
    assert not plain.warping_stress.any()


@pytest.mark.parametrize(
    "supports",
    [
        (Support.clamp(0.0),),
        (Support.pinned(20.0), Support.rolling(380.0)),
        (Support.clamp(0.0), Support.rolling(250.0), Support(400.0, clamped=True)),
    ],
)
def test_energy_and_reciprocity_with_warping(supports):
    # Clapeyron's and Maxwell's theorems hold for all that is linear, whatever the supports.
    chain = prism(CHANNEL, 400.0, 60)
    places, forces = (120.0, 320.0), (np.array([4.0, -2.0, 0.0]), np.array([-3.0, 5.0, 0.0]))

    def with_forces(*sizes):
        loads = tuple(
            PointLoad(at, tuple(size * force))
            for at, size, force in zip(places, sizes, forces, strict=True)
        )
        found = diagrams(chain, LoadCase("x", supports, loads), 2000.0, 700.0)
        rows = [int(np.argmin(np.abs(found.positions - at))) for at in places]
        return found, [
            float(found.deflection_in_space[row] @ force)
            for row, force in zip(rows, forces, strict=True)
        ]

    _, (_, there) = with_forces(1.0, 0.0)
    _, (here, _) = with_forces(0.0, 1.0)
    assert there == pytest.approx(here, rel=1e-6)
    found, moved = with_forces(1.0, 1.0)
    assert found.energy == pytest.approx(sum(moved) / 2, rel=1e-6)


def test_warping_constant_of_a_channel():
    # Thin walls: t b³ h² (3b + 2h) / (12 (6b + h)) (Timoshenko and Gere, Theory of Elastic
    # Stability); frozen 6.2348e6 for the one of 40 x 30 x 3 (sectionproperties 3.10.2).
    t, b, h = 0.2, 30.0, 60.0
    thin = box(-t / 2, -t / 2, h + t / 2, b).difference(box(t / 2, t / 2, h - t / 2, b + 1))
    expected = t * b**3 * h**2 * (3 * b + 2 * h) / (12 * (6 * b + h))
    assert torsion(thin).warping_constant == pytest.approx(expected, rel=0.01)
    assert torsion(CHANNEL, 0.003).warping_constant == pytest.approx(6.2348e6, rel=0.01)


def test_shear_areas():
    # Rectangle 5/6 A; thin round tube A / 2 (Cowper, with Poisson's ratio 0); frozen 166.67.
    uu, vv, uv = torsion(box(0, 0, 10, 20), 0.003).shear_flexibility
    assert (1 / uu, 1 / vv) == pytest.approx((166.67, 166.67), rel=2e-3)
    assert uv == pytest.approx(0.0, abs=1e-5 * uu)
    turn = np.arange(720) * 2 * np.pi / 720
    corners = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    thin = Polygon(50.0 * corners, [49.5 * corners])
    uu, vv, _ = torsion(thin).shear_flexibility
    assert (1 / uu, 1 / vv) == pytest.approx((thin.area / 2,) * 2, rel=0.01)


def test_a_channel_against_finite_cells():
    # The test channel 500 x 200 x 150, walls of 3, E 2000, ν 0.35, clamped, 100 N at its end. In
    # three dimensions (quadratic tetrahedra and finite cells): 0.674 under a force along its webs,
    # 0.628 under one across, at the floor. 0.722 MPa half way.
    shape = box(0, 0, 200, 150).difference(box(3, 3, 197, 151))
    chain = prism(shape, 500.0, 100)
    down = PointLoad(500.0, (0.0, -100.0, 0.0))
    found = diagrams(chain, cantilever(0.0, down), 2000.0, 2000 / 2.7)
    assert -found.deflection_in_space[-1, 1] == pytest.approx(0.674, rel=0.03)
    middle = int(np.argmin(np.abs(found.positions - 250.0)))
    assert np.abs(found.normal_stress[middle]).max() == pytest.approx(0.722, rel=0.01)
    across = PointLoad(500.0, (100.0, 0.0, 0.0), at=(100.0, 1.5, 500.0))
    found = diagrams(chain, cantilever(0.0, across), 2000.0, 2000 / 2.7)
    arm = 1.5 - chain.centroids[0, 1]
    floor = found.deflection_in_space[-1, 0] - math.radians(found.twist[-1]) * arm
    assert floor == pytest.approx(0.628, rel=0.08)


def test_tips_have_no_stress_from_warping():
    # A channel that ends in a stub of a hundredth of its warping: no stress is told in the stub,
    # and next to the clamp what the plain channel has.
    plain = Solid.prism(CHANNEL, Plane(Z, 0.0), 0.0, 400.0)
    stub = Solid.box((6.0, 3.0, 20.0), (17.0, 0.0, 399.0))
    load = PointLoad(400.0, moment=(0.0, 0.0, 100.0))
    chain = section_chain(plain.union(stub), Z, 420)
    found = diagrams(chain, cantilever(0.0, load), 2000.0)
    stress = found.warping_stress
    assert stress[found.positions > 402.0] == pytest.approx(0.0, abs=1e-12)
    assert stress.argmax() == 0
    alone = diagrams(prism(CHANNEL, 400.0, 400), cantilever(0.0, load), 2000.0)
    assert stress[0] == pytest.approx(alone.warping_stress[0], rel=0.03)
