"""Load cases on pieces in cells: where supports hold, and where loads press."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, to_vector
from splitplanner.errors import LoadError
from splitplanner.loaded.cells_spots import (
    SPOT,
    Spot,
    along_lines,
    fewer,
    inertia_of,
    outline_of,
    row_of,
    spot_under,
    touched,
    weight_of,
)
from splitplanner.plan import Load, Loading, PointLoad, SpreadLoad, Support, WeightLoad
from splitplanner.solid import Plane, Section
from splitplanner.strength.cells import FIRM, Assembly, Hold, Patch, seam_points, stacked

BAND = 10.0
"""Width of the band that a clamp holds, mm."""
CLAMPED = 50.0
"""Springs of a clamp, as `FIRM`. Stiffer ones stop all of a cell of which the band has a bit: with
cells of 5 to 10 mm a bar of 12 mm between two clamps gives by 0.8 % less to 1.5 % more than a beam
with these, and by up to 5.5 % less with springs of `FIRM`."""
_SLICE = 5.0
"""A load spread along the axis is put on sections no further apart than this, mm."""
_INSIDE = 0.5
"""Sections at the very ends of a piece are taken so far inside, mm; what is no further beside its
ends, as what lies on a cut, is on it too."""
_NEAR = 1e-9
_REACH = 0.5

_Whole = tuple[Callable[[Sequence[Spot], Sequence[Floats]], Any], Sequence[Spot], Sequence[Floats]]
"""What makes gaps of points that are held as a whole, these points, and along or about what."""
_Holding = tuple[list[tuple[int, Hold]], list[_Whole], float]
"""Points that are held, those that are as a whole, and the length or area of what is held."""


@dataclass(frozen=True, eq=False)
class Held:
    """How supports hold.

    Attributes
    ----------
    holds : tuple of (int, Hold)
        Points that are held, and of which piece.
    gaps : sparse (d, f) array
        What is held as a whole: gaps to the ground.
    springs : (d,) float array, N/mm
    aids : sparse (d, f) array
        Gaps of a few points that would hold the same; see `held_as_whole`.
    """

    holds: tuple[tuple[int, Hold], ...]
    gaps: Any
    springs: Floats
    aids: Any


class LoadedParts:
    """Pieces in cells under one load case.

    Parameters
    ----------
    assembly : Assembly
    loading : Loading
    """

    def __init__(self, assembly: Assembly, loading: Loading) -> None:
        self.assembly, self.loading = assembly, loading
        self.axis = np.array(loading.axis)
        heights = [model.solid.vertices @ self.axis for model in assembly.models]
        self.ends = [(float(each.min()), float(each.max())) for each in heights]

    # -- supports ---------------------------------------------------------------------------
    def held(self) -> Held:
        """Return how the supports hold.

        A clamp holds the surface of the part in a band round its station; one that may slide
        along the axis holds it across, and from tilting as a whole. Any other support touches
        the outline of the part at its station on the side from which it pushes, and keeps the
        mean of that from moving aside, from turning about the axis and from moving along it, as
        far as it is said to.

        Raises
        ------
        LoadError
            If there is nothing of the part at a support.
        """
        holds: list[tuple[int, Hold]] = []
        none = row_of(np.zeros((0, int(self.assembly.starts[-1]))))
        gaps, aids, springs = [none], [none], [np.zeros(0)]
        for support in self.loading.case.supports:
            own, wholes, size = self._clamped(support) if support.clamped else self._lying(support)
            holds += own
            for gaps_of, spots, ways in wholes:
                gaps.append(gaps_of(spots, ways))
                aids.append(gaps_of(fewer(spots), ways))
                springs.append(np.full(len(ways), size * self._firm()))
        return Held(tuple(holds), stacked(gaps), np.concatenate(springs), stacked(aids))

    def _clamped(self, support: Support) -> _Holding:
        u, v, axis = Plane(self.loading.axis, 0.0).frame
        spots = self._band(support.station)
        if support.axial:
            return self._holds(spots, (u, v, axis), CLAMPED), [], 0.0
        return (
            self._holds(spots, (u, v), CLAMPED),
            [(self._turning, spots, (u, v))],
            weight_of(spots),
        )

    def _lying(self, support: Support) -> _Holding:
        u, v, axis = Plane(self.loading.axis, 0.0).frame
        push, sections = self._push(support), self._sections(support.station)
        pieces, outlines = zip(
            *((each, outline_of(section)) for each, section in sections), strict=True
        )
        outline = along_lines(outlines, pieces)
        spots = outline if push is None else along_lines(touched(outlines, push), pieces)
        aside = () if push is None else (np.cross(axis, push),)
        ways = [*aside, *((axis,) if support.axial else ())]
        wholes: list[_Whole] = [(self._mean, spots, ways)] if ways else []
        if support.twist:
            wholes.append((self._turning, outline, (axis,)))
        return self._holds(spots, (u, v) if push is None else (push,)), wholes, weight_of(spots)

    def _holds(
        self, spots: Sequence[Spot], ways: Sequence[Floats], firm: float = FIRM
    ) -> list[tuple[int, Hold]]:
        found = []
        for spot in spots:
            model = self.assembly.models[spot.piece]
            rows = model.rows_at(spot.points, reach=_REACH)
            nowhere = np.zeros_like(spot.points)
            patch = Patch(spot.points, spot.weights, nowhere, rows)
            hold = Hold(patch, tuple(to_vector(way) for way in ways), firm)
            found.append((spot.piece, hold))
        return found

    def _firm(self) -> float:
        """Springs on a mm²: as those of seams that are glued."""
        models = self.assembly.models
        return (
            FIRM * max(m.modulus for m in models) / max(float(m.grid.steps.max()) for m in models)
        )

    def _frame(self, direction: ArrayLike) -> Floats:
        return self.assembly.models[0].grid.frame_along(direction)

    def _push(self, support: Support) -> Floats | None:
        """Return which way a support pushes the part, across the axis; None if it is not known."""
        loads, others = self.loading.case.loads, self.loading.case.supports
        total = np.zeros(3)
        for load in loads:
            share = 1.0
            if len(others) == 2:
                one = next(other for other in others if other is not support)
                span = one.station - support.station
                share = (one.station - self._station(load)) / span
            total = total + share * np.array(load.total)
        total -= self.axis * (self.axis @ total)
        size = float(np.linalg.norm(total))
        scale = max((float(np.linalg.norm(load.total)) for load in loads), default=0.0)
        return None if size <= 1e-6 * scale or size == 0.0 else -total / size

    def _station(self, load: Load) -> float:
        if isinstance(load, PointLoad):
            return load.station
        if isinstance(load, SpreadLoad):
            return 0.5 * (load.start + load.end)
        volumes = [model.solid.volume for model in self.assembly.models]
        centres = [model.solid.centroid @ self.axis for model in self.assembly.models]
        return float(np.dot(volumes, centres) / sum(volumes))

    def _sections(self, station: float) -> list[tuple[int, Section]]:
        """Return the sections of all pieces at a station: of both where it is on a cut.

        What is on a cut acts on the pieces on either side of it, by their areas; between pieces
        with room for glue it acts on those that are nearest.
        """
        low, high = np.array(self.ends).T
        at = float(np.clip(station, low.min(), high.max()))
        beside = np.maximum(low - at, at - high)
        most = float(beside.min()) + _INSIDE
        found = []
        for index in np.flatnonzero(beside <= most).tolist():
            inside = min(_INSIDE, 0.5 * (high[index] - low[index]))
            level = float(np.clip(at, low[index] + inside, high[index] - inside))
            section = self.assembly.models[index].solid.section(Plane(self.loading.axis, level))
            if not section.is_empty:
                found.append((index, section))
        if not found:
            raise LoadError(
                f"Load case “{self.loading.name}”: there is nothing of the part at {station:.0f} "
                "mm; move the support or load there."
            )
        return found

    def _band(self, station: float) -> list[Spot]:
        """Return the surface of all pieces in a band, as points."""
        low, high = station - BAND / 2.0, station + BAND / 2.0
        spots = []
        for index, model in enumerate(self.assembly.models):
            if self.ends[index][0] < high and self.ends[index][1] > low:
                patch = model.band(self.axis, low, high)
                spots.append(Spot(index, patch.points, patch.areas))
        if not spots:
            raise LoadError(
                f"Load case “{self.loading.name}”: there is nothing of the part at {station:.0f} "
                "mm; move the clamp there."
            )
        return spots

    # -- gaps -------------------------------------------------------------------------------
    def _motion(self, spot: Spot) -> Any:
        model = self.assembly.models[spot.piece]
        rows = model.rows_at(spot.points, reach=_REACH)
        return self.assembly.widened(spot.piece, model.motion(spot.points, rows))

    def _mean(self, spots: Sequence[Spot], ways: Sequence[Floats]) -> Any:
        total = weight_of(spots)
        return sum(
            row_of(np.kron(s.weights / total, np.atleast_2d(ways))) @ self._motion(s) for s in spots
        )

    def _turning(self, spots: Sequence[Spot], ways: Sequence[Floats]) -> Any:
        """Return how all points together turn about some ways, times how far out they are, mm."""
        middle, inertia = inertia_of(spots)
        rows = 0.0
        for s in spots:
            arms = np.cross(np.array(ways)[:, None], (s.points - middle)[None])
            rows = rows + row_of((arms * s.weights[:, None]).reshape(len(ways), -1)) @ self._motion(
                s
            )
        about = np.einsum("wi,ij,wj->w", ways, inertia, ways)
        return row_of(np.diag(np.sqrt(weight_of(spots) / about) / weight_of(spots))) @ rows

    # -- loads ------------------------------------------------------------------------------
    def forces(self) -> Floats:
        """Return the forces of all loads, (f,) N.

        Raises
        ------
        LoadError
            If one has nothing to act on.
        """
        total = np.zeros(self.assembly.starts[-1])
        for load in self.loading.case.loads:
            if isinstance(load, WeightLoad):
                total += self._weight(load)
            elif isinstance(load, SpreadLoad):
                total += self._spread(load)
            else:
                total += self._pressed(load)
        return total

    def _weight(self, load: WeightLoad) -> Floats:
        models = self.assembly.models
        volume = sum(model.grid.volume for model in models)
        each = np.array(load.force) / volume
        return self.assembly.forces({k: model.weighed(each) for k, model in enumerate(models)})

    def _spread(self, load: SpreadLoad) -> Floats:
        count = max(1, int(np.ceil((load.end - load.start) / _SLICE)))
        total = np.zeros(self.assembly.starts[-1])
        low, high = min(e[0] for e in self.ends), max(e[1] for e in self.ends)
        stations = load.start + (np.arange(count) + 0.5) * (load.end - load.start) / count
        for station in stations[(stations > low) & (stations < high)]:
            total += self._on_section(float(station), np.array(load.force) / count)
        return total

    def _on_section(self, station: float, force: Floats) -> Floats:
        sections = self._sections(station)
        area = sum(section.area for _, section in sections)
        total = np.zeros(self.assembly.starts[-1])
        for index, section in sections:
            frame = self._frame(section.plane.normal)
            at = seam_points(section.plane, section.polygons, frame=frame)
            spot = Spot(index, at.points, at.areas)
            total += self._motion(spot).T @ np.outer(at.areas / area, force).ravel()
        return total

    def _pressed(self, load: PointLoad) -> Floats:
        force, at = np.array(load.force), self._place(load)
        moment, total = np.array(load.moment), np.zeros(self.assembly.starts[-1])
        if force.any():
            solids = [m.solid for m in self.assembly.models]
            spots = spot_under(solids, at, force, self._frame(force))
            if not spots or self._away(spots, load.station) > SPOT:
                # It passes beside everything, or meets the part elsewhere as a pull at its end
                # does, and acts on the section as a whole.
                spots = self._band(load.station)
            middle, _ = inertia_of(spots)
            moment = moment + np.cross(at - middle, force)
            for spot in spots:
                shares = spot.weights / weight_of(spots)
                total += self._motion(spot).T @ np.outer(shares, force).ravel()
        if np.linalg.norm(moment) > _NEAR * float(np.linalg.norm(force)) * SPOT:
            total += self._turned(self._band(load.station), moment)
        return total

    def _away(self, spots: Sequence[Spot], station: float) -> float:
        """Return how far along the axis the middle of a place is from a station, mm."""
        middle, _ = inertia_of(spots)
        return abs(float(middle @ self.axis) - station)

    def _turned(self, spots: Sequence[Spot], moment: Floats) -> Floats:
        """Return forces on points that come to a couple and no force."""
        middle, inertia = inertia_of(spots)
        turn = np.linalg.solve(inertia, moment)
        total = np.zeros(self.assembly.starts[-1])
        for spot in spots:
            pushes = np.cross(turn, spot.points - middle) * spot.weights[:, None]
            total += self._motion(spot).T @ pushes.ravel()
        return total

    def _place(self, load: PointLoad) -> Floats:
        if load.at is not None:
            at = np.array(load.at)
        else:
            sections = self._sections(load.station)
            areas = np.array([section.area for _, section in sections])
            at = areas @ np.array([section.centroid for _, section in sections]) / areas.sum()
        found: Floats = at + self.axis * (load.station - self.axis @ at)
        return found
