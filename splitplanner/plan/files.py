"""A plan as one readable JSON file that opens again to the same bytes."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails

from splitplanner.arrays import unit_tuple
from splitplanner.atomic import write_file
from splitplanner.errors import LoadError, PlanFileError, WorkshopError
from splitplanner.plan.brace import BraceWish
from splitplanner.plan.fastening import Fastening
from splitplanner.plan.joints import Joint, Vector
from splitplanner.plan.loading import Loading
from splitplanner.plan.pieces import Cut
from splitplanner.plan.plan import PartFile, Plan
from splitplanner.solid import Plane
from splitplanner.workshop import Material, Printer
from splitplanner.workshop.printer import RETIRED

FORMAT = "split plan"
"""What the entry ``format`` of a plan file says."""
VERSION = 5
"""The version this program writes."""

Record = dict[str, Any]

_LARGEST = 1e9
"""Larger numbers are mistakes and overflow in computing: in mm this is a thousand kilometres."""

_UPGRADES: dict[int, Callable[[Record], Record]] = {
    # Version 1 knew dowel pins alone, and no flange was ever built.
    1: lambda record: {**record, "fastening": {"flange": "never", "slots": False}},
    # Until version 2 all seams were held in one way.
    2: lambda record: {**record, "own_fastenings": {}, "seams_named_by": None},
    # Until version 3 a plan was for any material.
    3: lambda record: {**record, "material": None},
    # Until version 4 nothing was known of loads, and nothing was braced.
    4: lambda record: {**record, "braces": [], "loadings": []},
}
"""For each older version, what makes its record one of the next version."""


class _CutEntry(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)

    normal: Vector
    offset: float
    piece: str | None


class _PlanFile(BaseModel):
    """The file's entries, in the order in which they are written."""

    model_config = ConfigDict(extra="forbid", strict=True)

    format: Literal["split plan"]
    version: Literal[5]
    part: PartFile
    printer: Printer
    material: Material | None
    cuts: tuple[_CutEntry, ...]
    print_directions: dict[str, Vector]
    fastening: Fastening
    own_fastenings: dict[str, Fastening]
    seams_named_by: tuple[_CutEntry, ...] | None
    joints: tuple[Joint, ...]
    braces: tuple[BraceWish, ...]
    loadings: tuple[Loading, ...]
    seed: int = Field(ge=0, lt=2**128)


def plan_to_text(plan: Plan) -> str:
    """Return the text of a plan file; equal plans give equal text.

    Numbers are written so that they are read back to the bit, and every vector is on one line.

    Raises
    ------
    PlanFileError
        If the plan holds what a plan file cannot: a number that is not finite, a direction
        without length, two joints for one seam.
    """
    earlier = plan.seams_named_by
    record: Record = {
        "format": FORMAT,
        "version": VERSION,
        "part": asdict(plan.part),
        "printer": asdict(plan.printer),
        "material": None if plan.material is None else asdict(plan.material),
        "cuts": _cut_records(plan.cuts),
        "print_directions": dict(plan.print_directions),
        "fastening": asdict(plan.fastening),
        "own_fastenings": {seam: asdict(own) for seam, own in sorted(plan.own_fastenings.items())},
        "seams_named_by": None if earlier is None else _cut_records(earlier),
        "joints": [asdict(joint) for joint in plan.joints],
        "braces": [asdict(brace) for brace in plan.braces],
        "loadings": [asdict(loading) for loading in plan.loadings],
        "seed": plan.seed,
    }
    # Read back before writing: whole numbers become decimals, and no file is written that
    # cannot be opened again.
    checked = _checked(record, "")
    _to_plan(checked, "")
    written = checked.model_dump(mode="json")
    written["print_directions"] = {
        name: unit_tuple(direction) for name, direction in checked.print_directions.items()
    }
    for joint in written["joints"]:
        for each in (*joint["pins"], *joint["screws"]):
            each["axis"] = unit_tuple(each["axis"])
    return _rendered(written, "") + "\n"


def _cut_records(cuts: tuple[Cut, ...]) -> list[Record]:
    return [
        {"normal": cut.plane.normal, "offset": cut.plane.offset, "piece": cut.piece} for cut in cuts
    ]


