"""Where on a seam screws can stand, which way round, and with what of a length that is sold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Bools, Floats
from splitplanner.joint.fasteners.distances import Bar, bars_of, keep_apart
from splitplanner.joint.fasteners.mirrored import MirrorLine
from splitplanner.joint.holes.drilling import REACH
from splitplanner.joint.material import SeamMaterial, is_solid_round, segment_distances
from splitplanner.joint.pins.pattern import candidates
from splitplanner.joint.screws.access import SeamAccess, Tool
from splitplanner.joint.screws.checks import LEAST_BEARING
from splitplanner.joint.screws.places import Places
from splitplanner.joint.screws.sizes import Hardware, ScrewSize
from splitplanner.plan import Screw
from splitplanner.score import shrunk

MOST_PLACES = 400
"""Places that are looked at for one size."""
_LONGEST_BORE = 40.0
"""A head is not sunk deeper than this, mm: the key still stands out. Common practice, no source."""
_SUNK = 5.0
"""By how much a head is sunk below where it could bear, to suit a length, at most, mm."""
_SPOT_FACE = 0.5
"""A nut that lies open is sunk by no more than this share of its height, or no spanner holds it.
Common practice, no source."""
_SKIN, _SAME = 0.1, 0.01
"""Depth under a head at which it is looked whether it bears, and what tells seats apart, mm."""
_SLACK = 0.005
"""Kept over the edge distance, mm: more than the error of the offset outlines."""
_BESIDE = 0.1
"""By how much a head's room keeps off an outline along which places are looked for, mm."""
_MOST_FITS = 3
_TURNS, _LEVELS, _RIM = 24, 4, 2.0
"""Directions and levels in which walls beside a bore are looked at, and the height up to which a
rim that is left round a sunk head may be thin, mm."""
_LEVEL, _SHARED = 0.5, 0.1
"""Heads on curved faces are sunk to steps of the first, mm, unless this share of all is level."""
_ROUNDING = 1e-6


class Access(Protocol):
    """Tells where a head or nut can sit and be reached; see `splitplanner.joint.screws.access`."""

    def seats(
        self,
        places: Floats,
        side: int,
        head_room: float,
        thickest: float,
        longest_counterbore: float,
        *,
        head_height: float | None = None,
        screw_length: float = 0.0,
        by_hand: bool = False,
    ) -> Floats:
        """Return how far from the plane a head bears at places (n, 2), (n,) mm; nan for nowhere."""
        ...


