"""Boxes and bars on the bed: how long a piece may be, and into how many boxes a block divides."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.workshop import Bed


def bed_sizes(bed: Bed) -> tuple[float, float, float]:
    """Return the sides of a box that the bed can hold, mm: plan less margin, and height."""
    if bed.kind == "circle":
        side = (bed.width - 2 * bed.margin) / math.sqrt(2)
        return side, side, bed.height
    return bed.width - 2 * bed.margin, bed.depth - 2 * bed.margin, bed.height


def leaning_reaches(bed: Bed, thickness: float) -> list[float]:
    """Return how long a round bar can be along the plan diagonal and along the space diagonal, mm.

    Of length l and `thickness` d (mm), at cosine a to a side of the bed, it spans
    ``a l + d sqrt(1 - a²)`` of that side. Lengths no greater than the bed's longest side are left
    out.
    """
    width, depth, height = bed_sizes(bed)
    if thickness >= min(width, depth, height):
        return []
    if bed.kind == "circle":
        width = math.sqrt(max(2.0 * width**2 - thickness**2, 0.0))
        rooms = [np.array([width]), np.array([width, height])]
    else:
        rooms = [np.array([width, depth]), np.array([width, depth, height])]
    reaches = []
    for room in rooms:
        cosines = room / np.linalg.norm(room)
        spare = room - thickness * np.sqrt(np.maximum(1.0 - cosines**2, 0.0))
        reaches.append(float((spare / cosines).min()))
    return [reach for reach in reaches if reach > max(bed_sizes(bed))]


def is_slender(sides: Floats) -> bool:
    """Return whether a box of `sides` (3,), shortest first, is a bar that can lean on the bed."""
    return bool(sides[1] < 0.3 * sides[2])


def is_wide_plate(sides: Floats, bed: Bed) -> bool:
    """Return whether a box of `sides` (3,), shortest first, is a plate that may have to lean.

    Thin, wider than the bed, and no larger than any plate inside it: each side of the bed's box
    shows no more of a plate than its own area, and the squares of the three views of a flat shape
    add up to the square of its area.
    """
    thin, wide, long = sides.tolist()
    width, depth, height = bed.width - 2 * bed.margin, bed.depth - 2 * bed.margin, bed.height
    largest = math.hypot(width * depth, width * height, depth * height)
    # A convex shape that touches all sides of a rectangle fills at least half of it.
    return bool(
        thin < 0.15 * wide and wide > min(width, depth, height) and 0.5 * wide * long <= largest
    )


def box_counts(spans: Floats, bed: Bed) -> Iterator[tuple[int, int, int]]:
    """Yield into how many equal boxes a box of `spans` (3,) mm divides, for each way to lie."""
    for sizes in itertools.permutations(bed_sizes(bed)):
        counts = [max(1, math.ceil(s / b - 1e-9)) for s, b in zip(spans, sizes, strict=True)]
        yield counts[0], counts[1], counts[2]


def least_count(spans: Floats, bed: Bed) -> int:
    """Return into how few equal boxes one of several boxes divides; `spans` (k, 3) mm."""
    # Of the ways to lie, the sorted one is the one in which a box fits if it fits at all.
    rooms = np.sort(bed_sizes(bed)) * (1.0 + 1e-9)
    if (np.sort(spans, axis=1) <= rooms).all(axis=1).any():
        return 1
    return min(math.prod(counts) for span in spans for counts in box_counts(span, bed))
