"""Which pin it is, and where it goes, that the user adds to a seam."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import shapely

from splitplanner.arrays import to_vector
from splitplanner.joint import PinSize, pin_sizes
from splitplanner.plan import Pin, Plan
from splitplanner.score import SeamRow, shrunk
from splitplanner.window.seams.ground import SeamGround, flat_pins
from splitplanner.workshop import DowelPin, dowel_pins

_CLEAR = 3.0
"""Pins stand so many diameters apart at least (common practice, no source)."""


def pin_like(row: SeamRow, plan: Plan) -> Pin | None:
    """Return the pin that is added to a seam, standing on the seam's middle.

    Like those of the seam, or of the plan if such a pin fits in the seam; else the smallest one
    that prints. None if the shelf has no such pin.
    """
    pins = plan.joint(row.seam.name).pins
    if pins:
        return pins[0]
    others = {
        (pin.diameter, pin.length, pin.edge_distance): pin
        for joint in plan.joints
        for pin in joint.pins
    }
    shape, plane = row.seam.section.shape, row.seam.plane
    for pin in others.values():
        if not shrunk(shape, pin.edge_distance).is_empty:
            return replace(pin, axis=plane.normal)
    sizes = pin_sizes(_shelf(), plan.printer, widest=0.0)
    size = min(sizes, key=lambda each: (each.margin, each.reach), default=None)
    return None if size is None else _pin(row, size)


@cache
def _shelf() -> tuple[DowelPin, ...]:
    return dowel_pins()


def _pin(row: SeamRow, size: PinSize) -> Pin:
    return Pin(
        to_vector(row.seam.section.centroid),
        row.seam.plane.normal,
        size.pin.standard,
        size.diameter,
        size.length,
        size.hole_diameter,
        size.depth,
        size.edge_distance,
    )


def pin_at(row: SeamRow, plan: Plan, u: float, v: float) -> Pin | None:
    """Return a pin that is added at a place of the plane, mm; None if there is no pin for it."""
    like = pin_like(row, plan)
    if like is None:
        return None
    return replace(like, at=to_vector(row.seam.plane.to_space([[u, v]])[0]))


def one_more_pin(row: SeamRow, plan: Plan) -> Pin | None:
    """Return a pin in what room is left on a seam; None if there is none.

    Of the places with material behind them the one furthest from the pins that are there; without
    such a place, one of the room.
    """
    like = pin_like(row, plan)
    if like is None:
        return None
    pins = plan.joint(row.seam.name).pins
    ground = SeamGround(row.seam.section.shape, row.deep_room.polygons)
    # They were found for another pin, which may need less material round it than this one.
    inside = shapely.contains_xy(ground.room(like.edge_distance), row.deep_room.positions)
    places = row.deep_room.positions[inside]
    if len(places):
        points = row.seam.plane.to_space(places)
        gaps = np.full(len(points), np.inf)
        for pin in pins:
            gaps = np.minimum(gaps, np.linalg.norm(points - pin.at, axis=1))
        best = int(gaps.argmax())
        if gaps[best] >= _CLEAR * like.diameter:
            return replace(like, at=to_vector(points[best]))
    place = ground.roomiest(flat_pins(row, pins), like.edge_distance)
    return None if place is None else pin_at(row, plan, *place)
