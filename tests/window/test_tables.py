"""Tables of figures: chosen, copied, kept and read aloud."""

import gc
import weakref
from dataclasses import dataclass

import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtGui import QColor, QGuiApplication
from pytestqt.modeltest import ModelTester

from splitplanner.findings import Severity
from splitplanner.score.lying import Fit
from splitplanner.window.lists.cuts_table import CutsTable
from splitplanner.window.lists.findings_list import FindingsList
from splitplanner.window.lists.lines import (
    PADDING,
    SEVERITY_COLOURS,
    SEVERITY_MARKS,
    Shown,
    ink_on,
    shown_findings,
    shown_fit,
)
from splitplanner.window.lists.pieces_table import PiecesTable
from splitplanner.window.lists.proposals_list import ProposalsList
from splitplanner.window.lists.seams_table import SeamsTable
from splitplanner.window.lists.tables import Column, Figure, RowsModel, Table
from splitplanner.window.lists.weights_panel import WeightsPanel
from splitplanner.window.look import FIT_COLOURS
from splitplanner.window.quantities import Quantities

C = QLocale(QLocale.Language.C)


@dataclass(frozen=True)
class Row:
    key: str
    height: float


COLUMNS = (
    Column("Piece", (Figure("piece", lambda row, _: Shown(row.key)),), 8, right=False),
    Column(
        "Height\nspare",
        (
            Figure("height", lambda row, q: Shown(q.length(row.height))),
            Figure("spare", lambda row, q: Shown("none", faint=True)),
        ),
        10,
        stretches=True,
    ),
)
ROWS = (Row("a", 25.4), Row("b", 50.8), Row("c", 0.0))


@pytest.fixture
def table(qtbot):
    made = Table(RowsModel(COLUMNS), "Heights")
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(300, 200)
    made.show_rows(ROWS)
    made.show()
    return made


def click(qtbot, table, row, column=0, modifier=Qt.KeyboardModifier.NoModifier):
    place = table.visualRect(table.rows_model.index(row, column)).center()
    qtbot.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, modifier, place)


def test_the_model_keeps_the_rules_of_qt(qtmodeltester: ModelTester):
    model = RowsModel(COLUMNS)
    model.set_rows(ROWS)
    qtmodeltester.check(model)


def test_a_click_and_the_arrow_keys_choose_a_row(qtbot, table):
    with qtbot.waitSignal(table.row_chosen) as first:
        click(qtbot, table, 1)
    with qtbot.waitSignal(table.row_chosen) as second:
        qtbot.keyClick(table, Qt.Key.Key_Down)
    assert (first.args, second.args) == ([1], [2])
    assert table.chosen_key == "c"


