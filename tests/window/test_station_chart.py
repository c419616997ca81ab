"""The station chart under mouse and keys. Expected values: the scale of the chart, closed forms."""

import math
from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QLocale, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QGuiApplication, QKeyEvent, QMouseEvent, QPalette, QWheelEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLineEdit, QWidget

from splitplanner.score import stations
from splitplanner.score.lying import Fit
from splitplanner.solid import Solid
from splitplanner.window.chart.ground import Shown, curve_lines
from splitplanner.window.chart.station_chart import StationChart
from splitplanner.window.chart.values import CURVES, CutMark, Span, curve_named
from splitplanner.window.look import DARK, LIGHT, look_of
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Printer

LEFT, MIDDLE, NONE = Qt.MouseButton.LeftButton, Qt.MouseButton.MiddleButton, Qt.KeyboardModifier(0)
SHIFT, CTRL = Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier
X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
PLAIN = Quantities("mm", QLocale.c())
CUTS = (
    CutMark(0, 250.0, 0.0, "cut 1", True),
    CutMark(1, 350.0, 0.2, "cut 2", True),
    CutMark(2, 300.0, 0.0, "cut 3", False),
    CutMark(3, 0.0, 1.0, "cut 4", True),
)
SPANS = (
    Span(100.0, 250.0, Fit.SQUARE, "1", "#0072B2", "150 × 40 × 25 mm"),
    Span(250.0, 350.0, Fit.TURNED, "2", "#CC79A7", "100 × 40 × 25 mm"),
    Span(250.0, 400.0, Fit.TOO_LARGE, "3", "#56B4E9", ""),
    Span(350.0, 400.0, None, "4", "#F0E442", ""),
)


@pytest.fixture(scope="module")
def bar():
    """A bar of 300 x 40 x 25 mm from x = 100 on, with a rib of 10 mm at 200."""
    return Solid.box((300.0, 40.0, 25.0), (100.0, 0.0, 0.0)).union(
        Solid.box((10.0, 40.0, 30.0), (195.0, 0.0, 20.0))
    )


@pytest.fixture(scope="module")
def along_x(bar):
    return stations(bar, X, Printer(), 60)


@pytest.fixture(scope="module")
def along_y(bar):
    return stations(bar, Y, Printer(), 12)


class Owner:
    """Notes what a chart tells, and moves cuts as a plan does: to a sensible place if near."""

    def __init__(self, chart, snaps=()):
        self.chart, self.cuts, self.told, self.snaps = chart, list(CUTS), [], snaps
        for name in ("grabbed", "dragged", "dropped", "aborted", "chosen", "asked"):
            signal = getattr(chart, f"cut_{name}")
            signal.connect(lambda *values, name=name: self.told.append((name, *values)))
        chart.delete_asked.connect(lambda index: self.told.append(("delete", index)))
        chart.cut_dragged.connect(self.move)

    def move(self, index, station, per_pixel, fine):
        for place, _ in [] if fine else self.snaps:
            if abs(place - station) < 4 * per_pixel:
                station = place
        self.cuts[index] = replace(self.cuts[index], station=station)
        self.chart.set_cuts(tuple(self.cuts))

    def names(self):
        return [told[0] for told in self.told]


@pytest.fixture
def chart(qtbot, along_x):
    chart = StationChart()
    qtbot.addWidget(chart)
    chart.resize(1000, 200)
    chart.set_quantities(PLAIN)
    chart.set_axes([("x", X), ("y", Y), ("z", Z)])
    chart.set_stations(along_x)
    chart.set_cuts(CUTS)
    chart.set_spans(SPANS)
    chart.show()
    qtbot.waitExposed(chart)
    chart.activateWindow()
    chart.canvas.setFocus()
    qtbot.waitUntil(chart.canvas.hasFocus)
    return chart


@pytest.fixture
def owner(chart):
    return Owner(chart)


def test_while_a_part_is_measured_it_is_not_said_that_there_is_none(chart):
    assert chart.canvas.words_instead.startswith("No part")
    before = chart.canvas.grab().toImage()
    chart.set_stations(None, is_measuring=True)
    measuring = chart.canvas.grab().toImage()
    chart.set_stations(None)
    nothing = chart.canvas.grab().toImage()
    assert measuring != before
    assert measuring != nothing


