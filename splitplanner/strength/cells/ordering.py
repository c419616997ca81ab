"""In which order nodes are eliminated: parts of a piece first, then what lies between them."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Floats, Ints

_FEW = 40
"""Nodes that are not parted further."""
_MIDDLE = (30.0, 70.0)
"""Between which percentiles of the nodes they are parted."""


def dissected(lattice: Ints) -> Ints:
    """Return an order of nodes by nested dissection (George 1973, from memory), (m,).

    Nodes on a plane between cells keep those on its two sides apart: of the planes near the middle
    that with the fewest nodes is taken, and so on in both halves.

    Parameters
    ----------
    lattice : (m, 3) int array
        Where the nodes are, in half cells: even ones lie between cells.
    """
    found: list[Ints] = []
    _part(np.arange(len(lattice)), lattice, found)
    order: Ints = np.concatenate(found)
    return order


def freedoms_in_order(nodes: Ints) -> Ints:
    """Return the three freedoms of each node (m,), one node after the other, (3m,)."""
    found: Ints = (3 * nodes[:, None] + np.arange(3)).ravel()
    return found


def elimination_order(lattice: Ints, last: Ints) -> Ints:
    """Return in which order to eliminate the freedoms of nodes, (3m,); see `dissected`.

    Parameters
    ----------
    lattice : (m, 3) int array
    last : (b,) int array
        Freedoms that come last, in this order.
    """
    order = freedoms_in_order(dissected(lattice))
    return np.concatenate([order[~np.isin(order, last)], last])


def _part(nodes: Ints, lattice: Ints, found: list[Ints]) -> None:
    places = lattice[nodes]
    plane = _plane(places) if len(nodes) > _FEW else None
    if plane is None:
        found.append(nodes)
        return
    side = places[:, plane[0]] - plane[1]
    _part(nodes[side < 0], lattice, found)
    _part(nodes[side > 0], lattice, found)
    found.append(nodes[side == 0])


def _plane(places: Ints) -> tuple[int, int] | None:
    """Return axis and position of the plane with the fewest nodes; None if none parts them."""
    best: tuple[int, int, int] | None = None
    for axis in range(3):
        along = places[:, axis]
        low, high = along.min(), along.max()
        ends: Floats = np.percentile(along, _MIDDLE) / 2.0
        planes = 2 * np.arange(int(np.floor(ends[0])), int(np.ceil(ends[1])) + 1)
        planes = planes[(planes > low) & (planes < high)]
        if len(planes):
            counts = np.bincount(along - low)[planes - low]
            least = int(counts.argmin())
            if best is None or counts[least] < best[0]:
                best = int(counts[least]), axis, int(planes[least])
    return None if best is None else best[1:]
