"""Keys that are no command's: of the view, the chart, the plan of a seam and the assembly."""

from __future__ import annotations

from splitplanner.window.chart.keys import KEYS_TOLD
from splitplanner.window.lists.assembly_table import KEYS as STEP_KEYS
from splitplanner.window.seams.keys import KEYS as SEAM_KEYS
from splitplanner.window.view.keys import KEYS


def all_keys() -> list[tuple[str, str, str]]:
    """Return where each key holds, what it does, and the key."""
    view = [("View", what, keys) for keys, what in KEYS]
    seam = [("Plan of a seam", what, keys) for keys, what in SEAM_KEYS]
    steps = [("Assembly", what, keys) for keys, what in STEP_KEYS]
    return [*view, ("Station chart", KEYS_TOLD, ""), *seam, *steps]