def grip(chart, index):
    return next(m for m in chart.canvas.marks if m.cut.index == index).grip.center().toPoint()


def plot_at(chart, station, share=0.5):
    canvas = chart.canvas
    plot = canvas.frame.plot
    return QPoint(round(canvas.scale.pixel(station)), round(plot.top() + share * plot.height()))


def moved(chart, place, buttons=LEFT, held=NONE):
    event = QMouseEvent(
        QEvent.Type.MouseMove,
        QPointF(place),
        QPointF(chart.canvas.mapToGlobal(place)),
        Qt.MouseButton.NoButton,
        buttons,
        held,
    )
    QApplication.sendEvent(chart.canvas, event)


def wheel(chart, place, turn, sideways=False):
    angle = QPoint(turn, 0) if sideways else QPoint(0, turn)
    where, phase = QPointF(place), Qt.ScrollPhase.NoScrollPhase
    where_on_screen = QPointF(chart.canvas.mapToGlobal(place))
    buttons = Qt.MouseButton.NoButton
    event = QWheelEvent(where, where_on_screen, QPoint(), angle, buttons, NONE, phase, False)
    QApplication.sendEvent(chart.canvas, event)


# -- dragging ---------------------------------------------------------------------------------
def test_a_marker_is_dragged_as_far_as_the_pointer_goes(qtbot, chart, owner):
    place, per_pixel = grip(chart, 0), chart.canvas.scale.mm_per_pixel
    qtbot.mousePress(chart.canvas, LEFT, pos=place)
    for step in (10, 25, 40):
        qtbot.mouseMove(chart.canvas, place + QPoint(step, 3))
    assert chart.canvas.is_moving
    qtbot.mouseRelease(chart.canvas, LEFT, pos=place + QPoint(40, 3))
    assert owner.names() == ["chosen", "grabbed", "dragged", "dragged", "dragged", "dropped"]
    assert owner.told[0] == ("chosen", 0)
    _, index, station, told_per_pixel, fine = owner.told[-2]
    assert (index, told_per_pixel, fine) == (0, per_pixel, False)
    assert station == pytest.approx(250.0 + 40 * per_pixel)
    assert owner.cuts[0].station == station
    assert chart.canvas.selected == 0
    assert not chart.canvas.is_moving


def test_a_marker_is_dragged_by_its_line_too_and_a_click_only_chooses(qtbot, chart, owner):
    place = plot_at(chart, 250.0, 0.8)
    qtbot.mousePress(chart.canvas, LEFT, pos=place)
    qtbot.mouseMove(chart.canvas, place + QPoint(2, 0))
    qtbot.mouseRelease(chart.canvas, LEFT, pos=place + QPoint(2, 0))
    assert owner.told == [("chosen", 0)]
    owner.told.clear()
    qtbot.mousePress(chart.canvas, LEFT, pos=place)
    qtbot.mouseMove(chart.canvas, place - QPoint(30, 0))
    qtbot.mouseRelease(chart.canvas, LEFT, pos=place - QPoint(30, 0))
    assert owner.names() == ["grabbed", "dragged", "dropped"]


def test_with_shift_a_marker_goes_a_tenth_of_the_way_and_never_jumps(qtbot, chart, owner):
    place, per_pixel = grip(chart, 0), chart.canvas.scale.mm_per_pixel
    qtbot.mousePress(chart.canvas, LEFT, pos=place)
    moved(chart, place + QPoint(20, 0))
    moved(chart, place + QPoint(50, 0), held=SHIFT)
    assert owner.told[-1][4] is True
    assert owner.cuts[0].station == pytest.approx(250.0 + (20 + 3) * per_pixel)
    moved(chart, place + QPoint(60, 0))
    assert owner.cuts[0].station == pytest.approx(250.0 + (20 + 3 + 10) * per_pixel)
    qtbot.mouseRelease(chart.canvas, LEFT, pos=place + QPoint(60, 0))
    assert owner.names().count("grabbed") == owner.names().count("dropped") == 1


