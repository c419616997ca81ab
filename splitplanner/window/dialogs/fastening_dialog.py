"""The dialog of how the seams of a plan are to be held."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QAbstractSpinBox, QDialog, QHBoxLayout, QVBoxLayout, QWidget

from splitplanner.plan import Fastening
from splitplanner.window.dialogs.fastening_form import FasteningForm
from splitplanner.window.dialogs.offered import Offered
from splitplanner.window.parts.buttons import button
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.quantities import Quantities

SAFETY = (
    "Epoxy is a skin sensitiser: wear gloves, ventilate, and keep to the product's safety data "
    "sheet."
)


class FasteningDialog(QDialog):
    """Asks how seams are to be held.

    Parameters
    ----------
    fastening : Fastening
        As it is now.
    offered : Offered
        Screws that can be had.

    Signals
    -------
    applied(Fastening)
        Seams are to be held so; the dialog is closed by then.
    """

    applied = Signal(object)

    def __init__(
        self, fastening: Fastening, offered: Offered, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("How seams are held")
        self._fault = ""
        self._form = FasteningForm(offered)
        self._form.set_fastening(fastening)
        self._note, self._safety = NoteLine(), NoteLine()
        self._apply = button(
            "Hold the seams &so",
            "What holds the seams is placed anew, as one step that can be undone.",
            self.accept,
        )
        self._apply.setDefault(True)
        self._cancel = button("Cancel", "Leave all as it was.", self.reject)
        self._cancel.setAutoDefault(False)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self._apply)
        buttons.addWidget(self._cancel)
        whole = QVBoxLayout(self)
        whole.setSpacing(12)
        whole.addWidget(self._form)
        whole.addStretch(1)
        whole.addWidget(self._safety)
        whole.addWidget(self._note)
        whole.addLayout(buttons)
        self._form.edited.connect(self._judge)
        self._judge()

    @property
    def fault(self) -> str:
        """Why the seams cannot be held so; empty if they can."""
        return self._fault

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit."""
        self._form.set_quantities(quantities)
        self._judge()

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
        self._safety.say(Mark.WARNING, SAFETY if self._form.has_resin else "")
        self._apply.setEnabled(not self._fault)

    def accept(self) -> None:
        """Hold the seams so; stay if something stands in the way."""
        # Where a click on a button does not take the keyboard, a number may still be half typed.
        for box in self.findChildren(QAbstractSpinBox):
            box.interpretText()
        self._judge()
        if self._fault:
            return
        fastening = self._form.fastening()
        super().accept()
        self.applied.emit(fastening)
