"""What has to be bought and made as a table, counted by hand."""

import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest

from splitplanner.output import NeededBrace, NeededHardware, PartsList, list_parts, needed_parts
from splitplanner.plan import Joint, PartFile, Pin, Plan, Screw, Tape
from splitplanner.window.lists import parts_table
from splitplanner.window.lists.parts_table import PartsTable, needed_rows
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Printer
from tests.window.hands import Keyboard, Mouse

UP, HERE = (0.0, 0.0, 1.0), (0.0, 0.0, 0.0)
CTRL = Qt.KeyboardModifier.ControlModifier
C = QLocale(QLocale.Language.C)
PART = PartFile("part.stl", "mm", "")


def pin(diameter, length):
    return Pin(HERE, UP, "ISO 8734", diameter, length, diameter + 0.2, length, 9.0)


def screw(hold, washers, length=12.0, hole=4.0):
    return Screw(
        HERE, UP, "ISO 4762", "M3", length, hold, 4.0, washers, 3.4, 7.5, False, 6.0, hole, 0.0, 4.2
    )


JOINTS = (
    Joint(
        "S1",
        (pin(2.5, 10.0), pin(2.5, 10.0)),
        (screw("nut", 2), screw("nut", 2), screw("nut", 2)),
        tape=Tape("glass", 163.0, 2, 0.5, 30.0, 400.0),
    ),
    Joint("S2", (pin(2.5, 10.0),), (screw("insert", 1, 8.0),)),
    Joint("S3", tape=Tape("glass", 163.0, 2, 0.5, 30.0, 250.0)),
    Joint("S4", screws=(screw("nut", 2),)),
)
PLAN = Plan(PART, Printer(), joints=JOINTS)

WANTED = [
    ("3", "dowel pin", "ISO 8734", "2.5 mm", "10 mm", "2 in S1, 1 in S2", ""),
    ("1", "heat-set insert", "by its data sheet", "M3", "in holes of 4 mm", "1 in S2", ""),
    ("4", "nut", "ISO 4032", "M3", "–", "3 in S1, 1 in S4", ""),
    ("1", "screw", "ISO 4762", "M3", "8 mm", "1 in S2", ""),
    ("4", "screw", "ISO 4762", "M3", "12 mm", "3 in S1, 1 in S4", ""),
    ("9", "washer", "ISO 7089", "3 mm", "–", "6 in S1, 1 in S2, 2 in S4", ""),
    # 2 plies of 400 and of 250 mm are 1.3 m; 0.03 x 1.3 m² of 163 g/m² weigh 6.357 g, and at a
    # share of a half the resin weighs the same; a quarter more of it is mixed: 7.9 g.
    (
        "1.30 m", "fibre tape", "glass, 163 g/m²", "30 mm wide", "2 × 400 mm, 2 × 250 mm",
        "2 plies on S1, 2 plies on S3", "6 g of fibre, 6 g of resin",
    ),
    ("8 g", "laminating resin", "with its hardener", "–", "–", "on S1, S3", "with what is lost"),
]  # fmt: skip


@pytest.fixture
def table(qtbot):
    made = PartsTable()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(420, 600)
    made.show_parts(list_parts(PLAN))
    made.show()
    QTest.qWaitForWindowExposed(made)
    return made


def cells(table):
    model = table.table.rows_model
    return [tuple(model.text_of(row).split("\t")) for row in range(len(model.rows))]


def test_rows_are_what_was_counted_by_hand(table):
    assert cells(table) == WANTED
    assert not table.table.horizontalScrollBar().isVisible()


def test_the_table_and_the_papers_list_the_same(table):
    papers = needed_parts(PLAN)
    rows = needed_rows(list_parts(PLAN))
    assert [part.what for part in papers] == [row[1] for row in cells(table)]
    assert [part.name for part in papers[:-1]] == [row.needed.name for row in rows[:-1]]
    assert [part.amount for part in papers] == [row[0] for row in cells(table)]
    assert len({row.key for row in rows}) == len(rows)


def test_hardware_is_sold_by_mm_also_for_who_reads_inches(table):
    table.set_quantities(Quantities("inch", C))
    assert cells(table) == WANTED


def test_numbers_are_written_as_the_user_does(table):
    table.set_quantities(Quantities("mm", QLocale(QLocale.Language.German)))
    assert cells(table)[0][3] == "2,5 mm"
    assert cells(table)[6][0] == "1,30 m"