def test_escape_gives_up_a_drag_and_the_rest_of_it_is_not_heard(qtbot, chart, owner):
    place = grip(chart, 0)
    qtbot.mousePress(chart.canvas, LEFT, pos=place)
    qtbot.mouseMove(chart.canvas, place + QPoint(60, 0))
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Escape)
    assert owner.told[-1] == ("aborted", 0)
    assert chart.canvas.chosen.station == 250.0
    count = len(owner.told)
    qtbot.mouseMove(chart.canvas, place + QPoint(90, 0))
    qtbot.mouseRelease(chart.canvas, LEFT, pos=place + QPoint(90, 0))
    assert len(owner.told) == count
    assert chart.canvas.selected == 0


def test_a_marker_stays_on_the_part_and_follows_the_pointer_back(qtbot, chart, owner):
    place, per_pixel = grip(chart, 0), chart.canvas.scale.mm_per_pixel
    qtbot.mousePress(chart.canvas, LEFT, pos=place)
    qtbot.mouseMove(chart.canvas, place - QPoint(900, 0))
    assert owner.cuts[0].station == 100.0
    qtbot.mouseMove(chart.canvas, place + QPoint(30, 0))
    assert owner.cuts[0].station == pytest.approx(250.0 + 30 * per_pixel)
    qtbot.mouseRelease(chart.canvas, LEFT, pos=place + QPoint(30, 0))


def test_the_owner_says_where_a_cut_snaps_and_the_chart_says_why(qtbot, chart):
    snaps = ((270.0, "end of a rib"), (320.0, "short seam"))
    owner = Owner(chart, snaps)
    chart.set_snaps(snaps)
    canvas, place = chart.canvas, grip(chart, 0)
    per_pixel = canvas.scale.mm_per_pixel
    assert canvas.snap is None
    qtbot.mousePress(canvas, LEFT, pos=place)
    near = place + QPoint(round(20.0 / per_pixel) + 3, 0)
    qtbot.mouseMove(canvas, near)
    assert canvas.chosen.station == 270.0
    assert canvas.snap == (270.0, "end of a rib")
    # Out of its reach the way of the pointer counts, not the place it snapped to.
    far = place + QPoint(round(20.0 / per_pixel) + 12, 0)
    qtbot.mouseMove(canvas, far)
    assert canvas.chosen.station == pytest.approx(250.0 + (far.x() - place.x()) * per_pixel)
    assert canvas.snap is None
    qtbot.mouseRelease(canvas, LEFT, pos=far)
    assert owner.names()[-1] == "dropped"


def test_without_an_owner_that_answers_a_marker_still_follows(qtbot, chart):
    place, per_pixel = grip(chart, 1), chart.canvas.scale.mm_per_pixel
    qtbot.mousePress(chart.canvas, LEFT, pos=place)
    qtbot.mouseMove(chart.canvas, place - QPoint(20, 0))
    assert chart.canvas.chosen.station == pytest.approx(350.0 - 20 * per_pixel)
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Escape)
    assert chart.canvas.chosen.station == 350.0


@pytest.mark.parametrize("index", [2, 3])
def test_a_cut_that_cannot_be_moved_is_only_chosen(qtbot, chart, owner, index):
    place = grip(chart, index)
    qtbot.mousePress(chart.canvas, LEFT, pos=place)
    qtbot.mouseMove(chart.canvas, place - QPoint(50, 0))
    qtbot.mouseRelease(chart.canvas, LEFT, pos=place - QPoint(50, 0))
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Right)
    assert owner.told == [("chosen", index)]


def test_a_cut_that_is_no_more_is_not_dropped(qtbot, chart, owner):
    place = grip(chart, 0)
    qtbot.mousePress(chart.canvas, LEFT, pos=place)
    qtbot.mouseMove(chart.canvas, place + QPoint(20, 0))
    chart.set_cuts(CUTS[1:])
    assert chart.canvas.selected is None
    qtbot.mouseRelease(chart.canvas, LEFT, pos=place + QPoint(20, 0))
    assert owner.names() == ["chosen", "grabbed", "dragged"]


