"""The tab of strength: load cases, what the plan stands of them, and braces."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QLabel,
    QScrollArea,
    QSizePolicy,
    QSplitter,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from splitplanner.strength.cautions import CAUTIONS
from splitplanner.window.parts.note_line import TEXT_FLAGS
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.answer_panel import AnswerPanel
from splitplanner.window.strength.braces_panel import BracesPanel
from splitplanner.window.strength.cells_panel import CellsPanel
from splitplanner.window.strength.loads_list import LoadsList


class StrengthPanel(QWidget):
    """All that is asked and told of strength.

    Signals
    -------
    seen()
        It has come into view.
    """

    seen = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.loads = LoadsList()
        self.answer = AnswerPanel()
        self.pages = QTabWidget()
        self.pages.setDocumentMode(True)
        self.braces, self.cells = BracesPanel(), CellsPanel()
        for page, title in (
            (self.answer, "What it holds"), (self.braces, "Braces"), (self.cells, "Check by cells")
        ):  # fmt: skip
            self.pages.addTab(_scrolled(page), title)
        self.cautions = _small_print("What goes with every figure of strength")
        self.cautions.setText(" ".join(CAUTIONS))
        self.statements = _small_print("What goes with the figures that are shown")
        said = _prepared(_WholeLines(self.statements), self.statements)
        said.setMinimumHeight(2 * self.statements.fontMetrics().lineSpacing())
        self._said = said
        splitter = QSplitter(Qt.Orientation.Vertical)
        splitter.setChildrenCollapsible(False)
        for widget, stretch in ((self.loads, 1), (self.pages, 4), (said, 1)):
            splitter.addWidget(widget)
            splitter.setStretchFactor(splitter.count() - 1, stretch)
        splitter.setSizes([190, 470, 50])
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(splitter, 1)
        layout.addWidget(self.cautions)
        self.tell_statements(())

    def tell_statements(self, statements: Sequence[str]) -> None:
        """Say what goes with the figures that are shown, beside the cautions.

        Parameters
        ----------
        statements : sequence of str
        """
        self.statements.setText(" ".join(statements))
        self._said.setVisible(bool(statements))

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        for each in (self.loads, self.answer, self.braces, self.cells):
            each.set_quantities(quantities)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Tell that it has come into view."""
        super().showEvent(event)
        self.seen.emit()


class _WholeLines(QScrollArea):
    """Shows no line of a label cut in half."""

    def __init__(self, label: QLabel) -> None:
        super().__init__()
        self._line = label.fontMetrics().lineSpacing()
        self.verticalScrollBar().setSingleStep(self._line)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Leave below what is no whole line."""
        super().resizeEvent(event)
        rest = self.height() % self._line
        if self.viewportMargins().bottom() != rest:
            self.setViewportMargins(0, 0, 0, rest)


class _Page(QScrollArea):
    """Scrolls what it holds as soon as that would be squeezed; Qt leaves out how words wrap."""

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Wrap anew."""
        super().resizeEvent(event)
        self._fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Take note when what it holds needs more room, or less."""
        if event.type() == QEvent.Type.LayoutRequest and watched is self.widget():
            self._fit()
        return super().eventFilter(watched, event)

    def _fit(self) -> None:
        inside = self.widget()
        layout = None if inside is None else inside.layout()
        if inside is not None and layout is not None:
            # Less than 0 as long as nothing in it wraps.
            height = layout.minimumHeightForWidth(self.viewport().width())
            inside.setMinimumHeight(max(height, 0))


def _scrolled(widget: QWidget) -> QScrollArea:
    """Return an area that a widget fills, or is scrolled in where the window is low."""
    return _prepared(_Page(), widget)


def _prepared(made: QScrollArea, widget: QWidget) -> QScrollArea:
    """Put a widget into an area in which it is scrolled up and down."""
    made.setWidget(widget)
    made.setWidgetResizable(True)
    # As the tab that it is in.
    made.viewport().setAutoFillBackground(False)
    widget.setAutoFillBackground(False)
    made.setFrameShape(QScrollArea.Shape.NoFrame)
    # What can be reached in it by Tab is enough.
    made.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    return made


def _small_print(name: str) -> QLabel:
    """Return a label for sentences that are always there."""
    made = QLabel()
    made.setWordWrap(True)
    made.setTextInteractionFlags(TEXT_FLAGS)
    made.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
    made.setAccessibleName(name)
    made.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
    made.setAlignment(Qt.AlignmentFlag.AlignTop)
    font = made.font()
    font.setPointSizeF(0.9 * font.pointSizeF())
    made.setFont(font)
    return made
