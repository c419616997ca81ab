"""Braces in the window: their editor, their list, and the sheet that they are cut from."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QLocale, QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QDoubleSpinBox

from splitplanner.findings import Finding, Severity
from splitplanner.plan import BraceWish
from splitplanner.solid import Solid
from splitplanner.window.dialogs.offered import offered_hardware
from splitplanner.window.look import look_of
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.brace_dialog import PRINTED, BraceDialog, new_brace
from splitplanner.window.strength.braces_panel import BraceRow, BracesPanel
from tests.window.hands import Keyboard, Mouse

C = QLocale(QLocale.Language.C)
X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
ALL = BraceWish(
    (0.6, 0.8, 0.0), (0.0, 0.0, -1.0), 12.3456789, 30.0, 333.33333333, 22.25, 3.175,
    clearance=0.123, bridged=31.0, land_margin=1.5, deepest=16.0, root=0.75, cutter=6.35,
    spacing=75.0, metal="steel", hold="insert", screw_standard="ISO 7380-1", screw_size="M4",
    name="left",
)  # fmt: skip


def part():
    """Return a part that begins at -50 along x, and is 100 wide along y; no module keeps one."""
    moved = np.eye(4)
    moved[0, 3] = -50.0
    return Solid.box((430.0, 100.0, 80.0)).transformed(moved)


def opened(qtbot, brace, taken=(), unit="mm"):
    made = BraceDialog(part(), brace, ("aluminium", "steel"), offered_hardware(), taken)
    qtbot.addWidget(made)
    made.set_quantities(Quantities(unit, C))
    made.show()
    assert QTest.qWaitForWindowActive(made)
    made.given = []
    made.applied.connect(made.given.append)
    return made


def enter(box, text):
    """Write into a field in place of what stands there, and go on."""
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, text)
    QTest.keyClick(box, Qt.Key.Key_Tab)


# -- the editor -------------------------------------------------------------------------------
@pytest.mark.parametrize("unit", ["mm", "inch"])
@pytest.mark.parametrize("brace", [ALL, replace(ALL, is_printed=True, hold="nut")])
def test_what_is_not_touched_stays_to_the_last_digit(qtbot, brace, unit):
    dialog = opened(qtbot, brace, unit=unit)
    assert dialog.faults == []
    dialog.accept()
    assert dialog.given == [brace]


def test_a_new_one_runs_over_the_middle_of_the_part(qtbot):
    dialog = opened(qtbot, new_brace(part(), X, "brace 1"))
    # x × z is −y, along which the part goes from −100 to 0.
    assert dialog.across.text() == "50.0 mm"
    assert dialog._across_words.text().endswith("along −y")
    assert (dialog.low.text(), dialog.high.text()) == ("21.5 mm", "408.5 mm")
    enter(dialog.across, "20")
    enter(dialog.low, "15")
    enter(dialog.sizes["stock"], "5")
    dialog.metal.setCurrentIndex(dialog.metal.findData(PRINTED))
    dialog.metal.activated.emit(0)
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    (brace,) = dialog.given
    assert (brace.along, brace.towards) == (X, Z)
    # 20 mm from its low end along −y is y = 80: the offset along the normal is −80.
    assert brace.plane.origin[1] == pytest.approx(80.0)
    assert (brace.low, brace.stock, brace.is_printed) == (-35.0, 5.0, True)


def test_screws_follow_what_they_go_into(qtbot):
    dialog = opened(qtbot, new_brace(part(), X, "brace 1"))
    offered = offered_hardware()
    for hold in ("insert", "plastic", "nut"):
        dialog.hold.setCurrentIndex(dialog.hold.findData(hold))
        dialog.hold.activated.emit(0)
        sizes = [dialog.thread_size.itemData(at) for at in range(dialog.thread_size.count())]
        assert set(offered.sizes_of(hold, dialog.standard.currentData())) <= set(sizes)
        assert dialog.standard.isEnabled() is (hold != "plastic")


@pytest.mark.parametrize(
    ("spoil", "mend", "words"),
    [
        (lambda d: enter(d.name, "right"), lambda d: enter(d.name, "x"), "is called “right”"),
        (lambda d: enter(d.name, " "), lambda d: enter(d.name, "x"), "Give it a name"),
        (
            lambda d: enter(d.high, "1"),
            lambda d: enter(d.high, "200"),
            "must end beyond its start",
        ),
        (
            lambda d: d.side.list.setCurrentIndex(0),
            lambda d: d.side.list.setCurrentIndex(5),
            "square to its way",
        ),
    ],
)
def test_a_fault_is_told_and_nothing_is_lost(qtbot, spoil, mend, words):
    dialog = opened(qtbot, new_brace(part(), X, "brace 1"), taken=("right",))
    spoil(dialog)
    (said,) = dialog.faults
    assert words in said
    dialog.accept()
    assert dialog.isVisible()
    assert dialog.given == []
    mend(dialog)
    assert dialog.faults == []
    dialog.accept()
    assert len(dialog.given) == 1


def test_every_field_is_named_and_explained(qtbot):
    dialog = opened(qtbot, ALL)
    for kind in (QDoubleSpinBox, QComboBox):
        for box in dialog.findChildren(kind):
            assert box.accessibleName()
            assert box.toolTip()


# -- the list ---------------------------------------------------------------------------------
@pytest.fixture
def panel(qtbot):
    made = BracesPanel()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(560, 600)
    made.show()
    assert QTest.qWaitForWindowActive(made)
    return made


def test_braces_are_listed_and_can_be_worked_on_by_keys(panel):
    rows = [BraceRow(ALL, 10.0, 2, Severity.WARNING), BraceRow(replace(ALL, name="b"), 0.0)]
    panel.show_rows(rows, has_part=True)
    assert panel.table.rows_model.text_of(0).split("\t") == [
        "left", "steel, 3.175 mm", "20 mm to 323 mm", "22 mm deep, M4 in inserts", "–", "", "2"
    ]  # fmt: skip
    told = []
    for name in ("add_asked", "edit_asked", "deleted"):
        getattr(panel, name).connect(lambda *said, name=name: told.append((name, *said)))
    Mouse().row(panel.table, 1)
    keys = Keyboard()
    for name in ("Insert", "Return", "Delete"):
        keys.press(Qt.Key[f"Key_{name}"])
    assert told == [("add_asked",), ("edit_asked", "b"), ("deleted", "b")]


def test_a_sheet_is_asked_for_and_drawn_as_the_braces_lie(panel, qtbot):
    panel.show_rows([BraceRow(ALL, 0.0)], has_part=True)
    asked = []
    panel.fit_asked.connect(lambda *sheet: asked.append(sheet))
    for box, text in zip(panel.sheet, ("400", "200", "20", "6"), strict=True):
        enter(box, text)
    Mouse().click(panel.fit)
    assert asked == [(400.0, 200.0, 20.0, 6.0)]
    outline = np.array([[100.0, 20.0], [300.0, 20.0], [300.0, 120.0], [100.0, 120.0]])
    well = Finding("brace.stock", Severity.NOTE, "It lies there.")
    panel.show_fit((400.0, 200.0), 20.0, [outline], well)
    qtbot.wait(10)
    assert panel.fit_note.text == "It lies there."
    sketch = panel.sketch
    image = sketch.grab().toImage()
    scale = min((sketch.width() - 8) / 400.0, (sketch.height() - 8) / 200.0)
    accent = look_of(sketch.palette()).colour("accent").rgb()

    def colour(x, y):
        """Return the colour at a place of the sheet, mm from its low corner."""
        return image.pixel(QPoint(round(4 + scale * x), round(4 + scale * (200.0 - y))))

    assert colour(200.0, 70.0) == accent
    for x, y in ((200.0, 150.0), (60.0, 70.0), (350.0, 70.0)):
        assert colour(x, y) != accent
    panel.show_fit((400.0, 200.0), 20.0, [], replace(well, severity=Severity.FAULT))
    assert not sketch.isVisible()
    panel.forget_fit()
    assert panel.fit_note.text == ""
