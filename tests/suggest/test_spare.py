"""The second process is kept for the next search, and remembers nothing of the last one."""

import math
import os
import subprocess
import sys
import textwrap

import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import Cancelled
from splitplanner.plan import Cut, PartFile
from splitplanner.score import Wishes
from splitplanner.solid import Plane, Solid
from splitplanner.suggest import prepare, spare, suggest, warm_up
from splitplanner.suggest.second import Second, Setup
from splitplanner.workshop import Bed, Printer
from tests.suggest.shapes import l_shape

X = (1.0, 0.0, 0.0)
SMALL = Printer(bed=Bed.rectangle(220, 220, 250))
LONG = Printer(bed=Bed.rectangle(300, 200, 200), overhang_limit=50.0)


def nothing():
    pass


@pytest.fixture(autouse=True)
def cold():
    """No spare process at the start; none is left over."""

    def end():
        process = spare.taken()
        if process is not None:
            spare.dismiss(process)

    end()
    yield
    end()


@pytest.fixture(scope="module")
def setups():
    """Two searches that have nothing in common, each with cuts to begin with."""
    bar = Solid.box((400.0, 60.0, 40.0)).difference(Solid.box((50.0, 30.0, 20.0), (80.0, 0.0, 0.0)))
    bracket = DEMO_PARTS["l_bracket"].make(10_000)
    wishes = Wishes(must_cut=(Plane(X, 20.0),), pieces=4)
    return [
        (Setup(bar, SMALL, {}, Wishes()), (Cut(Plane(X, 190.0)),)),
        (
            Setup(bracket, LONG, {"pieces": 2.0, "seam seen": 0.5}, wishes),
            (Cut(Plane(X, 20.0)), Cut(Plane(X, -150.0))),
        ),
    ]


@pytest.fixture
def setup(setups):
    return setups[0][0]


def kept(second):
    """Return the process that a search left behind."""
    second._thread.join()
    return spare._spare


def work(setup, cuts):
    """Return what a second process finds, and which one it was."""
    with Second(setup) as second:
        numbers = [second.ask("bound"), second.ask("see"), second.ask("lighten")]
        bound, _, light = (second.answer(number, nothing) for number in numbers)
        look = second.answer(second.ask("carry", light), nothing)
        second.ask("stand", look)
        numbers = [second.ask("improve", cuts, math.inf), second.ask("judge", cuts, None)]
        improved, verdict = (second.answer(number, nothing) for number in numbers)
        process = second._process
    second._thread.join()
    draft = verdict.draft
    found = (
        bound,
        (look.solid.fingerprint, look.seen.tobytes(), look.part_seen.tobytes(), look.tolerance),
        improved,
        verdict.broken,
        draft
        and (
            draft.ups,
            [(term.criterion.name, term.value, term.weight) for term in draft.card.terms],
            [piece.solid.vertices.tobytes() for piece in draft.division.pieces],
        ),
    )
    return found, process


def test_it_finds_what_a_fresh_process_finds_whatever_it_did_before(setups):
    fresh = []
    for setup, cuts in setups:
        found, process = work(setup, cuts)
        assert spare.taken() is process
        spare.dismiss(process)
        fresh.append(found)
    processes = set()
    for place in (0, 1, 0):
        found, process = work(*setups[place])
        assert found == fresh[place]
        processes.add(process)
    assert len(processes) == 1


# -- what is kept ---------------------------------------------------------------------------------
def test_a_process_that_gets_done_after_the_end_is_kept(setups):
    setup, _ = setups[1]
    with Second(setup) as second:
        second.ask("see")
    assert kept(second) is second._process
    assert second._process.poll() is None


def stopped(setup, once_done):
    """Return the second process of a search that is stopped, with a task in hand or without."""
    second = Second(setup)

    def search():
        with second:
            number = second.ask("bound")
            if once_done:
                assert second.answer(number, nothing)
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        search()
    return second


def test_a_stop_ends_a_process_that_is_busy(setup):
    # As long as it has not taken the setup, it is.
    second = stopped(setup, once_done=False)
    assert kept(second) is None
    assert second._process.poll() is not None
    assert second.gone


def test_a_stop_leaves_a_process_that_is_idle(setup):
    second = stopped(setup, once_done=True)
    assert kept(second) is second._process


