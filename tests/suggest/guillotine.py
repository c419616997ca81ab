"""All trees of cuts of a small part, by what they score at least: see `tests.suggest.exhaust`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import numpy as np
import shapely
from scipy.spatial.distance import pdist

from splitplanner.arrays import Floats
from splitplanner.plan import Cut, Division, Piece, Seam, divide
from splitplanner.score import (
    CRITERIA,
    PieceFigures,
    bed_fit,
    fits_any,
    leaning_directions,
    overhang,
    print_directions,
    room,
    seam_figures,
    support_volume,
    thick_enough,
)
from splitplanner.score.figures import REFERENCE_PIN, _going_on
from splitplanner.score.room import shrunk
from splitplanner.score.support import Support
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.suggest import lower_bound
from tests.suggest.small_parts import SmallPart

KEPT = 400
"""So many trees of each body and number of pieces are kept."""

_DUST = 1e-3
"""What is thinner than this is dust, mm: no plan with it is sound, and it has no hull."""

# Those that say nothing without load cases are left out.
_COUNTED = [c for c in CRITERIA if c.weight and c.applies is None]
assert all(c.adds_up for c in _COUNTED), "bodies taken alone say nothing of such criteria"
EACH = next(c.weight / c.reference for c in _COUNTED if c.name == "pieces")
"""What every piece adds to the plan score, whatever else."""

Key = tuple[float, ...]
Place = tuple[int, float]
"""Index of a direction, and an offset along it."""


@dataclass(frozen=True)
class Tree:
    """A body that stays whole, or is cut at a place; `leaves` tells plans apart."""

    bound: float
    leaves: frozenset[int]
    at: Place | None = None
    branches: tuple[Tree, ...] = ()

    @property
    def places(self) -> tuple[Place, ...]:
        """Of all its cuts."""
        own = () if self.at is None else (self.at,)
        return own + tuple(place for branch in self.branches for place in branch.places)


@dataclass(eq=False)
class Body:
    """A connected body that cuts have left, and what is known of it."""

    number: int
    solid: Solid
    ups: Floats | None = None
    least: int | None = None
    printed: float | None = None
    figures: PieceFigures | None = None
    halves: dict[Place, tuple[list[Body], list[Body]] | None] = field(default_factory=dict)
    seams: dict[Place, float] = field(default_factory=dict)
    spans: list[tuple[float, float]] = field(default_factory=list)


class Bodies:
    """All bodies that cuts of one part leave, each measured once however it comes about."""

    def __init__(self, part: SmallPart) -> None:
        self.part, self.solid, self.printer = part, part.solid, part.printer
        self.directions = part.directions
        self.seen = seen_from_outside(self.solid)
        self.splits = 0
        self._known: dict[Key, Body] = {}
        self._seams: dict[tuple[int, int, Plane], float] = {}
        self.root = self.body(self.solid)

    def body(self, solid: Solid) -> Body:
        """Return the body of this shape at this place."""
        figures = np.concatenate([[solid.volume, solid.area], solid.bounds.ravel(), solid.centroid])
        key = tuple(np.round(figures, 4).tolist())
        if key not in self._known:
            spans = solid.vertices @ self.directions.T
            ends = list(zip(spans.min(axis=0).tolist(), spans.max(axis=0).tolist(), strict=True))
            self._known[key] = Body(len(self._known), solid, spans=ends)
        return self._known[key]

    def plane(self, place: Place) -> Plane:
        """Return the plane of a cut."""
        x, y, z = self.directions[place[0]].tolist()
        return Plane((x, y, z), place[1])

    def halves(self, body: Body, place: Place) -> tuple[list[Body], list[Body]] | None:
        """Return the bodies below and above a cut; None where it misses or leaves dust."""
        if place not in body.halves:
            self.splits += 1
            sides = body.solid.split(self.plane(place))
            body.halves[place] = None
            if sides[0] is not None and sides[1] is not None:
                below, above = ([self.body(one) for one in side.bodies()] for side in sides)
                if all(2 * one.solid.volume > _DUST * one.solid.area for one in (*below, *above)):
                    body.halves[place] = (below, above)
        return body.halves[place]

    def seam_bound(self, body: Body, place: Place) -> float:
        """Return what the seams of one cut through `body` score at least, however it goes on."""
        if place not in body.seams:
            alone = divide(body.solid, [Cut(self.plane(place))])
            rows = [self._seam(seam, alone, quick=True) for seam in alone.seams]
            body.seams[place] = self.added(seams=rows)
        return body.seams[place]

    def seams_score(self, division: Division) -> float:
        """Return what the seams of a plan score."""
        score = 0.0
        for seam in division.seams:
            sides = (self.body(division.piece(name).solid) for name in (seam.below, seam.above))
            key = (*(side.number for side in sides), seam.plane)
            if key not in self._seams:
                self._seams[key] = self.added(seams=[self._seam(seam, division, quick=False)])
            score += self._seams[key]
        return score

    def _seam(self, seam: Seam, division: Division, quick: bool) -> Any:
        """Return the numbers of a seam; `quick` room is never less than what is there, up to 2."""
        distance, spacing = self.printer.edge_distance(REFERENCE_PIN), 3 * REFERENCE_PIN
        deep = _going_on(seam, division, 2 * REFERENCE_PIN)
        if quick:
            left = shrunk(deep.shape, distance)
            corners = shapely.get_coordinates(left.convex_hull)
            wide = len(corners) > 1 and float(pdist(corners).max()) >= spacing
            count = 0 if left.is_empty else 2 if wide else 1
        else:
            count = room(deep, distance, spacing).count
        return SimpleNamespace(
            figures=seam_figures(seam, self.solid, self.seen),
            deep_room=SimpleNamespace(count=count),
        )

    def added(self, pieces: Sequence[Any] = (), seams: Sequence[Any] = ()) -> float:
        """Return what these pieces and seams add to the plan score."""
        taken: Any = SimpleNamespace(
            part=self.solid, printer=self.printer, pieces=pieces, seams=seams
        )
        return sum(c.weight / c.reference * c.measure(taken) for c in _COUNTED)

    def printed(self, body: Body) -> float:
        """Return what a body adds as a piece printed the best way; inf if it fits in none."""
        if body.printed is None:
            body.printed, body.figures = np.inf, None
            piece = Piece(str(body.number), 1, body.solid)
            if not any(thick_enough(piece, self.printer.line_width)):
                self._print(body, piece, self._ups(body))
        return body.printed

    def needs(self, body: Body) -> int:
        """Return a number of pieces that a body cannot be cut into less than; 1 if it fits."""
        if body.least is None:
            fits = fits_any(body.solid, self._ups(body), self.part.bed)
            body.least = 1 if fits else max(2, lower_bound(body.solid, self.part.bed).pieces)
        return body.least

    def _ups(self, body: Body) -> Floats:
        if body.ups is None:
            body.ups = print_directions(body.solid, self.directions)
            if self.part.leans and not fits_any(body.solid, body.ups, self.part.bed):
                hull, bed = body.solid.hull, self.part.bed
                tilts = [up for up in leaning_directions(hull, bed) if fits_any(hull, up, bed)]
                body.ups = np.array(tilts).reshape(-1, 3)
        return body.ups

    def _print(self, body: Body, piece: Piece, ups: Floats) -> None:
        """Try print directions, those first that score best before support is counted."""
        limit, span = self.printer.overhang_limit, self.printer.bridge_span
        none = Support(0.0, 0.0, 0.0, 0.0, 0.0)
        corners = body.solid.hull.vertices
        waiting = []
        for index, up in enumerate(ups):
            x, y, z = up.tolist()
            hangs = overhang(body.solid, up, limit, span)
            # A stand-in for the fit, which is only measured where the rest is good enough.
            roomy: Any = SimpleNamespace(spare=2.0)
            row = PieceFigures(piece, (x, y, z), roomy, hangs, none)
            waiting.append((self.added(pieces=[row]), index, hangs, (x, y, z)))
        best = np.inf
        for least, _, hangs, up in sorted(waiting, key=lambda item: item[:2]):
            if least >= best:
                break
            fit = bed_fit(corners, up, self.printer.bed)
            if fit.fits:
                held = support_volume(body.solid, up, limit, span, known=hangs)
                row = PieceFigures(piece, up, fit, hangs, held)
                score = self.added(pieces=[row])
                if score < best:
                    best, body.printed, body.figures = score, score, row


class Search:
    """All plans of one part with cuts at given offsets.

    `complete` says whether the last `trees` had to leave out trees of a body on the way, so that
    even among the best of the part some may be missing.
    """

    def __init__(self, bodies: Bodies, offsets: Sequence[Sequence[float]]) -> None:
        self.bodies, self.offsets = bodies, offsets
        self.complete = True
        self._total, self._budget = 0, np.inf
        self._memo: dict[tuple[int, int], list[Tree]] = {}

    def trees(self, count: int, budget: float) -> list[Tree]:
        """Return the trees of `count` pieces whose bound is below `budget`, best first."""
        self._total, self._budget, self.complete = count, budget, True
        self._memo.clear()
        return self._of(self.bodies.root, count)

    def _allowed(self, count: int) -> float:
        """What `count` pieces with their seams may score when the others score the least."""
        return self._budget - EACH * (self._total - count)

    def _of(self, body: Body, count: int) -> list[Tree]:
        key = (body.number, count)
        if key not in self._memo:
            self._memo[key] = self._whole(body) if count == 1 else self._divided(body, count)
        return self._memo[key]

    def _whole(self, body: Body) -> list[Tree]:
        score = self.bodies.printed(body)
        fine = np.isfinite(score) and score <= self._allowed(1)
        return [Tree(score, frozenset([body.number]))] if fine else []

    def _divided(self, body: Body, count: int) -> list[Tree]:
        found: dict[frozenset[int], Tree] = {}
        for place in self._places(body):
            halves = self.bodies.halves(body, place)
            if halves is None:
                continue
            parts = [*halves[0], *halves[1]]
            if sum(map(self.bodies.needs, parts)) > count:
                continue
            seams = self.bodies.seam_bound(body, place)
            room = self._allowed(count) - seams
            for bound, leaves, branches in self._joined(parts, count, room):
                tree = Tree(bound + seams, leaves, place, branches)
                if leaves not in found or tree.bound < found[leaves].bound:
                    found[leaves] = tree
        ranked = sorted(found.values(), key=lambda tree: (round(tree.bound, 9), tree.places))
        self.complete &= len(ranked) <= KEPT or count == self._total
        return ranked[:KEPT]

    def _places(self, body: Body) -> Iterator[Place]:
        for axis, (low, high) in enumerate(body.spans):
            for offset in self.offsets[axis]:
                if low + 1e-6 < offset < high - 1e-6:
                    yield axis, offset

    def _joined(
        self, parts: Sequence[Body], count: int, room: float
    ) -> Iterator[tuple[float, frozenset[int], tuple[Tree, ...]]]:
        """Yield the ways to make `count` pieces of `parts` that score no more than `room`."""
        first, rest = parts[0], parts[1:]
        if EACH * count > room:
            return
        if not rest:
            for tree in self._of(first, count):
                if tree.bound > room:
                    break
                yield tree.bound, tree.leaves, (tree,)
            return
        most = count - sum(map(self.bodies.needs, rest))
        for here in range(self.bodies.needs(first), most + 1):
            there = count - here
            for tree in self._of(first, here):
                if tree.bound + EACH * there > room:
                    break
                for bound, leaves, others in self._joined(rest, there, room - tree.bound):
                    yield tree.bound + bound, tree.leaves | leaves, (tree, *others)
