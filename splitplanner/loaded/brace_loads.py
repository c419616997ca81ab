"""What braces take of a load case, and what that does to them and their bolts.

Braces and part bend alike. Two cases bound what a brace takes: one that slides freely on the part,
and one that does not slide at all (`strength.braced`). What it relieves the part of is counted by
the lesser of both, what it has to stand itself by the larger. Its share grows from its first bolt
to the last one of the same piece, as a couple of bolts can hand it over, and ends likewise.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.joint.brace.bolts import LEAST_BOLTS, BraceBolt
from splitplanner.joint.brace.building import Brace
from splitplanner.plan import BraceWish
from splitplanner.solid import Plane
from splitplanner.strength import (
    Diagrams,
    SectionChain,
    SectionProperties,
    section_properties,
)
from splitplanner.strength.braced import BracedSection
from splitplanner.workshop import Material, Shelf

ALONG = math.cos(math.radians(30.0))
"""Braces that run at more than this angle to a load case's axis take nothing of it (the program's
own choice)."""


class Sheet(Protocol):
    """What is to be known of the stock of a brace, MPa."""

    @property
    def stiffness(self) -> float:
        """Young's modulus."""

    @property
    def proof_stress(self) -> float:
        """Stress at which it yields or, printed, breaks."""


@dataclass(frozen=True)
class Printed:
    """A brace printed flat, its layers along it."""

    stiffness: float
    proof_stress: float


@dataclass(frozen=True, eq=False)
class BraceAlong:
    """A brace as the axis of a load case sees it.

    Attributes
    ----------
    brace : Brace
    sheet : Sheet
    groups : tuple of tuple of BraceBolt
        Bolts along the axis, by the piece on which they are.
    sections : tuple of SectionProperties or None
        At each station of the chain; None where the brace is not.
    ramp : (n,) float array
        How much of its share it has by then at each station, 0 to 1; 0 for a brace that takes
        nothing.
    """

    brace: Brace
    sheet: Sheet
    groups: tuple[tuple[BraceBolt, ...], ...]
    sections: tuple[SectionProperties | None, ...]
    ramp: Floats

    @property
    def wish(self) -> BraceWish:
        """As it was asked for."""
        return self.brace.profile.wish

    @property
    def works(self) -> bool:
        """Whether it takes anything."""
        return bool(self.ramp.any())


@dataclass(frozen=True, eq=False)
class Taken:
    """What braces take of a load case in one of the two cases, at every entry of its diagrams.

    Attributes
    ----------
    shares : (k, b) float array
        Of the bending moment, by brace.
    stress : (k, b) float array
        Largest in each, MPa.
    pull : (k, b) float array
        Along each, N.
    bending : (k, b, 2) float array
        Moment in each about its own centroid, as in `Diagrams`, N·mm.
    """

    shares: Floats
    stress: Floats
    pull: Floats
    bending: Floats


@dataclass(frozen=True, eq=False)
class BracedLoad:
    """A load case on a part with braces.

    Attributes
    ----------
    found : Diagrams
        Of the part alone.
    braces : tuple of BraceAlong
    loose, tight : Taken
        With free slip, and with none.
    """

    found: Diagrams
    braces: tuple[BraceAlong, ...]
    loose: Taken
    tight: Taken

    @property
    def relief(self) -> Floats:
        """Share of moment and shear force that braces take at every entry, at least, (k,)."""
        return self._relief(np.minimum)

    @property
    def left(self) -> Diagrams:
        """What is left for the part: a pull along the axis and what twists are all left to it."""
        return self._left(self.relief)

    @property
    def left_at_least(self) -> Diagrams:
        """The same if braces take as much as they can."""
        return self._left(self._relief(np.maximum))

    def _relief(self, of_both: Callable[[Floats, Floats], Floats]) -> Floats:
        both = of_both(self.loose.shares.sum(axis=1), self.tight.shares.sum(axis=1))
        return frozen_floats(np.clip(both, 0.0, 1.0))

    def _left(self, relief: Floats) -> Diagrams:
        stays, found = 1.0 - relief[:, None], self.found
        return replace(found, moment=found.moment * stays, shear=found.shear * stays)


def braces_along(
    chain: SectionChain, braces: Sequence[Brace], shelf: Shelf, material: Material
) -> tuple[BraceAlong, ...]:
    """Return braces as the axis of a load case sees them.

    Parameters
    ----------
    chain : SectionChain
        Of the part.
    braces : sequence of Brace
    shelf : Shelf
        With the sheet metals that they name.
    material : Material
        Of printed ones.

    Raises
    ------
    WorkshopError
        If a metal is not on the shelf.
    """
    return tuple(_along(chain, brace, sheet_of(brace.profile.wish, shelf, material))
                 for brace in braces)  # fmt: skip


