"""Pieces along a part with their layers. Expected values: closed forms, named at each check."""

import math

import numpy as np
import pytest

from splitplanner.errors import WorkshopError
from splitplanner.plan import PointLoad, cantilever, twisted
from splitplanner.strength import (
    LayeredStiffness,
    LayeredStrength,
    Stretch,
    diagrams,
    layer_findings,
    layer_shares,
    moduli_along,
    torsion,
)
from splitplanner.workshop import Material
from tests.strength.bars import bar_chain

PETG = Material(
    "PETG", 1.27, strength_xy=45.0, strength_z=27.0, stiffness_xy=2000.0, stiffness_z=1500.0
)
FLAT, UPRIGHT = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
L = 200.0


def pieces(first=FLAT, second=UPRIGHT, middle=100.0):
    return [Stretch("1", 0.0, middle, first, PETG), Stretch("2", middle, L, second, PETG)]


def test_moduli_by_print_direction():
    chain = bar_chain(L, count=40)
    modulus, rigid = moduli_along(chain, pieces())
    first = chain.positions < 100.0
    assert modulus[first] == pytest.approx(np.full(first.sum(), 2000.0))
    assert modulus[~first] == pytest.approx(np.full((~first).sum(), 1500.0))
    stiff = LayeredStiffness.of(PETG)
    assert rigid[~first] == pytest.approx(np.full((~first).sum(), stiff.shear))
    # Side by side: the mean. Beyond all pieces: the nearest.
    side, _ = moduli_along(
        chain, [Stretch("a", 0, L, FLAT, PETG), Stretch("b", 0, L, UPRIGHT, PETG)]
    )
    assert side == pytest.approx(np.full(40, 1750.0))
    gone, _ = moduli_along(chain, [Stretch("a", 50, 60, FLAT, PETG)])
    assert gone == pytest.approx(np.full(40, 2000.0))


def test_shares_under_bending():
    # M / W over the strength along the layers in the first piece, and over that across them, where
    # they are pulled, in the second.
    chain, load = bar_chain(L), PointLoad(L, (0.0, 0.0, -10.0))
    found = diagrams(chain, cantilever(0.0, load), 2000.0)
    shares = layer_shares(found, pieces())
    stress = 10.0 * (L - found.positions) / (20 * 10**2 / 6)
    first, second = shares.piece == 0, shares.piece == 1
    assert (found.positions[first] <= 100.0 + 1e-9).all()
    assert shares.share[first] == pytest.approx(stress[first] / 45.0)
    assert shares.share[second] == pytest.approx(stress[second] / 27.0)
    assert shares.angle == pytest.approx([0.0, 90.0])
    assert shares.positions[shares.weakest] == 0.0
    turned = layer_shares(found, pieces(UPRIGHT, FLAT))
    assert turned.share.max() == pytest.approx(10 * L / (2000 / 6) / 27.0)


def test_shares_at_45_degrees():
    chain, load = bar_chain(L), PointLoad(L, (0.0, 0.0, -10.0))
    found = diagrams(chain, cantilever(0.0, load), 2000.0)
    lean = (math.sqrt(0.5), 0.0, math.sqrt(0.5))
    shares = layer_shares(found, [Stretch("1", 0.0, L, lean, PETG)])
    strength = 2 / math.sqrt(1 / 27**2 + 3 / 27**2)
    assert shares.share.max() == pytest.approx(10 * L / (2000 / 6) / strength)
    assert shares.angle == pytest.approx([45.0])


def test_shares_under_twist():
    # Layers across the axis slide on each other: τ / S.
    chain = bar_chain(L, count=11)
    found = diagrams(chain, twisted(0.0, L, 1500.0, (1, 0, 0)), 2000.0)
    shares = layer_shares(found, [Stretch("1", 0.0, L, UPRIGHT, PETG)])
    tau = 1500.0 / torsion(chain.shapes[0]).modulus
    shear = LayeredStrength.of(PETG).shear
    assert shares.share == pytest.approx(np.full(len(shares.share), tau / shear), rel=0.1)


def test_side_by_side_the_weaker_counts():
    chain, load = bar_chain(L), PointLoad(L, (0.0, 0.0, -10.0))
    found = diagrams(chain, cantilever(0.0, load), 2000.0)
    both = [Stretch("a", 0.0, L, FLAT, PETG), Stretch("b", 0.0, L, UPRIGHT, PETG)]
    shares = layer_shares(found, both)
    assert (shares.piece[shares.share > 1e-9] == 1).all()


def test_findings_name_the_piece_and_the_place():
    chain = bar_chain(L)
    parts = pieces()
    # At 0: M/W = 20 MPa of 45, in the second at 100 mm: 10 of 27.
    force = 20.0 * (2000 / 6) / L
    found = diagrams(chain, cantilever(0.0, PointLoad(L, (0.0, 0.0, -force))), 2000.0)
    shares = layer_shares(found, parts)
    assert layer_findings(found, shares, parts) == ()
    (first,) = layer_findings(found, shares, parts, safety=2.5)
    assert first.subject == "1"
    assert first.measured == pytest.approx(20 / 45)
    assert first.allowed == pytest.approx(0.4)
    assert first.where == pytest.approx(np.array([[0.0, 0.0, 0.0]]), abs=1e-9)
    assert "44%" in first.message
    assert len(layer_findings(found, shares, parts, safety=4.0)) == 2


def test_a_material_has_to_tell_its_values():
    bare = [Stretch("1", 0.0, L, FLAT, Material("x", 1.2))]
    chain = bar_chain(L, count=5)
    with pytest.raises(WorkshopError, match="stiffness"):
        moduli_along(chain, bare)
    found = diagrams(chain, cantilever(0.0, PointLoad(L, (0.0, 0.0, -1.0))), 2000.0)
    with pytest.raises(WorkshopError, match="strength"):
        layer_shares(found, bare)
    with pytest.raises(ValueError, match="at least one piece"):
        layer_shares(found, [])
