"""Stations: the places along a direction where a cut is worth trying."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from splitplanner.plan import Vector
from splitplanner.solid import Plane, Solid, mirror_offset
from splitplanner.suggest.box_sizes import bed_sizes, leaning_reaches
from splitplanner.suggest.candidates import Profile, profile_along
from splitplanner.suggest.estimate.blocks import Block
from splitplanner.workshop import Bed

_NEAT = 2.0
"""Places are given in whole parts of a millimetre, so many to one: what a maker can write down."""
_FLAT = 0.05
"""A flat counts when it has this share of the part's largest section."""


@dataclass(eq=False)
class Stations:
    """Finds stations on one part.

    Attributes
    ----------
    solid : Solid
        The part or a light stand-in.
    bed : Bed
    """

    solid: Solid
    bed: Bed
    _profiles: dict[Vector, Profile] = field(default_factory=dict)
    _mirrors: dict[Vector, float | None] = field(default_factory=dict)
    _flats: dict[Vector, list[float]] = field(default_factory=dict)

    def along(self, block: Block, normal: Vector, *, naturals: int = 2) -> list[float]:
        """Return offsets at which to cut a block, no two close to each other, mm.

        The middle plane of a symmetric part, as far as the bed reaches from either end, even
        shares, ends of ribs and other flats, and where the section is short.
        """
        direction = np.array(normal)
        heights = block.points @ direction
        low, high = float(heights.min()), float(heights.max())
        span = high - low
        middle = self.mirror(normal)
        wanted = [] if middle is None else [middle]
        for reach in self._reaches(block, normal, span):
            # Pieces a hair shorter than the bed lie on it with room for a brim.
            easy = min(reach, max(reach - 2.5, 0.985 * reach))
            if easy < span:
                wanted += [low + easy, high - easy]
            share = span / max(2, math.ceil(span / reach - 1e-9))
            wanted += [low + share, high - share]
        wanted += self.naturals(normal, low + 0.05 * span, high - 0.05 * span, naturals)
        return _apart(wanted, low, high, max(0.5, 0.02 * span))

    def _reaches(self, block: Block, normal: Vector, span: float) -> list[float]:
        """Return how long a piece may be: the bed's sides and, for a thin bar, its diagonals."""
        reaches = sorted(set(bed_sizes(self.bed)))
        across = block.points @ Plane(normal, 0.0).frame[:2].T
        thickness = float(np.ptp(across, axis=0).max())
        if thickness < 0.3 * span:
            reaches += leaning_reaches(self.bed, thickness)
        return reaches

    def naturals(self, normal: Vector, low: float, high: float, most: int) -> list[float]:
        """Return up to `most` flats and as many short sections between two offsets, mm."""
        short = self.profile(normal).natural_places(low, high, most)
        flats = [offset for offset in self.flats(normal) if low <= offset <= high]
        return [round(_NEAT * offset) / _NEAT for offset in short] + flats[:most]

    def profile(self, normal: Vector) -> Profile:
        """Return the section profile of the uncut part."""
        if normal not in self._profiles:
            self._profiles[normal] = profile_along(self.solid, np.array(normal), count=96)
        return self._profiles[normal]

    def mirror(self, normal: Vector) -> float | None:
        """Return the offset of the part's plane of symmetry, if it has one with this normal."""
        if normal not in self._mirrors:
            self._mirrors[normal] = mirror_offset(self.solid, np.array(normal))
        return self._mirrors[normal]

    def flats(self, normal: Vector) -> list[float]:
        """Return the offsets of large flat faces across `normal`, the largest first, mm."""
        if normal not in self._flats:
            facing = np.abs(self.solid.face_normals @ np.array(normal)) > 1.0 - 1e-6
            offsets = self.solid.face_centroids[facing] @ np.array(normal)
            areas = self.solid.face_areas[facing]
            keys = np.round(offsets * 100).astype(np.int64)
            places, member = np.unique(keys, return_inverse=True)
            total = np.bincount(member, weights=areas, minlength=len(places))
            # As exactly as they lie: a cut beside a flat by a hair would leave a film.
            moments = np.bincount(member, weights=areas * offsets, minlength=len(places))
            places = moments / np.maximum(total, 1e-12)
            least = _FLAT * float(self.profile(normal).area.max())
            order = np.argsort(-np.round(total, 3), kind="stable")
            self._flats[normal] = [float(places[at]) for at in order if total[at] >= least]
        return self._flats[normal]


def _apart(wanted: list[float], low: float, high: float, gap: float) -> list[float]:
    """Return the offsets well inside a range that are not close to one before them."""
    offsets: list[float] = []
    for offset in wanted:
        if low + 1 < offset < high - 1 and all(abs(offset - other) > gap for other in offsets):
            offsets.append(offset)
    return offsets
