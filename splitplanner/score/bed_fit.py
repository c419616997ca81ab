"""Whether a piece fits the bed, how it lies there, and how much room is left."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, frozen_floats, unit_vector
from splitplanner.findings import Finding, Severity, capital, piece_words
from splitplanner.plan import Vector
from splitplanner.score.outline_fit import (
    FreeArea,
    feasible_shifts,
    fits_at,
    free_area,
    most_central,
)
from splitplanner.score.plan_fit import (
    TOLERANCE,
    convex_area,
    convex_outline,
    enclosing_circle,
    rectangle_fit,
    sizes,
    turned,
)
from splitplanner.score.yaw_search import largest_scale
from splitplanner.solid import Solid, frame_of
from splitplanner.workshop import Bed


@dataclass(frozen=True)
class BedFit:
    """How a piece lies on a bed.

    Attributes
    ----------
    fits : bool
    up : (x, y, z)
        Print direction in the part's frame, unit vector.
    yaw : float
        Turn about the bed's z after `up` was stood upright, degrees counter-clockwise.
    shift : (x, y)
        Added to the turned plan to put the piece on the bed, mm; the plan's origin is the low
        corner of the bed's bounding rectangle.
    height : float
        Of the piece along `up`, mm.
    spare : float
        Largest scale of the piece, in plan and height, that still fits at any yaw; at least 1
        when it fits. A piece that is larger by rounding only (1e-6 mm) fits.
    over : float
        By how much the worst of plan and height is too large at `yaw`, mm; 0 when it fits. In
        plan: of the sides of the bounding rectangle (rectangular bed), of the diameter of the
        smallest circle (round bed), else what the larger side has to lose.
    sides : (long, short)
        Of the smallest rectangle round the plan view, whatever the bed, mm.
    outline_area : float
        Area of the convex outline of the plan view, mm².
    """

    fits: bool
    up: Vector
    yaw: float
    shift: tuple[float, float]
    height: float
    spare: float
    over: float
    sides: tuple[float, float]
    outline_area: float

    @property
    def rotation(self) -> Floats:
        """Rotation (3, 3) from the part's frame to the bed's, for column vectors."""
        angle = np.radians(self.yaw)
        turn = np.eye(3)
        turn[:2, :2] = [[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]
        return frozen_floats(turn @ frame_of(self.up))

    def pose(self, piece: Solid | ArrayLike) -> Floats:
        """Return the matrix (4, 4) that lays `piece` on the bed, its lowest point at z = 0.

        Parameters
        ----------
        piece : Solid or (n, 3) array, mm
            What was measured, or any points with the same convex hull.
        """
        rotation = self.rotation
        matrix = np.eye(4)
        matrix[:3, :3] = rotation
        matrix[:2, 3] = self.shift
        matrix[2, 3] = -float((_points_of(piece) @ rotation[2]).min())
        return frozen_floats(matrix)


def bed_fit(points: Solid | ArrayLike, up: ArrayLike, bed: Bed) -> BedFit:
    """Measure how a piece that prints with `up` upwards fits `bed`.

    It fits if a yaw and a shift put the convex hull of its plan view inside the bed's outline
    less margin and blocked areas, and its height is no more than the bed's. Rectangles and
    circles are exact; other outlines and beds with blocked areas are exact at each yaw tried
    (see `yaw_search`), so that ``fits`` is never wrong when true.

    Where the piece fits lying square (the sides of its smallest bounding rectangle parallel to
    x and y) it does so, else it is turned to the yaw with most to spare.

    Parameters
    ----------
    points : Solid or (n, 3) array, mm
        Any points whose hull is that of the piece; hull corners alone are fastest.
    up : (3,) array
        Print direction, any length but zero.
    bed : Bed

    Raises
    ------
    ValueError
        If there are no points, some are not finite, or `up` has no length.
    """
    fit = _measured(_points_of(points), up, bed, beat=0.0)
    assert fit is not None
    return fit


def _measured(points: Floats, up: ArrayLike, bed: Bed, beat: float) -> BedFit | None:
    """Return the fit, or None where it was cheap to see that its spare is no more than `beat`."""
    upright = points @ frame_of(up).T
    n = unit_vector(up)
    direction = (float(n[0]), float(n[1]), float(n[2]))
    height = float(np.ptp(upright[:, 2]))
    outline = convex_outline(upright[:, :2])
    if bed.blocked or bed.kind == "outline":
        found = _on_outline(outline, bed, max(_ratio(bed.height, height), 1.0), beat)
        if found is None:
            return None
        plan = found
    elif bed.kind == "circle":
        plan = _on_circle(outline, bed)
    else:
        plan = _on_rectangle(outline, bed)
    over = max(plan.over, height - bed.height)
    fits = over <= TOLERANCE
    spare = min(plan.spare, _ratio(bed.height, height))
    return BedFit(
        fits,
        direction,
        plan.yaw,
        plan.shift,
        height,
        # Within the tolerance it counts as an exact fit; beyond it never as one.
        max(spare, 1.0) if fits else min(spare, float(np.nextafter(1.0, 0.0))),
        0.0 if fits else over,
        _sides(outline, plan.square),
        convex_area(outline),
    )


def bed_fits(points: Solid | ArrayLike, directions: ArrayLike, bed: Bed) -> tuple[BedFit, ...]:
    """Return the fit of a piece in each print direction (m, 3); see `bed_fit`."""
    corners = hull_corners(points)
    return tuple(bed_fit(corners, up, bed) for up in np.reshape(directions, (-1, 3)))


def best_fit(points: Solid | ArrayLike, directions: ArrayLike, bed: Bed) -> BedFit:
    """Return the fit with most to spare over print directions (m, 3); of equals the first.

    Bounds come before the exact fit: by the heights and plan sizes of all directions at once, and
    for a bed of odd shape by its bounding rectangle. Directions that cannot win are not measured.

    Raises
    ------
    ValueError
        If there is no direction; else as `bed_fit`.
    """
    ups = np.reshape(np.asarray(directions, dtype=np.float64), (-1, 3))
    if not len(ups):
        raise ValueError("the best fit needs at least one print direction")
    corners = hull_corners(points)
    bounds = _spare_bounds(corners, ups, bed)
    best: tuple[float, int, BedFit] | None = None
    for index in np.lexsort((np.arange(len(ups)), -bounds)):
        # Equal spare goes to the earlier direction, so ties with the bound are still measured.
        if best is not None and bounds[index] < best[0] * (1.0 - 1e-9):
            break
        beat = 0.0 if best is None else best[0] * (1.0 - 2e-9)
        fit = _measured(corners, ups[index], bed, beat)
        if fit is not None and (best is None or _beats(fit.spare, int(index), best)):
            best = (fit.spare, int(index), fit)
    assert best is not None
    return best[2]


def fit_findings(
    fit: BedFit, piece: str, points: Solid | ArrayLike, bed: Bed
) -> tuple[Finding, ...]:
    """Return a fault with the corners of the piece's hull as places if `fit` says it is too large.

    Parameters
    ----------
    fit : BedFit
    piece : str
        Its name, for the sentence.
    points : Solid or (n, 3) array, mm
    bed : Bed
    """
    if fit.fits:
        return ()
    return (
        Finding(
            "piece.bed_fit",
            Severity.FAULT,
            f"{capital(piece_words(piece))} is {fit.over:.1f} mm too large for the bed ({bed}) as "
            "it lies; turn it, or cut it once more.",
            subject=piece,
            where=hull_corners(points),
            measured=fit.spare,
            allowed=1.0,
            unit="1",
        ),
    )


@dataclass(frozen=True)
class _PlanFit:
    spare: float
    yaw: float
    shift: tuple[float, float]
    over: float
    square: float
    """A yaw at which the smallest rectangle round the plan lies along x and y."""


def _sides(outline: Floats, square: float) -> tuple[float, float]:
    one, other = sizes(outline, square)
    return max(one, other), min(one, other)


def _on_rectangle(outline: Floats, bed: Bed) -> _PlanFit:
    room = (bed.width - 2.0 * bed.margin, bed.depth - 2.0 * bed.margin)
    fit = rectangle_fit(outline, *room)

    def over(yaw: float) -> float:
        side = sizes(outline, yaw)
        return max(side[0] - room[0], side[1] - room[1])

    square = min(
        (fit.square, fit.square + 90.0), key=lambda yaw: round(_need(outline, yaw, room), 9)
    )
    yaw = square if over(square) <= TOLERANCE else fit.yaw
    return _PlanFit(fit.spare, yaw, _centred(outline, yaw, bed), over(yaw), square)


def _need(outline: Floats, yaw: float, room: tuple[float, float]) -> float:
    """Return the larger ratio of side to bed side at `yaw`."""
    side = sizes(outline, yaw)
    return max(side[0] / room[0], side[1] / room[1])


def _on_circle(outline: Floats, bed: Bed) -> _PlanFit:
    room = bed.width / 2.0 - bed.margin
    centre, radius = enclosing_circle(outline)
    yaw = rectangle_fit(outline, 1.0, 1.0).square
    x, y = bed.width / 2.0 - turned(centre[None, :], yaw)[0]
    over = 2.0 * (radius - room)
    return _PlanFit(_ratio(room, radius), yaw, (float(x), float(y)), over, yaw)


def _on_outline(outline: Floats, bed: Bed, enough: float, beat: float) -> _PlanFit | None:
    free = free_area(bed)
    outline = with_area(outline)
    square = rectangle_fit(outline, 1.0, 1.0).square
    largest = largest_scale(free, outline, enough, beat)
    if largest is None:
        return None
    spare, yaw = largest
    # Shrunk by the tolerance, so that an exact fit leaves shifts to choose from.
    exact = 1.0 - TOLERANCE / max(*np.ptp(outline, axis=0), TOLERANCE * 2.0)
    yaws = [(square + quarter) % 360.0 for quarter in (0.0, 90.0, 180.0, 270.0)]
    places = [_place(free, outline, candidate, exact) for candidate in yaws]
    found = [(-round(place[1], 6), rank) for rank, place in enumerate(places) if place is not None]
    if found:
        rank = min(found)[1]
        place, yaw = places[rank], yaws[rank]
    else:
        place = _place(free, outline, yaw, exact)
    if place is not None:
        return _PlanFit(max(spare, 1.0), yaw, place[0], 0.0, square)
    over = _excess(outline, yaw, spare)
    return _PlanFit(spare, yaw, _centred(outline, yaw, bed), over, square)


def _excess(outline: Floats, yaw: float, spare: float) -> float:
    """Return by how much the larger side at `yaw` has to shrink, mm; more than the tolerance."""
    return max(max(sizes(outline, yaw)) * (1.0 - spare), 2.0 * TOLERANCE)


def _place(
    free: FreeArea, outline: Floats, yaw: float, scale: float
) -> tuple[tuple[float, float], float] | None:
    """Return the most central shift at `yaw` and its clearance, or None when it does not fit."""
    if not len(free.corners) or not fits_at(free, outline, yaw, scale):
        return None
    plan = turned(outline, yaw)
    middle = plan.mean(axis=0)
    (x, y), clearance = most_central(feasible_shifts(free, (plan - middle) * scale))
    return (x - float(middle[0]), y - float(middle[1])), clearance


def with_area(outline: Floats) -> Floats:
    """Give a line or a point a width of 1e-5 mm: a sum with it must still cover an obstacle."""
    if len(outline) > 2 and min(sizes(outline, rectangle_fit(outline, 1.0, 1.0).square)) > 1e-5:
        return outline
    speck = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * 0.5e-5
    return convex_outline((outline[:, None] + speck).reshape(-1, 2))


def _centred(outline: Floats, yaw: float, bed: Bed) -> tuple[float, float]:
    """Return the shift that puts the bounding rectangle in the middle of the bed's."""
    plan = turned(outline, yaw)
    low, high = plan.min(axis=0), plan.max(axis=0)
    x, y = (np.array([bed.width, bed.depth]) - low - high) / 2.0
    return float(x), float(y)