def plan_from_text(text: str, subject: str = "") -> Plan:
    """Read the text of a plan file.

    Parameters
    ----------
    text : str
    subject : str
        Name of the file, for the messages.

    Raises
    ------
    PlanFileError
        If the text is no plan, is damaged, holds an unknown entry, or is of a newer version.
    """
    record = _parsed(text, subject)
    if not isinstance(record, dict) or record.get("format") != FORMAT:
        raise _error(subject, f"is not a plan: it lacks the entry “format”: “{FORMAT}”")
    version = record.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise _error(subject, "has no whole number above 0 as its entry “version”")
    if version > VERSION:
        raise _error(
            subject,
            f"is of version {version} and this program reads up to version {VERSION}; "
            "open it with a newer version of the program",
        )
    for older in range(version, VERSION):
        record = {**_UPGRADES[older](record), "version": older + 1}
    printer = record.get("printer")
    if isinstance(printer, dict):
        kept = {name: value for name, value in printer.items() if name not in RETIRED}
        record = {**record, "printer": kept}
    return _to_plan(_checked(record, subject), subject)


def save_plan(plan: Plan, path: Path) -> None:
    """Write `plan` to the file `path`, whole or not at all.

    An absolute `PartFile.path` is written relative to the plan file's folder where the two are on
    one drive; a relative one is taken to be relative to that folder already.

    Raises
    ------
    PlanFileError
        See `plan_to_text`.
    ExportError
        If the file cannot be written; what was there before is whole.
    """
    if Path(plan.part.path).is_absolute():
        plan = with_part_path(plan, Path(plan.part.path), path)
    write_file(path, plan_to_text(plan).encode("utf-8"))


