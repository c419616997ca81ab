"""Connects the view in the middle with what the window works on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from PySide6.QtCore import QObject, Signal

from splitplanner.arrays import to_vector
from splitplanner.background.examined import MadeBrace
from splitplanner.background.live_cut import LivePieces
from splitplanner.background.overlay import Overlay
from splitplanner.findings import Finding
from splitplanner.output import bed_frame, piece_colours
from splitplanner.plan import Division
from splitplanner.score import PieceFigures
from splitplanner.solid import Solid
from splitplanner.suggest import Proposal
from splitplanner.window.dragging import Dragging
from splitplanner.window.links.step_in_view import StepInView
from splitplanner.window.look import look_of
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.view import showing
from splitplanner.window.view.overlay_colours import coloured
from splitplanner.window.view.part_view import PartView
from splitplanner.window.view.steps import ShownStep, step_bodies, step_lines, step_marks
from splitplanner.window.view.values import Mark, Outline, ShownBody

_LIVE = "#D55E00"
"""Of the section while a cut is dragged: vermilion of Okabe & Ito (2008)."""
_FOUND = "#CC79A7"
_MOST_PLACES = 40


class ViewLink(QObject):
    """Shows the part, its pieces and cuts in the view, and hears what is done there."""

    direction_picked = Signal(str, object)
    """A face of a piece was picked: its name, and which direction is up then."""
    colours_changed = Signal()
    refreshed = Signal()
    """Something else is shown, or the same in another way; see `shows_plan`."""
    step_changed = Signal(bool)
    """Whether a step of the assembly is shown; `spread` is its own then."""

    def __init__(
        self, session: Session, selection: Selection, dragging: Dragging, view: PartView
    ) -> None:
        super().__init__(view)
        self._session, self._selection, self._dragging = session, selection, dragging
        self._view = view
        self.colours: dict[str, str] = {}
        self._spread = 0.0
        self._step = StepInView(view)
        self._is_on_bed = False
        self._preview: Proposal | None = None
        self._overlay: Overlay | None = None
        self._finding: Finding | None = None
        self._painted: ShownBody | None = None
        self._braces: tuple[MadeBrace, ...] = ()
        self._brace_lines: list[Outline] = []
        self._wishes: tuple[tuple[Outline, ...], tuple[Mark, ...]] = ((), ())
        session.opened.connect(self._open)
        session.changed.connect(self._change)
        session.divided.connect(self._divide)
        session.measured.connect(self._measure)
        session.checked.connect(self._show_lines)
        session.lightened.connect(self.refresh)
        dragging.lived.connect(self._live)
        dragging.ended.connect(self._end_drag)
        selection.cut_changed.connect(self._show_planes)
        selection.piece_changed.connect(self._on_piece)
        selection.seam_changed.connect(self._show_lines)
        view.plane_grabbed.connect(dragging.begin)
        view.plane_dragged.connect(lambda _, *how: dragging.move(*how))
        view.plane_dropped.connect(lambda _: dragging.drop())
        view.plane_aborted.connect(lambda _: dragging.abort())
        view.plane_chosen.connect(selection.choose_cut)
        view.body_clicked.connect(lambda name, *_: self._click(name))
        view.face_picked.connect(self._pick)

    # -- what is shown ----------------------------------------------------------------------
    def set_spread(self, share: float) -> None:
        """Pull the pieces apart by a share of what is most, 0 to 1, or what moves in a step."""
        if self._step.shown is None:
            self._spread = share
        else:
            self._step.spread = share
        self._rest_light(self._session.division)
        self.refresh()
        self._step.fit_if_cut_off()

    @property
    def spread(self) -> float:
        """By which share pieces are pulled apart, or what moves in the step that is shown."""
        return self._spread if self._step.shown is None else self._step.spread

    def show_step(self, step: ShownStep | None) -> None:
        """Show a step of the assembly in place of the whole part, or what was shown before."""
        if self._step.shown is None and step is None:
            return
        if self._step.take(step):
            self.step_changed.emit(step is not None)
        self._rest_light(self._session.division)
        self.refresh()
        if step is not None:
            self._step.fit_if_cut_off()
        else:
            self._step.look_back()

    def set_on_bed(self, is_on_bed: bool) -> None:
        """Show the chosen piece on the bed, or the whole part."""
        self._is_on_bed = is_on_bed
        self.refresh()
        self._view.fit_all()

    @property
    def is_on_bed(self) -> bool:
        """Whether the chosen piece is shown on the bed."""
        return self._is_on_bed

    def set_overlay(self, overlay: Overlay | None) -> None:
        """Show a figure on the faces of the pieces, or none."""
        self._overlay = overlay
        self.refresh()

    def set_braces(self, braces: Sequence[MadeBrace]) -> None:
        """Show braces on the pieces, or none."""
        if tuple(braces) != self._braces:
            self._braces = tuple(braces)
            self._brace_lines = showing.brace_outlines(braces)
            self.refresh()

    def set_wishes(self, outlines: Sequence[Outline], marks: Sequence[Mark]) -> None:
        """Show what is wished: regions without seams, and planes that are to be cut."""
        self._wishes = tuple(outlines), tuple(marks)
        self._show_lines()

    def preview(self, proposal: Proposal | None) -> None:
        """Show a proposal instead of the plan, or the plan again."""
        self._preview = proposal
        self.refresh()

    def show_finding(self, finding: Finding | None) -> None:
        """Mark the places of a finding."""
        self._finding = finding
        self._show_lines()

    def show_painted(self, body: ShownBody | None) -> None:
        """Show the whole part in colours of its faces, or what was shown before."""
        self._painted = body
        self.refresh()

    def pick_face(self, name: str) -> None:
        """Let the user click the face of a piece that is to lie down."""
        self._selection.choose_piece(name)
        self._view.set_mode("pick")

    def refresh(self) -> None:
        """Show what there is to show."""
        if self._session.part is None:
            return
        view, on_bed = self._view, self._row_on_bed()
        plan = self._session.plan
        if on_bed is not None and plan is not None:
            view.show_bodies([self._laid(on_bed)])
            view.show_bed(bed_frame(plan.printer.bed))
        else:
            view.show_bed(None)
            view.show_bodies(self._bodies())
        if not self._dragging.is_on and self._is_settled:
            view.show_light(None)
        self._show_planes()
        self._show_lines()
        self.refreshed.emit()

    @property
    def _is_settled(self) -> bool:
        """Whether what is shown in full is what is decided."""
        return (
            self._session.division is not None
            or self._preview is not None
            or self._painted is not None
            or self._session.fault is not None
        )

    @property
    def _shown_division(self) -> Division | None:
        """The pieces that are shown."""
        if self._preview is not None:
            return self._preview.draft.division
        return self._session.division

    def _bodies(self) -> list[ShownBody]:
        part = self._session.part
        assert part is not None
        if self._painted is not None:
            return [self._painted]
        division = self._shown_division
        if division is None:
            light = self._light_pieces()
            return [showing.body_of(part)] if light is None else light
        step = self._step_of(division)
        colours = piece_colours(division) if self._preview is not None else self.colours
        if step is None:
            bodies = showing.bodies_of(division, colours, self._spread)
        else:
            bodies = step_bodies(step, division, colours, self._step.spread)
        if self._overlay is not None and self._preview is None:
            bodies = [coloured(body, self._overlay) for body in bodies]
        if step is None and self._preview is None:
            bodies += showing.brace_bodies(self._braces, division, self._spread)
        return bodies

    def _step_of(self, division: Division | None) -> ShownStep | None:
        """Return the step that is shown of a division; None if it is another's, or is hidden."""
        step = self._step.shown
        if step is None or division is None or division is not self._session.division:
            return None
        is_hidden = self._preview is not None or self._painted is not None
        return None if is_hidden or not step.is_of(division) else step

    def _light_pieces(self) -> list[ShownBody] | None:
        """Return the light part cut by the plan, while the pieces are not known; None if uncut."""
        light = self._session.light_pieces
        if light is None or not light.cuts:
            return None
        return showing.live_bodies(light.pieces, self.colours)

    def _row_on_bed(self) -> PieceFigures | None:
        """Return the piece that is shown on the bed; None if the whole part is shown."""
        name, figures = self._selection.piece, self._session.figures
        if not self._is_on_bed or self._preview is not None or self._painted is not None:
            return None
        rows = {} if figures is None else {row.name: row for row in figures.pieces}
        return rows.get(name or next(iter(rows), ""))

    def _laid(self, row: PieceFigures) -> ShownBody:
        colour = self.colours.get(row.name, showing.PLAIN)
        body = showing.laid_on_bed(row.piece.solid, row.fit, colour, row.name)
        if self._overlay is None:
            return body
        return coloured(body, self._overlay, row.fit.pose(row.piece.solid.vertices))

    @property
    def shows_plan(self) -> bool:
        """Whether cuts are shown: not on the bed, nor in what is pulled apart or previewed."""
        is_whole = self.spread <= 0.0 and self._step.shown is None and self._row_on_bed() is None
        return is_whole and self._preview is None and self._painted is None

    def _show_planes(self) -> None:
        session = self._session
        part: Solid | None = session.part
        if part is None or session.plan is None or not self.shows_plan:
            self._view.show_planes([])
            return
        division = None if self._dragging.is_on else session.division
        chosen = self._selection.cut
        self._view.show_planes(showing.planes_of(session.plan, part, division, chosen))

    def _show_lines(self) -> None:
        """Show outlines of seams, pins, numbers, and places of a finding."""
        division, look = self._shown_division, look_of(self._view.palette())
        lines: list[Outline] = []
        marks: list[Mark] = []
        if division is not None and not self._dragging.is_on:
            is_part = self._row_on_bed() is None and self._painted is None
            step, plan = self._step_of(division), self._session.plan
            if step is not None and plan is not None and is_part:
                lines += step_lines(step, division, plan, self._step.spread)
                marks += step_marks(step, division, self._step.spread)
            elif self._spread <= 0.0 and is_part:
                lines += self._seam_lines(division, look.ink)
            if len(division.pieces) > 1 and is_part:
                bodies = self._numbered(division)
                view_from = to_viewer(self._view)
                marks += showing.number_marks(division, bodies, view_from)
        if self.shows_plan or self._painted is not None:
            lines += self._wishes[0]
            marks += self._wishes[1]
        if self._finding is not None and (self.shows_plan or self._step.shown is not None):
            for at in self._finding.where[:_MOST_PLACES]:
                marks.append(Mark((float(at[0]), float(at[1]), float(at[2])), "!", _FOUND))
        self._view.show_outlines(lines)
        self._view.show_marks(marks)

    def _numbered(self, division: Division) -> list[ShownBody]:
        """Return the pieces on which their numbers stand, light ones where there are any."""
        bodies = self._bodies()
        bodies = [body for body in bodies if body.name in division.by_name]
        light = None if self._preview is not None else self._session.light_pieces
        found = {} if light is None else light.pieces
        return [
            replace(body, vertices=found[body.name].vertices) if body.name in found else body
            for body in bodies
        ]

    def _seam_lines(self, division: Division, ink: str) -> list[Outline]:
        chosen, lines = self._selection.seam, []
        for seam in division.seams:
            is_chosen = seam.name == chosen
            lines += showing.seam_outlines(
                [seam.section], _LIVE if is_chosen else ink, 3.0 if is_chosen else 1.4
            )
        plan, figures = self._session.plan, self._session.figures
        if self._preview is None and plan is not None:
            lines += showing.joint_outlines(plan.joints, division.seams, _FOUND)
            lines += self._brace_lines
            for row in () if figures is None else figures.seams:
                if row.seam.name == chosen:
                    lines += showing.room_outlines(row)
        if self._overlay is not None and self._preview is None:
            lines += showing.straight_lines(self._overlay.lines, _FOUND)
        return lines

    # -- what happens -----------------------------------------------------------------------
    def _open(self) -> None:
        self._selection.clear()
        self.colours = {}
        self._preview = self._overlay = self._finding = self._painted = None
        self._braces, self._brace_lines = (), []
        self.show_step(None)
        self.refresh()
        self._view.look_from((-0.5, -1.0, 0.6))

    def _change(self) -> None:
        plan = self._session.plan
        chosen = self._selection.cut
        if plan is not None and chosen is not None and chosen >= len(plan.cuts):
            self._selection.choose_cut(len(plan.cuts) - 1)
        self._show_planes()

    def _divide(self) -> None:
        division = self._session.division
        if division is not None:
            self.colours = piece_colours(division)
            self._overlay = None
            if self._selection.piece not in division.by_name:
                self._selection.choose_piece(None)
            self.colours_changed.emit()
        if division is not None or not self._dragging.is_on:
            self._rest_light(division)
            self.refresh()

    def _measure(self) -> None:
        """Show what only figures tell: how a piece lies on the bed, and the room for pins."""
        if self._is_on_bed:
            self.refresh()
        else:
            self._show_lines()

    def _rest_light(self, division: Division | None) -> None:
        """Have light pieces ready that stand in for heavy ones while the view moves."""
        light = self._light_pieces()
        if light is None and self._session.light is not None:
            light = [showing.body_of(self._session.light)]
        step, shifts, braces = self._step_of(division), {}, list[ShownBody]()
        if division is not None and step is not None:
            shifts = step.shifts(division, self._step.spread)
            light = [body for body in light or () if body.name in shifts]
            if step.brace is not None:
                braces = showing.brace_bodies([step.brace], division, self._step.spread)
        elif division is not None:
            shifts = showing.shifts_of(division, self._spread)
            braces = showing.brace_bodies(self._braces, division, self._spread)
        self._view.rest_light(
            [showing.shifted(body, shifts.get(body.name)) for body in light or ()] + braces
        )

    def _live(self, live: LivePieces) -> None:
        self._view.show_light(showing.live_bodies(live.pieces, self.colours))
        self._view.show_outlines(showing.seam_outlines(live.sections, _LIVE, 2.5))
        self._view.show_marks([])

    def _end_drag(self) -> None:
        self.refresh()

    def _on_piece(self) -> None:
        if self._is_on_bed:
            self.refresh()
            self._view.fit_all()

    def _click(self, name: str) -> None:
        division = self._session.division
        if division is not None and name in division.by_name:
            self._selection.choose_piece(name)

    def _pick(self, name: str, _: object, normal: tuple[float, float, float]) -> None:
        division = self._session.division
        if division is not None and name in division.by_name:
            down, row = np.array(normal), self._row_on_bed()
            if row is not None:
                # It was clicked on the piece as it lies.
                down = row.fit.rotation.T @ down
            self.direction_picked.emit(name, to_vector(-down))


def to_viewer(view: PartView) -> tuple[float, float, float]:
    """Return the direction from the part to the viewer."""
    ahead = view.camera.axes[2]
    return (float(-ahead[0]), float(-ahead[1]), float(-ahead[2]))
