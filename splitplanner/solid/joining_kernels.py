"""The compiled look-up of groups that grow together; imported by compiled loops alone.

Each item points to a parent in its group, the root to itself (union-find with halved paths: Tarjan
& van Leeuwen, J. ACM 31 (1984) 245).
"""

from __future__ import annotations

from typing import Any

from numba import njit


def _root(parents: Any, at: int) -> int:
    """Return the item that stands for the group of `at`, and shorten the way to it."""
    while parents[at] != at:
        parents[at] = parents[parents[at]]
        at = parents[at]
    return at


root = njit(nogil=True, cache=True)(_root)
