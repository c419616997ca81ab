"""Connects the tab of strength with the plan: load cases, and what is known under them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from splitplanner.atomic import write_file
from splitplanner.errors import SplitPlannerError
from splitplanner.loaded import LoadAnswer, StrengthAnswer, loading_words, low_end
from splitplanner.plan import (
    Loading,
    Plan,
    loads_to_text,
    read_loads,
    with_loading,
    without_loading,
)
from splitplanner.window.jobs import Job
from splitplanner.window.quantities import Quantities
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.strength import answer_panel
from splitplanner.window.strength.answer_rows import CaseRow
from splitplanner.window.strength.loaded_part import LoadedPart
from splitplanner.window.strength.loading_dialog import LoadingDialog, free_name
from splitplanner.window.strength.strength_panel import StrengthPanel
from splitplanner.window.view.showing import numbers_of
from splitplanner.workshop import Material

_KINDS = "Loads (*.toml)"


class StrengthLink(QObject):
    """Shows load cases and answers, and changes the plan's load cases as asked.

    Parameters
    ----------
    session : Session
    selection : Selection
    panel : StrengthPanel
    material : callable
        Returns the material that pieces are printed from, or None.
    """

    def __init__(
        self,
        session: Session,
        selection: Selection,
        panel: StrengthPanel,
        material: Callable[[], Material | None],
    ) -> None:
        super().__init__(panel)
        self._session, self._selection, self._panel = session, selection, panel
        self._material = material
        self._quantities = Quantities()
        self._known: StrengthAnswer | None = None
        self._lows: dict[Loading, float] = {}
        self._edited: Loading | None = None
        self._proposing: Job | None = None
        self.dialog: LoadingDialog | None = None
        session.opened.connect(self._open)
        for signal in (session.changed, session.divided, session.measured, session.checked):
            signal.connect(self.refresh)
        panel.seen.connect(self.refresh)
        selection.load_changed.connect(self._show_chosen)
        selection.seam_changed.connect(self._choose_seam)
        panel.answer.seam_chosen.connect(selection.choose_seam)
        loads = panel.loads
        loads.case_chosen.connect(selection.choose_load)
        loads.add_asked.connect(self._add)
        loads.edit_asked.connect(self._edit)
        loads.rename_asked.connect(self._rename)
        loads.copied.connect(self._copy)
        loads.deleted.connect(self._delete)
        loads.propose_asked.connect(self._propose)
        loads.open_asked.connect(self._read)
        loads.save_asked.connect(self._save)

    # -- what is shown ------------------------------------------------------------------------
    def _open(self) -> None:
        """Let go of what was known of another part."""
        self._known, self._lows = None, {}
        self.refresh()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities

    @property
    def _loadings(self) -> tuple[Loading, ...]:
        plan = self._session.plan
        return () if plan is None else plan.loadings

    def _low(self, loading: Loading) -> float:
        """Return the offset of the part's low end along a load case's axis, mm."""
        part = self._session.part
        if part is None:
            return 0.0
        if loading not in self._lows:
            self._lows[loading] = low_end(part, loading)
        return self._lows[loading]

    def refresh(self) -> None:
        """Show the load cases of the plan and what is known of them."""
        session = self._session
        if session.is_dragging:
            return
        self._choose_one()
        if session.examined is not None:
            self._known = session.examined.strength
        if not self._panel.isVisible():
            return
        waits = session.examined is None and session.fault is None
        rows = [
            CaseRow(each.name, loading_words(each, self._low(each)), self._answer(each), waits)
            for each in self._loadings
        ]
        self._panel.loads.show_rows(rows, has_part=session.part is not None)
        self._panel.loads.choose(self._selection.load)
        self._show_answer()

    def _choose_one(self) -> None:
        """Choose another load case where the chosen one is gone, or none was."""
        names = [each.name for each in self._loadings]
        if self._selection.load not in names:
            self._selection.choose_load(names[0] if names else None)

    def _answer(self, loading: Loading) -> LoadAnswer | None:
        """Return what is known of a load case as it is now."""
        answers = () if self._known is None else self._known.loads
        return next((each for each in answers if each.loading == loading), None)

    def _show_chosen(self) -> None:
        if self._panel.isVisible():
            self._panel.loads.choose(self._selection.load)
            self._show_answer()

    def _choose_seam(self) -> None:
        self._panel.answer.choose_seam(self._selection.seam)

    def _show_answer(self) -> None:
        session, panel, known = self._session, self._panel.answer, self._known
        name = self._selection.load
        loading = next((each for each in self._loadings if each.name == name), None)
        answer = None if loading is None else self._answer(loading)
        statements = () if known is None or not self._loadings else known.statements
        self._panel.tell_statements(statements)
        findings = [
            each
            for each in (() if known is None else known.findings)
            if loading is None or each.subject == name or f"“{name}”" in each.message
        ]
        if answer is None or loading is None:
            panel.show_nothing(self._why_nothing(loading), findings if self._loadings else ())
            return
        plan = session.plan
        joints = () if plan is None else plan.joints
        panel.show_answer(
            answer,
            self._low(loading),
            numbers=numbers_of(session.division),
            has_hardware=any(joint.pins or joint.screws for joint in joints),
            findings=findings,
            is_stale=session.examined is None and session.fault is None,
        )
        panel.choose_seam(self._selection.seam)

    def _why_nothing(self, loading: Loading | None) -> str:
        session = self._session
        if not self._loadings:
            return answer_panel.NO_CASES
        if loading is None:
            return answer_panel.NO_CASE
        if session.fault is not None:
            return (
                "What it stands is known when the plan can be cut; the findings tell what is wrong."
            )
        if session.examined is None:
            return answer_panel.WAITING
        return "This load case could not be worked out; the findings tell why."

    # -- load cases ---------------------------------------------------------------------------
    def _ask(self, loading: Loading | None) -> LoadingDialog | None:
        """Return a dialog on a load case, or on a new one; None without a part."""
        session, part = self._session, self._session.part
        if part is None:
            return None
        taken = {each.name for each in self._loadings if each is not loading}
        axis = session.axis if self._loadings == () else self._loadings[-1].axis
        dialog = LoadingDialog(
            LoadedPart.of(part, axis, self._material()), loading, taken, self._panel.window()
        )
        dialog.set_quantities(self._quantities)
        self.dialog = dialog
        return dialog

    def _add(self) -> None:
        dialog = self._ask(None)
        if dialog is not None:
            dialog.applied.connect(self._take_new)
            dialog.exec()
            dialog.deleteLater()

    def _take_new(self, loading: Loading) -> None:
        self._step(f"add load case {loading.name}", with_loading, loading)
        self._selection.choose_load(loading.name)

    def _named(self, name: str) -> Loading | None:
        return next((each for each in self._loadings if each.name == name), None)

    def _edit(self, name: str) -> None:
        self._change(name, renames=False)

    def _rename(self, name: str) -> None:
        self._change(name, renames=True)

    def _change(self, name: str, renames: bool) -> None:
        loading = self._named(name)
        dialog = None if loading is None else self._ask(loading)
        if dialog is None:
            return
        self._edited = loading
        dialog.applied.connect(self._take_changed)
        if renames:
            dialog.name.setFocus()
            dialog.name.selectAll()
        dialog.exec()
        dialog.deleteLater()

    def _take_changed(self, after: Loading) -> None:
        """Put a load case in the place of the one that was edited, whatever it is called."""
        plan, before = self._session.plan, self._edited
        if plan is None or before is None or before == after:
            return
        kept = tuple(after if each.name == before.name else each for each in plan.loadings)
        renamed = before.name != after.name
        label = f"rename load case {before.name}" if renamed else f"change load case {after.name}"
        # Chosen by its new name at once, or another one would be in between.
        self._selection.blockSignals(True)
        self._selection.choose_load(after.name)
        self._selection.blockSignals(False)
        self._session.apply(label, replace(plan, loadings=kept))
        self._selection.load_changed.emit()

    def _copy(self, name: str) -> None:
        loading = self._named(name)
        if loading is None:
            return
        new = free_name(name, {each.name for each in self._loadings})
        case = replace(loading.case, name=new)
        self._step(f"copy load case {name}", with_loading, replace(loading, case=case))
        self._selection.choose_load(new)

    def _delete(self, name: str) -> None:
        names = [each.name for each in self._loadings]
        at = names.index(name)
        left = names[:at] + names[at + 1 :]
        if left:
            self._selection.choose_load(left[min(at, len(left) - 1)])
        self._step(f"delete load case {name}", without_loading, name)

    def _step(self, label: str, step: Callable[..., Plan], *how: object) -> None:
        plan = self._session.plan
        if plan is not None:
            self._session.apply(label, step(plan, *how))

    def _add_all(self, label: str, loadings: tuple[Loading, ...]) -> None:
        """Add load cases as one step; those of a name that is taken get another one."""
        plan = self._session.plan
        if plan is None:
            return
        for loading in loadings:
            if loading in plan.loadings:
                continue
            name = free_name(loading.name, {each.name for each in plan.loadings})
            case = replace(loading.case, name=name)
            plan = with_loading(plan, replace(loading, case=case))
        if plan == self._session.plan:
            self._session.said.emit("These load cases are there already.")
        else:
            first = plan.loadings[len(self._loadings)].name
            self._session.apply(label, plan)
            self._selection.choose_load(first)

    def _propose(self) -> None:
        """Have the usual load cases made; the good side, which tells the back, is known there."""
        session, choices = self._session, self._session.choices
        if choices is not None:
            session.jobs.stop(self._proposing, patience=None)
            self._proposing = session.jobs.ask(
                "examiner",
                "propose_loads",
                choices.wishes,
                title="looking for usual load cases",
                answered=self._take_proposed,
                failed=session.failed.emit,
            )

    def _take_proposed(self, loadings: tuple[Loading, ...]) -> None:
        self._add_all("propose load cases", loadings)

    # -- files --------------------------------------------------------------------------------
    def _read(self) -> None:
        part = self._session.part
        path, _ = QFileDialog.getOpenFileName(self._panel, "Open loads", "", _KINDS)
        if not path or part is None:
            return
        try:
            loadings = read_loads(Path(path)).on(part)
        except SplitPlannerError as fault:
            self._session.failed.emit(fault)
            return
        self._add_all("open loads", loadings)

    def _save(self) -> None:
        part = self._session.part
        path, _ = QFileDialog.getSaveFileName(self._panel, "Save loads", "loads.toml", _KINDS)
        if path and part is not None:
            try:
                write_file(Path(path), loads_to_text(self._loadings, part).encode("utf-8"))
            except SplitPlannerError as fault:
                self._session.failed.emit(fault)
