"""A loaded assembly condensed to its seams: any springs there answer without solving it again."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints, frozen_floats
from splitplanner.errors import LoadError
from splitplanner.strength.cells.assembly import Assembly, stacked
from splitplanner.strength.cells.flexibility import Flexibility, NewGaps
from splitplanner.strength.cells.reducing import ReducedPiece, Response, reduced
from splitplanner.strength.cells.springs import (
    UNHELD,
    Joined,
    SeamAnswer,
    SpringSystem,
    is_held,
)

_Responses = tuple[tuple[tuple[Ints, Response], ...], ...]
"""Of each piece, in parts: which rows they are, and what it does by them."""
_Reduced = tuple[ReducedPiece, Ints, Response]
"""A piece, the rows that touch it, and what it does by these."""
_ROUNDS = 60
"""Rounds until every contact is known to be open or closed; 5 to 15 do."""
_RESTLESS = "The contact of a seam keeps changing; add a fastener, or move the load a little."
_SHUT = 1e-9
"""How much of the largest gap counts as none."""
_NONE = 1e-12
"""A smaller share of a freedom in a gap is rounding."""


@dataclass(frozen=True, eq=False)
class Condensed:
    """Gaps of an assembly by a load and by forces in them.

    Pieces are aided against moving as a whole; an answer takes that away again.

    Attributes
    ----------
    assembly : Assembly
    pieces : tuple of ReducedPiece
    gaps : sparse (r, f) array
        What opens each gap.
    watch : sparse (w, f) array
        What is watched.
    forces : (f,) float array, N
        The load.
    loaded : (r + w + a,) float array, mm
        How far gaps, what is watched and the ways in which pieces are aided move by the load.
    rigid_gaps : (r, 6 p) float array
        Gaps by the six ways in which each of the p pieces moves without bending.
    rigid_held : (6 p, 6 p) float array
        Stiffness of the holds against them.
    newest : NewGaps, optional
        Those by which it was extended last.
    """

    assembly: Assembly
    pieces: tuple[ReducedPiece, ...]
    gaps: Any
    watch: Any
    forces: Floats
    loaded: Floats
    rigid_gaps: Floats
    rigid_held: Floats
    _flexibility: Flexibility
    _responses: _Responses
    newest: NewGaps | None = None

    @property
    def flexibility(self) -> Floats:
        """Of gaps, of what is watched and of the ways in which pieces are aided, with the aid.

        How each moves by a unit force along another, (r + w + a, r + w + a) mm/N.
        """
        return self._flexibility.whole

    def without(self, kept: Ints, flexibility: Floats, loaded: Floats, held: Floats) -> Condensed:
        """Return what is left where springs in the other gaps are taken in for good.

        Parameters
        ----------
        kept : (n,) int array
            The gaps that are left.
        flexibility, loaded : (n + w + a, n + w + a) and (n + w + a,) float array
            With those springs there.
        held : (6 p, 6 p) float array
            As `rigid_held`, with them.
        """
        return replace(
            self,
            gaps=self.gaps[kept],
            loaded=loaded,
            rigid_gaps=self.rigid_gaps[kept],
            rigid_held=held,
            newest=None,
            _flexibility=Flexibility(flexibility),
            _responses=(),
        )

    @property
    def aids(self) -> Floats:
        """Springs along the ways in which pieces are aided, (a,) N/mm."""
        return np.concatenate([np.full(p.ways.shape[1], p.aid) for p in self.pieces])

    def answer(
        self,
        springs: ArrayLike,
        one_sided: ArrayLike | None = None,
        start: ArrayLike | None = None,
        joined: Joined | None = None,
    ) -> SeamAnswer:
        """Return what springs in the gaps do: exact, as if all were solved anew.

        Forces f of the springs k follow from ``f / k + S f = g``, S being the flexibility and g
        the gaps by the load alone. One-sided springs only press: those that pull are let go, and
        open ones that overlap are closed, until there are none of either.

        Parameters
        ----------
        springs : (r,) array, N/mm
        one_sided : (r,) bool array, optional
        start : (r,) bool array, optional
            Which are closed at first: those of an answer to springs that differ little, for fewer
            rounds. All by default.
        joined : Joined, optional
            Springs beside these.

        Raises
        ------
        LoadError
            If the springs leave a piece free, or contact keeps changing.
        """
        wanted = np.asarray(springs, float)
        single = np.zeros(len(wanted), bool) if one_sided is None else np.asarray(one_sided, bool)
        closed = np.ones(len(wanted), bool) if start is None else np.asarray(start, bool) | ~single
        system = SpringSystem.of(self.flexibility, self.loaded, self.aids, wanted, joined)
        rounds, settled = 0, False
        while not settled:
            rounds += 1
            if rounds > _ROUNDS:
                raise LoadError(_RESTLESS)
            acting = closed & (wanted > 0.0)
            moved, forces = system.solved(acting)
            gaps = moved[: len(wanted)]
            apart = _SHUT * float(np.abs(gaps).max(initial=0.0))
            new = ~single | (gaps < np.where(closed, apart, -apart))
            settled, closed = bool((new == closed).all()), new
        if not is_held(self.rigid_held, self.rigid_gaps, np.where(acting, wanted, 0.0), joined):
            raise LoadError(UNHELD)
        ended = len(wanted) + self.watch.shape[0]
        return SeamAnswer(
            frozen_floats(gaps),
            frozen_floats(forces),
            frozen_floats(moved[len(wanted) : ended]),
            closed,
            frozen_floats(moved[ended:]),
            rounds,
        )

    def extended(self, ties: Any) -> Condensed:
        """Return the same with more gaps behind the others; exact, and quick for a few.

        Parameters
        ----------
        ties : sparse (t, f) array
        """
        found, responses = self._beside(ties)
        return replace(self.with_gaps(found), _responses=responses)

    def with_gaps(self, new: NewGaps) -> Condensed:
        """Return the same with more gaps behind the others, of which all is known already."""
        count = self.gaps.shape[0]
        loaded = np.concatenate([self.loaded[:count], new.loaded, self.loaded[count:]])
        return replace(
            self,
            gaps=stacked([self.gaps, new.gaps]),
            loaded=frozen_floats(loaded),
            rigid_gaps=frozen_floats(np.vstack([self.rigid_gaps, new.rigid])),
            newest=new,
            _flexibility=self._flexibility.grown(count, new),
        )

    def _beside(self, ties: Any) -> tuple[NewGaps, _Responses]:
        """Return how gaps along `ties` move, and what pieces do by them, theirs last."""
        count, more = self.gaps.shape[0], ties.shape[0]
        # The load comes last, behind the ways in which pieces are aided.
        across, own = np.zeros((len(self.loaded) + 1, more)), np.zeros((more, more))
        responses = []
        for index, (piece, parts) in enumerate(zip(self.pieces, self._responses, strict=True)):
            low, high = self.assembly.starts[index], self.assembly.starts[index + 1]
            rows = ties[:, low:high]
            some = np.flatnonzero(np.diff(rows.indptr))
            moved_up = tuple((np.where(at < count, at, at + more), part) for at, part in parts)
            if not len(some):
                responses.append(moved_up)
                continue
            new = piece.response(rows[some], with_ways=False)
            for there, part in parts:
                across[np.ix_(there, some)] += part.along(new)
            own[np.ix_(some, some)] += new.along(new)
            responses.append((*moved_up, (count + some, new)))
        found = NewGaps(ties, ties @ self.assembly.rigid, across[:-1], own, across[-1])
        return found, tuple(responses)

    def displacements(self, answer: SeamAnswer) -> Floats:
        """Return the displacements of all freedoms, (f,) mm; one solving of each piece."""
        acting = self.forces - self.gaps.T @ answer.forces
        parts, start = [], 0
        for index, piece in enumerate(self.pieces):
            own = np.array(self.assembly.own(acting, index))
            count = piece.ways.shape[1]
            own[piece.kept] += piece.aid * (piece.ways @ answer.aided[start : start + count])
            start += count
            parts.append(piece.moved(own))
        return np.concatenate(parts)


def condensed(
    assembly: Assembly,
    contacts: Any,
    ties: Any,
    forces: ArrayLike,
    watch: Any,
    many: Sequence[int] = (),
) -> Condensed:
    """Condense a held assembly under a load to its gaps.

    Parameters
    ----------
    assembly : Assembly
    contacts, ties : sparse (c, f) and (t, f) array
        Gaps, in this order. The freedoms of the first are kept, which is quicker where many gaps
        share few of them, as on a seam; the others are worked out one by one.
    forces : (f,) array, N
    watch : sparse (w, f) array
        What is to be known besides, how a loaded spot moves for instance.
    many : sequence of int
        Ties whose freedoms are kept too: many that are near each other, as those of a tape.

    Raises
    ------
    LoadError
        If a piece is in no contact and not held.
    """
    from scipy.sparse import block_diag, csr_array

    acting = frozen_floats(forces, (assembly.starts[-1],))
    contacts = _cleared(contacts)
    gaps = stacked([contacts, ties])
    rows = stacked([gaps, watch, csr_array(acting[None])])
    near = _cleared(ties[np.asarray(many, np.int64)])
    taking = np.union1d(contacts.indices, near.indices)
    rigid = assembly.rigid

    def found(index: int) -> _Reduced:
        low, high = assembly.starts[index], assembly.starts[index + 1]
        kept = taking[(taking >= low) & (taking < high)] - low
        ways = rigid[low:high, 6 * index : 6 * index + 6]
        piece = reduced(assembly.models[index], assembly.part(index), kept, ways)
        own = rows[:, low:high]
        there = np.flatnonzero(np.diff(own.indptr))
        return piece, there, piece.response(own[there])

    # The largest first, as it takes most memory; one is factorised while another is reduced.
    sizes = np.array([-model.freedoms for model in assembly.models])
    with ThreadPoolExecutor(2) as threads:
        jobs = {i: threads.submit(found, i) for i in np.argsort(sizes, kind="stable").tolist()}
    every = [jobs[index].result() for index in range(len(sizes))]
    whole, responses = _put_together(every, gaps.shape[0] + watch.shape[0])
    return Condensed(
        assembly,
        tuple(piece for piece, *_ in every),
        gaps,
        watch,
        acting,
        frozen_floats(whole[:-1, -1]),
        frozen_floats(gaps @ rigid),
        frozen_floats(block_diag([piece.held for piece, *_ in every]).toarray()),
        # A part of it, since it is large.
        Flexibility(whole[:-1, :-1]),
        responses,
    )


def _put_together(every: Sequence[_Reduced], known: int) -> tuple[Floats, _Responses]:
    """Return how all that is known moves by unit forces along it and by the load, and by pieces.

    Parameters
    ----------
    every : sequence of (ReducedPiece, (n,) int array, Response)
        Pieces, which rows touch each, and what it does by these and along its ways.
    known : int
        How many rows there are; the load's is the one after them.

    Returns
    -------
    whole : (r + w + a + 1, r + w + a + 1) float array
        The load comes last, behind the ways in which pieces are aided.
    responses
        As in `Condensed`, of rows in that order.
    """
    last = known + sum(piece.ways.shape[1] for piece, *_ in every)
    whole, responses, first = np.zeros((last + 1, last + 1)), [], known
    for piece, touching, response in every:
        behind = first + np.arange(piece.ways.shape[1])
        first += len(behind)
        there = np.concatenate([np.where(touching == known, last, touching), behind])
        whole[np.ix_(there, there)] += response.along(response)
        responses.append(((there, response),))
    whole.setflags(write=False)
    return whole, tuple(responses)


def _cleared(contacts: Any) -> Any:
    """Return gaps without shares of freedoms that are only rounding: fewer are kept."""
    found = contacts.tocsr().copy()
    found.data[np.abs(found.data) < _NONE * np.abs(found.data).max(initial=0.0)] = 0.0
    found.eliminate_zeros()
    return found
