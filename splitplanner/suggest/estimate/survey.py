"""The survey: whole plans judged without cutting, everything remembered that comes up twice."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Bools, Floats, to_vector
from splitplanner.plan import WHOLE, Cut, Vector, named_bodies
from splitplanner.score import Numbers, print_directions
from splitplanner.solid import Plane, Solid, principal_axes
from splitplanner.suggest.costs import Costs, PlanNumbers
from splitplanner.suggest.estimate.blocks import Block
from splitplanner.suggest.estimate.ground import Ground
from splitplanner.suggest.estimate.printing import (
    Glance,
    PieceEstimate,
    Printed,
    Reach,
    glanced,
    outermost,
    printed,
    reach_of,
)
from splitplanner.suggest.estimate.seams import AMPLE, Contacts, SeamEstimate
from splitplanner.suggest.estimate.skins import leaves_skin, skin_behind
from splitplanner.suggest.estimate.walls import Wall, Walls
from splitplanner.suggest.wishing import Wishing

_UPS = 14
"""Print directions that are looked at for every block, besides the normals of its own walls."""
_THIN = 10.0
"""What a seam costs that leaves a skin thinner than a line, so that it is not sound."""
_SURE = 0.85
"""A block costs at least this share of what it seems to at a glance."""
_SAME = float(np.cos(np.radians(1.0)))

Key = tuple[int, Walls]


@dataclass(frozen=True, eq=False)
class Sketch:
    """A plan on trial: its cuts, and the blocks they leave by the names a plan gives them."""

    cuts: tuple[Cut, ...]
    blocks: dict[str, Block]


@dataclass(frozen=True, eq=False)
class Estimate:
    """A sketch with its numbers.

    Attributes
    ----------
    sketch : Sketch
    reaches : dict of piece name to Reach
    prints : dict of piece name to Printed
    numbers : Numbers
    score : float
        About the plan score; of a sketch with blocks that do not fit, as if they did.
    seam_cost : float
        What of it the seams add.
    """

    sketch: Sketch
    reaches: dict[str, Reach]
    prints: dict[str, Printed]
    numbers: Numbers
    score: float
    seam_cost: float

    @property
    def ups(self) -> dict[str, Vector]:
        """Print direction by piece name."""
        return {name: row.piece.up for name, row in self.prints.items()}

    @property
    def needs(self) -> int:
        """How many pieces it has, or should have when all blocks are cut to fit."""
        return sum(reach.needs for reach in self.reaches.values())

    @property
    def done(self) -> bool:
        """Whether every block fits the bed."""
        return all(reach.fits for reach in self.reaches.values())

    @property
    def rank(self) -> tuple[float, int]:
        """For sorting: score, and of equals fewer cuts first."""
        return round(self.score, 6), len(self.sketch.cuts)


@dataclass(eq=False)
class _Seam:
    """A seam and what it costs: at least, and all in all once that is worked out."""

    estimate: SeamEstimate
    least: float
    cost: float | None = None


@dataclass(eq=False)
class Survey:
    """Judges sketches of one part.

    Attributes
    ----------
    ground : Ground
        Of the part or a light stand-in.
    costs : Costs
    directions : (k, 3) float array
        Of cuts; their normals are looked at as print directions too.
    wishing : Wishing, optional
        Adds what broken wishes cost.
    """

    ground: Ground
    costs: Costs
    directions: Floats
    wishing: Wishing | None = None
    _blocks: dict[Key, Block] = field(default_factory=dict)
    _outermosts: dict[Key, Floats] = field(default_factory=dict)
    _reaches: dict[Key, Reach] = field(default_factory=dict)
    _glances: dict[Key, Glance] = field(default_factory=dict)
    _prints: dict[Key, Printed] = field(default_factory=dict)
    _halves: dict[tuple[Key, Plane], tuple[tuple[Block, ...], ...] | None] = field(
        default_factory=dict
    )
    _seams: dict[tuple[Plane, Key, Key], _Seam | None] = field(default_factory=dict)
    _skins: dict[Plane, MultiPolygon] = field(default_factory=dict)
    _normal_ups: dict[Vector, list[Vector]] = field(default_factory=dict)

    @cached_property
    def frames(self) -> Floats:
        """Axes (k, 3, 3) of boxes that are put round blocks."""
        solid = self.ground.solid
        axes = principal_axes(solid)
        frames = [solid.box_axes, np.eye(3)]
        return np.array([*frames, axes] if len(axes) == 3 else frames)

    @cached_property
    def _contacts(self) -> Contacts:
        return Contacts(self.ground)

    @cached_property
    def start(self) -> Sketch:
        """The uncut part."""
        whole = Block(self.ground, ())
        return Sketch((), named_bodies(WHOLE, whole.bodies))

    def reach(self, block: Block) -> Reach:
        """Return whether a block fits."""
        key = key_of(block)
        if key not in self._reaches:
            bed = self.costs.printer.bed
            points = self._outermost(block)
            self._reaches[key] = reach_of(points, self.ups(block), self.frames, bed)
        return self._reaches[key]

    def printed(self, block: Block) -> Printed:
        """Return a block in its best print direction."""
        key = key_of(block)
        if key not in self._prints:
            found = printed(
                block,
                self._outermost(block),
                self.ups(block),
                self.frames,
                self.reach(block),
                self.costs,
                self._glances.get(key),
            )
            if self.wishing is not None:
                normals = [wall.plane.normal for wall in (*block.walls, *block.before)]
                held = found.piece.support.volume
                wished = self.wishing.of_block(block.points, normals, held)
                found = replace(found, cost=found.cost + wished)
            self._prints[key] = found
        return self._prints[key]

    def _outermost(self, block: Block) -> Floats:
        key = key_of(block)
        if key not in self._outermosts:
            along = np.concatenate([self.ups(block), self.frames.reshape(-1, 3)])
            self._outermosts[key] = outermost(block.points, along)
        return self._outermosts[key]

    def ups(self, block: Block) -> list[Vector]:
        """Return the print directions to try for a block."""
        walls = (*block.walls, *block.before)
        return self._base_ups + [up for wall in walls for up in self._new_ups(wall.plane.normal)]

    def _new_ups(self, normal: Vector) -> list[Vector]:
        """Return a normal and its opposite, as far as they are not looked at anyway."""
        if normal not in self._normal_ups:
            a, b, c = normal
            alike = np.array(self._base_ups) @ np.array(normal)
            both = ((a, b, c), alike.max()), ((-a, -b, -c), -alike.min())
            self._normal_ups[normal] = [up for up, nearest in both if nearest <= _SAME]
        return self._normal_ups[normal]

    @cached_property
    def _base_ups(self) -> list[Vector]:
        found = print_directions(self.ground.solid, self.directions, most=_UPS)
        return [to_vector(up) for up in found]

    def halves(self, block: Block, plane: Plane) -> tuple[tuple[Block, ...], ...] | None:
        """Return the bodies below and above a plane; None if it does not divide the block."""
        key = (key_of(block), plane)
        if key not in self._halves:
            self._halves[key] = self._divided(block, plane)
        return self._halves[key]

    def sides(self, block: Block, plane: Plane) -> tuple[Block, Block] | None:
        """Return what is below and above a plane, in one or not; None if it divides nothing."""
        below, above = block.cut(plane)
        below, above = self._one(below), self._one(above)
        return None if below.is_empty or above.is_empty else (below, above)

    def _divided(self, block: Block, plane: Plane) -> tuple[tuple[Block, ...], ...] | None:
        sides = self.sides(block, plane)
        if sides is None:
            return None
        bodies = tuple(tuple(self._one(body) for body in side.bodies) for side in sides)
        return bodies if all(bodies) else None

    def _one(self, block: Block) -> Block:
        """Return the one block that stands for all that are equal to it."""
        return self._blocks.setdefault(key_of(block), block)

    def applied(self, sketch: Sketch, cut: Cut) -> Sketch | None:
        """Return a sketch with one more cut; None if the cut divides nothing."""
        blocks = dict(sketch.blocks)
        names = list(blocks) if cut.piece is None else [cut.piece]
        divided = False
        for name in names:
            halves = self.halves(blocks[name], cut.plane) if name in blocks else None
            if halves is not None:
                divided = True
                del blocks[name]
                stem = "" if name == WHOLE else f"{name}."
                for number, bodies in enumerate(halves, 1):
                    blocks |= named_bodies(f"{stem}{number}", bodies)
        return Sketch((*sketch.cuts, cut), blocks) if divided else None

    def sketch(self, cuts: Sequence[Cut]) -> Sketch | None:
        """Return the sketch that `cuts` make; None if one of them divides nothing."""
        sketch: Sketch | None = self.start
        for cut in cuts:
            sketch = None if sketch is None else self.applied(sketch, cut)
        return sketch

    def fits(self, sketch: Sketch) -> bool:
        """Return whether every block of a sketch fits the bed."""
        return all(self.reach(block).fits for block in sketch.blocks.values())

    def estimate(self, sketch: Sketch) -> Estimate:
        """Judge a sketch."""
        reaches = {name: self.reach(block) for name, block in sketch.blocks.items()}
        prints = {name: self.printed(block) for name, block in sketch.blocks.items()}
        found = list(self._seams_of(sketch))
        seams = [replace(seam.estimate, between=between) for seam, between in found]
        seam_cost = sum(self._cost_of(seam) for seam, _ in found)
        pieces: list[PieceEstimate] = [
            replace(row.piece, name=name) for name, row in prints.items()
        ]
        costs = self.costs
        numbers = PlanNumbers(costs.part, costs.printer, pieces, seams, costs.under_load)
        total = sum(row.cost for row in prints.values()) + seam_cost
        total += self.costs.of_whole(numbers)
        if self.wishing is not None:
            total += self.wishing.of_whole(numbers)
        return Estimate(sketch, reaches, prints, numbers, total, seam_cost)

    def cheaper(self, sketch: Sketch, most: float, *, fitting: bool = False) -> float | None:
        """Return what pieces and seams of a sketch cost together, if that is less than `most`.

        None if it is not, or not with every block fitting the bed where that is asked for. What
        takes longer is looked at only where what takes less leaves it open: seams, pieces at a
        glance, the pins in seams, pieces closely; one after another.
        """
        cost = self.least_cost(sketch)
        if cost >= most or (fitting and not self.fits(sketch)):
            return None
        blocks = [block for block in sketch.blocks.values() if key_of(block) not in self._prints]
        # A body that fell off has to be sounded for itself.
        blocks.sort(key=lambda block: block.ground is not self.ground)
        for block in blocks:
            cost += self._at_a_glance(block) - self.costs.least_piece
            if cost >= most:
                return None
        seams = [seam for seam, _ in self._seams_of(sketch)]
        for seam in seams:
            cost += self._cost_of(seam) - seam.least
            if cost >= most:
                return None
        for block in blocks:
            cost += self.printed(block).cost - self._at_a_glance(block)
            if cost >= most:
                return None
        # Not as it was added up here, which depends on what was known.
        return self.pieces_cost(sketch) + sum(self._cost_of(seam) for seam in seams)

    def _at_a_glance(self, block: Block) -> float:
        """Return what a block costs at least, so far as coarse soundings can be sure."""
        least, key = self.costs.least_piece, key_of(block)
        if self.costs.needs_fit:
            # That takes nearly as long as to look closely.
            return least
        if key not in self._glances:
            points, ups = self._outermost(block), self.ups(block)
            self._glances[key] = glanced(block, points, ups, self.costs)
        return least + _SURE * max(0.0, self._glances[key].cost - least)

    def pieces_cost(self, sketch: Sketch) -> float:
        """Return what the pieces of a sketch cost, its seams left out."""
        return sum(self.printed(block).cost for block in sketch.blocks.values())

    def least_cost(self, sketch: Sketch) -> float:
        """Return what pieces and seams of a sketch cost at least, as far as is seen at once."""
        known = (self._prints.get(key_of(block)) for block in sketch.blocks.values())
        pieces = sum(self.costs.least_piece if row is None else row.cost for row in known)
        return pieces + sum(seam.least for seam, _ in self._seams_of(sketch))

    def _seams_of(self, sketch: Sketch) -> Iterator[tuple[_Seam, tuple[str, str]]]:
        """Yield the seams of a sketch, and between which pieces they are."""
        for (one, first), (other, second) in itertools.combinations(sketch.blocks.items(), 2):
            for wall in (*first.walls, *first.before):
                facing = Wall(wall.plane, -wall.side)
                if facing in second.walls or facing in second.before:
                    pair = [(first, one), (second, other)]
                    (below, low), (above, high) = pair if wall.side < 0 else pair[::-1]
                    found = self._seam(wall.plane, below, above)
                    if found is not None:
                        yield found, (low, high)

    def _seam(self, plane: Plane, below: Block, above: Block) -> _Seam | None:
        key = (plane, key_of(below), key_of(above))
        if key not in self._seams:
            seam = self._contacts.seam(plane, below, above)
            self._seams[key] = None if seam is None else _Seam(seam, self._least_cost_of(seam))
        return self._seams[key]

    def _least_cost_of(self, seam: SeamEstimate) -> float:
        """Return what a seam costs if there is room for pins, which takes longer to see."""
        return self.costs.of_seam(replace(seam, deep_room=AMPLE))

    def _cost_of(self, seam: _Seam) -> float:
        if seam.cost is None:
            found, line = seam.estimate, self.costs.printer.line_width
            wished = 0.0 if self.wishing is None else self.wishing.of_seam(found)
            skin = self._skin(found.plane)
            thin = not skin.is_empty and leaves_skin(skin, found.polygons, line)
            seam.cost = self.costs.of_seam(found) + wished + (_THIN if thin else 0.0)
        return seam.cost

    def _skin(self, plane: Plane) -> MultiPolygon:
        if plane not in self._skins:
            self._skins[plane] = skin_behind(self.ground, plane)
        return self._skins[plane]


def key_of(block: Block) -> Key:
    """Return what tells a block from others: its body and its walls."""
    return id(block.ground), block.walls


def surveyed(
    solid: Solid,
    seen: Bools,
    directions: Floats,
    costs: Costs,
    wishing: Wishing | None = None,
) -> Survey:
    """Return the survey of a part or its stand-in."""
    return Survey(Ground(solid, seen, costs.printer), costs, directions, wishing)
