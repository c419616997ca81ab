"""Jobs in a process of their own: answers, progress, stops, deaths."""

import os
import queue
import signal
import time
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.background import Order, Worker
from splitplanner.errors import Cancelled, CutError, HelperError, ReadError
from splitplanner.plan import Cut, Division, PartFile, Plan
from splitplanner.score import Figures, Wishes
from splitplanner.solid import Plane
from splitplanner.workshop import Bed, Printer, hardware_shelf
from tests.pin_holes import holes_of
from tests.planned import box, save

PRINTER = Printer(bed=Bed.parse("220x220x250"))


class Heard:
    """What became of an order, taken out of the worker's thread."""

    def __init__(self, task, *given):
        self.news = queue.Queue()
        self.order = Order(
            task,
            given,
            progressed=lambda done, doing: self.news.put(("progressed", (done, doing))),
            handed=lambda thing: self.news.put(("handed", thing)),
            answered=lambda answer: self.news.put(("answered", answer)),
            failed=lambda fault: self.news.put(("failed", fault)),
        )

    def end(self):
        """Everything until the end, by kind."""
        found = {"progressed": [], "handed": []}
        while True:
            kind, what = self.news.get(timeout=60)
            if kind in ("answered", "failed"):
                return found | {kind: what}
            found[kind].append(what)


@pytest.fixture(scope="module")
def model(tmp_path_factory):
    return save(box((430.0, 100.0, 80.0)), tmp_path_factory.mktemp("worker") / "long.stl")


@pytest.fixture(scope="module")
def shared():
    worker = Worker()
    yield worker
    worker.close()


@pytest.fixture(scope="module")
def source(shared, model):
    heard = Heard("read_part", model, None)
    shared.ask(heard.order)
    found = heard.end()["answered"]
    shared.keep(source=found)
    return found


def plan_of(source, *offsets):
    part = PartFile("long.stl", source.unit, source.solid.fingerprint)
    return Plan(part, PRINTER, tuple(Cut(Plane((1.0, 0.0, 0.0), x)) for x in offsets))


def test_a_part_is_read_there(source):
    assert np.allclose(source.solid.extents, [430.0, 100.0, 80.0])


def test_a_bad_file_is_said_in_one_sentence(shared, tmp_path):
    heard = Heard("read_part", tmp_path / "none.stl", None)
    shared.ask(heard.order)
    fault = heard.end()["failed"]
    assert isinstance(fault, ReadError)
    assert "none.stl" in str(fault)


def test_a_plan_is_handed_over_in_stages_and_completed(shared, source):
    low = float(source.solid.bounds[0, 0])
    heard = Heard("examine", plan_of(source, low + 215.0), {}, Wishes())
    shared.ask(heard.order)
    found = heard.end()
    # As they are cut, and then as they are made.
    division, figures, made, made_figures = found["handed"]
    examined = found["answered"]
    for pieces, measured in ((division, figures), (made, made_figures)):
        assert isinstance(pieces, Division)
        assert isinstance(measured, Figures)
        # The part and the pieces are not sent again: they are the very objects known here.
        assert pieces.part is source.solid
        assert measured.part is source.solid
        assert [row.piece.solid for row in measured.pieces] == [
            each.solid for each in pieces.pieces
        ]
    assert [row.piece.solid for row in examined.card.figures.pieces] == [
        each.solid for each in made.pieces
    ]
    for piece, cut in zip(made.pieces, division.pieces, strict=True):
        holes = holes_of(cut, division, examined.plan)
        assert len(holes) == len(examined.plan.joints[0].pins)
        taken = sum(hole.volume for hole in holes)
        assert cut.solid.volume - piece.solid.volume == pytest.approx(taken, rel=1e-6)
    assert examined.card.figures.part is source.solid
    assert set(examined.plan.print_directions) == {"1", "2"}
    assert all(row.fit.fits for row in figures.pieces)
    assert len(examined.plan.joints[0].pins) >= 2
    shares = [done for done, _ in found["progressed"]]
    assert shares == sorted(shares)


def test_joints_are_made_of_the_hardware_that_is_kept(shared, source):
    shelf = hardware_shelf()
    rod = replace(shelf.dowel_pins[-1], standard="drawer rod", diameter=8.0, lengths=(32.0,))
    plan = plan_of(source, float(source.solid.bounds[0, 0]) + 215.0)
    found = []
    for kept in (replace(shelf, dowel_pins=(rod, *shelf.dowel_pins)), shelf):
        shared.keep(shelf=kept)
        heard = Heard("examine", plan, {}, Wishes())
        shared.ask(heard.order)
        pins = heard.end()["answered"].plan.joints[0].pins
        assert len(pins) >= 2
        found.append({(pin.standard, pin.diameter, pin.length) for pin in pins})
    assert found[0] == {("drawer rod", 8.0, 32.0)}
    # What was made of the other shelf is not remembered.
    assert {standard for standard, *_ in found[1]} == {"ISO 8734"}


