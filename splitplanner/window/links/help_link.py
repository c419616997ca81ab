"""Shows the lists of help: all keys, and what the program is."""

from __future__ import annotations

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QMainWindow

from splitplanner.window.commands import Commands
from splitplanner.window.lists.cuts_table import CutsTable


class HelpLink(QObject):
    """Opens the dialogs of help."""

    def __init__(self, window: QMainWindow, cuts: CutsTable) -> None:
        super().__init__(window)
        self._window, self._cuts = window, cuts
        self.commands: Commands | None = None

    def show_keys(self) -> None:
        """List the keys of all commands, tables and drawings."""
        from splitplanner.window.dialogs.shortcuts_dialog import ShortcutsDialog
        from splitplanner.window.links.keys_told import all_keys

        menus = {} if self.commands is None else self.commands.menus
        groups = {
            text.replace("&", ""): [each for each in menu.actions() if each.shortcut().toString()]
            for text, menu in menus.items()
        }
        groups["Cuts table"] = list(self._cuts.actions_by_name.values())
        ShortcutsDialog(groups, all_keys(), self._window).exec()

    def show_about(self) -> None:
        """Say what the program is, and its cautions."""
        from splitplanner.window.dialogs.about import AboutDialog

        AboutDialog(parent=self._window).exec()
