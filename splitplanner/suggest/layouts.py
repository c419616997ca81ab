"""Layouts: which planes divide what, before offsets are refined and pieces are scored.

The least number of pieces is looked for in three ways, cheapest first: grids (evenly spaced
planes along the axes of a box round the part), a beam search over trees of cuts (each divides one
piece that does not fit yet), and, where two pieces are not ruled out, every single cut whose
two sides fit (the fit of a side is monotone in the plane's offset, so bisection finds the whole
window).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.plan import WHOLE, Cut, cut_piece, divided_by, loose_bodies
from splitplanner.progress import Report, silent
from splitplanner.score import fits_any, leaning_directions
from splitplanner.solid import Plane, Solid, principal_axes, tightest_box_axes
from splitplanner.suggest.bounds import bed_diagonal, lower_bound
from splitplanner.suggest.candidates import (
    cut_directions,
    large_face_normals,
    profile_along,
)
from splitplanner.workshop import Bed

_BEAM = 6
"""States kept at each depth of the tree search."""


@dataclass(frozen=True)
class Layout:
    """Cuts that leave only pieces that fit.

    Attributes
    ----------
    cuts : tuple of Cut
    pieces : int
        How many pieces they leave.
    """

    cuts: tuple[Cut, ...]
    pieces: int

    @property
    def signature(self) -> tuple[object, ...]:
        """What makes a layout a different idea: its cuts' directions and what they divide."""
        return (
            self.pieces,
            *sorted((tuple(np.round(cut.plane.normal, 2)), cut.piece or "") for cut in self.cuts),
        )


@dataclass(frozen=True, eq=False)
class Block:
    """A piece during the search: how well it fits, and how many pieces it should need."""

    solid: Solid
    fits: bool
    needs: int


@dataclass(frozen=True, eq=False)
class _State:
    cuts: tuple[Cut, ...]
    blocks: dict[str, Block]
    seam_area: float = 0.0

    @property
    def needs(self) -> int:
        return sum(block.needs for block in self.blocks.values())

    @property
    def done(self) -> bool:
        return all(block.fits for block in self.blocks.values())

    @property
    def rank(self) -> tuple[float, ...]:
        unfit = sum(not block.fits for block in self.blocks.values())
        return (self.needs, unfit, round(self.seam_area, 3))