def test_the_process_of_a_large_part_is_ended(setup):
    with Second(setup, is_kept=False) as second:
        assert second.answer(second.ask("bound"), nothing)
    assert kept(second) is None
    assert second._process.poll() is not None


def test_of_two_searches_at_once_one_process_is_kept(setup):
    with Second(setup) as first, Second(setup) as second:
        found = [one.answer(one.ask("bound"), nothing) for one in (first, second)]
    assert found[0] == found[1]
    assert first._process is not second._process
    assert kept(second) is not None
    last = kept(first)
    running = [one._process for one in (first, second) if one._process.poll() is None]
    assert running == [last]


# -- a spare one that died ------------------------------------------------------------------------
def test_a_spare_process_that_died_is_replaced(setup):
    warm_up()
    dead = spare._spare
    dead.kill()
    dead.wait()
    with Second(setup) as second:
        assert second.answer(second.ask("bound"), nothing)
    assert second._process is not dead


def test_a_spare_process_that_dies_unnoticed_is_replaced(monkeypatch, setup):
    warm_up()
    dead = spare._spare
    dead.kill()
    dead.wait()
    monkeypatch.setattr(dead, "poll", lambda: None)
    with Second(setup) as second:
        assert second.answer(second.ask("bound"), nothing)
        assert not second.gone
    assert second._process is not dead


# -- ahead of need --------------------------------------------------------------------------------
def test_a_search_takes_the_process_that_was_started_ahead(setup):
    warm_up()
    process = spare._spare
    warm_up()
    assert spare._spare is process
    with Second(setup) as second:
        assert spare._spare is None
        assert second.answer(second.ask("bound"), nothing)
    assert kept(second) is process


@pytest.mark.parametrize(("triangles", "starts"), [(0, True), (10**6, False)])
def test_it_is_started_ahead_for_parts_that_it_will_help(monkeypatch, triangles, starts):
    monkeypatch.setattr("splitplanner.suggest.proposals.TRIANGLES", triangles)
    before = spare.taken()
    if before is not None:
        spare.dismiss(before)
    prepare(l_shape())
    assert (spare._spare is not None) is starts


def test_a_search_alone_starts_none(monkeypatch):
    def refuse(*_):
        raise AssertionError("a second process")

    monkeypatch.setattr(subprocess, "Popen", refuse)
    monkeypatch.setattr("splitplanner.suggest.proposals.TRIANGLES", 0)
    part = PartFile("part.stl", "mm", "0" * 64)
    assert suggest(l_shape(), part, SMALL, most=1, alone=True).proposals


# -- how it ends ----------------------------------------------------------------------------------
def test_it_ends_when_nobody_is_left_to_talk_to():
    process = spare.started()
    process.stdin.close()
    assert process.wait(timeout=60) == 0
    spare.dismiss(process)


def test_it_ends_with_the_program_and_nothing_is_said():
    program = """
        from splitplanner.suggest import spare, warm_up

        warm_up()
        print(spare._spare.pid)
    """
    done = subprocess.run(
        [sys.executable, "-W", "always::ResourceWarning", "-c", textwrap.dedent(program)],
        capture_output=True,
        encoding="utf-8",
        timeout=60,
    )
    assert done.stderr == ""
    assert done.returncode == 0
    with pytest.raises(ProcessLookupError):
        os.kill(int(done.stdout), 0)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the system copies no processes")
@pytest.mark.filterwarnings("ignore:.*fork.*:DeprecationWarning")
def test_a_copy_of_this_process_has_no_part_in_it():
    warm_up()
    process = spare._spare
    theirs, ours = os.pipe(), os.pipe()
    copy = os.fork()
    if not copy:
        # Whatever happens here, the tests do not go on.
        try:
            os.write(theirs[1], b"none" if spare.taken() is None else b"some")
            os.close(ours[1])
            os.read(ours[0], 1)
        finally:
            os._exit(0)
    assert os.read(theirs[0], 4) == b"none"
    # The copy still runs, and must not keep the input open.
    process.stdin.close()
    assert process.wait(timeout=60) == 0
    for end in (*theirs, *ours):
        os.close(end)
    assert os.waitpid(copy, 0)[1] == 0
