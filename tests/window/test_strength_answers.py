"""What a plan stands, as the tab of strength shows it: by figures made here by hand."""

import numpy as np
import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest

from splitplanner.background.cells_told import CellsTold, WayInCells
from splitplanner.findings import Finding, Severity
from splitplanner.loaded import BraceUnderLoad, HeldWay, LoadAnswer, PieceUnderLoad, SeamUnderLoad
from splitplanner.loaded.answers import Weakest
from splitplanner.plan import LoadCase, Loading, PointLoad, Support
from splitplanner.strength.cautions import CAUTIONS
from splitplanner.window.lists import definitions
from splitplanner.window.look import look_of
from splitplanner.window.parts.note_line import NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength import answer_rows, braces_panel, cells_panel
from splitplanner.window.strength.answer_rows import CaseRow
from splitplanner.window.strength.strength_panel import StrengthPanel
from tests.window.hands import Keyboard, Mouse

Q = Quantities("mm", QLocale(QLocale.Language.C))
LOW = 10.0
LOADING = Loading(
    (1.0, 0.0, 0.0),
    LoadCase(
        "shelf",
        (Support(20.0, axial=True), Support(400.0)),
        (PointLoad(200.0, (0.0, 0.0, -50.0)),),
    ),
)
PART = Weakest("part", "", "layers", 8.0, 210.0, "the part as if printed in one")


def seam(name, factor, station=210.0):
    weakest = Weakest("seam", name, "screw.thread", factor, station, "thread of screw 2", 2)
    return SeamUnderLoad(name, station, 0.25, None, weakest, factor / PART.factor, 1.234, 0.31, 1.1)


def way(kind, factors, braces=()):
    seams = tuple(seam(name, factor) for name, factor in factors.items())
    pieces = (PieceUnderLoad("1.1", 100.0, 0.12, 0.0), PieceUnderLoad("1.2", 300.0, 0.3, 90.0))
    weakest = min((each.weakest for each in seams), key=lambda each: each.factor)
    return HeldWay(kind, seams, pieces, None, braces, weakest, weakest.factor / PART.factor)


def answer():
    brace = BraceUnderLoad(
        "left", 210.0, (0.3, 0.6), 45.0, 80.0, 90.0, 400.0,
        Weakest("brace", "left", "sheet", 1.8, 210.0, "bends for good"),
    )  # fmt: skip
    ways = (
        way("open", {"S1": 0.0, "S2": 0.0}),
        way("fastened", {"S1": 0.5, "S2": 4.0}),
        way("braced", {"S1": 5.04, "S2": 6.0}, (brace,)),
    )
    return LoadAnswer(LOADING, None, None, PART, None, ways)


@pytest.fixture
def panel(qtbot):
    made = StrengthPanel()
    qtbot.addWidget(made)
    made.set_quantities(Q)
    made.resize(560, 800)
    made.show()
    assert QTest.qWaitForWindowActive(made)
    return made


def shown(panel, **more):
    panel.answer.show_answer(answer(), LOW, numbers={"1.1": 1, "1.2": 2}, has_hardware=True, **more)
    return panel.answer


def texts(table):
    return [table.rows_model.text_of(row).split("\t") for row in range(len(table.rows_model.rows))]


# -- the answer -------------------------------------------------------------------------------
def test_relative_figures_come_first(panel):
    said = shown(panel).said.text()
    # 5.04 of 8.
    assert said.startswith("Holds 63 % of what the uncut part holds, 1 brace included,")
    assert said.endswith("first gives way seam S1: thread of screw 2.")


def test_every_way_has_a_row_beside_the_uncut_part(panel):
    assert texts(shown(panel).ways) == [
        ["printed in one", "100 %", "8 ×", "the part as if printed in one", "–", "–", "–"],
        ["nothing", "0 %", "0 ×", "seam S1: thread of screw 2", "weakest seam: S1, 0 ×", "30 %",
         "–"],
        ["pins and screws", "6 %", "0.5 ×", "seam S1: thread of screw 2",
         "weakest seam: S1, 0.5 ×", "30 %", "–"],
        ["braces besides", "63 %", "5.04 ×", "seam S1: thread of screw 2",
         "weakest seam: S1, 5.04 ×", "30 %", "45 of 80 MPa"],
    ]  # fmt: skip