# -- other things the mouse does --------------------------------------------------------------
def test_a_double_click_on_an_empty_place_asks_for_a_cut(qtbot, chart, owner):
    place = plot_at(chart, 150.0)
    qtbot.mouseDClick(chart.canvas, LEFT, pos=place)
    (told,) = owner.told
    assert told[0] == "asked"
    assert told[1] == pytest.approx(150.0, abs=chart.canvas.scale.mm_per_pixel)
    owner.told.clear()
    qtbot.mouseDClick(chart.canvas, LEFT, pos=plot_at(chart, 250.0))
    assert "asked" not in owner.names()


def test_the_wheel_zooms_about_the_pointer_and_a_double_click_on_the_ruler_shows_all(qtbot, chart):
    canvas, place = chart.canvas, plot_at(chart, 300.0)
    whole, at = canvas.scale, canvas.scale.station(place.x())
    wheel(chart, place, 360)
    assert canvas.scale.mm_per_pixel == pytest.approx(whole.mm_per_pixel / 1.2**3)
    assert canvas.scale.station(place.x()) == pytest.approx(at)
    zoomed = canvas.scale
    wheel(chart, place, 120, sideways=True)
    assert canvas.scale.start < zoomed.start
    assert canvas.scale.mm_per_pixel == pytest.approx(zoomed.mm_per_pixel)
    ruler = canvas.frame.ruler.center().toPoint()
    qtbot.mouseDClick(canvas, LEFT, pos=ruler)
    assert canvas.scale == whole


def test_the_middle_button_pans(qtbot, chart):
    canvas, place = chart.canvas, plot_at(chart, 300.0)
    wheel(chart, place, 600)
    at = canvas.scale.station(place.x())
    qtbot.mousePress(canvas, MIDDLE, pos=place)
    moved(chart, place + QPoint(35, 0), buttons=MIDDLE)
    assert canvas.scale.station(place.x() + 35) == pytest.approx(at)
    qtbot.mouseRelease(canvas, MIDDLE, pos=place + QPoint(35, 0))
    after = canvas.scale
    moved(chart, place, buttons=Qt.MouseButton.NoButton)
    assert canvas.scale == after


def test_the_view_stays_for_new_figures_of_the_same_axis(chart, along_x, along_y):
    wheel(chart, plot_at(chart, 300.0), 360)
    before = chart.canvas.scale
    chart.set_stations(replace(along_x, room=along_x.room + 1))
    assert chart.canvas.scale == before
    chart.set_stations(along_y)
    assert chart.canvas.scale.is_whole
    assert (chart.canvas.scale.low, chart.canvas.scale.high) == (0.0, 40.0)


# -- reading ----------------------------------------------------------------------------------
def test_the_figures_under_the_pointer_are_told(qtbot, chart):
    place = plot_at(chart, 290.0)
    qtbot.mouseMove(chart.canvas, place)
    readings = dict(chart.canvas.readings())
    # 40 x 25 mm: area, outline, and the modulus b h² / 6; counted from the low end of the part.
    station = chart.canvas.scale.station(place.x()) - 100.0
    assert readings["Station"] == f"{station:.1f} mm"
    assert readings["Section area"] == "10.0 cm²"
    assert readings["Seam length"] == "130 mm"
    assert readings["Mean wall"] == "15.38 mm"
    assert readings["Section modulus"] == "4.17 cm³"
    assert readings["Overhang"] == "0 mm²/mm"
    assert readings["Room for pins"].endswith(" pins")
    assert f"at {station:.1f} mm" in chart.readout.text()
    assert "Section area 10.0 cm²" in chart.readout.text()
    assert "Section modulus: 4.17 cm³" in chart.readout.toolTip()
    chart.set_quantities(Quantities("inch", QLocale.c()))
    inches = dict(chart.canvas.readings())
    assert inches["Section area"] == "1.55 in²"
    assert inches["Seam length"] == "5.1 in"
    assert inches["Section modulus"] == "0.254 in³"
    QApplication.sendEvent(chart.canvas, QEvent(QEvent.Type.Leave))
    assert chart.readout.text() == ""


def test_beyond_the_part_nothing_is_read(qtbot, chart):
    edge = round(chart.canvas.frame.plot.right()) - 1
    qtbot.mouseMove(chart.canvas, QPoint(edge, 60))
    assert chart.canvas.read_at is None
    assert curve_named("area").value_at(chart.canvas.stations, 99.0) != 0.0
    assert math.isnan(curve_named("area").value_at(chart.canvas.stations, 99.0))


