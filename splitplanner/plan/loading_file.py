"""What a part has to stand, as a readable TOML file.

One table a load case; stations are mm from the low end of the part along the axis, vectors are in
the part's own frame::

    [loads."falls on its back"]
    axis = "x"                          # or "y", "z", or three numbers
    supports = [
        { station = 30 },               # holds across the axis; the first along it too
        { station = 470, clamped = true },
    ]
    weight = [0, 0, -1]                 # the part's own mass acts that way
    fall = { height = 750, stopping = 12 }   # mm; mass = 900 where something else falls, g

    [loads."pushed aside"]
    axis = "x"
    supports = [{ station = 30 }, { station = 470 }]
    forces = [{ station = 250, force = [0, 80, 0] }]          # N; at = [x, y, z] and moment, N·mm
    spread = [{ start = 100, end = 200, force = [0, 20, 0] }]

With a fall only the shares and directions of the loads count.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

import tomli_w

from splitplanner.errors import LoadError, PlanFileError
from splitplanner.plan.joints import Vector
from splitplanner.plan.load_cases import (
    Load,
    LoadCase,
    PointLoad,
    SpreadLoad,
    Support,
    WeightLoad,
)
from splitplanner.plan.loading import Fall, Loading
from splitplanner.solid import Solid
from splitplanner.toml_files import TomlFile

TABLE = "loads"
"""The table of the tables of load cases."""
_AXES: dict[str, Vector] = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}


@dataclass(frozen=True)
class _SupportEntry:
    station: float
    clamped: bool = False


@dataclass(frozen=True)
class _ForceEntry:
    station: float
    force: Vector = (0.0, 0.0, 0.0)
    moment: Vector = (0.0, 0.0, 0.0)
    at: Vector | None = None


@dataclass(frozen=True)
class _SpreadEntry:
    start: float
    end: float
    force: Vector


@dataclass(frozen=True)
class _CaseEntry:
    axis: Literal["x", "y", "z"] | Vector
    supports: tuple[_SupportEntry, ...]
    forces: tuple[_ForceEntry, ...] = ()
    spread: tuple[_SpreadEntry, ...] = ()
    weight: Vector | None = None
    fall: Fall | None = None


@dataclass(frozen=True)
class LoadSheet:
    """Load cases of a part that is not known yet.

    Attributes
    ----------
    loadings : tuple of Loading
        Their stations count from the low end of the part.
    """

    loadings: tuple[Loading, ...]

    def on(self, part: Solid) -> tuple[Loading, ...]:
        """Return the load cases of a part, stations as offsets along their axes.

        Raises
        ------
        LoadError
            If a station is beside the part.
        """
        return tuple(_placed(each, part) for each in self.loadings)


def _placed(loading: Loading, part: Solid) -> Loading:
    along = part.vertices @ loading.axis
    low, length = float(along.min()), float(along.max() - along.min())
    for station in _stations(loading.case):
        if not -1e-6 <= station <= length + 1e-6:
            raise LoadError(
                f"Load case “{loading.name}”: the station {station:g} mm is beside the part, which "
                f"is {length:.1f} mm long that way; stations count from its low end."
            )
    return shifted(loading, low)


def _stations(case: LoadCase) -> Iterator[float]:
    yield from (each.station for each in case.supports)
    for load in case.loads:
        if isinstance(load, PointLoad):
            yield load.station
        elif isinstance(load, SpreadLoad):
            yield from (load.start, load.end)


def shifted(loading: Loading, by: float) -> Loading:
    """Return a load case with all its stations `by` mm further along its axis."""

    def moved(load: Load) -> Load:
        if isinstance(load, PointLoad):
            return replace(load, station=load.station + by)
        if isinstance(load, SpreadLoad):
            return replace(load, start=load.start + by, end=load.end + by)
        return load

    supports = tuple(replace(each, station=each.station + by) for each in loading.case.supports)
    loads = tuple(map(moved, loading.case.loads))
    return replace(loading, case=replace(loading.case, supports=supports, loads=loads))


def read_loads(path: Path) -> LoadSheet:
    """Read load cases from a TOML file.

    Raises
    ------
    PlanFileError
        If the file is missing, not TOML, or an entry is unknown or makes no sense.
    """
    file = _file(str(path))
    return _sheet(file, file.text())


def loads_from_text(text: str, name: str = "") -> LoadSheet:
    """Read the text of such a file; `name` is that of the file, for the messages.

    Raises
    ------
    PlanFileError
        See `read_loads`.
    """
    return _sheet(_file(name), text)


def _file(name: str) -> TomlFile:
    return TomlFile("The file of loads", name, PlanFileError)


def _sheet(file: TomlFile, text: str) -> LoadSheet:
    entries = file.entries(text)
    tables = entries.pop(TABLE, None)
    if entries:
        raise file.fault(
            f"has a wrong entry “{next(iter(entries))}”: load cases are tables such as "
            f'[{TABLE}."falls"].'
        )
    if not isinstance(tables, Mapping) or not tables:
        raise file.fault(f'has no load case; write one as a table such as [{TABLE}."falls"].')
    return LoadSheet(tuple(_loading(file, name, table) for name, table in tables.items()))


def _loading(file: TomlFile, name: str, table: Any) -> Loading:
    place = f"{TABLE}.{name}"
    if not name.strip() or not isinstance(table, Mapping):
        raise file.fault(f'has a wrong entry “{place}”: a load case is a table, [{TABLE}."name"].')
    entry = file.value(_CaseEntry, table, place)
    axis = _AXES[entry.axis] if isinstance(entry.axis, str) else entry.axis
    try:
        loads: list[Load] = [
            PointLoad(each.station, each.force, each.moment, each.at) for each in entry.forces
        ]
        loads += [SpreadLoad(each.start, each.end, each.force) for each in entry.spread]
        if entry.weight is not None:
            loads.append(WeightLoad(entry.weight))
        supports = tuple(
            Support(each.station, clamped=each.clamped, axial=index == 0)
            for index, each in enumerate(entry.supports)
        )
        return Loading(axis, LoadCase(name, supports, tuple(loads)), entry.fall)
    except LoadError as fault:
        raise file.fault(f"has a wrong entry “{place}”: {fault}") from fault


def loads_to_text(loadings: tuple[Loading, ...], part: Solid) -> str:
    """Return the text of a file of the load cases of a part, which is read back the same.

    Only what the file can say: which supports hold along the axis and against twisting is as usual.
    """
    record = {}
    for loading in loadings:
        own = shifted(loading, -float((part.vertices @ loading.axis).min()))
        record[loading.name] = _entries(own)
    return tomli_w.dumps({TABLE: record})


def _entries(loading: Loading) -> dict[str, Any]:
    case, fall = loading.case, loading.fall
    word = next((word for word, axis in _AXES.items() if axis == loading.axis), None)
    found: dict[str, Any] = {"axis": word or list(loading.axis)}
    found["supports"] = [
        {"station": each.station, **({"clamped": True} if each.clamped else {})}
        for each in case.supports
    ]
    forces = [_force_entries(each) for each in case.loads if isinstance(each, PointLoad)]
    spread = [
        {"start": each.start, "end": each.end, "force": list(each.force)}
        for each in case.loads
        if isinstance(each, SpreadLoad)
    ]
    found |= {"forces": forces} if forces else {}
    found |= {"spread": spread} if spread else {}
    weights = [each.force for each in case.loads if isinstance(each, WeightLoad)]
    if weights:
        found["weight"] = [sum(parts) for parts in zip(*weights, strict=True)]
    if fall is not None:
        known = {"height": fall.height, "stopping": fall.stopping, "mass": fall.mass}
        found["fall"] = {name: value for name, value in known.items() if value is not None}
    return found


def _force_entries(load: PointLoad) -> dict[str, Any]:
    found: dict[str, Any] = {"station": load.station, "force": list(load.force)}
    if any(load.moment):
        found["moment"] = list(load.moment)
    if load.at is not None:
        found["at"] = list(load.at)
    return found
