"""Screws set by hand: the examiner finds out where they stand, and its answers become steps."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QObject

from splitplanner.errors import HelperError
from splitplanner.plan import Plan, Screw, with_other_screw, with_screw, with_screw_turned
from splitplanner.window.jobs import Job
from splitplanner.window.lists.seams_table import SeamsTable
from splitplanner.window.session import Session

Spot = tuple[float, float]
"""Plane coordinates of a seam, mm."""
_FINDING = "Finding a seat for the screw…"


@dataclass(frozen=True)
class _Wish:
    """A screw that is wanted at a place, or anywhere; or one that is to be turned round."""

    seam: str
    place: Spot | None = None
    turned: Screw | None = None


class ScrewsLink(QObject):
    """Adds screws, turns them round, and finds anew what those need that were moved.

    Lines of sight to a place take longer than the window may be held up, and the examiner knows
    all that is needed. What is wanted is done one after the other, each on the plan as it is then;
    where no screw stands nothing changes, and why is said.
    """

    def __init__(self, session: Session, seams: SeamsTable) -> None:
        super().__init__(seams)
        self._session, self._seams = session, seams
        self._waiting: deque[_Wish] = deque()
        self._job: Job | None = None
        self._settling: dict[tuple[str, int], Job] = {}
        session.opened.connect(self._forget)

    def add(self, seam: str, place: Spot | None = None) -> None:
        """Add a screw to a seam at a place of its plane, mm, or where there is most room."""
        self._want(_Wish(seam, place))

    def turn(self, seam: str, index: int) -> None:
        """Turn a screw round, so that its head is in the other piece."""
        plan = self._session.plan
        if plan is not None:
            self._want(_Wish(seam, turned=plan.joint(seam).screws[index]))

    def settle(self, moved: Plan, seam: str, index: int) -> None:
        """Find anew what a screw needs that stands elsewhere in a plan, as part of that step.

        Asked for before the plan is applied, so that it is not examined before that is known.
        """
        if self._session.source is None:
            return
        key, screw = (seam, index), moved.joint(seam).screws[index]
        self._session.jobs.stop(self._settling.pop(key, None), patience=None)
        self._settling[key] = self._ask(
            moved, seam, None, index, partial(self._settled, key, screw), partial(self._moved, key)
        )

    # -- one after the other ----------------------------------------------------------------
    def _want(self, wish: _Wish) -> None:
        self._seams.note(wish.seam, _FINDING)
        self._waiting.append(wish)
        self._next()

    def _next(self) -> None:
        plan = self._session.plan
        while self._waiting and self._job is None and plan is not None:
            wish, index = self._waiting.popleft(), None
            if wish.turned is not None:
                index = _index(plan, wish.seam, wish.turned)
                if index is None:
                    continue
                plan = with_screw_turned(plan, wish.seam, index)
            found, refused = partial(self._found, wish), partial(self._refused, wish.seam)
            self._job = self._ask(plan, wish.seam, wish.place, index, found, refused)

    def _ask(
        self,
        plan: Plan,
        seam: str,
        place: Spot | None,
        index: int | None,
        found: Callable[[Plan, Screw], None],
        refused: Callable[[Exception], None],
    ) -> Job:
        choices = self._session.choices
        return self._session.jobs.ask(
            "examiner",
            "set_screw",
            plan,
            None if choices is None else choices.wishes,
            seam,
            place,
            index,
            title="finding a seat for a screw",
            answered=partial(found, plan),
            failed=refused,
            stopped=self._stopped,
        )

    def _found(self, wish: _Wish, asked: Plan, screw: Screw) -> None:
        """Make a step of a screw that was found, unless its seam is another by now."""
        self._job = None
        session, plan, seam = self._session, self._session.plan, wish.seam
        self._seams.note(seam, "")
        if plan is None or session.is_dragging or plan.cuts != asked.cuts:
            session.said.emit(f"The cuts were changed; no screw of {seam} was set.")
        elif wish.turned is None:
            count = len(plan.joint(seam).fasteners)
            session.apply(f"add a screw to {seam}", with_screw(plan, seam, screw))
            if self._seams.chosen == seam:
                self._seams.choose_fastener(count)
        else:
            index = _index(plan, seam, wish.turned)
            if index is not None:
                turned = with_other_screw(plan, seam, index, screw)
                session.apply(f"turn a screw of {seam} round", turned)
        self._next()

    def _refused(self, seam: str, fault: Exception) -> None:
        self._job = None
        self._say(seam, fault)
        self._next()

    def _say(self, seam: str, fault: Exception) -> None:
        """Say why no screw stands; it is read where it was wanted, and below."""
        if isinstance(fault, HelperError):
            self._session.failed.emit(fault)
            self._seams.note(seam, "")
        else:
            self._session.said.emit(str(fault))
            # Beside the plan of the seam it need not be said which one.
            text = str(fault).removeprefix(f"Seam {seam}: ")
            self._seams.note(seam, f"{text[:1].upper()}{text[1:]}")

    def _stopped(self) -> None:
        """Forget what was stopped by the user, with what waited for it."""
        if self._job is not None and self._job.is_over:
            self._job = None
            self._waiting.clear()
            self._seams.note(self._seams.chosen or "", "")

    def _forget(self) -> None:
        """There is another part."""
        for job in (self._job, *self._settling.values()):
            self._session.jobs.stop(job, patience=None)
        self._settling.clear()

    # -- moved screws -----------------------------------------------------------------------
    def _settled(self, key: tuple[str, int], old: Screw, asked: Plan, screw: Screw) -> None:
        """Amend the step by which a screw was moved, if it still stands there."""
        self._settling.pop(key, None)
        document, (seam, _) = self._session.document, key
        if document is None:
            return
        before = document.current
        index = _index(before.plan, seam, old)
        if index is not None and before.plan.cuts == asked.cuts:
            after = with_other_screw(before.plan, seam, index, screw)
            document.amend(before, before.with_plan(after))

    def _moved(self, key: tuple[str, int], fault: Exception) -> None:
        """Leave a screw where it was put, and say that it does not stand there."""
        self._settling.pop(key, None)
        self._say(key[0], fault)


def _index(plan: Plan, seam: str, screw: Screw) -> int | None:
    """Return which screw of a seam it is; None if it is not there any more."""
    screws = plan.joint(seam).screws
    return screws.index(screw) if screw in screws else None
