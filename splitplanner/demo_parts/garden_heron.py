"""A garden heron: a solid figure with no flat face but its base."""

from __future__ import annotations

import numpy as np
from manifold3d import Manifold
from scipy.interpolate import PchipInterpolator

from splitplanner.arrays import Floats
from splitplanner.demo_parts._shapes import ADD, finely, hull, limb, rounded_plan, sides_for
from splitplanner.solid import Solid

LENGTH, WIDTH, HEIGHT = 380.0, 160.0, 700.0
BASE = 18.0

# x, z and radius (mm) of balls along the bird, which faces +x and stands in the plane y = 0.
_BODY = np.array(
    [
        (-128.0, 268.0, 7.0),
        (-112.0, 283.0, 18.0),
        (-80.0, 310.0, 36.0),
        (-35.0, 342.0, 52.0),
        (10.0, 366.0, 54.0),
        (48.0, 388.0, 44.0),
        (70.0, 408.0, 33.0),
    ]
)
_NECK = np.array(
    [
        (62.0, 404.0, 34.0),
        (92.0, 432.0, 25.0),
        (100.0, 468.0, 19.5),
        (82.0, 508.0, 17.0),
        (52.0, 546.0, 16.0),
        (32.0, 586.0, 15.5),
        (38.0, 628.0, 16.0),
        (62.0, 658.0, 19.0),
        (88.0, 668.0, 21.0),
    ]
)
_BEAK = np.array([(88.0, 668.0, 19.0), (112.0, 664.0, 12.5), (187.0, 649.0, 3.0)])
_CREST = np.array(
    [(84.0, 676.0, 15.0), (52.0, 690.0, 10.0), (18.0, 678.0, 5.0), (-6.0, 660.0, 3.0)]
)
_LEG = np.array([(2.0, 340.0, 26.0), (2.0, 292.0, 17.0), (-6.0, 262.0, 11.0), (-14.0, 170.0, 10.0)])
_SHANK = np.array([(-14.0, 172.0, 13.0), (-12.0, 158.0, 11.0), (4.0, 24.0, 10.0)])
_TOES = ((52.0, 6.0), (40.0, 34.0), (40.0, -26.0), (-34.0, 4.0))
_STANCE = 26.0
"""Distance of each foot from the middle, mm."""
_WING = np.array(
    [(48.0, 398.0, 26.0), (10.0, 384.0, 34.0), (-40.0, 350.0, 32.0), (-96.0, 300.0, 16.0),
     (-136.0, 262.0, 5.0)]
)  # fmt: skip


def make(triangles: int = 130_000) -> Solid:
    """Return the heron, facing +x on its base plate, z up.

    Parameters
    ----------
    triangles : int
        About how many, from 5 000 to 500 000.
    """
    sides = sides_for(triangles, 44, 12)
    links = sides_for(triangles, 36, 8) // 2
    bird = [
        *_swept(_BODY, links, sides),
        *_swept(_NECK, 2 * links, sides),
        *_swept(_BEAK, links // 2, sides),
        *_swept(_CREST, links // 2, sides),
    ]
    for side in (-1.0, 1.0):
        bird += _leg(side, links, sides)
        bird.append(_wing(side, links, sides))
    whole = Manifold.batch_boolean([*bird, _base(sides)], ADD)
    return finely(_at_size(whole), triangles)


def _swept(knots: Floats, links: int, sides: int, y: float = 0.0) -> list[Manifold]:
    """Return a chain of balls along a smooth curve through `knots` (n, 3): x, z, radius."""
    steps = np.linalg.norm(np.diff(knots[:, :2], axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    curve = PchipInterpolator(along, knots)(np.linspace(0.0, along[-1], links + 1))
    centres = np.column_stack([curve[:, 0], np.full(len(curve), y), curve[:, 1]])
    return limb(list(centres), curve[:, 2], sides)


def _leg(side: float, links: int, sides: int) -> list[Manifold]:
    """Return one leg with its foot; nowhere thinner than 20 mm above the toes."""
    y = side * _STANCE
    leg = _swept(_LEG, links // 2, sides, y) + _swept(_SHANK, links // 2, sides, y)
    ankle = (4.0, y, BASE + 3.0)
    for x, across in _TOES:
        leg += limb([ankle, (4.0 + x, y + side * across, BASE + 1.0)], (9.0, 5.0), sides)
    return leg


def _wing(side: float, links: int, sides: int) -> Manifold:
    """Return a folded wing: a flattened chain laid on the flank."""
    flat = Manifold.batch_boolean(_swept(_WING, links, sides), ADD).scale((1.0, 0.42, 1.0))
    return flat.translate((0.0, side * 43.0, 0.0))


def _base(sides: int) -> Manifold:
    """Return the plate it stands on."""
    low = rounded_plan(120.0, WIDTH / 2, 50.0, sides // 2)
    high = rounded_plan(116.0, WIDTH / 2 - 4.0, 46.0, sides // 2)
    rings = [(low, 0.0), (low, BASE - 4.0), (high, BASE)]
    return hull(np.vstack([np.column_stack([ring, np.full(len(ring), z)]) for ring, z in rings]))


def _at_size(whole: Manifold) -> Manifold:
    """Return the figure scaled by less than 2 % to be exactly as long, wide and high as named."""
    low, high = np.reshape(whole.bounding_box(), (2, 3))
    factors = np.array([LENGTH, WIDTH, HEIGHT]) / (high - low)
    return whole.translate((0.0, 0.0, -low[2])).scale(factors)
