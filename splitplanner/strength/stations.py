"""The sections of a part at stations along an axis, as a beam is reckoned with."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats, Ints, frozen_floats, frozen_ints, to_vector, unit_vector
from splitplanner.plan import Vector
from splitplanner.progress import Report, silent
from splitplanner.solid import Plane, Solid
from splitplanner.strength.section_properties import SectionProperties, section_properties
from splitplanner.strength.torsion import Torsion, torsion
from splitplanner.workshop import Material

_INSET = 1e-3
"""The first and the last station lie inside the part by this share of its length, as in
`score.stations`."""
_SAME = 1e-7
"""Sections whose area, outlines, moments and reaches differ by less than this share twist alike."""
_TURNS = 16
"""In so many directions it is looked how far sections reach."""
_THREADS = 2
"""That work out how sections twist."""
_TWIST_ACCURACY = 0.02
"""What torsion constants along a part may be off by: it is given beside them."""


@dataclass(frozen=True, eq=False)
class SectionChain:
    """Sections of a part at stations along an axis: what a beam is reckoned with.

    Stations at which the axis meets no material are left out.

    Attributes
    ----------
    axis : (x, y, z)
        Unit vector.
    ends : (low, high)
        Where the part begins and ends along the axis, mm.
    positions : (n,) float array
        Offset ``axis · p`` of the plane at each station, mm, rising.
    shapes : tuple of n MultiPolygon
        The sections in the coordinates of `frame`, mm.
    properties : tuple of n SectionProperties
    """

    axis: Vector
    ends: tuple[float, float]
    positions: Floats
    shapes: tuple[MultiPolygon, ...]
    properties: tuple[SectionProperties, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "positions", frozen_floats(self.positions, (-1,)))
        count = len(self.positions)
        if count < 2 or len(self.shapes) != count or len(self.properties) != count:
            raise ValueError(
                f"two sections or more are needed, each with its figures, got {count} stations, "
                f"{len(self.shapes)} sections and {len(self.properties)} figures"
            )
        if not (np.diff(self.positions) > 0.0).all():
            raise ValueError("stations must rise")

    @property
    def frame(self) -> Floats:
        """Rows u, v and the axis: (3, 3), right-handed, orthonormal."""
        return Plane(self.axis, 0.0).frame

    @property
    def length(self) -> float:
        """Of the part along the axis, mm."""
        return self.ends[1] - self.ends[0]

    @cached_property
    def area(self) -> Floats:
        """Area of each section, (n,) mm²."""
        return frozen_floats([found.area for found in self.properties])

    @cached_property
    def centroids(self) -> Floats:
        """Centroid of each section in plane coordinates, (n, 2) mm."""
        return frozen_floats([found.centroid for found in self.properties])

    @cached_property
    def tensors(self) -> Floats:
        """Second moments of each section about its centroid, (n, 2, 2) mm⁴."""
        return frozen_floats([found.tensor for found in self.properties])

    @cached_property
    def modulus(self) -> Floats:
        """Least elastic section modulus of each section, (n,) mm³."""
        return frozen_floats([found.modulus for found in self.properties])

    @cached_property
    def torsions(self) -> tuple[Torsion, ...]:
        """How each section stands twisting and shear; found when first asked for (some 0.4 s)."""
        return chain_torsions(self)

    @property
    def shear_centres(self) -> Floats:
        """Shear centre of each section from its centroid, (n, 2) mm; see `torsions`."""
        return np.array([found.shear_centre for found in self.torsions])

    @property
    def shear_flexibilities(self) -> Floats:
        """Flexibility of each section under shear, (n, 2, 2) 1/mm²; see `Torsion`."""
        uu, vv, uv = np.array([found.shear_flexibility for found in self.torsions]).T
        return np.moveaxis(np.array([[uu, uv], [uv, vv]]), -1, 0)

    @property
    def torsion_constants(self) -> Floats:
        """Torsion constant J of each section, (n,) mm⁴."""
        return np.array([found.constant for found in self.torsions])

    def mass_per_length(self, material: Material) -> Floats:
        """Return the mass per length at each station, (n,) g/mm, as if filled altogether."""
        return np.array([material.mass(area) for area in self.area])

    def share(self, positions: ArrayLike) -> tuple[Ints, Floats]:
        """Return between which stations places lie: the lower one, and how far on to the next.

        Beyond the first and the last station their figures hold on.

        Parameters
        ----------
        positions : (k,) float array, mm

        Returns
        -------
        lower : (k,) int array
        share : (k,) float array
            From 0 to 1.
        """
        at = np.asarray(positions, float)
        lower = np.clip(np.searchsorted(self.positions, at, "right") - 1, 0, len(self.area) - 2)
        step = self.positions[lower + 1] - self.positions[lower]
        return lower, np.clip((at - self.positions[lower]) / step, 0.0, 1.0)

    def between(self, figures: Floats, positions: ArrayLike) -> Floats:
        """Return `figures` (n, ...) of the stations at any `positions` (k,) mm, by straight lines.

        Where sections change all at once this is off within one step of the stations.
        """
        lower, share = self.share(positions)
        share = share.reshape(-1, *[1] * (figures.ndim - 1))
        result: Floats = (1.0 - share) * figures[lower] + share * figures[lower + 1]
        return result

    def nearest(self, positions: ArrayLike) -> Ints:
        """Return the stations nearest to `positions` (k,) mm, (k,)."""
        lower, share = self.share(positions)
        return frozen_ints(lower + (share > 0.5))


def section_chain(
    part: Solid,
    axis: ArrayLike,
    count: int = 200,
    report: Report = silent,
    positions: ArrayLike | None = None,
) -> SectionChain:
    """Cut a part at stations along an axis and work out the figures of its sections.

    Parameters
    ----------
    part : Solid
        The part, a piece or a light stand-in.
    axis : (3,) array
        Of any length but zero.
    count : int
        How many stations, 2 or more, evenly spaced, as `score.stations` has them.
    report : progress callback
    positions : (n,) array, optional
        Where to cut instead, mm along the axis, rising.

    Raises
    ------
    ValueError
        If there are fewer than two stations that meet the part, or the axis has no length.
    """
    direction = unit_vector(axis)
    heights = part.vertices @ direction
    low, high = float(heights.min()), float(heights.max())
    inset = _INSET * (high - low)
    if positions is None:
        positions = np.linspace(low + inset, high - inset, max(count, 0))
    base = Plane(to_vector(direction), 0.0)
    found = []
    wanted = np.asarray(positions, float)
    for index, (position, section) in enumerate(part.each_section(base, wanted)):
        report(index / len(wanted), "cutting sections along the axis")
        if section.area > 0.0:
            found.append((position, section.shape, section_properties(section.shape)))
    return SectionChain(
        axis=base.normal,
        ends=(low, high),
        positions=np.array([at for at, _, _ in found]),
        shapes=tuple(shape for _, shape, _ in found),
        properties=tuple(figures for _, _, figures in found),
    )


def chain_torsions(
    chain: SectionChain, accuracy: float = _TWIST_ACCURACY, report: Report = silent
) -> tuple[Torsion, ...]:
    """Return how the section at each station stands twisting.

    Sections that are the same but for their place are worked out once.

    Parameters
    ----------
    chain : SectionChain
    accuracy : float
        See `torsion`.
    report : progress callback
    """
    own = _first_alike(chain.properties)
    known: dict[int, Torsion] = {}
    # Most of it is compiled and does without the interpreter, so two threads take half as long.
    with ThreadPoolExecutor(_THREADS) as threads:
        jobs = {each: threads.submit(torsion, chain.shapes[each], accuracy) for each in set(own)}
        try:
            for index, job in sorted(jobs.items()):
                report(index / len(chain.shapes), "working out how sections twist")
                known[index] = job.result()
        finally:
            # Where it is stopped, what has not begun is left.
            for job in jobs.values():
                job.cancel()
    return tuple(known[each] for each in own)


def _first_alike(properties: Sequence[SectionProperties]) -> list[int]:
    """Return for each section the first one that is the same but for its place."""
    turns = 2.0 * np.pi * np.arange(_TURNS) / _TURNS
    ways = np.array([np.cos(turns), np.sin(turns)])
    reaches = np.array([(each.hull @ ways).max(axis=0) for each in properties])
    size = reaches.max(axis=1)
    area, perimeter = np.array([(each.area, each.perimeter) for each in properties]).T
    tensors = np.array([each.tensor.ravel() for each in properties])
    polar = tensors[:, 0] + tensors[:, 3]
    figures = np.column_stack([area, perimeter, reaches, tensors])
    scales = np.repeat([area, perimeter, size, polar], [1, 1, _TURNS, 4], axis=0).T
    kept: list[int] = []
    found: list[int] = []
    for index, (own, scale) in enumerate(zip(figures, scales, strict=True)):
        same = (np.abs(figures[kept] - own) <= _SAME * scale).all(axis=1)
        if not same.any():
            kept.append(index)
        found.append(kept[int(np.argmax(same))] if same.any() else index)
    return found
