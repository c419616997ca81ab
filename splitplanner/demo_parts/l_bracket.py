"""A long L bracket with gussets: thick, plain, and longer than the bed."""

from __future__ import annotations

from manifold3d import CrossSection, Manifold

from splitplanner.demo_parts._shapes import ADD, bar, box, finely, rounded_plan, sides_for
from splitplanner.solid import Solid

LENGTH, HEIGHT, WIDTH = 660.0, 240.0, 90.0
LONG_LEG, SHORT_LEG = 16.0, 18.0
"""Thickness of the leg along x and of the one along z, mm."""
GUSSET = 12.0
BOLT_HOLE = 11.0
"""Clearance hole for M10, medium series of ISO 273, mm."""
SEAT = 22.0
"""Diameter of the washer seat (a spot face), mm."""


def make(triangles: int = 130_000) -> Solid:
    """Return the bracket: long leg along x on z = 0, short leg up z at low x, width along y.

    Parameters
    ----------
    triangles : int
        About how many, from 5 000 to 500 000.
    """
    sides = sides_for(triangles, 64)
    body = _angle(sides) ^ _corners(sides)
    body += Manifold.batch_boolean([_gusset(y, sides) for y in (8.0, WIDTH - 8.0 - GUSSET)], ADD)
    return finely(body - _holes(sides), triangles)


def _standing(outline: CrossSection, width: float, y: float) -> Manifold:
    """Return an outline in x and z made `width` thick from `y` on."""
    return Manifold.extrude(outline, width).rotate((90, 0, 0)).translate((0, y + width, 0))


def _angle(sides: int) -> Manifold:
    """Return both legs with a rounded heel outside and a fillet inside."""
    square = CrossSection.square
    legs = square((LENGTH, LONG_LEG)) + square((SHORT_LEG, HEIGHT))
    fillet, heel = 14.0, 10.0
    inside = square((fillet, fillet)).translate((SHORT_LEG, LONG_LEG)) - CrossSection.circle(
        fillet, sides
    ).translate((SHORT_LEG + fillet, LONG_LEG + fillet))
    outside = square((heel, heel)) - CrossSection.circle(heel, sides).translate((heel, heel))
    return _standing(legs + inside - outside, WIDTH, 0.0)


def _corners(sides: int) -> Manifold:
    """Return both legs as thick blanks, round at their free ends only, and room for the fillet."""
    radius, spare = 20.0, 40.0
    flat = CrossSection([rounded_plan((LENGTH + spare) / 2, WIDTH / 2, radius, sides // 4)])
    lying = Manifold.extrude(flat, LONG_LEG).translate(((LENGTH - spare) / 2, WIDTH / 2, 0))
    front = CrossSection([rounded_plan((HEIGHT + spare) / 2, WIDTH / 2, radius, sides // 4)])
    upright = (
        Manifold.extrude(front, SHORT_LEG)
        .rotate((0, -90, 0))
        .translate((SHORT_LEG, WIDTH / 2, (HEIGHT - spare) / 2))
    )
    return lying + upright + box((0, 0, 0), (SHORT_LEG + 20, WIDTH, LONG_LEG + 20))


def _gusset(y: float, sides: int) -> Manifold:
    """Return one gusset plate with a rounded lightening hole."""
    reach, rise = 300.0, 190.0
    root = 6.0
    plate = CrossSection([[(root, root), (reach, root), (reach, 22), (30, rise), (root, rise)]])
    hole = CrossSection([[(44, 38), (225, 38), (44, 150)]])
    hole = hole.offset(-12.0).offset(12.0, circular_segments=sides)
    return _standing(plate - hole, GUSSET, y)


def _holes(sides: int) -> Manifold:
    """Return the bolt holes with their washer seats, and a slot in each leg."""
    tools = []
    middle = WIDTH / 2
    for x in (60.0, 170.0, 350.0, 430.0, 620.0):
        tools.append(bar((x, middle, -1), (x, middle, LONG_LEG + 1), BOLT_HOLE / 2, sides))
        seat = bar((x, middle, LONG_LEG - 1.5), (x, middle, LONG_LEG + 9), SEAT / 2, sides)
        tools.append(seat)
    for z in (60.0, 130.0, 205.0):
        tools.append(bar((-1, middle, z), (SHORT_LEG + 1, middle, z), BOLT_HOLE / 2, sides))
        tools.append(bar((SHORT_LEG - 1.5, middle, z), (SHORT_LEG + 9, middle, z), SEAT / 2, sides))
    ends = [
        bar((x, middle, -1), (x, middle, LONG_LEG + 1), BOLT_HOLE / 2, sides)
        for x in (500.0, 545.0)
    ]
    tools.append(Manifold.batch_hull(ends))
    return Manifold.batch_boolean(tools, ADD)
