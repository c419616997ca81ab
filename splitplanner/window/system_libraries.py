"""Whether the system has what Qt needs, told in one sentence before Qt ends the program itself.

This module loads nothing of Qt at its top, nor anything that does.
"""

from __future__ import annotations

import ctypes
import importlib
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from importlib.util import find_spec
from pathlib import Path

PACKAGES = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libGLX.so.0": "libglx0",
    "libOpenGL.so.0": "libopengl0",
    "libX11.so.6": "libx11-6",
    "libdbus-1.so.3": "libdbus-1-3",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libgthread-2.0.so.0": "libglib2.0-0",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libzstd.so.1": "libzstd1",
}
"""Debian packages of the libraries that Qt's own are linked to."""
X_PACKAGES = {
    "libX11-xcb.so.1": "libx11-xcb1",
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-render.so.0": "libxcb-render0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-shm.so.0": "libxcb-shm0",
    "libxcb-sync.so.1": "libxcb-sync1",
    "libxcb-util.so.1": "libxcb-util1",
    "libxcb-xfixes.so.0": "libxcb-xfixes0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxcb.so.1": "libxcb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
}
"""Those of Qt's plugin for X windows besides."""
_NAME = re.compile(r"\blib[\w.+-]*?\.so(?:\.\d+)*")


def has_screen() -> bool:
    """Return whether there is a screen, or something that stands for one."""
    return sys.platform != "linux" or bool(_screen(os.environ))


def obstacle() -> str:
    """Return why no window can be opened, and what to do; empty if nothing is in the way."""
    try:
        importlib.import_module("PySide6.QtWidgets")
    except ImportError as fault:
        return _cannot_load(str(fault))
    if sys.platform != "linux":
        return ""
    kind = _screen(os.environ)
    if not kind:
        return (
            "There is no screen to open a window on: neither DISPLAY nor WAYLAND_DISPLAY is set; "
            "start it in a desktop session, or use the command line: splitplanner plan."
        )
    return _x_obstacle() if kind == "xcb" else ""


def tell(message: str) -> None:
    """Say it on the terminal and, where there is none, in a box that needs no Qt."""
    with suppress(AttributeError, OSError):
        print(message, file=sys.stderr)  # noqa: T201 - where a terminal is, it is read there
    if sys.stderr is not None and sys.stderr.isatty():
        return
    if sys.platform == "win32":
        ctypes.windll.user32.MessageBoxW(None, message, "Split planner", 0x10)
        return
    for program, *words in (
        ("zenity", "--error", "--no-markup", "--text"),
        ("kdialog", "--error"),
        ("xmessage",),
    ):
        if path := shutil.which(program):
            with suppress(OSError):
                subprocess.run([path, *words, message], check=False, stderr=subprocess.DEVNULL)
            return


def _cannot_load(fault: str) -> str:
    found = _NAME.findall(fault)
    if not found:
        return f"Qt cannot be loaded ({fault}); install the program anew."
    return _missing([found[0], *_unusable(PACKAGES)], PACKAGES)


def _x_obstacle() -> str:
    """Return what Qt's plugin for X windows lacks: without it Qt aborts the program."""
    spec = find_spec("PySide6")
    if spec is None or spec.origin is None:
        return ""
    plugin = Path(spec.origin).parent / "Qt" / "plugins" / "platforms" / "libqxcb.so"
    # A system's own Qt has it elsewhere, and the packages it needs with it.
    if not plugin.exists():
        return ""
    try:
        ctypes.CDLL(str(plugin))
    except OSError as fault:
        named = [name for name in _NAME.findall(str(fault)) if name != plugin.name][:1]
        return _missing([*named, *_unusable(X_PACKAGES)], X_PACKAGES)
    return ""


def _unusable(names: Mapping[str, str]) -> list[str]:
    """Return the libraries that cannot be loaded."""
    found = []
    for name in names:
        try:
            ctypes.CDLL(name)
        except OSError:
            found.append(name)
    return found


def _missing(names: Sequence[str], packages: Mapping[str, str]) -> str:
    names = list(dict.fromkeys(names))
    wanted = sorted({packages[name] for name in names if name in packages})
    what = "a library of the system is" if len(names) == 1 else "libraries of the system are"
    cure = (
        f"on Debian or Ubuntu run: sudo apt install {' '.join(wanted)}"
        if wanted
        else "install the packages that hold them"
    )
    listed = f" ({', '.join(names)})" if names else ""
    return f"No window can be opened: {what} missing or damaged{listed}; {cure}."


def _screen(environment: Mapping[str, str]) -> str:
    """Return the kind of screen that Qt will take, as it names its plugins; empty if none."""
    if first := environment.get("QT_QPA_PLATFORM", "").partition(";")[0]:
        return first.partition(":")[0]
    if environment.get("WAYLAND_DISPLAY"):
        return "wayland"
    return "xcb" if environment.get("DISPLAY") else ""
