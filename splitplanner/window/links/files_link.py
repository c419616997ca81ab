"""Opening, saving, recovering and closing: what the window does with files."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog, QMenu, QMessageBox, QWidget

from splitplanner.solid import READABLE, ReadPart
from splitplanner.solid.units import MM_PER, likely_unit
from splitplanner.window.autosave import Autosave, Leftover
from splitplanner.window.part_files import PLAN_ENDINGS, PartFiles
from splitplanner.window.parts.recovery_bar import RecoveryBar
from splitplanner.window.parts.unit_bar import UnitBar
from splitplanner.window.session import Session
from splitplanner.window.settings import Settings

_ENDING = ".plan.json"
EXAMPLE = "rain_hood"


class FilesLink(QObject):
    """Opens and saves files for the session, and keeps it against a crash."""

    def __init__(
        self,
        session: Session,
        settings: Settings,
        autosave: Autosave,
        unit_bar: UnitBar,
        recovery_bar: RecoveryBar,
        window: QWidget,
    ) -> None:
        super().__init__(window)
        self._session, self._settings, self._autosave = session, settings, autosave
        self._unit_bar, self._recovery_bar, self._window = unit_bar, recovery_bar, window
        self._files = PartFiles(session)
        self._leftover: Leftover | None = None
        session.opened.connect(self._opened)
        session.changed.connect(self._note)
        session.history_changed.connect(self._note)
        autosave.failed.connect(session.said)
        unit_bar.unit_chosen.connect(self._read_in)
        recovery_bar.recovered.connect(self._recover)
        recovery_bar.discarded.connect(autosave.discard)

    def look_for_leftovers(self) -> None:
        """Offer what programs that died have left."""
        self._recovery_bar.set_leftovers(self._autosave.recoverable())

    # -- opening ----------------------------------------------------------------------------
    def ask_open(self) -> None:
        """Ask which file to open."""
        kinds = " ".join(f"*{ending}" for ending in (*READABLE, *PLAN_ENDINGS))
        path, _ = QFileDialog.getOpenFileName(
            self._window,
            "Open a model or a plan",
            str(self._settings.last_folder),
            f"Models and plans ({kinds});;All files (*)",
        )
        if path:
            self.open(Path(path))

    def open(self, path: Path) -> None:
        """Open a file, once the user has settled what is not saved."""
        if self.may_leave():
            self._files.open(path)

    def open_example(self) -> None:
        """Write the example's model where settings are kept, and open it."""
        if not self.may_leave():
            return
        folder = self._settings.file.parent / "example"
        self._files.open_example(EXAMPLE, folder)

    def fill_recent(self, menu: QMenu) -> None:
        """Fill the menu of recent files."""
        menu.clear()
        for file in self._settings.recent_files:
            action = menu.addAction(file.name.replace("&", "&&"))
            action.setToolTip(str(file))
            action.setStatusTip(str(file))
            action.triggered.connect(lambda _, file=file: self.open(file))
        if menu.isEmpty():
            menu.addAction("None yet").setEnabled(False)
            return
        menu.addSeparator()
        menu.addAction("Forget them").triggered.connect(self._settings.forget_recent)

    def _opened(self) -> None:
        session = self._session
        self._unit_bar.withdraw()
        self._take_over()
        if session.model is None or session.source is None:
            return
        self._settings.add_recent(session.plan_file or session.model)
        self._settings.sync()
        self._doubt_unit(session.model, session.source)

    def _doubt_unit(self, model: Path, source: ReadPart) -> None:
        """Ask about the unit of a file that does not say it, if mm is not likely."""
        numbers = tuple((source.solid.extents / MM_PER[source.unit]).tolist())
        guess = likely_unit(max(numbers))
        says_nothing = any(finding.kind == "reading.unit" for finding in source.findings)
        if guess is not None and source.unit == "mm" and says_nothing:
            self._unit_bar.ask(model.name, numbers, source.unit, guess)

    def _read_in(self, unit: str) -> None:
        if self._session.model is not None:
            self._files.open(self._session.model, unit)

    def _recover(self, leftover: Leftover) -> None:
        """Go on where a program that died was; what it left goes only once it is kept here."""
        self._leftover = leftover
        self._files.recover(leftover.plan, leftover.plan_file, leftover.wishes)

    def _take_over(self) -> None:
        leftover, self._leftover = self._leftover, None
        session = self._session
        if leftover is None or session.plan is None or session.model is None:
            return
        if session.model == leftover.model:
            self._note()
            self._autosave.save_now()
            self._autosave.discard(leftover)

    # -- saving -----------------------------------------------------------------------------
    def save(self) -> bool:
        """Save the plan in its file; return whether that was done."""
        file = self._session.plan_file
        return self.save_as() if file is None else self._save(file)

    def save_as(self) -> bool:
        """Ask for a file and save the plan there; return whether that was done."""
        session = self._session
        if session.model is None:
            return False
        start = session.plan_file or session.model.with_suffix(_ENDING)
        path, _ = QFileDialog.getSaveFileName(
            self._window, "Save the plan", str(start), "Plans (*.json)"
        )
        if not path:
            return False
        file = Path(path)
        return self._save(file if file.suffix else file.with_suffix(_ENDING))

    def _save(self, file: Path) -> bool:
        if not self._files.save(file):
            return False
        self._settings.add_recent(file)
        self._autosave.forget()
        self._session.said.emit(f"Saved in {file}.")
        return True

    def _note(self) -> None:
        session = self._session
        document, plan, model = session.document, session.plan, session.model
        if document is None or plan is None or model is None or document.is_dragging:
            return
        if document.is_changed:
            self._autosave.note(plan, model, session.plan_file, document.current.wishes)
        else:
            self._autosave.forget()

    def may_leave(self) -> bool:
        """Ask what to do with what is not saved; return whether it may be left."""
        document = self._session.document
        if document is None or not document.is_changed:
            return True
        box = QMessageBox(self._window)
        box.setIcon(QMessageBox.Icon.Question)
        box.setWindowTitle("Not saved")
        box.setText(f"The plan of {self._session.title} was changed. Save it?")
        buttons = QMessageBox.StandardButton
        box.setStandardButtons(buttons.Save | buttons.Discard | buttons.Cancel)
        box.setDefaultButton(buttons.Save)
        answer = box.exec()
        if answer == buttons.Save:
            return self.save()
        return answer == buttons.Discard
