"""A seam that opens on one side and presses on the other: where its neutral axis lies.

One piece is taken to be stiff and to rest on the other as on a bed of springs, over the true
polygon of their contact. The bed can press alone (or, glued, also pull); fasteners and tape can
pull alone. It is how a cracked section of reinforced concrete is worked out, and a base plate:
plane sections stay plane, and what would have to pull and cannot is left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.strength.bolt_group import BALANCED, SeamLoad, relative_residual
from splitplanner.strength.outline_moments import Edges

_ROUNDS = 80
_ENOUGH = 1e-12
"""Of the load: residual at which the search ends."""
_SLOPE = 1e-4
"""Of the descent that a step promises, it has to bring this much (Armijo's rule)."""
_LEAST_STEP = 2.0**-24


@dataclass(frozen=True, eq=False)
class Bed:
    """The contact of a seam as a bed of springs.

    Attributes
    ----------
    rings : tuple of (m, 2) float arrays
        Closed outlines without their last corner, mm; outer ones run counterclockwise, holes
        clockwise.
    """

    rings: tuple[Floats, ...]

    @cached_property
    def edges(self) -> Edges:
        """Of all outlines."""
        return Edges.of(self.rings)

    @property
    def corners(self) -> Floats:
        """All corners, (m, 2) mm."""
        return self.edges.starts


def bed_of(shape: shapely.Geometry) -> Bed:
    """Return the bed of a shapely polygon or several, mm."""
    rings = []
    for polygon in shapely.get_parts(shape):
        whole = shapely.orient_polygons(polygon)
        for ring in (whole.exterior, *whole.interiors):
            rings.append(frozen_floats(np.asarray(ring.coords)[:-1]))
    return Bed(tuple(rings))


@dataclass(frozen=True, eq=False)
class Opening:
    """How a seam carries a load that may open it.

    Attributes
    ----------
    tensions : (n,) float array
        What each fastener takes, N, 0 or above.
    plane : (3,) float array
        a, b, c of ``stress = a + b u + c v`` in the bed, MPa; where that is above 0 the seam opens,
        unless it is glued.
    pressure, pull : float
        The greatest stress with which the bed presses and, where it is glued, pulls, MPa.
    pressed_at, pulled_at : (2,) float array
        Where that is, mm.
    pressed_area : float
        mm².
    residual : float
        What is not in equilibrium, by the load.
    """

    tensions: Floats
    plane: Floats
    pressure: float
    pull: float
    pressed_at: Floats
    pulled_at: Floats
    pressed_area: float
    residual: float

    @property
    def is_balanced(self) -> bool:
        """Whether fasteners and contact can take the load at all."""
        return self.residual < BALANCED


def opening_of(
    places: ArrayLike, areas: ArrayLike, load: SeamLoad, bed: Bed, *, glued: bool = False
) -> Opening:
    """Find the tensions of fasteners and the pressure of the contact under a pull and bending.

    Parameters
    ----------
    places : (n, 2) array, mm
        Of fasteners, or of stretches of tape.
    areas : (n,) array, mm²
        Their transformed areas: as much contact as is as stiff, ``A E / E_plastic`` for the same
        length.
    load : SeamLoad
        What it has in the plane is left out.
    bed : Bed
    glued : bool
        Whether the bed pulls too.

    Returns
    -------
    Opening
        Check `Opening.is_balanced`: nothing holds the seam closed where it is False.
    """
    case = _Case(places, areas, load, bed, glued)
    return case.opening(case.solve() if case.can_be_held() else np.zeros(3))


class _Case:
    """One such task, in coordinates about where the load acts and by the size of the contact."""

    def __init__(
        self, places: ArrayLike, areas: ArrayLike, load: SeamLoad, bed: Bed, glued: bool
    ) -> None:
        flat = np.asarray(places, float).reshape(-1, 2)
        every = np.vstack([flat, bed.corners])
        self.load, self.bed, self.glued = load, bed, glued
        self.reach = float(np.abs(every - load.at).max(initial=0.0)) or 1.0
        self.rows = np.column_stack([np.ones(len(flat)), (flat - load.at) / self.reach])
        self.areas = np.asarray(areas, float).reshape(-1)
        edges = bed.edges
        self.edges = Edges(*((side - load.at) / self.reach for side in (edges.starts, edges.ends)))
        self.places = flat
        # Weights by the whole, so that all numbers are near 1.
        whole = abs(float(self.edges.moments[0])) * self.reach**2
        self.unit = whole + float(self.areas.sum()) or 1.0
        wanted = np.array([load.force[2], -load.moment[1], load.moment[0]])
        self.wanted = wanted / np.array([1.0, self.reach, self.reach])
        self.size = float(np.linalg.norm(self.wanted)) or 1.0

    def can_be_held(self) -> bool:
        """Return whether any pulls and pressures are in equilibrium with the load.

        What they can balance is the cone of all that each can alone, from corners of the contact's
        hull. Without this the search would take long to find that there is nothing.
        """
        from scipy.optimize import nnls

        pulls = self.rows[self.areas > 0]
        corners = self.edges.starts
        if len(corners) > 2:
            hull = shapely.multipoints(corners).convex_hull
            corners = shapely.get_coordinates(hull)
        presses = np.column_stack([np.ones(len(corners)), corners])
        all_of_them = [pulls, -presses, presses] if self.glued else [pulls, -presses]
        ways = np.vstack(all_of_them)
        if not len(ways):
            return not self.wanted.any()
        return bool(nnls(ways.T, self.wanted / self.size)[1] < BALANCED)

    def stiffness(self, motion: Floats) -> Floats:
        """Return the stiffness (3, 3) of what acts at a motion (a, b, c)."""
        pulled = self.rows @ motion > 0
        rows = self.rows[pulled]
        held = self.edges.moments if self.glued else self.edges.moments_below(motion)
        result = rows.T @ (self.areas[pulled, None] * rows) + _matrix(held) * self.reach**2
        return np.asarray(result / self.unit)

    def energy(self, motion: Floats, stiffness: Floats) -> float:
        return float(motion @ stiffness @ motion / 2 - self.wanted / self.size @ motion)

    def solve(self) -> Floats:
        """Return the motion of least energy, by Newton's method: it is convex and smooth."""
        wanted = self.wanted / self.size
        # Everything at first pulls and presses.
        every = self.rows.T @ (self.areas[:, None] * self.rows)
        every = every + _matrix(self.edges.moments) * self.reach**2
        motion = np.linalg.lstsq(every / self.unit, wanted, rcond=1e-12)[0]
        stiffness = self.stiffness(motion)
        for _ in range(_ROUNDS):
            slope = stiffness @ motion - wanted
            if np.linalg.norm(slope) < _ENOUGH:
                break
            # A trace of stiffness keeps a step finite where nothing acts in its direction.
            damped = stiffness + np.eye(3) * (1e-10 * np.trace(stiffness) + 1e-14)
            step = -np.linalg.solve(damped, slope)
            moved = self._along(motion, step, slope, stiffness)
            if moved is None:
                break
            motion, stiffness = moved
        return np.asarray(motion)

    def _along(
        self, motion: Floats, step: Floats, slope: Floats, stiffness: Floats
    ) -> tuple[Floats, Floats] | None:
        """Return the next motion along a step and its stiffness; None at the end of the search.

        Near the end the energy no longer tells two motions apart, but what is missing does.
        """
        start, descent = self.energy(motion, stiffness), float(slope @ step)
        missing, length = float(np.linalg.norm(slope)), 1.0
        while length > _LEAST_STEP:
            tried = motion + length * step
            there = self.stiffness(tried)
            gain = self.energy(tried, there) - start
            left = float(np.linalg.norm(there @ tried - self.wanted / self.size))
            if gain <= _SLOPE * length * descent or left < missing * (1 - _SLOPE * length):
                return tried, there
            length /= 2
        return None

    def opening(self, motion: Floats) -> Opening:
        """Return the forces of a motion in plain units."""
        stress = motion / self.unit * self.size
        stress = np.array([stress[0], *(stress[1:] / self.reach)])
        stress[0] -= stress[1:] @ self.load.at
        tensions = self.areas * np.maximum(stress[0] + self.places @ stress[1:], 0.0)
        taken = self.stiffness(motion) @ motion
        missing = (self.wanted / self.size - taken) * self.size
        corners = self.bed.corners
        heights = stress[0] + corners @ stress[1:] if len(corners) else np.zeros(1)
        spots = corners if len(corners) else np.zeros((1, 2))
        low, high = int(heights.argmin()), int(heights.argmax())
        moment = np.array([missing[2], -missing[1], 0.0]) * self.reach
        normal_load = SeamLoad(
            np.array([0.0, 0.0, self.load.force[2]]), np.append(self.load.moment[:2], 0.0)
        )
        return Opening(
            tensions=frozen_floats(tensions),
            plane=frozen_floats(stress),
            pressure=float(max(-heights[low], 0.0)),
            pull=float(max(heights[high], 0.0)) if self.glued else 0.0,
            pressed_at=frozen_floats(spots[low]),
            pulled_at=frozen_floats(spots[high]),
            pressed_area=float(self.bed.edges.moments_below(stress)[0]),
            residual=relative_residual(
                normal_load, np.array([0.0, 0.0, missing[0]]), moment, np.full((1, 2), self.reach)
            ),
        )


def _matrix(moments: Floats) -> Floats:
    """Return the integrals of 1, u, v times 1, u, v as a matrix (3, 3)."""
    area, u, v, uu, uv, vv = moments
    return np.array([[area, u, v], [u, uu, uv], [v, uv, vv]])