def test_figures_are_copied_as_text(qtbot, chart):
    qtbot.keyClick(chart.canvas, Qt.Key.Key_BracketRight)
    QGuiApplication.clipboard().setText("")
    qtbot.keyClick(chart.canvas, Qt.Key.Key_C, CTRL)
    lines = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
    assert lines[:2] == [["Station", "150.0 mm"], ["Section area", "10.0 cm²"]]
    assert len(lines) == 1 + len(CURVES)


def test_tooltips_tell_of_markers_pieces_and_the_figure(chart):
    canvas = chart.canvas
    assert canvas.tip_at(QPointF(grip(chart, 0))) == "cut 1 at 150.0 mm"
    # asin 0.2 = 11.54°.
    assert canvas.tip_at(QPointF(grip(chart, 1))) == "cut 2 at 250.0 mm, leaning by 11.5°"
    assert canvas.tip_at(QPointF(grip(chart, 2))).endswith("cannot be moved here.")
    assert "runs along the axis" in canvas.tip_at(QPointF(grip(chart, 3)))
    strip = canvas.frame.strip
    x = canvas.scale.pixel(110.0)
    assert canvas.tip_at(QPointF(x, strip.top() + 3)) == "Piece 1: fits. 150 × 40 × 25 mm"
    x = canvas.scale.pixel(390.0)
    assert canvas.tip_at(QPointF(x, strip.top() + 3)) == "Piece 4: fit not known yet."
    assert canvas.tip_at(QPointF(x, strip.bottom() - 3)) == "Piece 3: does not fit."
    assert "Area of the part's section" in canvas.tip_at(QPointF(5.0, 60.0))


# -- keys -------------------------------------------------------------------------------------
def test_keys_choose_markers_in_the_order_of_the_axis(qtbot, chart, owner):
    for _ in range(5):
        qtbot.keyClick(chart.canvas, Qt.Key.Key_BracketRight)
    assert [told[1] for told in owner.told] == [0, 2, 1, 3]
    qtbot.keyClick(chart.canvas, Qt.Key.Key_BracketLeft)
    assert chart.canvas.selected == 1
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Escape)
    assert owner.told[-1] == ("chosen", -1)
    assert chart.canvas.selected is None


def test_keys_move_the_chosen_cut_in_one_go(qtbot, chart, owner):
    chart.set_selected(0)
    with qtbot.waitSignal(chart.cut_dropped, timeout=5000):
        qtbot.keyClick(chart.canvas, Qt.Key.Key_Right)
        qtbot.keyClick(chart.canvas, Qt.Key.Key_Right, SHIFT)
        qtbot.keyClick(chart.canvas, Qt.Key.Key_Left, CTRL)
    assert owner.names() == ["grabbed", "dragged", "dragged", "dragged", "dropped"]
    stations = [told[2] for told in owner.told if told[0] == "dragged"]
    assert stations == pytest.approx([251.0, 251.1, 241.1])
    # Keys mean what they say: nothing is to snap.
    assert all(told[4] for told in owner.told if told[0] == "dragged")


def test_a_move_by_keys_ends_with_escape_or_when_another_cut_is_chosen(qtbot, chart, owner):
    chart.set_selected(0)
    qtbot.keyClick(chart.canvas, Qt.Key.Key_End)
    assert owner.cuts[0].station == 400.0
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Right)
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Left)
    assert owner.cuts[0].station == pytest.approx(399.0)
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Escape)
    assert owner.told[-1] == ("aborted", 0)
    assert chart.canvas.selected == 0
    owner.told.clear()
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Home)
    assert owner.told[-1][1:3] == (0, 100.0)
    qtbot.keyClick(chart.canvas, Qt.Key.Key_BracketRight)
    assert owner.names()[-2:] == ["dropped", "chosen"]


def test_steps_are_round_in_inches_too(qtbot, chart, owner):
    chart.set_quantities(Quantities("inch", QLocale.c()))
    chart.set_selected(0)
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Right, CTRL)
    assert owner.told[-1][2] == pytest.approx(250.0 + 0.5 * 25.4)


