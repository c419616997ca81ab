"""Walls and printed lines on the faces, ranked ways up and the good side, by real keys and events.

The part is a shell of 430 x 100 x 80 mm, open below, with walls of 2.4 mm: 5.33 lines of 0.45 mm.
"""

import numpy as np
import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtGui import QColor

from splitplanner.background.overlay import LINES, THICKNESS
from splitplanner.score import Surfaces
from splitplanner.solid import Solid
from splitplanner.window.parts.wall_bars import WallBars
from splitplanner.window.quantities import Quantities
from splitplanner.window.view.wall_words import lines_words, thickness_words
from splitplanner.workshop import Printer
from tests.planned import box, save
from tests.window.hands import Keyboard

C = QLocale(QLocale.Language.C)


@pytest.fixture(scope="module")
def model(tmp_path_factory):
    shell = box((430.0, 100.0, 80.0)).difference(
        box((425.2, 95.2, 78.6), (2.4, 2.4, -1.0)), engine="manifold"
    )
    return save(shell, tmp_path_factory.mktemp("walls") / "shell.stl")


@pytest.fixture
def cut(desk, model):
    """With a cut in the middle that is examined."""
    desk.begin(model)
    desk.window.commands["add"].trigger()
    desk.settle()
    return desk


@pytest.fixture(scope="module")
def walls():
    """Of a plate of 2.4 mm over 60 mm beside one of 3.2 mm over 40 mm."""
    low = Solid.box((60.0, 300.0, 2.4))
    solid = low.union(Solid.box((40.0, 300.0, 3.2), (60.0, 0.0, 0.0)))
    return Surfaces().wall_lines(solid, Printer()).in_short


def shown_on_faces(desk, name):
    """Choose by keys what is shown on the faces, and wait for it."""
    window, keyboard = desk.window, Keyboard()
    window.view.setFocus()
    keyboard.tab_to(window.tools.faces, back=True)
    keyboard.press(Qt.Key.Key_Home)
    keyboard.press(Qt.Key.Key_Down, times=window.tools.faces.findText(name))
    assert window.tools.faces.currentText() == name
    desk.until(lambda: window.tools._overlay is not None)
    desk.idle()


def test_wall_lines_are_shown_with_what_would_suit_them(cut):
    window, tools = cut.window, cut.window.tools
    size = window.size()
    shown_on_faces(cut, LINES)
    # Walls are 2.4 - 5 x 0.45 = 0.15 mm too thick, of 0.225 mm at the end of the scale.
    for body in window.view._bodies:
        solid = cut.session.division.piece(body.name).solid
        outer = (solid.face_normals[:, 1] < -0.99) & (solid.face_areas > 5000)
        assert outer.any()
        red, green, blue = body.face_colours[outer][0].astype(int)
        assert red > green > blue
    assert "■" in tools.legend.text()
    assert "whole" in tools.legend.text()
    words = tools.words.text()
    assert words.startswith("100 % of wall area is off lines of 0")
    assert "Best: lines of 0" in words
    assert "walls of 2" in words
    assert tools.bars.isVisible()
    assert window.size() == size
    assert tools.legend_line.height() < 80
    window.commands["inch"].trigger()
    try:
        assert " in " in tools.words.text()
        assert "mm" not in tools.words.text()
    finally:
        window.commands["inch"].trigger()
    tools.faces.setCurrentIndex(0)
    assert not tools.legend_line.isVisible()


def test_wall_thickness_is_that_of_the_walls_alone(cut):
    window, tools = cut.window, cut.window.tools
    shown_on_faces(cut, THICKNESS)
    overlay = tools._overlay
    for piece in cut.session.division.pieces:
        values = overlay.values[piece.name]
        outer = (piece.solid.face_normals[:, 1] < -0.99) & (piece.solid.face_areas > 5000)
        assert np.allclose(values[outer], 2.4, rtol=0.01)
        # The rim that it stands on is none.
        rim = (piece.solid.face_normals[:, 2] < -0.99) & (piece.solid.face_centroids[:, 2] < 1.0)
        assert np.isnan(values[rim]).all()
    assert "no wall" in tools.legend.text().replace("&nbsp;", " ")
    assert tools.words.text().startswith("Walls of the part, by area: 100 %")
    tools.faces.setCurrentText("overhang")
    cut.until(lambda: tools._overlay.name == "overhang")
    assert not tools.bars.isVisible()
    # Which limit counts is told instead.
    assert "°" in tools.words.text()
    assert window.tools.legend.isVisible()
    tools.faces.setCurrentIndex(0)