def test_the_seams_are_shown_as_planned_or_held_as_in_the_chosen_row(panel):
    shown(panel)
    # Stations count from the low end of the part.
    assert texts(panel.answer.seams)[0] == [
        "S1", "200 mm", "63 %", "5.04 ×", "thread of screw 2",
        "1.10 to 1.23 MPa; braces take 25 to 31 % off it",
    ]  # fmt: skip
    assert panel.answer.heading.text() == "The seams with braces besides, as planned:"
    Mouse().row(panel.answer.ways, 2)
    assert [row[3] for row in texts(panel.answer.seams)] == ["0.5 ×", "4 ×"]
    keys = Keyboard()
    panel.answer.ways.setFocus()
    keys.press(Qt.Key.Key_Up, times=2)
    assert texts(panel.answer.seams) == []
    assert "no seams" in panel.answer.heading.text()


def test_going_to_a_seam_tells_of_it(panel):
    told = []
    shown(panel).seam_chosen.connect(told.append)
    Mouse().row(panel.answer.seams, 1)
    assert told == ["S2"]
    panel.answer.choose_seam("S1")
    assert panel.answer.seams.chosen_key == "S1"
    assert told == ["S2"]


def test_bars_are_as_long_as_their_ratio(panel, qtbot):
    """The accent's pixels at the foot of a cell, beside the width of the track."""
    table = shown(panel).seams
    qtbot.wait(10)
    index = table.model().index(1, 1)
    box = table.visualRect(index)
    image = table.viewport().grab(box).toImage()
    accent = look_of(table.palette()).colour("accent").rgb()
    row = image.height() - 5
    filled = sum(image.pixel(x, row) == accent for x in range(image.width()))
    # 6 of 8; ends are rounded.
    assert filled / (box.width() - 10) == pytest.approx(0.75, abs=0.05)


def test_findings_and_what_is_stale_are_told(panel):
    found = [
        Finding("strength.seam", Severity.WARNING, f"Load case “shelf”: seam S{at} gives way.")
        for at in (1, 2, 3)
    ]
    shown(panel, findings=found, is_stale=True)
    said = [each.text for each in panel.answer.findChildren(NoteLine) if each.isVisible()]
    assert said == [
        "The plan is being checked; these are the figures of the plan before.",
        "Load case “shelf”: seam S1 gives way.",
    ]
    assert panel.answer.more.text() == "And 2 more findings in the list of findings."


@pytest.mark.parametrize("height", [560, 800])
def test_cautions_are_always_there_in_full(panel, qtbot, height):
    panel.tell_statements(("First statement.", "Second statement."))
    panel.resize(560, height)
    for page in range(panel.pages.count()):
        panel.pages.setCurrentIndex(page)
        qtbot.wait(5)
        for caution in CAUTIONS:
            assert caution in panel.cautions.text()
        assert panel.cautions.visibleRegion().boundingRect() == panel.cautions.rect()
        assert panel.cautions.height() >= panel.cautions.heightForWidth(panel.cautions.width())
        assert panel.statements.text() == "First statement. Second statement."
        assert not panel.statements.visibleRegion().isEmpty()


# -- the list ---------------------------------------------------------------------------------
def test_load_cases_are_told_with_what_is_held(panel):
    rows = [
        CaseRow("shelf", "Held at 10 mm.", answer()),
        CaseRow("new", "Held at 20 mm.", None, waits=True),
        CaseRow("odd", "Held at 30 mm."),
    ]
    panel.loads.show_rows(rows, has_part=True)
    assert texts(panel.loads.table) == [
        ["shelf", "Held at 10 mm.", "63 %", "5.04 ×"],
        ["new", "Held at 20 mm.", "…", ""],
        ["odd", "Held at 30 mm.", "–", ""],
    ]


def test_keys_of_the_list(panel):
    panel.loads.show_rows([CaseRow("a", ""), CaseRow("b", "")], has_part=True)
    told = []
    for name in ("add_asked", "edit_asked", "rename_asked", "copied", "deleted"):
        getattr(panel.loads, name).connect(lambda *said, name=name: told.append((name, *said)))
    Mouse().row(panel.loads.table, 1)
    keys = Keyboard()
    for name in ("Insert", "Return", "F2", "D", "Delete"):
        keys.press(Qt.Key[f"Key_{name}"])
    assert told == [
        ("add_asked",), ("edit_asked", "b"), ("rename_asked", "b"), ("copied", "b"),
        ("deleted", "b"),
    ]  # fmt: skip


def test_without_a_part_nothing_can_be_done(panel):
    panel.loads.show_rows((), has_part=False)
    loads = panel.loads
    for each in (loads.add, loads.edit, loads.copy, loads.delete, loads.propose, loads.read,
                 loads.save):  # fmt: skip
        assert not each.isEnabled()


# -- cells ------------------------------------------------------------------------------------
class FakeSeam:
    """Has what a row of the table of seams reads."""

    def __init__(self, name, screws, opening, glue=0.0):
        self.seam, self.opening, self.gaping, self.glue = name, opening, 0.4, glue
        self.screws = np.array(screws)
        self.pushed = np.array([[3.0, 4.0, 0.0]] * len(screws)).reshape(-1, 3)
        self.pins = np.zeros((0, 3))


