"""What a screw needs from a printed seam: holes, room, material and a length that is sold."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.plan import Hold, Screw
from splitplanner.plan.joints import Vector
from splitplanner.solid import Plane

TIP_CLEARANCE = 0.5
"""Least distance from a screw's tip to the bottom of its hole, mm; or two pitches, if that is more.
Common practice, no source."""
PITCHES_BEYOND = 1.0
"""Pitches of thread that stand out of a nut, at least. Common practice, no source."""
_LEAST_GRIP = 1.0
"""Material under a head or nut by thread diameter, at least. Common practice, no source."""
_MOST_GRIP = 4.0
"""The same where it has to be bored for, at most: beyond, a longer screw holds nothing more. Common
practice, no source."""


@dataclass(frozen=True)
class Hardware:
    """One screw of a seam between its seat and where it holds, mm.

    Attributes
    ----------
    seat, depth, length : float
        As in `Screw`.
    """

    seat: float
    depth: float
    length: float


@dataclass(frozen=True)
class ScrewSize:
    """A screw of any stocked length with its washers, and what it needs from a printer.

    All holes are as drawn, before any coat, mm.

    Attributes
    ----------
    standard, size : str
    hold : "nut", "insert" or "plastic"
    diameter, pitch : float
        Of the thread.
    lengths : tuple of float
        As sold, rising.
    is_countersunk : bool
    head_height : float
        With its washer.
    bearing : float
        Outer diameter of what bears on the seat: head or washer.
    washers : int
        As in `Screw`.
    washer : float
        Thickness of one.
    clearance : float
        Through hole.
    head_room : float
        Diameter clear from the seat outwards; of a countersunk head that of the countersink.
    hole : float
        What holds the insert or the thread; the clearance with a nut.
    least_depth : float
        Of that hole, for insert or thread; 0 with a nut.
    engagement : float
        Length of thread that has to be reached in insert or plastic; 0 with a nut.
    nut_height : float
        0 without one.
    nut_bearing : float
        Outer diameter of what bears on the far side: across the nut's flats, or its washer.
    nut_room : float
        Width across flats of the nut's pocket; 0 where it lies open.
    nut_way : float
        Diameter clear outwards of where the nut bears.
    edge_distance : float
        Least distance from the axis to a surface.
    end_cover : float
        Material kept beyond a blind hole: two printed lines (common practice, no source).
    """

    standard: str
    size: str
    hold: Hold
    diameter: float
    pitch: float
    lengths: tuple[float, ...]
    is_countersunk: bool
    head_height: float
    bearing: float
    washers: int
    washer: float
    clearance: float
    head_room: float
    hole: float
    least_depth: float
    engagement: float
    nut_height: float
    nut_bearing: float
    nut_room: float
    nut_way: float
    edge_distance: float
    end_cover: float

    @property
    def tip_clearance(self) -> float:
        """Least distance from the tip to the bottom of a blind hole, mm."""
        return max(TIP_CLEARANCE, 2 * self.pitch)

    @property
    def under_head(self) -> float:
        """Thickness of the washer under the head, mm."""
        return self.washer if self.washers and not self.is_countersunk else 0.0

    @property
    def under_nut(self) -> float:
        """Thickness of the washer under the nut, mm."""
        return self.washer if self.washers > 1 else 0.0

    @property
    def least_seat(self) -> float:
        """Least material between the seam and head or nut, mm; below a countersink, if it is one.

        The cone of 90° is as high as its top is wider than the hole, halved.
        """
        cone = (self.head_room - self.clearance) / 2 if self.is_countersunk else 0.0
        return cone + _LEAST_GRIP * self.diameter

    @property
    def thickest(self) -> float:
        """Most material between the seam and a head or nut, mm; more is bored away."""
        return max(_MOST_GRIP * self.diameter, self.least_seat)

    @property
    def reach(self) -> float:
        """How far from the seam its pieces matter to it, at most, mm."""
        return self.thickest + self.nut_height + max(self.head_room, self.least_depth)

    @property
    def spacing(self) -> float:
        """Least distance between two of them: 3 d (common practice, no source), mm.

        Or so much that heads, nuts, and the walls round the holes keep clear.
        """
        return max(
            3 * self.diameter,
            self.head_room,
            self.nut_way,
            self.edge_distance + max(self.clearance, self.hole) / 2,
        )

    def length_for(self, seat: float, depth: float) -> float | None:
        """Return the shortest length on the shelf that holds and does not bottom, mm.

        Through a nut it reaches over grip, washers and nut by a pitch. In insert or plastic it
        reaches the engagement and ends `tip_clearance` short of the bottom.

        Parameters
        ----------
        seat, depth : float
            As in `Screw`, mm.

        Returns
        -------
        float or None
            None when no stocked length does.
        """
        if self.hold == "nut":
            stack = seat + depth + self.under_head + self.under_nut + self.nut_height
            return self._stocked(stack + PITCHES_BEYOND * self.pitch, math.inf)
        before = seat + self.under_head
        return self._stocked(before + self.engagement, before + depth - self.tip_clearance)

    def _stocked(self, least: float, most: float) -> float | None:
        return next(
            (length for length in self.lengths if least - 1e-9 <= length <= most + 1e-9), None
        )

    def fits(self, seat: float, far: float = math.nan) -> Iterator[Hardware]:
        """Yield how the screw can be put in, what needs least boring first.

        Parameters
        ----------
        seat : float
            Greatest distance at which the head can bear, mm; it may be sunk to suit a length.
        far : float
            With a nut the distance at which that bears, mm.

        Yields
        ------
        Hardware
            With the seat as far out as its length allows and, for insert or plastic, the
            shallowest hole in which it does not bottom.
        """
        if self.hold == "nut":
            length = self.length_for(seat, far)
            if length is not None and min(seat - self.least_seat, far - self.diameter) > -1e-9:
                yield Hardware(seat, far, length)
            return
        found = []
        for length in self.lengths:
            sunk = min(seat, length - self.under_head - self.engagement)
            if sunk < self.least_seat - 1e-9:
                continue
            tip = length - self.under_head - sunk
            found.append(Hardware(sunk, max(self.least_depth, tip + self.tip_clearance), length))
        # Sinking the head and deepening the hole are weighed alike.
        yield from sorted(
            found, key=lambda one: (round(seat - one.seat + one.depth, 6), one.length)
        )

    def screw(self, at: Vector, axis: Vector, hardware: Hardware) -> Screw:
        """Return the screw at a place, with its holes.

        Parameters
        ----------
        at : (x, y, z)
            On the cut plane, mm.
        axis : (x, y, z)
            Unit vector from head to tip.
        hardware : Hardware
        """
        return Screw(
            at=at,
            axis=axis,
            standard=self.standard,
            size=self.size,
            length=hardware.length,
            hold=self.hold,
            seat=hardware.seat,
            washers=self.washers,
            clearance=self.clearance,
            head_room=self.head_room,
            is_countersunk=self.is_countersunk,
            depth=hardware.depth,
            hole=self.hole,
            nut_room=self.nut_room,
            edge_distance=self.edge_distance,
        )

    def screw_in(self, plane: Plane, place: Floats, side: int, hardware: Hardware) -> Screw:
        """Return the screw at plane coordinates (2,), mm, its head on `side` (+1 is above)."""
        at = to_vector(plane.to_space(np.reshape(place, (1, 2)))[0])
        axis = plane.normal if side < 0 else plane.flipped().normal
        return self.screw(at, axis, hardware)
