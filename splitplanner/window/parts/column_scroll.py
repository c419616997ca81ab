"""A column that is scrolled up and down alone."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget


class ColumnScroll(QScrollArea):
    """Is never narrower than what it holds, which cannot be moved sideways."""

    def __init__(self, inside: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidget(inside)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        # What can be reached in it by Tab is enough.
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def minimumSizeHint(self) -> QSize:  # noqa: N802
        """Return the least room: the width of what it holds, and of its bar."""
        least, inside = super().minimumSizeHint(), self.widget()
        if inside is None:
            return least
        bar = self.verticalScrollBar().sizeHint().width()
        return QSize(inside.minimumSizeHint().width() + bar, least.height())