def test_rows_are_copied_with_tabs(qtbot, table):
    place = table.table.visualRect(table.table.rows_model.index(1, 1)).center()
    qtbot.mouseClick(table.table.viewport(), Qt.MouseButton.LeftButton, pos=place)
    qtbot.keyClick(table.table, Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == "\t".join(WANTED[1])
    qtbot.keyClick(table.table, Qt.Key.Key_A, CTRL)
    qtbot.keyClick(table.table, Qt.Key.Key_C, CTRL)
    text = QGuiApplication.clipboard().text()
    assert [tuple(line.split("\t")) for line in text.split("\n")] == WANTED


def test_the_chosen_row_is_said_in_full(qtbot, table):
    table.table.setFocus()
    assert table.words == ""
    qtbot.keyClick(table.table, Qt.Key.Key_Down)
    assert table.words == "3 × dowel pin, ISO 8734, 2.5 mm, 10 mm: 2 in S1, 1 in S2."
    for _ in WANTED[1:]:
        qtbot.keyClick(table.table, Qt.Key.Key_Down)
    assert table.words == (
        "8 g of laminating resin, with its hardener, with what is lost: on S1, S3."
    )


def test_braces_come_last_and_their_bolts_with_the_hardware(qtbot, table):
    bolts = NeededHardware("screw", "ISO 4762", "M4", 16.0, 0.0, (("left", 6),))
    strips = (
        NeededBrace("left", "aluminium", 3.0, 162.4, 11.6),
        NeededBrace("brace 2", "", 6.0, 90.0, 20.0),
    )
    table.show_parts(PartsList((bolts,), (), strips))
    assert cells(table) == [
        ("6", "screw", "ISO 4762", "M4", "16 mm", "6 in left", ""),
        ("1", "brace", "aluminium", "3 mm thick", "162 × 12 mm", "brace left", ""),
        ("1", "brace", "printed flat", "6 mm thick", "90 × 20 mm", "brace 2", ""),
    ]
    assert "seams and braces" in table.said
    table.table.setFocus()
    for _ in strips:
        qtbot.keyClick(table.table, Qt.Key.Key_Down)
    assert table.words == "1 × brace, aluminium, 3 mm thick, 162 × 12 mm: brace left."


def test_nothing_to_show_is_one_sentence(qtbot):
    made = PartsTable()
    qtbot.addWidget(made)
    made.show()
    assert made.said == parts_table.NO_PART
    made.show_waiting()
    assert made.said == parts_table.WAITING
    made.show_parts(PartsList((), ()))
    assert made.said == parts_table.NONE
    assert not made.table.isVisible()
    made.show_parts(list_parts(PLAN))
    assert made.table.isVisible()
    made.show_waiting()
    assert made.said == parts_table.STALE
    assert cells(made)[0][0] == "3"


# -- in the window ------------------------------------------------------------------------------
@pytest.fixture
def opened(desk, model):
    desk.begin(model)
    return desk


def test_the_list_follows_the_plan_and_undo(opened):
    window, session, mouse = opened.window, opened.session, Mouse()
    bar, needed = window.right.tabBar(), window.needed
    at = next(at for at in range(bar.count()) if bar.tabText(at) == "To buy")
    mouse.click(bar, bar.tabRect(at).center())
    assert needed.said == parts_table.NONE
    window.commands["add"].trigger()
    assert needed.said == parts_table.WAITING
    opened.settle()
    pins = session.plan.joint("S1").pins
    (row,) = cells(needed)
    assert row[0] == str(len(pins))
    assert row[5] == f"{len(pins)} in S1"
    keys = Keyboard()
    keys.tab_to(needed.table)
    keys.press(Qt.Key.Key_A, CTRL)
    keys.press(Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == "\t".join(row)
    window.seams.fastener_deleted.emit("S1", 0)
    # What the plan before takes stays till this one is checked.
    assert needed.said == parts_table.STALE
    assert cells(needed) == [row]
    opened.settle()
    assert cells(needed) == [(str(len(pins) - 1), *row[1:5], f"{len(pins) - 1} in S1", "")]
    assert needed.said not in (parts_table.STALE, parts_table.NONE)
    window.commands["undo"].trigger()
    opened.settle()
    assert cells(needed) == [row]
    window.commands["undo"].trigger()
    opened.settle()
    assert needed.said == parts_table.NONE
    window.right.setCurrentIndex(0)
