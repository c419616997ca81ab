"""Holes for pins by their definition: volume and surface that they take from a piece.

Drawn anew here, from what the documents say of them: a circle is a polygon of 48 sides round it
with a flat up, a slot the hull of two, and a roof is what two slopes at the overhang limit and a
flat at the circle's height leave of the slopes' corner; in a hole that slopes the corner stays
where it takes no more than half of the wall. Volumes are those of prisms and prismatoids; a chamfer
of 45° has sqrt(2) times the area of the ring that it is seen as along the axis.
"""

import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPoint, Polygon, box

SIDES = 48


@dataclass(frozen=True)
class Hole:
    """What a hole takes: volume, mm³, what it adds to the surface, and its mouth, mm²."""

    volume: float
    surface: float
    mouth: float


def circle_area(diameter):
    """Area of the polygon of 48 sides round a circle: n r² tan(pi / n)."""
    return SIDES * (diameter / 2) ** 2 * math.tan(math.pi / SIDES)


def pin_hole_taken(pin, side, up, printer):
    """Return the hole of a pin in the piece below (side -1) or above (+1) its seam."""
    assert pin.vent == 0
    wide, narrow = (
        outline(pin, side, up, printer, pin.hole_diameter + 2 * more) for more in (pin.lead_in, 0)
    )
    # A prismatoid: h / 6 of both ends and four times the middle, each point of which is midway
    # between two of theirs.
    ends = [np.array(shape.exterior.coords) for shape in (wide, narrow)]
    middle = MultiPoint((ends[0][:, None] + ends[1][None]).reshape(-1, 2) / 2).convex_hull
    cone = pin.lead_in / 6 * (wide.area + 4 * middle.area + narrow.area)
    straight = pin.depth - pin.lead_in
    ring = wide.area - narrow.area
    sides = narrow.length * straight + math.sqrt(2) * ring
    return Hole(narrow.area * straight + cone, sides + narrow.area - wide.area, wide.area)


def outline(pin, side, up, printer, diameter):
    """Return the outline of the hole across the pin, with +y as near to `up` as can be."""
    axis, up = np.array(pin.axis), np.array(up)
    lean = math.degrees(math.acos(min(abs(up @ axis), 1.0)))
    is_upright = lean <= printer.overhang_limit + 1e-6
    # Of a hole straight up either direction across it will do.
    y = np.cross(axis, [0.36, 0.48, 0.8]) if lean < 0.1 else up - axis * (up @ axis)
    y = y / np.linalg.norm(y)
    frame = np.array([np.cross(y, axis), y])
    turns = (np.arange(SIDES) + 0.5) * 2 * math.pi / SIDES
    round_ = np.column_stack([np.sin(turns), np.cos(turns)]) * diameter / 2
    round_ /= math.cos(math.pi / SIDES)
    run = frame @ np.array(pin.slot) / 2 * (side > 0)
    corners = np.vstack([round_ + run, round_ - run])
    bare = MultiPoint(corners).convex_hull
    if is_upright:
        return bare
    # A normal that leans by `turn` from up across the axis is cos(turn) sin(lean) up in space.
    steep = math.sin(math.radians(printer.overhang_limit)) / math.sin(math.radians(lean))
    turn = math.acos(steep)
    normals = np.array([[math.sin(turn), math.cos(turn)], [-math.sin(turn), math.cos(turn)]])
    tip = np.linalg.solve(normals, (corners @ normals.T).max(axis=0))
    roofed = MultiPoint(np.vstack([corners, tip])).convex_hull
    top = corners[:, 1].max()
    wall = printer.edge_distance(diameter) - printer.hole_diameter(diameter) / 2
    if lean < 89.0 and tip[1] - top <= wall / 2:
        return roofed  # no flat that slopes is a bridge
    shape = roofed.intersection(box(-99.0, -99.0, 99.0, top))
    flat = [x for x, height in shape.exterior.coords if height > top - 1e-9]
    assert max(flat) - min(flat) <= printer.bridge_span, "the printer spans the flat"
    return Polygon(shape.exterior)


def holes_of(piece, division, plan):
    """Return the holes of all pins in a piece."""
    taken = []
    for seam in division.seams:
        if piece.name in (seam.below, seam.above):
            side = -1 if piece.name == seam.below else 1
            taken += [
                pin_hole_taken(pin, side, plan.up(piece.name), plan.printer)
                for pin in plan.joint(seam.name).pins
            ]
    return taken
