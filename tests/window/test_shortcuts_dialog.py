"""The list of keys, and what the program says of itself."""

import re
from importlib import metadata

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QPixmap
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QPlainTextEdit, QTableWidget

import splitplanner
from splitplanner.window.dialogs.about import AboutDialog, about_text, cautions, libraries
from splitplanner.window.dialogs.shortcuts_dialog import ShortcutsDialog
from splitplanner.window.parts.note_line import NoteLine
from tests.window.widgets import button_called


def action(text, *keys):
    made = QAction(text)
    made.setShortcuts(list(keys))
    return made


@pytest.fixture
def dialog(qtbot):
    groups = {
        "File": [action("&Open…", "Ctrl+O"), action("Nuts && &bolts", "Ctrl+B"), action("None")],
        "Edit": [action("&Redo", "Ctrl+Shift+Z", "Ctrl+Y")],
    }
    dialog = ShortcutsDialog(groups, [("View", "Fine steps while dragging", "Shift")])
    qtbot.addWidget(dialog)
    dialog.show()
    return dialog


def listed(dialog):
    table = dialog.findChild(QTableWidget)
    return [
        tuple(table.item(row, column).text() for column in range(3))
        for row in range(table.rowCount())
        if not table.isRowHidden(row)
    ]


def test_all_keys_are_listed_as_the_menus_have_them(dialog):
    assert listed(dialog) == [
        ("File", "Open", "Ctrl+O"),
        ("File", "Nuts & bolts", "Ctrl+B"),
        ("Edit", "Redo", "Ctrl+Shift+Z, Ctrl+Y"),
        ("View", "Fine steps while dragging", "Shift"),
    ]


@pytest.mark.parametrize(
    ("search", "found"),
    [
        ("redo", ["Redo"]),
        ("ctrl+o", ["Open"]),
        ("SHIFT", ["Redo", "Fine steps while dragging"]),
        ("shift drag", ["Fine steps while dragging"]),
        ("file", ["Open", "Nuts & bolts"]),
        ("nothing such", []),
    ],
)
def test_they_are_searched(dialog, search, found):
    QTest.keyClicks(dialog.findChild(QLineEdit), search)
    assert [what for _, what, _ in listed(dialog)] == found
    (count,) = dialog.findChildren(QLabel)
    assert count.text() == (f"{len(found)} of 4" if found else "No key of that kind.")


def test_they_are_copied(dialog, qtbot):
    QApplication.clipboard().clear()
    QTest.keyClicks(dialog.findChild(QLineEdit), "file")
    qtbot.mouseClick(button_called(dialog, "Copy all"), Qt.MouseButton.LeftButton)
    wanted = "File\tOpen\tCtrl+O\nFile\tNuts & bolts\tCtrl+B"
    assert QApplication.clipboard().text() == wanted
    table = dialog.findChild(QTableWidget)
    table.setFocus()
    at = table.visualItemRect(table.item(1, 1)).center()
    qtbot.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=at)
    QTest.keyClick(table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QApplication.clipboard().text() == "File\tNuts & bolts\tCtrl+B"


def test_the_program_says_what_it_is(qtbot):
    dialog = AboutDialog(QPixmap(64, 64))
    qtbot.addWidget(dialog)
    dialog.show()
    texts = " ".join(label.text() for label in dialog.findChildren(QLabel))
    assert splitplanner.__version__ in texts
    assert "Apache-2.0" in texts
    assert [note.text for note in dialog.findChildren(NoteLine)] == list(cautions())
    qtbot.mouseClick(button_called(dialog, "Copy all"), Qt.MouseButton.LeftButton)
    assert QApplication.clipboard().text() == about_text()
    shown = dialog.findChild(QPlainTextEdit).toPlainText()
    for name, version, licence in libraries():
        assert f"{name} {version} ({licence})" in shown
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    assert not dialog.isVisible()


def test_every_library_of_the_program_is_named_with_its_licence():
    """As pip has them: every requirement without which the program does not run."""
    named = {name.lower(): (version, licence) for name, version, licence in libraries()}
    for line in metadata.requires("splitplanner"):
        if "extra ==" not in line:
            name = re.match(r"[\w.-]+", line)[0].lower()
            assert name in named, name
            assert named[name][0] == metadata.version(name)
    assert all(licence for _, licence in named.values())
    assert "MIT" in named["pydantic"][1]
