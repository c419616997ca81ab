"""Filament of prints whose volume is known, and how far spools reach."""

import math

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.findings import Severity
from splitplanner.score.filament import (
    bed_spool_findings,
    filament_use,
    spool_ends,
    spool_findings,
    spool_use,
)
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


def ends_by_steps(masses, full, left):
    """The same gram by gram: at which gram of which print a spool that was in use runs out."""
    found, on_it, is_started = [], left, True
    for name, mass in masses.items():
        for done in range(int(mass)):
            if on_it == 0:
                if done > 0:
                    found.append((name, done, is_started))
                on_it, is_started = full, False
            on_it -= 1
    return found


@pytest.mark.parametrize("left", [0, 1, 99, 120, 300, 520, 749, 750, 1319, 1320, 5000])
@pytest.mark.parametrize(
    "masses", [{"1": 120, "2": 400, "3": 800}, {"1": 2300}, {"1": 750, "2": 750}, {}]
)
def test_spools_end_where_they_do_gram_by_gram(masses, left):
    found = spool_ends(masses, PETG, left)
    assert [(each.name, each.after, each.is_started) for each in found] == ends_by_steps(
        masses, 750, left
    )


def test_spools_are_told_of_by_the_bed_on_which_they_end():
    masses = {"Bed 1": 120.0, "1.2": 400.0, "Bed 3": 700.0, "Bed 4": 600.0}
    titles = {"Bed 1": "Bed 1 (pieces 1 and 2)", "1.2": "Bed 2 (piece 3)"}
    titles |= {"Bed 3": "Bed 3 (pieces 4 and 5)", "Bed 4": "Bed 4 (pieces 6 and 7)"}
    started, more = bed_spool_findings(masses, PETG, 300.0, titles)
    assert (started.kind, started.subject) == ("filament.started_spool", "1.2")
    assert (started.measured, started.allowed) == (400, 180)
    assert started.message.startswith(
        "Bed 2 (piece 3) takes 400 g, and the started spool, with 300 g before the first bed, is "
        "empty after 180 g of it"
    )
    # 220 g of the second bed and 530 of the third are a full one; 170 + 580 of the fourth another.
    assert "All beds take 1820 g, of which 300 g are left" in more.message
    assert "have 3 more spools of 750 g ready; full ones are empty during" in more.message
    assert more.message.endswith("Bed 3 (pieces 4 and 5) and Bed 4 (pieces 6 and 7).")
    # Empty just when a bed ends: nobody has to be there.
    (more,) = bed_spool_findings({"1": 300.0, "2": 200.0}, PETG, 300.0)
    assert more.message.endswith("have 1 more spool of 750 g ready.")
    assert bed_spool_findings(masses, PETG) == bed_spool_findings(masses, PETG, 1820.0) == ()
    (large,) = bed_spool_findings({"1": 900.0}, PETG, None, {"1": "Bed 1 (piece 1)"})
    assert (large.kind, large.severity) == ("filament.full_spool", Severity.WARNING)
    assert large.message.startswith("Bed 1 (piece 1) takes 900 g, more than the 750 g of a full")
    with pytest.raises(WorkshopError, match="must be 0 g or above"):
        bed_spool_findings(masses, PETG, -1.0)
