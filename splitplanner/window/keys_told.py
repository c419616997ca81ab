"""Keys that are no command's: those of the view and of the chart, for the list of all keys."""

from __future__ import annotations

from splitplanner.window.chart_keys import KEYS_TOLD
from splitplanner.window.view_keys import KEYS


def all_keys() -> list[tuple[str, str, str]]:
    """Return where each key holds, what it does, and the key."""
    view = [("View", what, keys) for keys, what in KEYS]
    return [*view, ("Station chart", KEYS_TOLD, "")]