def test_cells_are_told_beside_the_uncut_part(panel):
    seams = (FakeSeam("S1", [12.0, 220.0], 0.07), FakeSeam("S2", [], 0.2))
    told = CellsTold(
        LOADING,
        2.5,
        (
            WayInCells("glued", 1.0, 0.31, (0.02, 0.03)),
            WayInCells("fastened", 0.63, 0.49, (0.8, 1.25), "1.2", seams),
        ),
        ("Held by nothing: a piece is held by nothing.",),
        (),
        41.2,
        "Stiffness within 5 %.",
    )
    cells = panel.cells
    panel.pages.setCurrentIndex(2)
    cells.show_told(told, {"1.1": 1, "1.2": 2}, has_hardware=True)
    assert cells.said.text() == (
        "“shelf” at 2.5 times its loads, by the fall. Held by pins and screws it is 63 % as stiff "
        "as printed in one, and takes up to 125 % of its strength on 99 % of the surface of piece "
        "2. It took 41 s."
    )
    assert cells.accuracy.text() == "Stiffness within 5 %."
    assert texts(cells.ways)[1] == [
        "pins and screws", "63 %", "moves 0.49 mm", "125 %", "80 %", "220 N in S1",
        "S2 opens 0.20 mm", "",
    ]  # fmt: skip
    assert texts(cells.seams) == [
        ["S1", "0.07 mm", "40 %", "12, 220 N", "5.0 N across a pin or screw"],
        ["S2", "0.20 mm", "40 %", "no screws", "0.0 N across a pin or screw"],
    ]
    chosen = []
    cells.seam_chosen.connect(chosen.append)
    Mouse().row(cells.seams, 0)
    assert chosen == ["S1"]


def test_glue_is_told_beside_what_holds_seams(panel):
    seams = (FakeSeam("S1", [12.0], 0.0, glue=0.42),)
    ways = (
        WayInCells("glued", 1.0, 0.31, (0.02, 0.03)),
        WayInCells("fastened", 0.98, 0.32, (0.8, 1.0), "1.2", seams),
    )
    panel.cells.show_told(CellsTold(LOADING, 1.0, ways, (), (), 4.0, "Near."), {}, True)
    assert texts(panel.cells.ways)[1][0] == "pins, screws and glue"
    assert texts(panel.cells.seams)[0][-1] == "5.0 N across a pin or screw; glue takes 42 %"


def test_what_the_check_costs_is_told_before(panel):
    panel.pages.setCurrentIndex(2)
    assert "3 GB" in panel.cells.said.text()
    assert "within 25 %" in panel.cells.accuracy.text()
    assert not panel.cells.check.isEnabled()
    panel.cells.show_fault("It cannot be done.")
    assert panel.cells.note.text == "It cannot be done."
    assert panel.cells.check.isEnabled()


def test_every_figure_is_explained():
    columns = (
        *answer_rows.CASES, *answer_rows.WAY_COLUMNS, *answer_rows.SEAM_COLUMNS,
        *cells_panel.COLUMNS, *cells_panel.SEAM_COLUMNS, *braces_panel.COLUMNS,
    )  # fmt: skip
    names = {figure.name for column in columns for figure in column.figures}
    assert names <= set(definitions.FIGURES)


def test_tables_do_not_overlap_in_a_low_window(panel, qtbot):
    told = "Load case “pressed”: seam S1 holds half of the load; give it more screws, or tape. " * 3
    answer = shown(panel, findings=[Finding("strength.seam", Severity.WARNING, told, "S1")])
    panel.resize(500, 420)
    qtbot.wait(20)
    ways, heading, seams, note = (
        widget.rect().translated(widget.mapTo(answer, widget.rect().topLeft()))
        for widget in (answer.ways, answer.heading, answer.seams, answer.notes[0])
    )
    assert ways.bottom() < heading.top() < heading.bottom() < seams.top()
    assert seams.bottom() < note.top()
    rows = answer.ways.verticalHeader().defaultSectionSize()
    assert answer.ways.viewport().height() >= 3 * rows
    assert answer.seams.viewport().height() >= 2 * rows


@pytest.mark.parametrize("height", [700, 733, 741])
def test_no_line_of_the_statements_is_cut_in_half(panel, qtbot, height):
    panel.tell_statements([f"Statement {number} of many." for number in range(40)])
    panel.resize(500, height)
    qtbot.wait(20)
    seen = panel.statements.visibleRegion().boundingRect().height()
    assert seen >= 2 * panel.statements.fontMetrics().lineSpacing()
    assert seen % panel.statements.fontMetrics().lineSpacing() == 0
