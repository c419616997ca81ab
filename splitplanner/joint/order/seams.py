"""In which directions seams close, and into which two groups pieces can be taken apart.

Two groups come apart along a direction if every seam between them lets them: a seam that is held
along its axis alone, one that is glued in any direction that does not lead into its other piece.
Which pieces must move along with which is a graph for each direction, and a group that can be
taken away is closed in it (R. H. Wilson, J.-C. Latombe, Geometric reasoning about mechanical
assembly, Artificial Intelligence 71, 1994; from memory). Groups are bit masks of pieces.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from splitplanner.arrays import Floats, to_vector, unit_vector
from splitplanner.plan import Joint, Seam, Vector
from splitplanner.solid import frame_of

PARALLEL = 0.1
"""Two axes this near to each other are one, degrees; pins are checked to stand as square."""
_ALONG = float(np.cos(np.radians(PARALLEL)))
_SLIDES = -1e-6
"""A direction this little into the other piece slides along it (cosine)."""
_MOST_GROUPS = 2000
"""More ways to take a group apart along one direction are not tried."""


@dataclass(frozen=True)
class Closing:
    """How one seam closes.

    Attributes
    ----------
    seam : str
    below, above : int
        Indices of its pieces.
    cut : int
    normal : (x, y, z)
        Unit vector from the piece below to the one above.
    axes : tuple of (x, y, z)
        Unit vectors, on the normal's side, of all that holds it: it opens along one axis alone,
        and never along several. None for a seam that is glued.
    area : float
        mm².
    """

    seam: str
    below: int
    above: int
    cut: int
    normal: Vector
    axes: tuple[Vector, ...]
    area: float

    def opens(self, way: Floats) -> bool:
        """Return whether the piece above can leave the one below along `way`, (3,) of length 1."""
        if self.axes:
            return all(float(np.dot(axis, way)) >= _ALONG for axis in self.axes)
        return float(np.dot(self.normal, way)) >= _SLIDES

    @property
    def freed(self) -> Closing:
        """The seam when it is glued, or its pins are put in afterwards."""
        return replace(self, axes=())

    def turned(self, axis: Vector) -> Closing:
        """Return the seam with all its holes turned to an axis."""
        sign = 1.0 if float(np.dot(self.normal, axis)) >= 0 else -1.0
        return replace(self, axes=(to_vector(sign * np.array(axis)),))


def closing_of(seam: Seam, joint: Joint, indices: dict[str, int]) -> Closing:
    """Return how a seam closes with its joint.

    Pins and screws allow their axes, a flange and a register the normal of the seam. Tape is laid
    afterwards and allows all.

    Parameters
    ----------
    seam : Seam
    joint : Joint
    indices : dict of piece name to index
    """
    normal = np.array(seam.plane.normal)
    found = [np.array(pin.axis) for pin in joint.pins]
    found += [np.array(screw.axis) for screw in joint.screws]
    if joint.flange is not None or joint.register is not None:
        found.append(normal)
    axes: list[Vector] = []
    for axis in found:
        axis = axis if float(axis @ normal) >= 0 else -axis
        if not any(float(np.dot(axis, other)) >= _ALONG for other in axes):
            axes.append(to_vector(unit_vector(axis)))
    ends = indices[seam.below], indices[seam.above]
    area = seam.section.area
    return Closing(seam.name, *ends, seam.cut, seam.plane.normal, tuple(axes), area)


@dataclass(frozen=True)
class Parting:
    """A way to take a group apart: the step of the assembly, backwards.

    Attributes
    ----------
    stays, leaves : int
        Masks of the two groups.
    way : (3,) float array
        Unit vector in which `leaves` goes.
    closings : tuple of Closing
        The seams between them.
    """

    stays: int
    leaves: int
    way: Floats
    closings: tuple[Closing, ...]


class Seams:
    """All seams of a division, as a graph of pieces."""

    def __init__(self, closings: Sequence[Closing], count: int) -> None:
        self.closings = tuple(closings)
        self.count = count

    @cached_property
    def _beside(self) -> list[int]:
        beside = [0] * self.count
        for closing in self.closings:
            beside[closing.below] |= 1 << closing.above
            beside[closing.above] |= 1 << closing.below
        return beside

    def within(self, group: int) -> list[Closing]:
        """Return the seams between pieces of a group."""
        return [c for c in self.closings if group >> c.below & group >> c.above & 1]

    def bodies(self, group: int, without_cut: int | None = None) -> list[int]:
        """Return the masks of what hangs together in a group, by its first piece."""
        beside = self._beside
        if without_cut is not None:
            kept = [c for c in self.closings if c.cut != without_cut]
            beside = Seams(kept, self.count)._beside
        found, left = [], group
        while left:
            body = edge = left & -left
            while edge:
                reached = 0
                for piece in members(edge):
                    reached |= beside[piece]
                edge = reached & group & ~body
                body |= edge
            found.append(body)
            left &= ~body
        return found

    def apart(self, group: int, leaves: int) -> Iterator[Parting]:
        """Yield how two parts of a group come apart: the way that opens the seams most first.

        Nothing if they do not, or one of them hangs in pieces.
        """
        stays = group & ~leaves
        if not stays or not leaves:
            return
        if len(self.bodies(stays)) > 1 or len(self.bodies(leaves)) > 1:
            return
        between = tuple(
            c for c in self.within(group) if (leaves >> c.below & 1) != (leaves >> c.above & 1)
        )
        if between:
            for way in _ways_out(between, leaves):
                yield Parting(stays, leaves, way, between)

    def partings(self, group: int) -> Iterator[Parting]:
        """Yield the ways to take a group apart: along whole cuts first, the earliest first.

        If there is a way at all, at least one is yielded.
        """
        seen: set[int] = set()
        within = self.within(group)
        for cut in sorted({c.cut for c in within}):
            bodies = self.bodies(group, without_cut=cut)
            if len(bodies) > 1:
                yield from self._new(group, sorted(bodies, key=int.bit_count), seen)
        for way in _ways(within):
            yield from self._new(group, self._leaving(group, within, way), seen)

    def _new(self, group: int, candidates: Sequence[int], seen: set[int]) -> Iterator[Parting]:
        for leaves in candidates:
            pair = min(leaves, group & ~leaves)
            if pair not in seen:
                seen.add(pair)
                yield from self.apart(group, leaves)

    def _leaving(self, group: int, within: Sequence[Closing], way: Floats) -> list[int]:
        """Return groups that can leave along `way`, small ones first.

        Each is closed: it takes along whatever would be in its way. Where what stays would hang
        in pieces, all but one of them go along.
        """
        takes = {piece: 1 << piece for piece in members(group)}
        for c in within:
            if not c.opens(way):
                takes[c.above] |= 1 << c.below
            if not c.opens(-way):
                takes[c.below] |= 1 << c.above
        for _ in takes:
            for piece, mask in takes.items():
                for other in members(mask):
                    takes[piece] |= takes[other]
        closed = set(takes.values())
        for mask in sorted(closed):
            if len(closed) < _MOST_GROUPS:
                closed |= {mask | other for other in closed}
        found = {group & ~body for mask in closed for body in self.bodies(group & ~mask)}
        return sorted(found | closed, key=lambda mask: (mask.bit_count(), mask))


def members(mask: int) -> Iterator[int]:
    """Yield the indices of the pieces in a mask, rising."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def _outward(closing: Closing, leaves: int) -> Floats:
    """Return the normal of a seam towards the group that leaves."""
    sign = 1.0 if leaves >> closing.above & 1 else -1.0
    return sign * np.array(closing.normal)


