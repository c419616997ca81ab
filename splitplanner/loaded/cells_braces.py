"""Braces on pieces in cells: beams along their middle, held by their bolts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.errors import LoadError
from splitplanner.joint import Brace
from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.loaded.brace_loads import Sheet
from splitplanner.loaded.cells_seams import BEDDING, RING, ring_in
from splitplanner.loaded.cells_spots import row_of
from splitplanner.strength.cells import Assembly, Joined, stacked
from splitplanner.strength.seam_capacity import STEEL
from splitplanner.workshop import Shelf

_STEP = 10.0
"""Longest piece of a beam, mm."""
_POISSON = 0.33
"""Of metals."""
_SHEAR = 5.0 / 6.0
"""Share of a rectangle's area that counts against shear (Timoshenko's theory as handbooks have it;
from memory)."""
_NOTHING = 1e-9
"""Stiffness of less than this share of the largest is rounding."""


@dataclass(frozen=True, eq=False)
class BraceBeam:
    """A brace as beams along the middle of its strip, each bolt on an arm of its own.

    The strip stands free but for its bolts, which hold it in place and let it turn: that it seats
    on lands is not counted.

    Attributes
    ----------
    name : str
    nodes : (n, 2) float array
        Along its middle, in its own coordinates (along, towards), mm.
    bolts : (b, 2) float array
        Where its bolts are, the same way.
    at_node : (b,) int array
        On which node the arm of each is.
    depth, stock : float
        Of the strip, mm.
    modulus : float
        MPa.
    springs : (b, 3) float array
        How stiff bolts and bosses are along, towards and square to the sheet, N/mm.
    axes : (3, 3) float array
        Rows: along, towards, normal, in the part's frame.
    """

    name: str
    nodes: Floats
    bolts: Floats
    at_node: Any
    depth: float
    stock: float
    modulus: float
    springs: Floats
    axes: Floats

    @cached_property
    def _stiffness(self) -> Floats:
        """Of all nodes, (6n, 6n), shifts in mm and turns in radians in the brace's own axes."""
        found = np.zeros((6 * len(self.nodes),) * 2)
        for index, beam in enumerate(self._beams):
            some = slice(6 * index, 6 * index + 12)
            found[some, some] += beam
        return found

    @cached_property
    def _beams(self) -> tuple[Floats, ...]:
        """The stiffness of every straight piece."""
        return tuple(self._beam(way) for way in np.diff(self.nodes, axis=0))

    def _beam(self, along: Floats) -> Floats:
        """Return the stiffness of one straight piece, (12, 12), in the brace's axes."""
        length = float(np.linalg.norm(along))
        turn = np.eye(3)
        turn[0, :2] = along / length
        turn[1, :2] = -along[1] / length, along[0] / length
        whole = np.kron(np.eye(4), turn)
        return whole.T @ beam_stiffness(length, self.depth, self.stock, self.modulus) @ whole

    @cached_property
    def _arms(self) -> Floats:
        """How nodes move the bolts, (3b, 6n)."""
        found = np.zeros((3 * len(self.bolts), 6 * len(self.nodes)))
        for index, node in enumerate(self.at_node):
            x, y = self.bolts[index] - self.nodes[node]
            rows = slice(3 * index, 3 * index + 3)
            found[rows, 6 * node : 6 * node + 3] = np.eye(3)
            # Turn about each axis times the arm (x, y, 0).
            found[rows, 6 * node + 3 : 6 * node + 6] = [[0, 0, -y], [0, 0, x], [y, -x, 0]]
        return found

    @cached_property
    def _followed(self) -> Floats:
        """How its nodes move by unit shifts of the bosses, (6n, 3b)."""
        springs = self.springs.ravel()
        system = self._stiffness + self._arms.T @ (springs[:, None] * self._arms)
        # It may turn about a line on which all bolts are: nothing makes it.
        found: Floats = np.linalg.pinv(system, rcond=1e-12, hermitian=True) @ (
            self._arms.T * springs
        )
        return found

    @cached_property
    def felt(self) -> Floats:
        """What bosses feel of it, (3b, 3b) N/mm: forces by shifts along its own axes."""
        springs = self.springs.ravel()
        found = np.diag(springs) - (springs[:, None] * self._arms) @ self._followed
        return frozen_floats(0.5 * (found + found.T))

    def ends(self, moved: Floats) -> Floats:
        """Return what acts on both ends of every piece by shifts of the bosses, (n - 1, 2, 6).

        Parameters
        ----------
        moved : (b, 3) float array
            In the brace's own axes, mm.

        Returns
        -------
        (n - 1, 2, 6) float array
            Pull along the piece, shear in and across the sheet, N; torque and bending moments
            about (across the strip in its sheet, square to the sheet), N·mm.
        """
        nodes = self._followed @ np.asarray(moved, float).ravel()
        found = np.zeros((len(self.nodes) - 1, 2, 6))
        for index, (start, end) in enumerate(zip(self.nodes[:-1], self.nodes[1:], strict=True)):
            acting = self._beams[index] @ nodes[6 * index : 6 * index + 12]
            way = (end - start) / np.linalg.norm(end - start)
            turn = np.eye(3)
            turn[0, :2] = way
            turn[1, :2] = -way[1], way[0]
            own = (np.kron(np.eye(4), turn) @ acting).reshape(2, 6)
            # Pull and moments as they are in the piece, the same sign at both ends.
            found[index] = own * np.array([[-1.0], [1.0]])
        return found

    def stress(self, ends: Floats) -> Floats:
        """Return the largest stress along each piece at both its ends, (n - 1, 2) MPa."""
        area = self.depth * self.stock
        about = self.depth * self.stock**2 / 6.0, self.stock * self.depth**2 / 6.0
        pull = np.abs(ends[..., 0]) / area
        found: Floats = pull + np.abs(ends[..., 4]) / about[0] + np.abs(ends[..., 5]) / about[1]
        return found