def test_enter_and_a_double_click_enter_a_row(qtbot, table):
    table.choose("b")
    with qtbot.waitSignal(table.row_entered) as entered:
        qtbot.keyClick(table, Qt.Key.Key_Return)
    assert entered.args == [1]
    place = table.visualRect(table.rows_model.index(2, 0)).center()
    with qtbot.waitSignal(table.row_entered) as entered:
        qtbot.mouseDClick(table.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert entered.args == [2]


def test_choosing_from_outside_is_not_signalled(qtbot, table):
    with qtbot.assertNotEmitted(table.row_chosen):
        table.choose("b")
        table.choose(None)
        table.choose("nobody")
    assert table.chosen_key is None
    assert not table.selected_rows()


@pytest.mark.parametrize("rows", [ROWS[::-1], (*ROWS, Row("d", 1.0)), ROWS])
def test_the_chosen_row_stays_chosen_wherever_it_goes(qtbot, table, rows):
    table.choose("b")
    with qtbot.assertNotEmitted(table.row_chosen):
        table.show_rows(rows)
    assert table.chosen_key == "b"
    assert table.selected_rows() == [[row.key for row in rows].index("b")]


def test_nothing_is_chosen_when_the_chosen_row_has_gone(table):
    table.choose("c")
    table.show_rows(ROWS[:2])
    assert table.chosen_key is None


def test_selected_rows_are_copied_with_tabs(qtbot, table):
    click(qtbot, table, 0)
    click(qtbot, table, 1, modifier=Qt.KeyboardModifier.ShiftModifier)
    qtbot.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text() == "a\t25.4 mm\tnone\nb\t50.8 mm\tnone"


def test_inches_change_what_is_read_at_once(table):
    table.set_quantities(Quantities("inch", C))
    index = table.rows_model.index(0, 1)
    assert index.data() == "1.00 in\nnone"
    assert index.data(Qt.ItemDataRole.AccessibleTextRole) == "height 1.00 in, spare none"


def test_tips_say_in_full_what_a_figure_is(table):
    tip = table.rows_model.index(0, 1).data(Qt.ItemDataRole.ToolTipRole)
    assert "<b>Height: 25.4 mm</b>" in tip
    assert "highest point" in tip
    heading = table.rows_model.headerData(1, Qt.Orientation.Horizontal, Qt.ItemDataRole.ToolTipRole)
    assert "<b>Spare.</b>" in heading
    assert "still fit the bed" in heading


def test_what_is_written_cannot_be_taken_for_markup(table):
    table.show_rows([Row("<b>x", 1.0)])
    assert "&lt;b&gt;x" in table.rows_model.index(0, 0).data(Qt.ItemDataRole.ToolTipRole)


def test_the_last_column_takes_what_width_is_left(table):
    total = sum(table.columnWidth(index) for index in range(len(COLUMNS)))
    assert total == table.viewport().width()


def test_a_larger_font_gets_more_room(table):
    before = table.columnWidth(0), table.rowHeight(0)
    font = table.font()
    font.setPointSizeF(2 * font.pointSizeF())
    table.setFont(font)
    assert table.columnWidth(0) > 1.5 * before[0]
    assert table.rowHeight(0) > 1.5 * before[1]


@pytest.mark.parametrize(
    ("kind", "room"),
    [
        (CutsTable, 420),
        (FindingsList, 420),
        # What the tables have of a window of 1280 x 800.
        (PiecesTable, 512),
        (ProposalsList, 420),
        (SeamsTable, 420),
        (WeightsPanel, 420),
    ],
)
def test_each_fits_a_narrow_column(qtbot, kind, room):
    made = kind()
    qtbot.addWidget(made)
    assert made.minimumSizeHint().width() <= 420
    # A popup is a window of its own.
    for each in (table for table in made.findChildren(Table) if table.window() is made):
        total = sum(
            each.rows_model.columns[at].width * each.fontMetrics().horizontalAdvance("0")
            + 2 * PADDING
            for at in range(len(each.rows_model.columns))
        )
        assert total <= room


def test_tab_goes_on_to_the_next_control(table):
    assert not table.tabKeyNavigation()


@pytest.mark.parametrize("colour", [*FIT_COLOURS.values(), *SEVERITY_COLOURS.values(), "#0072B2"])
def test_marks_stand_out_from_their_patch(colour):
    # WCAG 2.1, success criterion 1.4.3: 4.5 to 1 for texts.
    def luminance(each):
        parts = [each.redF(), each.greenF(), each.blueF()]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))

    light, dark = sorted((luminance(ink_on(QColor(colour))), luminance(QColor(colour))))[::-1]
    assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_no_state_is_told_by_colour_alone():
    marks = [shown_fit(fit).mark for fit in Fit]
    marks += [shown_findings(2, severity).mark for severity in Severity]
    assert len(set(marks)) == len(Fit) + len(Severity) - 1  # a fault is crossed like a misfit
    assert all(SEVERITY_MARKS.values())
    assert shown_findings(0, None).text == "none"


def test_a_table_that_is_let_go_leaves_nothing(qtbot):
    table = Table(RowsModel(COLUMNS), "Heights")
    gone = weakref.ref(table)
    del table
    gc.collect()
    assert gone() is None
