"""What single fasteners hold. Expected values: tables of standards, closed forms, hand figures."""

import math
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.errors import WorkshopError
from splitplanner.plan import Pin, Screw
from splitplanner.strength.fastener_capacity import (
    CLASSES,
    cylinder_shear,
    pin_resistances,
    rigid_pin_bearing,
    screw_hardware,
    screw_resistances,
    screw_shear,
    screw_tension,
    steel_class,
    tear_out,
    thread_pull_out,
)
from splitplanner.strength.plastic import Plastic, plastic_of
from splitplanner.workshop import Material, hardware_shelf

SHELF = hardware_shelf()
PLASTIC = Plastic(50.0, 30.0, 20.0, 50.0)
SIDES = (PLASTIC, PLASTIC)


def screw(**changes):
    plain = Screw(
        at=(0.0, 0.0, 0.0),
        axis=(0.0, 0.0, 1.0),
        standard="ISO 4762",
        size="M4",
        length=16.0,
        hold="nut",
        seat=5.0,
        washers=2,
        clearance=4.5,
        head_room=10.0,
        is_countersunk=False,
        depth=6.0,
        hole=4.5,
        nut_room=0.0,
        edge_distance=6.0,
    )
    return replace(plain, **changes)


def resistances(given, **options):
    found = screw_resistances(given, screw_hardware(given, SHELF), SIDES, **options)
    return {(one.mode, one.way): one.force for one in found}


@pytest.mark.parametrize(
    ("size", "proof", "tensile"),
    [
        ("M3", 2920, 4020),
        ("M4", 5100, 7020),
        ("M5", 8230, 11350),
        ("M6", 11600, 16100),
        ("M8", 21200, 29200),
    ],
)
def test_loads_of_class_8_8(size, proof, tensile):
    """ISO 898-1:2013, tables 4 and 5, which round the stress area first: 1 %."""
    thread = SHELF.thread(size)
    assert screw_tension(thread) == pytest.approx(proof, rel=0.01)
    assert screw_shear(thread) == pytest.approx(0.6 * tensile, rel=0.01)


def test_property_classes():
    # The name of a class says its nominal strength and yield ratio: ISO 898-1.
    for name, (strength, proof) in CLASSES.items():
        assert proof < strength
        if not name.startswith("A"):
            hundreds, tenths = name.split(".")
            assert strength == pytest.approx(100 * int(hundreds), rel=0.06)
            assert proof == pytest.approx(strength * int(tenths) / 10, rel=0.13)
    with pytest.raises(WorkshopError, match=r"choose from 4\.6"):
        steel_class("9.9")


def test_pull_out_by_hand():
    """3 mm by 6 mm at 20 MPa: 1131 N for the cylinder, 377 N for a thread."""
    assert cylinder_shear(3, 6, 20) == pytest.approx(1131, abs=0.5)
    assert thread_pull_out(3, 6, 20) == pytest.approx(377, abs=0.5)


def test_pressure_of_a_stiff_pin():
    """100 N on a pin of 4 mm, 8 mm deep: 12.5 MPa at the seam; equilibrium by integration."""
    assert rigid_pin_bearing(4, 8, 12.5) == pytest.approx(100)
    depth = (np.arange(80000) + 0.5) / 10000
    pressure = 12.5 + (-6.25 - 12.5) * depth / 8
    assert (pressure * 4 / 10000).sum() == pytest.approx(100)
    assert (pressure * depth * 4 / 10000).sum() == pytest.approx(0, abs=1e-3)


def test_tear_out_by_hand():
    # Slice at the seam: 4 F / L per mm on two planes of e - d/2.
    assert tear_out(6, 4, 8, 20) == pytest.approx(20 * 2 * (6 - 2) / 4 * 8)
    assert tear_out(1.5, 4, 8, 20) == 0.0


def test_pin_of_4_mm():
    pin = Pin((0, 0, 0), (0, 0, 1), "ISO 8734", 4.0, 16.0, 4.2, 8.5, 6.0)
    found = {one.mode: one for one in pin_resistances(pin, (PLASTIC, replace(PLASTIC, bearing=40)))}
    # ASME B18.8.5M: 13.2 kN in single shear.
    assert found["pin.steel"].force == pytest.approx(13200, rel=0.01)
    assert found["pin.bearing"].force == pytest.approx(40 * 4 * 8 / 4)
    assert found["pin.tear_out"].force == pytest.approx(320)
    assert {one.way for one in found.values()} == {"sideways"}
    soft = pin_resistances(replace(pin, standard="ISO 2338"), SIDES)
    assert soft[0].force == pytest.approx(240 * 4 * math.pi)


