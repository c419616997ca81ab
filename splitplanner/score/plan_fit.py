"""Convex plan views on a rectangular or a round bed: exact over every yaw.

The plan view of a piece counts by its convex hull, because a skirt or brim goes round the hull
and because a hull that fits can be turned and shifted without a search over pockets.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats

TOLERANCE = 1e-6
"""A piece that is larger than the bed by no more than this (mm) fits: rounding."""

_QUARTER = np.pi / 2.0


@dataclass(frozen=True)
class RectangleFit:
    """How a plan view lies on a rectangle.

    Attributes
    ----------
    spare : float
        Largest scale of the plan that fits, over all yaws; inf for a point.
    yaw : float
        The yaw of that scale, degrees in [0, 180).
    square : float
        The yaw, degrees in [0, 90), that sets the smallest bounding rectangle parallel to x and y.
    """

    spare: float
    yaw: float
    square: float


def convex_outline(points: ArrayLike) -> Floats:
    """Return the corners of the convex hull of `points` (n, 2), counter-clockwise, (m, 2) mm.

    Collinear points give their two ends (m = 2), coincident points one (m = 1).

    Raises
    ------
    ValueError
        If there is no point, or one that is not finite.
    """
    plan = np.asarray(points, dtype=np.float64)
    if plan.ndim != 2 or plan.shape[1] != 2 or not len(plan) or not np.isfinite(plan).all():
        raise ValueError("a plan view needs at least one point with two finite coordinates")
    if len(plan) > 2:
        # Imported late: loading scipy would hold up the start of the window.
        from scipy.spatial import ConvexHull, QhullError

        try:
            hull: Floats = plan[ConvexHull(plan).vertices]
            return hull
        except QhullError:
            pass  # Flat to rounding: what is left is a line or a point.
    offsets = plan - plan[0]
    end = int(np.argmax(np.einsum("ij,ij->i", offsets, offsets)))
    along = offsets @ offsets[end]
    if not along[end] > 0.0:
        return plan[:1].copy()
    line: Floats = plan[[int(np.argmin(along)), int(np.argmax(along))]]
    return line


def convex_area(outline: Floats) -> float:
    """Return the area (mm²) inside the corners `outline` (m, 2) by the surveyor's formula."""
    x, y = (outline - outline[0]).T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2.0


def turned(outline: Floats, yaw: float) -> Floats:
    """Return `outline` (n, 2) turned counter-clockwise about the origin by `yaw` (degrees)."""
    angle = np.radians(yaw)
    c, s = np.cos(angle), np.sin(angle)
    result: Floats = outline @ np.array([[c, s], [-s, c]])
    return result


def sizes(outline: Floats, yaw: float) -> tuple[float, float]:
    """Return the size of `outline` along x and y after a turn by `yaw` (degrees), mm."""
    width, depth = np.ptp(turned(outline, yaw), axis=0)
    return float(width), float(depth)


def widths(outline: Floats, angles: Floats) -> Floats:
    """Return the width of `outline` (n, 2) along the directions `angles` (k,) in radians, (k,) mm.

    The width is the support in a direction plus the support against it.
    """
    directions = np.stack([np.cos(angles), np.sin(angles)])
    result: Floats = np.ptp(outline @ directions, axis=0)
    return result


def rectangle_fit(outline: Floats, width: float, depth: float) -> RectangleFit:
    """Return how the convex `outline` (n, 2) lies best on a rectangle of `width` x `depth`, mm.

    Between two yaws at which an edge of the hull is parallel to x or y the same corners touch the
    bounding rectangle, so its sides are sinusoids ``a cos + b sin``: concave there. The larger of
    two concave ratios (side / bed side) is therefore least at an end of the interval or where the
    two are equal, which is a closed form. This is the interval structure of rotating calipers
    (Toussaint, Proc. IEEE MELECON 1983) with the crossing added; nothing is sampled.
    """
    if len(outline) == 1:
        return RectangleFit(float("inf"), 0.0, 0.0)
    starts, ends, along_x, along_y = _intervals(outline)
    # Yaw and yaw + 90° exchange the sides, so each interval is asked for both.
    yaws = np.concatenate([starts, ends])
    options = []
    for turn, (bed_x, bed_y) in enumerate(((width, depth), (depth, width))):
        crossing, inside = _equal_ratio(starts, ends, along_x, along_y, bed_x, bed_y)
        angles = np.concatenate([yaws, crossing])
        side_x, side_y = _sides(angles, np.tile(along_x, (3, 1)), np.tile(along_y, (3, 1)))
        need = np.maximum(side_x / bed_x, side_y / bed_y)
        need[2 * len(starts) :][~inside] = np.inf
        best = _first_least(need, angles)
        options.append((float(need[best]), float(angles[best]) + turn * _QUARTER))
        if turn == 0:
            edges = slice(0, len(yaws))
            flush = _first_least(side_x[edges] * side_y[edges], angles[edges])
            square = float(angles[flush])
    (need_0, yaw_0), (need_90, yaw_90) = options
    need_best, yaw = (need_90, yaw_90) if need_90 < need_0 * (1 - 1e-12) else (need_0, yaw_0)
    return RectangleFit(1.0 / need_best, _degrees(yaw, 180.0), _degrees(square, 90.0))


