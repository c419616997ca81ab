"""A telescope's dew shield: a long thin tube with stiff ends, baffles and a dovetail foot."""

from __future__ import annotations

import numpy as np
from manifold3d import CrossSection, Manifold

from splitplanner.demo_parts._shapes import ADD, bar, box, finely, sides_for
from splitplanner.solid import Solid

OUTER, LENGTH, WALL = 200.0, 620.0, 3.0
RING_WALL, RING_HEIGHT = 8.0, 18.0
BAFFLES = (190.0, 330.0, 470.0)
BAFFLE_DEPTH, BAFFLE_EDGE = 8.0, 1.6
FOOT_REACH = 14.0
"""How far the foot stands out beyond the tube, mm."""
SCREW_HOLE = 4.5
"""Clearance hole for M4, medium series of ISO 273, mm."""


def make(triangles: int = 130_000) -> Solid:
    """Return the shield: axis along z, foot towards low y.

    Parameters
    ----------
    triangles : int
        About how many, from 5 000 to 500 000.
    """
    sides = sides_for(triangles, 160, 48)
    tube = Manifold.revolve(_profile(), sides)
    body = tube + _foot(sides)
    holes = Manifold.batch_boolean(_screw_holes(sides_for(triangles, 32, 12)), ADD)
    return finely(body - holes, triangles)


def _profile() -> CrossSection:
    """Return the wall in radius and height; all slopes below the rings and baffles are 45°."""
    inner, ring = OUTER / 2 - WALL, OUTER / 2 - RING_WALL
    step = inner - ring
    edge = [(ring, 0.0), (ring, RING_HEIGHT), (inner, RING_HEIGHT + step)]
    for height in BAFFLES:
        tip = inner - BAFFLE_DEPTH
        edge += [
            (inner, height),
            (tip, height + BAFFLE_DEPTH),
            (tip, height + BAFFLE_DEPTH + BAFFLE_EDGE),
            (inner, height + BAFFLE_DEPTH + BAFFLE_EDGE),
        ]
    top = LENGTH - RING_HEIGHT
    edge += [(inner, top - step), (ring, top), (ring, LENGTH - 1.5), (ring + 1.5, LENGTH)]
    radius, chamfer = OUTER / 2, 1.5
    outside = [(radius - chamfer, 0.0), (radius, chamfer)]
    outside += [(radius, LENGTH - chamfer), (radius - chamfer, LENGTH)]
    return CrossSection([[*outside, *reversed(edge)]])


def _foot(sides: int) -> Manifold:
    """Return a saddle that carries a dovetail bar, 43 mm wide at 60°, common practice."""
    low = -(OUTER / 2 + FOOT_REACH)
    flank = 10.0 / np.tan(np.radians(60.0))
    wedge = [(21.5, low), (21.5 - flank, low + 10.0), (21.5 - flank, -80.0)]
    outline = wedge + [(-x, y) for x, y in reversed(wedge)]
    rail = CrossSection([outline])
    length, base = 170.0, 70.0
    prism = Manifold.extrude(rail, length).translate((0, 0, base))
    saddle = Manifold.cylinder(length + 50, OUTER / 2 + 4.0, OUTER / 2 + 4.0, sides)
    wide = saddle.translate((0, 0, base - 25)) ^ Manifold.batch_hull(
        [
            box((-44, -150, base), (44, 0, base + length)),
            box((-18, -150, base - 24), (18, 0, base + length + 24)),
        ]
    )
    stopped = bar((0, low - 1, base + length / 2), (0, low + 12, base + length / 2), 3.3, 24)
    middle_of_wall = OUTER / 2 - WALL / 2
    return (
        (prism + wide) - stopped - Manifold.cylinder(LENGTH, middle_of_wall, middle_of_wall, sides)
    )


def _screw_holes(sides: int) -> list[Manifold]:
    """Return six radial holes through the lower ring."""
    hole = bar((60, 0, RING_HEIGHT / 2), (120, 0, RING_HEIGHT / 2), SCREW_HOLE / 2, sides)
    return [hole.rotate((0, 0, 60.0 * k + 30.0)) for k in range(6)]
