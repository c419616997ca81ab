"""Where on a seam screws can stand, which way round, and with what of a length that is sold."""

from __future__ import annotations

import math
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
from splitplanner.joint.screws.fits import EitherWay
from splitplanner.joint.screws.places import Places
from splitplanner.joint.screws.sizes import Hardware, ScrewSize
from splitplanner.plan import Screw
from splitplanner.score import shrunk
from splitplanner.solid import to_polygons

MOST_PLACES = 400
"""Places that are looked at for one size."""
_LONGEST_BORE = 40.0
"""A head is not sunk deeper than this, mm: the key still stands out. Common practice, no source."""
_SUNK = 5.0
"""By how much a head is sunk below where it could bear, to suit a length, at most, mm."""
_SPOT_FACE = 0.5
"""A nut that lies open is sunk by no more than this share of its height, or no spanner holds it.
Common practice, no source."""
_STEP, _FIRST, _SKIN = 1.37, 0.01, 0.1
"""Of sections along the screws, mm: their distance, the first, and the depth under a head."""
_LEAN, _GRID = 1e-3, 1e-4
"""By how much outlines are drawn simpler, and the grid that they are laid on, mm."""
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
    ) -> Floats:
        """Return how far from the plane a head bears at places (n, 2), (n,) mm; nan for nowhere."""
        ...


