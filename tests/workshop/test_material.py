"""Materials: what a piece of them weighs and costs, and what is refused."""

import math
from dataclasses import fields, replace
from pathlib import Path

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.workshop import (
    Kept,
    Material,
    example_material,
    generic_materials,
    keep_material,
    known_material,
    own_materials,
    read_material,
)
from splitplanner.workshop.material import LIMITS

# Ranges of unfilled grades in plastics handbooks and data sheets, g/cm³, by kind (from memory).
RANGES = {
    "PLA": (1.21, 1.27),
    "PETG": (1.23, 1.29),
    "ABS": (1.02, 1.08),
    "ASA": (1.05, 1.10),
    "PA12": (1.00, 1.04),
    "PC": (1.18, 1.22),
}
# Ranges of data sheets of filaments (from memory): strength along and across the layers, MPa;
# stiffness along, MPa; temperatures of nozzle and bed and where it softens, °C.
SHEETS = {
    "PLA": ((35, 65), (20, 50), (2300, 3600), (190, 230), (45, 65), (52, 60)),
    "PETG": ((35, 55), (15, 45), (1500, 2200), (225, 255), (65, 90), (62, 76)),
    "ABS": ((28, 45), (10, 30), (1600, 2400), (230, 265), (90, 110), (84, 104)),
    "ASA": ((28, 50), (12, 35), (1600, 2400), (235, 265), (90, 110), (86, 104)),
    "PA12": ((30, 55), (20, 45), (1000, 1800), (240, 280), (70, 110), (90, 150)),
    "PC": ((45, 70), (25, 55), (1900, 2500), (260, 310), (90, 120), (110, 145)),
}

FULL = Material(
    "my PETG", 1.27, 24.0, "data sheet 3", 44.0, 29.0, 1950.0, 1700.0, 6.5, 245.0, 85.0, 71.0,
    52.0, (0.4, 0.4, 0.25), 750.0, 2.85, (0.9, 0.8, -0.6), False,
)  # fmt: skip


def test_the_built_in_ones_are_one_of_each_kind_and_say_what_they_are():
    materials = generic_materials()
    assert [material.name.split()[0] for material in materials] == list(RANGES)
    for material in materials:
        low, high = RANGES[material.name.split()[0]]
        assert low <= material.density <= high
        assert "(generic)" in material.name
        assert "from memory" in material.note
        assert "replace by your data sheet" in material.note
        assert material.price is None


def test_the_built_in_ones_have_figures_as_data_sheets_do_and_none_that_must_be_measured():
    for material in generic_materials():
        sheet = SHEETS[material.name.split()[0]]
        figures = (
            material.strength_xy, material.strength_z, material.stiffness_xy,
            material.nozzle_temperature, material.bed_temperature, material.softening_temperature,
        )  # fmt: skip
        for value, (low, high) in zip(figures, sheet, strict=True):
            assert low <= value <= high, material.name
        # Layers hold less than lines do, and give no less.
        assert material.strength_z < material.strength_xy
        assert material.stiffness_z <= material.stiffness_xy
        assert (material.impact, material.overhang_limit, material.shrink) == (None, None, ())
        assert (material.spool_mass, material.filament_diameter) == (1000.0, 1.75)


def test_the_material_of_examples_is_generic_and_says_that_its_price_is_made_up():
    material = example_material()
    (petg,) = [each for each in generic_materials() if each.name == material.name]
    assert replace(material, price=None, note=petg.note) == petg
    assert material.cost(1000.0 / petg.density * 1000.0) == pytest.approx(20.0)
    assert material.note.endswith("replace by your data sheet; the price is an example")
    # The file beside the examples says the same.
    assert read_material(Path(__file__).parents[2] / "examples" / "petg.toml") == material


def test_what_a_material_does_not_tell_is_that_of_its_kind():
    kind = next(each for each in generic_materials() if each.name.startswith("PETG"))
    bare = Material("PETG of mine", 1.3)
    found, is_generic = known_material(bare)
    assert is_generic
    assert (found.strength_xy, found.strength_z) == (kind.strength_xy, kind.strength_z)
    assert (found.stiffness_xy, found.density) == (kind.stiffness_xy, 1.3)
    strong = replace(bare, strength_xy=40.0, strength_z=20.0)
    found, is_generic = known_material(strong)
    assert not is_generic
    assert (found.name, found.strength_z) == ("PETG of mine", 20.0)
    assert found.stiffness_xy == kind.stiffness_xy
    # What is told counts; one of the two serves for both.
    found, is_generic = known_material(replace(bare, stiffness_xy=1000.0))
    assert (found.stiffness_xy, found.stiffness_z, is_generic) == (1000.0, 1000.0, True)
    assert known_material(kind) == (kind, False)
    first = generic_materials()[0]
    assert known_material(None) == (first, True)
    assert known_material(Material("unheard of", 1.3)) == (replace(first, density=1.3), True)


