"""A part with its seams held in one way: what seams and pieces stand of a load case."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.loaded.answers import (
    BraceUnderLoad,
    HeldWay,
    PieceUnderLoad,
    SeamUnderLoad,
    Way,
    Weakest,
)
from splitplanner.loaded.holding import HeldSeam, scaled
from splitplanner.loaded.seam_loads import SeamBands, is_lengthwise, seam_load_of, stress_across
from splitplanner.loaded.uncut import factor_of
from splitplanner.plan import Division, Joint, Line, Plan, Vector
from splitplanner.strength import (
    Diagrams,
    HeldBy,
    LayerShares,
    Mode,
    Plastic,
    SeamCapacity,
    SeamLoad,
    Side,
    Stretch,
    layer_shares,
    plastic_of,
)
from splitplanner.workshop import Material, Shelf

_ALIKE = 1e-6
"""Two loads on a seam are the same but for their size if they differ by less than this share."""
_UNFELT = 1e-9
"""A seam with less than this share of the largest load of all sections is not loaded."""


@dataclass(frozen=True, eq=False)
class Ground:
    """What all ways of a plan have in common.

    Attributes
    ----------
    division : Division
    plan : Plan
    shelf : Shelf
    material : Material
        With strengths and stiffnesses.
    tape_lines : mapping of seam name to lines
        Where tape runs; see `strength.seam_ground.tape_stretches`.
    """

    division: Division
    plan: Plan
    shelf: Shelf
    material: Material
    tape_lines: Mapping[str, tuple[Line, ...]]

    @property
    def plastic(self) -> Plastic:
        """What the pieces are of."""
        return plastic_of(self.material)

    def side(self, piece: str) -> Side:
        """Return a piece as its seams know it."""
        return Side(self.plastic, self.plan.up(piece))

    @property
    def held_by(self) -> HeldBy:
        """What is known of hardware that is of no single seam: the bolts of braces."""
        return HeldBy.of(self.plan.fastening)

    def is_glued(self, seam: str) -> bool:
        """Return whether glue counts in a seam."""
        return self.plan.fastening_of(seam).glue_shear > 0.0

    def held(self, bands: SeamBands, axis: Vector, is_glued: bool = True) -> HeldSeam:
        """Return a seam with what is known of it before a load along an axis.

        Parameters
        ----------
        bands : SeamBands
        axis : (x, y, z)
        is_glued : bool
            Whether its glue, if it has any that counts, is there.
        """
        seam = bands.seam
        sides = self.side(seam.below), self.side(seam.above)
        lines = self.tape_lines.get(seam.name, ())
        evenly = is_lengthwise(seam, axis)
        held_by = HeldBy.of(self.plan.fastening_of(seam.name))
        if not is_glued:
            held_by = replace(held_by, adhesive=None)
        return HeldSeam(seam, sides, self.shelf, held_by, lines, evenly)

    def stretches(self, axis: Vector) -> tuple[Stretch, ...]:
        """Return the pieces along an axis."""
        found = []
        for piece in self.division.pieces:
            heights = piece.solid.vertices @ np.array(axis)
            low, high = float(heights.min()), float(heights.max())
            up = self.plan.up(piece.name)
            found.append(Stretch(piece.name, low, high, up, self.material))
        return tuple(found)


def joint_in(way: Way, joint: Joint) -> Joint:
    """Return what is left of a joint where seams are held in one way."""
    if way == "open":
        return Joint(joint.seam)
    return replace(joint, tape=None) if way == "fastened" else joint


def is_glued_in(way: Way) -> bool:
    """Return whether seams have their glue where they are held in one way."""
    return way != "open"


def ways_of(plan: Plan, seams: Sequence[str], has_braces: bool) -> tuple[Way, ...]:
    """Return in which ways the seams of a plan can be held, the plan as it is last.

    Glue holds wherever anything does; where there is nothing else it is a way of its own.

    Parameters
    ----------
    plan : Plan
    seams : sequence of seam names
        All of the division's.
    has_braces : bool
    """
    joints = [plan.joint(seam) for seam in seams]
    ways: list[Way] = ["open"]
    is_glued = any(plan.fastening_of(seam).glue_shear > 0.0 for seam in seams)
    if is_glued or any(not joint_in("fastened", joint).is_empty for joint in joints):
        ways.append("fastened")
    if any(joint.tape is not None for joint in joints):
        ways.append("taped")
    if has_braces:
        ways.append("braced")
    return tuple(ways)


class LoadedSeams:
    """The seams of a plan under one load case, what they hold of it remembered by joint.

    Parameters
    ----------
    ground : Ground
    seams : tuple of SeamBands
    whole : Diagrams
        Of all of the load.
    uncut : float
        How many times the load the uncut part holds.
    """

    def __init__(
        self, ground: Ground, seams: tuple[SeamBands, ...], whole: Diagrams, uncut: float
    ) -> None:
        self.ground, self.seams, self.whole, self.uncut = ground, seams, whole, uncut
        self._least = _UNFELT * _largest(whole)
        self._loads = {bands.seam.name: seam_load_of(bands, whole) for bands in seams}
        self._stress = {bands.seam.name: stress_across(bands, whole) for bands in seams}
        self._known: dict[tuple[str, Joint, bool], SeamCapacity] = {}

    def load(self, bands: SeamBands) -> SeamLoad:
        """Return what a seam has to hand on of all of the load."""
        return self._loads[bands.seam.name]

    def capacity(self, bands: SeamBands, joint: Joint, is_glued: bool = True) -> SeamCapacity:
        """Return what a seam holds of all of the load, with glue if it has any that counts.

        Raises
        ------
        WorkshopError
            If hardware is not on the shelf.
        """
        key = bands.seam.name, joint, is_glued
        if key not in self._known:
            held = self.ground.held(bands, self.whole.chain.axis, is_glued)
            self._known[key] = held.capacity(joint, self.load(bands))
        return self._known[key]

    def is_felt(self, bands: SeamBands) -> bool:
        """Return whether a load reaches a seam."""
        return size_of(self.load(bands), bands.seam.section.area) > self._least

    def held(self, way: Way, left: Diagrams | None = None) -> tuple[SeamUnderLoad, ...]:
        """Return what the seams stand, held in one way.

        Parameters
        ----------
        way : Way
        left : Diagrams, optional
            What braces leave of the load.

        Raises
        ------
        WorkshopError
            If hardware is not on the shelf.
        """
        return tuple(self._held(bands, way, left) for bands in self.seams)

    def with_most_taken(
        self, seams: Sequence[SeamUnderLoad], left: Diagrams
    ) -> list[SeamUnderLoad]:
        """Return seams with what braces take off them at most, `left` being the rest."""
        found = []
        for bands, seam in zip(self.seams, seams, strict=True):
            most = relieved_share(self.load(bands), seam_load_of(bands, left))
            found.append(
                replace(
                    seam,
                    relieved_most=max(seam.relieved, most),
                    stress_least=min(seam.stress, stress_across(bands, left)),
                )
            )
        return found

    def _held(self, bands: SeamBands, way: Way, left: Diagrams | None) -> SeamUnderLoad:
        name = bands.seam.name
        joint = joint_in(way, self.ground.plan.joint(name))
        stress = self._stress[name] if left is None else stress_across(bands, left)
        if not self.is_felt(bands):
            note = "the load does not reach it"
            unfelt = Weakest("seam", name, "unloaded", math.inf, bands.station, note)
            return SeamUnderLoad(name, bands.station, 0.0, None, unfelt, 1.0, stress)
        is_glued = is_glued_in(way) and self.ground.is_glued(name)
        capacity, relieved = self.capacity(bands, joint, is_glued), 0.0
        if left is not None:
            rest = seam_load_of(bands, left)
            relieved = relieved_share(self.load(bands), rest)
            capacity = self._of_rest(bands, joint, capacity, rest)
        found = seam_result(self.ground, bands, capacity, relieved, stress, self.uncut)
        # Faces that nothing holds together may be pressed on each other and no more.
        return replace(found, capacity=None) if joint.is_empty and not is_glued else found

    def _of_rest(
        self, bands: SeamBands, joint: Joint, capacity: SeamCapacity, rest: SeamLoad
    ) -> SeamCapacity:
        """Return what a seam holds of what is left of its load, beside the uncut part under all."""
        share = share_of(rest, self.load(bands), bands.seam.section.area)
        if share is not None:
            return scaled(capacity, share)
        held = self.ground.held(bands, self.whole.chain.axis)
        return replace(held.capacity(joint, rest), uncut=capacity.uncut)


def seam_result(
    ground: Ground,
    bands: SeamBands,
    capacity: SeamCapacity,
    relieved: float,
    stress: float,
    uncut: float,
) -> SeamUnderLoad:
    """Return what is told of a seam of which it is known what it holds.

    Parameters
    ----------
    ground : Ground
    bands : SeamBands
    capacity : SeamCapacity
    relieved, stress : float
        See `SeamUnderLoad`.
    uncut : float
        How many times the load the uncut part holds.
    """
    seam, mode = bands.seam, capacity.governing
    sides = [ground.division.piece(name).number for name in (seam.below, seam.above)]
    note = _note(mode, sides)
    weakest = Weakest(
        "seam", seam.name, mode.name, capacity.factor, bands.station, note, mode.number
    )
    ratio = 1.0 if math.isinf(uncut) else min(1.0, capacity.factor / uncut)
    return SeamUnderLoad(seam.name, bands.station, relieved, capacity, weakest, ratio, stress)


def size_of(load: SeamLoad, area: float) -> float:
    """Return how large a load is, moments over the size of the seam, N."""
    turned = float(np.linalg.norm(load.moment)) / math.sqrt(area)
    return float(np.linalg.norm(load.force)) + turned


def share_of(rest: SeamLoad, load: SeamLoad, area: float) -> float | None:
    """Return how many times a load another one is, if it is nothing else, and above 0."""
    share = size_of(rest, area) / size_of(load, area)
    off = SeamLoad(rest.force - share * load.force, rest.moment - share * load.moment, rest.at)
    return share if share > 0.0 and size_of(off, area) <= _ALIKE * size_of(rest, area) else None


def _largest(found: Diagrams) -> float:
    """Return how large the load of a section is at most, moments over its size, N."""
    reach = np.sqrt(found.chain.area)[found.stations]
    bent = np.linalg.norm(found.moment, axis=1) + np.abs(found.torque)
    size = np.linalg.norm(found.shear, axis=1) + np.abs(found.axial) + bent / reach
    return float(size.max())


def relieved_share(whole: SeamLoad, left: SeamLoad) -> float:
    """Return which share of a seam's bending braces take off it."""
    bent, rest = (float(np.linalg.norm(load.moment[:2])) for load in (whole, left))
    if bent <= 0.0:
        bent, rest = (float(np.linalg.norm(load.force)) for load in (whole, left))
    return min(max(1.0 - rest / bent, 0.0), 1.0) if bent > 0.0 else 0.0


