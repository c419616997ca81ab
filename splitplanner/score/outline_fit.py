"""Convex plan views on a bed of any outline, with blocked areas: Minkowski sums over the yaw.

At one yaw the shifts that work are what is left of the bed's convex hull, eroded by the plan view,
after taking away the Minkowski sum of every obstacle with the mirrored plan view (Lozano-Pérez,
IEEE Trans. Computers C-32 (1983) 108: configuration space obstacles). Obstacles are the blocked
areas and the pockets of an outline that is not convex, cut into triangles, so every sum is one of
two convex polygons. This is exact at the yaw; `yaw_search` chooses the yaws.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import shapely

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.score.plan_fit import enclosing_circle, turned
from splitplanner.solid import to_polygons
from splitplanner.workshop import Bed

_CIRCLE_SIDES = 256
"""Rays on which the shifts of a round bed with blocked areas are exact; less between them."""

_GRID = 24
"""Of more coordinates than these, rectangles are looked for between so many of them."""

_RECTANGLES = 8


@dataclass(frozen=True, eq=False)
class FreeArea:
    """What a bed leaves free in plan.

    Attributes
    ----------
    shape : shapely geometry
        Outline less margin and blocked areas, mm.
    corners : (k, 2) float array
        Convex hull of `shape`, counter-clockwise, mm; (0, 2) when nothing is free.
    normals, offsets : (k, 2), (k,) float array
        The hull as ``normal · p <= offset``, mm.
    obstacles : (j, 3, 2) float array
        Triangles that fill the hull less `shape`, counter-clockwise, mm.
    disc : (x, y, radius) or None
        The true outline of a round bed, mm; the hull is then a polygon round it.
    """

    shape: Any
    corners: Floats
    normals: Floats
    offsets: Floats
    obstacles: Floats
    disc: tuple[float, float, float] | None = None

    @property
    def size(self) -> tuple[float, float]:
        """Width and depth of the bounding rectangle, mm."""
        if not len(self.corners):
            return 0.0, 0.0
        width, depth = np.ptp(self.corners, axis=0)
        return float(width), float(depth)

    @property
    def middle(self) -> tuple[float, float]:
        """Centre of the bounding rectangle, mm."""
        if not len(self.corners):
            return 0.0, 0.0
        x, y = (self.corners.min(axis=0) + self.corners.max(axis=0)) / 2.0
        return float(x), float(y)


@lru_cache(maxsize=32)
def free_area(bed: Bed) -> FreeArea:
    """Return what `bed` leaves free in plan: outline less margin, less blocked areas.

    The margin of an outline is taken off by an offset with round corners (64 chords a quarter).
    Blocked areas grow by the margin too: a brim must not run over a clip. They keep square corners
    (cut off at twice the margin where they are sharper than 60°), so that they have few edges.
    """
    whole = _outline(bed)
    shape = whole
    for area in bed.blocked:
        for polygon in to_polygons(shapely.Polygon(area)):
            grown = polygon.buffer(bed.margin, join_style="mitre", mitre_limit=2.0)
            shape = shape.difference(grown if bed.margin > 0.0 else polygon)
    shape = shapely.MultiPolygon(to_polygons(shape))
    if shape.is_empty:
        none = frozen_floats(np.empty((0, 2)))
        return FreeArea(shape, none, none, frozen_floats([]), frozen_floats(np.empty((0, 3, 2))))
    disc = None
    hull = shapely.normalize(shape.convex_hull)
    if bed.kind == "circle":
        hull = whole
        disc = (bed.width / 2.0, bed.width / 2.0, bed.width / 2.0 - bed.margin)
    corners = np.asarray(shapely.orient_polygons(hull).exterior.coords)[:-1]
    edges = np.roll(corners, -1, axis=0) - corners
    normals = np.stack([edges[:, 1], -edges[:, 0]], axis=1)
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    offsets = np.einsum("ij,ij->i", normals, corners)
    return FreeArea(
        shape,
        frozen_floats(corners),
        frozen_floats(normals),
        frozen_floats(offsets),
        frozen_floats(_triangles(hull.difference(shape))),
        disc,
    )


def _outline(bed: Bed) -> Any:
    """Return the plan less margin; of a round bed the polygon drawn round it."""
    if bed.kind == "rectangle":
        m = bed.margin
        return shapely.box(m, m, bed.width - m, bed.depth - m)
    if bed.kind == "circle":
        radius = bed.width / 2.0
        around = (radius - bed.margin) / np.cos(np.pi / 64)
        return shapely.Polygon(around * _spokes(64) + radius)
    plan = shapely.MultiPolygon(to_polygons(shapely.Polygon(bed.outline)))
    return plan.buffer(-bed.margin, quad_segs=64) if bed.margin > 0.0 else plan


def _spokes(count: int) -> Floats:
    angles = 2.0 * np.pi * np.arange(count) / count
    spokes: Floats = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return spokes


def _triangles(area: Any) -> Floats:
    """Return counter-clockwise triangles (j, 3, 2) that fill `area`; dust is left out."""
    found = [
        np.asarray(shapely.orient_polygons(triangle).exterior.coords)[:3]
        for polygon in to_polygons(area, smallest=1e-9)
        for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    ]
    return np.array(found).reshape(-1, 3, 2)


@lru_cache(maxsize=32)
def free_rectangles(free: FreeArea) -> tuple[tuple[Floats, Floats], ...]:
    """Return rectangles parallel to x and y inside `free`, as (low, high) corners, largest first.

    Those between the corners' coordinates that lie in no larger one. What fits one of them fits
    `free`; a free area with slanting or round sides has larger ones that are not found.
    """
    corners = shapely.get_coordinates(free.shape)
    xs, ys = (_spread(np.unique(np.round(axis, 6))) for axis in corners.T)
    if len(xs) < 2 or len(ys) < 2:
        return ()
    cells = shapely.box(xs[:-1, None], ys[None, :-1], xs[1:, None], ys[None, 1:])
    inside = shapely.covers(free.shape.buffer(1e-6), cells)
    found = []
    for left in range(len(xs) - 1):
        clear = np.ones(len(ys) - 1, dtype=bool)
        for right in range(left, len(xs) - 1):
            clear &= inside[right]
            edges = np.flatnonzero(np.diff(np.concatenate([[0], clear.astype(int), [0]])))
            for low, high in zip(edges[::2], edges[1::2], strict=True):
                found.append((xs[left], ys[low], xs[right + 1], ys[high]))
    boxes = np.array(found).reshape(-1, 4)
    boxes = boxes[np.argsort(-(boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1]))]
    kept: list[Floats] = []
    for box in boxes:
        if not any((k[:2] <= box[:2]).all() and (k[2:] >= box[2:]).all() for k in kept):
            kept.append(box)
    return tuple((frozen_floats(box[:2]), frozen_floats(box[2:])) for box in kept[:_RECTANGLES])


def _spread(values: Floats) -> Floats:
    """Return the values, or `_GRID` of them from all over where there are more."""
    if len(values) <= _GRID:
        return values
    spread: Floats = values[np.round(np.linspace(0, len(values) - 1, _GRID)).astype(int)]
    return spread


def feasible_shifts(free: FreeArea, outline: Floats) -> Any:
    """Return every shift that puts the convex `outline` (n, 2) mm into `free`.

    Returns
    -------
    shapely geometry
        Polygons of shifts (x, y) in mm; empty when it does not fit.
    """
    eroded = _eroded(free, outline)
    if len(eroded) < 3:
        return shapely.Polygon()
    region = shapely.Polygon(eroded)
    if not len(free.obstacles):
        return region
    blocked = shapely.union_all(shapely.polygons(_sums(free.obstacles, -outline)))
    try:
        return region.difference(blocked)
    except shapely.GEOSException:
        # Corners that differ by rounding only; on a grid far below any tolerance they meet.
        whole = shapely.MultiPolygon(to_polygons(region))
        return shapely.difference(whole, blocked, grid_size=1e-9)


def _eroded(free: FreeArea, outline: Floats) -> Floats:
    """Return the shifts (m, 2) that keep `outline` in the hull of `free`; (0, 2) when none does."""
    if free.disc is not None:
        return _eroded_disc(free.disc, outline)
    reach = free.offsets - (outline @ free.normals.T).max(axis=0)
    low = free.corners.min(axis=0) - outline.min(axis=0)
    high = free.corners.max(axis=0) - outline.max(axis=0)
    if (low > high).any():
        return np.empty((0, 2))
    region = np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
    for normal, offset in zip(free.normals, reach, strict=True):
        over = region @ normal - offset
        outside = over > 0.0
        if not outside.any():
            continue
        if outside.all():
            return np.empty((0, 2))
        region = clipped(region, over, outside)
    return region


def _eroded_disc(disc: tuple[float, float, float], outline: Floats) -> Floats:
    """Return the shifts (m, 2) that keep `outline` in a disc, exact along each of 256 rays.

    They are what the discs of that radius round the corners, mirrored, have in common: convex,
    and not empty only if the middle of the smallest enclosing circle can lie in the disc's.
    """
    x, y, radius = disc
    middle, least = enclosing_circle(outline)
    if least > radius:
        return np.empty((0, 2))
    arms = outline - middle
    rays = _spokes(_CIRCLE_SIDES)
    along = rays @ arms.T
    # How far each corner may travel along each ray before it leaves the disc.
    beyond = radius**2 - np.einsum("ij,ij->i", arms, arms)
    travel = np.sqrt(np.maximum(along**2 + beyond, 0.0)) - along
    shifts: Floats = np.array([x, y]) - middle + rays * travel.min(axis=1)[:, None]
    return shifts


def clipped(region: Floats, over: Floats, outside: np.ndarray) -> Floats:
    """Return the convex `region` less what lies over one line (Sutherland & Hodgman, 1974)."""
    following, over_next = np.roll(region, -1, axis=0), np.roll(over, -1)
    crosses = outside != np.roll(outside, -1)
    share = np.divide(over, over - over_next, out=np.zeros_like(over), where=crosses)
    both = np.stack([region, region + share[:, None] * (following - region)], axis=1)
    kept: Floats = both.reshape(-1, 2)[np.stack([~outside, crosses], axis=1).ravel()]
    return kept


def _sums(triangles: Floats, outline: Floats) -> Floats:
    """Return the Minkowski sums of `triangles` (j, 3, 2) and a convex `outline`, (j, n + 3, 2).

    Both counter-clockwise: the edges of the sum are those of both, in the order of their angles.
    """
    count = len(triangles)
    own = np.broadcast_to(outline, (count, *outline.shape))
    edges = np.concatenate(
        [np.roll(own, -1, axis=1) - own, np.roll(triangles, -1, axis=1) - triangles], axis=1
    )
    angles = np.mod(np.arctan2(edges[..., 1], edges[..., 0]), 2.0 * np.pi)
    order = np.argsort(angles, axis=1, kind="stable")
    steps = np.take_along_axis(edges, order[..., None], axis=1)
    first = _lowest(own) + _lowest(triangles)
    corners: Floats = first[:, None] + np.cumsum(steps, axis=1)
    corners[:, -1] = first
    return corners


def _lowest(rings: Floats) -> Floats:
    """Return the corner from which the edge of smallest angle starts: lowest, then leftmost."""
    least = rings[..., 1].min(axis=1, keepdims=True)
    x = np.where(rings[..., 1] == least, rings[..., 0], np.inf)
    chosen: Floats = rings[np.arange(len(rings)), x.argmin(axis=1)]
    return chosen


def fits_at(free: FreeArea, outline: Floats, yaw: float, scale: float) -> bool:
    """Return whether `outline` (n, 2), turned by `yaw` (degrees) and scaled, fits `free`."""
    return not bool(feasible_shifts(free, turned(outline, yaw) * scale).is_empty)


def most_central(shifts: Any) -> tuple[tuple[float, float], float]:
    """Return the shift farthest from the rim of `shifts` (from `feasible_shifts`) and how far, mm.

    To 1 % of the distance; it is always one of the shifts.
    """
    polygons = sorted(to_polygons(shifts), key=lambda polygon: -float(polygon.area))
    best, clearance = shifts.representative_point(), 0.0
    for polygon in polygons[:4]:
        if polygon.area > 1e-9:
            tolerance = max(0.005 * float(np.sqrt(polygon.area)), 1e-6)
            spoke = shapely.maximum_inscribed_circle(polygon, tolerance)
            if spoke.length > clearance * (1.0 + 1e-9):
                best, clearance = shapely.get_point(spoke, 0), float(spoke.length)
    return (float(best.x), float(best.y)), clearance