def beam_stiffness(length: float, depth: float, stock: float, modulus: float) -> Floats:
    """Return the stiffness of a straight strip along x, its depth along y, (12, 12).

    Shear counted (Przemieniecki, Theory of Matrix Structural Analysis, 1968; from memory). The
    strip twists as a thin rectangle, ``d s³ / 3``.

    Parameters
    ----------
    length, depth, stock : float
        mm.
    modulus : float
        MPa.
    """
    area, rigid = depth * stock, modulus / (2.0 * (1.0 + _POISSON))
    found = np.zeros((12, 12))
    pull = modulus * area / length
    twist = rigid * depth * stock**3 / 3.0 / length
    for one, size in ((0, pull), (3, twist)):
        found[one, one] = found[one + 6, one + 6] = size
        found[one, one + 6] = found[one + 6, one] = -size
    # In the sheet: shift y with turns about z; across it: shift z with turns about y.
    for shift, about, second, sign in (
        (1, 5, stock * depth**3 / 12.0, 1.0),
        (2, 4, depth * stock**3 / 12.0, -1.0),
    ):
        soft = 12.0 * modulus * second / (_SHEAR * rigid * area * length**2)
        size = modulus * second / (length**3 * (1.0 + soft))
        own = [shift, about, shift + 6, about + 6]
        six, four, two = 6 * length * sign, (4 + soft) * length**2, (2 - soft) * length**2
        found[np.ix_(own, own)] = size * np.array(
            [
                [12, six, -12, six],
                [six, four, -six, two],
                [-12, -six, 12, -six],
                [six, two, -six, four],
            ]
        )
    return found


