"""The table of beds: what it says, what is painted, and in the window, filled when looked at."""

import numpy as np
import pytest
import shapely
from PySide6.QtCore import QLocale, QPointF, Qt
from PySide6.QtGui import QGuiApplication

from splitplanner.score import (
    BedPrint,
    FilamentUse,
    ToPlace,
    bed_fit,
    bed_seconds,
    share_beds,
)
from splitplanner.solid import Solid
from splitplanner.solid.plane import Plane
from splitplanner.window.lists import beds_table
from splitplanner.window.lists.beds_table import BedRow, BedsTable
from splitplanner.window.parts.bed_sketch import BedSketch
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Bed
from tests.window.hands import Keyboard, Mouse

UP = (0.0, 0.0, 1.0)
C = QLocale(QLocale.Language.C)
BED = Bed("rectangle", 220.0, 200.0, 250.0, 5.0, blocked=(((0, 0), (30, 0), (30, 30), (0, 30)),))
LABELS = {"a": ("1", "#0072B2"), "b": ("2", "#E69F00"), "c": ("3", "#CC79A7")}
STRIP = Solid.box((150.0, 16.0, 4.0))
CTRL = Qt.KeyboardModifier.ControlModifier


def loads():
    """A ring with a plug in it on one bed, and a plate that shares with neither."""
    ring = shapely.Point(0, 0).buffer(80).difference(shapely.Point(0, 0).buffer(50))
    solids = {
        "a": Solid.prism(ring, Plane(UP, 0.0), 0.0, 30.0),
        "b": Solid.cylinder((0, 0, 0), (0, 0, 20), 40),
        "c": Solid.box((150, 180, 10)),
    }
    pieces = [ToPlace.of(name, solid, bed_fit(solid, UP, BED)) for name, solid in solids.items()]
    return share_beds(pieces, BED)


def rows():
    first, second = loads()
    assert (first.names, second.names) == (("a", "b"), ("c",))
    use = FilamentUse(81_040.0, 241.4, 4.83)
    return [
        BedRow(BedPrint(first, 12_340.0, 13.1, 150, 194_700.0, use), (1, 2)),
        BedRow(BedPrint(second, 0.0), (3,)),
    ]


@pytest.fixture
def table(qtbot):
    made = BedsTable()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(520, 700)
    made.show_beds(rows(), BED, LABELS)
    with qtbot.waitExposed(made):
        made.show()
    return made


def cells(table):
    model = table.table.rows_model
    return [tuple(model.text_of(row).split("\t")) for row in range(len(model.rows))]


def test_rows_say_what_each_bed_takes(table):
    free = [100 * load.free for load in loads()]
    assert cells(table) == [
        ("Bed 1", "pieces 1, 2", "13 h 06 min", "150 layers", "241 g", "81.0 m, 4.83",
         "12.3 cm³", "30.0 mm", f"{free[0]:.0f} %"),
        ("Bed 2", "piece 3", "–", "–", "–", "–", "0.0 cm³", "10.0 mm", f"{free[1]:.0f} %"),
    ]  # fmt: skip
    # Of one bed the hours are not known, so they are not added up.
    assert table.said == "2 beds, as few as were found."
    table.show_beds(rows()[:1], BED, LABELS)
    assert table.said == (
        "1 bed, as few as were found: 13 h 06 min in all, one bed after another, 241 g."
    )


def test_what_is_said_without_beds(table):
    table.show_waiting()
    assert table.said == beds_table.STALE
    assert len(cells(table)) == 2
    table.show_nothing(beds_table.NOT_CUT)
    assert table.said == beds_table.NOT_CUT
    assert not table.table.isVisible()
    table.show_waiting()
    assert table.said == beds_table.WAITING


def seen(sketch, x, y):
    """The colour at a place of the bed, mm."""
    at = sketch.to_pixels.map(QPointF(x, y))
    return sketch.grab().toImage().pixelColor(at.toPoint()).name().upper()


