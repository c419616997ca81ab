"""The entry point in processes of their own: the same program, and quiet when stopped early."""

import importlib
import signal
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from splitplanner import __main__, __version__

ROOT = Path(__file__).parent.parent

# A process that gets a signal from itself at the moment when a module is looked for.
STOPPED_WHILE_LOADING = """
import os, signal, sys
module, number = sys.argv[1], getattr(signal, sys.argv[2])
sys.argv[1:] = ["--version"]
class Stopper:
    def find_spec(self, name, path=None, target=None):
        if name == module:
            sys.stdout.write("loading\\n")
            sys.stdout.flush()
            os.kill(os.getpid(), number)
sys.meta_path.insert(0, Stopper())
from splitplanner.__main__ import main
main()
"""


def run(*words):
    return subprocess.run(
        [sys.executable, *words], capture_output=True, text=True, encoding="utf-8", timeout=60
    )


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
@pytest.mark.parametrize("module", ["splitplanner.command_line", "typer", "numpy"])
def test_a_stop_while_modules_load_shows_no_trace(module, name):
    if not hasattr(signal, name):
        pytest.skip(f"no {name} on this system")
    ended = run("-c", STOPPED_WHILE_LOADING, module, name)
    # 130 is 128 + 2, as shells report a program that was stopped by Ctrl-C.
    assert ended.returncode == 130
    assert ended.stdout == "loading\n"
    assert ended.stderr == "Stopped; nothing was begun.\n"


def test_a_signal_that_was_ignored_from_the_start_stays_ignored():
    # As under nohup: the shell sets it, and what it starts keeps it.
    ignoring = "import signal; signal.signal(signal.SIGINT, signal.SIG_IGN)\n"
    ended = run("-c", ignoring + STOPPED_WHILE_LOADING, "typer", "SIGINT")
    assert (ended.returncode, ended.stdout) == (0, f"loading\nsplitplanner {__version__}\n")


def test_the_package_runs_as_a_program():
    ended = run("-m", "splitplanner", "--version")
    assert (ended.returncode, ended.stdout) == (0, f"splitplanner {__version__}\n")
    assert run("-m", "splitplanner", "check", "no such plan.json").returncode == 6


def test_the_command_is_the_same_program():
    scripts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["scripts"]
    module, function = scripts["splitplanner"].split(":")
    assert getattr(importlib.import_module(module), function) is __main__.main


def test_the_entry_point_loads_nothing_large():
    seen = run("-c", "import sys, splitplanner.__main__; print(*sys.modules)").stdout.split()
    assert "splitplanner.__main__" in seen
    assert not {"numpy", "typer", "rich", "splitplanner.command_line"} & set(seen)
