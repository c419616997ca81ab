"""The right end of the status line: what is under way, how far it is, and a button to stop it."""

from __future__ import annotations

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

from splitplanner.window.jobs import Job, Jobs

_STEPS = 1000
_BEAT = 100
"""How far a job is, is shown no more often than this, ms."""


class JobLine(QWidget):
    """Shows the job that was begun last of those that are spoken of."""

    def __init__(self, jobs: Jobs, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._jobs = jobs
        self._job: Job | None = None
        self._text = QLabel(self)
        self._text.setAccessibleName("What is under way")
        self._bar = QProgressBar(self)
        self._bar.setRange(0, _STEPS)
        self._bar.setTextVisible(False)
        self._bar.setFixedWidth(160)
        self._bar.setMaximumHeight(12)
        self._bar.setAccessibleName("How far it is")
        self.stop_button = QPushButton("Stop", self)
        self.stop_button.setToolTip("Stop this; nothing is left half done.")
        self.stop_button.clicked.connect(self._stop)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        for widget in (self._text, self._bar, self.stop_button):
            layout.addWidget(widget)
        self._soon = QTimer(self, singleShot=True, interval=_BEAT)
        self._soon.timeout.connect(self._show)
        jobs.changed.connect(self._show_soon)
        self._show()

    @property
    def text(self) -> str:
        """What is said."""
        return self._text.text()

    def _show_soon(self) -> None:
        """Show what is under way: at once if it is another job, else now and then."""
        shown = self._jobs.shown
        if (shown[-1] if shown else None) is not self._job:
            self._show()
        elif not self._soon.isActive():
            self._soon.start()

    def _show(self) -> None:
        shown = self._jobs.shown
        self._job = shown[-1] if shown else None
        self.setVisible(self._job is not None)
        if self._job is not None:
            title = self._job.title
            self._text.setText(
                title[0].upper() + title[1:] + (f": {self._job.doing}" if self._job.doing else "")
            )
            # Else it would have all of the window painted within this call.
            self._bar.setUpdatesEnabled(False)
            self._bar.setValue(round(_STEPS * self._job.done))
            self._bar.setUpdatesEnabled(True)

    def _stop(self) -> None:
        if self._job is not None:
            self._jobs.stop(self._job)