def _beats(spare: float, index: int, best: tuple[float, int, BedFit]) -> bool:
    if spare > best[0] * (1.0 + 1e-9):
        return True
    return spare >= best[0] * (1.0 - 1e-9) and index < best[1]


def _spare_bounds(corners: Floats, ups: Floats, bed: Bed) -> Floats:
    """Return for each direction (m,) a spare that `bed_fit` cannot pass."""
    if bed.blocked or bed.kind == "outline":
        room = free_area(bed).size
        if min(room) <= 0.0:
            return np.zeros(len(ups))
        box = Bed.rectangle(*room, bed.height)
        return np.array([fit.spare for fit in bed_fits(corners, ups, box)]) * (1.0 + 1e-6)
    frames = np.array([frame_of(up) for up in ups])
    heights = np.ptp(corners @ frames[:, 2].T, axis=0)
    angles = np.pi * np.arange(8) / 8.0
    spokes = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    directions = (spokes @ frames[:, :2]).reshape(-1, 3)
    longest = np.ptp(corners @ directions.T, axis=0).reshape(len(ups), -1).max(axis=1)
    room = bed.width - 2.0 * bed.margin, bed.depth - 2.0 * bed.margin
    reach = float(np.hypot(*room)) if bed.kind == "rectangle" else room[0]
    with np.errstate(divide="ignore"):
        bounds: Floats = np.minimum(bed.height / heights, reach / longest)
    # A fit within the tolerance is given a spare of 1.
    return np.where(bounds > 1.0 - 1e-6, np.maximum(bounds, 1.0), bounds) * (1.0 + 1e-9)


def _points_of(piece: Solid | ArrayLike) -> Floats:
    points = piece.vertices if isinstance(piece, Solid) else np.asarray(piece, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 3 or not len(points):
        raise ValueError(f"a piece needs points of shape (n, 3), got {points.shape}")
    return points


_FEW = 200
"""Of fewer points than this the hull takes longer than it saves."""


def hull_corners(piece: Solid | ArrayLike) -> Floats:
    """Return points that carry the convex hull; of few points, or such in a plane, all of them."""
    if isinstance(piece, Solid):
        return piece.hull.vertices
    points = _points_of(piece)
    if len(points) < _FEW:
        return points
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial import ConvexHull, QhullError

    try:
        corners: Floats = points[ConvexHull(points).vertices]
    except QhullError:
        return points
    return corners


def _ratio(room: float, size: float) -> float:
    return room / size if size > 0.0 else float("inf")
