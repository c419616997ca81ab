"""Findings as a list: sorted, filtered, copied and gone to."""

import gc
import weakref

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor, QGuiApplication
from pytestqt.modeltest import ModelTester

from splitplanner.findings import Finding, Severity
from splitplanner.window.lists.findings_list import FindingsList, FindingsModel, ranked
from splitplanner.window.lists.lines import SEVERITY_COLOURS

WELD = Finding("healing.weld", Severity.NOTE, "12 corners were welded.")
S10 = Finding("joint.none", Severity.WARNING, "Seam S10 has no pins.", "S10")
S2 = Finding("joint.none", Severity.WARNING, "Seam S2 has no pins.", "S2")
LARGE = Finding(
    "piece.bed_fit", Severity.FAULT, "Piece 2 is too large; cut it once more.", "2", [[1, 2, 3]]
)
FOUND = (WELD, S10, LARGE, S2)
SORTED = [LARGE, S2, S10, WELD]


@pytest.fixture
def shown(qtbot):
    made = FindingsList()
    qtbot.addWidget(made)
    made.resize(400, 300)
    made.show_findings(FOUND)
    made.show()
    return made


def click(qtbot, shown, row, modifier=Qt.KeyboardModifier.NoModifier):
    place = shown.list.visualRect(shown.model.index(row)).center()
    qtbot.mouseClick(shown.list.viewport(), Qt.MouseButton.LeftButton, modifier, place)


def test_the_model_keeps_the_rules_of_qt(qtmodeltester: ModelTester):
    model = FindingsModel()
    model.show_findings(FOUND)
    qtmodeltester.check(model)


def test_the_worst_come_first_and_seams_in_order(shown):
    assert ranked(FOUND) == SORTED
    assert list(shown.model.findings) == SORTED
    texts = [shown.model.index(row).data() for row in range(4)]
    assert texts[0] == "Fault: Piece 2 is too large; cut it once more."
    assert texts[3] == "Note: 12 corners were welded."


def test_the_headline_says_whether_the_plan_is_sound(qtbot):
    made = FindingsList()
    qtbot.addWidget(made)
    assert made.headline == "No plan yet"
    made.show_findings([S2], is_checked=False)
    assert made.headline == "Being checked …"
    made.show_findings([S2])
    assert made.headline == "Sound"
    made.show_findings([LARGE, LARGE, S2], is_checked=False)
    assert made.headline == "Not sound: 2 faults"
    made.clear()
    assert made.headline == "No plan yet"


def test_counts_stand_on_the_filters(shown):
    assert [button.text() for button in shown.filters.values()] == [
        "1 fault", "2 warnings", "1 note",
    ]  # fmt: skip


def test_each_severity_is_hidden_and_shown_by_its_button(qtbot, shown):
    button = shown.filters[Severity.WARNING]
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert list(shown.model.findings) == [LARGE, WELD]
    qtbot.keyClick(button, Qt.Key.Key_Space)
    assert list(shown.model.findings) == SORTED


def test_what_is_chosen_stays_chosen_through_filters_and_new_findings(qtbot, shown):
    click(qtbot, shown, 1)
    with qtbot.assertNotEmitted(shown.finding_chosen):
        qtbot.mouseClick(shown.filters[Severity.FAULT], Qt.MouseButton.LeftButton)
        assert shown.chosen is S2
        again = Finding(S2.kind, S2.severity, S2.message, S2.subject)
        shown.show_findings([WELD, again])
    assert shown.chosen is again


def test_a_finding_is_gone_to_by_mouse_and_by_keys(qtbot, shown):
    with qtbot.waitSignal(shown.finding_chosen) as chosen:
        click(qtbot, shown, 0)
    assert chosen.args == [LARGE]
    with qtbot.waitSignal(shown.finding_chosen) as chosen:
        qtbot.keyClick(shown.list, Qt.Key.Key_Down)
    assert chosen.args == [S2]
    with qtbot.waitSignal(shown.finding_chosen) as chosen:
        qtbot.keyClick(shown.list, Qt.Key.Key_Return)
    assert chosen.args == [S2]


def test_getting_the_focus_goes_to_no_finding(qtbot, shown):
    with qtbot.assertNotEmitted(shown.finding_chosen):
        shown.list.setFocus()
    assert shown.chosen is None


def test_selected_findings_are_copied_one_a_line(qtbot, shown):
    click(qtbot, shown, 1)
    click(qtbot, shown, 2, Qt.KeyboardModifier.ShiftModifier)
    qtbot.keyClick(shown.list, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text() == (
        "Warning: Seam S2 has no pins.\nWarning: Seam S10 has no pins."
    )


def test_a_narrow_list_wraps_sentences(qtbot, shown):
    wide = shown.list.visualRect(shown.model.index(0)).height()
    shown.resize(160, 400)
    qtbot.waitUntil(lambda: shown.list.visualRect(shown.model.index(0)).height() > wide)
    assert not shown.list.horizontalScrollBar().isVisible()


def test_the_mark_has_the_colour_of_its_severity(shown):
    box = shown.list.visualRect(shown.model.index(0))
    grabbed = shown.list.viewport().grab().toImage()
    assert grabbed.pixelColor(box.topLeft() + QPoint(8, 8)) == QColor(
        SEVERITY_COLOURS[Severity.FAULT]
    )


def test_a_tip_says_how_many_places_are_marked(shown):
    assert shown.model.index(0).data(Qt.ItemDataRole.ToolTipRole) == "Marks 1 place in the view."
    assert shown.model.index(1).data(Qt.ItemDataRole.ToolTipRole) is None


def test_an_empty_list_says_why(qtbot, shown):
    for button in shown.filters.values():
        button.setChecked(False)
    assert shown.list.empty_text == "All findings are hidden by the buttons above."
    shown.show_findings([])
    assert shown.list.empty_text == "Nothing to report."


def test_the_list_leaves_nothing_behind(qtbot):
    shown = FindingsList()
    shown.show_findings(FOUND)
    shown.show()
    gone = weakref.ref(shown)
    shown.close()
    del shown
    gc.collect()
    assert gone() is None
