"""The table of what has to be bought and made for a plan."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import QLabel, QMenu, QVBoxLayout, QWidget

from splitplanner.loaded.wording import named
from splitplanner.output import NeededBrace, NeededHardware, NeededTape, PartsList
from splitplanner.window.lists.lines import Shown
from splitplanner.window.lists.tables import NOTHING, Column, Figure, RowsModel, Table
from splitplanner.window.quantities import Quantities

NO_PART = "Open a part to see what it takes."
STALE = "The plan is being checked; this is what the plan before takes."
WAITING = "What it takes is known as soon as the plan is checked."
NOT_CUT = "What it takes is known when the plan can be cut; the findings tell what is wrong."
NONE = "Nothing has to be bought: no seam is held by hardware or tape, and there is no brace."


@dataclass(frozen=True)
class Resin:
    """Resin with its hardener for all tape: to mix, with what is lost, g, and for which seams."""

    mass: float
    seams: tuple[str, ...]


Needed = NeededHardware | NeededTape | Resin | NeededBrace


@dataclass(frozen=True)
class NeededRow:
    """One row: hardware that is alike, tape that is alike, the resin, or a brace."""

    needed: Needed

    @property
    def key(self) -> tuple[str, str]:
        """What a table knows it by."""
        if isinstance(self.needed, Resin):
            return "resin", ""
        if isinstance(self.needed, NeededBrace):
            return "brace", self.needed.brace
        is_tape = isinstance(self.needed, NeededTape)
        return "tape" if is_tape else "hardware", self.needed.name


def needed_rows(parts: PartsList) -> tuple[NeededRow, ...]:
    """Return a row for everything: hardware, then tape, then the resin, then braces."""
    needed: list[Needed] = [*parts.hardware, *parts.tapes]
    if parts.tapes:
        seams = dict.fromkeys(seam for tape in parts.tapes for seam, *_ in tape.cuts)
        needed.append(Resin(parts.mixed_mass, tuple(seams)))
    needed += parts.braces
    return tuple(map(NeededRow, needed))


def _mm(q: Quantities, value: float) -> str:
    """Return a length as it is sold: by mm whatever the user reads in."""
    return f"{q.locale.toString(float(value), 'g', 5)} mm"


def _amount(row: NeededRow, q: Quantities) -> Shown:
    match row.needed:
        case NeededHardware() as hardware:
            return Shown(q.number(hardware.count))
        case NeededTape() as tape:
            return Shown(f"{q.number(tape.length / 1000.0, 2)} m")
        case Resin(mass):
            return Shown(q.mass(mass))
        case NeededBrace():
            return Shown(q.number(1))


def _what(row: NeededRow, _: Quantities) -> Shown:
    match row.needed:
        case NeededHardware() as hardware:
            return Shown(hardware.what)
        case NeededTape():
            return Shown("fibre tape")
        case Resin():
            return Shown("laminating resin")
        case NeededBrace():
            return Shown("brace")


def _standard(row: NeededRow, q: Quantities) -> Shown:
    match row.needed:
        case NeededHardware() as hardware:
            return Shown(hardware.standard or "by its data sheet", faint=True)
        case NeededTape() as tape:
            return Shown(f"{tape.fibre}, {q.number(tape.areal_weight)} g/m²", faint=True)
        case Resin():
            return Shown("with its hardener", faint=True)
        case NeededBrace() as brace:
            return Shown(brace.metal or "printed flat", faint=True)


def _size(row: NeededRow, q: Quantities) -> Shown:
    match row.needed:
        case NeededHardware() as hardware:
            # Pins and washers are ordered by a diameter, without a letter.
            bare = hardware.size.replace(".", "").isdigit()
            return Shown(_mm(q, float(hardware.size)) if bare else hardware.size)
        case NeededTape() as tape:
            return Shown(f"{_mm(q, round(tape.width))} wide")
        case Resin():
            return Shown(NOTHING, faint=True)
        case NeededBrace() as brace:
            return Shown(f"{_mm(q, brace.stock)} thick")


def _length(row: NeededRow, q: Quantities) -> Shown:
    match row.needed:
        case NeededHardware() as hardware:
            if hardware.hole:
                return Shown(f"in holes of {_mm(q, hardware.hole)}", faint=True)
            text = _mm(q, hardware.length) if hardware.length else ""
        case NeededTape() as tape:
            plies: Counter[int] = Counter()
            for _, count, length in tape.cuts:
                plies[round(length)] += count
            text = ", ".join(f"{count} × {_mm(q, length)}" for length, count in plies.items())
        case Resin():
            text = ""
        case NeededBrace() as brace:
            text = f"{q.number(brace.length)} × {_mm(q, round(brace.width))}"
    return Shown(text) if text else Shown(NOTHING, faint=True)


def _used(row: NeededRow, q: Quantities) -> Shown:
    match row.needed:
        case NeededHardware() as hardware:
            counts = [f"{q.number(count)} in {seam}" for seam, count in hardware.seams]
            return Shown(", ".join(counts))
        case NeededTape() as tape:
            plies = [f"{_plies(count, q)} on {seam}" for seam, count, _ in tape.cuts]
            return Shown(", ".join(plies))
        case Resin(_, seams):
            return Shown(f"on {', '.join(seams)}")
        case NeededBrace() as brace:
            return Shown(named("brace", brace.brace))


def _plies(count: int, q: Quantities) -> str:
    return "1 ply" if count == 1 else f"{q.number(count)} plies"


def _laminate(row: NeededRow, q: Quantities) -> Shown:
    if isinstance(row.needed, Resin):
        return Shown("with what is lost", faint=True)
    if not isinstance(row.needed, NeededTape):
        return Shown("")
    fibre, resin = q.mass(row.needed.fibre_mass), q.mass(row.needed.resin_mass)
    return Shown(f"{fibre} of fibre, {resin} of resin", faint=True)


def needed_text(row: NeededRow, q: Quantities) -> str:
    """Return a row in a sentence."""
    one, standard, size, length, used, laminate = (
        show(row, q).text for show in (_what, _standard, _size, _length, _used, _laminate)
    )
    sizes = ", ".join(
        each for each in (standard, size, length, laminate) if each not in ("", NOTHING)
    )
    joined = "of" if isinstance(row.needed, NeededTape | Resin) else "×"
    return f"{_amount(row, q).text} {joined} {one}, {sizes}: {used}."


COLUMNS = (
    Column("Amount", (Figure("amount", _amount),), 7),
    Column(
        "Part\nstandard",
        (Figure("needed", _what), Figure("standard", _standard)),
        13,
        right=False,
    ),
    Column(
        "Size\nlength",
        (Figure("needed size", _size), Figure("needed length", _length)),
        12,
        right=False,
    ),
    Column(
        "Where used\nlaminate",
        (Figure("where used", _used), Figure("laminate", _laminate)),
        13,
        right=False,
        stretches=True,
    ),
)


class PartsTable(QWidget):
    """All hardware, tape, resin and braces of a plan."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.table = Table(RowsModel(COLUMNS), "To buy and make")
        self.table.setAccessibleDescription("Ctrl+A chooses all rows, Ctrl+C copies those chosen.")
        self._said = QLabel(NO_PART)
        self._said.setWordWrap(True)
        self._words = QLabel()
        self._words.setWordWrap(True)
        self._words.setTextFormat(Qt.TextFormat.PlainText)
        self._words.setAlignment(Qt.AlignmentFlag.AlignTop)
        # From the start, for the table must not jump when a row is chosen.
        self._words.setMinimumHeight(3 * self._words.fontMetrics().lineSpacing())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._said)
        layout.addWidget(self.table, 1)
        layout.addWidget(self._words)
        layout.addStretch()
        self.table.chosen_changed.connect(self._show_words)
        self.show_nothing(NO_PART)

    def show_parts(self, parts: PartsList) -> None:
        """Show what a plan takes, or that it takes nothing."""
        rows = needed_rows(parts)
        self.table.show_rows(rows)
        self._say(
            "" if rows else NONE,
            f"To buy and make for the seams{' and braces' if parts.braces else ''}; Ctrl+C copies "
            "the chosen rows.",
        )

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
        """Say why there is nothing, or else a text above the rows."""
        self._said.setText(why or text)
        self.table.setVisible(not why)
        self._words.setVisible(not why)
        self._show_words()

    def _show_words(self, *_: object) -> None:
        """Say the chosen row in full: the table may have no room for it."""
        at, model = self.table.chosen, self.table.rows_model
        self._words.setText("" if at < 0 else needed_text(model.rows[at], model.quantities))

    @property
    def words(self) -> str:
        """The chosen row in full."""
        return self._words.text()

    @property
    def said(self) -> str:
        """What stands above the rows, or instead of them."""
        return self._said.text()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.table.set_quantities(quantities)
        self._show_words()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802
        """Offer to copy the chosen rows."""
        if self.table.selected_rows():
            menu = QMenu(self)
            menu.addAction(self.table.copy_action)
            self.table.pop_up(menu, event)
