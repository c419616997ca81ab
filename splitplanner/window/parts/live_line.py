"""The line below the view that tells figures of the cut in hand."""

from __future__ import annotations

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

    def tell(self, live: LiveFigures, snap: str) -> None:
        """Tell figures of a cut, and to what it has clicked; an empty text for nothing."""
        q = self._quantities
        parts = [
            f"Cut {live.index + 1}",
            f"seam {q.length(live.length, 0)}",
            q.area(live.area),
            f"room for {live.pins} pins" if live.pins != 1 else "room for 1 pin",
            fit_text(live.fits),
            snap,
        ]
        self.setText("  ·  ".join(part for part in parts if part))
