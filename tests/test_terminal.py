"""What the terminal shows of a job: a bar on a screen, lines in a log, nothing when quiet."""

import contextlib
import io
import os
import re
import signal
import time

import pytest

from splitplanner import terminal
from splitplanner.errors import Cancelled
from splitplanner.terminal import shown_progress, stop_held, stop_on_signals

LINE = re.compile(r" *(\d+\.\d) s +(\d+)%  (still )?(.+)")


class Screen(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self):
        return True


@pytest.fixture(autouse=True)
def no_wish_to_stop(monkeypatch):
    monkeypatch.setattr(terminal, "_stop", terminal._Stop())


@pytest.fixture
def handlers():
    """Put the signal handlers back."""
    names = [name for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {name: signal.getsignal(getattr(signal, name)) for name in names}
    yield
    for name, handler in before.items():
        signal.signal(getattr(signal, name), handler)


def send(name):
    """Send ourselves a signal, and give Python the time to handle it."""
    os.kill(os.getpid(), getattr(signal, name))
    time.sleep(0.05)


# -- a log ------------------------------------------------------------------------------------
def test_a_log_gets_lines_with_time_share_and_what_is_done(monkeypatch):
    monkeypatch.setattr(terminal, "_LINE_EVERY", 0.0)
    stream = io.StringIO()
    with shown_progress(False, stream) as report:
        report(0.0, "reading")
        report(0.5, "cutting")
        report(0.5, "cutting")
        report(1.0, "done")
    lines = [LINE.fullmatch(line) for line in stream.getvalue().splitlines()]
    assert [(line[2], line[4]) for line in lines] == [
        ("0", "reading"),
        ("50", "cutting"),
        ("100", "done"),
    ]
    assert "\x1b" not in stream.getvalue()


def test_a_log_is_not_flooded():
    stream = io.StringIO()
    with shown_progress(False, stream) as report:
        for step in range(1000):
            report(step / 1000, f"step {step}")
    assert len(stream.getvalue().splitlines()) <= 2


def test_a_log_is_never_silent_for_long(monkeypatch):
    """The limit is 2 s; here it is made shorter, so that the test is."""
    assert terminal._SILENT_FOR + 0.1 < 2.0
    monkeypatch.setattr(terminal, "_SILENT_FOR", 0.15)
    stream = io.StringIO()
    with shown_progress(False, stream) as report:
        report(0.25, "thinking")
        time.sleep(0.8)
    lines = [LINE.fullmatch(line) for line in stream.getvalue().splitlines()]
    assert len(lines) >= 2
    assert [line[4] for line in lines] == ["thinking"] * len(lines)
    assert lines[0][3] is None
    assert all(line[3] == "still " for line in lines[1:])


def test_a_log_falls_silent_when_the_job_ends(monkeypatch):
    monkeypatch.setattr(terminal, "_SILENT_FOR", 0.05)
    stream = io.StringIO()
    with pytest.raises(Cancelled), shown_progress(False, stream):
        raise Cancelled("Stopped.")
    written = stream.getvalue()
    time.sleep(0.3)
    assert stream.getvalue() == written


# -- a screen ---------------------------------------------------------------------------------
def test_a_screen_gets_a_bar_that_is_gone_afterwards(monkeypatch):
    monkeypatch.setenv("TERM", "xterm")
    stream = Screen()
    with shown_progress(False, stream) as report:
        report(0.5, "cutting along the ribs")
        time.sleep(0.3)
    shown = stream.getvalue()
    assert "cutting along the ribs" in shown
    assert "50%" in shown
    # ECMA-48: erase in line clears what was shown; DECTCEM gives the cursor back.
    assert shown.rstrip().endswith("\x1b[2K")
    assert shown.rfind("\x1b[?25h") > shown.rfind("\x1b[?25l")


def test_a_bar_does_not_take_words_for_markup(monkeypatch):
    monkeypatch.setenv("TERM", "xterm")
    stream = Screen()
    with shown_progress(False, stream) as report:
        report(0.1, "reading we[/b]ird [red].stl")
        time.sleep(0.3)
    assert "we[/b]ird [red].stl" in stream.getvalue()


# -- quiet ------------------------------------------------------------------------------------
@pytest.mark.parametrize("kind", [io.StringIO, Screen])
def test_quiet_shows_nothing(kind):
    stream = kind()
    with shown_progress(True, stream) as report:
        report(0.5, "cutting")
    assert stream.getvalue() == ""


# -- stopping ---------------------------------------------------------------------------------
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_signal_stops_the_job_once(handlers, name):
    if not hasattr(signal, name):
        pytest.skip("no such signal on this system")
    stop_on_signals()
    with pytest.raises(KeyboardInterrupt):
        send(name)
    # The same wish, passed on by a parent: it must not cut the tidying up short.
    send(name)


def test_a_swallowed_wish_is_heeded_at_the_next_report(handlers):
    stop_on_signals()
    with contextlib.suppress(BaseException):  # as some libraries do while they are imported
        send("SIGINT")
    with shown_progress(True) as report, pytest.raises(KeyboardInterrupt):
        report(0.5, "cutting")


def test_a_wish_waits_while_libraries_are_loaded(handlers):
    stop_on_signals()
    loaded = []

    def load():
        with stop_held():
            send("SIGINT")
            loaded.append("all of it")

    with pytest.raises(KeyboardInterrupt):
        load()
    assert loaded == ["all of it"]


def test_what_was_ignored_stays_ignored(handlers):
    """A job that a shell put in the background, or one under nohup."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    stop_on_signals()
    assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
