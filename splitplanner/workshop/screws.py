"""Screws by standard and size, thread-forming screws, and the keys and drivers that turn them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from splitplanner.errors import WorkshopError
from splitplanner.workshop.entries import (
    check_above_zero,
    check_rising,
    named,
    nominal_diameter,
    stocked_lengths,
)
from splitplanner.workshop.threads import ring_area

_SAME = 1e-6
"""Lengths nearer than this are the same, mm: stacks are sums of figures with rounding errors."""


@dataclass(frozen=True)
class ScrewType:
    """Screws of one standard and size as they are sold, in several lengths.

    Attributes
    ----------
    standard : str
        Such as ``ISO 4762``.
    size : str
        Of the thread, such as ``M4``.
    head_diameter, head_height : float
        The greatest, mm: what a counterbore has to clear. Of a countersunk head the diameter is the
        theoretical one, at the sharp rim of its cone of 90°.
    bearing_diameter : float
        Outer diameter of the face on which the head bears, mm; of a countersunk head that of the
        rim as it is made.
    key : float
        Width across flats of the hexagon key, mm.
    is_countersunk : bool
        Whether its head is a cone of 90°. Its length then includes the head.
    lengths : tuple of float
        Lengths on the shelf, rising, mm.
    source : str
        Where the values are from, and whether from memory.

    Raises
    ------
    WorkshopError
        If a size is not above 0 mm, or thread, key and head do not fit each other.
    """

    standard: str
    size: str
    head_diameter: float
    head_height: float
    bearing_diameter: float
    key: float
    is_countersunk: bool
    lengths: tuple[float, ...]
    source: str

    def __post_init__(self) -> None:
        name = named("Screw", self.standard, self.size)
        check_rising(
            name,
            diameter_of_the_thread=nominal_diameter(name, self.size),
            bearing_diameter=self.bearing_diameter,
        )
        check_rising(name, width_across_flats_of_the_key=self.key, head_diameter=self.head_diameter)
        if self.bearing_diameter > self.head_diameter:
            raise WorkshopError(
                f"{name}: the bearing diameter ({self.bearing_diameter:g} mm) must not be above "
                f"the head diameter ({self.head_diameter:g} mm)."
            )
        check_above_zero(name, head_height=self.head_height)
        object.__setattr__(self, "lengths", stocked_lengths(name, self.lengths))

    def bearing_area(self, hole: float) -> float:
        """Return the area on which the head bears round a hole, mm².

        The ring π/4 (D² - d²); of a countersunk head its projection along the axis.

        Parameters
        ----------
        hole : float
            Diameter, mm.
        """
        return ring_area(self.bearing_diameter, hole)


@dataclass(frozen=True)
class FormingScrew:
    """A screw that forms its thread in plastic. Its maker's data sheet has the dimensions.

    Attributes
    ----------
    name : str
    diameter : float
        Outer diameter of the thread, mm.
    pilot_diameter : float
        Of the hole in which it forms its thread, mm.
    head_diameter, head_height : float
        The greatest, mm.
    key : float
        Width across flats of the hexagon key, mm.
    engagement : float
        Least length of thread in the plastic, mm.
    boss_diameter : float
        Least diameter of a boss round it, mm.
    lengths : tuple of float
        Lengths on the shelf, rising, mm.
    source : str
        Where the values are from.

    Raises
    ------
    WorkshopError
        If a size is not above 0 mm, or thread, pilot hole, head and boss do not fit each other.
    """

    name: str
    diameter: float
    pilot_diameter: float
    head_diameter: float
    head_height: float
    key: float
    engagement: float
    boss_diameter: float
    lengths: tuple[float, ...]
    source: str

    def __post_init__(self) -> None:
        name = named("Thread-forming screw", self.name)
        check_rising(
            name,
            pilot_diameter=self.pilot_diameter,
            diameter=self.diameter,
            head_diameter=self.head_diameter,
        )
        check_rising(name, diameter=self.diameter, boss_diameter=self.boss_diameter)
        check_rising(name, width_across_flats_of_the_key=self.key, head_diameter=self.head_diameter)
        check_above_zero(name, head_height=self.head_height, engagement=self.engagement)
        object.__setattr__(self, "lengths", stocked_lengths(name, self.lengths))

    @property
    def is_example(self) -> bool:
        """Whether it is the built-in example, which has to be replaced by a data sheet's values."""
        return self.source.startswith("example")

    @property
    def clearance(self) -> float:
        """Diameter of the through hole below its head, mm: 1.1 d (common practice, no source)."""
        return 1.1 * self.diameter

    @property
    def pilot_depth(self) -> float:
        """Least depth of the pilot hole, mm.

        The engagement and half a diameter for the tip (common practice, no source).
        """
        return self.engagement + 0.5 * self.diameter

    def bearing_area(self, hole: float) -> float:
        """Return the area on which the head bears round a hole, mm²: the ring π/4 (D² - d²).

        Parameters
        ----------
        hole : float
            Diameter, mm.
        """
        return ring_area(self.head_diameter, hole)


@dataclass(frozen=True)
class HexKey:
    """An angled hexagon key.

    Attributes
    ----------
    across_flats : float
        mm.
    long_arm, short_arm : float
        Lengths of the arms, each with the bend, mm.
    source : str
        Where the values are from, and whether from memory.

    Raises
    ------
    WorkshopError
        If a size is not above 0 mm, or the arms are not longer than the key is wide.
    """

    across_flats: float
    long_arm: float
    short_arm: float
    source: str

    def __post_init__(self) -> None:
        check_rising(
            f"Hexagon key “{self.across_flats:g}”",
            width_across_flats=self.across_flats,
            short_arm=self.short_arm,
            long_arm=self.long_arm,
        )

    @property
    def across_corners(self) -> float:
        """Width across the corners of a sharp hexagon, mm: 2 s / √3; keys are a little rounder."""
        return 2 * self.across_flats / math.sqrt(3)


@dataclass(frozen=True)
class HexDriver:
    """A straight driver for hexagon sockets: a blade with a handle in line with it.

    Attributes
    ----------
    across_flats : float
        mm.
    shaft_diameter : float
        Of the blade, mm.
    length : float
        Of the blade, from its tip to the handle, mm.
    handle_diameter : float
        mm.
    source : str
        Where the values are from, and whether from memory.

    Raises
    ------
    WorkshopError
        If a size is not above 0 mm, the blade is no thicker than its tip is wide or no longer than
        it is thick, or the handle is no thicker than the blade.
    """

    across_flats: float
    shaft_diameter: float
    length: float
    handle_diameter: float
    source: str

    def __post_init__(self) -> None:
        name = f"Straight driver “{self.across_flats:g}”"
        blade = {"width_across_flats": self.across_flats, "shaft_diameter": self.shaft_diameter}
        check_rising(name, **blade, length=self.length)
        check_rising(name, **blade, handle_diameter=self.handle_diameter)


def screw_length(
    screw: ScrewType | FormingScrew, *, at_least: float, at_most: float = math.inf
) -> float | None:
    """Return the shortest stocked length within limits, mm; None if there is none.

    Parameters
    ----------
    screw : ScrewType or FormingScrew
    at_least : float
        What the thread has to reach, mm.
    at_most : float, optional
        Where the screw would bottom, mm.
    """
    for length in screw.lengths:
        if at_least - _SAME <= length <= at_most + _SAME:
            return length
    return None
