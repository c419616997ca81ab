"""The holes of a joint in one of its pieces, with ways for heads and drivers as far as needed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from splitplanner.joint.fasteners.distances import drawable
from splitplanner.joint.holes.drilling import holes_in, pin_hole, screw_holes
from splitplanner.plan import Joint, Pin, Plan, Screw, Seam, Vector
from splitplanner.solid import Solid


def near_holes(
    solid: Solid, joint: Joint, seam: Seam, side: int, up: Vector, plan: Plan
) -> Iterator[Solid]:
    """Yield the holes of a joint in one of its pieces.

    Ways for heads and drivers are made as far as the material round them goes on; a wall that
    stands in the way further out is not bored through, but found to be in the way.
    """
    # What has no sizes of which a hole could be made is found by the checks.
    known = [each for _, each in drawable(joint)]
    sound = replace(
        joint,
        pins=tuple(each for each in known if isinstance(each, Pin)),
        screws=tuple(each for each in known if isinstance(each, Screw)),
    )
    pins, screws = holes_in(sound, seam, side)
    printer, coat = plan.machine, plan.fastening_of(seam.name).coat
    for pin, way in pins:
        yield pin_hole(pin, way, up, printer, coat)
    for screw, way in screws:
        reach = _reach(solid, screw, way, screw_holes(screw, way, up, printer, coat))
        yield screw_holes(screw, way, up, printer, coat, reach=reach)


def _reach(solid: Solid, screw: Screw, way: int, hole: Solid) -> float:
    """Return how far beyond where a head or nut bears its way has to be cleared, mm.

    `hole` is as it would be with all of the way.
    """
    level = screw.depth if way > 0 else screw.seat
    axis = way * np.array(screw.axis)
    start = level + float(axis @ screw.at)
    met = sorted(
        (float(heights.min()), float(heights.max()))
        for heights in (body.vertices @ axis - start for body in solid.intersection(hole).bodies())
        # What stands beside its piece meets nothing.
        if len(heights)
    )
    near = [end for begin, end in met if begin <= screw.head_room]
    end = max(near, default=0.0)
    # It ends in the open: not on a surface, of which a film would be left.
    beyond = min((begin for begin, _ in met if begin > max(end, screw.head_room)), default=np.inf)
    return max(min(end + 1.0, (end + beyond) / 2), 0.01)
