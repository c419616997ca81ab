"""Buttons with what they do in words, for eyes and for screen readers.

What is done is given as a method: a connection to a method does not keep its widget alive, as one
to a closure over it would.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtWidgets import QPushButton, QToolButton


def button(text: str, tip: str, done: Callable[..., Any]) -> QPushButton:
    """Return a button that explains itself."""
    made = QPushButton(text)
    made.setToolTip(tip)
    made.setAccessibleDescription(tip)
    made.clicked.connect(done)
    return made


def small_button(text: str, name: str, tip: str, done: Callable[..., Any]) -> QToolButton:
    """Return a small button of a row of many, named for screen readers."""
    made = QToolButton()
    made.setText(text)
    made.setToolTip(tip)
    made.setAccessibleName(name)
    made.setAccessibleDescription(tip)
    made.clicked.connect(done)
    return made
