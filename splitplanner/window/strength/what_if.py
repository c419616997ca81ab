"""What if a brace were not there: asked by a box to tick, and answered beside it."""

from __future__ import annotations

from collections.abc import Collection

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from splitplanner.window.dialogs.fields import tick_box
from splitplanner.window.parts.note_line import TEXT_FLAGS

_ASKS = "Answered at once by the last check by cells; the brace stays in the plan."
_FIRST = "Check a load case by cells first; then this is answered at once."


class WhatIf(QWidget):
    """Knows which braces are taken not to be there.

    Signals
    -------
    changed()
        Other braces are.
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.left_out: frozenset[str] = frozenset()
        self._chosen: str | None = None
        self._is_able = False
        self.box = tick_box("What if it is &not there", _FIRST)
        self.box.clicked.connect(self._click)
        self.said = QLabel()
        self.said.setWordWrap(True)
        self.said.setTextInteractionFlags(TEXT_FLAGS)
        self.said.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.box)
        layout.addWidget(self.said)
        self.tell("")
        self._enable()

    def choose(self, name: str | None) -> None:
        """Ask of another brace, or none."""
        self._chosen = name
        self._enable()

    def keep_only(self, names: Collection[str]) -> None:
        """Forget braces that the plan has not any more."""
        self._leave_out(self.left_out.intersection(names))

    def set_able(self, is_able: bool) -> None:
        """Say whether a check is kept that answers; without one nothing is left out."""
        self._is_able = is_able
        if not is_able:
            self._leave_out(frozenset())
        self._enable()

    def tell(self, text: str) -> None:
        """Show an answer, or nothing."""
        self.said.setText(text)
        self.said.setVisible(bool(text))

    def _enable(self) -> None:
        tip = _ASKS if self._is_able else _FIRST
        self.box.setToolTip(tip)
        self.box.setAccessibleDescription(tip)
        self.box.setEnabled(self._is_able and self._chosen is not None)
        self.box.setChecked(self._chosen in self.left_out)

    def _click(self, is_ticked: bool) -> None:
        if self._chosen is not None:
            one = {self._chosen}
            self._leave_out(self.left_out | one if is_ticked else self.left_out - one)

    def _leave_out(self, names: frozenset[str]) -> None:
        if names != self.left_out:
            self.left_out = names
            self._enable()
            self.changed.emit()
