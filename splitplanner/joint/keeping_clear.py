"""What registers, glue and marks keep clear of: fasteners, and the material round them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.joint.fasteners.distances import Bar, bars_of, drawable
from splitplanner.plan import Joint, Pin, Plan, Screw, Seam
from splitplanner.solid import Plane, to_polygons

_REGISTERS = -1.0, 8.0
"""How far below and above the plane of a seam its register goes, at most, mm."""
_LEVEL = 1e-6
"""A bar whose ends are at heights nearer than this lies along the plane, mm."""

Fastener = Pin | Screw


def kept_clear(joint: Joint, seam: Seam, others: Sequence[Fastener] = ()) -> MultiPolygon:
    """Return what fasteners and the material round them take of a seam, plane coordinates, mm.

    Of those of other seams, `others`, what comes near enough to the plane for a register to cut
    into it.
    """
    discs = [
        shapely.Point(*seam.plane.to_plane([each.at])[0]).buffer(each.edge_distance)
        for each in joint.fasteners
    ]
    discs += [
        strip
        for each in others
        for bar in bars_of(each, 0.0)
        if bar.kind != "way" and (strip := _strip_of(bar, seam.plane)) is not None
    ]
    return MultiPolygon(to_polygons(shapely.union_all(discs))) if discs else MultiPolygon()


def _strip_of(bar: Bar, plane: Plane) -> Polygon | None:
    """Return what a bar and its wall cover of a plane, where a register would cut into them."""
    wide = bar.radius + bar.wall
    ends = np.array([bar.start, bar.end])
    heights = plane.height(ends)
    run = float(heights[1] - heights[0])
    low, high = _REGISTERS[0] - wide, _REGISTERS[1] + wide
    shares = np.array([0.0, 1.0])
    if abs(run) > _LEVEL:
        shares = np.clip(np.sort((np.array([low, high]) - heights[0]) / run), 0.0, 1.0)
        if shares[1] <= shares[0]:
            return None
    elif not low < heights[0] < high:
        return None
    flat = plane.to_plane(ends)
    return shapely.LineString(flat[0] + shares[:, None] * (flat[1] - flat[0])).buffer(wide)


def others_of(plan: Plan, seam: Seam) -> tuple[Fastener, ...]:
    """Return the fasteners of other seams that can be drawn."""
    return tuple(
        each for joint in plan.joints if joint.seam != seam.name for _, each in drawable(joint)
    )
