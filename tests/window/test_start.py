"""Starting the window: what is told when the system lacks a library, and who is started."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import splitplanner
from splitplanner.child_processes import FROZEN_FLAG
from splitplanner.window.start import HELPERS
from splitplanner.window.system_libraries import PACKAGES, X_PACKAGES, _missing, _screen, tell

ROOT = Path(splitplanner.__file__).parent
SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
on_linux = pytest.mark.skipif(sys.platform != "linux", reason="libraries as on Linux")


def start(tmp_path, *broken, **environment):
    """Start the window where some libraries of the system are empty files."""
    for name in broken:
        (tmp_path / name).write_bytes(b"")
    around = {name: value for name, value in os.environ.items() if name not in SCREENS}
    around |= {"LD_LIBRARY_PATH": str(tmp_path), "PATH": str(tmp_path), **environment}
    return subprocess.run(
        [sys.executable, "-m", "splitplanner.window.start"],
        capture_output=True,
        encoding="utf-8",
        env=around,
        timeout=60,
    )


# -- what is missing --------------------------------------------------------------------------
@on_linux
@pytest.mark.parametrize("name", ["libEGL.so.1", "libglib-2.0.so.0", "libxkbcommon.so.0"])
def test_a_library_that_qt_needs_is_named_with_its_package(tmp_path, name):
    done = start(tmp_path, name, QT_QPA_PLATFORM="offscreen")
    assert done.returncode == 1
    assert done.stdout == ""
    (line,) = done.stderr.splitlines()
    assert line.startswith("No window can be opened: ")
    assert name in line
    packages = line.partition("sudo apt install ")[2].rstrip(".").split()
    assert PACKAGES[name] in packages


@on_linux
def test_what_the_plugin_for_x_needs_is_named_before_qt_aborts(tmp_path):
    done = start(tmp_path, "libxcb-cursor.so.0", "libxcb-icccm.so.4", DISPLAY=":99")
    assert done.returncode == 1
    (line,) = done.stderr.splitlines()
    packages = line.partition("sudo apt install ")[2].rstrip(".").split()
    assert {"libxcb-cursor0", "libxcb-icccm4"} <= set(packages)


@on_linux
def test_without_a_screen_it_is_said(tmp_path):
    done = start(tmp_path)
    assert done.returncode == 1
    (line,) = done.stderr.splitlines()
    assert line.startswith("There is no screen to open a window on")


@on_linux
def test_started_from_a_menu_it_is_said_in_a_box(tmp_path):
    box = tmp_path / "zenity"
    box.write_text(f'#!/bin/sh\nprintf "%s|" "$@" > {tmp_path}/said\n', encoding="utf-8")
    box.chmod(0o755)
    done = start(tmp_path)
    said = (tmp_path / "said").read_text(encoding="utf-8")
    assert said == f"--error|--no-markup|--text|{done.stderr.strip()}|"


def test_it_is_said_once_on_a_terminal(capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    tell("No window.")
    assert capsys.readouterr().err == "No window.\n"


def test_one_sentence_names_all():
    assert _missing(["libEGL.so.1"], PACKAGES) == (
        "No window can be opened: a library of the system is missing or damaged (libEGL.so.1); on "
        "Debian or Ubuntu run: sudo apt install libegl1."
    )
    assert _missing(["libxcb-cursor.so.0", "libxcb.so.1", "libxcb.so.1"], X_PACKAGES) == (
        "No window can be opened: libraries of the system are missing or damaged "
        "(libxcb-cursor.so.0, libxcb.so.1); on Debian or Ubuntu run: sudo apt install "
        "libxcb-cursor0 libxcb1."
    )
    assert _missing(["libodd.so.7"], PACKAGES).endswith("install the packages that hold them.")


@pytest.mark.parametrize(
    ("environment", "screen"),
    [
        ({}, ""),
        ({"DISPLAY": ":0"}, "xcb"),
        ({"DISPLAY": ":0", "WAYLAND_DISPLAY": "wayland-0"}, "wayland"),
        ({"DISPLAY": ":0", "QT_QPA_PLATFORM": "offscreen"}, "offscreen"),
        ({"DISPLAY": ":0", "QT_QPA_PLATFORM": ""}, "xcb"),
        ({"QT_QPA_PLATFORM": "xcb:x=1;wayland"}, "xcb"),
        ({"DISPLAY": ":0", "QT_QPA_PLATFORM": "vnc:size=9"}, "vnc"),
    ],
)
def test_the_screen_is_the_one_that_qt_takes(environment, screen):
    assert _screen(environment) == screen


# -- who is started ---------------------------------------------------------------------------
def test_nothing_heavy_is_loaded_first():
    say = (
        "import sys, splitplanner.window.start, splitplanner.window.system_libraries\n"
        "print({'PySide6', 'numpy', 'vtkmodules', 'splitplanner.solid'} & set(sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", say], capture_output=True, encoding="utf-8", check=True
    )
    assert done.stdout == "set()\n"


def test_every_helper_that_is_started_is_known_to_the_program_in_one_folder():
    started = {
        name
        for path in ROOT.rglob("*.py")
        for name in re.findall(r'start_module\(\s*"([\w.]+)"', path.read_text(encoding="utf-8"))
    }
    assert started == set(HELPERS)


FROZEN = """
import sys
sys.frozen = True
from splitplanner.window.start import main
sys.exit(main())
"""


@pytest.mark.parametrize("helper", HELPERS)
def test_a_program_in_one_folder_is_its_own_helper(helper, tmp_path):
    """Each helper ends well when there is nothing to do, without a window and without a word."""
    done = subprocess.run(
        [sys.executable, "-c", FROZEN, FROZEN_FLAG, helper],
        input=b"",
        capture_output=True,
        timeout=300,
        env={**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)},
    )
    assert (done.returncode, done.stdout) == (0, b"")


@on_linux
def test_without_a_screen_the_example_is_planned(tmp_path):
    around = {name: value for name, value in os.environ.items() if name not in SCREENS}
    code = (
        "import sys, splitplanner.command_line as line;"
        "line.main = lambda: print(sys.argv);"
        "from splitplanner.window.start import main; sys.exit(main())"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "--example"],
        capture_output=True,
        encoding="utf-8",
        env=around,
        cwd=tmp_path,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    said, asked = done.stdout.splitlines()
    assert "no screen" in said
    assert asked == "['splitplanner', 'demo']"
