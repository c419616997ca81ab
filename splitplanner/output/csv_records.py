"""The scorecard as CSV with one figure a row."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

from splitplanner.output.records import Record, scorecard_record
from splitplanner.output.result import Result

_UNITS = {
    "length": "mm", "width": "mm", "thickness": "mm", "mass": "g",
    "seen_length": "mm", "hidden_length": "mm", "height": "mm",
    "area": "mm2", "room_area": "mm2", "overhang_area": "mm2", "bridged_area": "mm2",
    "bed_contact_area": "mm2", "volume": "mm3", "support_volume": "mm3", "yaw": "deg",
    "support_resolution": "mm", "offset": "mm", "extents": "mm", "lever_arm": "mm", "plan": "mm",
    "print_time": "h", "print_time_estimate": "h", "printed_volume": "mm3",
    "filament_length": "mm", "filament_mass": "g", "spool_left": "g", "spool_mass": "g",
    "left_over": "g", "flange_width": "mm", "flange_thickness": "mm", "register_height": "mm",
    "register_width": "mm", "register_gap": "mm", "tape_width": "mm", "tape_length": "mm",
    "good_side_held": "mm2", "good_side_stood_on": "mm2", "good_side_seam": "mm",
    "good_side_on_bed": "mm2", "tolerance": "mm", "line_width": "mm", "best_line_width": "mm",
}  # fmt: skip
_MEMBERS = {
    "extents": "xyz", "print_direction": "xyz", "normal": "xyz", "lever_arm": "12",
    "pieces": ("below", "above"), "plan": ("long", "short"),
}  # fmt: skip
"""Figures of several values, and what is added to the name for each of them."""


def scorecard_csv(result: Result, *, files: bool = True, bed_files: bool = True) -> str:
    """Return the scorecard as CSV, one figure a row: of, name, figure, value, unit.

    A figure of several values has a row for each, such as ``extents_x``; of what lies on a bed
    there are the numbers alone. See `scorecard_record`.
    """
    record = scorecard_record(result, files=files, bed_files=bed_files)
    stream = io.StringIO()
    rows = csv.writer(stream, lineterminator="\n")
    rows.writerow(["of", "name", "figure", "value", "unit"])
    for term in record["score"]["terms"]:
        rows.writerow(["plan", "", term["criterion"], term["value"], term["unit"]])
    rows.writerow(["plan", "", "plan score", record["score"]["total"], ""])
    for figure, value in record["printing"].items():
        rows.writerows(["printing", "", *row] for row in _cells(figure, value))
    for figure, value in record.get("walls", {}).items():
        if not isinstance(value, list | dict):
            rows.writerows(["walls", "", *row] for row in _cells(figure, value))
    for kind, key, entries in (
        ("piece", "number", record["pieces"]),
        ("bed", "number", record["beds"]),
        ("seam", "name", record["seams"]),
    ):
        for entry in entries:
            for figure, value in entry.items():
                if figure != key:
                    rows.writerows([kind, entry[key], *row] for row in _cells(figure, value))
    for load in record.get("strength", {}).get("loads", []):
        rows.writerows(["load case", load["name"], *row] for row in _load_cells(load))
    for brace in record.get("braces", []):
        for figure in ("file", "length", "width", "thickness", "mass", "bolts"):
            rows.writerows(["brace", brace["name"], *row] for row in _cells(figure, brace[figure]))
    return stream.getvalue()


def _load_cells(load: Record) -> Iterator[tuple[str, object, str]]:
    """Yield what the uncut part and every way of holding the seams holds of a load case.

    How many times the load; empty where the load does not reach it.
    """
    yield "uncut_holds", load["uncut"]["factor"], ""
    for way in load["ways"]:
        yield f"{way['way']}_of_uncut", way["ratio"], ""
        yield f"{way['way']}_holds", way["weakest"]["factor"], ""


def _cells(figure: str, value: Any) -> Iterator[tuple[str, object, str]]:
    """Yield figure, value and unit of each row that one entry of the record makes."""
    unit = _UNITS.get(figure, "")
    if figure in ("pins", "screws", "bolts"):
        yield figure, len(value), ""
    elif figure == "placed":
        for kind in ("piece", "brace"):
            if told := " ".join(str(each[kind]) for each in value if kind in each):
                yield f"{kind}s", told, ""
    elif isinstance(value, list):
        for member, each in zip(_MEMBERS[figure], value, strict=True):
            yield f"{figure}_{member}", each, unit
    else:
        yield figure, ("yes" if value else "no") if isinstance(value, bool) else value, unit
