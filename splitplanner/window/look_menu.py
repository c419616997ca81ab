"""The choice between light and dark: a menu, and what it does to the whole program."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QActionGroup, QColor, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication, QMenu, QWidget

from splitplanner.window.look import DARK, LIGHT, Look
from splitplanner.window.settings import LookChoice, Settings

_CHOICES: tuple[tuple[LookChoice, str, str], ...] = (
    ("system", "As the &system", "Light or dark, as the system is."),
    ("light", "&Light", "Dark letters on light ground."),
    ("dark", "&Dark", "Light letters on dark ground."),
)
_Role = QPalette.ColorRole
_ROLES = {
    _Role.Window: "paper",
    _Role.Base: "raised",
    _Role.AlternateBase: "paper",
    _Role.ToolTipBase: "raised",
    _Role.Button: "raised",
    _Role.WindowText: "ink",
    _Role.Text: "ink",
    _Role.ButtonText: "ink",
    _Role.ToolTipText: "ink",
    _Role.PlaceholderText: "faint",
    _Role.Light: "rule",
    _Role.Midlight: "rule",
    _Role.Mid: "rule",
    _Role.Dark: "rule",
    _Role.Link: "accent",
    _Role.Highlight: "accent",
    _Role.Accent: "accent",
    _Role.HighlightedText: "paper",
}
_BOXES = ("QCheckBox", "QRadioButton")
_INSIDE = QColor("#707781")
_SCHEMES = {
    "system": Qt.ColorScheme.Unknown,
    "light": Qt.ColorScheme.Light,
    "dark": Qt.ColorScheme.Dark,
}


def put_on(look: LookChoice) -> None:
    """Make everything light or dark, or as the system is from now on."""
    hints, scheme = QGuiApplication.styleHints(), _SCHEMES[look]
    # First as the system would: it also paints frames and dialogs of its own.
    hints.setColorScheme(scheme)
    is_done = look == "system" or hints.colorScheme() == scheme
    # Qt leaves the request aside where the desktop has no such setting, as under a plain X server.
    palette = QPalette() if is_done else palette_of(DARK if look == "dark" else LIGHT)
    QApplication.setPalette(palette)
    if not is_done and look == "dark":
        # Their frames are darker than the ground, so that only what they hold can be seen.
        palette.setColor(QPalette.ColorGroup.Active, _Role.Base, _INSIDE)
        palette.setColor(QPalette.ColorGroup.Inactive, _Role.Base, _INSIDE)
        palette.setColor(_Role.Text, Qt.GlobalColor.white)
    for kind in _BOXES:
        # The hints of PySide ask for bytes, which it does not take.
        QApplication.setPalette(palette, kind)  # type: ignore[arg-type]


def palette_of(look: Look) -> QPalette:
    """Return a palette in the colours of a look, for what Qt itself draws."""
    palette = QPalette()
    for role, name in _ROLES.items():
        palette.setColor(role, look.colour(name))
    for role in (_Role.WindowText, _Role.Text, _Role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, role, look.colour("faint"))
    palette.setColor(QPalette.ColorGroup.Disabled, _Role.Highlight, look.colour("rule"))
    return palette


class LookMenu(QMenu):
    """Lets the user choose, and remembers it.

    Attributes
    ----------
    choices : dict of name to QAction
    """

    def __init__(self, settings: Settings, parent: QWidget | None = None) -> None:
        super().__init__("&Light or dark", parent)
        self._settings = settings
        self.choices: dict[LookChoice, QAction] = {}
        group = QActionGroup(self)
        for name, text, tip in _CHOICES:
            action = QAction(text, group)
            action.setCheckable(True)
            action.setChecked(name == settings.look)
            action.setData(name)
            action.setToolTip(tip)
            action.setStatusTip(tip)
            self.addAction(action)
            self.choices[name] = action
        group.triggered.connect(self._choose)

    def _choose(self, action: QAction) -> None:
        self._settings.look = action.data()
        put_on(self._settings.look)
