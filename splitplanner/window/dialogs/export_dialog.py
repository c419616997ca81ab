"""The export dialog: what is written, where, how far it is, and what came of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QCloseEvent, QDesktopServices, QPalette
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from splitplanner.findings import Finding, counted
from splitplanner.window.dialogs.export_target import Target, look_at
from splitplanner.window.parts.note_line import Mark, NoteLine

_STEPS = 1000
_STOPPED = "Stopped: nothing was written, and what was there is as it was."


@dataclass(frozen=True)
class ExportChoice:
    """What the user wants written; the plan and the scorecard always are.

    Attributes
    ----------
    folder : Path
        Absolute.
    pictures, stl, three_mf : bool
    overwrite : bool
        Whether the older result in `folder` is replaced.
    """

    folder: Path
    pictures: bool
    stl: bool
    three_mf: bool
    overwrite: bool


class ExportDialog(QDialog):
    """Asks what to write and where, and shows how that goes.

    It writes nothing itself: whoever hears `export_asked` does, and tells how it goes.

    Signals
    -------
    export_asked(ExportChoice)
    stopped()
        The user stops what is being written; `set_stopped` is awaited.
    """

    export_asked = Signal(object)
    stopped = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Export")
        self._refusal = ""
        self._is_working = False
        self._written = Path()
        self._target: Target | None = None
        self._stl, self._three_mf, self._pictures = self._make_choices()
        self._folder, self._browse = self._make_folder_line()
        self._replace = QCheckBox("&Replace it", self)
        self._replace.setToolTip("The older result is removed once the new one is whole.")
        self._note = NoteLine(self)
        self._note.add(self._replace)
        self._make_outcome()
        self._make_buttons()
        self._lay_out()
        self._folder.textChanged.connect(self._look_again)
        self._replace.toggled.connect(self._judge)
        self._look_again()

    # -- what the owner tells it --------------------------------------------------------------
    def set_place(self, last_folder: Path, title: str) -> None:
        """Propose a folder for the part `title` beside what was written last."""
        self.setWindowTitle(f"Export {title}")
        self.set_folder(last_folder / f"{title}-plan")

    def set_folder(self, folder: Path) -> None:
        """Put a folder into the line."""
        self._folder.setText(str(folder))
        self._outcome.say(Mark.INFO, "")
        self._findings.hide()

    def set_refusal(self, message: str) -> None:
        """Say why this plan cannot be exported at all; empty when it can."""
        self._refusal = message
        self._judge()

    def set_progress(self, done: float, doing: str) -> None:
        """Show how far it is: `done` from 0 to 1, `doing` a few words."""
        self._set_working(True)
        self._bar.setValue(round(_STEPS * min(max(done, 0.0), 1.0)))
        self._doing.setText(doing)
        self._bar.setAccessibleDescription(doing)

    def set_done(self, folder: Path, findings: Sequence[Finding] = ()) -> None:
        """Say that all was written, and what was found while writing."""
        self._set_working(False)
        self._written = folder
        self._replace.setChecked(False)
        more = f"; {counted(len(findings), 'remark')} below" if findings else ""
        self._outcome.say(Mark.DONE, f"Written to {folder}{more}.")
        self._open.show()
        self._findings.setPlainText("\n".join(f"{f.severity}: {f.message}" for f in findings))
        self._findings.setVisible(bool(findings))
        self._look_again()
        self._open.setFocus()

    def set_failed(self, message: str) -> None:
        """Say why nothing was written."""
        self._set_working(False)
        self._open.hide()
        self._findings.hide()
        self._outcome.say(Mark.FAULT, message)
        self._look_again()

    def set_stopped(self) -> None:
        """Say that the user's wish to stop was followed."""
        self._set_working(False)
        self._open.hide()
        self._findings.hide()
        self._outcome.say(Mark.INFO, _STOPPED)
        self._look_again()

    @property
    def is_working(self) -> bool:
        """Whether something is being written."""
        return self._is_working

    # -- making it ----------------------------------------------------------------------------
    def _make_choices(self) -> tuple[QCheckBox, QCheckBox, QCheckBox]:
        stl = QCheckBox("Pieces as &STL files", self)
        stl.setToolTip("One file a piece, lying on the bed the way it prints, pin holes drilled.")
        three_mf = QCheckBox("Pieces and beds as 3&MF files", self)
        three_mf.setToolTip(
            "All pieces with their names, each on a bed of its own; and a file for each bed "
            "on which some are printed together."
        )
        pictures = QCheckBox("&Pictures", self)
        pictures.setToolTip("PNG: the part with its cuts, pulled apart, and each piece on the bed.")
        for box in (stl, three_mf, pictures):
            box.setChecked(True)
            box.setAccessibleDescription(box.toolTip())
        return stl, three_mf, pictures

    def _make_folder_line(self) -> tuple[QLineEdit, QPushButton]:
        line = QLineEdit(self)
        line.setAccessibleName("Folder to write into")
        line.setToolTip("A new folder, or one that holds an older result.")
        line.setMinimumWidth(line.fontMetrics().averageCharWidth() * 56)
        browse = QPushButton("&Browse…", self)
        browse.setAutoDefault(False)
        browse.setToolTip("Choose the folder.")
        browse.clicked.connect(self._ask_folder)
        return line, browse

    def _make_outcome(self) -> None:
        self._bar = QProgressBar(self)
        self._bar.setRange(0, _STEPS)
        self._bar.setAccessibleName("Progress of the export")
        self._doing = QLabel(self)
        self._stop = QPushButton("S&top", self)
        self._stop.setAutoDefault(False)
        self._stop.setToolTip("Stop writing; an older result stays as it was.")
        self._stop.clicked.connect(self._ask_stop)
        self._outcome = NoteLine(self)
        self._open = self._outcome.add_button("&Open folder", "Show the folder's files.")
        self._open.clicked.connect(self._open_folder)
        self._findings = QPlainTextEdit(self)
        self._findings.setReadOnly(True)
        self._findings.setTabChangesFocus(True)
        self._findings.setAccessibleName("What was found while writing")
        self._findings.setMaximumHeight(self.fontMetrics().lineSpacing() * 6)
        self._findings.hide()

    def _make_buttons(self) -> None:
        self._export = QPushButton("&Export", self)
        self._export.setDefault(True)
        self._export.clicked.connect(self._ask_export)
        self._close = QPushButton("&Close", self)
        self._close.setAutoDefault(False)
        self._close.clicked.connect(self.reject)

    def _lay_out(self) -> None:
        always = QLabel("The plan and the scorecard are always written.", self)
        always.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        what, where = QLabel("What", self), QLabel("&Where", self)
        where.setBuddy(self._folder)
        grid = QGridLayout()
        grid.setHorizontalSpacing(14)
        grid.setVerticalSpacing(6)
        top = Qt.AlignmentFlag.AlignTop
        grid.addWidget(what, 0, 0, top)
        for row, widget in enumerate((self._stl, self._three_mf, self._pictures, always)):
            grid.addWidget(widget, row, 1, 1, 2)
        grid.setRowMinimumHeight(4, 8)
        grid.addWidget(where, 5, 0)
        grid.addWidget(self._folder, 5, 1)
        grid.addWidget(self._browse, 5, 2)
        grid.addWidget(self._note, 6, 1, 1, 2)
        grid.setColumnStretch(1, 1)
        self._working = QWidget(self)
        work = QGridLayout(self._working)
        work.setContentsMargins(0, 0, 0, 0)
        work.addWidget(self._bar, 0, 0)
        work.addWidget(self._stop, 0, 1)
        work.addWidget(self._doing, 1, 0)
        self._working.hide()
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self._export)
        buttons.addWidget(self._close)
        whole = QVBoxLayout(self)
        whole.setSpacing(12)
        whole.addLayout(grid)
        whole.addWidget(self._working)
        whole.addWidget(self._outcome)
        whole.addWidget(self._findings)
        whole.addStretch(1)
        whole.addLayout(buttons)

    # -- what the user does -------------------------------------------------------------------
    def _ask_folder(self) -> None:
        start = str(look_at(self._folder.text()).existing)
        chosen = QFileDialog.getExistingDirectory(self, "Folder to write into", start)
        if chosen:
            self.set_folder(Path(chosen))

    def _look_again(self) -> None:
        """Look at the folder that stands in the line now."""
        before = self._target
        self._target = look_at(self._folder.text())
        if before is None or before.folder != self._target.folder:
            # Leave to replace was given for another folder.
            self._replace.setChecked(False)
        self._judge()

    def _judge(self) -> None:
        """Show what stands in the way of writing, if anything does."""
        target = self._target
        assert target is not None
        asks = target.is_older_result and not self._refusal and not target.fault
        self._replace.setVisible(asks)
        if self._refusal:
            self._note.say(Mark.FAULT, self._refusal)
        elif target.fault:
            self._note.say(Mark.FAULT, target.fault)
        elif asks:
            age = "the result just written" if target.folder == self._written else "an older result"
            self._note.say(Mark.QUESTION, f"This folder holds {age}.")
        else:
            self._note.say(Mark.INFO, "")
        self._export.setEnabled(
            not (self._refusal or target.fault or self._is_working)
            and (not asks or self._replace.isChecked())
        )

    def _ask_export(self) -> None:
        # What was there may have changed since the line was written.
        self._look_again()
        target = self._target
        if target is None or not self._export.isEnabled():
            return
        choice = ExportChoice(
            target.folder,
            self._pictures.isChecked(),
            self._stl.isChecked(),
            self._three_mf.isChecked(),
            target.is_older_result and self._replace.isChecked(),
        )
        self._outcome.say(Mark.INFO, "")
        self._findings.hide()
        self.set_progress(0.0, "starting")
        self._stop.setFocus()
        self.export_asked.emit(choice)

    def _ask_stop(self) -> None:
        if self._is_working and self._stop.isEnabled():
            self._stop.setEnabled(False)
            self._doing.setText("stopping")
            self.stopped.emit()

    def _open_folder(self) -> None:
        if not QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._written))):
            self._outcome.say(
                Mark.WARNING,
                f"No program here shows folders; the files are in {self._written}.",
            )

    def _set_working(self, is_working: bool) -> None:
        if is_working == self._is_working:
            return
        self._is_working = is_working
        self._working.setVisible(is_working)
        self._stop.setEnabled(is_working)
        for widget in (
            self._stl, self._three_mf, self._pictures, self._folder, self._browse, self._replace,
            self._close,
        ):  # fmt: skip
            widget.setEnabled(not is_working)
        self._judge()

    def reject(self) -> None:
        """Close; while something is written, stop that first."""
        if self._is_working:
            self._ask_stop()
        else:
            super().reject()

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802
        """Close as `reject` does."""
        if self._is_working:
            event.ignore()
            self._ask_stop()
        else:
            super().closeEvent(event)
