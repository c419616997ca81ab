"""What braces and their bolts stand of what they take."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise

import numpy as np

from splitplanner.arrays import Bools, Floats, frozen_floats
from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.loaded.answers import BraceUnderLoad, Weakest
from splitplanner.loaded.brace_loads import BraceAlong, BracedLoad, Taken
from splitplanner.strength import HeldBy, Plastic, Resistance, SeamLoad, elastic_forces, group_of
from splitplanner.strength.fastener_capacity import rigid_pin_bearing, screw_shear, tear_out
from splitplanner.workshop import Shelf


def braces_under(
    load: BracedLoad,
    shelf: Shelf,
    plastic: Plastic,
    held_by: HeldBy,
    pulls: Mapping[str, Mapping[BraceBolt, float]],
) -> tuple[BraceUnderLoad, ...]:
    """Return what every brace stands.

    Parameters
    ----------
    load : BracedLoad
    shelf : Shelf
    plastic : Plastic
        Of the bosses.
    held_by : HeldBy
        By its property class for the bolts.
    pulls : mapping of brace name to mapping of bolt to float
        What bolts take where a brace ties seams together, N; see `ties`. The larger counts.

    Raises
    ------
    WorkshopError
        If a thread is not on the shelf, or steel is not known.
    """
    return tuple(
        _brace_under(load, index, shelf, plastic, held_by, pulls)
        for index in range(len(load.braces))
    )


def _brace_under(
    load: BracedLoad,
    index: int,
    shelf: Shelf,
    plastic: Plastic,
    held_by: HeldBy,
    pulls: Mapping[str, Mapping[BraceBolt, float]],
) -> BraceUnderLoad:
    brace, found = load.braces[index], load.found
    stresses = np.maximum(load.loose.stress[:, index], load.tight.stress[:, index])
    worst = int(stresses.argmax())
    station, stress = float(found.positions[worst]), float(stresses[worst])
    both = sorted(float(case.shares[worst, index]) for case in (load.loose, load.tight))
    shares = both[0], both[1]
    proof = brace.sheet.proof_stress
    name = brace.wish.name
    note = "its sheet" if not brace.wish.is_printed else "its printed strip"
    weakest = Weakest("brace", name, "sheet", _over(proof, stress), station, note)
    if not brace.works:
        why = (
            "it takes nothing: it needs two bolts on pieces at both ends, and to run along the axis"
        )
        weakest = replace(weakest, mode="idle", note=why)
        return BraceUnderLoad(name, station, (0.0, 0.0), 0.0, proof, 0.0, 0.0, weakest)
    forces = bolt_forces(load, index)
    pulled = pulls.get(name, {})
    rows = [
        (max(force, pulled.get(bolt, 0.0)), bolt_holds(brace, bolt, shelf, plastic, held_by), bolt)
        for force, bolt in zip(forces.tolist(), _all(brace), strict=True)
    ]
    number = min(range(len(rows)), key=lambda each: _over(rows[each][1].force, rows[each][0]))
    force, least, bolt = rows[number][0], rows[number][1], rows[number][2]
    factor = _over(least.force, force)
    if factor < weakest.factor:
        at = float(np.dot(found.chain.axis, bolt.at))
        said = f"bolt {number + 1}, {least.note}"
        weakest = Weakest("brace", name, least.mode, factor, at, said, number + 1)
    return BraceUnderLoad(name, station, shares, stress, proof, force, least.force, weakest)


def _over(stands: float, takes: float) -> float:
    return stands / takes if takes > 0.0 else math.inf


def _all(brace: BraceAlong) -> list[BraceBolt]:
    return [bolt for group in brace.groups for bolt in group]


def bolt_forces(load: BracedLoad, index: int) -> Floats:
    """Return the force across every bolt of a brace, in their order along the axis, (n,) N.

    On every piece the bolts hand over what the brace has more on one side of the piece than on the
    other: moment, shear force and pull, as one group by the elastic method. At each gap between
    two pieces the brace has what it has where it has most of a moment there. The larger of both
    cases counts.
    """
    both = [_forces(load, index, taken) for taken in (load.loose, load.tight)]
    return frozen_floats(np.maximum(*both))


def _forces(load: BracedLoad, index: int, taken: Taken) -> Floats:
    brace = load.braces[index]
    cuts = [None, *_cuts(load, index, taken), None]
    found = []
    axis = np.array(load.found.chain.axis)
    for group, (low, high) in zip(brace.groups, pairwise(cuts), strict=True):
        own = brace.wish.to_own([bolt.at for bolt in group])
        places = np.column_stack([[float(axis @ bolt.at) for bolt in group], own[:, 1]])
        bolts = group_of(places, axial=0.0)
        forces = np.zeros((len(group), 3))
        for cut, sign in ((high, 1.0), (low, -1.0)):
            if cut is not None:
                forces += elastic_forces(bolts, cut.scaled(sign)).forces
        found.append(np.linalg.norm(forces, axis=1))
    return np.concatenate(found)


def _cuts(load: BracedLoad, index: int, taken: Taken) -> Iterator[SeamLoad]:
    """Yield what is in a brace at each gap between pieces, along (axis, towards, third)."""
    brace, found = load.braces[index], load.found
    chain, axis = found.chain, np.array(found.chain.axis)
    towards = np.array(brace.wish.towards)
    way = chain.frame[:2] @ towards
    for group, following in pairwise(brace.groups):
        low, high = float(axis @ group[-1].at), float(axis @ following[0].at)
        between: Bools = (found.positions >= low) & (found.positions <= high)
        rows = np.flatnonzero(between)
        if not len(rows):
            rows = np.array([int(np.abs(found.positions - (low + high) / 2.0).argmin())])
        moments = taken.bending[rows, index] @ way
        row = int(rows[np.abs(moments).argmax()])
        section = brace.sections[int(found.stations[row])]
        middle = np.zeros(2) if section is None else section.centroid
        place = np.append(middle, found.positions[row]) @ chain.frame
        share = float(taken.shares[row, index])
        shear = -share * float(found.shear[row] @ way)
        yield SeamLoad(
            np.array([taken.pull[row, index], shear, 0.0]),
            np.array([0.0, 0.0, float(taken.bending[row, index] @ way)]),
            np.array([found.positions[row], float(brace.wish.to_own([place])[0, 1])]),
        )


def bolt_holds(
    brace: BraceAlong, bolt: BraceBolt, shelf: Shelf, plastic: Plastic, held_by: HeldBy
) -> Resistance:
    """Return how a bolt fails sideways: its steel, its boss, or the sheet round it.

    The sheet is pressed up to its proof stress on ``d t``, on the safe side of what EN 1993-1-8
    allows metal (2.5 times its strength where edges are far; from memory).
    """
    wish, thread = brace.wish, shelf.thread(bolt.size)
    far = thread.diameter if bolt.hold == "nut" else bolt.hole
    sheet = brace.sheet.proof_stress * thread.diameter * wish.stock
    boss = rigid_pin_bearing(far, bolt.depth, plastic.bearing)
    torn = tear_out(brace.brace.bosses.size.radius, far, bolt.depth, plastic.shear)
    steel = screw_shear(thread, held_by.steel)
    ways = (
        Resistance("bolt.steel", "sideways", steel, f"shear of its steel, class {held_by.steel}"),
        Resistance("bolt.bearing", "sideways", boss, "pressure on the hole of its boss"),
        Resistance("bolt.tear_out", "sideways", torn, "torn out of its boss"),
        Resistance("bolt.sheet", "sideways", sheet, "pressure on its hole in the brace"),
    )
    return min(ways, key=lambda each: each.force)
