"""Draws: the only room that imports VTK, and only when something is drawn."""

from __future__ import annotations

import typing
from importlib import import_module

if typing.TYPE_CHECKING:
    from splitplanner.viewport.child import draw_in_child
    from splitplanner.viewport.drawing import draw, picture
    from splitplanner.viewport.gl import gl_works

__all__ = ["draw", "draw_in_child", "gl_works", "picture"]

_MODULES = {"draw": "drawing", "draw_in_child": "child", "gl_works": "gl", "picture": "drawing"}


def __getattr__(name: str) -> typing.Any:
    """Load what is asked for: the process that tries the GL needs nothing of what pictures need."""
    if name not in _MODULES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_MODULES[name]}"), name)