def test_the_chosen_bed_is_painted_from_above(table):
    first, second = loads()
    ring, plug = (each.outline for each in first.pieces)
    for shape, name in ((ring, "a"), (plug, "b")):
        # Beside the number, which stands where there is most room.
        low = shapely.Point(shape.centroid.x, shape.bounds[1] + 4)
        assert shape.covers(low)
        assert seen(table.sketch, low.x, low.y) == LABELS[name][1]
    hole = (ring.centroid.x, ring.centroid.y - 45)
    paper = seen(table.sketch, *hole)
    assert not ring.union(plug).covers(shapely.Point(*hole))
    assert paper not in {colour for _, colour in LABELS.values()}
    assert table.sketch.accessibleDescription() == "Pieces on it: 1, 2"
    keys = Keyboard()
    table.activateWindow()
    table.table.setFocus()
    keys.press(Qt.Key.Key_Down)
    plate = second.pieces[0].outline
    assert seen(table.sketch, plate.bounds[0] + 8, plate.bounds[1] + 8) == LABELS["c"][1]
    keys.press(Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == "\t".join(cells(table)[1])


def test_braces_are_told_by_name_and_written_on_where_they_have_room(table):
    (load,) = share_beds([ToPlace.of("x", STRIP, bed_fit(STRIP, UP, BED))], BED)
    (strip,) = load.pieces
    low, bottom, high, top = strip.outline.bounds
    assert min(high - low, top - bottom) == pytest.approx(16.0)
    row = BedRow(BedPrint(load, 0.0, 1.0, 20, 9600.0), (), ("brace left",))
    pictures = []
    for label in (" ", "brace left"):
        table.show_beds([row], BED, {"x": (label, "#7F8791")})
        pictures.append(table.sketch.grab().toImage())
    assert cells(table)[0][:2] == ("Bed 1", "brace left")
    assert table.said == (
        "1 bed, as few as were found: 1 h 00 min in all, one bed after another. Printed braces "
        "have beds of their own: fill them altogether."
    )
    assert table.sketch.accessibleDescription() == "On it: brace left"
    blank, written = pictures
    back, _ = table.sketch.to_pixels.inverted()
    ink = [
        back.map(QPointF(x + 0.5, y + 0.5))
        for x in range(blank.width())
        for y in range(blank.height())
        if blank.pixel(x, y) != written.pixel(x, y)
    ]
    # Longer than the strip is wide, so that it runs along it, and nowhere beside it.
    assert ink
    assert all(strip.outline.covers(shapely.Point(at.x(), at.y())) for at in ink)
    long = max(np.ptp([at.x() for at in ink]), np.ptp([at.y() for at in ink]))
    assert long > 16.0


@pytest.mark.parametrize(
    "bed",
    [Bed.circle(200, 100, 4.0), Bed.of_outline(((0, 0), (200, 0), (100, 150)), 100.0)],
)
def test_beds_of_any_kind_keep_their_shape(qtbot, bed):
    sketch = BedSketch()
    qtbot.addWidget(sketch)
    sketch.resize(400, 300)
    sketch.show_bed(bed, None, {})
    with qtbot.waitExposed(sketch):
        sketch.show()
    beside, inside = seen(sketch, 3, bed.depth - 3), seen(sketch, 100, 60)
    assert beside != inside
    corner = sketch.to_pixels.map(QPointF(bed.width, bed.depth))
    origin = sketch.to_pixels.map(QPointF(0, 0))
    # As wide as it is high, and y goes up.
    assert (corner.x() - origin.x()) / (origin.y() - corner.y()) == pytest.approx(
        bed.width / bed.depth
    )


# -- in the window ------------------------------------------------------------------------------
def test_beds_are_found_when_they_are_looked_at_and_follow_the_plan(desk, model):
    desk.begin(model)
    window, session, mouse = desk.window, desk.session, Mouse()
    bar, beds = window.right.tabBar(), window.beds
    asked = []
    ask = session.jobs.ask

    def noted(desk_name, task, *given, **how):
        asked.append(task)
        return ask(desk_name, task, *given, **how)

    session.jobs.ask = noted
    window.commands["add"].trigger()
    desk.settle()
    desk.idle()
    assert "place_on_beds" not in asked
    at = next(at for at in range(bar.count()) if bar.tabText(at) == "Beds")
    mouse.click(bar, bar.tabRect(at).center())
    desk.until(lambda: len(cells(beds)) > 0 and beds.said.endswith("."))
    numbers = [number for row in beds.table.rows_model.rows for number in row.numbers]
    assert sorted(numbers) == [piece.number for piece in session.division.pieces]
    assert asked.count("place_on_beds") == 1
    printed = {row.name: row.printed for row in session.figures.pieces}
    for row in beds.table.rows_model.rows:
        seconds = bed_seconds([printed[name] for name in row.bed.load.names], session.plan.printer)
        assert row.bed.hours == pytest.approx(seconds / 3600)
    assert beds.table.rows_model.rows[0].bed.filament is not None
    window.commands["add"].trigger()
    desk.until(lambda: beds.said == beds_table.STALE)
    desk.settle()
    desk.until(lambda: beds.said != beds_table.STALE)
    numbers = [number for row in beds.table.rows_model.rows for number in row.numbers]
    assert sorted(numbers) == [piece.number for piece in session.division.pieces]
    assert len(numbers) == len(session.division.pieces)
    assert not desk.faults
    session.jobs.ask = ask
    window.right.setCurrentIndex(0)