_OF_PIECES = {"piece.below": 0, "piece.above": 1}


def _note(mode: Mode, sides: Sequence[int]) -> str:
    """Return how a seam between two pieces, known by their numbers, fails, for people."""
    if mode.name in _OF_PIECES:
        return f"the wall of piece {sides[_OF_PIECES[mode.name]]} beside it, by its layers"
    if mode.number:
        kind = mode.name.split(".")[0]
        return f"{kind} {mode.number}, {mode.note}"
    return mode.note


def pieces_under(
    found: Diagrams, stretches: Sequence[Stretch]
) -> tuple[tuple[PieceUnderLoad, ...], LayerShares]:
    """Return what every piece takes with its layers as they lie, and all of them along the axis.

    Parameters
    ----------
    found : Diagrams
        Of what is left for the part.
    stretches : sequence of Stretch
        The pieces.
    """
    pieces = []
    for stretch in stretches:
        own = layer_shares(found, [stretch])
        inside = (own.positions >= stretch.low) & (own.positions <= stretch.high)
        share = np.where(inside, own.share, -1.0)
        worst = int(share.argmax())
        most = max(float(share[worst]), 0.0)
        station = float(np.clip(own.positions[worst], stretch.low, stretch.high))
        pieces.append(PieceUnderLoad(stretch.name, station, most, float(own.angle[0])))
    return tuple(pieces), layer_shares(found, stretches)


