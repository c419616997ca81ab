"""Where a screw's head can sit across a seam, and whether a tool gets to it and can be turned.

All is found by lines of sight along the screw's axis: the axis itself and lines on rings round it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from splitplanner.arrays import Bools, Floats
from splitplanner.joint.screws.sight import Past, rings
from splitplanner.plan import Seam
from splitplanner.solid import Sight, Solid

GoodSide = Callable[[Floats, Floats], Bools]
"""``good_side(points, towards)``: which points (n, 3), mm, at which lines of sight along the unit
vectors (n, 3) leave the material, are on the good side."""

REGRIP = 60.0
"""A hexagon key is taken out and put in anew after so many degrees (a hexagon's symmetry)."""
_HEAD = 0.6
"""Height of a head over its room's diameter where it is not given: ISO 4762 has 0.53 to 0.67 of
the head's diameter, ISO 7380-1 less."""
HANDLE = 80.0
"""Length of a driver's handle that must have room, mm. Common practice, no source."""
_FLAT = 0.01
"""A surface this flat under a head needs no spot face, mm."""


@dataclass(frozen=True)
class Tool:
    """What turns a screw.

    Attributes
    ----------
    kind : "straight" or "key"
        A driver in line with the screw, or an L-shaped hexagon key.
    diameter : float
        Of its shaft, of a key's arm, mm.
    length : float
        How far it stands up from the seat: to where a driver's handle begins, or to the outer side
        of the key's arm that lies across, mm.
    swing : float
        Length of that arm from the axis, mm; 0 for a straight driver.
    handle : float
        Diameter of a driver's handle, mm; 0 for a key.

    Raises
    ------
    ValueError
        If a size is not above 0 mm, or a key has no arm.
    """

    kind: Literal["straight", "key"]
    diameter: float
    length: float
    swing: float = 0.0
    handle: float = 0.0

    def __post_init__(self) -> None:
        if not (0 < self.diameter < np.inf and 0 < self.length < np.inf):
            raise ValueError(
                f"a tool needs a diameter and a length above 0 mm, got {self.diameter} and "
                f"{self.length}"
            )
        if self.kind == "key" and not self.diameter < self.swing < np.inf:
            raise ValueError(f"a key needs an arm longer than it is thick, got {self.swing}")


def good_side_of(part: Solid, faces: Bools) -> GoodSide:
    """Return which exits lie on the good side of the part; those on flanges and the like do not.

    Parameters
    ----------
    part : Solid
    faces : (m,) bool array
        Faces of the part on the good side.

    Raises
    ------
    ValueError
        If `faces` does not have one entry for each face of the part.
    """
    if len(faces) != len(part.faces):
        raise ValueError(f"expected a mask of {len(part.faces)} faces, got {len(faces)}")

    def good_side(points: Floats, towards: Floats) -> Bools:
        sight = Sight.of(part)
        back = 4 * sight.off
        distance, face = sight.first(points - back * towards, np.zeros_like(towards), towards)
        result: Bools = (distance < 2 * back) & faces[face]
        return result

    return good_side


@dataclass(frozen=True, eq=False)
class SeamAccess:
    """Finds where heads and nuts can sit across one seam.

    Attributes
    ----------
    seam : Seam
    assembled : Solid
        The state in which the screws are tightened, as one solid, without their holes: the part,
        with flanges if there are any, or the pieces that are in place by then.
    good_side_seen : (m,) bool array or callable
        Faces of `assembled` on the good side; or which exits are, see `good_side_of`.
    tools : tuple of Tool
        Any of these must reach the head; none where room for it is enough, for a nut in its pocket.
    """

    seam: Seam
    assembled: Solid
    good_side_seen: Bools | GoodSide
    tools: tuple[Tool, ...]

    def __post_init__(self) -> None:
        mask = self.good_side_seen
        if not callable(mask) and len(mask) != len(self.assembled.faces):
            raise ValueError(
                f"expected a mask of {len(self.assembled.faces)} faces, got {len(mask)}"
            )

    def seats(
        self,
        places: Floats,
        side: int,
        head_room: float,
        thickest: float,
        longest_counterbore: float,
        *,
        head_height: float | None = None,
        screw_length: float = 0.0,
        thinnest: float = 0.0,
        by_hand: bool = False,
    ) -> Floats:
        """Return how far from the plane a head, or a nut, can bear.

        Lines along the axis over the whole room of the head are followed from the seam to where
        they leave the material. The head bears all round up to the nearest of these exits, and
        what stands beyond it in the room is bored away, as far as the farthest of them: nothing
        where the surface lies square to the axis, a spot face where it is inclined or curved, a
        counterbore where the material is thicker than `thickest`. So the seat is the nearest
        exit or `thickest`, whichever is less. There is none where no material lies under the
        whole head, where an exit is on the good side, where the bore is longer than
        `longest_counterbore`, or where the head, the screw on its way in, or the tool has no room.

        The tool has room where a cylinder of its diameter is free up to its length above the seat
        and directions from its end lead into the open; the arm of a key besides needs a segment
        of `REGRIP` somewhere round the axis.

        Parameters
        ----------
        places : (n, 2) float array, mm
            Plane coordinates of the axes.
        side : +1 or -1
            +1 with the head in the piece above, -1 below.
        head_room : float
            Diameter over the head, washer and all, mm.
        thickest : float
            Most material under the head, mm.
        longest_counterbore : float
            From the seat out to the surface, mm.
        head_height : float, optional
            mm; 0.6 of `head_room` if it is not given.
        screw_length : float
            That must go in along the axis, below the head, mm.
        thinnest : float
            Least material under the head, mm.
        by_hand : bool
            Whether ways have to lead from over the surface into the open, for what no tool holds.

        Returns
        -------
        (n,) float array, mm
            nan where a head can not sit.

        Raises
        ------
        ValueError
            If `side` is neither, or a size is not above 0 mm.
        """
        if side not in (1, -1):
            raise ValueError(f"side is +1 for the piece above and -1 for the one below, got {side}")
        if not (head_room > 0 and thickest > 0 and longest_counterbore >= 0):
            raise ValueError("a head needs room, and a seat some thickness, above 0 mm")
        axis = side * np.array(self.seam.plane.normal)
        points = self.seam.plane.to_space(np.reshape(places, (-1, 2)))
        if not len(points):
            return np.empty(0)
        past = Past([self.assembled])
        nearest, farthest, clear = self._exits(past, points, axis, head_room / 2)
        height = _HEAD * head_room if head_height is None else head_height
        seat = np.minimum(nearest, thickest)
        free = np.isfinite(seat) & (seat > 0) & (seat >= thinnest)
        free &= farthest - seat <= longest_counterbore + _FLAT
        free &= clear >= seat + height + screw_length
        turned = np.zeros(len(points), dtype=np.bool_)
        for tool in self.tools:
            (some,) = np.nonzero(free & ~turned)
            feet = points[some] + seat[some, None] * axis
            bored = farthest[some] - seat[some]
            turned[some] = _turns(past, feet, axis, np.maximum(bored, height), bored, tool)
        if self.tools:
            free &= turned
        if by_hand:
            (some,) = np.nonzero(free)
            mouths = points[some] + (farthest[some] + height)[:, None] * axis
            free[some] = past.lead_out(mouths)
        return np.where(free, seat, np.nan)

    def _exits(
        self, past: Past, points: Floats, axis: Floats, radius: float
    ) -> tuple[Floats, Floats, Floats]:
        """Return the nearest and farthest exit, and the nearest that is met again, (n,) mm.

        The exits are nan where a line starts outside material or leaves it on the good side.
        """
        starts = (points[:, None, :] + rings(axis, radius)).reshape(-1, 3)
        along = np.tile(axis, (len(starts), 1))
        # A little above the plane: the faces of a seam that is not quite closed lie in it.
        run, leaves, face = past.first(starts + past.off * axis, along)
        run = np.where(leaves, run + past.off, np.nan)
        ends = starts + np.nan_to_num(run)[:, None] * axis
        if callable(self.good_side_seen):
            seen = self.good_side_seen(ends, along)
        else:
            seen = self.good_side_seen[face]
        run[seen] = np.nan
        again = past.free(ends + past.off * axis, along) + past.off + run
        shape = (len(points), len(starts) // len(points))
        run, again = run.reshape(shape), again.reshape(shape)
        return run.min(axis=1), run.max(axis=1), again.min(axis=1)


def _turns(
    past: Past, feet: Floats, axis: Floats, begins: Floats, bored: Floats, tool: Tool
) -> Bools:
    """Return over which seats (n, 3) a tool has room and can be turned, (n,).

    `begins` (n,) is how far above the seat its shaft is looked at, and `bored` how deep the seat
    lies below the surface, mm.
    """
    stands_out = tool.length - (tool.diameter if tool.kind == "key" else 0.0)
    fits = bored <= stands_out + _FLAT
    foot = feet + (begins[:, None] + past.off) * axis
    fits &= past.free_round(foot, axis, tool.diameter / 2) >= tool.length - begins - 2 * past.off
    (some,) = np.nonzero(fits)
    if len(some):
        ends = feet[some] + tool.length * axis
        if tool.handle:
            gripped = past.free_round(ends, axis, tool.handle / 2) >= HANDLE
            fits[some] = gripped
            some, ends = some[gripped], ends[gripped] + HANDLE * axis
    if len(some):
        out = past.lead_out(ends)
        if tool.kind == "key":
            swing, tips = past.swing(ends, axis, tool.diameter, tool.swing)
            out = (out | past.lead_out(tips)) & (swing >= REGRIP)
        fits[some] = out
    return fits
