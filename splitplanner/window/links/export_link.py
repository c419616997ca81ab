"""Exporting: the dialog, and the job that writes the files."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from splitplanner.findings import Finding, faults
from splitplanner.window.dialogs.export_dialog import ExportChoice, ExportDialog
from splitplanner.window.jobs import Job
from splitplanner.window.session import Session
from splitplanner.window.settings import Settings


class ExportLink(QObject):
    """Asks what to write, and has it written."""

    def __init__(self, session: Session, settings: Settings, window: QWidget) -> None:
        super().__init__(window)
        self._session, self._settings, self._window = session, settings, window
        self._job: Job | None = None
        self.dialog: ExportDialog | None = None
        session.jobs.changed.connect(self._show_progress)
        session.checked.connect(self._refuse)

    def ask(self) -> None:
        """Open the dialog."""
        if self._session.plan is None:
            self._session.said.emit("Open a model first; there is nothing to export.")
            return
        if self.dialog is None:
            self.dialog = ExportDialog(self._window)
            self.dialog.export_asked.connect(self.write)
            self.dialog.stopped.connect(self._stop)
        self.dialog.set_place(self._settings.export_folder, self._session.title)
        self._refuse()
        self.dialog.show()
        self.dialog.raise_()
        self.dialog.activateWindow()

    def _refuse(self) -> None:
        """Say in the dialog why there is nothing to write, if so."""
        if self.dialog is None:
            return
        found = faults(self._session.findings_of_plan)
        if found:
            more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
            self.dialog.set_refusal(f"The plan is not sound: {found[0].message}{more}")
        else:
            self.dialog.set_refusal("")

    def write(self, choice: ExportChoice) -> None:
        """Have the result folder written."""
        session = self._session
        if session.plan is None or session.model is None:
            return
        options = {
            "pictures": choice.pictures,
            "stl": choice.stl,
            "three_mf": choice.three_mf,
            "overwrite": choice.overwrite,
        }
        self._settings.export_folder = choice.folder.parent
        self._job = session.jobs.ask(
            "examiner",
            "write_files",
            session.plan,
            session.model,
            choice.folder,
            options,
            session.spool.left,
            title="exporting",
            answered=lambda findings: self._done(choice.folder, findings),
            stopped=self._stopped,
            failed=self._failed,
        )

    def _show_progress(self) -> None:
        if self._job is not None and not self._job.is_over and self.dialog is not None:
            self.dialog.set_progress(self._job.done, self._job.doing)

    def _stop(self) -> None:
        self._session.jobs.stop(self._job)

    def _stopped(self) -> None:
        if self.dialog is not None:
            self.dialog.set_stopped()

    def _done(self, folder: Path, findings: tuple[Finding, ...]) -> None:
        self._session.said.emit(f"Exported to {folder}.")
        if self.dialog is not None:
            self.dialog.set_done(folder, findings)

    def _failed(self, fault: Exception) -> None:
        if self.dialog is not None:
            self.dialog.set_failed(str(fault))
        else:
            self._session.failed.emit(fault)
