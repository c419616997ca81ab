"""The weights of the plan score as sliders: what a maker cares about, and how much."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from splitplanner.score import CRITERIA, Criterion
from splitplanner.suggest.ranking import measured, remember, reranked, rescored, unmeasured
from splitplanner.window.lists.weight_row import WeightRow
from splitplanner.window.parts.column_scroll import ColumnScroll
from splitplanner.window.quantities import Quantities

__all__ = ["WeightsPanel", "measured", "remember", "reranked", "rescored", "unmeasured"]


class WeightsPanel(QWidget):
    """A slider and a number for each criterion; those of weight 0 by default are folded away.

    Signals
    -------
    weights_changed(object)
        The weights that differ from the defaults, a dict by criterion name, while a slider moves
        as well.
    weights_settled(object)
        The same once the user has let go: one step that can be undone.
    """

    weights_changed = Signal(object)
    weights_settled = Signal(object)

    def __init__(
        self, criteria: Sequence[Criterion] = CRITERIA, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.rows = {criterion.name: WeightRow(criterion) for criterion in criteria}
        for row in self.rows.values():
            row.changed.connect(self._changed)
            row.settled.connect(self._settled)
        self.fold = QToolButton()
        self.fold.setCheckable(True)
        self.fold.setAutoRaise(True)
        self.fold.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.fold.toggled.connect(self._fold)
        self._folded = QWidget()
        self.reset_button = QPushButton("Reset wei&ghts")
        self.reset_button.setToolTip("Set all weights back to their defaults.")
        self.reset_button.setAccessibleDescription("Set all weights back to their defaults.")
        self.reset_button.clicked.connect(self._reset)
        self._lay_out()
        self._fold(False)
        self._enable()

    def _lay_out(self) -> None:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, 4, 0)
        column.setSpacing(2)
        hidden = QVBoxLayout(self._folded)
        hidden.setContentsMargins(0, 0, 0, 0)
        hidden.setSpacing(2)
        for row in self.rows.values():
            (column if row.criterion.weight else hidden).addWidget(row)
        if hidden.count():
            column.addWidget(self.fold)
            column.addWidget(self._folded)
        column.addStretch()
        scroll = ColumnScroll(inside)
        below = QHBoxLayout()
        below.addWidget(self.reset_button)
        below.addStretch()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(scroll, 1)
        layout.addLayout(below)

    def _fold(self, is_open: bool) -> None:
        self._folded.setVisible(is_open)
        arrow = Qt.ArrowType.DownArrow if is_open else Qt.ArrowType.RightArrow
        self.fold.setArrowType(arrow)
        self._name_fold()

    def _name_fold(self) -> None:
        extra = [row for row in self.rows.values() if not row.criterion.weight]
        counting = sum(row.weight > 0 for row in extra)
        said = f"{counting} of them count" if counting != 1 else "1 of them counts"
        self.fold.setText(
            f"{len(extra)} more criteria" + (f", {said}" if counting else ", none of them counts")
        )
        self.fold.setAccessibleName(self.fold.text())

    @property
    def weights(self) -> dict[str, float]:
        """The weights that differ from the defaults, by criterion name."""
        return {name: row.weight for name, row in self.rows.items() if not row.is_default}

    def set_weights(self, weights: Mapping[str, float]) -> None:
        """Show weights, the defaults for all that are not named; nothing is signalled.

        Those of criteria that are not shown here are left out.
        """
        for name, row in self.rows.items():
            row.set_weight(weights.get(name, row.criterion.weight))
        self._enable()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another locale."""
        for row in self.rows.values():
            row.set_quantities(quantities)

    def _enable(self) -> None:
        self.reset_button.setEnabled(bool(self.weights))
        self._name_fold()

    def _changed(self) -> None:
        self._enable()
        self.weights_changed.emit(self.weights)

    def _settled(self) -> None:
        self.weights_settled.emit(self.weights)

    def _reset(self, *_: object) -> None:
        self.set_weights({})
        self.weights_changed.emit({})
        self.weights_settled.emit({})
