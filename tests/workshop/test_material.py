"""Materials: what a piece of them weighs and costs, and what is refused."""

import math

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.workshop import Material, generic_materials

# Ranges of unfilled grades in plastics handbooks and data sheets, g/cm³, by kind (from memory).
RANGES = {
    "PLA": (1.21, 1.27),
    "PETG": (1.23, 1.29),
    "ABS": (1.02, 1.08),
    "ASA": (1.05, 1.10),
    "PA12": (1.00, 1.04),
    "PC": (1.18, 1.22),
}


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