def _intervals(outline: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Return the yaw intervals (radians) and, for each, the chords that span x and y."""
    edges = np.roll(outline, -1, axis=0) - outline
    critical = np.unique(np.mod(-np.arctan2(edges[:, 1], edges[:, 0]), _QUARTER))
    ends = np.append(critical[1:], critical[0] + _QUARTER)
    middles = (critical + ends) / 2.0
    c, s = np.cos(middles), np.sin(middles)
    chords = []
    for axis in (np.stack([c, -s]), np.stack([s, c])):
        reach = outline @ axis
        chords.append(outline[reach.argmax(axis=0)] - outline[reach.argmin(axis=0)])
    return critical, ends, chords[0], chords[1]


def _sides(angles: Floats, along_x: Floats, along_y: Floats) -> tuple[Floats, Floats]:
    c, s = np.cos(angles), np.sin(angles)
    return along_x[:, 0] * c - along_x[:, 1] * s, along_y[:, 0] * s + along_y[:, 1] * c


def _equal_ratio(
    starts: Floats, ends: Floats, along_x: Floats, along_y: Floats, bed_x: float, bed_y: float
) -> tuple[Floats, np.ndarray]:
    """Return the yaw in each interval at which side / bed side is equal for x and y."""
    top = bed_y * along_x[:, 0] - bed_x * along_y[:, 1]
    bottom = bed_y * along_x[:, 1] + bed_x * along_y[:, 0]
    angle = starts + np.mod(np.arctan2(top, bottom) - starts, np.pi)
    inside = angle <= ends
    return np.where(inside, angle, starts), inside


def _first_least(values: Floats, angles: Floats) -> int:
    """Return the index of the least value; of equal ones, that of the smallest angle."""
    least = float(values.min())
    ties = np.flatnonzero(values <= least + 1e-9 * abs(least))
    near = np.mod(angles[ties] + 1e-9, _QUARTER)
    # Among angles that are equal to rounding the truly least value decides.
    order = np.lexsort((values[ties], np.round(near, 8)))
    return int(ties[order[0]])


def _degrees(angle: float, period: float) -> float:
    """Return `angle` (radians) in degrees in [0, period), exactly 0 when it is rounding away."""
    turned_by = float(np.degrees(angle)) % period
    return 0.0 if min(turned_by, period - turned_by) < 1e-10 else turned_by


def enclosing_circle(points: Floats) -> tuple[Floats, float]:
    """Return centre (2,) and radius of the smallest circle round `points` (n, 2), mm.

    Exact: the circle is carried by two or three of the points. The point farthest outside joins
    them and the smallest circle of these four at most is found by trying every pair and triple;
    the radius grows each time, so it ends (an LP-type problem: Sharir & Welzl, STACS 1992).
    """
    basis = points[:1]
    centre, radius = points[0].astype(float), 0.0
    size = float(np.ptp(points, axis=0).max())
    for _ in range(4 * len(points) + 16):
        distance = np.hypot(*(points - centre).T)
        far = int(distance.argmax())
        if distance[far] <= radius + 1e-13 * size:
            break
        basis, centre, radius = _circle_of_few(np.vstack([basis, points[far]]))
    # What rounding left outside is taken in.
    return centre, float(np.hypot(*(points - centre).T).max())


def _circle_of_few(points: Floats) -> tuple[Floats, Floats, float]:
    """Return basis, centre and radius of the smallest circle round two to four points."""
    count = len(points)
    choices = [(i, j) for i in range(count) for j in range(i)]
    triples = [(i, j, k) for i in range(count) for j in range(i) for k in range(j)]
    best: tuple[float, float, Floats, Floats] | None = None
    size = float(np.ptp(points, axis=0).max())
    for chosen in (*choices, *triples):
        carriers = points[list(chosen)]
        centre = carriers.mean(axis=0) if len(chosen) == 2 else _circumcentre(carriers)
        if centre is None:
            continue
        radius = float(np.hypot(*(carriers[0] - centre)))
        outside = max(float(np.hypot(*(points - centre).T).max()) - radius, 0.0)
        if outside <= 1e-12 * size and (best is None or radius < best[0]):
            best = (radius, outside, carriers, centre)
    if best is None:  # Nearly collinear to rounding: the farthest pair carries it.
        i, j = max(choices, key=lambda pair: float(np.hypot(*(points[pair[0]] - points[pair[1]]))))
        carriers = points[[i, j]]
        return carriers, carriers.mean(axis=0), float(np.hypot(*(carriers[0] - carriers[1]))) / 2
    return best[2], best[3], best[0]


def _circumcentre(triangle: Floats) -> Floats | None:
    """Return the point at equal distance from three corners (3, 2); None when they are in line."""
    (bx, by), (cx, cy) = triangle[1] - triangle[0], triangle[2] - triangle[0]
    twice = 2.0 * (bx * cy - by * cx)
    b, c = bx * bx + by * by, cx * cx + cy * cy
    if abs(twice) <= 1e-14 * (b + c):
        return None
    centre: Floats = triangle[0] + np.array([cy * b - by * c, bx * c - cx * b]) / twice
    return centre
