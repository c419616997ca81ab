"""Connects the list of braces with the plan, the view and the sheet of stock."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from splitplanner.background.fitted_sheet import FittedSheet
from splitplanner.errors import SplitPlannerError
from splitplanner.findings import Finding
from splitplanner.loaded import BraceUnderLoad
from splitplanner.plan import (
    BraceWish,
    read_braces,
    with_brace,
    without_brace,
    write_braces,
)
from splitplanner.window.jobs import Job
from splitplanner.window.links.view_link import ViewLink
from splitplanner.window.lists.lines import RANK
from splitplanner.window.parts.note_line import Mark
from splitplanner.window.quantities import Quantities
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.strength.brace_dialog import BraceDialog, new_brace, span_of
from splitplanner.window.strength.braces_panel import BraceRow, BracesPanel
from splitplanner.workshop import hardware_shelf

_PROPOSED = 2
_KINDS = "Braces (*.toml)"


class BracesLink(QObject):
    """Shows the braces of the plan, and changes them as asked."""

    def __init__(
        self, session: Session, selection: Selection, view: ViewLink, panel: BracesPanel
    ) -> None:
        super().__init__(panel)
        self._session, self._selection, self._view = session, selection, view
        self._panel = panel
        self._quantities = Quantities()
        self._edited: BraceWish | None = None
        self._proposing: Job | None = None
        self._fitting: Job | None = None
        self._fitted: tuple[BraceWish, ...] = ()
        self.dialog: BraceDialog | None = None
        for signal in (session.opened, session.changed, session.checked):
            signal.connect(self.refresh)
        selection.load_changed.connect(self.refresh)
        panel.propose_asked.connect(self._propose)
        panel.add_asked.connect(self._add)
        panel.open_asked.connect(self._read)
        panel.save_asked.connect(self._save)
        panel.edit_asked.connect(self._edit)
        panel.deleted.connect(self._delete)
        panel.fit_asked.connect(self._fit)
        panel.shown_changed.connect(self._show_solids)

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities

    @property
    def _braces(self) -> tuple[BraceWish, ...]:
        plan = self._session.plan
        return () if plan is None else plan.braces

    @property
    def is_idle(self) -> bool:
        """Whether no places for braces are being looked for."""
        return self._proposing is None or self._proposing.is_over

    # -- what is shown ------------------------------------------------------------------------
    def refresh(self) -> None:
        """Show the braces of the plan and what is known of them."""
        session, part = self._session, self._session.part
        if session.is_dragging:
            return
        self._show_solids()
        findings = [] if session.examined is None else session.findings_of_plan
        rows = []
        for wish in self._braces:
            mine = [each for each in findings if _is_of(each, wish.name)]
            kinds = [each.severity for each in mine]
            worst = next((kind for kind in RANK if kind in kinds), None)
            low = 0.0 if part is None else span_of(part, wish.along)[0]
            rows.append(BraceRow(wish, low, len(mine), worst, self._under(wish.name)))
        self._panel.show_rows(rows, has_part=part is not None)
        if self._fitted and self._fitted != self._braces:
            self._fitted = ()
            self._panel.forget_fit()

    def _under(self, name: str) -> BraceUnderLoad | None:
        """Return what a brace takes of the chosen load case."""
        examined, load = self._session.examined, self._selection.load
        strength = None if examined is None else examined.strength
        for answer in () if strength is None else strength.loads:
            if answer.loading.name == load:
                return next((each for each in answer.planned.braces if each.brace == name), None)
        return None

    def _show_solids(self, *_: object) -> None:
        """Draw the braces in the view, or leave them out."""
        examined = self._session.examined
        if not self._panel.shown.isChecked() or not self._braces:
            self._view.set_braces(())
        elif examined is not None:
            self._view.set_braces(examined.braces)

    # -- braces -------------------------------------------------------------------------------
    def dialog_on(self, brace: BraceWish) -> BraceDialog | None:
        """Return an editor of a brace; None without a part."""
        from splitplanner.window.dialogs.offered import offered_hardware

        part = self._session.part
        if part is None:
            return None
        shelf = self._session.shelf or hardware_shelf()
        self.dialog = BraceDialog(
            part,
            brace,
            [metal.name for metal in shelf.sheet_metals],
            offered_hardware(shelf),
            {each.name for each in self._braces if each is not brace},
            self._panel.window(),
        )
        self.dialog.set_quantities(self._quantities)
        return self.dialog

    def _add(self) -> None:
        part = self._session.part
        if part is None:
            return
        taken = {each.name for each in self._braces}
        name = next(name for at in count(1) if (name := f"brace {at}") not in taken)
        self._edited = None
        self._open(self.dialog_on(new_brace(part, self._session.axis, name)))

    def _edit(self, name: str) -> None:
        self._edited = next((each for each in self._braces if each.name == name), None)
        if self._edited is not None:
            self._open(self.dialog_on(self._edited))

    def _open(self, dialog: BraceDialog | None) -> None:
        if dialog is not None:
            dialog.applied.connect(self._take)
            dialog.exec()
            dialog.deleteLater()

    def _take(self, brace: BraceWish) -> None:
        """Take a new brace into the plan, or one in the place of that which was edited."""
        plan, before = self._session.plan, self._edited
        if plan is None or brace == before:
            return
        if before is None:
            self._session.apply(f"add {brace.name}", with_brace(plan, brace))
        else:
            kept = tuple(brace if each.name == before.name else each for each in plan.braces)
            self._session.apply(f"change {before.name}", replace(plan, braces=kept))
        self._panel.table.choose(brace.name)

    def _delete(self, name: str) -> None:
        plan = self._session.plan
        if plan is not None:
            self._session.apply(f"delete {name}", without_brace(plan, name))

    # -- files --------------------------------------------------------------------------------
    def _read(self) -> None:
        """Add braces from a file; those of a name that is taken replace the ones there."""
        plan = self._session.plan
        path, _ = QFileDialog.getOpenFileName(self._panel, "Open braces", "", _KINDS)
        if not path or plan is None:
            return
        try:
            for brace in read_braces(Path(path)):
                plan = with_brace(plan, brace)
        except SplitPlannerError as fault:
            self._session.failed.emit(fault)
            return
        self._session.apply("open braces", plan)

    def _save(self) -> None:
        path, _ = QFileDialog.getSaveFileName(self._panel, "Save braces", "braces.toml", _KINDS)
        if path:
            try:
                write_braces(self._braces, Path(path))
            except SplitPlannerError as fault:
                self._session.failed.emit(fault)

    # -- jobs ---------------------------------------------------------------------------------
    def _propose(self) -> None:
        """Have places for braces looked for."""
        session, choices = self._session, self._session.choices
        if choices is None:
            return
        session.jobs.stop(self._proposing, patience=None)
        self._panel.note.say(Mark.INFO, "Looking for places; this takes up to a minute.")
        self._proposing = session.jobs.ask(
            "examiner",
            "propose_braces",
            choices.plan,
            choices.wishes,
            _PROPOSED,
            title="looking for places for braces",
            answered=self._take_proposed,
            failed=self._refuse,
            stopped=self._clear_note,
        )

    def _take_proposed(self, braces: tuple[BraceWish, ...]) -> None:
        plan = self._session.plan
        if plan is None:
            return
        if not braces:
            self._panel.note.say(
                Mark.INFO, "No seam crosses the long way of the part, so no brace is of use."
            )
            return
        self._clear_note()
        # In the place of those that were there: they were left out of account.
        self._session.apply("propose two braces", replace(plan, braces=braces))

    def _refuse(self, fault: Exception) -> None:
        self._panel.note.say(Mark.FAULT, str(fault))

    def _clear_note(self) -> None:
        self._panel.note.say(Mark.INFO, "")

    def _fit(self, width: float, depth: float, margin: float, gap: float) -> None:
        """Look whether the braces can be cut from a sheet."""
        session, plan = self._session, self._session.plan
        if plan is None or not plan.braces:
            return
        session.jobs.stop(self._fitting, patience=None)
        self._panel.fit_note.say(Mark.INFO, "Laying the braces on the sheet; some seconds.")
        self._fitted = plan.braces
        self._fitting = session.jobs.ask(
            "examiner",
            "fit_braces",
            plan,
            (width, depth, margin, gap),
            self._panel.chosen or "",
            title="laying braces on a sheet",
            answered=self._take_fit,
            failed=self._refuse_fit,
            stopped=self._panel.forget_fit,
        )

    def _take_fit(self, found: FittedSheet) -> None:
        self._panel.show_fit(found.size, found.margin, found.outlines, found.finding)

    def _refuse_fit(self, fault: Exception) -> None:
        self._panel.forget_fit()
        self._panel.fit_note.say(Mark.FAULT, str(fault))


def _is_of(finding: Finding, name: str) -> bool:
    """Whether a finding is about a brace."""
    return finding.subject == name or f"“{name}”" in finding.message
