"""What stands in the view while no part is open: what to do first."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QVBoxLayout, QWidget

from splitplanner.window.parts.note_line import TEXT_FLAGS

_WORDS = (
    "Open a model that is larger than your print bed, or drop it here. The program proposes where "
    "to cut it; you may also set cuts by hand and see at once whether the pieces fit."
)


class Welcome(QFrame):
    """A panel in the middle of another widget.

    Signals
    -------
    open_asked(), example_asked()
    """

    open_asked = Signal()
    example_asked = Signal()

    def __init__(self, place: QWidget) -> None:
        super().__init__(place)
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.setAutoFillBackground(True)
        words = QLabel(_WORDS, self)
        words.setWordWrap(True)
        words.setTextInteractionFlags(TEXT_FLAGS)
        self.open_button = QPushButton("Open a model or a plan…", self)
        self.open_button.setToolTip("STL, OBJ, PLY, OFF, GLB, 3MF, STEP, or a plan saved before.")
        self.open_button.clicked.connect(self.open_asked)
        self.example_button = QPushButton("Try it on the example", self)
        self.example_button.setToolTip("A rain hood of 540 × 230 × 165 mm, made by the program.")
        self.example_button.clicked.connect(self.example_asked)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 20, 24, 20)
        layout.setSpacing(12)
        for widget in (words, self.open_button, self.example_button):
            layout.addWidget(widget)
        self.setFixedWidth(380)
        place.installEventFilter(self)
        self._centre()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        """Stay in the middle."""
        if event.type() == QEvent.Type.Resize:
            self._centre()
        return super().eventFilter(watched, event)

    def _centre(self) -> None:
        self.adjustSize()
        place = self.parentWidget()
        assert place is not None
        rest = (place.size() - self.size()) / 2
        self.move(max(rest.width(), 0), max(rest.height(), 0))
        self.setAttribute(Qt.WidgetAttribute.WA_NoMousePropagation)
