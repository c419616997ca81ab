"""A label that is as high as its words need."""

import pytest

from splitplanner.window.parts.wrapping_label import WrappingLabel


@pytest.mark.parametrize("width", [700, 330, 120])
def test_all_words_are_seen_at_any_width(qtbot, width):
    label = WrappingLabel()
    qtbot.addWidget(label)
    label.setText("blue pressed  whole  orange a gap  " * 4)
    label.resize(width, 10)
    label.show()
    qtbot.waitExposed(label)
    line = label.fontMetrics().lineSpacing()
    assert label.height() >= label.heightForWidth(width) >= line
    tall = label.height()
    label.resize(3 * width, tall)
    assert label.height() < tall
    label.setText("short")
    assert label.height() < 2 * line