def test_a_kilogram_of_petg_is_some_330_m_of_filament():
    # 1000 g / 1.27 g/cm³ / (pi/4 x 1.75² mm²) = 327.4 m; of 2.85 mm it is 123.4 m.
    volume = 1000.0 / 1.27 * 1000.0
    assert Material("petg", 1.27).filament_length(volume) / 1000 == pytest.approx(327.4, abs=0.05)
    thick = Material("petg", 1.27, filament_diameter=2.85)
    assert thick.filament_length(volume) / 1000 == pytest.approx(123.4, abs=0.05)


def test_every_field_is_kept_in_the_users_folder(tmp_path):
    assert all(getattr(FULL, field.name) not in (None, (), field.default) for field in fields(FULL))
    keep_material(tmp_path, FULL)
    keep_material(tmp_path, Material("bare", 1.0))
    assert own_materials(tmp_path) == Kept((Material("bare", 1.0), FULL))


def test_a_file_of_the_user_says_what_he_knows(tmp_path):
    path = tmp_path / "blue.toml"
    path.write_text("density = 1.3\nshrink = [0.2, 0.3, 0]\nstrength_z = 31\n", encoding="utf-8")
    wanted = Material("blue", 1.3, strength_z=31.0, shrink=(0.2, 0.3, 0.0))
    assert read_material(path) == wanted
    path.write_text("density = 1.3\nstrength = 31\n", encoding="utf-8")
    with pytest.raises(WorkshopError, match="wrong entry “strength”"):
        read_material(path)


@pytest.mark.parametrize("limit", LIMITS, ids=lambda limit: limit.field)
def test_a_figure_beyond_its_range_is_refused(limit):
    for value in (limit.least, limit.most):
        assert getattr(replace(FULL, **{limit.field: value}), limit.field) == value
    for value in (limit.least * 0.99 - 1e-9, limit.most * 1.01, math.nan):
        with pytest.raises(WorkshopError, match=f"the {limit.label} must be from"):
            replace(FULL, **{limit.field: value})


@pytest.mark.parametrize(
    ("shrink", "expected"),
    [
        ((0.3,), "along x, y and z, or leave it out; got 1 values"),
        ((0.3, 0.3, 25.0), "in percent, from -20 to 20, got 25"),
        ((0.3, math.nan, 0.3), "in percent"),
    ],
)
def test_a_shrink_is_three_percents(shrink, expected):
    with pytest.raises(WorkshopError, match=expected):
        replace(FULL, shrink=shrink)
    with pytest.raises(WorkshopError, match=f"the shrink by annealing .*{expected[-9:]}"):
        replace(FULL, annealing=shrink)


def test_what_lengths_come_out_as():
    # By hand: 1 - 0.005 is left of a print, and of that 1 + 0.01 of the annealed one.
    print_alone = Material("petg", 1.27, shrink=(0.5, 0.5, 0.0))
    assert print_alone.sizes == pytest.approx((0.995, 0.995, 1.0), abs=1e-15)
    annealed = replace(print_alone, annealing=(1.0, 2.0, -1.0))
    assert annealed.sizes == pytest.approx((0.98505, 0.9751, 1.01), abs=1e-12)
    assert Material("petg", 1.27).sizes == (1.0, 1.0, 1.0)


def test_mass_and_cost():
    # 10 x 10 x 10 cm of 1.25 g/cm³ are 1.25 kg, at 24 for each kg.
    material = Material("petg", 1.25, 24.0)
    assert material.mass(1e6) == pytest.approx(1250.0)
    assert material.cost(1e6) == pytest.approx(30.0)
    assert Material("petg", 1.25).cost(1e6) is None
    assert Material("found", 1.25, 0.0).cost(1e6) == 0.0


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ((" ", 1.2), "needs a name"),
        (("x", 0.0), "density is in g/cm³, mostly between 0.9 and 4, got 0"),
        (("x", 1240.0), "got 1240"),
        (("x", math.nan), "got nan"),
        (("x", math.inf), "got inf"),
        (("x", 1.2, -1.0), "price for each kg must be 0 or above, got -1"),
        (("x", 1.2, math.nan), "price for each kg must be 0 or above"),
    ],
)
def test_what_is_no_material_is_refused(values, expected):
    with pytest.raises(WorkshopError, match=expected):
        Material(*values)
