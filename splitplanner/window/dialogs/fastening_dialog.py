"""The dialog of how the seams of a plan are to be held: all of them, and single ones."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QDialog,
    QHBoxLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from splitplanner.plan import Fastenings, differences
from splitplanner.window.dialogs.fastening_form import WORDS, FasteningForm
from splitplanner.window.dialogs.fields import list_box
from splitplanner.window.dialogs.offered import Offered
from splitplanner.window.parts.buttons import button
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities

SAFETY = (
    "Epoxy is a skin sensitiser: wear gloves, ventilate, and keep to the product's safety data "
    "sheet."
)
_ALL = ""
"""What is chosen for the seams in general, where else the name of a seam is."""


class FasteningDialog(QDialog):
    """Asks how seams are to be held.

    Parameters
    ----------
    fastenings : Fastenings
        As it is now.
    offered : Offered
        Screws that can be had.
    seams : sequence of str
        Those that can be held in their own way.
    seam : str, optional
        The one that is asked about first; all of them by default.

    Signals
    -------
    applied(Fastenings)
        Seams are to be held so; the dialog is closed by then.
    """

    applied = Signal(object)

    def __init__(
        self,
        fastenings: Fastenings,
        offered: Offered,
        parent: QWidget | None = None,
        *,
        seams: Sequence[str] = (),
        seam: str | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("How seams are held")
        self._fault = ""
        self._held, self._seams = fastenings, tuple(seams)
        self._seam = seam if seam in self._seams else None
        self._form = FasteningForm(offered)
        self._differs, self._note, self._safety = NoteLine(), NoteLine(), NoteLine()
        self._which = list_box(
            "Which seams",
            "What is said below is for all seams, or for a single one that is held otherwise.",
        )
        self._back = button(
            "Bac&k to how all are held",
            "Hold this seam as all others again.",
            self._go_back,
        )
        self._back.setAutoDefault(False)
        self._apply = button(
            "Hold the seams &so",
            "What is held otherwise than before is placed anew, as one step that can be undone.",
            self.accept,
        )
        self._apply.setDefault(True)
        self._cancel = button("Cancel", "Leave all as it was.", self.reject)
        self._cancel.setAutoDefault(False)
        self._lay_out()
        self._list_seams()
        self._show()
        self._which.currentIndexChanged.connect(self._choose)
        self._form.edited.connect(self._judge)

    def _lay_out(self) -> None:
        self._choice = QWidget()
        choice = QHBoxLayout(self._choice)
        choice.setContentsMargins(0, 0, 0, 0)
        label = QLabel("&All or one")
        label.setBuddy(self._which)
        for each in (label, self._which):
            choice.addWidget(each)
        choice.addStretch(1)
        choice.addWidget(self._back)
        self._choice.setVisible(bool(self._seams))
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self._apply)
        buttons.addWidget(self._cancel)
        whole = QVBoxLayout(self)
        whole.setSpacing(12)
        for widget in (self._choice, self._differs, self._form):
            whole.addWidget(widget)
        whole.addStretch(1)
        whole.addWidget(self._safety)
        whole.addWidget(self._note)
        whole.addLayout(buttons)

    @property
    def fault(self) -> str:
        """Why the seams cannot be held so; empty if they can."""
        return self._fault

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit."""
        self._form.set_quantities(quantities)
        self._judge()

    # -- all or one -------------------------------------------------------------------------
    def _list_seams(self) -> None:
        """Offer all seams and each of them, and say which are held in their own way."""
        self._which.blockSignals(True)
        self._which.clear()
        self._which.addItem("all seams", _ALL)
        for seam in self._seams:
            own = ", held in its own way" if seam in self._held.own else ""
            self._which.addItem(f"only seam {seam}{own}", seam)
        self._which.setCurrentIndex(self._which.findData(self._seam or _ALL))
        self._which.blockSignals(False)

    def _choose(self, *_: object) -> None:
        """Go on to another seam, with what was said so far; stay if that makes no sense."""
        chosen = self._which.currentData() or None
        self._judge()
        if not self._fault:
            self._held, self._seam = self._stored(), chosen
        self._list_seams()
        self._show()

    def _stored(self) -> Fastenings:
        """Return what is said of all seams, with what the form says."""
        fastening = self._form.fastening()
        if self._seam is None:
            return self._held.with_general(fastening)
        return self._held.with_own(self._seam, fastening)

    def _go_back(self, *_: object) -> None:
        self._form.set_fastening(self._held.general)
        self._judge()

    def _show(self) -> None:
        if not self._fault:
            general, seam = self._held.general, self._seam
            self._form.set_fastening(general if seam is None else self._held.of(seam))
        self._judge()

    # -- what is said of it -----------------------------------------------------------------
    def _judge(self) -> None:
        """Say what stands in the way, if anything does, and what to take care of."""
        try:
            self._form.fastening()
            self._fault = ""
        except ValueError as fault:
            self._fault = str(fault)
        if self._fault:
            self._note.say(Mark.FAULT, self._fault)
        else:
            self._note.say(Mark.INFO, self._form.remark)
            self._say_what_differs()
        self._safety.say(Mark.WARNING, SAFETY if self._form.has_resin else "")
        self._apply.setEnabled(not self._fault)

    def _say_what_differs(self) -> None:
        held, seam = self._held, self._seam
        differing = {} if seam is None else differences(self._form.fastening(), held.general)
        self._form.embolden(differing)
        self._back.setVisible(seam is not None)
        self._back.setEnabled(bool(differing))
        self._differs.say(Mark.INFO, _own_text(held, self._seams, seam, tuple(differing)))

    def accept(self) -> None:
        """Hold the seams so; stay if something stands in the way."""
        # Where a click on a button does not take the keyboard, a number may still be half typed.
        for box in self.findChildren(QAbstractSpinBox):
            box.interpretText()
        self._judge()
        if self._fault:
            return
        held = self._stored()
        super().accept()
        self.applied.emit(held)


def _own_text(
    held: Fastenings, seams: Sequence[str], seam: str | None, differing: Sequence[str]
) -> str:
    """Return what is to be known of seams in their own way; empty if nothing is."""
    if seam is not None:
        if not differing:
            return f"Seam {seam} is held as all others; what you change is for it alone."
        words = ", ".join(word for name, word in WORDS.items() if name in differing)
        return f"In bold, where seam {seam} is held otherwise than the others: {words}."
    own = [each for each in seams if each in held.own]
    if not own:
        return ""
    which, stay = (
        (f"Seam {own[0]} is held in its own way", "where it differs it stays")
        if len(own) == 1
        else (f"Seams {', '.join(own)} are held in their own ways", "where they differ they stay")
    )
    return f"{which}; {stay} so."