@dataclass(frozen=True, eq=False)
class ScrewRoom:
    """A seam and where screws have room on it; what has been found is remembered.

    Attributes
    ----------
    material : SeamMaterial
    access : Access
        For heads with their driver; of a `SeamAccess` nuts are asked for with what
        holds them.
    coat : float
        mm.
    mirror : MirrorLine or None
    """

    material: SeamMaterial
    access: Access
    coat: float = 0.0
    mirror: MirrorLine | None = None
    _places: dict[tuple[ScrewSize, int, bool], Places] = field(default_factory=dict, repr=False)
    _held: dict[Screw, bool] = field(default_factory=dict, repr=False)

    def room(self, size: ScrewSize) -> MultiPolygon:
        """Return where the axis of a screw may stand by its edge distance."""
        return shrunk(self.material.common(size.diameter), size.edge_distance + _SLACK)

    def candidates(self, size: ScrewSize) -> Floats:
        """Return places to try, (n, 2) mm: those of pins, and where head or nut just have room.

        With a mirror those on its left, their images, and points of the line itself.
        """
        found = [np.empty((0, 2))]
        base = self.material.common(size.diameter)
        edge = size.edge_distance + _SLACK
        beside = {
            round(room / 2 + wall, 3)
            for room in (size.head_room, size.nut_way)
            for wall in (_BESIDE, size.end_cover + _SLACK)
        }
        for margin in (edge, *sorted(margin for margin in beside if margin > edge)):
            room = shrunk(base, margin)
            if not room.is_empty:
                found.append(candidates(room, self.material.seam.section.shape)[0])
        places = np.vstack(found)
        if len(places) > MOST_PLACES:
            places = places[np.linspace(0, len(places) - 1, MOST_PLACES).astype(int)]
        if self.mirror is not None and len(places):
            across = self.mirror.side(places)
            left = places[across > size.spacing / 2]
            middle = self.mirror.onto(places[np.abs(across) < 1.0])
            places = np.vstack([left, self.mirror.image(left), middle])
        rounded = np.round(places, 6)
        _, first = np.unique(rounded, axis=0, return_index=True)
        return places[np.sort(first)]

    def places(
        self, size: ScrewSize, side: int, spots: Floats | None = None, *, is_exact: bool = False
    ) -> Places:
        """Return where screws can stand with their heads on `side`, +1 for above.

        Whatever else is on the seam, see `clear_of`. Of `spots` (n, 2) mm, if given; else of the
        candidates. With seats as far out as they can be, or else in common levels where they
        differ.
        """
        if spots is not None:
            return self._found(size, side, spots, is_exact)
        key = size, side, is_exact
        if key not in self._places:
            self._places[key] = self._found(size, side, self.candidates(size), is_exact)
        return self._places[key]

    def _found(self, size: ScrewSize, side: int, spots: Floats, is_exact: bool) -> Places:
        share = _exact if is_exact else _common
        none = Places(size, np.empty((0, 2)), (), (), "room")
        if not len(spots):
            return none
        # What turns them is only asked for with the length, which has to go in there first.
        seats = share(self._seats(self._with(), size, spots, side, size.thickest))
        reached = np.isfinite(seats)
        far = np.full(len(spots), np.nan)
        if size.hold == "nut":
            far = share(self._nut_seats(size, spots, side, size.thickest))
            reached &= np.isfinite(far)
        if not reached.any():
            return replace(none, stage="reach")
        ways = [
            list(size.fits(float(seat), float(there)))[:_MOST_FITS] if ok else []
            for seat, there, ok in zip(seats, far, reached, strict=True)
        ]
        if not any(ways):
            return replace(none, stage="length")
        chosen, was_held = self._chosen(size, spots, side, ways)
        standing = [index for index, one in enumerate(chosen) if one is not None]
        if not standing:
            return replace(none, stage="reach" if was_held else "material")
        hardware = tuple(one for one in chosen if one is not None)
        return Places(size, spots[standing], (side,) * len(standing), hardware, "places")

    def _chosen(
        self, size: ScrewSize, spots: Floats, side: int, ways: list[list[Hardware]]
    ) -> tuple[list[Hardware | None], bool]:
        """Return for each place the first way that holds and is reached, and if any was held."""
        chosen: list[Hardware | None] = [None] * len(spots)
        was_held = False
        for number in range(_MOST_FITS):
            groups: dict[Hardware, list[int]] = {}
            for index, way in enumerate(ways):
                if chosen[index] is None and len(way) > number:
                    groups.setdefault(way[number], []).append(index)
            for hardware, members in groups.items():
                held = [
                    index
                    for index, ok in zip(
                        members, self._stand(size, spots[members], side, hardware), strict=True
                    )
                    if ok
                ]
                was_held = was_held or bool(held)
                reached = self._reached(size, spots[held], side, hardware)
                for index, ok in zip(held, reached, strict=True):
                    chosen[index] = hardware if ok else None
        return chosen, was_held

    def _seats(
        self,
        access: Access,
        size: ScrewSize,
        spots: Floats,
        side: int,
        thickest: float,
        length: float = 0.0,
    ) -> Floats:
        """Return where heads of screws of a length can bear, at most `thickest` from the plane."""

        def asked(some: Floats, bore: float) -> Floats:
            return access.seats(
                some,
                side,
                _roomy(size.head_room),
                thickest,
                bore,
                head_height=max(size.head_height, _BESIDE),
                screw_length=length,
            )

        # A slope or a curve is cut into; a longer bore has to be walled all round.
        seats = asked(spots, _roomy(size.head_room) + (_SUNK if length else 0.0))
        deep = np.isnan(seats)
        deep &= self._holds(spots, side, size.head_room / 2 + size.end_cover, thickest + _BESIDE)
        if deep.any():
            seats[deep] = asked(spots[deep], _LONGEST_BORE)
        return seats

    def _nut_seats(
        self,
        size: ScrewSize,
        spots: Floats,
        side: int,
        thickest: float,
        sunk: float = 0.0,
        tip: float = 0.0,
    ) -> Floats:
        """Return where nuts can bear; `tip` is how far a screw stands out beyond, mm, if known."""
        if not size.nut_room:
            # The nut is put on over the screw's tip and held by what takes its outside.
            high = max(size.nut_height + size.under_nut + size.diameter, tip)
            holder = Tool("straight", size.nut_way, high + size.diameter)
            bore = _SPOT_FACE * size.nut_height + sunk
            return self._with(holder).seats(
                spots, -side, _roomy(size.nut_way), thickest, bore, head_height=high
            )
        # A pocket holds the nut over its whole height, and is walled all round.
        deep = self._with().seats(
            spots,
            -side,
            _roomy(size.nut_way),
            thickest + size.nut_height,
            _LONGEST_BORE,
            head_height=size.diameter,
            by_hand=True,
        )
        walled = self._holds(spots, -side, size.nut_way / 2 + size.end_cover, size.diameter)
        return np.where(walled, deep - size.nut_height, np.nan)

    def _with(self, *tools: Tool) -> Access:
        """Return what tells where a head or nut can sit that other tools reach, or none."""
        if isinstance(self.access, SeamAccess):
            return replace(self.access, tools=tools)
        return self.access

    def _stand(self, size: ScrewSize, spots: Floats, side: int, hardware: Hardware) -> Bools:
        """Return which places have material round and beyond the hole, and under the head."""
        seat, depth = hardware.seat, hardware.depth
        good = self._holds(spots, side, size.edge_distance, seat)
        good &= self._bears(spots, side, size.bearing, size.clearance, seat)
        good &= self._leaves_walls(spots, side, size.head_room / 2, size.end_cover, seat)
        good &= self._holds(spots, -side, size.edge_distance, depth)
        if size.hold == "nut":
            good &= self._bears(spots, -side, size.nut_bearing, size.clearance, depth)
            good &= self._leaves_walls(spots, -side, size.nut_way / 2, size.end_cover, depth)
        else:
            cover = depth + self.coat + size.end_cover
            good &= self._holds(spots, -side, size.hole / 2, cover)
        return good

    def _holds(self, spots: Floats, side: int, radius: float, depth: float) -> Bools:
        """Return whether discs of `radius` lie in the sections of one piece down to `depth`."""
        room = shrunk(self.material.on_side(side, depth), radius)
        if room.is_empty:
            return np.zeros(len(spots), dtype=np.bool_)
        near: Bools = shapely.distance(room, shapely.points(spots)) <= _ROUNDING
        return near

    def _bears(self, spots: Floats, side: int, bearing: float, hole: float, seat: float) -> Bools:
        """Return under which heads or nuts most of their ring is material."""
        level = max(seat - _SKIN, seat / 2)
        shape = self.material.cut(side, level, self.material.seam.section.shape)
        if bearing <= hole:
            return np.zeros(len(spots), dtype=np.bool_)
        points = shapely.points(spots)
        rings = shapely.difference(
            shapely.buffer(points, bearing / 2), shapely.buffer(points, hole / 2)
        )
        share = shapely.area(shapely.intersection(rings, shape)) / shapely.area(rings)
        enough: Bools = share >= LEAST_BEARING
        return enough

    def _leaves_walls(
        self, spots: Floats, side: int, radius: float, wall: float, seat: float
    ) -> Bools:
        """Return which bores from the seat outwards leave walls where they cut into material.

        Where the bore's edge is in material well above the seat, the seam's outline is at least
        `wall` farther out: judged in a number of directions, on a few levels.
        """
        turns = np.linspace(0, 2 * np.pi, _TURNS, endpoint=False)
        round_it = np.column_stack([np.cos(turns), np.sin(turns)])
        edge, beside = (
            (spots[:, None] + size * round_it).reshape(-1, 2) for size in (radius, radius + wall)
        )
        outline = self.material.seam.section.shape
        near = ~shapely.contains_xy(outline, beside[:, 0], beside[:, 1])
        thin = np.zeros(len(edge), dtype=np.bool_)
        for level in np.linspace(seat + _RIM, seat + max(2 * radius, _RIM), _LEVELS):
            shape = self.material.section(side, float(level))
            if shape.is_empty or not near.any():
                break
            thin[near] |= shapely.contains_xy(shape, edge[near, 0], edge[near, 1])
        return np.asarray(~thin.reshape(len(spots), -1).any(axis=1))

    def clear_of(self, found: Places, bars: Sequence[Bar]) -> Places:
        """Return those that keep their distance from what is there: pins, hardware of others."""
        if not len(found.places):
            return found
        ok = np.ones(len(found.places), dtype=np.bool_)
        plane = self.material.seam.plane
        at = plane.to_space(found.places)
        groups: dict[tuple[int, Hardware], list[int]] = {}
        for index, key in enumerate(zip(found.sides, found.hardware, strict=True)):
            groups.setdefault(key, []).append(index)
        for (side, hardware), members in groups.items():
            first = found.size.screw_in(plane, found.places[members[0]], side, hardware)
            shift = at[members] - np.array(first.at)
            for mine in bars_of(first, REACH):
                for other in bars:
                    if not keep_apart(mine, other):
                        continue
                    apart = segment_distances(
                        mine.start + shift, mine.end + shift, other.start, other.end
                    )
                    allowed = mine.radius + other.radius + max(mine.wall, other.wall)
                    ok[members] &= apart >= allowed - _ROUNDING
        return found.only(np.flatnonzero(ok).tolist(), found.stage if ok.any() else "clear")

    def stands(self, found: Places, index: int) -> bool:
        """Return whether one screw truly stands: judged on the solids."""
        size, side = found.size, found.sides[index]
        plane = self.material.seam.plane
        screw = size.screw_in(plane, found.places[index], side, found.hardware[index])
        if screw not in self._held:
            self._held[screw] = self._is_held(screw, side, size.end_cover)
        return self._held[screw]

    def _is_held(self, screw: Screw, side: int, cover: float) -> bool:
        pieces = (self.material.above, self.material.below)
        head, far = pieces if side > 0 else pieces[::-1]
        along = np.array(screw.axis)
        held = is_solid_round(head, screw.at, -along, screw.edge_distance, screw.seat)
        held = held and is_solid_round(far, screw.at, along, screw.edge_distance, screw.depth)
        if screw.hold != "nut" and held:
            deep = screw.depth + self.coat + cover
            held = is_solid_round(far, screw.at, along, screw.hole / 2, deep)
        return held

    def _reached(self, size: ScrewSize, spots: Floats, side: int, hardware: Hardware) -> Bools:
        """Return at which places a screw goes in and is turned, and its nut is held."""
        ok = np.zeros(len(spots), dtype=np.bool_)
        if not len(spots):
            return ok
        seats = self._seats(self.access, size, spots, side, hardware.seat, hardware.length)
        ok = np.abs(seats - hardware.seat) <= _SAME
        if size.hold == "nut" and ok.any():
            tip = hardware.length - hardware.seat - hardware.depth
            far = self._nut_seats(size, spots[ok], side, hardware.depth, _LEVEL, tip)
            ok[ok] = np.abs(far - hardware.depth) <= _SAME
        return ok


def _common(lengths: Floats) -> Floats:
    """Return lengths rounded down to few: those that many share, to microns, and steps.

    Flat faces stay what they are; on curved and sloping ones heads are sunk to common levels.
    """
    exact = _exact(lengths)
    levels, counts = np.unique(np.round(exact, 2), return_counts=True)
    shared = levels[counts >= max(_SHARED * len(lengths), 2)]
    steps = np.floor(exact / _LEVEL) * _LEVEL
    result: Floats = np.where(np.isin(np.round(exact, 2), shared), exact, steps)
    return result


def _exact(lengths: Floats) -> Floats:
    """Return lengths rounded down to microns."""
    result: Floats = np.floor(lengths * 1e3 + 1e-3) / 1e3
    return result


def _roomy(room: float) -> float:
    """Return a diameter a little larger, so that no bore grazes what lines of sight just miss."""
    return 1.01 * room + _BESIDE
