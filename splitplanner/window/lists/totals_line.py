"""Below the table of pieces: what all of them take to print, and whether a spool is enough."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from splitplanner.findings import counted
from splitplanner.output.printing_tables import spool_words
from splitplanner.score import PrintTotals
from splitplanner.window.dialogs.number_box import NumberBox, NumberField
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Material

_LEFT = NumberField(
    "spool_left",
    "Left on the sta&rted spool",
    "Filament on the spool that is started, by weighing it without its reel; “not known” below 0.",
    " g",
    100_000,
    10,
    may_be_unknown=True,
)
_ALONE = "By layers, supports included, each on a bed of its own; the tab Beds shares them out."
_BRACES = "Printed braces are filled altogether, as their strength is worked out as if solid."


class TotalsLine(QWidget):
    """Tells what all pieces and printed braces take, and asks what is left on the spool.

    Signals
    -------
    left_changed(object)
        So many g are on the started spool, or None where it is not known.
    """

    left_changed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._quantities = Quantities()
        self._shown: tuple[int, int, PrintTotals | None, Material | None, float | None]
        self._shown = (0, 0, None, None, None)
        self._words = QLabel(self)
        self._words.setWordWrap(True)
        self._words.setAccessibleName("What all prints take")
        self._words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._left = NumberBox(_LEFT, self)
        self._left.set_number(None)
        label = QLabel(_LEFT.label, self)
        label.setBuddy(self._left)
        self._left.valueChanged.connect(self._tell)
        line = QHBoxLayout()
        line.addWidget(label)
        line.addWidget(self._left)
        line.addStretch(1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self._words)
        whole.addLayout(line)

    @property
    def words(self) -> str:
        """What is told."""
        return self._words.text()

    def show_totals(
        self,
        pieces: int,
        totals: PrintTotals | None,
        material: Material | None,
        left: float | None,
        braces: int = 0,
    ) -> None:
        """Show what so many pieces and printed braces take; None while it is being worked out."""
        self._shown = (pieces, braces, totals, material, left)
        self._left.blockSignals(True)
        self._left.set_number(left)
        self._left.blockSignals(False)
        self._write()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities
        self._left.setLocale(quantities.locale)
        self._write()

    def _write(self) -> None:
        pieces, braces, totals, material, left = self._shown
        written = self._quantities
        self._words.setToolTip(f"{_ALONE} {_BRACES}" if braces else _ALONE)
        if not pieces:
            self._words.clear()
            return
        all_of_them = "The one piece" if pieces == 1 else f"All {counted(pieces, 'piece')}"
        if braces:
            all_of_them += f" and {counted(braces, 'printed brace')}"
        if totals is None:
            self._words.setText(f"{all_of_them}: …")
            return
        said = [written.duration(totals.hours)]
        if totals.filament is not None:
            said += [written.mass(totals.filament.mass), written.run(totals.filament.length)]
            if totals.filament.cost is not None:
                said.append(f"cost {written.number(totals.filament.cost, 2)}")
        text = f"{all_of_them}: {', '.join(said)}."
        if totals.spools is not None and material is not None:
            text += f" {spool_words(totals.spools, material, left, written.mass)}"
        self._words.setText(text)

    def _tell(self) -> None:
        self.left_changed.emit(self._left.number)
