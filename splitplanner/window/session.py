"""What the window works on: the part, what is decided, and what has been found out about it."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from PySide6.QtCore import QObject, Signal

from splitplanner.arrays import Bools, to_vector
from splitplanner.background.examined import Examined
from splitplanner.background.live_cut import LightPieces
from splitplanner.errors import HelperError, SplitPlannerError
from splitplanner.findings import Finding, Severity
from splitplanner.plan import SEAM_GONE, Division, Document, Plan, Vector
from splitplanner.score import BedLoad, Figures, Stations, Wishes
from splitplanner.solid import ReadPart, Solid
from splitplanner.suggest import Place, Proposal
from splitplanner.window.chart.cut_places import ChartAxis
from splitplanner.window.choices import Choices
from splitplanner.window.jobs import Job, Jobs
from splitplanner.window.known_plans import KnownPlans
from splitplanner.window.proposing import Proposing
from splitplanner.window.started_spool import StartedSpool
from splitplanner.workshop import Material, Printer, Shelf

_ONE_GO = 0.8
"""Changes of one wish that follow each other so soon are one step, s."""


class Session(QObject):
    """The part at hand; gives long jobs out and says what has become known.

    Attributes
    ----------
    model, plan_file : Path or None
    source : ReadPart or None
    document : Document of Choices, or None
    light : Solid or None
        A light stand-in for the part.
    axis : (x, y, z)
        Of the station chart.
    stations : Stations or None
    places : tuple of Place
        Where a cut across `axis` makes sense.
    division, figures, examined
        Of the current plan; None while they are not known.
    proposing : Proposing
        The search for proposals.
    shelf : Shelf or None
        Hardware that joints are made of; None for the built-in tables.
    """

    opened = Signal()
    """There is another part."""
    changed = Signal()
    """What is decided is another; also during a drag."""
    history_changed = Signal()
    divided = Signal()
    """The pieces of the current plan are known, or are not any more."""
    measured = Signal()
    checked = Signal()
    lightened = Signal()
    charted = Signal()
    failed = Signal(object)
    """A fault to show, a `SplitPlannerError`."""
    said = Signal(str)
    """Something to say that is no fault."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.jobs = Jobs(self)
        self.proposing = Proposing(self.jobs, self)
        self.proposing.failed.connect(self.failed)
        self.model: Path | None = None
        self.plan_file: Path | None = None
        self.source: ReadPart | None = None
        self.document: Document[Choices] | None = None
        self.light: Solid | None = None
        self._light_pieces: LightPieces | None = None
        self._chart_axis: tuple[ReadPart, ChartAxis] | None = None
        self.axis: Vector = (1.0, 0.0, 0.0)
        self.stations: Stations | None = None
        self.places: tuple[Place, ...] = ()
        self.division: Division | None = None
        self.figures: Figures | None = None
        self.examined: Examined | None = None
        self.fault: SplitPlannerError | None = None
        self.printer = Printer()
        self.material: Material | None = None
        self.weights: Mapping[str, float] = {}
        self.shelf: Shelf | None = None
        self.spool = StartedSpool()
        self._known = KnownPlans()
        self._examination: Job | None = None
        self._charting: Job | None = None
        self._asked_for: tuple[Plan, Wishes] | None = None
        self._wished = 0.0
        self._has_tried_again = False

    # -- what is decided --------------------------------------------------------------------
    @property
    def choices(self) -> Choices | None:
        """What is decided now; None without a part."""
        return None if self.document is None else self.document.current

    @property
    def plan(self) -> Plan | None:
        """The current plan; None without a part."""
        return None if self.document is None else self.document.current.plan

    @property
    def is_dragging(self) -> bool:
        """Whether something is in hand."""
        return self.document is not None and self.document.is_dragging

    @property
    def part(self) -> Solid | None:
        """The part."""
        return None if self.source is None else self.source.solid

    @property
    def seen(self) -> Bools | None:
        """Faces of the part on the good side, as the current plan was measured; None before."""
        return None if self.figures is None else self.figures.seen

    @property
    def part_middle(self) -> Vector:
        """Middle of the box around the part, mm."""
        if self.source is None:
            return (0.0, 0.0, 0.0)
        return to_vector(self.source.solid.bounds.mean(axis=0))

    @property
    def chart_axis(self) -> ChartAxis:
        """The axis of the station chart, through the middle of the part."""
        if self.source is None:
            return ChartAxis(self.axis)
        known = self._chart_axis
        if known is None or known[0] is not self.source or known[1].direction != self.axis:
            heights = self.source.solid.vertices @ np.array(self.axis)
            axis = ChartAxis(self.axis, self.part_middle, float(heights.min()))
            known = self._chart_axis = (self.source, axis)
        return known[1]

    @property
    def light_pieces(self) -> LightPieces | None:
        """The light part as cut by the current plan; None while it is not there."""
        if self.light is None or self.plan is None:
            return None
        known = self._light_pieces
        if known is None or known.light is not self.light or known.cuts != self.plan.cuts:
            known = self._light_pieces = LightPieces.of(self.light, self.plan.cuts)
        return known

    @property
    def title(self) -> str:
        """Name of the part, for headings."""
        return "" if self.model is None else self.model.stem

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is to be said of the part and of the current plan."""
        of_part = () if self.source is None else self.source.findings
        return (*of_part, *self.findings_of_plan)

    @property
    def findings_of_plan(self) -> tuple[Finding, ...]:
        """What is to be said of the current plan."""
        if self.fault is not None:
            return (Finding("plan.cut", Severity.FAULT, str(self.fault), self.fault.subject),)
        if self.examined is None:
            return ()
        return self.spool.findings(self.examined, self.material)

    def apply(self, label: str, plan: Plan) -> None:
        """Make a plan the current one, as one step."""
        if self.document is not None:
            self.document.apply(label, self.document.current.with_plan(plan))

    def wish(self, label: str, wishes: Wishes) -> None:
        """Wish something else, as one step."""
        if self.document is not None and self.source is not None:
            document, named = self.document, replace(wishes, part=self.source.solid.fingerprint)
            before = document.current
            after = replace(before, wishes=named)
            # What is typed, or stepped by keys, in one go is one step.
            is_same_go = time.monotonic() - self._wished < _ONE_GO
            self._wished = time.monotonic()
            if is_same_go and document.undo_label == label and not document.can_redo:
                document.amend(before, after)
            else:
                document.apply(label, after)

    def use_spool(self, left: float | None) -> None:
        """Take note of what is left on the started spool, g; None where it is not known."""
        if left != self.spool.left:
            self.spool.left = left
            self.checked.emit()

    def use_beds(self, examined: Examined, loads: Sequence[BedLoad]) -> None:
        """Take note of what of a plan is printed together, as spools are told by that."""
        before = [each.message for each in self.findings_of_plan]
        self.spool.use_beds(examined, loads)
        if [each.message for each in self.findings_of_plan] != before:
            self.checked.emit()

    def use_shelf(self, shelf: Shelf) -> None:
        """Make joints of this hardware from now on; the plan is checked anew if it is another."""
        if shelf == self.shelf:
            return
        self.shelf = shelf
        self.jobs.keep(shelf=shelf)
        self._known.clear()
        if self._asked_for is not None:
            self._asked_for = None
            self._look_after()

    # -- another part -----------------------------------------------------------------------
    def take(self, model: Path, source: ReadPart, choices: Choices, saved: Choices) -> None:
        """Begin with a part anew.

        Parameters
        ----------
        model : Path
        source : ReadPart
        choices : Choices
            What is decided from the start.
        saved : Choices
            What of it is on disk; if it is something else, there is a first step to save.
        """
        for job in (self._examination, self._charting):
            self.jobs.stop(job)
        self.proposing.forget()
        self.model, self.source, self.plan_file = model, source, None
        self.light = self.stations = None
        self.places = ()
        self._known.clear()
        # Nothing of this is said yet: that there is another part is told first.
        self._asked_for = None
        self._forget_plan()
        self.document = Document(saved)
        self.document.apply("recover", choices)
        self.document.changed.connect(self._on_changed)
        self.document.history_changed.connect(self._on_history)
        self.jobs.keep(source=source)
        self.jobs.ask("searcher", "lighten", answered=self._on_light, failed=self.failed.emit)
        self.jobs.ask("searcher", "prepare_search")
        self.opened.emit()
        self._look_after()

    # -- what becomes known -----------------------------------------------------------------
    def _on_light(self, light: Solid) -> None:
        self.light = light
        self.jobs.keep(light=light)
        self.lightened.emit()
        self.choose_axis(long_axis(light))

    def choose_axis(self, axis: Vector) -> None:
        """Choose the axis of the station chart, and measure the part along it."""
        self.axis = axis
        self.jobs.stop(self._charting, patience=None)
        if self.light is None or self.plan is None:
            return
        self._charting = self.jobs.ask(
            "searcher",
            "measure_stations",
            axis,
            self.plan.machine,
            answered=self._on_stations,
            failed=self.failed.emit,
        )

    def _on_stations(self, measured: tuple[Stations, tuple[Place, ...]]) -> None:
        self.stations, self.places = measured
        self.charted.emit()

    def _on_changed(self, choices: Choices) -> None:
        self.changed.emit()
        self._look_after()

    def _on_history(self) -> None:
        self.history_changed.emit()
        self._look_after()

    def _look_after(self) -> None:
        """Have the current plan examined, unless it is known, under way, or still in hand."""
        document = self.document
        if document is None or document.is_dragging:
            return
        plan, wishes = document.current.plan, document.current.wishes
        if (plan, wishes) == self._asked_for:
            return
        is_same_plan = self._asked_for is not None and self._asked_for[0] == plan
        self._asked_for = (plan, wishes)
        self.jobs.stop(self._examination, patience=None)
        known = self._known.of(plan, wishes)
        if known is not None:
            self.fault = None
            self.division, self.figures, self.examined = known
            self._say_all()
            return
        if not is_same_plan:
            self._forget_plan()
            self._say_all()
        self._examination = self.jobs.ask(
            "examiner",
            "examine",
            plan,
            dict(document.current.weights),
            wishes,
            title="checking the plan",
            handed=self._on_handed,
            answered=self._on_examined,
            failed=self._on_unexamined,
        )

    def _forget_plan(self) -> None:
        self.division = self.figures = self.examined = self.fault = None

    def _say_all(self) -> None:
        self.divided.emit()
        self.measured.emit()
        self.checked.emit()

    def _on_handed(self, known: Division | Figures) -> None:
        if isinstance(known, Division):
            self.division = known
            self.divided.emit()
        else:
            self.figures = known
            self.measured.emit()

    def _on_examined(self, examined: Examined) -> None:
        assert self.document is not None
        self.examined = examined
        self._has_tried_again = False
        if self.division is not None and self.figures is not None:
            known = self.division, self.figures, examined
            self._known.add(examined.plan, self.document.current.wishes, known)
        before = self.document.current
        self._asked_for = (examined.plan, before.wishes)
        self.document.amend(before, before.with_plan(examined.plan))
        self.checked.emit()
        for finding in examined.findings:
            if finding.kind == SEAM_GONE:
                self.said.emit(finding.message)

    def _on_unexamined(self, fault: Exception) -> None:
        self.failed.emit(fault)
        if isinstance(fault, HelperError) and not self._has_tried_again:
            # The process died; a new one does it, once.
            self._has_tried_again = True
            self._asked_for = None
            self._look_after()
            return
        if isinstance(fault, SplitPlannerError):
            self.fault = fault
        self.checked.emit()

    # -- proposals --------------------------------------------------------------------------
    def propose(self) -> None:
        """Look for proposals; they come one by one."""
        if self.choices is not None:
            self.proposing.begin(self.choices)

    def accept(self, proposal: Proposal) -> None:
        """Make a proposal the current plan, as one step."""
        if self.plan is None:
            return
        ours = self.plan
        plan = replace(proposal.plan, part=ours.part, fastening=ours.fastening)
        plan = replace(plan, printer=ours.printer, material=ours.material)
        # What it has to stand is the part's, and braces lie along the part.
        plan = replace(plan, loadings=ours.loadings, braces=ours.braces)
        self.apply(f"accept proposal {proposal.number}", plan)
        if ours.own_fastenings:
            self.said.emit(
                "The proposal has other seams, so none of them is held in its own way any more."
            )

    def close(self) -> None:
        """End all that is under way, and let go of what takes memory."""
        self.jobs.close()
        self._known.clear()
        self.division = self.figures = self.examined = None
        self.source = self.light = self.stations = None
        self.proposing.forget()


def long_axis(part: Solid) -> Vector:
    """Return the axis of the part's frame along which it is longest."""
    x, y, z = part.extents.tolist()
    if x >= max(y, z):
        return (1.0, 0.0, 0.0)
    return (0.0, 1.0, 0.0) if y >= z else (0.0, 0.0, 1.0)