def brace_beam(brace: Brace, sheet: Sheet, shelf: Shelf, modulus: float) -> BraceBeam:
    """Return a brace as beams.

    Parameters
    ----------
    brace : Brace
    sheet : Sheet
    shelf : Shelf
        With the threads of its bolts.
    modulus : float
        Of the plastic of bosses, MPa.

    Raises
    ------
    WorkshopError
        If a thread is not on the shelf.
    LoadError
        If it has fewer than two bolts.
    """
    wish, bolts = brace.profile.wish, brace.bosses.bolts
    if len(bolts) < 2:
        raise LoadError(f"Brace “{wish.name}” has fewer than two bolts and holds nothing.")
    own = wish.to_own([bolt.at for bolt in bolts])[:, :2]
    middle = brace.profile.line(wish.depth / 2.0)
    places = [middle.project(shapely.points(each)) for each in own]
    steps = np.array(sorted({round(place, 6) for place in places}))
    stops = [steps[:1]]
    for low, high in pairwise(steps.tolist()):
        count = max(1, int(np.ceil((high - low) / _STEP)))
        stops.append(np.linspace(low, high, count + 1)[1:])
    along = np.concatenate(stops)
    nodes = shapely.get_coordinates(shapely.line_interpolate_point(middle, along))
    at_node = np.abs(along[None] - np.array(places)[:, None]).argmin(axis=1)
    springs = [_bolt_springs(bolt, wish.stock, shelf, modulus) for bolt in bolts]
    return BraceBeam(
        wish.name,
        frozen_floats(nodes),
        frozen_floats(own),
        at_node,
        wish.depth,
        wish.stock,
        sheet.stiffness,
        frozen_floats(springs),
        frozen_floats(wish.axes),
    )


def _bolt_springs(
    bolt: BraceBolt, stock: float, shelf: Shelf, modulus: float
) -> tuple[float, float, float]:
    aside = BEDDING * modulus * bolt.depth
    pull = STEEL * shelf.thread(bolt.size).stress_area / (stock + bolt.depth)
    return aside, aside, pull


def bolt_gaps(assembly: Assembly, names: Sequence[str], brace: Brace) -> Any:
    """Return how bosses move where bolts meet the middle of the sheet, sparse (3b, f).

    Along the brace's own axes: along, towards, normal. Two rings of points in the boss say it, so
    that forces there do to the piece what a force in the sheet does.

    Raises
    ------
    LoadError
        If a boss is not there.
    """
    wish, rows = brace.profile.wish, []
    for number, bolt in enumerate(brace.bosses.bolts):
        piece = names.index(bolt.piece)
        model = assembly.models[piece]
        axis, at = np.array(bolt.axis), np.array(bolt.at)
        radius = 0.5 * (bolt.hole / 2.0 + brace.bosses.size.radius)
        ring = ring_in(model.grid.frame_along(axis), radius)
        near, far = wish.half, wish.half + bolt.depth
        points = np.vstack([at + near * axis + ring, at + far * axis + ring])
        # A straight line through both rings, as far as the middle of the sheet.
        shares = np.repeat([far / bolt.depth, -near / bolt.depth], RING) / RING
        try:
            motion = model.motion(points, model.rows_at(points, reach=0.5))
        except LoadError as fault:
            raise LoadError(
                f"Brace “{wish.name}”: there is no boss for its bolt {number + 1} at station "
                f"{bolt.station:.0f} mm; make its pieces anew."
            ) from fault
        rows.append(assembly.widened(piece, row_of(np.kron(shares, wish.axes)) @ motion))
    return stacked(rows)


def joined_rows(beams: Sequence[BraceBeam], first: Sequence[int], total: int) -> Joined:
    """Return what braces hold as springs along sums of gaps.

    Parameters
    ----------
    beams : sequence of BraceBeam
    first : sequence of int
        Where the gaps of each start.
    total : int
        How many gaps there are.
    """
    rows, springs = [np.zeros((0, total))], [np.zeros(0)]
    for beam, start in zip(beams, first, strict=True):
        size, ways = np.linalg.eigh(beam.felt)
        some = size > _NOTHING * size.max()
        own = np.zeros((int(some.sum()), total))
        own[:, start : start + len(size)] = ways[:, some].T
        rows.append(own)
        springs.append(size[some])
    return Joined(frozen_floats(np.vstack(rows)), frozen_floats(np.concatenate(springs)))
