"""Sheet metal on the shelf, against physics and standards' values, and the user's own rows."""

import math
from dataclasses import replace

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.workshop import SheetMetal, hardware_shelf, own_shelf

SHELF = hardware_shelf()


@pytest.mark.parametrize(
    ("name", "sound", "strongest"),
    # Speed of sound in a thin rod, √(E / ρ), m/s: CRC Handbook of Chemistry and Physics, "Speed of
    # sound in various media" (from memory): aluminium 5000, mild steel 5200, stainless 347 5000.
    # The proof stress of the common grades: none of 5754, S235 and 1.4301 promises more in
    # EN 485-2, EN 10025-2 and EN 10088-2 (from memory) than EN AW-5754 H22, S235, and
    # cold strip of 1.4301.
    [("aluminium", 5000, 130), ("steel", 5200, 235), ("stainless steel", 5000, 230)],
)
def test_generic_metals_are_as_stiff_and_heavy_as_they_sound(name, sound, strongest):
    metal = SHELF.sheet_metal(name)
    speed = math.sqrt(metal.stiffness * 1e6 / (metal.density * 1e3))
    assert speed == pytest.approx(sound, rel=0.03)
    assert strongest / 2 < metal.proof_stress <= strongest
    assert metal.is_generic
    assert "replace by your data sheet" in metal.source
    assert "from memory" in metal.source


def test_a_strip_weighs_what_it_does():
    # Closed form: 400 x 20 x 4 mm are 32 cm³.
    assert SHELF.sheet_metal("aluminium").mass(400 * 20 * 4) == pytest.approx(32 * 2.7)


def test_an_unknown_metal_is_told_with_those_there_are():
    with pytest.raises(
        WorkshopError, match=r"sheet metal “brass” .* “aluminium”, “steel” and “stainless steel”\."
    ):
        SHELF.sheet_metal("brass")


def test_own_rows_come_first(tmp_path):
    folder = tmp_path / "hardware"
    folder.mkdir()
    (folder / "sheet_metals.csv").write_text(
        "name,density,stiffness,proof_stress,source\n"
        "brass,8.4,105000,200,my mill certificate\n"
        "steel,7.85,205000,355,\n",
        encoding="utf-8",
    )
    kept = own_shelf(tmp_path)
    assert not kept.faults
    assert kept.shelf.sheet_metal("brass").source == "my mill certificate"
    steel = kept.shelf.sheet_metal("steel")
    assert (steel.stiffness, steel.proof_stress, steel.is_generic) == (205000, 355, False)
    assert kept.shelf.sheet_metal("aluminium") == SHELF.sheet_metal("aluminium")
    # Each name is told once.
    with pytest.raises(WorkshopError, match="brass”, “steel”, “aluminium” and “stainless steel”"):
        kept.shelf.sheet_metal("copper")


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("name", " ", "give the name"),
        ("density", 2700.0, "density is in g/cm³"),
        ("stiffness", 70.0, "stiffness is in MPa"),
        ("proof_stress", math.nan, "proof stress is in MPa"),
    ],
)
def test_wrong_values_are_told(field, value, said):
    metal = SheetMetal("tin", 7.3, 45_000, 10, "mine")
    with pytest.raises(WorkshopError, match=said):
        replace(metal, **{field: value})
