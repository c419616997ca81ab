"""The figures of printers and materials in their forms: all there, kept to the bit, changed."""

from dataclasses import fields, replace

import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QDoubleSpinBox, QTabWidget

from splitplanner.errors import WorkshopError
from splitplanner.window.dialogs.material_dialog import MaterialForm
from splitplanner.window.dialogs.printer_form import PrinterForm
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Bed, Material, Printer, generic_materials

# Every figure has more digits than are shown.
ODD = Printer(
    "odd", Bed.parse("200x200x200"), outer_speed=31.23456, inner_speed=51.23456,
    infill_speed=71.23456, travel_speed=151.23456, flow_limit=12.3456789,
    least_layer_seconds=8.123456, layer_change_seconds=1.23456, travel_seconds=1.345678,
    top_layers=5, bottom_layers=3, time_factor=1.2345678, mass_factor=0.9876543,
)  # fmt: skip
FULL = Material(
    "my PETG", 1.2345678, 24.5678, "data sheet 3", 44.1234, 29.1234, 1950.5, 1700.5, 6.54321,
    245.4, 85.4, 71.4, 52.4, (0.41234, 0.41234, -0.25678), 750.4, 2.8512345,
    (0.91234, 0.81234, -0.65678), False,
)  # fmt: skip
PRINTER_BOXES = {
    "Outer lines": ("outer_speed", 45.0),
    "Inner lines": ("inner_speed", 65.0),
    "Infill speed": ("infill_speed", 95.0),
    "Travel speed": ("travel_speed", 205.0),
    "Flow limit": ("flow_limit", 15.5),
    "Least layer time": ("least_layer_seconds", 12.5),
    "Layer change": ("layer_change_seconds", 0.5),
    "Each travel": ("travel_seconds", 0.3),
    "Top layers": ("top_layers", 7),
    "Bottom layers": ("bottom_layers", 6),
    "Time factor": ("time_factor", 1.125),
    "Mass factor": ("mass_factor", 0.955),
}
MATERIAL_BOXES = {
    "Density": ("density", 1.31),
    "Price": ("price", 31.5),
    "Full spool": ("spool_mass", 500.0),
    "Filament": ("filament_diameter", 1.75),
    "Strength, along": ("strength_xy", 51.5),
    "Strength, across": ("strength_z", 31.5),
    "Stiffness, along": ("stiffness_xy", 2100.0),
    "Stiffness, across": ("stiffness_z", 1900.0),
    "Impact": ("impact", 4.5),
    "Nozzle": ("nozzle_temperature", 250.0),
    "Bed": ("bed_temperature", 90.0),
    "Softens at": ("softening_temperature", 78.0),
    "Overhang reached": ("overhang_limit", 55.0),
}


@pytest.fixture
def printers(qtbot):
    form = PrinterForm()
    qtbot.addWidget(form)
    form.set_thing(ODD)
    return form


@pytest.fixture
def materials(qtbot):
    form = MaterialForm()
    qtbot.addWidget(form)
    form.set_thing(FULL)
    return form


def box(form, name):
    (found,) = (each for each in form.findChildren(QDoubleSpinBox) if each.accessibleName() == name)
    return found


def test_every_figure_is_kept_to_the_bit(printers, materials):
    for form, thing in ((printers, ODD), (materials, FULL)):
        for locale in (QLocale.c(), QLocale("de")):
            form.set_quantities(Quantities("mm", locale))
            assert form.thing() == thing


def test_a_figure_that_was_not_changed_is_not_told_as_changed(printers, materials, qtbot):
    for form, thing in ((printers, ODD), (materials, FULL)):
        with qtbot.assertNotEmitted(form.edited):
            form.set_thing(replace(thing, name="other"))


@pytest.mark.parametrize("name", PRINTER_BOXES)
def test_figures_of_the_print_time_are_changed(printers, qtbot, name):
    field, value = PRINTER_BOXES[name]
    with qtbot.waitSignal(printers.edited):
        box(printers, name).setValue(value)
    assert printers.thing() == replace(ODD, **{field: value})
    assert type(getattr(printers.thing(), field)) is type(getattr(ODD, field))


@pytest.mark.parametrize("name", MATERIAL_BOXES)
def test_figures_of_a_material_are_changed(materials, qtbot, name):
    field, value = MATERIAL_BOXES[name]
    with qtbot.waitSignal(materials.edited):
        box(materials, name).setValue(value)
    assert materials.thing() == replace(FULL, **{field: value})


def test_no_figure_is_left_out(printers, materials):
    shown = {field for field, _ in MATERIAL_BOXES.values()} | {"name", "note"}
    shown |= {"shrink", "annealing", "scaled"}
    assert shown == {field.name for field in fields(Material)}
    later = [field.name for field in fields(Printer)]
    later = later[later.index("outer_speed") : later.index("mass_factor") + 1]
    assert [field for field, _ in PRINTER_BOXES.values()] == later
    tabs = printers.findChild(QTabWidget)
    assert [tabs.tabText(at) for at in range(tabs.count())] == ["Printing", "Print time"]


def test_what_is_not_known_stays_so_and_becomes_so(materials):
    for generic in generic_materials():
        materials.set_thing(generic)
        assert materials.thing() == generic
    materials.set_thing(FULL)
    for name in ("Impact", "Overhang reached", "Strength, across"):
        one = box(materials, name)
        one.setValue(one.minimum())
        assert one.text() == "not known"
        assert getattr(materials.thing(), MATERIAL_BOXES[name][0]) is None
        QTest.keyClick(one, Qt.Key.Key_Up)
        assert getattr(materials.thing(), MATERIAL_BOXES[name][0]) is not None


@pytest.mark.parametrize("field", ["shrink", "annealing"])
def test_shrink_is_three_percents_or_none(materials, field):
    for axis, value in zip("xyz", (0.3, 0.35, 0.0), strict=True):
        box(materials, f"{field.capitalize()}, {axis}").setValue(value)
    assert materials.thing() == replace(FULL, **{field: (0.3, 0.35, 0.0)})
    for axis in "xyz":
        box(materials, f"{field.capitalize()}, {axis}").setValue(0.0)
    assert materials.thing() == replace(FULL, **{field: ()})
    # Measured as nothing is not the same as not measured.
    measured = replace(FULL, **{field: (0.0, 0.0, 0.0)})
    materials.set_thing(measured)
    assert materials.thing() == measured


def test_whether_files_are_scaled_is_ticked(materials, qtbot):
    (tick,) = materials.findChildren(QCheckBox)
    assert not tick.isChecked()
    with qtbot.waitSignal(materials.edited):
        tick.click()
    assert materials.thing() == replace(FULL, scaled=True)


def test_what_is_out_of_range_is_told(printers, materials):
    box(printers, "Time factor").setValue(50.0)
    with pytest.raises(WorkshopError, match="factor for time must be between"):
        printers.thing()
    box(materials, "Full spool").setValue(0.0)
    with pytest.raises(WorkshopError, match="filament on a spool must be from 1"):
        materials.thing()
