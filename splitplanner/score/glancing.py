"""Many print directions of a piece at a glance: about two milliseconds each, on 130 000 faces.

A glance takes the area of what hangs and what rests from the faces themselves, islands from the
outlines of a few layers, walked round in the mesh, and what supports land on from rays.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Bools, Floats, Ints, to_vector
from splitplanner.plan import Vector
from splitplanner.score.any_fit import may_fit
from splitplanner.score.bridges import FLAT
from splitplanner.score.islands import layer_count
from splitplanner.score.overhang import CONTACT, bridges, steepest_slope
from splitplanner.score.tipping import tipping_on
from splitplanner.solid import Sight, Solid, frame_of
from splitplanner.workshop import Bed, Printer

LAYERS = 24
"""So many layers tell how often a print travels over gaps."""
_PLACES = 3000
"""So many places on the surface tell what supports land on."""
_SPOKES = 24
"""In so many directions of the plan it is told how far a piece reaches."""
_CHUNK = 10
"""Directions that are looked at in one go."""
THREADS = 2
"""Of the processor, that share the work."""
_BRIDGED = 0.02
"""Bridges are looked for where flat ceilings are more than this share of what hangs."""


@dataclass(frozen=True)
class DirectionFigures:
    """What a piece is like when it is printed in one direction.

    Attributes
    ----------
    up : (x, y, z)
        Print direction in the part's frame, unit vector.
    exact : bool
        Whether it was measured as for the scorecard; else it was looked at.
    fits : bool
        Whether it fits the bed; where it was only looked at, whether it may.
    spare : float
        Largest scale that still fits; 2 where it was looked at and may fit.
    height : float
        Of the print, mm.
    sides : (long, short)
        Of a small rectangle round the plan view, mm.
    outline : float
        Area of the convex outline of the plan view, mm².
    overhang, support : float
        Area that needs support, mm², and volume of the support, mm³.
    support_seen : float
        Area of the good side that supports touch, above them or below, mm².
    contact, contact_seen : float
        Area that rests on the bed, and that of the good side which does, mm².
    crossings, crossings_seen : float
        Travels over gaps, and over those that end on the good side.
    islands : int
        Of the layer that has most.
    tip : float
        By how many degrees the print may be tilted before it falls over the edge of what it stands
        on; below 0 it stands only by its supports.
    """

    up: Vector
    exact: bool
    fits: bool
    spare: float
    height: float
    sides: tuple[float, float]
    outline: float
    overhang: float
    support: float
    support_seen: float
    contact: float
    contact_seen: float
    crossings: float
    crossings_seen: float
    islands: int
    tip: float


@dataclass(frozen=True, eq=False)
class _Places:
    """Places spread evenly over a surface.

    Attributes
    ----------
    points : (n, 3) float array, mm
    faces : (n,) int array
        Which each lies on.
    """

    points: Floats
    faces: Ints


@dataclass(frozen=True, eq=False)
class Glances:
    """Looks at print directions of one piece.

    Attributes
    ----------
    solid : Solid
        The piece.
    good : (m,) bool array
        Its faces on the good side.
    printer : Printer
    """

    solid: Solid
    good: Bools
    printer: Printer

    def look(self, ups: Floats, layers: int = LAYERS) -> list[DirectionFigures]:
        """Return what the piece is like in each of the print directions (k, 3), unit vectors.

        Overhang and bed contact are those of `splitplanner.score.overhang.overhang`, but for
        bridges where they are next to nothing; support, crossings, of so many layers, and the size
        of the plan view are estimates. The same for a direction whichever others are looked at.
        """
        if not len(ups):
            return []
        surfaces, gaps, tips = (np.empty((len(ups), width)) for width in (8, 3, 1))
        chunks = [slice(at, at + _CHUNK) for at in range(0, len(ups), _CHUNK)]
        # Made once, before two threads ask for them.
        _ = self._mesh, self.solid.hull, self.solid.centroid, self.solid.face_normals
        # Imported late: it would hold up the start of the window.
        from concurrent.futures import ThreadPoolExecutor

        with ThreadPoolExecutor(THREADS) as pool:
            # Compiled loops let go of the interpreter.
            tables = [(ups[c], surfaces[c], gaps[c], tips[c]) for c in chunks]
            every = [pool.submit(self._scan, layers, *table) for table in tables]
            bridged = {
                chunk.start + at: mask
                for chunk, each in zip(chunks, every, strict=True)
                for at, mask in each.result().items()
            }
        held, stood_on = self._supports(ups, surfaces, bridged)
        plans = _plans(self.solid.hull.vertices, ups)
        fits = may_fit(self.solid, ups, self.printer.bed)
        return [
            self._figures(layers, *row)
            for row in zip(ups, surfaces, gaps, held, stood_on, plans, tips, fits, strict=True)
        ]

    def islands(self, up: Floats, layers: int) -> Ints:
        """Return how many islands each of so many layers has, evenly spaced, (layers,).

        An outline counts if what it encloses is at least a dot as wide as a line; its holes are
        not taken off, else these are the islands of `splitplanner.score.islands.islands`.
        """
        from splitplanner.score import _ranking_kernels as kernels

        solid, (faces, beyond) = self.solid, self._mesh
        heights = solid.vertices @ up
        counts = np.empty(layers, dtype=np.int64)
        kernels.layers(
            heights,
            up,
            solid.vertices,
            faces,
            beyond,
            self.good,
            False,
            float(heights.min()),
            float(heights.max()),
            layers,
            self._dot,
            np.empty(3),
            counts,
        )
        return counts

    @property
    def _dot(self) -> float:
        """Area of the smallest island, mm²."""
        return float(np.pi / 4.0 * self.printer.line_width**2)

    @cached_property
    def _mesh(self) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
        """Faces and their neighbours, in half the room: that is quicker to go through."""
        faces, beyond = (
            np.ascontiguousarray(table, dtype=np.int32)
            for table in (self.solid.faces, self.solid.neighbours)
        )
        return faces, beyond

    def _scan(
        self, layers: int, ups: Floats, surfaces: Floats, gaps: Floats, tips: Floats
    ) -> dict[int, Bools]:
        """Fill in what the mesh itself tells; return faces that are bridges, by direction."""
        # Imported late: loading the compiler takes longer than most commands need to start.
        from splitplanner.score import _ranking_kernels as kernels

        solid, (faces, beyond) = self.solid, self._mesh
        steepest = steepest_slope(self.printer.overhang_limit)
        flat = float(np.cos(np.radians(FLAT)))
        any_good = bool(self.good.any())
        rows = np.ascontiguousarray(ups @ solid.vertices.T)
        counts = np.empty(layers, dtype=np.int64)
        for at, (up, heights, found) in enumerate(zip(ups, rows, surfaces, strict=True)):
            kernels.surfaces(
                heights,
                up,
                faces,
                solid.face_normals,
                solid.face_areas,
                self.good,
                steepest,
                flat,
                CONTACT,
                found,
            )
            kernels.layers(
                heights,
                up,
                solid.vertices,
                faces,
                beyond,
                self.good,
                any_good,
                found[kernels.LOW],
                found[kernels.HIGH],
                layers,
                self._dot,
                gaps[at],
                counts,
            )
            low = found[kernels.LOW]
            standing = np.flatnonzero(heights <= low + CONTACT)
            tips[at] = tipping_on(solid, up, float(low), standing)
        return self._without_bridges(ups, surfaces)

    def _without_bridges(self, ups: Floats, surfaces: Floats) -> dict[int, Bools]:
        """Take bridges off what hangs; return the faces of those directions that have some."""
        from splitplanner.score import _ranking_kernels as kernels

        solid, printer, found = self.solid, self.printer, {}
        if not printer.bridge_span > 0.0:
            return {}
        worth = surfaces[:, kernels.FLAT] > _BRIDGED * surfaces[:, kernels.OVERHANG]
        for at in np.flatnonzero(worth):
            mask = bridges(solid, ups[at], printer.overhang_limit, printer.bridge_span)
            chosen = np.flatnonzero(mask)
            if not len(chosen):
                continue
            found[int(at)] = mask
            areas, row = solid.face_areas[chosen], surfaces[at]
            drop = solid.centroids_of(chosen) @ ups[at] - row[kernels.LOW]
            row[kernels.OVERHANG] -= areas.sum()
            row[kernels.OVERHANG_SEEN] -= areas[self.good[chosen]].sum()
            row[kernels.BELOW] += (areas * (solid.face_normals[chosen] @ ups[at])) @ drop
        np.maximum(surfaces, 0.0, out=surfaces, where=np.arange(8) < kernels.LOW)
        return found

    @cached_property
    def _places(self) -> _Places:
        solid = self.solid
        steps = (np.arange(_PLACES) + 0.5) / _PLACES
        areas = np.cumsum(solid.face_areas)
        faces = np.minimum(np.searchsorted(areas, steps * areas[-1]), len(areas) - 1)
        # Multiples of the golden ratio and of the square root of 2 spread evenly.
        a = np.sqrt((np.arange(_PLACES) * 0.5 * (np.sqrt(5.0) - 1.0)) % 1.0)
        b = (np.arange(_PLACES) * (np.sqrt(2.0) - 1.0)) % 1.0
        shares = np.stack([1.0 - a, a * (1.0 - b), a * b], axis=1)
        points = np.einsum("nk,nki->ni", shares, solid.vertices[solid.faces[faces]])
        return _Places(points, faces)

    def _supports(
        self, ups: Floats, surfaces: Floats, bridged: dict[int, Bools]
    ) -> tuple[Floats, Floats]:
        """Return the volume of the supports, mm³, and what of the good side they stand on, mm²."""
        from splitplanner.score import _ranking_kernels as kernels

        solid, places = self.solid, self._places
        normals = solid.face_normals[places.faces]
        held, stood_on = surfaces[:, kernels.BELOW].copy(), np.zeros(len(ups))
        each = solid.area / _PLACES
        steepest = steepest_slope(self.printer.overhang_limit)
        tops: list[Ints] = []
        for at, up in enumerate(ups):
            hanging = normals @ up < -steepest
            hanging &= places.points @ up > surfaces[at, kernels.LOW] + CONTACT
            if at in bridged:
                hanging &= ~bridged[at][places.faces]
            tops.append(np.flatnonzero(hanging))
        owner = np.repeat(np.arange(len(ups)), [len(top) for top in tops])
        top = np.concatenate(tops)
        points, down = places.points[top], -ups[owner]
        run, met = Sight.of(solid).first(points, normals[top], down)
        plan = each * np.einsum("ij,ij->i", normals[top], down)
        drop = -np.einsum("ij,ij->i", points, down) - surfaces[owner, kernels.LOW]
        longest = np.bincount(owner, plan * drop, len(ups))
        real = np.bincount(owner, plan * np.minimum(run, drop), len(ups))
        lands = met >= 0
        good = np.where(lands, self.good[met], False)
        stood_on += np.bincount(owner, plan * good, len(ups))
        np.divide(held * real, longest, out=held, where=longest > 0.0)
        return held, stood_on

    def _figures(
        self,
        layers: int,
        up: Floats,
        surface: Floats,
        gaps: Floats,
        held: float,
        stood_on: float,
        plan: tuple[float, float, float],
        tip: Floats,
        fits: bool,
    ) -> DirectionFigures:
        from splitplanner.score import _ranking_kernels as kernels

        height = float(surface[kernels.HIGH] - surface[kernels.LOW])
        per_layer = layer_count(height, self.printer.layer_height) / layers
        long, short, outline = plan
        return DirectionFigures(
            up=to_vector(up),
            exact=False,
            fits=bool(fits),
            spare=2.0 if fits else _spare(self.printer.bed, long, short, height),
            height=height,
            sides=(long, short),
            outline=outline,
            overhang=float(surface[kernels.OVERHANG]),
            support=float(held),
            support_seen=float(surface[kernels.OVERHANG_SEEN] + stood_on),
            contact=float(surface[kernels.CONTACT]),
            contact_seen=float(surface[kernels.CONTACT_SEEN]),
            crossings=float(gaps[kernels.CROSSINGS]) * per_layer,
            crossings_seen=float(gaps[kernels.SEEN]) * per_layer,
            islands=int(gaps[kernels.MOST]),
            tip=float(tip[0]),
        )


def _spokes() -> Floats:
    angles = 2.0 * np.pi * np.arange(_SPOKES) / _SPOKES
    spokes: Floats = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return spokes


def _plans(corners: Floats, ups: Floats) -> list[tuple[float, float, float]]:
    """Return the sides of a small rectangle round each plan view, and the area of its outline.

    The rectangle is the smallest of those at steps of the yaw, and the outline that of the lines
    that touch the plan view all round (its support function at even steps).
    """
    from splitplanner.score import _ranking_kernels as kernels

    reach = np.empty((len(ups), _SPOKES))
    frames = np.array([frame_of(up) for up in ups])
    kernels.reaches(np.ascontiguousarray(corners), frames, _spokes(), reach)
    widths = reach + np.roll(reach, _SPOKES // 2, axis=1)
    beside = np.roll(widths, _SPOKES // 4, axis=1)
    best = np.argmin(np.round(widths * beside, 6), axis=1)[:, None]
    one, other = (np.take_along_axis(table, best, axis=1)[:, 0] for table in (widths, beside))
    step = 2.0 * np.pi / _SPOKES
    around = np.roll(reach, 1, axis=1) + np.roll(reach, -1, axis=1)
    edges = np.maximum(around - 2.0 * np.cos(step) * reach, 0.0) / np.sin(step)
    outlines = 0.5 * (reach * edges).sum(axis=1)
    return [
        (max(a, b), min(a, b), area)
        for a, b, area in zip(one.tolist(), other.tolist(), outlines.tolist(), strict=True)
    ]


def _spare(bed: Bed, long: float, short: float, height: float) -> float:
    """Return about the largest scale at which what is too large fits a bed, below 1."""
    room = sorted((bed.width - 2.0 * bed.margin, bed.depth - 2.0 * bed.margin))
    spare = min(room[1] / long, room[0] / short, bed.height / height)
    return min(spare, float(np.nextafter(1.0, 0.0)))
