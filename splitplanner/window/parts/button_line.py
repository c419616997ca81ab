"""The commands that are used most, as a line of buttons."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QToolBar, QWidget

from splitplanner.window.commands import Commands

BUTTONS = ("open", "save", "export", "", "undo", "redo", "", "ask", "", "add", "mirror", "delete")
"""The commands in the line of buttons; an empty name is a gap."""


def button_line(commands: Commands, parent: QWidget) -> QToolBar:
    """Return the line of buttons."""
    line = QToolBar("Commands", parent)
    line.setObjectName("commands")
    line.setMovable(False)
    line.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
    for name in BUTTONS:
        if name:
            line.addAction(commands[name])
        else:
            line.addSeparator()
    return line
