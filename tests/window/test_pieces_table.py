"""The table of pieces against what was measured, and how print directions are changed from it."""

import gc
import math
import weakref
from dataclasses import fields, replace
from functools import cache

import numpy as np
import pytest
from PySide6.QtCore import QLocale, QPoint, Qt
from PySide6.QtGui import QColor, QContextMenuEvent, QImage
from PySide6.QtWidgets import QApplication, QDoubleSpinBox, QLabel, QMenu, QPushButton

from splitplanner.findings import Finding, Severity
from splitplanner.output.pictures import piece_colours
from splitplanner.plan import Piece
from splitplanner.score import (
    DirectionFigures,
    GoodSideFigures,
    bed_fit,
    layered_print,
    layering,
    print_totals,
)
from splitplanner.score.lying import Fit
from splitplanner.solid import Solid
from splitplanner.window.dialogs.number_box import NumberBox
from splitplanner.window.lists.pieces_table import (
    PiecesTable,
    RankedDirection,
    fit_of,
    piece_rows,
    size_as_it_lies,
)
from splitplanner.window.lists.totals_line import TotalsLine
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Bed, Material
from tests.window.boxes import PRINTER, division, figures

C = QLocale(QLocale.Language.C)
FINDINGS = (
    Finding("a", Severity.WARNING, "One.", "2"),
    Finding("b", Severity.FAULT, "Two.", "2"),
    Finding("c", Severity.NOTE, "Three.", "S1"),
)


def way(up, **figures):
    """Figures of a direction: nothing hangs, in one island, but for what is given."""
    known = {field.name: 0.0 for field in fields(DirectionFigures)}
    known |= {"exact": True, "fits": True, "sides": (200.0, 200.0), "height": 200.0, "islands": 1}
    return DirectionFigures(**{**known, **figures, "up": up})


WAYS = (
    RankedDirection(
        (0.0, 0.0, 1.0),
        "+z up",
        Fit.SQUARE,
        way((0.0, 0.0, 1.0), height=240.0, contact=400.0, tip=39.8),
        0.1,
        best_at=("no support", "firmest stand"),
        is_now=True,
    ),
    RankedDirection(
        (1.0, 0.0, 0.0),
        "+x up",
        Fit.TURNED,
        way(
            (1.0, 0.0, 0.0),
            overhang=120.0,
            support=3400.0,
            support_seen=250.0,
            islands=2,
            crossings=812.0,
            crossings_seen=31.0,
            tip=-4.0,
        ),
        1.55,
        {"support volume": 0.4, "overhang area": 1.15},
    ),
    RankedDirection((0.0, 1.0, 0.0), "+y up", Fit.TOO_LARGE, way((0.0, 1.0, 0.0)), 20.0),
)


PETG = Material("PETG", 1.25, 24.0)


@cache
def printed():
    """Return the figures with those of all layers."""
    measured = figures()
    layers = (layering(row.piece.solid, row.up, PRINTER) for row in measured.pieces)
    rows = (
        replace(row, printed=layered_print(each, PRINTER))
        for row, each in zip(measured.pieces, layers, strict=True)
    )
    return replace(measured, pieces=tuple(rows))


def rows(known=None, material=PETG):
    known = printed() if known is None else known
    return piece_rows(division(), known or None, FINDINGS, piece_colours(division()), material)


@pytest.fixture
def table(qtbot):
    made = PiecesTable()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(420, 400)
    made.show_rows(rows())
    made.show()
    return made


def texts(table, row):
    return table.table.rows_model.text_of(row).split("\t")


def test_the_figures_are_those_of_the_boxes():
    one, other = rows()
    assert one.size == pytest.approx((200.0, 200.0, 240.0))
    assert other.size == pytest.approx((230.0, 200.0, 240.0))
    assert (one.fit, other.fit) == (Fit.SQUARE, Fit.TOO_LARGE)
    # 250 / 240 high, and 220 / 230 long.
    assert one.spare == pytest.approx(250 / 240)
    assert other.spare == pytest.approx(220 / 230)
    assert one.overhang == one.support == 0.0
    # Three lines of 0.45 mm in 1200 layers of 0.2 mm, eight of them solid, of the others 15 %.
    outer = 200**2 - 199.1**2
    walls = 200**2 - 197.3**2
    inside = (8 + 0.15 * 1192) * 197.3**2
    volume = 0.2 * (1200 * walls + inside)
    seconds = 0.2 * (1200 * (outer / 2.7 + (walls - outer) / 4.5) + inside / 6.3) + 1200
    assert one.hours == pytest.approx(seconds / 3600)
    # 1.25 g/cm³, 24 for each kg, a wire of 1.75 mm.
    assert one.mass == pytest.approx(volume / 1000 * 1.25)
    assert one.cost == pytest.approx(volume / 1e6 * 1.25 * 24)
    assert one.length == pytest.approx(volume / (math.pi / 4 * 1.75**2))
    assert (one.findings, one.worst) == (0, None)
    assert (other.findings, other.worst) == (2, Severity.FAULT)


