"""Tape over a seam. Expected values: mass balance, and figures by hand from densities."""

import math

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.joint.tape import (
    ADHESION,
    SAFETY,
    TAPER_ADVICE,
    check_tape,
    tape_figures,
    tape_for,
)
from splitplanner.plan import Cut, Fastening, Tape, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import FIBRE_DENSITY, RESIN_DENSITY, ply_thickness, resin_weight


@pytest.fixture(scope="module")
def seam():
    (found,) = divide(Solid.box((50, 4, 40)), [Cut(Plane((0.0, 0.0, 1.0), 20.0))]).seams
    return found


@pytest.mark.parametrize(
    ("fibre", "weight", "thickness", "resin"),
    [
        # By hand: 200/1.80 + 300/1.15 = 111.1 + 260.9 um, and so on.
        ("carbon", 200, (0.372, 0.285, 0.227), (300, 200, 133)),
        ("glass", 163, (0.277, 0.206, 0.158), (244, 163, 109)),
        ("glass", 300, (0.509, 0.379, 0.292), (450, 300, 200)),
    ],
)
def test_ply_thickness_and_resin(fibre, weight, thickness, resin):
    for share, thick, wet in zip((0.4, 0.5, 0.6), thickness, resin, strict=True):
        assert ply_thickness(fibre, weight, share) == pytest.approx(thick, abs=6e-4)
        assert resin_weight(weight, share) == pytest.approx(wet, abs=0.6)


def test_fibre_volume_share_of_carbon():
    # 111.1 um of fibre in plies of 372, 285 and 227 um.
    for share, volume in ((0.4, 0.299), (0.5, 0.390), (0.6, 0.489)):
        figures = tape_figures(Tape("carbon", 200.0, 1, share, 40.0, 100.0))
        assert figures.fibre_volume_share == pytest.approx(volume, abs=6e-4)


@pytest.mark.parametrize("fibre", FIBRE_DENSITY)
@pytest.mark.parametrize("share", [0.3, 0.5, 0.65])
@pytest.mark.parametrize("plies", [1, 3])
def test_mass_balance(fibre, share, plies):
    """Densities by volume shares weigh as much as fibre and resin do: t·rho = w / X."""
    tape = Tape(fibre, 220.0, plies, share, 44.0, 730.0)
    figures = tape_figures(tape)
    volume = figures.fibre_volume_share
    density = FIBRE_DENSITY[fibre] * volume + RESIN_DENSITY * (1 - volume)
    assert figures.ply_thickness * 1e3 * density == pytest.approx(220.0 / share)
    assert figures.thickness == pytest.approx(plies * figures.ply_thickness)
    # The laminate as a block: length, width and thickness by its density, g/cm3 in mm3.
    block = 44.0 * 730.0 * figures.thickness * density * 1e-3
    assert figures.fibre_mass + figures.resin_mass == pytest.approx(block)
    assert figures.fibre_mass == pytest.approx(share * block)
    assert 1.2 <= figures.mixed_mass / figures.resin_mass <= 1.3
    assert figures.area == pytest.approx(44.0 * 730.0)


def test_equal_weights_by_default():
    tape = tape_for(1000.0, Fastening(tape_plies=1))
    figures = tape_figures(tape)
    assert figures.fibre_mass == pytest.approx(figures.resin_mass)
    # 1 m of 30 mm glass of 163 g/m2: 0.03 m2.
    assert figures.fibre_mass == pytest.approx(0.03 * 163.0)


def test_width():
    thin = tape_for(400.0, Fastening(tape_plies=2))
    assert thin.width == 30.0
    assert thin.length == 400.0
    thick = tape_for(400.0, Fastening(tape_plies=4, tape_weight=300.0))
    # Four plies of 0.379 mm (300/2.55 + 300/1.15 um), 20 times that to each side.
    assert thick.width == pytest.approx(40 * 4 * (300 / 2550 + 300 / 1150))
    assert tape_figures(thick).overlap == pytest.approx(20 * tape_figures(thick).thickness)


def test_no_tape():
    assert tape_for(400.0, Fastening()) is None
    assert tape_for(0.0, Fastening(tape_plies=1)) is None


def test_unknown_fibre(seam):
    with pytest.raises(WorkshopError, match="carbon, glass, aramid"):
        tape_for(10.0, Fastening(tape_plies=1, tape_fibre="hemp"))
    with pytest.raises(WorkshopError, match="hemp"):
        check_tape(Tape("hemp", 100.0, 1, 0.5, 30.0, 10.0), seam)


def test_check(seam):
    good = tape_for(100.0, Fastening(tape_plies=2))
    assert check_tape(good, seam, 4.0) == ()
    narrow = Tape("glass", 300.0, 4, 0.5, 30.0, 100.0)
    (short,) = check_tape(narrow, seam)
    assert short.kind == "tape.short"
    assert short.measured == 15.0
    assert short.allowed == pytest.approx(12 * 4 * (300 / 2550 + 300 / 1150))
    assert seam.name in short.message
    assert math.isclose(short.where[0][2], 20.0)
    (thick,) = check_tape(tape_for(100.0, Fastening(tape_plies=6)), seam, 1.2)
    assert thick.kind == "tape.thick"
    assert thick.measured == pytest.approx(6 * (163 / 2550 + 163 / 1150))


def test_sentences_for_the_papers():
    text = " ".join(SAFETY)
    for word in ("allergic", "gloves", "Dust", "safety data sheets"):
        assert word in text
    assert all(sentence.endswith(".") for sentence in (*SAFETY, ADHESION, TAPER_ADVICE))
