"""A line that says something in place: its mark, its colours, how it is read aloud and copied."""

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QColor, QImage, QPalette
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel

from splitplanner.window.look import DARK, LIGHT
from splitplanner.window.parts.note_line import Mark, NoteLine

# Okabe & Ito, "Color Universal Design" (2008), by what a line is about.
COLOURS = {
    Mark.INFO: (0x56, 0xB4, 0xE9),
    Mark.QUESTION: (0x56, 0xB4, 0xE9),
    Mark.DONE: (0x00, 0x9E, 0x73),
    Mark.WARNING: (0xE6, 0x9F, 0x00),
    Mark.FAULT: (0xD5, 0x5E, 0x00),
}


@pytest.fixture
def line(qtbot):
    line = NoteLine()
    qtbot.addWidget(line)
    line.resize(500, 60)
    return line


def pixels(widget):
    image = widget.grab().toImage().convertToFormat(QImage.Format.Format_RGBA8888)
    return np.array(image.constBits(), np.uint8).reshape(image.height(), image.width(), 4)[..., :3]


def palette(look):
    made = QPalette()
    made.setColor(QPalette.ColorRole.Window, QColor(look.paper))
    made.setColor(QPalette.ColorRole.WindowText, QColor("#808080"))
    return made


def luminance(colour):
    """Relative luminance by WCAG 2.2."""
    shares = np.asarray(colour, float) / 255
    linear = np.where(shares <= 0.04045, shares / 12.92, ((shares + 0.055) / 1.055) ** 2.4)
    return linear @ [0.2126, 0.7152, 0.0722]


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_it_is_there_as_long_as_it_says_something(line):
    assert not line.isVisible()
    line.say(Mark.FAULT, "The disk is full.")
    assert line.isVisible()
    assert (line.mark, line.text) == (Mark.FAULT, "The disk is full.")
    assert line.accessibleName() == "fault: The disk is full."
    line.say(Mark.INFO, "")
    assert not line.isVisible()


@pytest.mark.parametrize("mark", list(Mark))
def test_each_kind_has_a_colour_and_a_glyph_that_is_read_on_it(line, mark):
    line.say(mark, "Something.")
    shown = pixels(line)
    assert shown[30, 2].tolist() == list(COLOURS[mark])
    badge = shown[:, 8:40].reshape(-1, 3)
    is_disc = (np.abs(badge.astype(int) - COLOURS[mark]) <= 2).all(axis=1)
    is_glyph = (badge < 40).all(axis=1)
    assert is_disc.sum() > 50
    assert is_glyph.sum() > 3
    # WCAG 2.2, 1.4.3: 4.5 for texts.
    assert contrast(COLOURS[mark], (0, 0, 0)) > 4.5


@pytest.mark.parametrize("look", [LIGHT, DARK])
def test_it_is_legible_in_light_and_dark(line, look):
    line.say(Mark.INFO, "Something that is said.")
    line.setPalette(palette(look))
    paper, ink = (QColor(each).getRgb()[:3] for each in (look.raised, look.ink))
    assert pixels(line)[5, 250].tolist() == list(paper)
    assert line.findChild(QLabel).palette().color(QPalette.ColorRole.WindowText) == QColor(look.ink)
    assert contrast(paper, ink) > 7


def test_the_text_is_copied(line):
    line.say(Mark.FAULT, "word")
    label = line.findChild(QLabel)
    middle = QPoint(8, label.height() // 2)
    QTest.mouseDClick(label, Qt.MouseButton.LeftButton, pos=middle)
    QTest.keyClick(label, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QApplication.clipboard().text() == "word"


def test_markup_is_shown_as_it_is(line):
    line.say(Mark.FAULT, "<b>hood</b>.stl is no model.")
    assert line.findChild(QLabel).textFormat() == Qt.TextFormat.PlainText
