"""The tab of strength: load cases, what the plan stands of them, and braces."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QSplitter, QTabWidget, QVBoxLayout, QWidget

from splitplanner.strength.cautions import CAUTIONS
from splitplanner.window.parts.note_line import TEXT_FLAGS
from splitplanner.window.quantities import Quantities
from splitplanner.window.strength.answer_panel import AnswerPanel
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
        self.pages.addTab(self.answer, "What it holds")
        self.cautions = QLabel()
        self.cautions.setWordWrap(True)
        self.cautions.setTextInteractionFlags(TEXT_FLAGS)
        self.cautions.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.cautions.setAccessibleName("What goes with every figure of strength")
        self.cautions.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        font = self.cautions.font()
        font.setPointSizeF(0.9 * font.pointSizeF())
        self.cautions.setFont(font)
        splitter = QSplitter(Qt.Orientation.Vertical)
        splitter.setChildrenCollapsible(False)
        for widget, stretch in ((self.loads, 1), (self.pages, 3)):
            splitter.addWidget(widget)
            splitter.setStretchFactor(splitter.count() - 1, stretch)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(splitter, 1)
        layout.addWidget(self.cautions)
        self.tell_cautions(())

    def tell_cautions(self, statements: Sequence[str]) -> None:
        """Say what goes with the figures; the cautions are always among it.

        Parameters
        ----------
        statements : sequence of str
            What goes with those that are shown.
        """
        self.cautions.setText("\n".join((" ".join(CAUTIONS), " ".join(statements))).strip())

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        for each in (self.loads, self.answer):
            each.set_quantities(quantities)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802
        """Tell that it has come into view."""
        super().showEvent(event)
        self.seen.emit()
