"""The sections of a mesh by many parallel planes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from shapely.geometry import Polygon

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid.plane import Plane
from splitplanner.solid.section import polygons_from_edges, polygons_from_rings


def mesh_sections(
    vertices: Floats, faces: Ints, planes: Sequence[Plane], rounding: Floats
) -> Iterator[tuple[Polygon, ...]]:
    """Yield the polygons in which each plane meets a closed mesh; just above it, if need be.

    What all planes share is done once, the rest when a section is asked for.

    Parameters
    ----------
    vertices : (n, 3) float array, mm
    faces : (m, 3) int array
    planes : sequence of k Plane
        All of the same normal, their offsets rising.
    rounding : (k,) float array
        Corners this near to each lie in it, mm.

    Yields
    ------
    tuple of Polygon
        In plane coordinates, mm.
    """
    if not planes:
        return
    # Imported late: loading the compiler takes longer than most commands need to start.
    from splitplanner.solid import _slicing_kernels as kernels

    heights = Plane(planes[0].normal, 0.0).height(vertices)
    offsets = np.array([plane.offset for plane in planes])
    owners, begins, levels = kernels.crossed_by_each(faces, heights, offsets, rounding)
    for index, plane in enumerate(planes):
        corners = faces[owners[begins[index] : begins[index + 1]]]
        turned, is_above = kernels.lone_first(corners, levels[corners] > index)
        ends, points = crossings(vertices, turned, heights, plane.offset, float(rounding[index]))
        flat = plane.to_plane(points)
        starts, stops = steps(ends, is_above)
        rings = outlines(len(flat), starts, stops)
        if rings is None:
            yield polygons_from_edges(flat[starts], flat[stops])
        else:
            yield polygons_from_rings([flat[ring] for ring in rings])


def crossings(
    vertices: Floats, turned: Ints, heights: Floats, offset: float, rounding: float
) -> tuple[Ints, Floats]:
    """Return the points in which the edges from first corners cross a plane.

    Both faces beside an edge find the same point, and all edges to a corner in the plane do.

    Parameters
    ----------
    vertices : (n, 3) float array, mm
    turned : (c, 3) int array
        Corners of crossed faces, that first which is alone on its side.
    heights : (n,) float array, mm
    offset, rounding : float
        Where the plane is, and how near to it corners lie in it, mm.

    Returns
    -------
    ends : (2, c) int array
        The point on the edge from the first to the second corner, and from the first to the third.
    points : (k, 3) float array, mm
    """
    from splitplanner.solid import _slicing_kernels as kernels

    keys = kernels.edge_keys(len(vertices), turned, heights, offset, rounding)
    # Sorted here, since compiled loops take five times as long for that.
    found: tuple[Ints, Floats] = kernels.crossings(
        vertices, heights, offset, keys, np.argsort(keys)
    )
    return found


def steps(ends: Ints, is_above: Bools) -> tuple[Ints, Ints]:
    """Return from which point to which outlines go, material on the left as seen from above."""
    starts, stops = np.where(is_above, ends, ends[::-1])
    moving = starts != stops
    return starts[moving], stops[moving]


def outlines(count: int, starts: Ints, stops: Ints) -> list[Ints] | None:
    """Return closed outlines made of steps between `count` points; None if some share a point."""
    from splitplanner.solid import _slicing_kernels as kernels

    apart, order, begins = kernels.rounds(count, starts, stops)
    if not apart:
        return None
    # There and back again, along an edge that touches the plane, is round nothing.
    return [ring for ring in np.split(order, begins[1:]) if len(ring) > 2]