def test_a_note_tells_of_the_walls(cut):
    notes = [each for each in cut.session.findings if each.kind == "walls.between_lines"]
    assert len(notes) == 1
    assert cut.session.examined.walls.off == pytest.approx(1.0, abs=1e-6)


def test_a_ranked_way_up_is_taken_by_keys_and_undone(cut):
    window, session, keyboard = cut.window, cut.session, Keyboard()
    before = session.plan.up("1")
    window.pieces.table.setFocus()
    keyboard.press(Qt.Key.Key_Down)
    assert window.pieces.chosen == "1"
    keyboard.press(Qt.Key.Key_D)
    popup = window.pieces.popup
    cut.until(popup.isVisible)
    rows = popup.table.rows_model.rows
    assert 2 <= len(rows) <= 9
    (now,) = (row for row in rows if row.is_now)
    assert np.allclose(now.up, before, atol=0.02)
    assert rows[popup.table.chosen] is now
    # Those that fit come first, the cheapest before others, and every cost is the sum of its terms.
    fitting = [row.total for row in rows if row.figures.fits]
    assert fitting == sorted(fitting)
    assert all(row.total == pytest.approx(sum(row.terms.values())) for row in rows)
    assert all(row.figures.exact for row in rows)
    assert any(row.best_at for row in rows)
    down = Qt.Key.Key_Down if popup.table.chosen < len(rows) - 1 else Qt.Key.Key_Up
    keyboard.press(down)
    wanted = rows[popup.table.chosen].up
    keyboard.press(Qt.Key.Key_Return)
    assert not popup.isVisible()
    assert session.plan.up("1") == wanted
    cut.settle()
    window.commands["undo"].trigger()
    assert session.plan.up("1") == before


def test_the_table_of_pieces_tells_of_the_good_side(cut):
    cut.settle()
    rows = cut.window.pieces.table.rows_model.rows
    good = {each.name: each for each in cut.session.examined.good_sides}
    assert set(good) == {"1", "2"}
    assert all(row.good is good[row.name] for row in rows)
    # The cut is seen along both sides and the top, from outside.
    assert all(each.seam >= 2 * 80.0 + 100.0 - 1e-6 for each in good.values())


# -- parts --------------------------------------------------------------------------------------
def test_words_of_walls(walls):
    quantities = Quantities("mm", C)
    # Both sides of 60 and of 40 mm: 60 and 40 %, but for what is beside the step.
    assert thickness_words(walls, quantities) == (
        "Walls of the part, by area: 60 % 2.40 mm, 40 % 3.20 mm."
    )
    said = lines_words(walls, quantities)
    assert said.startswith(
        "100 % of wall area is off lines of 0.45 mm. Best: lines of 0.40 mm (0 %"
    )
    assert said.endswith(", or walls of 2.25 for 2.40 mm, 3.15 for 3.20 mm.")


def test_bars_are_as_long_as_there_is_wall(qtbot, walls):
    bars = WallBars()
    qtbot.addWidget(bars)
    bars.show_walls(walls, Quantities("mm", C))
    assert bars.bars.sum() == pytest.approx(1.0)
    # Bars stand round tenths of a mm.
    assert bars.bars[24] == pytest.approx(0.6, abs=0.02)
    assert bars.bars[32] == pytest.approx(0.4, abs=0.02)
    assert "60 % 2.40 mm" in bars.accessibleDescription()
    picture = bars.grab().toImage()
    accent = QColor("#0072B2")
    columns = [
        sum(picture.pixelColor(x, y) == accent for y in range(picture.height()))
        for x in range(picture.width())
    ]
    heights = sorted({count for count in columns if count > 2}, reverse=True)
    assert heights[1] / heights[0] == pytest.approx(40 / 60, abs=0.07)
    bars.show_walls(None, Quantities("mm", C))
    assert not bars.isVisible()
