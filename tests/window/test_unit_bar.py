"""The question for a file's unit, answered in place."""

import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton

from splitplanner.window.parts.note_line import Mark
from splitplanner.window.parts.unit_bar import UnitBar
from splitplanner.window.quantities import Quantities
from tests.window.widgets import button_called

HOOD = (21.26, 9.06, 6.5)  # inches, which are 540 x 230 x 165 mm


@pytest.fixture
def bar(qtbot):
    bar = UnitBar()
    qtbot.addWidget(bar)
    bar.set_quantities(Quantities("mm", QLocale.c()))
    return bar


def buttons(bar):
    bar.layout().activate()
    found = [each for each in bar.findChildren(QPushButton) if each.isVisibleTo(bar)]
    return [each.text().replace("&", "") for each in sorted(found, key=lambda each: each.x())]


def test_it_says_what_the_part_would_be(bar, qtbot):
    assert not bar.isVisible()
    bar.ask("hood.stl", HOOD, "mm", "inch")
    assert bar.isVisible()
    assert bar.mark is Mark.QUESTION
    # 1 in is 25.4 mm.
    assert bar.text == (
        "hood.stl does not say its unit. Read in mm it is 21.3 × 9.1 × 6.5 mm; it looks as if it "
        "were in inches: 540 × 230 × 165 mm. Read it in:"
    )
    assert buttons(bar) == ["inch", "cm", "m", "Keep"]
    assert button_called(bar, "cm").toolTip() == "It is then 213 × 91 × 65 mm."
    bar.set_quantities(Quantities("inch", QLocale.c()))
    assert "Read in mm it is 0.837 × 0.357 × 0.256 in" in bar.text.replace("  ", " ")
    assert buttons(bar) == ["inch", "cm", "m", "Keep"]


def test_the_guess_is_one_key_away(bar, qtbot):
    bar.ask("hood.stl", HOOD, "mm", "inch")
    with qtbot.waitSignal(bar.unit_chosen) as heard:
        QTest.keyClick(bar.window().focusWidget(), Qt.Key.Key_Space)
    assert heard.args == ["inch"]
    assert not bar.isVisible()


def test_it_is_answered_by_the_mouse(bar, qtbot):
    bar.ask("hood.stl", (0.54, 0.23, 0.165), "mm", "m")
    assert buttons(bar) == ["m", "inch", "cm", "Keep"]
    with qtbot.waitSignal(bar.unit_chosen) as heard:
        qtbot.mouseClick(button_called(bar, "m"), Qt.MouseButton.LeftButton)
    assert heard.args == ["m"]


@pytest.mark.parametrize("way", ["button", "escape"])
def test_it_is_kept(bar, qtbot, way):
    chosen = []
    bar.unit_chosen.connect(chosen.append)
    bar.ask("hood.stl", HOOD, "inch", "mm")
    assert buttons(bar) == ["mm", "cm", "m", "Keep"]
    with qtbot.waitSignal(bar.kept):
        if way == "button":
            qtbot.mouseClick(button_called(bar, "Keep"), Qt.MouseButton.LeftButton)
        else:
            QTest.keyClick(bar, Qt.Key.Key_Escape)
    assert chosen == []
    assert not bar.isVisible()


def test_another_file_is_asked_about_anew(bar):
    bar.ask("hood.stl", HOOD, "mm", "inch")
    bar.withdraw()
    assert not bar.isVisible()
    bar.ask("dust.stl", (540_000.0, 230_000.0, 165_000.0), "mm", "micron")
    assert "microns: 540 × 230 × 165 mm" in bar.text
    assert buttons(bar) == ["micron", "inch", "cm", "m", "Keep"]
    assert button_called(bar, "micron").accessibleName() == "Read it in microns"