def test_a_cut_that_misses_what_it_names_is_a_fault_of_the_plan(shared, source):
    plan = plan_of(source)
    missing = Plan(plan.part, PRINTER, (Cut(Plane((1.0, 0.0, 0.0), 1e4), "whole"),))
    heard = Heard("examine", missing, {}, Wishes())
    shared.ask(heard.order)
    assert isinstance(heard.end()["failed"], CutError)


def test_a_stopped_order_says_so_at_once_and_the_next_one_is_done(shared, source):
    low = float(source.solid.bounds[0, 0])
    first = Heard("examine", plan_of(source, low + 215.0, low + 100.0), {}, Wishes())
    second = Heard("examine", plan_of(source, low + 200.0), {}, Wishes())
    shared.ask(first.order)
    shared.ask(second.order)
    shared.cancel(first.order, patience=None)
    assert isinstance(first.end()["failed"], Cancelled)
    assert len(second.end()["answered"].card.figures.pieces) == 2


def test_what_is_urgent_is_answered_in_the_midst_of_a_long_job(shared, source):
    plan, before = plan_of(source), shared.pid
    long, last = Heard("wait", 60.0), Heard("wait", 0.0)
    soon, alone = Heard("answer_seams", plan, "x"), Heard("answer_seams", plan, "x")
    for each in (long, last, soon):
        shared.ask(each.order)
    # Nothing is kept that could answer.
    assert soon.end()["answered"] is None
    # The process says what it goes on with, so that it is ended if that does not stop.
    clock = time.monotonic()
    while shared._link.doing != long.order.number:
        assert time.monotonic() - clock < 30.0
        time.sleep(0.005)
    shared.cancel(long.order, patience=None)
    assert isinstance(long.end()["failed"], Cancelled)
    assert "answered" in last.end()
    shared.ask(alone.order)
    assert alone.end()["answered"] is None
    assert shared.pid == before


def test_a_process_that_is_killed_is_told_and_started_anew(model):
    worker = Worker()
    try:
        heard = Heard("read_part", model, None)
        worker.ask(heard.order)
        worker.keep(source=heard.end()["answered"])
        before = worker.pid
        waiting = Heard("wait", 60.0)
        worker.ask(waiting.order)
        assert waiting.news.get(timeout=30)[0] == "progressed"
        os.kill(before, signal.SIGKILL)
        fault = waiting.end()["failed"]
        assert isinstance(fault, HelperError)
        assert "try again" in str(fault)
        # What was kept is there again.
        again = Heard("lighten")
        worker.ask(again.order)
        assert np.allclose(again.end()["answered"].extents, [430.0, 100.0, 80.0])
        assert worker.pid != before
    finally:
        worker.close()


def test_what_does_not_stop_is_ended_and_what_waits_is_done(model):
    worker = Worker()
    try:
        deaf = Heard("wait", 60.0, False)
        worker.ask(deaf.order)
        assert deaf.news.get(timeout=30)[0] == "progressed"
        before = worker.pid
        waiting = Heard("read_part", model, None)
        worker.ask(waiting.order)
        worker.cancel(deaf.order)
        assert isinstance(deaf.end()["failed"], Cancelled)
        assert waiting.end()["answered"].unit == "mm"
        assert worker.pid != before
    finally:
        worker.close()


def test_a_failure_of_the_program_is_told_with_its_trace(shared, source):
    heard = Heard("examine", "no plan", {}, Wishes())
    shared.ask(heard.order)
    fault = heard.end()["failed"]
    assert isinstance(fault, HelperError)
    assert "report it" in str(fault)
    assert "Traceback" in fault.trace


def test_a_closed_worker_leaves_no_process(model):
    worker = Worker()
    waiting = Heard("wait", 60.0)
    worker.ask(waiting.order)
    waiting.news.get(timeout=30)
    before = worker.pid
    worker.close()
    deadline = time.monotonic() + 10
    while time.monotonic() < deadline:
        try:
            os.kill(before, 0)
        except ProcessLookupError:
            break
        time.sleep(0.01)
    else:
        raise AssertionError("the process is still there")
    with pytest.raises(HelperError, match="closed"):
        worker.ask(Heard("wait", 1.0).order)
