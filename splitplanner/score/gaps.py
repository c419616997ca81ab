"""Gaps between islands, and which of them lie beside the good side of the part."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import Polygon

from splitplanner.arrays import Bools, Floats
from splitplanner.score.islands import Layers, known_layers
from splitplanner.solid import Plane, Solid, plane_segments

MOST_GAPPED = 30
"""Of no more layers than this it is told whether their gaps show; the others are like them."""
TOLERANCE = 0.01
"""A gap ends on a face this near to its end, mm."""
_MANY = 64
"""Of more islands in a layer the nearest are told by their middles alone."""


def seen_crossings(
    solid: Solid,
    up: ArrayLike,
    layer_height: float,
    line_width: float,
    part: Solid,
    seen: Bools,
    layers: Layers | None = None,
) -> float:
    """Return how often a print travels over a gap that ends on the good side.

    In each layer the nozzle crosses one gap less than there are islands. They are taken to be the
    shortest that connect all of them, where a string would be left between the two nearest points.
    One that ends, on either side, on a face of the good side or on an edge of one counts.

    Islands, and layers that are looked at, are those of `splitplanner.score.islands.islands`. Of
    more than `MOST_GAPPED` of these that have gaps as many are taken, evenly spaced, and what
    share of their gaps shows is taken for all; so the figure is never above that of `islands`.

    Parameters
    ----------
    solid : Solid
        The piece, in the part's frame.
    up : (3,) array
        Print direction.
    layer_height, line_width : float
        mm.
    part : Solid
        The uncut part.
    seen : (m,) bool array
        Its faces on the good side.
    layers : Layers, optional
        As in `splitplanner.score.islands.islands`.

    Raises
    ------
    ValueError
        If `up` has no length, `layer_height` is not above 0, or `seen` does not have one entry for
        each face of the part.
    """
    if len(seen) != len(part.faces):
        raise ValueError(f"expected a mask of {len(part.faces)} faces, got {len(seen)}")
    count, looked_at = layers or known_layers(solid, up, layer_height, line_width)
    gapped = [(plane, islands) for plane, islands in looked_at if len(islands) > 1]
    if not gapped:
        return 0.0
    crossings = sum(len(islands) - 1 for _, islands in gapped) * count / len(looked_at)
    shown: list[Bools] = []
    for index in np.linspace(0, len(gapped) - 1, min(len(gapped), MOST_GAPPED)).round():
        plane, islands = gapped[int(index)]
        ends = gaps(islands)
        one, other = (_on_faces(ends[:, k], part, seen, plane) for k in (0, 1))
        shown.append(one | other)
    return float(crossings * np.concatenate(shown).mean())


def gaps(islands: Sequence[Polygon]) -> Floats:
    """Return the ends of the shortest gaps that connect all islands, (n - 1, 2, 2) mm.

    The minimum spanning tree over the distances between their outlines (scipy).
    """
    shapes = np.array(islands, dtype=object)
    places = shapely.centroid(shapes) if len(shapes) > _MANY else shapes
    one, other = np.triu_indices(len(shapes), 1)
    distances = np.zeros((len(shapes), len(shapes)))
    # A hair more, since next to nothing would mean no connection there.
    distances[one, other] = shapely.distance(places[one], places[other]) + 1e-6
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.sparse.csgraph import minimum_spanning_tree

    tree = minimum_spanning_tree(distances).tocoo()
    lines = shapely.shortest_line(shapes[tree.row], shapes[tree.col])
    ends: Floats = shapely.get_coordinates(lines).reshape(-1, 2, 2)
    return ends


def _on_faces(places: Floats, part: Solid, chosen: Bools, plane: Plane) -> Bools:
    """Return which places (n, 2) in a plane lie on a chosen face of the part."""
    segments, faces = plane_segments(part, plane)
    flat = plane.to_plane(segments[chosen[faces]].reshape(-1, 3)).reshape(-1, 2, 2)
    if not len(flat):
        return np.zeros(len(places), dtype=np.bool_)
    outline = shapely.multilinestrings(list(shapely.linestrings(flat)))
    shapely.prepare(outline)
    near: Bools = shapely.dwithin(outline, shapely.points(places), TOLERANCE)
    return near
