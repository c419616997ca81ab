"""Metric threads, and what is made to their sizes: nuts, washers, heat-set inserts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from splitplanner.errors import WorkshopError
from splitplanner.workshop.entries import check_above_zero, check_rising, named, nominal_diameter


@dataclass(frozen=True)
class Thread:
    """A metric screw thread.

    Attributes
    ----------
    size : str
        Such as ``M4``.
    diameter : float
        Nominal, mm.
    pitch : float
        mm; the coarse one of ISO 261 and ISO 262 in the built-in table.
    clearance_fine, clearance_medium, clearance_coarse : float
        Diameters of through holes, mm; the three series of ISO 273.
    tap_drill : float
        Diameter of the hole in which the thread is cut, mm (ISO 2306).
    source : str
        Where the values are from, and whether from memory.

    Raises
    ------
    WorkshopError
        If a size is not above 0 mm, or they do not belong to one thread.
    """

    size: str
    diameter: float
    pitch: float
    clearance_fine: float
    clearance_medium: float
    clearance_coarse: float
    tap_drill: float
    source: str

    def __post_init__(self) -> None:
        name = named("Thread", self.size)
        diameter = nominal_diameter(name, self.size)
        if self.diameter != diameter:
            raise WorkshopError(
                f"{name}: the diameter must be {diameter:g} mm, as its size says, got "
                f"{self.diameter:g} mm."
            )
        # No metric thread in use has a pitch of half its diameter; this catches pitch and diameter
        # mixed up, and keeps all diameters below above 0.
        check_rising(name, pitch=self.pitch, half_diameter=diameter / 2)
        check_rising(
            name, root_diameter=self.root_diameter, tap_drill=self.tap_drill, diameter=diameter
        )
        check_rising(name, diameter=diameter, clearance_fine=self.clearance_fine)
        clearances = (self.clearance_fine, self.clearance_medium, self.clearance_coarse)
        if not clearances[0] <= clearances[1] <= clearances[2] < math.inf:
            raise WorkshopError(
                f"{name}: the clearance holes must run from fine over medium to coarse, got "
                f"{', '.join(f'{hole:g}' for hole in clearances)} mm."
            )

    @property
    def pitch_diameter(self) -> float:
        """Basic pitch diameter d2, mm: d - 3/8 √3 P (ISO 724)."""
        return self.diameter - 3 / 8 * math.sqrt(3) * self.pitch

    @property
    def minor_diameter(self) -> float:
        """Basic minor diameter D1 of the internal thread, mm: d - 5/8 √3 P (ISO 724)."""
        return self.diameter - 5 / 8 * math.sqrt(3) * self.pitch

    @property
    def root_diameter(self) -> float:
        """Minor diameter d3 of the external thread, mm: d - 17/24 √3 P.

        D1 less a sixth of the height √3/2 P of the thread's triangle (ISO 898-1:2013, 9.1.6.1).
        """
        return self.diameter - 17 / 24 * math.sqrt(3) * self.pitch

    @property
    def stress_area(self) -> float:
        """Nominal stress area, mm²: π/4 (d - 0.9382 P)² (ISO 898-1:2013, 9.1.6.1)."""
        return math.pi / 4 * (self.diameter - 0.9382 * self.pitch) ** 2


@dataclass(frozen=True)
class Nut:
    """A hexagon nut.

    Attributes
    ----------
    standard : str
        Such as ``ISO 4032``.
    size : str
        Of its thread, such as ``M4``.
    across_flats, height : float
        The greatest, mm: what a pocket has to clear.
    source : str
        Where the values are from, and whether from memory.

    Raises
    ------
    WorkshopError
        If a size is not above 0 mm, or the nut is no wider than its thread.
    """

    standard: str
    size: str
    across_flats: float
    height: float
    source: str

    def __post_init__(self) -> None:
        name = named("Nut", self.standard, self.size)
        diameter = nominal_diameter(name, self.size)
        check_rising(name, diameter_of_the_thread=diameter, width_across_flats=self.across_flats)
        check_above_zero(name, height=self.height)

    @property
    def across_corners(self) -> float:
        """Width across the corners of a sharp hexagon, mm: 2 s / √3."""
        return 2 * self.across_flats / math.sqrt(3)

    def bearing_area(self, hole: float) -> float:
        """Return the area on which it bears round a hole, mm².

        The ring between the hole and the circle across flats, to which the corners are chamfered
        (ISO 4032 lets the bearing face be a little smaller).

        Parameters
        ----------
        hole : float
            Diameter, mm.
        """
        return ring_area(self.across_flats, hole)


@dataclass(frozen=True)
class Washer:
    """A plain washer.

    Attributes
    ----------
    standard : str
        Such as ``ISO 7089``.
    size : str
        Of the thread it is for, such as ``M4``.
    is_large : bool
        Whether it belongs to a series with a large outer diameter, for soft seats.
    inner, outer, thickness : float
        Nominal, mm.
    source : str
        Where the values are from, and whether from memory.

    Raises
    ------
    WorkshopError
        If a size is not above 0 mm, or thread, hole and rim do not fit each other.
    """

    standard: str
    size: str
    is_large: bool
    inner: float
    outer: float
    thickness: float
    source: str

    def __post_init__(self) -> None:
        name = named("Washer", self.standard, self.size)
        check_rising(
            name,
            diameter_of_the_thread=nominal_diameter(name, self.size),
            inner_diameter=self.inner,
            outer_diameter=self.outer,
        )
        check_above_zero(name, thickness=self.thickness)

    def bearing_area(self, hole: float) -> float:
        """Return the area on which it bears round a hole, mm²: the ring π/4 (D² - d²).

        Parameters
        ----------
        hole : float
            Diameter, mm; where it is smaller than the washer's own, that counts.
        """
        return ring_area(self.outer, max(hole, self.inner))


@dataclass(frozen=True)
class Insert:
    """A heat-set insert. No standard has dimensions of them: its maker's data sheet has.

    Attributes
    ----------
    name : str
    size : str
        Of its internal thread, such as ``M3``.
    hole_diameter : float
        Of the hole it is set into, mm.
    length, outer_diameter : float
        Of the insert, over its knurl, mm.
    least_wall : float
        Least wall round the insert, mm.
    source : str
        Where the values are from.

    Raises
    ------
    WorkshopError
        If a size is not above 0 mm, or thread, hole and insert do not fit each other.
    """

    name: str
    size: str
    hole_diameter: float
    length: float
    outer_diameter: float
    least_wall: float
    source: str

    def __post_init__(self) -> None:
        name = named("Insert", self.name)
        check_rising(
            name,
            diameter_of_the_thread=nominal_diameter(name, self.size),
            hole_diameter=self.hole_diameter,
            outer_diameter=self.outer_diameter,
        )
        check_above_zero(name, length=self.length, least_wall=self.least_wall)

    @property
    def is_example(self) -> bool:
        """Whether it is the built-in example, which has to be replaced by a data sheet's values."""
        return self.source.startswith("example")

    @property
    def boss_diameter(self) -> float:
        """Least diameter of a boss round it, mm: the insert and the least wall on both sides."""
        return self.outer_diameter + 2 * self.least_wall

    def hole_depth(self, thread: Thread) -> float:
        """Return the least depth of its hole, mm, so that the screw does not bottom.

        Its length and 1 mm, or two pitches if that is more (common practice, no source).

        Parameters
        ----------
        thread : Thread
            Of its size.
        """
        return self.length + max(1.0, 2 * thread.pitch)


def ring_area(outer: float, inner: float) -> float:
    """Return the area between two circles, mm², from their diameters, mm; 0 if there is none."""
    return max(0.0, math.pi / 4 * (outer**2 - inner**2))