def test_keys_move_the_hairline_and_add_a_cut_there(qtbot, chart, owner):
    for _ in range(3):
        qtbot.keyClick(chart.canvas, Qt.Key.Key_Home)
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Right, CTRL)
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Right)
    assert dict(chart.canvas.readings())["Station"] == "11.0 mm"
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Insert)
    assert owner.told == [("asked", pytest.approx(111.0))]


def test_delete_asks_only_for_a_chosen_cut(qtbot, chart, owner):
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Delete)
    assert owner.told == []
    chart.set_selected(1)
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Delete)
    assert owner.told == [("delete", 1)]


def test_keys_zoom_and_pan(qtbot, chart):
    canvas = chart.canvas
    chart.set_selected(0)
    whole, at = canvas.scale, canvas.scale.pixel(250.0)
    qtbot.keyClick(canvas, Qt.Key.Key_Plus)
    qtbot.keyClick(canvas, Qt.Key.Key_Plus)
    assert canvas.scale.mm_per_pixel == pytest.approx(whole.mm_per_pixel / 2.25)
    assert canvas.scale.pixel(250.0) == pytest.approx(at)
    start = canvas.scale.start
    qtbot.keyClick(canvas, Qt.Key.Key_PageDown)
    assert canvas.scale.start > start
    # A cut that is moved by keys comes back into view.
    qtbot.keyClick(canvas, Qt.Key.Key_Home)
    assert canvas.scale.start <= 100.0
    qtbot.keyClick(canvas, Qt.Key.Key_Minus)
    qtbot.keyClick(canvas, Qt.Key.Key_0)
    assert canvas.scale == whole


def test_tab_goes_through_the_markers_and_then_on(qtbot, along_x):
    window, chart, after = QWidget(), StationChart(), QLineEdit()
    qtbot.addWidget(window)
    rows = QHBoxLayout(window)
    rows.addWidget(chart)
    rows.addWidget(after)
    chart.set_stations(along_x)
    chart.set_cuts(CUTS[:2])
    QWidget.setTabOrder(chart.canvas, after)
    window.show()
    qtbot.waitExposed(window)
    window.activateWindow()
    chart.canvas.setFocus()
    qtbot.waitUntil(chart.canvas.hasFocus)
    seen = []
    chart.cut_chosen.connect(seen.append)
    for _ in range(2):
        qtbot.keyClick(chart.canvas, Qt.Key.Key_Tab)
    assert seen == [0, 1]
    assert chart.canvas.hasFocus()
    qtbot.keyClick(chart.canvas, Qt.Key.Key_Tab)
    assert not chart.canvas.hasFocus()


def test_keys_that_are_used_here_are_kept_from_shortcuts(chart):
    def is_taken(key, held=NONE):
        event = QKeyEvent(QEvent.Type.ShortcutOverride, key, held)
        event.ignore()
        QApplication.sendEvent(chart.canvas, event)
        return event.isAccepted()

    assert is_taken(Qt.Key.Key_Left)
    assert is_taken(Qt.Key.Key_Left, CTRL)
    assert not is_taken(Qt.Key.Key_Delete)
    chart.set_selected(0)
    assert is_taken(Qt.Key.Key_Delete)
    assert not is_taken(Qt.Key.Key_Z, CTRL)
    assert not is_taken(Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)


# -- what is drawn ----------------------------------------------------------------------------
def test_axis_and_figure_are_chosen(qtbot, chart, along_y):
    axes, curves = [], []
    chart.axis_chosen.connect(axes.append)
    chart.curve_chosen.connect(curves.append)
    assert chart.axis_box.currentText() == "x"
    qtbot.keyClick(chart.axis_box, Qt.Key.Key_Down)
    assert axes == [Y]
    chart.set_stations(along_y)
    assert chart.axis_box.currentText() == "y"
    qtbot.keyClick(chart.curve_box, Qt.Key.Key_Down)
    assert curves == ["length"]
    assert chart.canvas.curve.name == "length"
    assert "outlines" in chart.curve_box.toolTip()
    chart.set_curve("modulus")
    assert chart.curve_box.currentText() == "Section modulus"
    assert curves == ["length"]
    with pytest.raises(ValueError, match="no curve is called “colour”; there are area, length"):
        chart.set_curve("colour")


