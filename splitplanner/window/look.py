"""Colours and marks of the window, light and dark; what is told by colour is told by a mark too."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtGui import QColor, QPalette

from splitplanner.score.lying import Fit

FIT_COLOURS = {Fit.SQUARE: "#009E73", Fit.TURNED: "#E69F00", Fit.TOO_LARGE: "#D55E00"}
"""Okabe & Ito, "Color Universal Design" (2008): green, orange and vermilion."""
FIT_MARKS = {Fit.SQUARE: "✓", Fit.TURNED: "↻", Fit.TOO_LARGE: "✕"}


@dataclass(frozen=True)
class Look:
    """The colours that things are drawn in, as ``#RRGGBB``.

    Attributes
    ----------
    is_dark : bool
    paper, raised : str
        Behind everything, and behind what stands out.
    ink, faint, rule : str
        Of texts, of what matters less, and of fine lines.
    accent : str
        Of what is chosen.
    """

    is_dark: bool
    paper: str
    raised: str
    ink: str
    faint: str
    rule: str
    accent: str

    def colour(self, name: str) -> QColor:
        """Return one of the colours by its name here."""
        return QColor(getattr(self, name))


LIGHT = Look(False, "#F4F5F7", "#FFFFFF", "#1A1A1A", "#5A6068", "#C9CED6", "#0072B2")
DARK = Look(True, "#23262B", "#2E3238", "#ECEEF1", "#A3A9B2", "#4A5059", "#56B4E9")


def look_of(palette: QPalette) -> Look:
    """Return the look that suits the system's palette."""
    return DARK if palette.color(QPalette.ColorRole.Window).lightness() < 128 else LIGHT
