"""A load case as markers along its axis, and the load case after one of them was moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from splitplanner.arrays import to_vector
from splitplanner.plan import (
    Loading,
    PointLoad,
    SpreadLoad,
    Support,
    Vector,
    WeightLoad,
    direction_words,
)
from splitplanner.window.quantities import Quantities

Kind = Literal["support", "clamp", "force", "couple", "spread", "start", "end", "weight"]
"""Of a spread load there are three: all of it, and both its ends."""
SUPPORTS: tuple[Kind, ...] = ("support", "clamp")
_ALONG = 0.9
"""Share of a force that is along the axis from which on it is drawn along it."""


@dataclass(frozen=True)
class LoadMark:
    """A support, or a place where a load acts.

    Attributes
    ----------
    index : int
        By which it is told from other markers of the load case.
    kind : Kind
    number : int
        Of the support or of the load in the load case, from 0.
    station : float
        Offset along the axis, mm.
    name : str
        What it is called.
    label : str
        What is written beside it, as short as can be.
    way : (along, up)
        In which way an arrow is drawn: 1 to the right, -1 to the left, 0; and 1 up, -1 down, 0.
    reach : (start, end) or None
        Of what is spread, mm.
    """

    index: int
    kind: Kind
    number: int
    station: float
    name: str
    label: str = ""
    way: tuple[int, int] = (0, 0)
    reach: tuple[float, float] | None = None

    @property
    def is_support(self) -> bool:
        """Whether it holds the part, rather than loads it."""
        return self.kind in SUPPORTS

    @property
    def is_movable(self) -> bool:
        """Whether it has a place of its own."""
        return self.kind != "weight"


def load_marks(
    loading: Loading, ends: tuple[float, float], quantities: Quantities | None = None
) -> tuple[LoadMark, ...]:
    """Return the markers of a load case.

    Parameters
    ----------
    loading : Loading
    ends : (low, high)
        Of the part along its axis, mm.
    quantities : Quantities, optional
        How figures are written.
    """
    quantities = quantities or Quantities()
    marks: list[LoadMark] = []
    for number, support in enumerate(loading.case.supports):
        kind: Kind = "clamp" if support.clamped else "support"
        name = f"{kind.capitalize()} {number + 1}"
        marks.append(LoadMark(len(marks), kind, number, support.station, name))
    for number, load in enumerate(loading.case.loads):
        is_couple = isinstance(load, PointLoad) and not any(load.force)
        label, way = _told(load, loading, quantities), _way(load.total, loading.axis)
        name = f"{'Couple' if is_couple else 'Force'} {number + 1}"
        if isinstance(load, PointLoad):
            shape: Kind = "couple" if is_couple else "force"
            marks.append(LoadMark(len(marks), shape, number, load.station, name, label, way))
        elif isinstance(load, SpreadLoad):
            reach = load.start, load.end
            places: tuple[tuple[Kind, float, str], ...] = (
                ("spread", sum(reach) / 2, name),
                ("start", load.start, f"Start of {name.lower()}"),
                ("end", load.end, f"End of {name.lower()}"),
            )
            for part, station, told in places:
                shown = label if part == "spread" else ""
                marks.append(LoadMark(len(marks), part, number, station, told, shown, way, reach))
        else:
            name = f"{name}, spread as the mass is"
            middle = sum(ends) / 2
            marks.append(LoadMark(len(marks), "weight", number, middle, name, label, way, ends))
    return tuple(marks)


def marks_while_moved(
    marks: Sequence[LoadMark], index: int, station: float
) -> tuple[LoadMark, ...]:
    """Return markers as they are shown while one of them is in hand at another offset, mm."""
    moved = next(each for each in marks if each.index == index)
    way = station - moved.station

    def shown(mark: LoadMark) -> LoadMark:
        if mark.reach is None or moved.reach is None or mark.number != moved.number:
            return replace(mark, station=station) if mark.index == index else mark
        start = mark.reach[0] + (0.0 if moved.kind == "end" else way)
        end = mark.reach[1] + (0.0 if moved.kind == "start" else way)
        places = {"start": start, "end": end}
        at = places.get(mark.kind, (start + end) / 2)
        return replace(mark, station=at, reach=(start, end))

    return tuple(shown(mark) for mark in marks)


def snapped(
    station: float, near: float, ends: tuple[float, float], places: Sequence[float]
) -> float:
    """Return a sensible offset beside one, mm; else in tenths of a mm from the part's low end.

    Parameters
    ----------
    station : float
    near : float
        How far from a place it clicks in, mm.
    ends : (low, high)
        Of the part; they and its middle are sensible too.
    places : sequence of float
    """
    low, high = ends
    best = min((low, high, (low + high) / 2, *places), key=lambda place: abs(place - station))
    return best if abs(best - station) <= near else low + round(station - low, 1)


def with_moved(loading: Loading, mark: LoadMark, station: float) -> Loading:
    """Return a load case with the support or load of a marker at another offset, mm.

    Raises
    ------
    LoadError
        If two supports would be at one station, or a spread load end before it starts.
    """
    case, way = loading.case, station - mark.station
    if mark.is_support:
        supports = list(case.supports)
        supports[mark.number] = replace(supports[mark.number], station=station)
        return replace(loading, case=replace(case, supports=tuple(supports)))
    load = case.loads[mark.number]
    if isinstance(load, PointLoad):
        at = None if load.at is None else np.array(load.at) + way * np.array(loading.axis)
        load = replace(load, station=station, at=None if at is None else to_vector(at))
    elif isinstance(load, SpreadLoad):
        start = load.start if mark.kind == "end" else load.start + way
        end = load.end if mark.kind == "start" else load.end + way
        load = replace(load, start=start, end=end)
    loads = (*case.loads[: mark.number], load, *case.loads[mark.number + 1 :])
    return replace(loading, case=replace(case, loads=loads))


def without_mark(loading: Loading, mark: LoadMark) -> Loading:
    """Return a load case without the support or load of a marker.

    Raises
    ------
    LoadError
        If nothing would hold the part.
    """
    case = loading.case
    if mark.is_support:
        supports = case.supports[: mark.number] + case.supports[mark.number + 1 :]
        return replace(loading, case=replace(case, supports=supports))
    loads = case.loads[: mark.number] + case.loads[mark.number + 1 :]
    return replace(loading, case=replace(case, loads=loads))


def with_support(loading: Loading, support: Support) -> Loading:
    """Return a load case with one more support; see `with_moved`.

    Where nothing keeps the part from moving along the axis, the new one does.
    """
    case = loading.case
    if not any(each.axial for each in case.supports):
        support = replace(support, axial=True)
    return replace(loading, case=replace(case, supports=(*case.supports, support)))


def with_load(loading: Loading, load: PointLoad | SpreadLoad | WeightLoad) -> Loading:
    """Return a load case with one more load."""
    case = loading.case
    return replace(loading, case=replace(case, loads=(*case.loads, load)))


def _told(
    load: PointLoad | SpreadLoad | WeightLoad, loading: Loading, quantities: Quantities
) -> str:
    """Return how much a load is, and in which way; of a fall only its share is meant."""
    if isinstance(load, PointLoad) and not any(load.force):
        turning = float(np.linalg.norm(load.moment)) / 1000.0
        return f"{quantities.number(turning, 1)} N·m {direction_words(load.moment)}".rstrip()
    size = float(np.linalg.norm(load.total))
    if loading.fall is not None:
        whole = sum(float(np.linalg.norm(each.total)) for each in loading.case.loads)
        words = "fall" if size == whole else f"{quantities.share(size / whole)} of the fall"
    else:
        words = f"{quantities.number(size, 0 if size >= 10.0 else 1)} N"
    return f"{words} {direction_words(load.total)}".rstrip()


def _way(force: Sequence[float], axis: Vector) -> tuple[int, int]:
    """Return in which way an arrow is drawn over the axis."""
    pull, size = float(np.dot(force, axis)), float(np.linalg.norm(force))
    if size == 0.0:
        return 0, 0
    if abs(pull) > _ALONG * size:
        return (1 if pull > 0.0 else -1), 0
    across = np.array(force) - pull * np.array(axis)
    # Down is down where it can be told; else against the axis that it is nearest to.
    upright = across[2] if abs(across[2]) > 0.1 * size else across[int(np.abs(across).argmax())]
    return 0, (1 if upright > 0.0 else -1)
