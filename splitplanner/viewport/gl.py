"""Which GL draws, and whether one does: tried in a child process, for without one VTK ends it."""

from __future__ import annotations

import os
import subprocess
import sys

from splitplanner.child_processes import start_module

GL_CHOICE = "VTK_DEFAULT_OPENGL_WINDOW"
"""Environment variable that names the kind of GL window; read when VTK makes its first one."""
_PATIENCE = 30.0
"""A child that has not drawn anything after so long has hung, seconds."""


def off_screen_gl() -> None:
    """Choose a GL that needs no display where there is none; before VTK is first used."""
    if sys.platform == "linux" and not os.environ.get("DISPLAY"):
        os.environ.setdefault(GL_CHOICE, "vtkEGLRenderWindow")


def gl_works() -> str:
    """Return why nothing can be drawn, in one sentence with a way out; empty if it can be.

    Where another kind of GL works than the usual one, it is used from now on.
    """
    choices = [""]
    if sys.platform == "linux" and not os.environ.get(GL_CHOICE):
        choices += ["vtkEGLRenderWindow", "vtkOSOpenGLRenderWindow"]
    for choice in choices:
        if _draws(choice):
            if choice:
                os.environ[GL_CHOICE] = choice
            return ""
    remedy = (
        "on Debian or Ubuntu install libegl1, libgl1 and libgl1-mesa-dri"
        if sys.platform == "linux"
        else "update the driver of the graphics card"
    )
    return f"The part cannot be drawn, as no OpenGL works here; {remedy}, then start again."


def _draws(choice: str) -> bool:
    """Return whether a child process can draw with a kind of GL; empty for the usual one."""
    try:
        child = start_module("splitplanner.viewport.gl_try")
    except OSError:
        return False
    try:
        child.communicate(choice.encode(), timeout=_PATIENCE)
    except subprocess.TimeoutExpired:
        child.kill()
        child.communicate()
    return child.returncode == 0