@pytest.mark.parametrize("yaw", [0, 12.5, 45])
def test_a_piece_lies_square_when_it_can_and_askew_when_it_must(yaw):
    bar = Solid.box((300.0, 20.0, 10.0))
    turn = math.radians(yaw)
    spin = [[math.cos(turn), -math.sin(turn), 0, 0], [math.sin(turn), math.cos(turn), 0, 0]]
    piece = Piece("1", 1, bar.transformed(np.array([*spin, [0, 0, 1, 0]])))
    up = (0.0, 0.0, 1.0)
    wide, narrow = (
        bed_fit(piece.solid, up, Bed.parse(bed)) for bed in ("310x310x50", "235x235x50")
    )
    assert fit_of(piece.solid, wide) is Fit.SQUARE
    assert size_as_it_lies(piece.solid, wide) == pytest.approx((300.0, 20.0, 10.0))
    assert fit_of(piece.solid, narrow) is Fit.TURNED
    # Along the diagonal the bar takes (300 + 20) / sqrt 2 both ways.
    assert size_as_it_lies(piece.solid, narrow)[:2] == pytest.approx([320 / math.sqrt(2)] * 2)


def test_figures_are_written_out(table):
    assert texts(table, 0)[:4] == ["1", "200 × 200 × 240 mm", "fits", "4.2 % to spare"]
    assert texts(table, 1)[2:4] == ["does not fit", "4.3 % too large"]
    time, mass, filament = texts(table, 0)[6:9]
    row = table.table.rows_model.rows[0]
    assert time == f"{int(row.hours)} h {round(row.hours % 1 * 60):02d} min"
    assert mass == f"{row.mass / 1000:.2f} kg"
    assert filament == f"{row.length / 1000:.1f} m · {row.cost:.2f}"
    assert texts(table, 1)[-1] == "2"


def test_what_is_being_measured_is_left_open(table):
    table.show_rows(rows(known=()))
    assert texts(table, 0) == ["1", *["…"] * 12, "none"]
    # Before the layers are known.
    table.show_rows(rows(known=figures()))
    assert texts(table, 0)[4:] == ["0.0 cm²", "0.0 cm³", *["…"] * 7, "none"]


def test_without_a_material_there_are_hours_alone(table):
    table.show_rows(rows(material=None))
    assert texts(table, 0)[6].endswith(" min")
    assert texts(table, 0)[7:9] == ["–", "–"]
    table.show_rows(rows(material=replace(PETG, price=None)))
    assert texts(table, 0)[8].endswith(" m")


def test_large_volumes_take_no_more_room():
    written = Quantities("mm", C)
    assert [written.volume(1000.0 * each) for each in (9999.9, 11091.7)] == [
        "9999.9 cm³", "11092 cm³"
    ]  # fmt: skip
    assert Quantities("inch", C).volume(20000 * 25.4**3) == "20000 in³"


def test_what_is_left_of_a_spool_is_not_known_before_a_part_is_open(qtbot):
    made = TotalsLine()
    qtbot.addWidget(made)
    assert made.findChild(NumberBox).text() == "not known"


def totals_of(material=PETG, left=None):
    return print_totals(printed(), material, left), material, left


def test_all_pieces_together_are_told(table):
    table.show_totals(*totals_of())
    one, other = table.table.rows_model.rows
    grams = one.mass + other.mass
    hours = one.hours + other.hours
    spools = math.ceil(grams / 1000)
    assert table.totals.words == (
        f"All 2 pieces: {int(hours)} h {round(hours % 1 * 60):02d} min, {grams / 1000:.2f} kg, "
        f"{(one.length + other.length) / 1000:.1f} m, cost {one.cost + other.cost:.2f}. "
        f"It takes {spools} new spools of 1.00 kg; {1000 * spools - grams:.0f} g are left over."
    )
    table.show_totals(*totals_of(left=9000.0))
    over = Quantities("mm", C).mass(9000 - grams)
    assert f"The started spool is enough: of its 9.00 kg, {over} are left over." in (
        table.totals.words
    )
    table.show_totals(*totals_of(None))
    assert table.totals.words.endswith("min.")
    table.show_totals(None, PETG, None)
    assert table.totals.words == "All 2 pieces: …"
    table.show_rows(rows()[:1])
    table.show_totals(None, PETG, None)
    assert table.totals.words == "The one piece: …"
    table.set_quantities(Quantities("inch", C))
    table.show_totals(*totals_of())
    assert f", {(one.length + other.length) / 304.8:.0f} ft, " in table.totals.words


