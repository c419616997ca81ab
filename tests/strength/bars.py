"""Bars to load: a prism along x, and what moves its points."""

import numpy as np
from shapely.geometry import box

from splitplanner.solid import Plane, Solid
from splitplanner.strength import section_chain

X = (1.0, 0.0, 0.0)


def moved(solid, matrix, shift=(0.0, 0.0, 0.0)):
    whole = np.eye(4)
    whole[:3, :3], whole[:3, 3] = matrix, shift
    return solid.transformed(whole)


def bar(length, width=20.0, height=10.0):
    """Along x from 0, `width` along y and `height` along z, both about 0."""
    return Solid.box((length, width, height), (0.0, -width / 2, -height / 2))


def bar_chain(length, width=20.0, height=10.0, count=41):
    return section_chain(bar(length, width, height), X, count)


def leaning(length=200.0):
    """A bar whose centroids go along (1, 0.1, -0.2)."""
    return moved(bar(length), np.array([[1, 0, 0], [0.1, 1, 0], [-0.2, 0, 1]], float))


def wedge(length=200.0, wide=40.0, narrow=0.4, thick=10.0):
    """A plate whose width goes from `wide` at x = 0 to `narrow` in a straight line."""
    y = np.array([wide, narrow]) / 2
    corners = [
        (x, sy * w, sz * thick / 2)
        for x, w in ((0.0, y[0]), (length, y[1]))
        for sy in (-1, 1)
        for sz in (-1, 1)
    ]
    return Solid.hull_of(np.array(corners))


def tube(length=200.0):
    """A box girder along z, 20 x 30 with walls of 2."""
    shape = box(0, 0, 20, 30).difference(box(2, 2, 18, 28))
    return Solid.prism(shape, Plane((0.0, 0.0, 1.0), 0.0), 0.0, length)
