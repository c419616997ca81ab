"""The one object that changes: it holds the current plan and how it came about."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import ClassVar

from psygnal import Signal

from splitplanner.plan.plan import Plan


@dataclass(frozen=True)
class _Step:
    label: str
    before: Plan
    after: Plan


class Document:
    """The current plan, with undo and redo; tells its listeners of every real change.

    Parameters
    ----------
    plan : Plan
        What it starts from; counts as saved.
    depth : int
        How many steps can be undone; the oldest are forgotten.

    Attributes
    ----------
    changed : signal (Plan)
        The current plan is another one. Also sent for each preview of a drag.
    history_changed : signal ()
        What can be undone or redone, or whether there is something to save, may be different.
    """

    changed: ClassVar[Signal] = Signal(Plan)
    history_changed: ClassVar[Signal] = Signal()

    def __init__(self, plan: Plan, depth: int = 200) -> None:
        if depth < 1:
            raise ValueError(f"a document must be able to undo at least one step, got {depth}")
        self._plan = plan
        self._saved = plan
        self._done: deque[_Step] = deque(maxlen=depth)
        self._undone: list[_Step] = []
        self._drag: tuple[str, Plan] | None = None

    @property
    def plan(self) -> Plan:
        """The current plan; during a drag, what is shown."""
        return self._plan

    # -- single steps ---------------------------------------------------------------------
    def apply(self, label: str, plan: Plan) -> None:
        """Make `plan` the current one as one step called `label`; no step if it is equal.

        Raises
        ------
        RuntimeError
            If a drag is open.
        """
        self._refuse_during_drag("apply a change")
        self._record(label, self._plan, plan)

    def undo(self) -> None:
        """Take the last step back; an open drag is aborted instead."""
        if self._drag is not None:
            self.abort()
        elif self._done:
            step = self._done.pop()
            self._undone.append(step)
            self._show(step.before)
            self.history_changed.emit()

    def redo(self) -> None:
        """Do the step again that was undone last; an open drag is aborted instead."""
        if self._drag is not None:
            self.abort()
        elif self._undone:
            step = self._undone.pop()
            self._done.append(step)
            self._show(step.after)
            self.history_changed.emit()

    @property
    def can_undo(self) -> bool:
        """True when there is a step to take back, or a drag to abort."""
        return bool(self._done) or self._drag is not None

    @property
    def can_redo(self) -> bool:
        """True when there is a step to do again."""
        return bool(self._undone) and self._drag is None

    @property
    def undo_label(self) -> str:
        """Name of what `undo` takes back; empty if nothing."""
        if self._drag is not None:
            return self._drag[0]
        return self._done[-1].label if self._done else ""

    @property
    def redo_label(self) -> str:
        """Name of what `redo` does again; empty if nothing."""
        return self._undone[-1].label if self.can_redo else ""

    @property
    def undo_labels(self) -> tuple[str, ...]:
        """Names of all steps that can be taken back, the latest first."""
        return tuple(step.label for step in reversed(self._done))

    @property
    def redo_labels(self) -> tuple[str, ...]:
        """Names of all steps that can be done again, the next first."""
        return tuple(step.label for step in reversed(self._undone))

    # -- drags ----------------------------------------------------------------------------
    @property
    def is_dragging(self) -> bool:
        """True between `begin` and `commit` or `abort`."""
        return self._drag is not None

    def begin(self, label: str) -> None:
        """Open a drag: whatever is previewed until `commit` becomes one step.

        Raises
        ------
        RuntimeError
            If a drag is open already.
        """
        self._refuse_during_drag("begin another drag")
        self._drag = (label, self._plan)
        self.history_changed.emit()

    def preview(self, plan: Plan) -> None:
        """Show `plan` during a drag.

        Raises
        ------
        RuntimeError
            If no drag is open.
        """
        if self._drag is None:
            raise RuntimeError("a preview needs an open drag; call begin first")
        self._show(plan)

    def commit(self) -> None:
        """End the drag and keep what it shows, as one step; no step if nothing changed.

        Raises
        ------
        RuntimeError
            If no drag is open.
        """
        label, before = self._end_drag()
        if self._plan == before:
            self.history_changed.emit()
        else:
            self._record(label, before, self._plan)

    def abort(self) -> None:
        """End the drag and go back to where it began.

        Raises
        ------
        RuntimeError
            If no drag is open.
        """
        _, before = self._end_drag()
        self._show(before)
        self.history_changed.emit()

    # -- saving ---------------------------------------------------------------------------
    @property
    def is_changed(self) -> bool:
        """True when the current plan is not the one last saved."""
        return self._plan != self._saved

    def mark_saved(self) -> None:
        """Say that the current plan is on disk now."""
        if self.is_changed:
            self._saved = self._plan
            self.history_changed.emit()

    # -- inside ---------------------------------------------------------------------------
    def _record(self, label: str, before: Plan, after: Plan) -> None:
        if before == after:
            return
        self._done.append(_Step(label, before, after))
        self._undone.clear()
        self._show(after)
        self.history_changed.emit()

    def _show(self, plan: Plan) -> None:
        # All state is in place before a listener runs, so that it may call back.
        if plan != self._plan:
            self._plan = plan
            self.changed.emit(plan)

    def _end_drag(self) -> tuple[str, Plan]:
        if self._drag is None:
            raise RuntimeError("there is no open drag; call begin first")
        drag, self._drag = self._drag, None
        return drag

    def _refuse_during_drag(self, what: str) -> None:
        if self._drag is not None:
            raise RuntimeError(f"cannot {what} while “{self._drag[0]}” is open")
