"""The lid of a cargo box: a wide thin skin with a skirt, ribs, latch pads and hinge bosses."""

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
    hull,
    rounded_plan,
)
from splitplanner.solid import Solid

LENGTH, WIDTH, HEIGHT = 590.0, 420.0, 70.0
SKIN = 3.0
ROUND = 14.0
"""Radius of the edge round the top, mm."""
HINGE_REACH, HINGE_RADIUS, HINGE_PIN = 22.0, 9.0, 6.2
HINGES = (-190.0, 190.0)
RIBS_ACROSS, RIBS_ALONG = (-200.0, -100.0, 0.0, 100.0, 200.0), (-95.0, 0.0, 95.0)
RIB, RIB_DEPTH = 2.4, 14.0
RIM, RIM_HEIGHT = 9.0, 8.0


def make(triangles: int = 130_000) -> Solid:
    """Return the lid: hinges towards high y, latches towards low y, z up, open below.

    Parameters
    ----------
    triangles : int
        About how many, from 5 000 to 500 000.
    """
    skin = Skin.around(_skeleton, ROUND, SKIN, triangles)
    above = box((-400, -400, 0), (400, 400, 200))
    shell = (skin.outer + _strips()) - skin.inner
    knuckles, pin = _hinges(skin)
    body = shell + _ribs(skin) + _rim(skin) + (_latches(skin.sides) ^ skin.middle)
    return finely(((body + knuckles) - pin) ^ above, triangles)


def _skeleton(steps: int) -> Floats:
    """Return the centres (n, 3) of the balls whose hull is the outside; the top is domed."""
    depth = WIDTH - HINGE_REACH
    foot = rounded_plan(LENGTH / 2 - ROUND, depth / 2 - ROUND, 30.0, steps)
    rings = [np.column_stack([foot, np.full(len(foot), z)]) for z in (-30.0, 8.0)]
    half_length, half_depth = LENGTH / 2 - ROUND - 4.0, depth / 2 - ROUND - 4.0
    plan = filled_plan(half_length, half_depth, 28.0, steps)
    fall = 3.0 * (plan[:, 0] / half_length) ** 2 + 3.0 * (plan[:, 1] / half_depth) ** 2
    top = np.column_stack([plan, HEIGHT - ROUND - 4.0 - fall])
    return np.vstack([*rings, top])


def _strips() -> Manifold:
    """Return two raised strips that stiffen the top and carry what is stacked on it."""
    strips = []
    for y in (-110.0, 110.0):
        low = rounded_plan(215.0, 24.0, 20.0, 8) + np.array([0.0, y])
        high = rounded_plan(209.0, 18.0, 16.0, 8) + np.array([0.0, y])
        rings = [(low, 40.0), (low, 64.5), (high, HEIGHT)]
        strips.append(
            hull(np.vstack([np.column_stack([ring, np.full(len(ring), z)]) for ring, z in rings]))
        )
    return Manifold.batch_boolean(strips, ADD)


def _ribs(skin: Skin) -> Manifold:
    """Return the grid of ribs below the skin, rooted in the middle of the wall."""
    half = RIB / 2
    ribs = [box((x - half, -300, 30), (x + half, 300, 100)) for x in RIBS_ACROSS]
    ribs += [box((-400, y - half, 30), (400, y + half, 100)) for y in RIBS_ALONG]
    # Wider than the lid, so that the ribs end at the skirt and do not run down it.
    below = skin.inner.scale((1.1, 1.1, 1.0)).translate((0, 0, -RIB_DEPTH))
    return (Manifold.batch_boolean(ribs, ADD) ^ skin.middle) - below


def _rim(skin: Skin) -> Manifold:
    """Return the thick lower edge that sits on the box."""
    return (skin.outer ^ box((-400, -400, 0), (400, 400, RIM_HEIGHT))) - skin.below(RIM)


def _latches(sides: int) -> Manifold:
    """Return two thick pads behind the front wall, where the latches are screwed on."""
    front = -(WIDTH - HINGE_REACH) / 2
    pads = [
        box((x - 32, front + SKIN / 2, 4), (x + 32, front + 12, 40))
        - bar((x - 18, front + 4, 22), (x - 18, front + 20, 22), 2.0, sides)
        - bar((x + 18, front + 4, 22), (x + 18, front + 20, 22), 2.0, sides)
        for x in (-190.0, 190.0)
    ]
    return Manifold.batch_boolean(pads, ADD)


def _hinges(skin: Skin) -> tuple[Manifold, Manifold]:
    """Return the hinge knuckles with their webs, and the bore for the pin."""
    rear = (WIDTH - HINGE_REACH) / 2
    sides = skin.sides
    y, z = rear + HINGE_REACH - HINGE_RADIUS, HINGE_RADIUS
    knuckles, bores = [], []
    for middle in HINGES:
        for offset in (-26.0, 26.0):
            start, end = middle + offset - 13.0, middle + offset + 13.0
            web = Manifold.batch_hull(
                [
                    bar((start, y, z), (end, y, z), HINGE_RADIUS, sides),
                    box((start, rear - 6.0, 0), (end, rear - 5.0, 42)),
                ]
            )
            knuckles.append(web)
        bores.append(bar((middle - 60, y, z), (middle + 60, y, z), HINGE_PIN / 2, sides))
    grown = Manifold.batch_boolean(knuckles, ADD) - skin.inner
    return grown, Manifold.batch_boolean(bores, ADD)
