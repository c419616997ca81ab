"""Array types and the one way to make an array read-only."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
"""Any float array; shape and unit are given where it is used."""
Ints = NDArray[np.int64]
"""Any integer array."""
Bools = NDArray[np.bool_]
"""Any mask."""


def frozen_floats(values: ArrayLike, shape: tuple[int, ...] | None = None) -> Floats:
    """Copy `values` into a read-only float64 array.

    Raises
    ------
    ValueError
        If `shape` is given and differs (-1 stands for any length).
    """
    return _frozen(np.array(values, dtype=np.float64, order="C"), shape)


def frozen_ints(values: ArrayLike, shape: tuple[int, ...] | None = None) -> Ints:
    """Copy `values` into a read-only int64 array; see `frozen_floats`."""
    return _frozen(np.array(values, dtype=np.int64, order="C"), shape)


def to_vector(values: Floats) -> tuple[float, float, float]:
    """Return `values` (3,) as a tuple of plain numbers, which can be compared and looked up."""
    x, y, z = values.tolist()
    return x, y, z


def _frozen(array: NDArray[Any], shape: tuple[int, ...] | None) -> NDArray[Any]:
    if shape is not None and (
        array.ndim != len(shape)
        or any(want not in (-1, have) for want, have in zip(shape, array.shape, strict=True))
    ):
        raise ValueError(f"expected an array of shape {shape}, got {array.shape}")
    array.setflags(write=False)
    return array


def unit_vector(values: ArrayLike) -> Floats:
    """Return `values` (3,) scaled to length 1, read-only.

    Raises
    ------
    ValueError
        If the vector is not three finite numbers or has no length.
    """
    vector = np.array(values, dtype=np.float64)
    if vector.shape != (3,) or not np.isfinite(vector).all():
        raise ValueError(f"a direction needs three finite numbers, got {values!r}")
    length = float(np.linalg.norm(vector))
    if length == 0.0:
        raise ValueError("a direction needs a length, got (0, 0, 0)")
    return frozen_floats(vector / length + 0.0)


def unit_tuple(values: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return `values` with length 1; kept to the bit where it has that already.

    Raises
    ------
    ValueError
        As `unit_vector`.
    """
    unit = unit_vector(values)
    return values if np.allclose(unit, values, rtol=0, atol=1e-15) else to_vector(unit)
