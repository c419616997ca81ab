"""Connects the table and the plans of seams with what the window works on."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QObject

from splitplanner.plan import (
    Joint,
    Plan,
    with_joint,
    with_pin,
    with_pin_at,
    with_screw_at,
    with_seam_open,
    without_pin,
    without_screw,
)
from splitplanner.score import SeamRow
from splitplanner.window.links.fastening_link import FasteningLink
from splitplanner.window.links.screws_link import ScrewsLink
from splitplanner.window.lists.seam_rows import seam_lines
from splitplanner.window.lists.seams_table import SeamsTable
from splitplanner.window.seams import new_pins
from splitplanner.window.seams.known_seams import KnownSeams, planned_seams
from splitplanner.window.session import Session

_NOT_MEASURED = "Seam {} is still being measured; wait a moment and try again."


class SeamsLink(QObject):
    """Fills the table of seams, and does to what holds them what is asked for there."""

    def __init__(self, session: Session, seams: SeamsTable) -> None:
        super().__init__(seams)
        self._session, self._seams = session, seams
        self._known: KnownSeams | None = None
        self._colours: Mapping[str, str] = {}
        seams.placing_asked.connect(self._place)
        seams.emptied.connect(self._empty)
        seams.fastener_moved.connect(self._move)
        seams.fastener_deleted.connect(self._delete)
        seams.pin_added.connect(self._add_pin)
        seams.pin_added_at.connect(self._add_pin)
        self._screws = ScrewsLink(session, seams)
        self.fastening_link = FasteningLink(session, seams)
        seams.fastener_turned.connect(self._turn)
        seams.screw_added.connect(self._add_screw)
        seams.screw_added_at.connect(self._add_screw)

    def show(self, colours: Mapping[str, str]) -> None:
        """Show the seams; while only what holds them is checked anew, with the figures known.

        Parameters
        ----------
        colours : mapping of piece name to ``#RRGGBB``
        """
        self._colours = colours
        session, plan = self._session, self._session.plan
        if plan is None or session.is_dragging:
            return
        division, figures, known = session.division, session.figures, self._known
        if division is not None and figures is not None:
            if known is None or known.figures is not figures:
                known = self._known = KnownSeams(plan, division, figures)
        elif known is not None and known.is_of(plan):
            division, figures = known.division, known.figures
        if known is None or figures is None:
            self._seams.show_plans({})
        else:
            self._seams.show_plans(planned_seams(known, plan, colours, session.shelf))
        if division is None:
            return
        findings = session.findings_of_plan
        self._seams.show_rows(
            seam_lines(division, figures, plan.joints, findings, plan.own_fastenings)
        )

    def _row(self, seam: str) -> SeamRow | None:
        """Return what was measured on a seam of the current plan; None if that is not known."""
        plan, known = self._session.plan, self._known
        if plan is None or known is None or not known.is_of(plan):
            return None
        return next((row for row in known.figures.seams if row.seam.name == seam), None)

    # -- one seam ---------------------------------------------------------------------------
    def _step(self, label: str, step: Callable[..., Plan], *how: object) -> None:
        plan = self._session.plan
        if plan is not None:
            self._session.apply(label, step(plan, *how))

    def _place(self, seam: str) -> None:
        self._step(f"what holds {seam}", with_seam_open, seam)

    def _empty(self, seam: str) -> None:
        self._step(f"remove what holds {seam}", with_joint, Joint(seam))

    def _which(self, seam: str, index: int) -> tuple[str, int] | None:
        """Return what the table counts as number `index`, a pin or a screw, and its own index."""
        joint = Joint(seam) if self._session.plan is None else self._session.plan.joint(seam)
        pins, screws = len(joint.pins), len(joint.screws)
        if index < pins:
            return "pin", index
        return ("screw", index - pins) if index < pins + screws else None

    def _move(self, seam: str, index: int, u: float, v: float) -> None:
        row, which = self._row(seam), self._which(seam, index)
        if row is None or which is None:
            self._session.said.emit(_NOT_MEASURED.format(seam))
            self.show(self._colours)
            return
        at = row.seam.plane.to_space([[u, v]])[0]
        kind, own = which
        if kind == "screw" and self._session.plan is not None:
            moved = with_screw_at(self._session.plan, seam, own, at)
            self._screws.settle(moved, seam, own)
            self._session.apply(f"move a screw of {seam}", moved)
        else:
            self._step(f"move a pin of {seam}", with_pin_at, seam, own, at)

    def _delete(self, seam: str, index: int) -> None:
        which = self._which(seam, index)
        if which is not None:
            kind, own = which
            step = without_pin if kind == "pin" else without_screw
            self._step(f"delete a {kind} of {seam}", step, seam, own)

    def _add_pin(self, seam: str, u: float | None = None, v: float | None = None) -> None:
        """Add a pin at a place of the seam, or where there is room for one."""
        row, plan = self._row(seam), self._session.plan
        if row is None or plan is None:
            self._session.said.emit(_NOT_MEASURED.format(seam))
            return
        if u is None or v is None:
            pin = new_pins.one_more_pin(row, plan, self._session.shelf)
        else:
            pin = new_pins.pin_at(row, plan, u, v, self._session.shelf)
        if pin is None:
            self._session.said.emit(
                f"Seam {seam} has no room for another pin; move the cut to a thicker wall."
            )
        else:
            self._session.apply(f"add a pin to {seam}", with_pin(plan, seam, pin))
            if self._seams.chosen == seam:
                self._seams.choose_fastener(len(plan.joint(seam).pins))

    def _turn(self, seam: str, index: int) -> None:
        """Turn a screw round; a pin is the same either way."""
        which = self._which(seam, index)
        if which is not None and which[0] == "screw":
            self._screws.turn(seam, which[1])
        else:
            self._seams.note(seam, "A pin is the same either way round; choose a screw to turn it.")

    def _add_screw(self, seam: str, u: float | None = None, v: float | None = None) -> None:
        """Add a screw at a place of the seam, or where there is most room for one."""
        if self._row(seam) is None:
            self._session.said.emit(_NOT_MEASURED.format(seam))
        else:
            self._screws.add(seam, None if u is None or v is None else (u, v))
