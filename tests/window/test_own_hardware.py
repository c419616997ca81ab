"""The user's own hardware in the window: offered, used by the processes, and its faults told."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QComboBox

from splitplanner.plan import Fastening, with_fastening
from splitplanner.window.dialogs.offered import offered_hardware
from splitplanner.window.links import workshop_link
from splitplanner.window.main_window import MainWindow
from splitplanner.window.places_kept import PlacesKept
from splitplanner.workshop import hardware_shelf, own_shelf

SCREWS = (
    "standard,size,head_diameter,head_height,bearing_diameter,key,is_countersunk,lengths,source\n"
    "drawer screw,M3,5.5,3,5.4,2.5,no,8 10 12 16 20 25 30,drawer\n"
)
PINS = (
    "standard,diameter,chamfer,length_min,length_max,lengths,source\n"
    "drawer rod,8,1,10,60,32,drawer\n"
)
NO_NUTS = "standard,size,across_flats,height,source\nDIN 562,M3,wide,1.8,drawer\n"
NO_KEYS = "across_flats,long_arm,short_arm,source\n2,18,50,drawer\n"


@pytest.fixture
def hardware(desk):
    """The user's folder of hardware, empty before and after."""
    folder = desk.window.workshop._folder / "hardware"
    folder.mkdir(parents=True, exist_ok=True)
    yield folder
    for path in folder.iterdir():
        path.unlink()


def answered(desk, answer):
    """Ask how seams are held, have the dialog answered, and return what the answer returned."""

    def take():
        dialog = QApplication.activeModalWidget()
        found.append(answer(dialog))
        dialog.reject()

    found = []
    QTimer.singleShot(0, take)
    desk.window.commands["fastening"].trigger()
    return found[0]


def standards(dialog):
    combos = dialog.findChildren(QComboBox)
    (combo,) = (each for each in combos if each.accessibleName() == "Standard of the screws")
    return [combo.itemText(at) for at in range(combo.count())]


def lines(desk):
    return desk.window.fault_line.text.splitlines()


def test_tables_are_not_read_before_there_is_a_part(qtbot, tmp_path, monkeypatch):
    read = []
    monkeypatch.setattr(
        workshop_link, "own_shelf", lambda folder: read.append(folder) or own_shelf(folder)
    )
    window = MainWindow(PlacesKept.inside(tmp_path))
    try:
        window.show()
        qtbot.waitExposed(window)
        assert read == []
        window.workshop.read_shelf()
        assert read == [tmp_path]
    finally:
        window.close()
        window.deleteLater()


def test_without_any_all_is_built_in(desk, hardware, model):
    desk.begin(model)
    assert lines(desk) == []
    assert desk.window.workshop.read_shelf() == hardware_shelf()


def test_pins_of_the_user_are_taken_first(desk, hardware, model):
    (hardware / "dowel_pins.csv").write_text(PINS, encoding="utf-8")
    desk.begin(model)
    desk.window.commands["add"].trigger()
    desk.settle()
    pins = desk.session.plan.joint("S1").pins
    assert len(pins) >= 2
    assert {(pin.standard, pin.diameter, pin.length) for pin in pins} == {("drawer rod", 8.0, 32.0)}


def test_own_screws_are_offered_and_may_be_wanted(desk, hardware, model):
    desk.begin(model)
    assert "drawer screw" not in answered(desk, standards)
    (hardware / "screws.csv").write_text(SCREWS, encoding="utf-8")
    # They are there as soon as the dialog is asked for again.
    assert answered(desk, standards)[0] == "drawer screw"
    wanted = Fastening(screws="nut", screw_standard="drawer screw", screw_size="M3")
    desk.session.apply("hold", with_fastening(desk.session.plan, wanted))
    desk.window.commands["add"].trigger()
    desk.settle()
    assert desk.session.fault is None
    assert not desk.faults
    # When they are gone from the shelf, the plan is checked anew; to make it anew is refused.
    before = desk.session.examined
    (hardware / "screws.csv").unlink()
    answered(desk, standards)
    desk.settle()
    assert desk.session.examined is not before
    desk.window.commands["pins"].trigger()
    desk.until(lambda: desk.session.fault is not None)
    assert "no screw of drawer screw on the hardware shelf" in str(desk.session.fault)


def test_what_is_wrong_in_the_users_files_is_told_and_the_others_are_read(desk, hardware, model):
    (hardware / "nuts.csv").write_text(NO_NUTS, encoding="utf-8")
    (hardware / "keys.csv").write_text(NO_KEYS, encoding="utf-8")
    (hardware / "screws.csv").write_text(SCREWS, encoding="utf-8")
    desk.begin(model)
    told = lines(desk)
    assert len(told) == 2
    for text, name in zip(told, ("keys.csv", "nuts.csv"), strict=True):
        assert text.startswith(f"{hardware / name}, line 2: ")
        assert text.endswith(".")
    assert "“wide” in column across_flats is not a number" in told[1]
    assert desk.window.fault_line.isVisible()
    assert answered(desk, standards)[0] == "drawer screw"
    # They are told again where they matter again.
    desk.window.close_fault.click()
    assert lines(desk) == []
    answered(desk, standards)
    assert lines(desk) == told


def test_a_shelf_without_nuts_offers_none():
    offered = offered_hardware(replace(hardware_shelf(), nuts=()))
    assert offered.sizes_of("nut", "ISO 4762") == ()
    assert offered.sizes_of("insert", "ISO 4762") == ("M3",)
