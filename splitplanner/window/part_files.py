"""Models and plans on disk: opening them for the session, and saving what is decided."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject

from splitplanner.errors import PlanFileError, SplitPlannerError
from splitplanner.plan import PartFile, Plan, load_plan, part_path, save_plan
from splitplanner.score import Wishes, read_wishes, write_wishes
from splitplanner.solid import ReadPart
from splitplanner.window.choices import Choices
from splitplanner.window.jobs import Job
from splitplanner.window.session import Session

PLAN_ENDINGS = (".json",)
"""Files of these endings are plans; all others are taken for models."""


@dataclass(frozen=True)
class _Wanted:
    """What is to be opened; without a plan a model from its start."""

    model: Path
    unit: str | None
    plan: Plan | None = None
    plan_file: Path | None = None
    wishes: Wishes = field(default_factory=Wishes)
    is_saved: bool = True


class PartFiles(QObject):
    """Opens and saves files for a session."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._session = session
        self._reading: Job | None = None
        self._made = Path()

    def open(self, path: Path, unit: str | None = None) -> None:
        """Open a model or a plan; what is there stays until all of it has been read."""
        try:
            self._read(_wanted(path, unit))
        except SplitPlannerError as fault:
            self._session.failed.emit(fault)

    def open_example(self, name: str, folder: Path) -> None:
        """Make the model of a demonstration part in a folder, and open it."""
        path = folder / f"{name}.stl"
        self._ask("make_example", name, path, title="making the example", then=self._open_made)
        self._made = path

    def recover(self, plan: Plan, plan_file: Path | None, wishes: Wishes) -> None:
        """Open a plan that was saved by itself, with the absolute path of its part."""
        model = Path(plan.part.path)
        self._read(_Wanted(model, plan.part.unit, plan, plan_file, wishes, is_saved=False))

    def save(self, path: Path) -> bool:
        """Save plan and wishes; return whether they are on disk now."""
        session = self._session
        if session.document is None:
            return False
        choices = session.document.current
        beside = wishes_file(path)
        try:
            save_plan(choices.plan, path)
            # One that is there is kept up to date, so that no wish comes back that was given up.
            if _are_any(choices.wishes) or beside.exists():
                write_wishes(choices.wishes, beside)
        except SplitPlannerError as fault:
            session.failed.emit(fault)
            return False
        session.plan_file = path
        session.document.mark_saved()
        return True

    def _open_made(self, _: object) -> None:
        self.open(self._made)

    def _read(self, wanted: _Wanted) -> None:
        title = f"reading {wanted.model.name}"
        then = partial(self._take, wanted)
        self._ask("read_part", wanted.model, wanted.unit, title=title, then=then)

    def _ask(self, task: str, *given: object, title: str, then: Callable[[Any], None]) -> None:
        session = self._session
        session.jobs.stop(self._reading)
        self._reading = session.jobs.ask(
            "examiner", task, *given, title=title, answered=then, failed=session.failed.emit
        )

    def _take(self, wanted: _Wanted, source: ReadPart) -> None:
        session, plan = self._session, wanted.plan
        if plan is not None and plan.part.fingerprint != source.solid.fingerprint:
            session.failed.emit(_another_part(wanted.plan_file or wanted.model, wanted.model))
            return
        named = PartFile(str(wanted.model), source.unit, source.solid.fingerprint)
        fresh = Choices(_fresh_plan(named, session), Wishes(), session.weights)
        begun = fresh
        if plan is not None:
            begun = replace(fresh, plan=replace(plan, part=named), wishes=wanted.wishes)
        session.take(wanted.model, source, begun, begun if wanted.is_saved else fresh)
        session.plan_file = wanted.plan_file
        session.history_changed.emit()


def _fresh_plan(part: PartFile, session: Session) -> Plan:
    return Plan(part, session.printer, material=session.material)


def wishes_file(plan_file: Path) -> Path:
    """Return where the wishes that go with a plan file are kept."""
    return plan_file.with_name(plan_file.name.split(".")[0] + ".wishes.toml")


def _wanted(path: Path, unit: str | None) -> _Wanted:
    """Return what is to be read for a file that the user wants to open."""
    if path.suffix.lower() not in PLAN_ENDINGS:
        return _Wanted(path, unit)
    plan, beside = load_plan(path), wishes_file(path)
    wishes = read_wishes(beside) if beside.is_file() else Wishes()
    return _Wanted(part_path(plan, path), plan.part.unit, plan, path, wishes)


def _are_any(wishes: Wishes) -> bool:
    return replace(wishes, part="") != Wishes()


def _another_part(plan_file: Path, model: Path) -> PlanFileError:
    return PlanFileError(
        f"{plan_file.name} was made for another part than {model.name}: their fingerprints differ; "
        "open the right model, or plan this one anew.",
        subject=str(plan_file),
    )