def held_way(
    way: Way,
    seams: tuple[SeamUnderLoad, ...],
    pieces: tuple[PieceUnderLoad, ...],
    layers: LayerShares,
    braces: tuple[BraceUnderLoad, ...],
    uncut: float,
) -> HeldWay:
    """Return all that is known of one way, with what gives way first.

    Parameters
    ----------
    way, seams, pieces, layers, braces
    uncut : float
        How many times the load the uncut part holds.
    """
    candidates = [
        *(seam.weakest for seam in seams),
        *(_weakest_of(piece) for piece in pieces),
        *(brace.weakest for brace in braces),
    ]
    weakest = min(candidates, key=lambda each: each.factor)
    ratio = 1.0 if math.isinf(weakest.factor) else weakest.factor / uncut
    return HeldWay(way, seams, pieces, layers, braces, weakest, ratio)


def at_least(bare: HeldWay, braced: HeldWay) -> HeldWay:
    """Return a part with braces, which holds no less than without them: they may let go."""
    if braced.weakest.factor >= bare.weakest.factor:
        return braced
    return replace(braced, weakest=bare.weakest, ratio=bare.ratio)


def _weakest_of(piece: PieceUnderLoad) -> Weakest:
    note = f"its layers, at {piece.angle:.0f}° to the axis"
    return Weakest("piece", piece.piece, "layers", factor_of(piece.share), piece.station, note)