@dataclass
class LayoutSearch:
    """Finds layouts for one part and bed.

    Attributes
    ----------
    part : Solid
        The part or a light stand-in for it.
    bed : Bed
    report : progress callback
    """

    part: Solid
    bed: Bed
    report: Report = silent
    _known: dict[str, Block] = field(default_factory=dict)

    def run(self, most_extra: int = 1) -> list[Layout]:
        """Return layouts with the least number of pieces found and up to `most_extra` more.

        Grids of up to twice the least number are kept as well: their pieces often stand on the
        bed with little support. Fewest pieces first; all different in their signature.
        """
        self.report(0.0, "measuring the part")
        whole = {name: self.block(body) for name, body in loose_bodies(WHOLE, self.part).items()}
        start = _State((), whole)
        if start.done:
            return [Layout((), len(whole))]
        found: dict[tuple[object, ...], Layout] = {}
        self.report(0.05, "trying grids of planes")
        grids = list(self._grids(start))
        for layout in itertools.chain(grids, self._pairs(start)):
            found.setdefault(layout.signature, layout)
        self._tree(start, found, most_extra)
        least = min((layout.pieces for layout in found.values()), default=0)
        kept = [
            layout
            for layout in found.values()
            if layout.pieces <= least + most_extra
            or (layout in grids and layout.pieces <= 2 * least)
        ]
        return sorted(kept, key=lambda layout: layout.pieces)

    @cached_property
    def _frames(self) -> Floats:
        """Axes (k, 3, 3) of boxes that are put round pieces."""
        return np.array([tightest_box_axes(self.part), np.eye(3), principal_axes(self.part)])

    def block(self, solid: Solid) -> Block:
        """Measure one piece."""
        key = solid.fingerprint
        if key not in self._known:
            points = solid.hull.vertices
            spans = np.ptp(np.einsum("kij,nj->kni", self._frames, points), axis=1)
            needs = min(
                math.prod(counts) for span in spans for counts in box_counts(span, self.bed)
            )
            sides = tightest_sides(spans)
            # A box round the piece that fits a plain bed settles it; so does a box that is longer
            # than any bed.
            plain = self.bed.kind != "outline" and not self.bed.blocked
            fits = (plain and needs == 1) or (
                float(spans.max()) <= bed_diagonal(self.bed) and self._fits_somehow(solid, sides)
            )
            if is_slender(sides):
                needs = min(
                    needs, *(math.ceil(sides[2] / r - 1e-9) for r in self._reaches(sides[1]))
                )
            self._known[key] = Block(solid, fits, 1 if fits else max(2, needs))
        return self._known[key]

    def _reaches(self, thickness: float) -> list[float]:
        """Return how long a bar of `thickness` may be on the bed, square to it and leaning, mm."""
        return [*sorted(set(bed_sizes(self.bed))), *leaning_reaches(self.bed, thickness)]

    def _fits_somehow(self, solid: Solid, sides: Floats) -> bool:
        """Return whether a piece fits in some direction; `sides` (3,) as by `tightest_sides`."""
        points = solid.hull.vertices
        ups = np.vstack([*self._frames, large_face_normals(solid.hull, share=0.0, most=12)])
        if fits_any(points, np.vstack([ups, -ups]), self.bed):
            return True
        if not is_slender(sides):
            return False
        return fits_any(points, leaning_directions(solid, self.bed), self.bed)

    # -- grids ----------------------------------------------------------------------------
    def _grids(self, start: _State) -> Iterator[Layout]:
        frames = [tightest_box_axes(self.part)]
        if not np.allclose(np.abs(frames[0]).max(axis=1), 1.0, atol=1e-6):
            frames.append(np.eye(3))
        for frame in frames:
            spans = np.ptp(self.part.hull.vertices @ frame.T, axis=0)
            tried = sorted({*box_counts(spans, self.bed), *self._in_line(spans)}, key=math.prod)
            least = math.prod(tried[0])
            for counts in tried:
                if math.prod(counts) > 2 * least:
                    break
                cuts = tuple(self._grid_cuts(frame, counts))
                state = self.applied(start, cuts)
                if state is not None and state.done:
                    yield Layout(state.cuts, len(state.blocks))

    def _in_line(self, spans: Floats) -> Iterator[tuple[int, int, int]]:
        """Yield grids that divide a slender part, of `spans` (3,) mm, into pieces that lean."""
        sides, longest = np.sort(spans), int(spans.argmax())
        if is_slender(sides):
            for reach in leaning_reaches(self.bed, sides[1]):
                counts = [1, 1, 1]
                counts[longest] = math.ceil(sides[2] / reach - 1e-9)
                yield counts[0], counts[1], counts[2]

    def _grid_cuts(self, frame: Floats, counts: tuple[int, ...]) -> Iterator[Cut]:
        for axis, count in zip(frame, counts, strict=True):
            heights = self.part.hull.vertices @ axis
            low, high = float(heights.min()), float(heights.max())
            for step in range(1, count):
                yield Cut(_plane(axis, low + (high - low) * step / count))

    def applied(self, start: _State, cuts: tuple[Cut, ...]) -> _State | None:
        """Return the state after all `cuts`, or None if one of them divides nothing."""
        blocks = {name: block.solid for name, block in start.blocks.items()}
        for cut in cuts:
            divided = divided_by(cut, blocks)
            if not divided:
                return None
            for name, halves in divided.items():
                del blocks[name]
                blocks.update(halves[0] | halves[1])
        return _State(cuts, {name: self.block(solid) for name, solid in blocks.items()})

    # -- two pieces -----------------------------------------------------------------------
    def _pairs(self, start: _State) -> Iterator[Layout]:
        """Yield a single cut for each direction along which two fitting pieces exist."""
        if len(start.blocks) > 1 or lower_bound(self.part, self.bed).pieces > 2:
            return
        directions = cut_directions(self.part)
        for index, direction in enumerate(directions):
            self.report(0.1 + 0.15 * index / len(directions), "trying single cuts")
            window = self.window(self.part, direction)
            if window is None:
                continue
            state = self.applied(start, (Cut(_plane(direction, sum(window) / 2)),))
            if state is not None and state.done:
                yield Layout(state.cuts, len(state.blocks))

    def window(self, solid: Solid, direction: Floats) -> tuple[float, float] | None:
        """Return the offsets between which a cut leaves two sides that fit, or None."""
        heights = solid.hull.vertices @ direction
        low, high = float(heights.min()), float(heights.max())
        last = self._furthest(solid, direction, low, high, side=0)
        if last <= low:
            return None
        first = self._furthest(solid, direction, high, low, side=1)
        return (first, last) if first <= last and first < high else None

    def _furthest(
        self, solid: Solid, direction: Floats, start: float, end: float, side: int
    ) -> float:
        """Return how far from `start` towards `end` a plane may go with that side still fitting."""
        good, bad = start, end
        while abs(bad - good) > 0.05:
            middle = (good + bad) / 2
            halves = cut_piece("", solid, _plane(direction, middle))
            if halves is None or all(self.block(body).fits for body in halves[side].values()):
                good = middle
            else:
                bad = middle
        return good

    # -- trees ----------------------------------------------------------------------------
    def _tree(
        self, start: _State, found: dict[tuple[object, ...], Layout], most_extra: int
    ) -> None:
        """Cut one unfit piece after another, keeping the most promising states."""
        bound = lower_bound(self.part, self.bed).pieces
        beam = [start]
        depth = 0
        while beam:
            depth += 1
            least = min((layout.pieces for layout in found.values()), default=10**6)
            limit = max(least, bound) + most_extra
            # By the boxes round them open parts seem to need more than they do.
            most_needs = max(limit, start.needs) + 1
            reached: dict[tuple[object, ...], _State] = {}
            for index, state in enumerate(beam):
                share = 1 - 0.6 ** (depth - 1 + index / len(beam))
                for child in self._children(state):
                    self.report(0.25 + 0.75 * share, f"trying trees of cuts, depth {depth}")
                    if len(child.blocks) > limit or child.needs > most_needs:
                        continue
                    if child.done:
                        layout = Layout(child.cuts, len(child.blocks))
                        found.setdefault(layout.signature, layout)
                    else:
                        reached.setdefault(child.rank, child)
            beam = sorted(reached.values(), key=lambda state: state.rank)[:_BEAM]

    def _children(self, state: _State) -> Iterator[_State]:
        name, block = max(
            ((name, block) for name, block in state.blocks.items() if not block.fits),
            key=lambda item: (item[1].needs, item[1].solid.volume),
        )
        for direction in cut_directions(block.solid, most=6):
            for offset in self._offsets(block.solid, direction):
                plane = _plane(direction, offset)
                halves = cut_piece(name, block.solid, plane)
                if halves is None:
                    continue
                blocks = {key: kept for key, kept in state.blocks.items() if key != name}
                for child, body in (halves[0] | halves[1]).items():
                    blocks[child] = self.block(body)
                area = block.solid.section(plane).area
                yield _State((*state.cuts, Cut(plane, name)), blocks, state.seam_area + area)

    def _offsets(self, solid: Solid, direction: Floats) -> list[float]:
        """Return offsets worth trying: as far as the bed reaches, even shares, short sections."""
        heights = solid.hull.vertices @ direction
        low, high = float(heights.min()), float(heights.max())
        span = high - low
        wanted: list[float] = []
        for reach in self._reaches(_thickness(solid, direction)):
            if reach < span:
                wanted += [low + reach, high - reach]
            share = span / max(2, math.ceil(span / reach - 1e-9))
            wanted += [low + share, high - share]
        profile = profile_along(solid, direction, count=24)
        wanted += profile.natural_places(low + 0.05 * span, high - 0.05 * span, 2)
        offsets: list[float] = []
        apart = max(0.5, 0.02 * span)
        for offset in wanted:
            if low + 1 < offset < high - 1 and all(abs(offset - o) > apart for o in offsets):
                offsets.append(offset)
        return offsets


