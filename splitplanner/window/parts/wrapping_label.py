"""A label that is as high as its words need at the width that it has."""

from __future__ import annotations

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy


class WrappingLabel(QLabel):
    """Takes any width; a label of Qt's asks for the height that it would need when narrowest."""

    def __init__(self) -> None:
        super().__init__()
        self.setWordWrap(True)
        # It must not push what lies beside it together.
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def setText(self, text: str) -> None:  # noqa: N802
        """Show a text."""
        super().setText(text)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Wrap anew."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        # Qt counts the least height that is set into what the words need.
        self.setMinimumHeight(0)
        needed = self.heightForWidth(self.width())
        self.setFixedHeight(max(needed, self.fontMetrics().lineSpacing()))
