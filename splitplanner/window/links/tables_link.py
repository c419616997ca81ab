"""Connects the tables of pieces, seams, cuts and findings with what the window works on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np
from PySide6.QtCore import QObject, QTimer, Signal

from splitplanner.background.offered_way import OfferedWay
from splitplanner.plan import (
    Plan,
    Vector,
    direction_words,
    with_cut,
    with_cut_at,
    with_cut_copied,
    with_cut_flipped,
    with_cut_mirrored,
    with_plane,
    with_target,
    with_targets_there,
    with_up,
    without_cut,
)
from splitplanner.score.ways_up import SAME
from splitplanner.solid import Plane
from splitplanner.window import new_cuts
from splitplanner.window.jobs import Job
from splitplanner.window.links.seams_link import SeamsLink
from splitplanner.window.lists.cuts_table import CutsTable
from splitplanner.window.lists.directions_popup import RankedDirection
from splitplanner.window.lists.findings_list import FindingsList
from splitplanner.window.lists.piece_rows import piece_rows
from splitplanner.window.lists.pieces_table import PiecesTable
from splitplanner.window.lists.seams_table import SeamsTable
from splitplanner.window.parts.small_picture import small_picture
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.view.showing import numbers_of
from splitplanner.workshop import Material

_PICTURE = (360, 270)


class TablesLink(QObject):
    """Fills the tables, and does to the plan what is asked for there."""

    face_asked = Signal(str)
    """The user wants to pick the face of a piece that is to lie down."""

    def __init__(
        self,
        session: Session,
        selection: Selection,
        pieces: PiecesTable,
        seams: SeamsTable,
        cuts: CutsTable,
        findings: FindingsList,
    ) -> None:
        super().__init__(pieces)
        self._session, self._selection = session, selection
        self._pieces, self._seams, self._cuts, self._findings = pieces, seams, cuts, findings
        self.colours: dict[str, str] = {}
        self.material: Callable[[], Material | None] = lambda: None
        self.seams_link = SeamsLink(session, seams)
        self._shown: tuple[object, ...] | None = None
        self._drawing: list[Job] = []
        self._ranking: Job | None = None
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self.refresh)
        for signal in (session.divided, session.measured, session.checked):
            signal.connect(self.refresh)
        session.measured.connect(self._draw_pieces)
        session.changed.connect(self._show_cuts)
        session.opened.connect(self.refresh)
        session.charted.connect(lambda: cuts.set_axis(session.chart_axis))
        self._choose_alike()
        self._hear_pieces()
        cuts.cut_edited.connect(self._edit_cut)
        cuts.target_edited.connect(self._edit_target)
        cuts.action_asked.connect(self.act_on_cut)

    # -- what is shown ----------------------------------------------------------------------
    def refresh_soon(self) -> None:
        """Show what is known of the plan at the next turn, once for all that asked."""
        self._soon.start()

    def refresh(self) -> None:
        """Show what is known of the plan, unless it is shown."""
        session = self._session
        division, figures, findings = session.division, session.figures, session.findings_of_plan
        known = (session.source, session.plan, session.light, division, figures, session.examined,
                 session.fault, self.colours, self.material(), session.spool.left,
                 session.spool.beds)  # fmt: skip
        if self._shown is not None and all(map(_is_same, known, self._shown)):
            return
        self._shown = known
        is_checked = session.examined is not None or session.fault is not None
        self._findings.show_findings(session.findings, is_checked=is_checked)
        self._show_cuts()
        self.seams_link.show(self.colours)
        if division is None or session.plan is None:
            return
        colours = {piece.name: self.colours.get(piece.name, "#B8BDC6") for piece in division.pieces}
        material = self.material()
        examined = session.examined
        good = () if examined is None else examined.good_sides
        rows = piece_rows(division, figures, findings, colours, material, good)
        self._pieces.show_rows(rows)
        spool = session.spool
        braces = 0 if figures is None else len(figures.braces)
        totals = spool.totals(figures, material)
        self._pieces.show_totals(totals, material, spool.left, braces)

    def _show_cuts(self) -> None:
        plan = self._session.plan
        if plan is not None and not self._session.is_dragging:
            numbers = numbers_of(self._session.division)
            self._cuts.show_cuts(plan.cuts, self._targets(plan), numbers)

    def _targets(self, plan: Plan) -> list[list[str]]:
        """Return for each cut the pieces that it could divide."""
        light = self._session.light_pieces
        if light is None:
            return [[] for _ in plan.cuts]
        return [list(names) for names in light.targets]

    def _draw_pieces(self) -> None:
        """Have a small picture drawn of every piece on its bed."""
        session, figures = self._session, self._session.figures
        for job in self._drawing:
            session.jobs.stop(job, patience=None)
        self._drawing = []
        cut = session.light_pieces
        if figures is None or cut is None or session.plan is None:
            return
        light = cut.pieces
        for row in figures.pieces:
            solid = light.get(row.name, row.piece.solid)
            self._drawing.append(
                session.jobs.ask(
                    "painter",
                    "draw_piece",
                    solid,
                    row.fit.pose(row.piece.solid.vertices),
                    session.plan.printer.bed,
                    self.colours.get(row.name, "#B8BDC6"),
                    _PICTURE,
                    answered=partial(self._take_picture, row.name),
                )
            )

    def _take_picture(self, name: str, png: bytes) -> None:
        self._pieces.set_picture(name, small_picture(png))

    # -- what is chosen ---------------------------------------------------------------------
    def _choose_alike(self) -> None:
        chosen = self._selection
        self._pieces.piece_chosen.connect(chosen.choose_piece)
        self._seams.seam_chosen.connect(chosen.choose_seam)
        self._cuts.cut_chosen.connect(chosen.choose_cut)
        chosen.piece_changed.connect(lambda: self._pieces.choose(chosen.piece))
        chosen.seam_changed.connect(lambda: self._seams.choose(chosen.seam))
        chosen.cut_changed.connect(lambda: self._cuts.choose(chosen.cut))

    # -- pieces -----------------------------------------------------------------------------
    def _hear_pieces(self) -> None:
        self._pieces.direction_asked.connect(self.set_up)
        self._pieces.lay_face_asked.connect(self.face_asked)
        self._pieces.directions_asked.connect(self._rank)

    def set_up(self, name: str, up: Vector) -> None:
        """Print a piece in another direction."""
        plan = self._session.plan
        if plan is not None:
            self._session.apply(f"turn piece {self._number(name)}", with_up(plan, name, up))

    def _number(self, name: str) -> str:
        division = self._session.division
        return name if division is None else str(division.piece(name).number)

    def _rank(self, name: str) -> None:
        session, choices = self._session, self._session.choices
        if choices is None:
            return
        session.jobs.stop(self._ranking, patience=None)
        self._ranking = session.jobs.ask(
            "examiner",
            "rank_directions",
            choices.plan,
            name,
            dict(choices.weights),
            choices.wishes,
            title=f"ranking print directions of piece {self._number(name)}",
            answered=partial(self._offer, name),
            failed=session.failed.emit,
        )

    def _offer(self, name: str, ways: Sequence[OfferedWay]) -> None:
        plan = self._session.plan
        now = None if plan is None else plan.up(name)
        self._pieces.show_directions(name, [_ranked(way, now) for way in ways])

    # -- cuts -------------------------------------------------------------------------------
    def _step(self, label: str, step: Callable[..., Plan], *how: object) -> None:
        plan = self._session.plan
        if plan is not None:
            self._session.apply(label, step(plan, *how))

    def _edit_cut(self, index: int, plane: Plane) -> None:
        self._step(f"move cut {index + 1}", with_plane, index, plane)

    def _edit_target(self, index: int, piece: str | None) -> None:
        self._step(f"what cut {index + 1} divides", with_target, index, piece)

    def act_on_cut(self, action: str, index: int) -> None:
        """Do something with a cut: add, flip, copy, mirror, delete, earlier or later."""
        session, plan = self._session, self._session.plan
        if plan is None or session.part is None:
            return
        if action == "add":
            self.add_cut(new_cuts.good_plane(session, self._selection.piece))
        elif not 0 <= index < len(plan.cuts):
            session.said.emit("Choose a cut first, in the chart, the view or the list of cuts.")
        elif action == "flip":
            session.apply(f"flip cut {index + 1}", with_cut_flipped(plan, index))
        elif action == "delete":
            self._delete(plan, index)
        elif action in ("earlier", "later"):
            place = index + (-1 if action == "earlier" else 1)
            self._mended(f"make cut {index + 1} {action}", with_cut_at(plan, index, place))
            self._selection.choose_cut(place)
        else:
            self._add_like(action, plan, index)

    def add_cut(self, plane: Plane) -> None:
        """Add a cut of the chosen piece, or of all pieces that it meets, and choose it."""
        plan = self._session.plan
        if plan is not None:
            self._session.apply("add a cut", with_cut(plan, plane, self._selection.piece))
            self._selection.choose_cut(len(plan.cuts))

    def _add_like(self, action: str, plan: Plan, index: int) -> None:
        part = self._session.part
        assert part is not None
        if action == "copy":
            more = with_cut_copied(plan, index, 0.05 * part.size)
        else:
            middle = Plane.through(part.bounds.mean(axis=0), self._session.axis)
            more = with_cut_mirrored(plan, index, middle)
        self._session.apply(f"{action} cut {index + 1}", more)
        self._selection.choose_cut(len(plan.cuts))

    def _delete(self, plan: Plan, index: int) -> None:
        self._mended(f"delete cut {index + 1}", without_cut(plan, index))
        left = len(plan.cuts) - 1
        self._selection.choose_cut(min(index, left - 1))

    def _mended(self, label: str, plan: Plan) -> None:
        """Apply a plan, in which cuts of pieces that are not there divide what they meet."""
        light = self._session.light
        self._session.apply(label, plan if light is None else with_targets_there(plan, light))


def _is_same(one: object, other: object) -> bool:
    """Whether two things are one, or two equal numbers."""
    return one is other or (isinstance(one, float) and one == other)


def _ranked(way: OfferedWay, now: Vector | None) -> RankedDirection:
    is_now = now is not None and bool(np.dot(way.up, now) > SAME)
    label = f"{direction_words(way.up)} up"
    return RankedDirection(
        way.up, label, way.fit, way.figures, way.total, way.terms, way.best_at, is_now
    )
