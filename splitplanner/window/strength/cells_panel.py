"""The check by finite cells: what it costs, how near it comes, and what it found."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSplitter, QVBoxLayout, QWidget

from splitplanner.background.cells_told import CellsTold, WayInCells
from splitplanner.loaded import percent_words, way_words
from splitplanner.loaded.wording import figure_words
from splitplanner.window.lists.lines import Shown
from splitplanner.window.lists.tables import NOTHING, Column, Figure, RowsModel
from splitplanner.window.parts.buttons import button
from splitplanner.window.parts.note_line import TEXT_FLAGS, Mark, NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.live_panel import LivePanel
from splitplanner.window.strength.live_words import force_words
from splitplanner.window.strength.ratio_bars import FAILS, HOLDS, Ratio, ratio_table

COSTS = (
    "Works out the chosen load case on the solid itself, in cells of 10 mm, with contact, prying "
    "and walls that bend: half a minute to some minutes, and up to 3 GB of memory. Changing the "
    "plan ends it."
)
NO_CASE = "Choose a load case above; add one if there is none."
_ACCURACY = (
    "Expected: stiffness within 5 %, stress in walls within 10 %, forces in screws within 25 %."
)


@dataclass(frozen=True, eq=False)
class CellsRow:
    """A way in which the seams are held.

    Attributes
    ----------
    way : WayInCells
    numbers : mapping of piece name to number
    has_hardware : bool
    """

    way: WayInCells
    numbers: Mapping[str, int] = field(default_factory=dict)
    has_hardware: bool = True

    @property
    def key(self) -> str:
        """What a table knows it by."""
        return self.way.key

    @property
    def words(self) -> str:
        """By what the seams are held."""
        way = self.way
        if way.held == "glued":
            return "printed in one"
        return way_words(way.held, self.has_hardware, way.is_glued)


def _stiffness(row: CellsRow, _: Quantities) -> Shown:
    return Ratio(percent_words(row.way.stiffness), share=row.way.stiffness)


def _deflection(row: CellsRow, q: Quantities) -> Shown:
    return Shown(f"moves {q.length(row.way.deflection, 2)}", faint=True)


def _share(at: int) -> Callable[[CellsRow, Quantities], Shown]:
    def show(row: CellsRow, q: Quantities) -> Shown:
        share = row.way.percentiles[at]
        holds = share <= 1.0
        return Shown(
            q.share(share), "✓" if holds else "✕", HOLDS if holds else FAILS, faint=at == 0
        )

    return show


def _screw(row: CellsRow, q: Quantities) -> Shown:
    pull, seam = row.way.screw
    return Shown(f"{force_words(pull, q)} in {seam}" if seam else NOTHING)


def _opening(row: CellsRow, q: Quantities) -> Shown:
    gap, seam = row.way.opening
    return Shown(f"{seam} opens {q.length(gap, 2)}" if seam else NOTHING, faint=True)


def _cells_brace(row: CellsRow, q: Quantities) -> Shown:
    worst = max(row.way.braces, key=lambda each: each.stress / each.proof, default=None)
    if worst is None:
        return Shown("")
    return Shown(f"brace {q.number(worst.stress)} of {q.number(worst.proof)} MPa", faint=True)


COLUMNS = (
    Column(
        "Seams\nheld by", (Figure("way held", lambda row, _: Shown(row.words)),), 13, right=False
    ),
    Column(
        "Stiffness of\nthe uncut",
        (Figure("cells stiffness", _stiffness), Figure("cells deflection", _deflection)),
        14,
    ),
    Column(
        "99 % below\n95 % below",
        (Figure("cells share 99", _share(1)), Figure("cells share 95", _share(0))),
        10,
    ),
    Column(
        "Pull in a screw\nwidest gap, braces",
        (
            Figure("cells screw", _screw),
            Figure("cells opening", _opening),
            Figure("brace stress", _cells_brace),
        ),
        18,
        right=False,
        stretches=True,
    ),
)


@dataclass(frozen=True, eq=False)
class SeamCellsRow:
    """A seam, and what its screws and pins take.

    Attributes
    ----------
    key : str
        Its name.
    force : float
        The largest pull in a screw, N.
    forces : tuple of float
        The pull in each, N.
    across : float
        The largest force across a pin or screw, N.
    opening : float
        mm.
    gaping : float
        Share of the contact that is open.
    glue : float
        Share of its strength that the glue takes; 0 where none counts.
    """

    key: str
    forces: tuple[float, ...]
    across: float
    opening: float
    gaping: float
    glue: float = 0.0


def _pulls(row: SeamCellsRow, q: Quantities) -> Shown:
    if not row.forces:
        return Shown("no screws", faint=True)
    return Shown(", ".join(q.number(each) for each in row.forces) + " N")


def _across(row: SeamCellsRow, q: Quantities) -> Shown:
    glue = f"; glue takes {q.share(row.glue)}" if row.glue else ""
    return Shown(f"{force_words(row.across, q)} across a pin or screw{glue}", faint=True)


SEAM_COLUMNS = (
    Column("Seam", (Figure("seam", lambda row, _: Shown(row.key)),), 7, right=False),
    Column(
        "Gap\nopen",
        (
            Figure("cells opening", lambda row, q: Shown(q.length(row.opening, 2))),
            Figure("cells gaping", lambda row, q: Shown(q.share(row.gaping), faint=True)),
        ),
        9,
    ),
    Column(
        "Pull in each screw\nlargest force across",
        (Figure("cells screws", _pulls), Figure("cells across", _across)),
        20,
        right=False,
        stretches=True,
    ),
)


class CellsPanel(QWidget):
    """Asks for the check, and shows what it found.

    Signals
    -------
    check_asked(), stop_asked()
    overlay_asked(str)
        The name of a figure that is wanted on the model.
    seam_chosen(str)
    """

    check_asked = Signal()
    stop_asked = Signal()
    overlay_asked = Signal(str)
    seam_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._told: CellsTold | None = None
        self.check = button("Chec&k by cells…", COSTS, self._ask)
        self.stop = button("St&op", "Give the check up.", self._stop)
        self.faces = button(
            "Show on the &model", "Colour the faces by the share of strength taken.", self._show_it
        )
        self.said = QLabel(COSTS)
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(TEXT_FLAGS)
        self.said.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.note, self.live = NoteLine(), LivePanel()
        self.accuracy = QLabel(_ACCURACY)
        self.accuracy.setWordWrap(True)
        self.accuracy.setTextInteractionFlags(TEXT_FLAGS)
        self.accuracy.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.ways = ratio_table(RowsModel(COLUMNS), "Checked by cells")
        self.ways.chosen_changed.connect(self._show_seams)
        self.seams = ratio_table(RowsModel(SEAM_COLUMNS), "Seams by cells")
        self.seams.row_chosen.connect(self._choose)
        self._lay_out()
        self.show_nothing()

    def _lay_out(self) -> None:
        row = QHBoxLayout()
        for each in (self.check, self.stop, self.faces):
            row.addWidget(each)
        row.addStretch(1)
        self._tables = QSplitter(Qt.Orientation.Vertical)
        self._tables.setChildrenCollapsible(False)
        for table in (self.ways, self.seams):
            table.setMinimumHeight(80)
            self._tables.addWidget(table)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 4, 0, 0)
        whole.addLayout(row)
        for widget in (self.note, self.live, self.said):
            whole.addWidget(widget)
        whole.addWidget(self._tables, 1)
        whole.addWidget(self.accuracy)
        whole.addStretch()

    # -- what is shown ------------------------------------------------------------------------
    def show_nothing(self, can_check: bool = False, *, warning: str = "") -> None:
        """Show no figures, and what they would cost.

        Parameters
        ----------
        can_check : bool
            Whether there is a load case to check.
        warning : str
            Why it may be of no use to check it.
        """
        self._told = None
        self.note.say(Mark.WARNING, warning)
        if not can_check:
            self.note.say(Mark.INFO, NO_CASE)
        self.said.setText(COSTS)
        self.accuracy.setText(_ACCURACY)
        self.check.setEnabled(can_check)
        self.stop.hide()
        self.faces.hide()
        self._tables.hide()

    def show_working(self, name: str) -> None:
        """Say that a load case is being checked."""
        self.note.say(
            Mark.INFO, f"Checking “{name}”; how far it is stands at the foot of the window."
        )
        self.check.setEnabled(False)
        self.stop.show()

    def show_fault(self, why: str) -> None:
        """Say why there are no figures."""
        self.show_nothing(can_check=True)
        self.note.say(Mark.FAULT, why)

    def show_told(self, told: CellsTold, numbers: Mapping[str, int], has_hardware: bool) -> None:
        """Show what was found.

        Parameters
        ----------
        told : CellsTold
        numbers : mapping of piece name to number
        has_hardware : bool
            Whether there are pins or screws at all.
        """
        self._told = told
        self.note.say(Mark.INFO, " ".join(told.notes))
        rows = [CellsRow(way, numbers, has_hardware) for way in told.ways]
        self.said.setText(_words(told, rows))
        self.accuracy.setText(told.accuracy)
        self.check.setEnabled(True)
        self.stop.hide()
        self.faces.setVisible(bool(told.overlays))
        self.ways.show_rows(rows)
        self.ways.choose(rows[-1].key)
        self._tables.show()
        self._show_seams()

    def _show_seams(self) -> None:
        at = self.ways.chosen
        rows: Sequence[CellsRow] = self.ways.rows_model.rows
        seams = rows[at].way.seams if at >= 0 else ()
        self.seams.show_rows(
            [
                SeamCellsRow(
                    seam.seam,
                    tuple(seam.screws.tolist()),
                    max(
                        (float(each) for push in (seam.pushed, seam.pins)
                         for each in (push**2).sum(axis=1) ** 0.5),
                        default=0.0,
                    ),
                    seam.opening,
                    seam.gaping,
                    seam.glue,
                )
                for seam in seams
            ]
        )  # fmt: skip

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        for each in (self.ways, self.seams, self.live):
            each.set_quantities(quantities)

    def choose_seam(self, name: str | None) -> None:
        """Choose a seam, or none, without signalling it."""
        self.seams.choose(name)

    # -- what is asked for --------------------------------------------------------------------
    def _ask(self, *_: object) -> None:
        self.check_asked.emit()

    def _stop(self, *_: object) -> None:
        self.stop_asked.emit()

    def _show_it(self, *_: object) -> None:
        if self._told is not None and self._told.overlays:
            self.overlay_asked.emit(self._told.overlays[0].name)

    def _choose(self, row: int) -> None:
        self.seam_chosen.emit(self.seams.rows_model.rows[row].key)


def _words(told: CellsTold, rows: Sequence[CellsRow]) -> str:
    """Return what was found in a sentence or two, relative figures first."""
    last = rows[-1]
    times = (
        ""
        if told.factor == 1.0
        else f" at {figure_words(told.factor)} times its loads, by the fall"
    )
    if last.way.held == "glued":
        held = "Nothing is known of the plan itself; the part printed in one takes up to"
    else:
        stiff = percent_words(last.way.stiffness)
        held = f"Held by {last.words} it is {stiff} as stiff as printed in one, and takes up to"
    number = last.numbers.get(last.way.piece)
    where = "" if number is None else f" of piece {number}"
    return (
        f"“{told.loading.name}”{times}. {held} "
        f"{percent_words(last.way.percentiles[1])} of its strength on 99 % of the surface{where}. "
        f"It took {told.seconds:.0f} s."
    )
