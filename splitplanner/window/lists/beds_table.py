"""The table of beds: what is printed together, what that takes, and how it lies."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QShowEvent
from PySide6.QtWidgets import QLabel, QMenu, QSplitter, QVBoxLayout, QWidget

from splitplanner.findings import counted
from splitplanner.score import BedPrint
from splitplanner.window.lists.lines import Shown
from splitplanner.window.lists.tables import NOTHING, Column, Figure, RowsModel, Table
from splitplanner.window.parts.bed_sketch import BedSketch
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Bed

NO_PART = "Open a part to see which pieces are printed together."
WAITING = "Which pieces are printed together is known as soon as the plan is checked."
NOT_CUT = "Beds are known when the plan can be cut; the findings tell what is wrong."
STALE = "The plan is being checked; these are the beds of the plan before."


@dataclass(frozen=True, eq=False)
class BedRow:
    """One bed.

    Attributes
    ----------
    bed : BedPrint
    numbers : tuple of int
        Of the pieces on it.
    braces : tuple of str
        What the braces on it are called, which share a bed with no piece.
    """

    bed: BedPrint
    numbers: tuple[int, ...]
    braces: tuple[str, ...] = ()

    @property
    def key(self) -> int:
        """What a table knows it by."""
        return self.bed.number


def _number(row: BedRow, q: Quantities) -> Shown:
    return Shown(row.bed.title)


def _pieces(row: BedRow, q: Quantities) -> Shown:
    if row.braces:
        return Shown(", ".join(row.braces), faint=True)
    noun = "piece" if len(row.numbers) == 1 else "pieces"
    return Shown(f"{noun} {', '.join(map(str, row.numbers))}", faint=True)


def _time(row: BedRow, q: Quantities) -> Shown:
    return Shown(NOTHING if row.bed.hours is None else q.duration(row.bed.hours))


def _layers(row: BedRow, q: Quantities) -> Shown:
    layers = row.bed.layers
    return Shown(NOTHING if layers is None else counted(layers, "layer"), faint=True)


def _mass(row: BedRow, q: Quantities) -> Shown:
    use = row.bed.filament
    return Shown(NOTHING if use is None else q.mass(use.mass))


def _filament(row: BedRow, q: Quantities) -> Shown:
    use = row.bed.filament
    if use is None:
        return Shown(NOTHING, faint=True)
    cost = "" if use.cost is None else f", {q.number(use.cost, 2)}"
    return Shown(f"{q.run(use.length)}{cost}", faint=True)


def _support(row: BedRow, q: Quantities) -> Shown:
    return Shown(q.volume(row.bed.support))


def _height(row: BedRow, q: Quantities) -> Shown:
    return Shown(q.length(row.bed.load.height), faint=True)


def _free(row: BedRow, q: Quantities) -> Shown:
    return Shown(q.share(row.bed.load.free))


COLUMNS = (
    Column(
        "Bed\npieces", (Figure("bed", _number), Figure("pieces on it", _pieces)), 12,
        right=False, stretches=True,
    ),
    Column("Time\nlayers", (Figure("bed time", _time), Figure("bed layers", _layers)), 11),
    Column("Mass\nfilament", (Figure("mass", _mass), Figure("filament", _filament)), 12),
    Column("Support\nheight", (Figure("bed support", _support), Figure("height", _height)), 10),
    Column("Free", (Figure("bed free", _free),), 6),
)  # fmt: skip


class BedsTable(QWidget):
    """All beds with what they take, and the chosen one from above.

    Signals
    -------
    seen()
        It has come into view, and may want filling.
    """

    seen = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = Table(RowsModel(COLUMNS), "Beds")
        self.table.setAccessibleDescription("Ctrl+C copies the chosen rows.")
        self.sketch = BedSketch()
        self._bed: Bed | None = None
        self._labels: Mapping[str, tuple[str, str]] = {}
        self._said = QLabel(NO_PART)
        self._said.setWordWrap(True)
        self._splitter = QSplitter(Qt.Orientation.Vertical)
        for widget, stretch in ((self.table, 2), (self.sketch, 3)):
            self._splitter.addWidget(widget)
            self._splitter.setStretchFactor(self._splitter.count() - 1, stretch)
        self._splitter.setChildrenCollapsible(False)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._said)
        layout.addWidget(self._splitter, 1)
        layout.addStretch()
        self.table.chosen_changed.connect(self._show_chosen)
        self.show_nothing(NO_PART)

    def show_beds(
        self, rows: Sequence[BedRow], bed: Bed, labels: Mapping[str, tuple[str, str]]
    ) -> None:
        """Show beds; the first is chosen where none was.

        Parameters
        ----------
        rows : sequence of BedRow
        bed : Bed
        labels : mapping of name to (number, colour)
            Of pieces; of braces what they are called in place of a number.
        """
        self._bed, self._labels = bed, labels
        self.table.show_rows(rows)
        if self.table.chosen < 0 and rows:
            self.table.choose(rows[0].key)
        self._say("", _sum_of(rows, self.table.rows_model.quantities))
        self._show_chosen()

    def show_nothing(self, why: str) -> None:
        """Show no rows, and why."""
        self.table.show_rows(())
        self._say(why)

    def show_waiting(self) -> None:
        """Say that the plan is being checked; rows that are there stay."""
        if self.table.rows_model.rows:
            self._said.setText(STALE)
        else:
            self.show_nothing(WAITING)

    def _say(self, why: str, text: str = "") -> None:
        self._said.setText(why or text)
        self._splitter.setVisible(not why)
        self._show_chosen()

    def _show_chosen(self) -> None:
        at, rows = self.table.chosen, self.table.rows_model.rows
        load = rows[at].bed.load if at >= 0 else None
        self.sketch.show_bed(self._bed, load, self._labels)

    @property
    def said(self) -> str:
        """What stands above the rows, or instead of them."""
        return self._said.text()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.table.set_quantities(quantities)
        rows = self.table.rows_model.rows
        if rows and self._said.text() != STALE:
            self._said.setText(_sum_of(rows, quantities))

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Tell that it has come into view."""
        super().showEvent(event)
        self.seen.emit()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Offer to copy the chosen rows."""
        if self.table.selected_rows():
            menu = QMenu(self)
            menu.addAction(self.table.copy_action)
            self.table.pop_up(menu, event)


def _sum_of(rows: Sequence[BedRow], q: Quantities) -> str:
    """Return what all beds take, in a sentence."""
    words = f"{counted(len(rows), 'bed')}, as few as were found"
    hours = [row.bed.hours for row in rows if row.bed.hours is not None]
    if len(hours) == len(rows):
        words += f": {q.duration(sum(hours))} in all, one bed after another"
    masses = [row.bed.filament.mass for row in rows if row.bed.filament is not None]
    if len(masses) == len(rows):
        words += f", {q.mass(sum(masses))}"
    braced = any(row.braces for row in rows)
    return f"{words}.{' Printed braces have beds of their own: fill them altogether.' * braced}"
