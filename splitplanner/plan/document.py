"""The one object that changes: it holds what is decided by now and how it came about."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from typing import ClassVar, Generic, TypeVar

from psygnal import Signal

State = TypeVar("State")
"""What is decided: a frozen value, compared by value, such as a plan."""


@dataclass(frozen=True)
class _Step(Generic[State]):
    label: str
    before: State
    after: State


class Document(Generic[State]):
    """What is decided by now, with undo and redo; tells its listeners of every real change.

    Parameters
    ----------
    start : frozen value
        What it starts from, a `Plan` for instance; counts as saved.
    depth : int
        How many steps can be undone; the oldest are forgotten.

    Attributes
    ----------
    changed : signal (state)
        The current state is another one. Also sent for each preview of a drag.
    history_changed : signal ()
        What can be undone or redone, or whether there is something to save, may be different.
    """

    changed: ClassVar[Signal] = Signal(object)
    history_changed: ClassVar[Signal] = Signal()

    def __init__(self, start: State, depth: int = 200) -> None:
        if depth < 1:
            raise ValueError(f"a document must be able to undo at least one step, got {depth}")
        self._current = start
        self._saved = start
        self._done: deque[_Step[State]] = deque(maxlen=depth)
        self._undone: list[_Step[State]] = []
        self._drag: tuple[str, State] | None = None

    @property
    def current(self) -> State:
        """The current state; during a drag, what is shown."""
        return self._current

    # -- single steps ---------------------------------------------------------------------
    def apply(self, label: str, state: State) -> None:
        """Make `state` the current one as one step called `label`; no step if it is equal.

        Raises
        ------
        RuntimeError
            If a drag is open.
        """
        self._refuse_during_drag("apply a change")
        self._record(label, self._current, state)

    def amend(self, before: State, after: State) -> None:
        """Replace a state by one that follows from it, as part of the step that led to it.

        For what is worked out a moment later, such as the pins of a plan. Nothing happens if the
        current state is not `before` any more, or a drag is open.
        """
        if self._drag is not None or self._current != before or before == after:
            return
        if self._done:
            self._done[-1] = replace(self._done[-1], after=after)
        elif self._saved == before:
            # What it starts from needs no saving because more has become known of it.
            self._saved = after
        if self._undone:
            self._undone[-1] = replace(self._undone[-1], before=after)
        self._show(after)
        self.history_changed.emit()

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
        self._drag = (label, self._current)
        self.history_changed.emit()

    def preview(self, state: State) -> None:
        """Show `state` during a drag.

        Raises
        ------
        RuntimeError
            If no drag is open.
        """
        if self._drag is None:
            raise RuntimeError("a preview needs an open drag; call begin first")
        self._show(state)

    def commit(self) -> None:
        """End the drag and keep what it shows, as one step; no step if nothing changed.

        Raises
        ------
        RuntimeError
            If no drag is open.
        """
        label, before = self._end_drag()
        if self._current == before:
            self.history_changed.emit()
        else:
            self._record(label, before, self._current)

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
        """True when the current state is not the one last saved."""
        return self._current != self._saved

    def mark_saved(self) -> None:
        """Say that the current state is on disk now."""
        if self.is_changed:
            self._saved = self._current
            self.history_changed.emit()

    # -- inside ---------------------------------------------------------------------------
    def _record(self, label: str, before: State, after: State) -> None:
        if before == after:
            return
        self._done.append(_Step(label, before, after))
        self._undone.clear()
        self._show(after)
        self.history_changed.emit()

    def _show(self, state: State) -> None:
        # All is in place before a listener runs, so that it may call back.
        if state != self._current:
            self._current = state
            self.changed.emit(state)

    def _end_drag(self) -> tuple[str, State]:
        if self._drag is None:
            raise RuntimeError("there is no open drag; call begin first")
        drag, self._drag = self._drag, None
        return drag

    def _refuse_during_drag(self, what: str) -> None:
        if self._drag is not None:
            raise RuntimeError(f"cannot {what} while “{self._drag[0]}” is open")
