"""What is chosen, a cut, a piece, a seam or a load case: lists, chart and view show the same."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal


class Selection(QObject):
    """The chosen cut, piece, seam and load case; None for none.

    Signals
    -------
    cut_changed(), piece_changed(), seam_changed(), load_changed()
    """

    cut_changed = Signal()
    piece_changed = Signal()
    seam_changed = Signal()
    load_changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.cut: int | None = None
        self.piece: str | None = None
        self.seam: str | None = None
        self.load: str | None = None

    def choose_cut(self, index: int | None) -> None:
        """Choose a cut by its index; a negative one is none."""
        chosen = None if index is None or index < 0 else index
        if chosen != self.cut:
            self.cut = chosen
            self.cut_changed.emit()

    def choose_piece(self, name: str | None) -> None:
        """Choose a piece by its name."""
        if (name or None) != self.piece:
            self.piece = name or None
            self.piece_changed.emit()

    def choose_seam(self, name: str | None) -> None:
        """Choose a seam by its name."""
        if (name or None) != self.seam:
            self.seam = name or None
            self.seam_changed.emit()

    def choose_load(self, name: str | None) -> None:
        """Choose a load case by its name."""
        if (name or None) != self.load:
            self.load = name or None
            self.load_changed.emit()

    def clear(self) -> None:
        """Choose nothing."""
        self.choose_cut(None)
        self.choose_piece(None)
        self.choose_seam(None)
        self.choose_load(None)
