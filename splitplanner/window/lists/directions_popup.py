"""A list of print directions to choose from, with what each would cost."""

from __future__ import annotations

import html
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import QModelIndex, QPoint, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QLabel, QVBoxLayout, QWidget

from splitplanner.plan import Vector
from splitplanner.score import DirectionFigures
from splitplanner.score.lying import Fit
from splitplanner.window.lists.lines import Shown, shown_fit
from splitplanner.window.lists.tables import Column, Figure, RowsModel, Table
from splitplanner.window.quantities import Quantities

_MOST_ROWS = 10
"""More than this are scrolled."""


@dataclass(frozen=True)
class RankedDirection:
    """One way up for a piece, and what it costs.

    Attributes
    ----------
    up : (x, y, z)
        In the part's frame.
    label : str
        What lies down or up, in words.
    fit : Fit
    figures : DirectionFigures
    total : float
        What the piece costs so, in terms of the plan score; lower is better.
    terms : mapping of name to float
        What adds to it, and how much.
    best_at : tuple of str
        What it has least of, or none of.
    is_now : bool
        Whether the piece prints so now.
    """

    up: Vector
    label: str
    fit: Fit
    figures: DirectionFigures
    total: float = 0.0
    terms: Mapping[str, float] = field(default_factory=dict)
    best_at: tuple[str, ...] = ()
    is_now: bool = False

    @property
    def key(self) -> Vector:
        """What a table knows it by."""
        return self.up


def _label(row: RankedDirection, _: Quantities) -> Shown:
    return Shown(f"{row.label}, as now" if row.is_now else row.label)


def _fit(row: RankedDirection, _: Quantities) -> Shown:
    return shown_fit(row.fit)


def _best(row: RankedDirection, _: Quantities) -> Shown:
    return Shown(", ".join(row.best_at), faint=True)


def _area(name: str) -> Figure:
    """Return one of the areas of a direction, by its name and that of its figure."""
    return Figure(name, lambda row, each: Shown(each.area(getattr(row.figures, _FIGURES[name]))))


def _count(name: str) -> Figure:
    return Figure(name, lambda row, each: Shown(each.number(getattr(row.figures, _FIGURES[name]))))


def _support(row: RankedDirection, quantities: Quantities) -> Shown:
    return Shown(quantities.volume(row.figures.support))


def _height(row: RankedDirection, quantities: Quantities) -> Shown:
    return Shown(quantities.length(row.figures.height, 0))


def _tipping(row: RankedDirection, quantities: Quantities) -> Shown:
    return Shown(quantities.angle(row.figures.tip, 0))


def _cost(row: RankedDirection, quantities: Quantities) -> Shown:
    return Shown(quantities.number(row.total, 2))


_FIGURES = {
    "overhang": "overhang",
    "supports on the good side": "support_seen",
    "islands": "islands",
    "travel crossings": "crossings",
    "travel crossings seen": "crossings_seen",
    "bed contact": "contact",
}
"""The names of figures, and what they are called in `DirectionFigures`."""
COLUMNS = (
    Column(
        "Print direction\nand what is best about it",
        (
            Figure("print direction", _label),
            Figure("fit", _fit),
            Figure("best at", _best),
        ),
        24,
        right=False,
        stretches=True,
    ),
    Column(
        "Overhang, support\nsupports on good side",
        (_area("overhang"), Figure("support", _support), _area("supports on the good side")),
        18,
    ),
    Column(
        "Islands, travels,\ntravels seen",
        (_count("islands"), _count("travel crossings"), _count("travel crossings seen")),
        14,
    ),
    Column(
        "Height, contact,\ntips over at",
        (Figure("height", _height), _area("bed contact"), Figure("tipping", _tipping)),
        14,
    ),
    Column("Cost", (Figure("direction cost", _cost),), 6),
)
_WIDTH = 780


class _Ways(RowsModel):
    """Ways up, with what each costs in their tooltips."""

    def tip(self, row: int, column: int) -> str:
        """Return the tooltip of a cell: its figures, and what adds to the cost."""
        way: RankedDirection = self.rows[row]
        order = sorted(way.terms.items(), key=lambda term: -term[1])
        adds = "".join(
            f"<tr><td>{html.escape(name)}&nbsp; </td>"
            f"<td align='right'>{self.quantities.number(value, 2)}</td></tr>"
            for name, value in order
        )
        costs = f"<p><b>What it costs</b></p><table>{adds}</table>" if adds else ""
        return super().tip(row, column) + costs


class DirectionsPopup(QFrame):
    """Ranked print directions of one piece, shown till one is taken or Escape is pressed.

    Signals
    -------
    direction_taken(str, object)
        The piece's name and the direction that is to be up.
    """

    direction_taken = Signal(str, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, Qt.WindowType.Popup)
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self._piece = ""
        self._heading = QLabel()
        self.table = Table(_Ways(COLUMNS), "Print directions, the best first")
        # One is taken: the row that keys go to is the chosen one, also with Ctrl.
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setAccessibleDescription("Enter takes the direction, Escape leaves it as it is.")
        self.table.row_entered.connect(self._take)
        self.table.clicked.connect(self._clicked)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 8, 8, 8)
        layout.addWidget(self._heading)
        layout.addWidget(self.table)

    @property
    def piece(self) -> str:
        """The name of the piece that the directions are for."""
        return self._piece

    def offer(
        self,
        piece: str,
        title: str,
        directions: Sequence[RankedDirection],
        at: QPoint,
        current: Vector | None = None,
    ) -> None:
        """Show directions near a place on the screen, the current one marked.

        Parameters
        ----------
        piece : str
            Its name.
        title : str
        directions : sequence of RankedDirection
            The best first.
        at : QPoint
            Global position.
        current : (x, y, z), optional
        """
        self._piece = piece
        self._heading.setText(title)
        self.setAccessibleName(title)
        self.table.show_rows(directions)
        self.table.choose(_nearest(directions, current))
        rows = min(len(directions), _MOST_ROWS)
        header = self.table.horizontalHeader().sizeHint().height()
        self.table.setFixedHeight(
            header + rows * self.table.verticalHeader().defaultSectionSize() + 4
        )
        self.resize(_WIDTH, self.sizeHint().height())
        self.move(self._on_screen(at))
        self.show()
        self.table.setFocus(Qt.FocusReason.PopupFocusReason)

    def _on_screen(self, at: QPoint) -> QPoint:
        """Return where to stand so that all of it is on the screen."""
        screen = QGuiApplication.screenAt(at) or QGuiApplication.primaryScreen()
        room = screen.availableGeometry()
        left = min(at.x(), room.right() - self.width())
        top = min(at.y(), room.bottom() - self.height())
        return QPoint(max(left, room.left()), max(top, room.top()))

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.table.set_quantities(quantities)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802
        """Escape leaves the direction as it is."""
        if event.key() == Qt.Key.Key_Escape:
            self.hide()
        else:
            super().keyPressEvent(event)

    def _clicked(self, index: QModelIndex) -> None:
        self._take(index.row())

    def _take(self, row: int) -> None:
        if not self.isVisible():
            return
        up = self.table.rows_model.rows[row].up
        self.hide()
        self.direction_taken.emit(self._piece, up)


def _nearest(directions: Sequence[RankedDirection], up: Vector | None) -> Vector | None:
    """Return which of the directions is `up`, or else the first."""
    if not directions:
        return None
    if up is None:
        return directions[0].up
    return max(directions, key=lambda each: sum(a * b for a, b in zip(each.up, up, strict=True))).up
