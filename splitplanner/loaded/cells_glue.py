"""Glue in the seams of pieces in cells: contact that also pulls and does not slide."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats
from splitplanner.loaded.cells_values import percentiles_of
from splitplanner.strength import Adhesive
from splitplanner.strength.cells import SPACING, Condensed, Joined, NewGaps, SeamAnswer, SeamPoints

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
    smoothing : sparse (k, k) array
        Of values at its points; see `smoothing`.
    """

    seam: str
    contact: slice
    start: int
    springs: Floats
    glue: Adhesive
    smoothing: Any

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
    factor : (g, g) float array
        Lower triangle of what `X` is the inverse of.
    """

    left: Condensed
    others: Ints
    rows: Ints
    springs: Floats
    across: Floats
    loaded: Floats
    factor: Floats

    @classmethod
    def of(cls, found: Condensed, rows: Ints, springs: Floats) -> GluedFirst:
        """Take springs (g,) N/mm in some gaps in, for good."""
        from scipy.linalg import cho_factor

        count = found.gaps.shape[0]
        others = np.setdiff1d(np.arange(count), rows)
        kept = np.concatenate([others, np.arange(count, len(found.loaded))])
        own = found.flexibility[np.ix_(rows, rows)]
        own.flat[:: len(own) + 1] += 1.0 / springs
        beside = found.flexibility[np.ix_(rows, kept)]
        # The other way round it need not be copied.
        factor, _ = cho_factor(own.T, lower=True, overwrite_a=True, check_finite=False)
        across, loaded = -_solved(factor, beside), _solved(factor, found.loaded[rows])
        rigid = found.rigid_gaps[rows]
        left = found.without(
            others,
            found.flexibility[np.ix_(kept, kept)] + beside.T @ across,
            found.loaded[kept] - beside.T @ loaded,
            found.rigid_held + rigid.T @ (springs[:, None] * rigid),
        )
        return cls(left, others, rows, springs, across, loaded, factor)

    def extended(self, new: NewGaps) -> GluedFirst:
        """Return the same with more gaps that are not the glue's, behind all others.

        Parameters
        ----------
        new : NewGaps
            As the condensed plan itself has them, without the glue.
        """
        first, count = len(self.others), len(self.others) + len(self.rows)
        kept = np.concatenate([self.others, np.arange(count, len(new.across))])
        beside = new.across[self.rows]
        across = -_solved(self.factor, beside)
        left = self.left.with_gaps(
            replace(
                new,
                across=new.across[kept] + self.across.T @ beside,
                own=new.own + beside.T @ across,
                loaded=new.loaded - beside.T @ self.loaded,
            )
        )
        return replace(
            self,
            left=left,
            others=np.concatenate([self.others, count + np.arange(beside.shape[1])]),
            across=np.hstack([self.across[:, :first], across, self.across[:, first:]]),
        )

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


def taken_in(found: Condensed, glued: Sequence[Glued], firm: Floats) -> GluedFirst | None:
    """Return a condensed plan with the glue of its seams taken in; None where there is none.

    Parameters
    ----------
    found : Condensed
    glued : sequence of Glued
    firm : (c,) float array, N/mm
        Springs of all contacts.
    """
    if not glued:
        return None
    rows, springs = [], []
    for each in glued:
        for some, own in ((each.contact, firm[each.contact]), (each.across, each.springs)):
            rows.append(np.arange(some.start, some.stop))
            springs.append(own)
    return GluedFirst.of(found, np.concatenate(rows), np.concatenate(springs))


def _solved(factor: Floats, right: Floats) -> Floats:
    from scipy.linalg import cho_solve

    found: Floats = cho_solve((factor, True), right, check_finite=False)
    return found


def glue_share(glued: Glued, areas: Floats, pulled: Floats, slid: Floats) -> float:
    """Return which share of its strength glue takes at its points, that 95 % of it stay below.

    Tension and shear together, ``sqrt((σ / peel)² + (τ / lap shear)²)``, as the seam's capacity
    has it; where it is pressed together it fails by shear alone. Its very edge is left out: stress
    there has no end in theory, and grows with ever more points.

    Parameters
    ----------
    glued : Glued
    areas : (k,) float array, mm²
        Of its points.
    pulled : (k,) float array, N
        Across the glue, above 0 where it is pulled.
    slid : (2, k) float array, N
        Along it.
    """
    stress = glued.smoothing @ (np.vstack([pulled, slid]).T / areas[:, None])
    tension, shear = np.maximum(stress[:, 0], 0.0), np.hypot(stress[:, 1], stress[:, 2])
    glue = glued.glue
    return percentiles_of(np.hypot(tension / glue.peel, shear / glue.lap_shear), areas)[0]


def smoothing(at: SeamPoints) -> Any:
    """Return what takes values at the points of a seam to such as do not go up and down among them.

    At each point the plane through those round it, by area and nearness (moving least squares,
    Lancaster and Salkauskas 1981, from memory): what changes evenly over the seam stays as it is.

    Returns
    -------
    sparse (k, k) array
    """
    from scipy.sparse import csr_array

    flat = at.points @ at.frame[:2].T
    shares, columns, ends = [], [], [0]
    for place in flat:
        off = (flat - place) / _REACH
        nearness = 1.0 - (off**2).sum(axis=1)
        near = np.flatnonzero(nearness > 0.0)
        weights = np.sqrt(at.areas[near] * nearness[near])
        plane = np.column_stack([np.ones(len(near)), off[near]])
        # Points of one line have no slope across it.
        shares.append(np.linalg.pinv(weights[:, None] * plane, rcond=_FLAT)[0] * weights)
        columns.append(near)
        ends.append(ends[-1] + len(near))
    return csr_array((np.concatenate(shares), np.concatenate(columns), ends), (len(flat),) * 2)
