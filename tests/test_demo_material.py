"""A demonstration shows hours, grams, spools and cost: of a generic material, or a given one."""

import json
from dataclasses import replace

import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.solid import Solid
from tests.planned import run


@pytest.mark.parametrize(("given", "density", "price"), [(None, 1.27, 20.0), ("own", 1.0, 50.0)])
def test_a_demonstration_has_hours_grams_spools_and_cost(
    tmp_path, monkeypatch, given, density, price
):
    # As the parts of the program are made, but a block of 24 cm³, so that it does not take long.
    quick = replace(DEMO_PARTS["l_bracket"], make=lambda triangles: Solid.box((40, 30, 20)))
    monkeypatch.setitem(DEMO_PARTS, "l_bracket", quick)
    more = []
    if given is not None:
        file = tmp_path / "own.toml"
        file.write_text("density = 1.0\nprice = 50.0\nspool_mass = 2.0\n", "utf-8")
        more = ["--material", file]
    outcome = run("demo", "--part", "l_bracket", "--out", tmp_path, "--no-pictures", "--json",
                  "--quiet", *more)  # fmt: skip
    assert outcome.exit_code == 0
    record = json.loads(outcome.stdout)
    printing, (bed,) = record["printing"], record["beds"]
    assert printing["material"] == (given or "PETG (generic)")
    assert printing["print_time"] == bed["print_time"] > 0.0
    grams = printing["printed_volume"] / 1000.0 * density
    assert printing["filament_mass"] == pytest.approx(grams, rel=1e-4)
    assert bed["filament_cost"] == pytest.approx(grams / 1000.0 * price, abs=1e-4)
    assert printing["new_spools"] == (1 if given is None else -(-grams // 2.0))
    sheet = (tmp_path / "l_bracket" / "print_sheet.txt").read_text(encoding="utf-8")
    said = "replace by your data sheet; the price is an example." in " ".join(sheet.split())
    assert said == (given is None)