def test_printed_braces_are_told_with_the_pieces(table):
    label = table.totals.findChild(QLabel)
    table.show_totals(*totals_of())
    assert "filled altogether" not in label.toolTip()
    for braces, words in ((1, "All 2 pieces and 1 printed brace: "), (2, "and 2 printed braces: ")):
        table.show_totals(*totals_of(), braces)
        assert words in table.totals.words
        assert label.toolTip().endswith("filled altogether, as their strength is worked out as if "
                                        "solid.")  # fmt: skip


def test_what_is_left_on_the_spool_is_entered_and_shown(qtbot, table):
    table.show_totals(*totals_of())
    box = table.totals.findChild(QDoubleSpinBox)
    assert box.text() == "not known"
    assert box.accessibleName() == "Left on the started spool"
    with qtbot.waitSignal(table.spool_left_changed) as told:
        box.selectAll()
        qtbot.keyClicks(box, "350")
        qtbot.keyClick(box, Qt.Key.Key_Return)
    assert told.args == [350.0]
    with qtbot.assertNotEmitted(table.spool_left_changed):
        table.show_totals(*totals_of(left=420.0))
    assert box.text() == "420 g"
    with qtbot.waitSignal(table.spool_left_changed) as told:
        box.setValue(box.minimum())
    assert told.args == [None]


def test_a_piece_is_chosen_by_the_mouse(qtbot, table):
    view = table.table
    place = view.visualRect(view.rows_model.index(1, 1)).center()
    with qtbot.waitSignal(table.piece_chosen) as chosen:
        qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert chosen.args == ["2"]
    assert table.chosen == "2"


@pytest.mark.parametrize(
    ("key", "signal"),
    [
        (Qt.Key.Key_D, "directions_asked"),
        (Qt.Key.Key_Return, "directions_asked"),
        (Qt.Key.Key_L, "lay_face_asked"),
    ],
)
def test_keys_ask_for_the_chosen_piece(qtbot, table, key, signal):
    table.choose("2")
    with qtbot.waitSignal(getattr(table, signal)) as asked:
        qtbot.keyClick(table.table, key)
    assert asked.args == ["2"]


def test_buttons_wait_for_a_piece_to_be_chosen(qtbot, table):
    lay = next(b for b in table.findChildren(QPushButton) if "face" in b.text())
    assert not lay.isEnabled()
    assert lay.toolTip()
    assert lay.accessibleDescription()
    table.choose("1")
    with qtbot.waitSignal(table.lay_face_asked) as asked:
        qtbot.mouseClick(lay, Qt.MouseButton.LeftButton)
    assert asked.args == ["1"]


def test_what_a_piece_has_on_the_good_side_is_written_out(table):
    good = GoodSideFigures("2", 1200.0, 300.0, 456.6, 52.8, 499.0)
    shown = piece_rows(division(), printed(), FINDINGS, piece_colours(division()), PETG, [good])
    table.show_rows(shown)
    assert shown[1].good is good
    # Held up and stood on, 12 + 3 cm².
    assert texts(table, 1)[-5:-1] == [
        "15.0 cm² held",
        "457 mm seam",
        "53 travels",
        "5.0 cm² bed",
    ]
    assert texts(table, 0)[-5:-1] == ["…"] * 4
    tip = table.table.rows_model.tip(1, 4)
    assert "Supports on the good side: 15.0 cm² held" in tip
    assert "takes its texture" in tip


