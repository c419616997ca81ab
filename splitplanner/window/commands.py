"""All commands of the window: their words, keys and menus."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu


@dataclass(frozen=True)
class Command:
    """A command.

    Attributes
    ----------
    name : str
        By which the window knows it.
    menu : str
        The menu that it stands in.
    text : str
    keys : str
        Empty for none.
    tip : str
        One sentence.
    is_switch : bool
        Whether it is on or off.
    starts_group : bool
        Whether a line is drawn above it.
    short : str
        On a button; empty for the text.
    """

    name: str
    menu: str
    text: str
    keys: str
    tip: str
    is_switch: bool = False
    starts_group: bool = False
    short: str = ""


MENUS = ("&File", "&Edit", "&Cuts", "&Proposals", "&View", "&Workshop", "&Help")
_F, _E, _C, _P, _V, _W, _H = MENUS

COMMANDS = (
    Command("open", _F, "&Open…", "Ctrl+O", "Open a model or a plan."),
    Command("example", _F, "Open the e&xample", "", "Open a part to try everything on."),
    Command(
        "save", _F, "&Save the plan", "Ctrl+S", "Save the plan in its file.", False, True, "Save"
    ),
    Command("save as", _F, "Save the plan &as…", "Ctrl+Shift+S", "Save the plan in a new file."),
    Command(
        "export", _F, "&Export…", "Ctrl+E", "Write the pieces, papers and pictures.", False, True
    ),
    Command("quit", _F, "&Quit", "Ctrl+Q", "Close the window.", False, True),
    Command("undo", _E, "&Undo", "Ctrl+Z", "Take the last step back."),
    Command("redo", _E, "&Redo", "Ctrl+Shift+Z", "Do the step again that was undone last."),
    Command(
        "add",
        _C,
        "&Add a cut",
        "Ctrl+K",
        "Add a cut through the chosen piece, or the largest.",
    ),
    Command("flip", _C, "&Flip", "Ctrl+Shift+F", "Exchange above and below of the chosen cut."),
    Command("copy", _C, "&Copy", "Ctrl+D", "Add a cut like the chosen one beside it."),
    Command(
        "mirror",
        _C,
        "&Mirror",
        "Ctrl+M",
        "Add the mirror image of the chosen cut.",
        short="Mirror cut",
    ),
    Command(
        "delete", _C, "&Delete", "Ctrl+Backspace", "Delete the chosen cut.", short="Delete cut"
    ),
    Command(
        "fastening",
        _C,
        "How seams are &held…",
        "Ctrl+H",
        "Choose pins, screws, flanges, registers, glue and tape.",
        False,
        True,
    ),
    Command(
        "pins", _C, "Place all &pins anew", "Ctrl+P", "Let the program place what holds the seams."
    ),
    Command("ask", _P, "&Ask for proposals", "Ctrl+G", "Look for plans that fit the bed."),
    Command("stop", _P, "&Stop looking", "", "Stop; what was found so far stays."),
    Command("fit view", _V, "See &everything", "Ctrl+0", "Bring everything into the picture."),
    Command("next area", _V, "&Next area", "F6", "Go on to the view, the chart or the lists."),
    Command("apart", _V, "Further &apart", "Ctrl+.", "Pull the pieces apart a little more."),
    Command("together", _V, "Closer &together", "Ctrl+,", "Push the pieces together a little."),
    Command(
        "on bed", _V, "On the &bed", "Ctrl+B", "Show the chosen piece as it lies on the bed.", True
    ),
    Command("inch", _V, "&Inches", "", "Show lengths in inches.", True, True),
    Command("printers", _W, "&Printer…", "", "Choose the printer, or change your own ones."),
    Command("materials", _W, "&Material…", "", "Choose the material, or change your own ones."),
    Command("shortcuts", _H, "&Keys…", "F1", "List all keys."),
    Command("about", _H, "&About", "", "What this program is, and its cautions.", False, True),
)
"""All commands in the order of their menus."""


class Commands(QObject):
    """The commands as Qt has them, in the menus of a window."""

    def __init__(self, window: QMainWindow, does: Mapping[str, Callable[..., object]]) -> None:
        super().__init__(window)
        self.actions: dict[str, QAction] = {}
        self.menus: dict[str, QMenu] = {text: window.menuBar().addMenu(text) for text in MENUS}
        for command in COMMANDS:
            action = QAction(command.text, window)
            action.setObjectName(command.name)
            action.setIconText(command.short or command.text.replace("&", "").rstrip("…"))
            action.setCheckable(command.is_switch)
            if command.keys:
                action.setShortcut(QKeySequence(command.keys))
            keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
            action.setToolTip(f"{command.tip} ({keys})" if keys else command.tip)
            action.setStatusTip(command.tip)
            (action.toggled if command.is_switch else action.triggered).connect(
                _called(does[command.name], command.is_switch)
            )
            if command.starts_group:
                self.menus[command.menu].addSeparator()
            self.menus[command.menu].addAction(action)
            self.actions[command.name] = action

    def __getitem__(self, name: str) -> QAction:
        return self.actions[name]


def _called(do: Callable[..., object], is_switch: bool) -> Callable[[bool], object]:
    return (lambda is_on: do(is_on)) if is_switch else (lambda _: do())