@dataclass(frozen=True, eq=False)
class ScrewRoom:
    """A seam and what stands on it and beside it already.

    Attributes
    ----------
    material : SeamMaterial
    access : Access
        For heads with their driver; of a `SeamAccess`, or several, nuts are asked for with what
        holds them.
    bars : tuple of Bar
        What is there: pins, and hardware of other seams.
    coat : float
        mm.
    mirror : MirrorLine or None
    """

    material: SeamMaterial
    access: Access
    bars: tuple[Bar, ...]
    coat: float = 0.0
    mirror: MirrorLine | None = None
    _shapes: dict[tuple[int, float], MultiPolygon] = field(default_factory=dict, repr=False)
    _sections: dict[tuple[int, float], MultiPolygon] = field(default_factory=dict, repr=False)

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

        Of `spots` (n, 2) mm, if given; else of the candidates. With seats as far out as they can
        be, or else in common levels where they differ.
        """
        share = _exact if is_exact else _common
        spots = self.candidates(size) if spots is None else spots
        none = Places(size, np.empty((0, 2)), (), (), "room")
        if not len(spots):
            return none
        seats, far = (share(each) for each in self._bearings(size, spots, side))
        reached = np.isfinite(seats) & (np.isfinite(far) | (size.hold != "nut"))
        if not reached.any():
            return Places(size, none.places, (), (), "reach")
        ways = [
            list(size.fits(float(seat), float(there)))[:_MOST_FITS] if ok else []
            for seat, there, ok in zip(seats, far, reached, strict=True)
        ]
        if not any(ways):
            return Places(size, none.places, (), (), "length")
        chosen: list[Hardware | None] = [None] * len(spots)
        for number in range(_MOST_FITS):
            tried = [
                index
                for index, way in enumerate(ways)
                if chosen[index] is None and len(way) > number
            ]
            for index, ok in zip(
                tried, self._stand(size, spots, side, ways, tried, number), strict=True
            ):
                if ok:
                    chosen[index] = ways[index][number]
        standing = [index for index, one in enumerate(chosen) if one is not None]
        hardware = tuple(one for one in chosen if one is not None)
        found = Places(size, spots[standing], (side,) * len(standing), hardware, "places")
        if not standing:
            return Places(size, none.places, (), (), "material")
        clear = np.flatnonzero(self._clear(found)).tolist()
        return found.only(clear, "places" if clear else "clear")

    def _bearings(self, size: ScrewSize, spots: Floats, side: int) -> tuple[Floats, Floats]:
        """Return at which distances head and nut can bear, (n,) mm each."""
        # What it has to go in through is only known with the length, so it is asked again then.
        seats = self._seats(size, spots, side, size.thickest)
        if size.hold != "nut":
            return seats, np.full(len(spots), np.nan)
        return seats, self._nut_seats(size, spots, side, size.thickest)

    def _seats(
        self, size: ScrewSize, spots: Floats, side: int, thickest: float, length: float = 0.0
    ) -> Floats:
        """Return where heads of screws of a length can bear, at most `thickest` from the plane."""

        def asked(some: Floats, bore: float) -> Floats:
            return self.access.seats(
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
        deep = self._with(None).seats(
            spots,
            -side,
            _roomy(size.nut_way),
            thickest + size.nut_height,
            _LONGEST_BORE,
            head_height=size.diameter,
        )
        walled = self._holds(spots, -side, size.nut_way / 2 + size.end_cover, size.diameter)
        return np.where(walled, deep - size.nut_height, np.nan)

    def _with(self, tool: Tool | None) -> Access:
        """Return what tells where a nut can sit."""
        if isinstance(self.access, EitherWay):
            return self.access.with_tool(tool)
        if isinstance(self.access, SeamAccess):
            return replace(self.access, tool=tool)
        return self.access

    def _stand(
        self,
        size: ScrewSize,
        spots: Floats,
        side: int,
        ways: list[list[Hardware]],
        tried: list[int],
        number: int,
    ) -> Bools:
        """Return which places have material round and beyond the hole, and under the head."""
        ok = np.zeros(len(tried), dtype=np.bool_)
        groups: dict[tuple[float, float], list[int]] = {}
        for at, index in enumerate(tried):
            way = ways[index][number]
            groups.setdefault((round(way.seat, 2), round(way.depth, 2)), []).append(at)
        for (seat, depth), members in groups.items():
            some = spots[[tried[at] for at in members]]
            good = self._holds(some, side, size.edge_distance, seat)
            good &= self._bears(some, side, size.bearing, size.clearance, seat)
            good &= self._leaves_walls(some, side, size.head_room / 2, size.end_cover, seat)
            good &= self._holds(some, -side, size.edge_distance, depth)
            if size.hold == "nut":
                good &= self._bears(some, -side, size.nut_bearing, size.clearance, depth)
                good &= self._leaves_walls(some, -side, size.nut_way / 2, size.end_cover, depth)
            else:
                cover = depth + self.coat + size.end_cover
                good &= self._holds(some, -side, size.hole / 2, cover)
            ok[members] = good
        return ok

    def _shape(self, side: int, depth: float) -> MultiPolygon:
        """Return what of the seam has material on one side, down to `depth`."""
        key = side, round(depth, 3)
        if key not in self._shapes:
            before = math.ceil(depth / _STEP - 1e-9) - 1
            start = self.material.seam.section.shape.simplify(_LEAN)
            shape = self._shape(side, before * _STEP) if before > 0 else start
            level = max(depth - _FIRST, depth / 2)
            self._shapes[key] = self._cut(side, level, shape)
        return self._shapes[key]

    def _cut(self, side: int, level: float, shape: MultiPolygon) -> MultiPolygon:
        lean = self._section(side, level)
        if shapely.equals_exact(shape, lean, _LEAN, normalize=True):
            return shape
        return MultiPolygon(to_polygons(shapely.intersection(shape, lean, grid_size=_GRID)))

    def _section(self, side: int, level: float) -> MultiPolygon:
        """Return what one piece has at a distance from the plane."""
        key = side, round(level, 2)
        if key not in self._sections:
            piece = self.material.above if side > 0 else self.material.below
            section = piece.section(self.material.seam.plane.shifted(side * level))
            lean = MultiPolygon(to_polygons(section.shape.simplify(_LEAN)))
            shapely.prepare(lean)
            self._sections[key] = lean
        return self._sections[key]

    def _holds(self, spots: Floats, side: int, radius: float, depth: float) -> Bools:
        """Return whether discs of `radius` lie in the sections of one piece down to `depth`."""
        room = shrunk(self._shape(side, depth), radius)
        if room.is_empty:
            return np.zeros(len(spots), dtype=np.bool_)
        near: Bools = shapely.distance(room, shapely.points(spots)) <= _ROUNDING
        return near

    def _bears(self, spots: Floats, side: int, bearing: float, hole: float, seat: float) -> Bools:
        """Return under which heads or nuts most of their ring is material."""
        level = max(seat - _SKIN, seat / 2)
        shape = self._cut(side, level, self.material.seam.section.shape)
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
            shape = self._section(side, float(level))
            if shape.is_empty or not near.any():
                break
            thin[near] |= shapely.contains_xy(shape, edge[near, 0], edge[near, 1])
        return np.asarray(~thin.reshape(len(spots), -1).any(axis=1))

    def _clear(self, found: Places) -> Bools:
        """Return which screws keep their distance from what is there already."""
        ok = np.ones(len(found.places), dtype=np.bool_)
        if not self.bars:
            return ok
        plane = self.material.seam.plane
        at = plane.to_space(found.places)
        groups: dict[tuple[int, Hardware], list[int]] = {}
        for index, key in enumerate(zip(found.sides, found.hardware, strict=True)):
            groups.setdefault(key, []).append(index)
        for (side, hardware), members in groups.items():
            first = found.size.screw_in(plane, found.places[members[0]], side, hardware)
            shift = at[members] - np.array(first.at)
            for mine in bars_of(first, REACH):
                for other in self.bars:
                    if not keep_apart(mine, other):
                        continue
                    apart = segment_distances(
                        mine.start + shift, mine.end + shift, other.start, other.end
                    )
                    allowed = mine.radius + other.radius + max(mine.wall, other.wall)
                    ok[members] &= apart >= allowed - _ROUNDING
        return ok

    def stands(self, found: Places, index: int) -> bool:
        """Return whether one screw truly stands: judged on the solids, with its own length."""
        size, side, hardware = found.size, found.sides[index], found.hardware[index]
        place = found.places[index]
        screw = size.screw_in(self.material.seam.plane, place, side, hardware)
        return self._is_held(screw, side, size.end_cover) and self._is_reached(
            size, place[None, :], side, hardware
        )

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

    def _is_reached(self, size: ScrewSize, place: Floats, side: int, hardware: Hardware) -> bool:
        seat = self._seats(size, place, side, hardware.seat, hardware.length)
        if not abs(float(seat[0]) - hardware.seat) <= _FIRST:
            return False
        if size.hold != "nut":
            return True
        tip = hardware.length - hardware.seat - hardware.depth
        far = self._nut_seats(size, place, side, hardware.depth, _LEVEL, tip)
        return bool(abs(float(far[0]) - hardware.depth) <= _FIRST)


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
