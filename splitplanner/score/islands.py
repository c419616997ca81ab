"""Islands: how often a print has to travel over a gap."""

from __future__ import annotations

import math
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import ArrayLike
from shapely.geometry import Polygon

from splitplanner.arrays import unit_vector
from splitplanner.solid import Plane, Solid

MOST_LAYERS = 120
"""No more layers of a piece than this are looked at; the others are taken to be like them."""
Layers = tuple[int, list[tuple[Plane, tuple[Polygon, ...]]]]
"""How many layers a print has, and plane and islands of those that are looked at."""

_Key = tuple[tuple[float, ...], float, float]
_known: WeakKeyDictionary[Solid, tuple[_Key, Layers]] = WeakKeyDictionary()


@dataclass(frozen=True)
class Islands:
    """The separate outlines of a piece, layer by layer.

    Attributes
    ----------
    layers : int
        Of the whole print.
    looked_at : int
        So many of them, at even distances.
    crossings : float
        Islands beyond the first of each layer, added up over the whole print: as many times at
        least the nozzle travels over a gap, where it may leave a string.
    most : int
        Islands of the layer that has most of them.
    """

    layers: int
    looked_at: int
    crossings: float
    most: int


def islands(
    solid: Solid,
    up: ArrayLike,
    layer_height: float,
    line_width: float,
    layers: Layers | None = None,
) -> Islands:
    """Count the outlines of a piece in each layer when it is printed with `up` upward.

    A layer is the section at half its height. An island is one of its polygons, holes and all;
    it counts if its area is at least that of a dot as wide as a line, since less is not printed.
    Supports are left out, though travel between them and the piece leaves strings too.

    Of more than `MOST_LAYERS` layers as many are looked at, evenly spaced, and their count is
    scaled to all. Where islands begin or end the figure is off by one such step at most.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Print direction in the solid's frame.
    layer_height, line_width : float
        mm.
    layers : Layers, optional
        What `printed_layers` found for `MOST_LAYERS`; else those that were cut last are taken
        where they are of this direction.

    Raises
    ------
    ValueError
        If `up` has no length or `layer_height` is not above 0.
    """
    count, looked_at = layers or known_layers(solid, up, layer_height, line_width)
    counts = np.array([len(polygons) for _, polygons in looked_at])
    crossings = float(np.maximum(counts - 1, 0).sum()) * count / len(counts)
    return Islands(count, len(counts), crossings, int(counts.max()))


def known_layers(solid: Solid, up: ArrayLike, layer_height: float, line_width: float) -> Layers:
    """Return `printed_layers` of `MOST_LAYERS`; those of the last direction are remembered.

    Several figures are taken from the same layers, one after another.
    """
    key = tuple(np.asarray(up, float).tolist()), layer_height, line_width
    known = _known.get(solid)
    if known is None or known[0] != key:
        known = key, printed_layers(solid, up, layer_height, line_width, MOST_LAYERS)
        _known[solid] = known
    return known[1]


def printed_layers(
    solid: Solid, up: ArrayLike, layer_height: float, line_width: float, most: int
) -> Layers:
    """Return the number of layers, and plane and islands of `most` of them, evenly spaced.

    See `islands`.
    """
    if not layer_height > 0.0:
        raise ValueError(f"the layer height must be above 0 mm, got {layer_height}")
    direction = unit_vector(up)
    heights = solid.vertices @ direction
    low, height = float(heights.min()), float(np.ptp(heights))
    layers = layer_count(height, layer_height)
    count = min(layers, most)
    middles = low + height * (np.arange(count) + 0.5) / count
    least = math.pi / 4 * line_width**2
    return layers, [
        (section.plane, tuple(each for each in section.polygons if each.area >= least))
        for section in solid.sections(Plane.through((0.0, 0.0, 0.0), direction), middles)
    ]


def layer_count(height: float, layer_height: float) -> int:
    """Return how many layers of `layer_height` a print of `height` has, mm; at least one."""
    # Rounding does not make another layer.
    return max(1, math.ceil(height / layer_height - 1e-6))
