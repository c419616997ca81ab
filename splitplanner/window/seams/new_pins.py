"""Which pin it is, and where it goes, that the user adds to a seam."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import shapely

from splitplanner.arrays import to_vector
from splitplanner.joint import PinSize, pin_sizes
from splitplanner.plan import Pin, Plan, Screw
from splitplanner.plan.joints import NOWHERE
from splitplanner.score import SeamRow, shrunk
from splitplanner.window.seams.flat import flat_fasteners
from splitplanner.window.seams.ground import ground_of
from splitplanner.workshop import DowelPin, Shelf, dowel_pins

_CLEAR = 3.0
"""Pins stand so many diameters apart at least (common practice, no source)."""


def pin_like(row: SeamRow, plan: Plan, shelf: Shelf | None = None) -> Pin | None:
    """Return the pin that is added to a seam, standing on the seam's middle.

    Like those of the seam, or of the plan if such a pin fits in the seam, but in round holes; else
    the smallest one that prints. None if the shelf, the built-in one by default, has no such pin.
    """
    pins = plan.joint(row.seam.name).pins
    if pins:
        # A slot is cut along the line to another pin, which is not where this one will be.
        return replace(pins[0], slot=NOWHERE)
    others = {
        (pin.diameter, pin.length, pin.edge_distance): pin
        for joint in plan.joints
        for pin in joint.pins
    }
    plane = row.seam.plane
    shape = ground_of(row, plan.joint(row.seam.name)).whole
    for pin in others.values():
        if not shrunk(shape, pin.edge_distance).is_empty:
            return replace(pin, axis=plane.normal, slot=NOWHERE)
    pins_on_shelf = _built_in() if shelf is None else shelf.dowel_pins
    sizes = pin_sizes(pins_on_shelf, plan.printer, widest=0.0)
    size = min(sizes, key=lambda each: (each.margin, each.reach), default=None)
    return None if size is None else _pin(row, size)


@cache
def _built_in() -> tuple[DowelPin, ...]:
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


def pin_at(row: SeamRow, plan: Plan, u: float, v: float, shelf: Shelf | None = None) -> Pin | None:
    """Return a pin that is added at a place of the plane, mm; None if there is no pin for it."""
    like = pin_like(row, plan, shelf)
    if like is None:
        return None
    return replace(like, at=to_vector(row.seam.plane.to_space([[u, v]])[0]))


def one_more_pin(row: SeamRow, plan: Plan, shelf: Shelf | None = None) -> Pin | None:
    """Return a pin in what room is left on a seam and its flange; None if there is none.

    Of the places with material behind them the one furthest from what is there; without such a
    place, one of the room.
    """
    like = pin_like(row, plan, shelf)
    if like is None:
        return None
    joint = plan.joint(row.seam.name)
    ground = ground_of(row, joint)
    # They were found for another pin, which may need less material round it than this one.
    inside = shapely.contains_xy(ground.room(like.edge_distance), row.deep_room.positions)
    places = row.deep_room.positions[inside]
    if len(places):
        points = row.seam.plane.to_space(places)
        others: tuple[Pin | Screw, ...] = (*joint.pins, *joint.screws)
        at = np.array([each.at for each in others]).reshape(-1, 1, 3)
        least = [
            max(_CLEAR * like.diameter, each.edge_distance + like.edge_distance) for each in others
        ]
        gaps = np.linalg.norm(points - at, axis=2)
        is_clear = (gaps >= np.array(least)[:, None]).all(axis=0)
        gaps = np.where(is_clear, gaps.min(axis=0, initial=np.inf), -1.0)
        best = int(gaps.argmax())
        if is_clear[best]:
            return replace(like, at=to_vector(points[best]))
    flat = flat_fasteners(row.seam.plane, joint, row.between)
    place = ground.roomiest(flat, like.edge_distance)
    return None if place is None else pin_at(row, plan, *place, shelf)