def test_screw_with_nut_and_washers():
    """M4 with ISO 7089 washers on a hole of 4.5 mm: 47.71 mm² bear; 22.58 under a bare head."""
    found = resistances(screw())
    assert found["screw.head", "pulled"] == pytest.approx(47.71 * 50, rel=1e-3)
    assert found["screw.nut", "pulled"] == pytest.approx(47.71 * 50, rel=1e-3)
    assert found["screw.pull_through", "pulled"] == pytest.approx(math.pi * 9 * 5 * 20)
    assert found["screw.nut_pull_through", "pulled"] == pytest.approx(math.pi * 9 * 6 * 20)
    assert found["screw.steel", "pulled"] == pytest.approx(5100, rel=0.01)
    bare = resistances(screw(washers=0))
    assert bare["screw.head", "pulled"] == pytest.approx(22.58 * 50, rel=1e-3)
    assert bare["screw.nut", "pulled"] == pytest.approx(22.58 * 50, rel=1e-3)
    assert found["screw.bearing", "sideways"] == pytest.approx(50 * 4 * 5 / 4)
    assert found["screw.tear_out", "sideways"] == pytest.approx(20 * (6 - 2.25) * 5 / 2)


def test_low_heads_stand_less():
    low = resistances(screw(standard="ISO 7380-1", washers=0))
    assert low["screw.steel", "pulled"] == pytest.approx(0.8 * screw_tension(SHELF.thread("M4")))


def test_insert():
    given = screw(size="M3", hold="insert", clearance=3.4, hole=4.2, depth=6.0, washers=0)
    assert resistances(given)["screw.insert", "pulled"] == pytest.approx(math.pi * 4 * 4.5 * 20)
    assert resistances(given, insert_pull_out=333.0)["screw.insert", "pulled"] == 333.0
    # In a hole that is shallower than the insert no more than its depth holds.
    shallow = resistances(replace(given, depth=3.0))
    assert shallow["screw.insert", "pulled"] == pytest.approx(math.pi * 4 * 3 * 20)


def test_thread_in_plastic():
    name = SHELF.forming_screws[0].name
    given = screw(
        standard=name, size="M3", hold="plastic", clearance=3.3, hole=2.75, length=16, depth=12
    )
    found = resistances(given)
    # 11 mm of thread beyond the seam, mean diameter (3 + 2.75) / 2.
    assert found["screw.thread", "pulled"] == pytest.approx(math.pi * 2.875 * 11 * 20 / 3)
    assert ("screw.nut", "pulled") not in found


def test_strength_by_direction():
    """The ends are the two strengths; the same in all directions for an isotropic material."""
    for angle in range(0, 95, 5):
        turn = np.radians(angle)
        towards = (math.sin(turn), 0.0, math.cos(turn))
        same = Plastic(40, 40, 40 / math.sqrt(3), 40)
        assert same.along(towards, (0, 0, 1)) == pytest.approx(40)
        # The criterion itself, with the stresses along and across the layers.
        found = PLASTIC.along(towards, (0, 0, 2))
        along, across = found * math.sin(turn) ** 2, found * math.cos(turn) ** 2
        shear = found * math.sin(turn) * math.cos(turn)
        used = (along / 50) ** 2 + (across / 30) ** 2 - along * across / 50**2 + (shear / 20) ** 2
        assert used == pytest.approx(1)
    assert PLASTIC.along((0, 0, -1), (0, 0, 1)) == pytest.approx(30)
    assert PLASTIC.along((0, 1, 0), (0, 0, 1)) == pytest.approx(50)


def test_plastic_of_a_material():
    material = Material("X", 1.2, strength_xy=50.0, strength_z=30.0, stiffness_xy=2500.0)
    found = plastic_of(material)
    assert (found.shear, found.bearing, found.stiffness) == (
        pytest.approx(30 / math.sqrt(3)),
        50.0,
        2500.0,
    )
    assert plastic_of(material, shear=12.0, bearing=60.0).shear == 12.0
    with pytest.raises(WorkshopError, match="“Y” along and across"):
        plastic_of(Material("Y", 1.2))
    with pytest.raises(WorkshopError, match="of the material"):
        plastic_of(None)
    with pytest.raises(ValueError, match="above 0"):
        Plastic(0.0, 1.0, 1.0, 1.0)
