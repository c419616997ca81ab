"""Filament of prints whose volume is known, and how far spools reach."""

import math

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.findings import Severity
from splitplanner.score.filament import filament_use, spool_findings, spool_use
from splitplanner.score.layering import layering
from splitplanner.score.print_time import layered_print
from splitplanner.solid import Solid
from splitplanner.workshop import Material, Printer

PETG = Material("PETG", 1.25, 24.0, spool_mass=750.0)


@pytest.mark.parametrize("diameter", [1.75, 2.85])
def test_a_solid_block_weighs_what_it_holds(diameter):
    printer = Printer(infill=1.0)
    block = Solid.box((80, 50, 40))
    made = layered_print(layering(block, (0, 1, 1), printer), printer)
    material = Material("PETG", 1.25, 24.0, filament_diameter=diameter)
    found = filament_use(made, material, printer)
    # 160 cm³ of 1.25 g/cm³, at 24 for each kg, as a round wire.
    assert found.mass == pytest.approx(200, rel=1e-4)
    assert found.cost == pytest.approx(4.80, rel=1e-4)
    assert found.length == pytest.approx(160_000 / (math.pi / 4 * diameter**2), rel=1e-4)
    bare = filament_use(made, Material("PETG", 1.25), Printer(infill=1.0, mass_factor=1.1))
    assert bare.cost is None
    assert bare.mass == pytest.approx(220, rel=1e-4)


@pytest.mark.parametrize(
    ("mass", "left", "is_enough", "new", "over"),
    [
        (200.0, 250.0, True, 0, 50.0),
        (250.0, 250.0, True, 0, 0.0),
        (0.0, 0.0, True, 0, 0.0),
        (251.0, 250.0, False, 1, 749.0),
        (750.0, 0.0, False, 1, 0.0),
        (1800.0, 250.0, False, 3, 700.0),
    ],
)
def test_spools_needed(mass, left, is_enough, new, over):
    found = spool_use(mass, PETG, left)
    assert (found.mass, found.left) == (mass, left)
    assert (found.is_enough, found.new_spools) == (is_enough, new)
    assert found.over == pytest.approx(over)


def test_what_is_to_be_seen_to_before_printing():
    masses = {"1": 120.0, "2": 400.0, "3": 800.0}
    large, started, spools = spool_findings(masses, PETG, 300.0)
    assert (large.kind, large.severity) == ("filament.full_spool", Severity.WARNING)
    assert (large.subject, large.measured, large.allowed, large.unit) == ("3", 800, 750, "g")
    assert (started.kind, started.severity) == ("filament.started_spool", Severity.NOTE)
    assert (started.subject, started.measured, started.allowed) == ("2", 400, 300)
    assert "“2” takes 400 g, but only 300 g are left" in started.message
    # 1320 g, 300 there: two more of 750 g.
    assert (spools.kind, spools.measured, spools.allowed) == ("filament.spools", 1320, 300)
    assert "have 2 more spools of 750 g ready" in spools.message
    (alone,) = spool_findings(masses, PETG)
    assert alone.message == large.message
    assert spool_findings({"1": 120.0, "2": 180.0}, PETG, 300.0) == ()
    (last,) = spool_findings({"1": 250.0, "2": 280.0}, PETG, 300.0)
    assert "have 1 more spool of 750 g" in last.message


@pytest.mark.parametrize(("mass", "left"), [(-1.0, 0.0), (1.0, -1.0), (math.nan, 0.0)])
def test_less_than_nothing_is_refused(mass, left):
    with pytest.raises(WorkshopError, match="must be 0 g or above"):
        spool_use(mass, PETG, left)