def load_plan(path: Path) -> Plan:
    """Read the plan file `path`; `PartFile.path` stays as the file has it, see `part_path`.

    Raises
    ------
    PlanFileError
        If the file cannot be read; see `plan_from_text`.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError as fault:
        raise _error(str(path), "does not exist; check its name") from fault
    except OSError as fault:
        raise _error(str(path), f"cannot be read: {(fault.strerror or '').lower()}") from fault
    except UnicodeDecodeError as fault:
        raise _error(str(path), "is not a plan: it is not UTF-8 text") from fault
    return plan_from_text(text, str(path))


def part_path(plan: Plan, plan_file: Path) -> Path:
    """Return where the model of `plan` is, for a plan kept in `plan_file`; absolute."""
    return Path(os.path.realpath(Path(os.path.realpath(plan_file)).parent / plan.part.path))


def with_part_path(plan: Plan, model: Path, plan_file: Path) -> Plan:
    """Return `plan` with the path of `model` written for a plan kept in `plan_file`.

    Relative to the plan file's folder, with forward slashes; absolute when on another drive.
    """
    target = os.path.realpath(model)
    try:
        text = os.path.relpath(target, Path(os.path.realpath(plan_file)).parent)
    except ValueError:  # another drive
        text = target
    return replace(plan, part=replace(plan.part, path=Path(text).as_posix()))


def _error(subject: str, what: str) -> PlanFileError:
    file = f"The plan file {subject}" if subject else "The plan"
    return PlanFileError(f"{file} {what}.", subject=subject)


def _parsed(text: str, subject: str) -> Any:
    def finite(digits: str) -> float:
        value = float(digits)
        if not math.isfinite(value):
            raise _error(subject, f"holds {digits}, which is not a finite number")
        if abs(value) > _LARGEST:
            raise _error(subject, f"holds the number {digits[:12]}, which is too large")
        return value

    def whole(digits: str) -> int:
        if len(digits) > 40:
            raise _error(subject, f"holds the number {digits[:12]}…, which is too large")
        return int(digits)

    def single(pairs: list[tuple[str, Any]]) -> Record:
        names = [name for name, _ in pairs]
        for name in names:
            if names.count(name) > 1:
                raise _error(subject, f"has the entry “{name}” twice in one place; keep one")
        return dict(pairs)

    try:
        return json.loads(
            text,
            parse_float=finite,
            parse_int=whole,
            parse_constant=finite,
            object_pairs_hook=single,
        )
    except json.JSONDecodeError as fault:
        raise _error(
            subject,
            f"is not valid JSON, line {fault.lineno} column {fault.colno}: {fault.msg.lower()}",
        ) from fault
    except RecursionError as fault:
        raise _error(subject, "is not a plan: its entries are nested too deep") from fault


def _checked(record: Record, subject: str) -> _PlanFile:
    def plain(value: Any) -> Any:
        return value.item() if isinstance(value, np.generic) else value

    try:
        text = json.dumps(record, default=plain, allow_nan=False)
        return _PlanFile.model_validate_json(text, extra="forbid")
    except LoadError as fault:
        raise _error(subject, f"has a wrong load case: {str(fault).rstrip('.')}") from fault
    except ValueError as fault:
        if isinstance(fault, ValidationError):
            raise _error(subject, _described(fault.errors()[0])) from fault
        raise _error(subject, "holds a number that is not finite") from fault
    except WorkshopError as fault:
        entry = "material" if str(fault).startswith(("Material “", "A material")) else "printer"
        raise _error(subject, f"has a wrong entry “{entry}”: {str(fault).rstrip('.')}") from fault


def _described(fault: ErrorDetails) -> str:
    place = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in fault["loc"])
    place = place.lstrip(".")
    if fault["type"] == "missing":
        return f"lacks the entry “{place}”"
    if fault["type"] in ("extra_forbidden", "unexpected_keyword_argument"):
        return f"has an entry “{place}” that no plan of version {VERSION} has; remove it"
    reason = fault["msg"]
    return f"has a wrong entry “{place}”: {reason[0].lower()}{reason[1:]}"


def _to_plan(file: _PlanFile, subject: str) -> Plan:
    place = ""
    for what, named in (("brace", file.braces), ("load case", file.loadings)):
        _check_names(what, [each.name for each in named], subject)
    try:
        cuts: dict[str, list[Cut]] = {"cuts": [], "seams_named_by": []}
        for name, found in cuts.items():
            for index, entry in enumerate(getattr(file, name) or ()):
                place = f"{name}[{index}]"
                found.append(Cut(Plane(entry.normal, entry.offset), entry.piece))
        directions: dict[str, Vector] = {}
        for name, direction in file.print_directions.items():
            place = f"print_directions.{name}"
            directions[name] = unit_tuple(direction)
        joints: list[Joint] = []
        for index, joint in enumerate(file.joints):
            place = f"joints[{index}]"
            if any(other.seam == joint.seam for other in joints):
                raise ValueError(f"seam “{joint.seam}” has a joint already")
            pins = tuple(replace(pin, axis=unit_tuple(pin.axis)) for pin in joint.pins)
            screws = tuple(replace(screw, axis=unit_tuple(screw.axis)) for screw in joint.screws)
            joints.append(replace(joint, pins=pins, screws=screws))
    except ValueError as fault:
        raise _error(subject, f"has a wrong entry “{place}”: {fault}") from fault
    return Plan(
        file.part,
        file.printer,
        tuple(cuts["cuts"]),
        directions,
        tuple(joints),
        file.seed,
        file.fastening,
        file.own_fastenings,
        None if file.seams_named_by is None else tuple(cuts["seams_named_by"]),
        file.material,
        file.braces,
        file.loadings,
    )


def _check_names(what: str, names: list[str], subject: str) -> None:
    for name in names:
        if not name.strip():
            raise _error(subject, f"has a {what} without a name")
        if names.count(name) > 1:
            raise _error(subject, f"has two of the name “{name}”: give each {what} its own")


def _rendered(value: Any, margin: str) -> str:
    """Return JSON text: one entry a line, but a list of numbers on one line."""
    inner = margin + "  "
    if isinstance(value, dict) and value:
        lines = [
            f"{inner}{json.dumps(name, ensure_ascii=False)}: {_rendered(entry, inner)}"
            for name, entry in value.items()
        ]
        return "{\n" + ",\n".join(lines) + f"\n{margin}}}"
    if isinstance(value, list | tuple) and value:
        texts = [_rendered(entry, inner) for entry in value]
        if all(isinstance(entry, int | float) for entry in value):
            return "[" + ", ".join(texts) + "]"
        return "[\n" + ",\n".join(inner + text for text in texts) + f"\n{margin}]"
    if isinstance(value, float):
        return repr(float(value) + 0.0)  # + 0.0 turns -0.0 into 0.0
    return json.dumps(value, ensure_ascii=False)
