"""The ribbed rain hood of a field-survey robot: a thin shell, half a metre long."""

from __future__ import annotations

import numpy as np
from manifold3d import Manifold

from splitplanner.arrays import Floats
from splitplanner.demo_parts._shapes import (
    ADD,
    Skin,
    bar,
    box,
    filled_plan,
    finely,
    rounded_plan,
    swollen,
)
from splitplanner.solid import Solid

LENGTH, WIDTH, HEIGHT = 540.0, 230.0, 165.0
WALL = 2.4
ROUND = 28.0
"""Radius of all outer edges, mm."""
CROWN = 150.0
"""Height of the crown below the vent, mm."""
FRAMES = (-170.0, -75.0, 20.0, 115.0, 205.0)
FRAME_THICKNESS, FRAME_DEPTH = 3.0, 12.0
STRINGERS = (-42.0, 42.0)
STRINGER_THICKNESS, STRINGER_DEPTH = 2.4, 10.0
RIM_WIDTH, RIM_HEIGHT = 9.0, 7.0
LAMP_RADIUS, LAMP_HEIGHT, LAMP_FLOOR = 26.0, 72.0, -204.0


def make(triangles: int = 130_000) -> Solid:
    """Return the hood: x along the robot with the lamp at low x, z up, open below.

    Parameters
    ----------
    triangles : int
        About how many, from 5 000 to 500 000.
    """
    skin = Skin.around(_skeleton, ROUND, WALL, triangles)
    shell = skin.outer - skin.inner
    hood, hole = _vent(skin)
    pocket, recess = _lamp(skin)
    above_deck = box((-400, -400, 0), (400, 400, 400))
    body = ((shell + _ribs(skin) + _rim(skin) + pocket) - recess - hole) + hood
    return finely(body ^ above_deck, triangles)


def _skeleton(steps: int) -> Floats:
    """Return the centres (n, 3) of the balls whose hull is the outside."""
    foot = rounded_plan(LENGTH / 2 - ROUND, WIDTH / 2 - ROUND, 40.0, steps)
    skirt = [np.column_stack([foot, np.full(len(foot), z)]) for z in (-40.0, 12.0)]
    half_length, half_width, middle = 208.0, 76.0, np.array([20.0, 0.0])
    plan = filled_plan(half_length, half_width, 34.0, steps)
    sag = 9.0 * (plan[:, 0] / half_length) ** 2 + 13.0 * (plan[:, 1] / half_width) ** 2
    crown = np.column_stack([plan + middle, CROWN - ROUND - sag])
    return np.vstack([*skirt, crown])


def _ribs(skin: Skin) -> Manifold:
    """Return the frames across and the stringers along, rooted in the wall."""
    hoops = skin.middle - skin.below(WALL + FRAME_DEPTH)
    half = FRAME_THICKNESS / 2
    frames = [hoops ^ box((x - half, -200, 0), (x + half, 200, 200)) for x in FRAMES]
    lanes = skin.middle - skin.below(WALL + STRINGER_DEPTH)
    half = STRINGER_THICKNESS / 2
    stringers = [lanes ^ box((-300, y - half, 3), (300, y + half, 200)) for y in STRINGERS]
    return Manifold.batch_boolean([*frames, *stringers], ADD)


def _rim(skin: Skin) -> Manifold:
    """Return the thick lower edge, with a slope above it that prints without support."""
    narrow, wide = skin.below(RIM_WIDTH), skin.inner
    top = RIM_HEIGHT + RIM_WIDTH - WALL
    straight = narrow ^ box((-400, -400, -1), (400, 400, RIM_HEIGHT + 0.001))
    slope = Manifold.batch_hull(
        [
            narrow ^ box((-400, -400, RIM_HEIGHT - 0.001), (400, 400, RIM_HEIGHT)),
            wide ^ box((-400, -400, top), (400, 400, top + 0.01)),
        ]
    )
    return (skin.outer ^ box((-400, -400, 0), (400, 400, top))) - straight - slope


def _vent(skin: Skin) -> tuple[Manifold, Manifold]:
    """Return the louvred hood with the coaming below it, and the hole through the crown."""
    radius, rear = 10.0, 100.0
    ridge = ((-34.0, 134.0), (32.0, 154.0), (rear, HEIGHT - radius))
    points = [(x, y, z) for x, z in ridge for y in (-30.0, 30.0)]
    points += [(x, y, 118.0) for x in (-34.0, rear) for y in (-30.0, 30.0)]
    open_rear = points + [(rear + 40.0, y, z) for y in (-30.0, 30.0) for z in (118.0, 155.0)]
    trim = box((-200, -200, 0), (rear, 200, 300))
    solid = swollen(points, radius, skin.sides) ^ trim
    cavity = swollen(open_rear, radius - WALL, skin.sides)
    blades = [
        box((-9, -60, -WALL / 2), (9, 60, WALL / 2)).rotate((0, 35, 0)).translate((rear - 8, 0, z))
        for z in (152.5, 159.5)
    ]
    hole = box((46, -22, 100), (80, 22, 154.5))
    coaming = box((46 - WALL, -22 - WALL, 140), (80 + WALL, 22 + WALL, 153.5)) - hole
    grown = Manifold.batch_boolean([solid - cavity, *(blade ^ solid for blade in blades)], ADD)
    return (grown + coaming) - skin.inner, hole


def _lamp(skin: Skin) -> tuple[Manifold, Manifold]:
    """Return the pocket's own walls and what is taken out of the front."""
    out, floor, sides = -320.0, LAMP_FLOOR, 2 * skin.sides
    tube = bar((out, 0, LAMP_HEIGHT), (floor + WALL, 0, LAMP_HEIGHT), LAMP_RADIUS + WALL, sides)
    recess = bar((out, 0, LAMP_HEIGHT), (floor, 0, LAMP_HEIGHT), LAMP_RADIUS, sides)
    cable = bar((floor - 1, 0, LAMP_HEIGHT), (floor + 9, 0, LAMP_HEIGHT), 5.0, sides)
    return tube ^ skin.outer, recess + cable
