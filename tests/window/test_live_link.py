"""Changes that a kept check answers at once: what is asked and shown, with fakes for processes."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QLocale, QObject, Signal
from PySide6.QtTest import QTest

from splitplanner.errors import HelperError, LoadError
from splitplanner.plan import BraceWish, with_up, without_brace, without_screw
from splitplanner.window.jobs import Job
from splitplanner.window.links.live_link import LiveLink
from splitplanner.window.lists import definitions
from splitplanner.window.lists.seams_table import SeamsTable
from splitplanner.window.quantities import Quantities
from splitplanner.window.selection import Selection
from splitplanner.window.strength import live_words
from splitplanner.window.strength.live_panel import LivePanel
from splitplanner.window.strength.what_if import WhatIf
from tests.loaded.celled import ALONG, STRAIGHT, channel, planned, pressed
from tests.window.hands import Mouse
from tests.window.live import AS_CHECKED, BEFORE, TOLD, seam, state

Q = Quantities("mm", QLocale(QLocale.Language.C))
PRESSED = replace(pressed(), case=replace(pressed().case, name="pressed"))


class FakeJobs:
    """Takes note of what is asked, and of what is stopped."""

    def __init__(self):
        self.asked = []

    def ask(self, desk, task, *given, **hears):
        assert (desk, task) == ("examiner", "answer_seams")
        job = Job("", desk, None)
        self.asked.append((given, hears, job))
        return job

    def stop(self, job, patience=0.0):
        if job is not None and not job.is_over:
            # Its process is at other things: it must not be ended.
            assert patience is None
            job.is_over = True

    def answer(self, at, answer):
        """As `Jobs` does: nothing is heard of a job that was stopped."""
        _, hears, job = self.asked[at]
        if not job.is_over:
            job.is_over = True
            hears["failed" if isinstance(answer, Exception) else "answered"](answer)


class FakeSession(QObject):
    opened, changed, checked = Signal(), Signal(), Signal()
    is_dragging = False

    def __init__(self, plan):
        super().__init__()
        self.jobs, self.plan = FakeJobs(), plan

    def edit(self, plan):
        self.plan = plan
        self.changed.emit()


class FakeCells(QObject):
    begun, checked = Signal(), Signal(object, str)

    def __init__(self):
        super().__init__()
        self.asks = 0

    def ask(self):
        self.asks += 1


class Bench:
    """A link with its panels, and a plan that was just checked."""

    def __init__(self, qtbot):
        _, plan = planned(channel(85.0), STRAIGHT, loadings=(PRESSED,))
        braces = tuple(live_brace(name, y) for name, y in (("left", -12.0), ("right", 12.0)))
        self.checked = replace(plan, braces=braces)
        self.session, self.selection = FakeSession(self.checked), Selection()
        self.cells, self.panel, self.what_if = FakeCells(), LivePanel(), WhatIf()
        self.seams = SeamsTable()
        for each in (self.panel, self.what_if, self.seams):
            qtbot.addWidget(each)
        self.link = LiveLink(self.session, self.selection, self.cells, self.panel, self.what_if)
        self.lines = {}
        self.link.seams_told.connect(self.hear)
        self.link.set_quantities(Q)
        self.panel.set_quantities(Q)
        self.selection.choose_load("pressed")
        self.cells.begun.emit()
        self.cells.checked.emit(self.checked, "pressed")
        self.jobs = self.session.jobs

    def hear(self, lines):
        self.lines = lines

    def edit(self):
        self.session.edit(without_screw(self.session.plan, "S1", 0))


def live_brace(name, y):
    return BraceWish(ALONG, (0, 0, -1), y, 12, 148, 15, 2, name=name)


@pytest.fixture
def bench(qtbot):
    return Bench(qtbot)


def texts(table):
    return [table.rows_model.text_of(row).split("\t") for row in range(len(table.rows_model.rows))]


# -- answers --------------------------------------------------------------------------------
def test_after_a_check_the_plan_itself_is_told_below_its_seams(bench):
    (((plan, load, without), _, _),) = bench.jobs.asked
    assert (plan, load, without) == (bench.checked, "pressed", ())
    bench.jobs.answer(0, AS_CHECKED)
    assert bench.lines == {
        "S1": "By cells, “pressed”: largest pull 40 N in B, 1.50 × by hand, a lower bound; "
        "widest gap 0.02 mm; stiffness 63 % of the uncut."
    }
    # The check beside it tells the rest.
    assert bench.panel.isHidden()
    assert bench.link.is_answered


def test_a_change_is_told_before_and_after(bench):
    bench.jobs.answer(0, AS_CHECKED)
    bench.edit()
    assert bench.jobs.asked[1][0][0] == bench.session.plan
    assert not bench.link.is_answered
    bench.jobs.answer(1, TOLD)
    assert bench.panel.said.text() == (
        "“pressed”: 63 → 58 % as stiff as printed in one. Stress in brace left 34 → 36 of 80 MPa;"
        " brace right 30 of 80 MPa."
    )
    (row,) = texts(bench.panel.seams)
    assert row == [
        "S1", "0.02 → 0.03 mm", "25 % open", "40 → 55 N in A",
        "1.24 × by hand", "55 N", "1.2 × by hand",
    ]  # fmt: skip
    assert "largest pull 40 → 55 N in A" in bench.lines["S1"]
    assert "holes and seats of what is new" in bench.panel.base.text()
    assert not bench.panel.isHidden()
    # Back to what was checked.
    bench.session.edit(bench.checked)
    bench.jobs.answer(2, AS_CHECKED)
    assert bench.panel.isHidden()


def test_an_answer_to_an_older_plan_is_not_heard(bench):
    bench.jobs.answer(0, AS_CHECKED)
    bench.edit()
    bench.edit()
    bench.jobs.answer(1, replace(TOLD, after=BEFORE))
    assert bench.panel.isHidden()
    bench.jobs.answer(2, TOLD)
    assert "58 %" in bench.panel.said.text()
    # The same plan, examined meanwhile, is not asked for again.
    bench.session.checked.emit()
    assert len(bench.jobs.asked) == 3


def test_old_figures_go_when_an_answer_takes_long(bench):
    bench.jobs.answer(0, AS_CHECKED)
    bench.edit()
    assert bench.lines
    bench.link._late.setInterval(0)
    bench.link._late.start()
    QTest.qWait(20)
    assert "Working out" in bench.panel.note.text
    assert bench.panel.again.isHidden()
    assert bench.lines == {}
    bench.jobs.answer(1, TOLD)
    assert bench.panel.note.text == ""
    assert "58 %" in bench.lines["S1"]


def test_a_plan_that_falls_apart_is_told_with_the_reason(bench):
    bench.jobs.answer(0, LoadError("A piece is held by nothing; add fasteners to its seams."))
    assert bench.panel.note.text.startswith("A piece is held by nothing")
    bench.edit()
    bench.jobs.answer(1, replace(TOLD, before=None))
    assert bench.panel.said.text().startswith("“pressed”: 58 % as stiff")


# -- braces ---------------------------------------------------------------------------------
def test_what_if_a_brace_were_not_there(bench):
    box = bench.what_if.box
    bench.what_if.choose("left")
    bench.what_if.show()
    bench.jobs.answer(0, AS_CHECKED)
    assert box.isEnabled()
    Mouse().click(box, box.rect().center())
    assert bench.jobs.asked[1][0] == (bench.checked, "pressed", ("left",))
    gone = state(0.41, [12.0, 60.0], [np.nan, 2.0], 0.05, {"right": 52.0})
    bench.jobs.answer(1, replace(TOLD, after=gone))
    said = (
        "“pressed”, without brace left: 63 → 41 % as stiff as printed in one. Stress in brace "
        "left 34 of 80 MPa → not there; brace right 30 → 52 of 80 MPa."
    )
    assert bench.what_if.said.text() == said
    assert bench.panel.said.text() == said
    # Another one is asked of by itself, and one that the plan has no more is not left out.
    bench.what_if.choose("right")
    assert not box.isChecked()
    bench.session.edit(without_brace(bench.checked, "left"))
    bench.what_if.keep_only(["right"])
    assert bench.what_if.left_out == frozenset()
    assert bench.jobs.asked[-1][0] == (bench.session.plan, "pressed", ())


def test_without_a_check_nothing_is_asked(bench):
    bench.what_if.choose("left")
    bench.session.opened.emit()
    assert not bench.what_if.box.isEnabled()
    assert bench.panel.isHidden()
    count = len(bench.jobs.asked)
    bench.edit()
    assert len(bench.jobs.asked) == count
    assert bench.lines == {}


# -- where there is no answer ---------------------------------------------------------------
def test_other_pieces_are_not_answered_but_offered_to_be_checked(bench):
    bench.jobs.answer(0, AS_CHECKED)
    bench.session.edit(with_up(bench.checked, "1", (1.0, 0.0, 0.0)))
    assert len(bench.jobs.asked) == 1
    assert bench.panel.note.text == (
        "The check is of an earlier plan: a print direction is another. Check again to know of "
        "this one."
    )
    assert bench.lines == {}
    assert not bench.what_if.box.isEnabled()
    bench.panel.show()
    Mouse().click(bench.panel.again)
    assert bench.cells.asks == 1
    # While it is checked nothing is said of the one before.
    bench.cells.begun.emit()
    assert bench.panel.isHidden()


def test_of_another_load_case_it_says_which_was_checked(bench):
    bench.jobs.answer(0, AS_CHECKED)
    bench.selection.choose_load("other")
    assert "load case “pressed”" in bench.panel.note.text
    bench.selection.choose_load("pressed")
    assert bench.panel.isHidden()
    assert len(bench.jobs.asked) == 1


@pytest.mark.parametrize("end", [None, HelperError("The helper process ended unexpectedly.")])
def test_a_process_that_ended_has_lost_the_check(bench, end):
    bench.jobs.answer(0, AS_CHECKED)
    bench.edit()
    bench.jobs.answer(1, end)
    assert bench.panel.note.text.startswith("The check is not at hand any more")
    assert not bench.panel.again.isHidden()
    assert bench.lines == {}
    bench.edit()
    assert len(bench.jobs.asked) == 2
    bench.cells.begun.emit()
    assert bench.panel.isHidden()


# -- words ----------------------------------------------------------------------------------
def test_lines_are_shown_below_the_plan_of_their_seam(bench):
    bench.seams.tell_strength({"S1": "By cells."})
    assert bench.seams.plan.live.isHidden()
    bench.seams.plan.tell_strength("By cells.")
    assert not bench.seams.plan.live.isHidden()
    assert bench.seams.plan.live.text() == "By cells."


def test_a_screw_of_which_the_hand_formula_knows_nothing_is_told_so():
    row = live_words.LiveSeamRow("S1", None, seam([3.0, 1.0], 0.0), np.array([np.nan, 1.0]))
    assert live_words.pull_words(row, Q) == "3.0 N in A"
    assert live_words.by_hand_words(row, Q) == "0 N by hand"
    bare = live_words.LiveSeamRow("S1", None, seam([], 0.0), np.zeros(0))
    assert live_words.pull_words(bare, Q) == "no screws"
    assert live_words.by_hand_words(bare, Q) == ""


def test_every_figure_is_explained():
    names = {figure.name for column in live_words.LIVE_COLUMNS for figure in column.figures}
    assert names <= set(definitions.FIGURES)
