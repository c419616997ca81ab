"""The line below the view that tells figures of the cut in hand."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QSizePolicy

from splitplanner.background.live_cut import LiveFigures
from splitplanner.window.quantities import Quantities
from splitplanner.window.view.showing import fit_text


class LiveLine(QLabel):
    """Tells the seam of a cut while it is moved; it is empty while nothing moves."""

    def __init__(self) -> None:
        super().__init__()
        self._quantities = Quantities()
        self.setAccessibleName("Figures of the cut in hand")
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write lengths in another unit from now on."""
        self._quantities = quantities

    def tell(self, live: LiveFigures, snap: str, numbers: Mapping[str, int]) -> None:
        """Tell figures of a cut.

        Parameters
        ----------
        live : LiveFigures
        snap : str
            To what it has clicked; an empty text for nothing.
        numbers : dict of str to int
            Of the pieces, by their names.
        """
        q = self._quantities
        parts = [
            f"Cut {live.index + 1}",
            # What one looks for comes first: in a narrow window the end is cut off.
            fit_text(live.fits, numbers),
            f"seam {q.length(live.length, 0)}",
            q.area(live.area),
            f"room for {live.pins} pins" if live.pins != 1 else "room for 1 pin",
            snap,
        ]
        self.setText("  ·  ".join(part for part in parts if part))
