"""The compiled loops, loaded when they are first needed."""

from __future__ import annotations

from functools import cache
from types import ModuleType


@cache
def compiled() -> ModuleType:
    """Return the module of compiled loops; loading the compiler takes longer than a help text."""
    from splitplanner.suggest.estimate import _kernels

    return _kernels


@cache
def compiled_windows() -> ModuleType:
    """Return the module of compiled loops that clip to windows; see `compiled`."""
    from splitplanner.suggest.estimate import _window_kernels

    return _window_kernels
