"""The choice between light and dark: what it does at once, and at the next start."""

import pytest
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QCheckBox, QWidget

from splitplanner.window.look import DARK, LIGHT, look_of
from splitplanner.window.look_menu import LookMenu, palette_of, put_on
from splitplanner.window.settings import Settings


@pytest.fixture(autouse=True)
def _as_before(qapp):
    yield
    put_on("system")


@pytest.fixture
def settings(tmp_path):
    return Settings(tmp_path / "window.ini")


def test_at_first_it_is_as_the_system_is(qtbot, settings):
    menu = LookMenu(settings)
    qtbot.addWidget(menu)
    assert [name for name, action in menu.choices.items() if action.isChecked()] == ["system"]


@pytest.mark.parametrize(("name", "look"), [("dark", DARK), ("light", LIGHT)])
def test_a_choice_changes_all_widgets_at_once_and_is_remembered(qapp, qtbot, settings, name, look):
    menu, widget = LookMenu(settings), QWidget()
    qtbot.addWidget(menu)
    qtbot.addWidget(widget)
    menu.choices[name].trigger()
    qapp.processEvents()
    assert look_of(widget.palette()) == look
    assert settings.sync()
    again = Settings(settings.file)
    assert again.look == name
    later = LookMenu(again)
    qtbot.addWidget(later)
    assert later.choices[name].isChecked()
    assert not later.choices["system"].isChecked()


def test_as_the_system_undoes_the_choice(qapp, settings, qtbot):
    menu, widget = LookMenu(settings), QWidget()
    qtbot.addWidget(menu)
    qtbot.addWidget(widget)
    before = widget.palette().color(QPalette.ColorRole.Window)
    menu.choices["dark"].trigger()
    qapp.processEvents()
    assert widget.palette().color(QPalette.ColorRole.Window) != before
    menu.choices["system"].trigger()
    qapp.processEvents()
    assert widget.palette().color(QPalette.ColorRole.Window) == before
    assert settings.look == "system"


@pytest.mark.parametrize("look", [DARK, LIGHT])
def test_letters_stand_out_from_their_ground(look):
    palette, role = palette_of(look), QPalette.ColorRole
    for ground, letters in (
        (role.Window, role.WindowText),
        (role.Base, role.Text),
        (role.Base, role.PlaceholderText),
        (role.Button, role.ButtonText),
        (role.ToolTipBase, role.ToolTipText),
        (role.Highlight, role.HighlightedText),
        (role.Window, role.Link),
    ):
        # WCAG 2.1, success criterion 1.4.3: 4.5 to 1.
        assert contrast(palette.color(ground), palette.color(letters)) >= 4.5, (ground, letters)


def contrast(one, other):
    """Return the contrast ratio of two colours, after WCAG 2.1."""
    lights = sorted((luminance(one), luminance(other)))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def luminance(colour):
    parts = [colour.redF(), colour.greenF(), colour.blueF()]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_a_box_that_is_not_ticked_is_seen_in_the_dark(qapp, settings, qtbot):
    menu, holder = LookMenu(settings), QWidget()
    qtbot.addWidget(menu)
    qtbot.addWidget(holder)
    holder.resize(200, 40)
    box = QCheckBox("No support", holder)
    before = box.palette().color(QPalette.ColorRole.Base)
    menu.choices["dark"].trigger()
    qapp.processEvents()
    image = holder.grab().toImage()
    ground = image.pixelColor(199, 39)
    # WCAG 2.1, success criterion 1.4.11: 3 to 1.
    middle = box.sizeHint().height() // 2
    assert max(contrast(image.pixelColor(x, middle), ground) for x in range(8)) >= 3.0
    menu.choices["system"].trigger()
    qapp.processEvents()
    assert QCheckBox().palette().color(QPalette.ColorRole.Base) == before