def test_ranked_directions_tell_what_each_costs_and_is_best_at(table):
    table.show_directions("1", WAYS)
    model = table.popup.table.rows_model
    now, turned = (model.text_of(row).split("\t") for row in (0, 1))
    assert now[:3] == ["+z up, as now", "fits", "no support, firmest stand"]
    assert now[3:] == [
        "0.0 cm²", "0.0 cm³", "0.0 cm²", "1", "0", "0", "240 mm", "4.0 cm²", "40°", "0.10"
    ]  # fmt: skip
    assert turned[:3] == ["+x up", "fits turned", ""]
    assert turned[3:10] == ["1.2 cm²", "3.4 cm³", "2.5 cm²", "2", "812", "31", "200 mm"]
    assert turned[-2:] == ["-4°", "1.55"]
    # What adds most comes first.
    tip = model.tip(1, 4)
    assert tip.index("overhang area") < tip.index("support volume")
    assert "1.15" in tip
    assert "What it costs" not in model.tip(0, 4)


def test_all_columns_of_the_ranked_directions_are_seen(table):
    table.show_directions("1", WAYS)
    popup = table.popup.table
    assert popup.horizontalScrollBar().maximum() == 0
    assert popup.verticalScrollBar().maximum() == 0


def test_a_direction_is_taken_from_the_list_by_keyboard(qtbot, table):
    table.show_directions("1", WAYS)
    popup = table.popup
    assert popup.isVisible()
    assert popup.table.chosen == 0  # the piece prints with +z up now
    qtbot.keyClick(popup.table, Qt.Key.Key_Down)
    with qtbot.waitSignal(table.direction_asked) as asked:
        qtbot.keyClick(popup.table, Qt.Key.Key_Return)
    assert asked.args == ["1", (1.0, 0.0, 0.0)]
    assert not popup.isVisible()


def test_a_direction_is_taken_by_one_click(qtbot, table):
    table.show_directions("2", WAYS)
    view = table.popup.table
    place = view.visualRect(view.rows_model.index(2, 1)).center()
    with qtbot.waitSignal(table.direction_asked) as asked:
        qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert asked.args == ["2", (0.0, 1.0, 0.0)]


def test_escape_leaves_the_direction_as_it_is(qtbot, table):
    table.show_directions("1", WAYS)
    with qtbot.assertNotEmitted(table.direction_asked):
        qtbot.keyClick(table.popup.table, Qt.Key.Key_Escape)
    assert not table.popup.isVisible()


def test_directions_of_a_piece_that_has_gone_are_not_shown(table):
    table.show_directions("7", WAYS)
    assert not table.popup.isVisible()


def test_the_menu_turns_a_side_up(qtbot, table):
    table.choose("1")
    menu = table.menu()
    side = next(a.menu() for a in menu.actions() if a.menu() is not None)
    with qtbot.waitSignal(table.direction_asked) as asked:
        side.actions()[1].trigger()
    assert asked.args == ["1", (-1.0, 0.0, 0.0)]
    assert len(side.actions()) == 6


def test_the_menu_key_opens_the_menu_at_the_piece(qtbot, table):
    table.choose("2")
    event = QContextMenuEvent(
        QContextMenuEvent.Reason.Keyboard, QPoint(1, 1), table.mapToGlobal(QPoint(1, 1))
    )
    QApplication.sendEvent(table, event)
    shown = QApplication.activePopupWidget()
    assert isinstance(shown, QMenu)
    at = table.table.viewport().mapFromGlobal(shown.pos())
    index = table.table.currentIndex()
    assert abs(at.y() - table.table.visualRect(index).bottom()) <= 2
    shown.close()


def test_a_picture_that_arrives_later_is_drawn_with_the_number_on_it(qtbot, table):
    picture = QImage(80, 60, QImage.Format.Format_RGB32)
    picture.fill(QColor("#123456"))
    view = table.table
    box = view.visualRect(view.rows_model.index(0, 0))
    before = view.viewport().grab().toImage().pixelColor(box.center())
    table.set_picture("1", picture)
    grabbed = view.viewport().grab().toImage()
    assert before != QColor("#123456")
    assert grabbed.pixelColor(box.center()) == QColor("#123456")
    colour = QColor(piece_colours(division())["1"])
    assert grabbed.pixelColor(box.topLeft() + QPoint(6, 5)) == colour


def test_pictures_stay_with_their_pieces_and_go_with_them(table):
    picture = QImage(8, 6, QImage.Format.Format_RGB32)
    for name in ("1", "2"):
        table.set_picture(name, picture)
    table.show_rows(rows()[1:])
    assert list(table._pictures.pictures) == ["2"]


def test_the_table_leaves_nothing_behind(qtbot):
    table = PiecesTable()
    table.show_rows(rows())
    table.show()
    gone = weakref.ref(table)
    table.close()
    del table
    gc.collect()
    assert gone() is None
