"""Glue in the seams of pieces in cells: contact that also pulls and does not slide."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats
from splitplanner.loaded.cells_values import percentiles_of
from splitplanner.strength import Adhesive
from splitplanner.strength.cells import SPACING, Condensed, Joined, SeamAnswer, SeamPoints

_REACH = 1.5 * SPACING
"""Stress at a point of a seam is that of its neighbourhood as far as this, mm. Forces in points by
themselves come out up and down, more so the stiffer they are and the fewer freedoms the cells
behind them have: bars and tubes under pull, bending and twist have up to seven times the stress of
theory, and with this within 10 % of it, whatever the cells."""
_FLAT = 1e-6
"""Points on one line to so much of `_REACH` have no slope across it."""


@dataclass(frozen=True, eq=False)
class Glued:
    """A seam with glue that counts.

    Attributes
    ----------
    seam : str
    contact : slice
        Its points among the gaps, along the seam's normal.
    start : int
        Where the gaps across it start: those along u of all k points, then those along v.
    springs : (2 k,) float array, N/mm
        Of these; they make the two pieces one, as thin glue is far stiffer than what it joins.
    glue : Adhesive
    """

    seam: str
    contact: slice
    start: int
    springs: Floats
    glue: Adhesive

    @property
    def across(self) -> slice:
        """Which gaps are those across it."""
        return slice(self.start, self.start + len(self.springs))


@dataclass(frozen=True, eq=False)
class GluedFirst:
    """A condensed plan of which the glue is taken in first: it holds whatever else does.

    Glue has three gaps a point, thousands on a large part; answers to other joints solve for what
    is left, which is a tenth of that. With the flexibility S of all gaps, forces in glue are
    ``X f = (S_gg + 1 / k)⁻¹ (loaded_g - S_go f)`` of those f in the others.

    Attributes
    ----------
    left : Condensed
        The other gaps, with the glue there.
    others, rows : (n,) and (g,) int array
        Which gaps are the other ones, and which the glue's.
    springs : (g,) float array, N/mm
    across : (g, n + w + a) float array
        Forces in glue by unit forces along what `left` knows, less than 0 where these relieve it.
    loaded : (g,) float array, N
        By the load alone.
    """

    left: Condensed
    others: Ints
    rows: Ints
    springs: Floats
    across: Floats
    loaded: Floats

    @classmethod
    def of(cls, found: Condensed, rows: Ints, springs: Floats) -> GluedFirst:
        """Take springs (g,) N/mm in some gaps in, for good."""
        from scipy.linalg import cho_factor, cho_solve

        count = found.gaps.shape[0]
        others = np.setdiff1d(np.arange(count), rows)
        kept = np.concatenate([others, np.arange(count, len(found.loaded))])
        own = found.flexibility[np.ix_(rows, rows)]
        own.flat[:: len(own) + 1] += 1.0 / springs
        beside = found.flexibility[np.ix_(rows, kept)]
        factor = cho_factor(own, overwrite_a=True, check_finite=False)
        across = cho_solve(factor, beside, check_finite=False)
        loaded = cho_solve(factor, found.loaded[rows], check_finite=False)
        rigid = found.rigid_gaps[rows]
        left = replace(
            found,
            gaps=found.gaps[others],
            flexibility=found.flexibility[np.ix_(kept, kept)] - beside.T @ across,
            loaded=found.loaded[kept] - beside.T @ loaded,
            rigid_gaps=found.rigid_gaps[others],
            rigid_held=found.rigid_held + rigid.T @ (springs[:, None] * rigid),
        )
        return cls(left, others, rows, springs, -across, loaded)

    def answer(
        self, springs: Floats, one_sided: Bools, start: Bools, joined: Joined | None
    ) -> SeamAnswer:
        """Return the same as `Condensed.answer` of all gaps does, the glue's springs as they are.

        Raises
        ------
        LoadError
            As that.
        """
        some = self.others
        if joined is not None:
            joined = Joined(joined.rows[:, some], joined.springs)
        found = self.left.answer(springs[some], one_sided[some], start[some], joined)
        acting = np.concatenate(
            [found.forces, np.zeros(len(found.watched)), -self.left.aids * found.aided]
        )
        held = self.loaded + self.across @ acting
        gaps, forces = np.zeros(len(springs)), np.zeros(len(springs))
        closed = np.ones(len(springs), bool)
        gaps[some], forces[some], closed[some] = found.gaps, found.forces, found.closed
        gaps[self.rows], forces[self.rows] = held / self.springs, held
        return replace(found, gaps=frozen_floats(gaps), forces=frozen_floats(forces), closed=closed)


def glue_share(glue: Adhesive, at: SeamPoints, pulled: Floats, slid: Floats) -> float:
    """Return which share of its strength glue takes at its points, that 95 % of it stay below.

    Tension and shear together, ``sqrt((σ / peel)² + (τ / lap shear)²)``, as the seam's capacity
    has it; where it is pressed together it fails by shear alone. Its very edge is left out: stress
    there has no end in theory, and grows with ever more points.

    Parameters
    ----------
    glue : Adhesive
    at : SeamPoints
    pulled : (k,) float array, N
        Across the glue, above 0 where it is pulled.
    slid : (2, k) float array, N
        Along it.
    """
    stress = smoothed(at, np.vstack([pulled, slid]).T / at.areas[:, None])
    tension, shear = np.maximum(stress[:, 0], 0.0), np.hypot(stress[:, 1], stress[:, 2])
    return percentiles_of(np.hypot(tension / glue.peel, shear / glue.lap_shear), at.areas)[0]


def smoothed(at: SeamPoints, values: Floats) -> Floats:
    """Return values (k, d) at the points of a seam without what is only up and down among them.

    At each point the plane through those round it, by area and nearness (moving least squares,
    Lancaster and Salkauskas 1981, from memory): what changes evenly over the seam stays as it is.
    """
    flat = at.points @ at.frame[:2].T
    found = np.empty_like(values)
    for index, place in enumerate(flat):
        off = (flat - place) / _REACH
        nearness = 1.0 - (off**2).sum(axis=1)
        near = nearness > 0.0
        weights = np.sqrt(at.areas[near] * nearness[near])[:, None]
        plane = np.column_stack([np.ones(len(weights)), off[near]])
        # Points of one line have no slope across it.
        fitted = np.linalg.lstsq(weights * plane, weights * values[near], rcond=_FLAT)[0]
        found[index] = fitted[0]
    return found
