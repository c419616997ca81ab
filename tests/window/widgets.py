"""Finding widgets by what a user reads on them."""

from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QCheckBox, QPushButton


def button_called(parent, text, kind=QPushButton):
    """Return the one button of this text, whatever its access key."""
    (button,) = (each for each in parent.findChildren(kind) if each.text().replace("&", "") == text)
    assert isinstance(button, QAbstractButton)
    return button


def box_called(parent, text):
    """Return the one check box of this text."""
    return button_called(parent, text, QCheckBox)


def tick(box):
    """Click a check box on the box itself: it may be wider than what can be clicked on it."""
    QTest.mouseClick(
        box, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier,
        QPoint(8, box.height() // 2),
    )  # fmt: skip
