"""Connects the panel of wishes, and painting on the model, with the session."""

from __future__ import annotations

import threading
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from splitplanner.errors import SplitPlannerError
from splitplanner.plan import Vector
from splitplanner.score import KeepOutFaces, Wishes, check_wishes, read_wishes, write_wishes
from splitplanner.window.links.view_link import ViewLink
from splitplanner.window.parts.note_line import Mark
from splitplanner.window.session import Session
from splitplanner.window.view.part_view import PartView
from splitplanner.window.view.region_marks import wish_marks, wish_outlines
from splitplanner.window.view.values import ShownBody
from splitplanner.window.wishing import painting
from splitplanner.window.wishing.wishes_panel import WishesPanel

_LABELS = {
    painting.KEEP_OUT: "paint where no seam may be",
    painting.GOOD_SIDE: "paint the good side",
    painting.BOX: "keep seams out of a box",
}
_KINDS = "Wishes (*.toml)"


class WishesLink(QObject):
    """Shows what is wished, and paints it on the part."""

    def __init__(
        self, session: Session, view: PartView, link: ViewLink, panel: WishesPanel
    ) -> None:
        super().__init__(panel)
        self._session, self._view, self._link, self._panel = session, view, link, panel
        self._tool = ""
        self._brush: painting.Brush | None = None
        self._stroke: painting.Stroke | None = None
        self._corners: list[Vector] = []
        session.opened.connect(self._open)
        session.changed.connect(self._show)
        session.measured.connect(self._show_measured)
        panel.wishes_changed.connect(session.wish)
        panel.tool_asked.connect(self.take_tool)
        panel.region_chosen.connect(self._show_regions)
        panel.read_asked.connect(self._read)
        panel.save_asked.connect(self._save)
        view.stroke_begun.connect(self._begin)
        view.stroke_moved.connect(self._move)
        view.stroke_ended.connect(self._end)
        view.mode_changed.connect(self._on_mode)

    # -- what is shown ----------------------------------------------------------------------
    def _open(self) -> None:
        self.take_tool("")
        part = self._session.part
        self._brush = None if part is None else painting.Brush(part, self._panel.brush_radius)
        self._show()

    def _show(self) -> None:
        choices, part = self._session.choices, self._session.part
        if choices is None or part is None:
            return
        # Of a large part they take long, and only what is painted has an area.
        areas = part.face_areas if _is_painted(choices.wishes) else None
        self._panel.show_wishes(choices.wishes, part.bounds, areas)
        self._show_regions()
        if self._tool:
            self._show_painted()

    def _show_measured(self) -> None:
        """Show the good side while one paints, as soon as it has been found."""
        if self._tool:
            self._show_painted()

    def _show_regions(self, *_: object) -> None:
        """Draw the regions that seams keep out of, and planes that are to be cut."""
        choices, part = self._session.choices, self._session.part
        if choices is None or part is None:
            return
        wishes, chosen = choices.wishes, self._panel.chosen_region
        self._link.set_wishes(
            wish_outlines(wishes, part.bounds, part, chosen), wish_marks(wishes, part.bounds, part)
        )

    def _show_painted(self) -> None:
        choices, part = self._session.choices, self._session.part
        if choices is None or part is None:
            return
        colours = painting.face_colours(
            part, choices.wishes, self._session.seen, stroke=self._stroke, tool=self._tool
        )
        body = ShownBody("part", part.vertices, part.faces, "#B8BDC6", face_colours=colours)
        self._link.show_painted(body)

    # -- painting ---------------------------------------------------------------------------
    def take_tool(self, tool: str) -> None:
        """Take a tool in hand: one of the panel's, or an empty text for none."""
        if tool == self._tool or (tool and self._session.part is None):
            return
        self._tool = tool
        self._panel.set_tool(tool)
        self._view.set_mode("paint" if tool else "look")
        if tool:
            self._prepare_brush()
            self._show_painted()
        else:
            self._link.show_painted(None)

    def _prepare_brush(self) -> None:
        """Work out what the first touch needs, which would hold up the window."""
        if self._brush is not None:
            threading.Thread(target=self._brush.prepare).start()

    def _on_mode(self, mode: str) -> None:
        if mode != "paint" and self._tool:
            self.take_tool("")

    def _begin(self, point: Vector, normal: Vector) -> None:
        brush, choices, panel = self._brush, self._session.choices, self._panel
        if not self._tool or brush is None or choices is None:
            return
        self._corners = [point]
        if self._tool == painting.BOX:
            return
        brush.radius = panel.brush_radius
        erases = panel.is_erasing
        before = painting.painted_before(choices.wishes, self._tool, erases, self._session.seen)
        self._stroke = painting.Stroke(brush, before, erases)
        self._move(point, normal)

    def _move(self, point: Vector, normal: Vector) -> None:
        self._corners.append(point)
        if self._stroke is not None and len(self._stroke.move(point, normal)):
            self._show_painted()

    def _end(self) -> None:
        choices = self._session.choices
        stroke, self._stroke = self._stroke, None
        if choices is None:
            return
        if self._tool == painting.BOX and len(self._corners) > 1:
            self._end_box(choices.wishes)
        elif stroke is not None and stroke.has_changed:
            wishes = painting.with_painted(choices.wishes, self._tool, stroke.faces)
            self._session.wish(_LABELS[self._tool], wishes)

    def _end_box(self, wishes: Wishes) -> None:
        """Keep seams out of a box from where the drag began to where it ended."""
        ends = [self._corners[0], self._corners[-1]]
        try:
            box = painting.box_of(ends, self._panel.brush_radius)
        except SplitPlannerError as fault:
            self._session.failed.emit(fault)
            return
        more = replace(wishes, keep_out=(*wishes.keep_out, box))
        self._session.wish(_LABELS[painting.BOX], more)
        self._panel.choose_region(len(more.keep_out) - 1)

    # -- files ------------------------------------------------------------------------------
    def _read(self) -> None:
        part = self._session.part
        path, _ = QFileDialog.getOpenFileName(self._panel, "Read wishes", "", _KINDS)
        if not path or part is None:
            return
        try:
            wishes = read_wishes(Path(path))
            check_wishes(part, wishes)
        except SplitPlannerError as fault:
            self._panel.say(Mark.FAULT, str(fault))
            return
        self._session.wish("read wishes", wishes)

    def _save(self) -> None:
        choices = self._session.choices
        if choices is None:
            return
        path, _ = QFileDialog.getSaveFileName(self._panel, "Save wishes", "", _KINDS)
        if path:
            try:
                write_wishes(choices.wishes, Path(path))
            except SplitPlannerError as fault:
                self._panel.say(Mark.FAULT, str(fault))


def _is_painted(wishes: Wishes) -> bool:
    """Whether some faces have been painted."""
    regions = any(isinstance(region, KeepOutFaces) for region in wishes.keep_out)
    return regions or bool(len(wishes.good_side.faces))