def sheet_of(wish: BraceWish, shelf: Shelf, material: Material) -> Sheet:
    """Return what the stock of a brace stands.

    Raises
    ------
    WorkshopError
        If the metal is not on the shelf.
    """
    if not wish.is_printed:
        return shelf.sheet_metal(wish.metal)
    assert material.stiffness_xy is not None
    assert material.strength_xy is not None
    return Printed(material.stiffness_xy, material.strength_xy)


def _along(chain: SectionChain, brace: Brace, sheet: Sheet) -> BraceAlong:
    axis = np.array(chain.axis)
    bolts = sorted(brace.bosses.bolts, key=lambda bolt: float(axis @ bolt.at))
    groups: list[list[BraceBolt]] = []
    for bolt in bolts:
        if groups and groups[-1][-1].piece == bolt.piece:
            groups[-1].append(bolt)
        else:
            groups.append([bolt])
    cut = brace.solid.sections(Plane(chain.axis, 0.0), chain.positions)
    sections = tuple(section_properties(each.shape) if each.area > 0 else None for each in cut)
    there = np.array([each is not None for each in sections], float)
    ramp = np.zeros(len(there))
    ways = abs(float(axis @ np.array(brace.profile.wish.along)))
    if ways >= ALONG and len(groups) > 1 and all(
        len(group) >= LEAST_BOLTS for group in (groups[0], groups[-1])
    ):  # fmt: skip
        first, last = groups[0], groups[-1]
        knots = [float(axis @ bolt.at) for bolt in (first[0], first[-1], last[0], last[-1])]
        ramp = there * np.interp(chain.positions, knots, [0.0, 1.0, 1.0, 0.0])
    return BraceAlong(brace, sheet, tuple(map(tuple, groups)), sections, frozen_floats(ramp))


def braced_load(found: Diagrams, braces: Sequence[BraceAlong], moduli: Floats) -> BracedLoad:
    """Return what braces take of a load case.

    Parameters
    ----------
    found : Diagrams
    braces : sequence of BraceAlong
        Along the same axis.
    moduli : (n,) float array
        Of the part at the stations of the chain, MPa.
    """
    chain, count = found.chain, len(braces)
    entries, own = len(found.positions), found.stations
    cases = {bound: Taken(*_nothing(entries, count)) for bound in (False, True)}
    ramps = np.array([each.ramp for each in braces]).reshape(count, -1)
    for row in np.flatnonzero(found.moment.any(axis=1)).tolist():
        station = int(own[row])
        here = [index for index in range(count) if ramps[index, station] > 0.0]
        if not here:
            continue
        section = _braced(chain, braces, here, station, float(moduli[station]))
        for bound, taken in cases.items():
            _put(taken, section, found.moment[row], bound, row, here, ramps[here, station])
    return BracedLoad(found, tuple(braces), cases[False], cases[True])


def _nothing(entries: int, count: int) -> tuple[Floats, Floats, Floats, Floats]:
    flat = (np.zeros((entries, count)) for _ in range(3))
    shares, stress, pull = flat
    return shares, stress, pull, np.zeros((entries, count, 2))


def _braced(
    chain: SectionChain,
    braces: Sequence[BraceAlong],
    here: Sequence[int],
    station: int,
    modulus: float,
) -> BracedSection:
    """Return the section of the part with the braces that are there."""
    shapes = [braces[index].sections[station] for index in here]
    return BracedSection(
        part=chain.properties[station],
        braces=tuple(each for each in shapes if each is not None),
        modulus=modulus,
        moduli=tuple(braces[index].sheet.stiffness for index in here),
    )


def _put(
    taken: Taken,
    section: BracedSection,
    moment: Floats,
    bound: bool,
    row: int,
    here: Sequence[int],
    ramps: Floats,
) -> None:
    """Fill in what each brace takes of a moment, while `taken` is being made."""
    curve = np.linalg.solve(section.bound if bound else section.loose, moment)
    middle = section.centroid
    for index, own, modulus, ramp in zip(here, section.braces, section.moduli, ramps, strict=True):
        away = own.centroid - middle if bound else np.zeros(2)
        bending = ramp * modulus * (own.tensor @ curve)
        pull = -ramp * modulus * own.area * float(away @ curve)
        # The pull at its distance is a moment too.
        whole = bending - pull * away
        taken.shares[row, index] = float(moment @ whole) / float(moment @ moment)
        taken.stress[row, index] = ramp * modulus * float(np.abs((own.hull + away) @ curve).max())
        taken.pull[row, index] = pull
        taken.bending[row, index] = bending