def bed_sizes(bed: Bed) -> tuple[float, float, float]:
    """Return the sides of a box that the bed can hold, mm: plan less margin, and height."""
    if bed.kind == "circle":
        side = (bed.width - 2 * bed.margin) / math.sqrt(2)
        return side, side, bed.height
    return bed.width - 2 * bed.margin, bed.depth - 2 * bed.margin, bed.height


def leaning_reaches(bed: Bed, thickness: float) -> list[float]:
    """Return how long a round bar can be along the plan diagonal and along the space diagonal, mm.

    Of length l and `thickness` d (mm), at cosine a to a side of the bed, it spans
    ``a l + d sqrt(1 - a²)`` of that side. Lengths no greater than the bed's longest side are left
    out.
    """
    width, depth, height = bed_sizes(bed)
    if thickness >= min(width, depth, height):
        return []
    if bed.kind == "circle":
        width = math.sqrt(max(2.0 * width**2 - thickness**2, 0.0))
        rooms = [np.array([width]), np.array([width, height])]
    else:
        rooms = [np.array([width, depth]), np.array([width, depth, height])]
    reaches = []
    for room in rooms:
        cosines = room / np.linalg.norm(room)
        spare = room - thickness * np.sqrt(np.maximum(1.0 - cosines**2, 0.0))
        reaches.append(float((spare / cosines).min()))
    return [reach for reach in reaches if reach > max(bed_sizes(bed))]


def is_slender(sides: Floats) -> bool:
    """Return whether a box of `sides` (3,), shortest first, is a bar that can lean on the bed."""
    return bool(sides[1] < 0.3 * sides[2])


def tightest_sides(spans: Floats) -> Floats:
    """Return the sides (3,) of the smallest of the boxes `spans` (k, 3), shortest first."""
    sides: Floats = np.sort(spans[int(np.argmin(spans.prod(axis=1)))])
    return sides


def _thickness(solid: Solid, direction: Floats) -> float:
    """Return the side of the square round the plan view of `solid` along `direction`, mm."""
    across = solid.hull.vertices @ Plane.through((0, 0, 0), direction).frame[:2].T
    return float(np.ptp(across, axis=0).max())


def box_counts(spans: Floats, bed: Bed) -> Iterator[tuple[int, int, int]]:
    """Yield into how many equal boxes a box of `spans` (3,) mm divides, for each way to lie."""
    for sizes in itertools.permutations(bed_sizes(bed)):
        counts = [max(1, math.ceil(s / b - 1e-9)) for s, b in zip(spans, sizes, strict=True)]
        yield counts[0], counts[1], counts[2]


def _plane(direction: Floats, offset: float) -> Plane:
    return Plane.through(direction * offset, direction)