def _ways_out(between: Sequence[Closing], leaves: int) -> list[Floats]:
    """Return the directions in which a group leaves by all seams, that opens them most first."""
    held = [c for c in between if c.axes]
    normals = np.array([_outward(c, leaves) for c in between])
    if held:
        ways = [np.array(held[0].axes[0]) * (1.0 if leaves >> held[0].above & 1 else -1.0)]
    else:
        total = normals.sum(axis=0)
        ways = [unit_vector(total)] if np.linalg.norm(total) > 1e-9 else []
        ways += [*normals, *_between(normals)]
        for along in frame_of(normals[0])[:2]:
            ways += [along, -along]
    fit: list[tuple[float, Floats]] = []
    for way in ways:
        signed = [way if leaves >> c.above & 1 else -way for c in between]
        is_new = not any(float(way @ other) > 1.0 - 1e-9 for _, other in fit)
        if is_new and all(c.opens(each) for c, each in zip(between, signed, strict=True)):
            fit.append((-round(float((normals @ way).min()), 9), way))
    return [way for _, way in sorted(fit, key=lambda item: item[0])]


def _between(normals: Floats) -> list[Floats]:
    """Return the directions square to two of several normals, both ways.

    If any direction leads into none of the half spaces behind the normals, then one of these does
    where the normals are not all parallel: a pointed cone has an edge, in which two of its faces
    meet, and one that is not pointed holds a line square to its normals (theory of linear
    inequalities). Where they are parallel any direction square to them does.
    """
    found: list[Floats] = []
    for index, normal in enumerate(normals):
        for other in normals[:index]:
            across = np.cross(normal, other)
            if np.linalg.norm(across) > 1e-6:
                unit = unit_vector(across)
                found += [unit, -unit]
    return found


def _ways(within: Sequence[Closing]) -> list[Floats]:
    """Return the directions to try, one sign of each: what leaves one way stays the other way."""
    held = [np.array(axis) for c in within for axis in c.axes]
    glued = _distinct([np.array(c.normal) for c in within if not c.axes])
    slides = [frame_of(normal)[0] for normal in glued]
    return _distinct([*held, *glued, *_between(np.array(glued).reshape(-1, 3)), *slides])


def _distinct(directions: Sequence[Floats]) -> list[Floats]:
    found: list[Floats] = []
    for direction in directions:
        if not any(abs(float(direction @ other)) > 1.0 - 1e-9 for other in found):
            found.append(direction)
    return found