def test_the_curve_is_drawn_where_its_values_are(along_x, chart):
    canvas = chart.canvas
    plot = canvas.frame.plot
    for curve in CURVES:
        shown = Shown(along_x, curve, (), PLAIN, LIGHT)
        (line,) = curve_lines(shown, canvas.scale, plot)
        assert line[0].x() == pytest.approx(canvas.scale.pixel(100.0))
        assert line[-1].x() == pytest.approx(canvas.scale.pixel(400.0))
        heights = [plot.bottom() - point.y() for point in line]
        assert min(heights) >= -1e-9
        assert max(heights) <= plot.height()
    (line,) = curve_lines(Shown(along_x, CURVES[0], (), PLAIN, LIGHT), canvas.scale, plot)
    at_300 = min(line, key=lambda point: abs(point.x() - canvas.scale.pixel(300.0)))
    at_rib = min(line, key=lambda point: point.y())
    # 40 x 25 against 40 x 50 in the rib.
    assert plot.bottom() - at_rib.y() == pytest.approx(2 * (plot.bottom() - at_300.y()))
    assert canvas.scale.station(at_rib.x()) == pytest.approx(200.0, abs=6.0)


def test_the_curve_has_a_gap_where_there_is_no_section(chart):
    apart = Solid.box((10.0, 9.0, 9.0)).union(Solid.box((10.0, 9.0, 9.0), (30.0, 0.0, 0.0)))
    found = stations(apart, X, Printer(), 41)
    shown = Shown(found, curve_named("wall"), (), PLAIN, LIGHT)
    lines = curve_lines(shown, chart.canvas.scale, chart.canvas.frame.plot)
    assert len(lines) == 2
    chart.set_stations(found)
    chart.set_curve("wall")
    assert not chart.canvas.grab().isNull()
    assert curve_named("wall").text(math.nan, PLAIN) == "– mm"


def colours_of(picture):
    image = picture.toImage()
    return {
        image.pixelColor(x, y).name()
        for x in range(0, image.width(), 2)
        for y in range(0, image.height(), 2)
    }


def test_pieces_are_drawn_in_the_colours_of_their_fit(chart):
    colours = colours_of(chart.canvas.grab())
    assert {"#009e73", "#e69f00", "#d55e00"} <= colours
    # As during a drag: the same pieces, and all of them fit now.
    chart.set_spans([replace(span, fit=Fit.SQUARE) for span in SPANS])
    assert not {"#e69f00", "#d55e00"} & colours_of(chart.canvas.grab())
    chart.set_spans(SPANS[:1])
    colours = colours_of(chart.canvas.grab())
    assert "#009e73" in colours
    assert not {"#e69f00", "#d55e00"} & colours


def test_it_is_drawn_anew_in_dark_colours(chart):
    def corner():
        return chart.canvas.grab().toImage().pixelColor(3, 60).name().upper()

    assert look_of(chart.palette()) == LIGHT
    assert corner() == LIGHT.paper
    dark = QPalette()
    dark.setColor(QPalette.ColorRole.Window, QColor(DARK.paper))
    chart.setPalette(dark)
    assert corner() == DARK.paper


def test_without_a_part_it_says_so_and_takes_no_harm(qtbot, chart, owner):
    chart.set_stations(None)
    place = QPoint(400, 60)
    qtbot.mouseMove(chart.canvas, place)
    qtbot.mouseClick(chart.canvas, LEFT, pos=place)
    qtbot.mouseDClick(chart.canvas, LEFT, pos=place)
    wheel(chart, place, 120)
    for key in (Qt.Key.Key_Left, Qt.Key.Key_Insert, Qt.Key.Key_Plus, Qt.Key.Key_BracketRight):
        qtbot.keyClick(chart.canvas, key)
    assert owner.told == []
    assert chart.canvas.readings() == []
    assert not chart.axis_box.isEnabled()
    assert len(colours_of(chart.canvas.grab())) > 2


def test_controls_are_named_for_screen_readers(chart):
    for control in (chart.axis_box, chart.curve_box, chart.readout, chart.canvas):
        assert control.accessibleName()
    assert "Insert adds a cut" in chart.canvas.accessibleDescription()
