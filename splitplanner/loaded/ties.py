"""A brace as a tie over a seam: its bolts pull the pieces together, and the faces press.

Whatever braces do by bending, they can also be pulled: any share of a load that is in equilibrium
and with which nothing fails is one that joints of tough plastic find before they fail (lower bound
theorem of plasticity: Gere, Mechanics of Materials, chapter on plastic bending, for beams; from
memory). So of all pulls the one counts with which the seam holds most. Either a seam is relieved by
the bending of its braces or tied by their pull, whichever holds more, never both at once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.loaded.answers import SeamUnderLoad
from splitplanner.loaded.brace_bolts import bolt_holds
from splitplanner.loaded.brace_loads import BraceAlong
from splitplanner.loaded.holding import SIDEWAYS, HeldSeam
from splitplanner.loaded.seam_loads import SeamBands
from splitplanner.loaded.ways import Ground, LoadedSeams, relieved_share, seam_result, size_of
from splitplanner.plan import Joint, Seam
from splitplanner.strength import Mode, SeamCapacity, SeamLoad, section_properties
from splitplanner.strength.seam_modes import section_stresses

_HALVINGS = 6
"""So many pulls are tried where a seam holds something without them."""
_STEPS, _FINER = 9, 0.7
"""So many are tried where it does not, each this much of the one before."""
_NOT_OPENED = (*SIDEWAYS, "piece.")
"""So modes begin in which braces that pull do not help."""
_MORE = 1.5
"""Pulls up to so many times what balances the load are tried."""
TIE = "brace.tie"
"""Mode of a seam whose braces let go."""


@dataclass(frozen=True, eq=False)
class Tie:
    """A brace where it crosses a seam.

    Attributes
    ----------
    brace : str
    place : (3,) float array
        In the seam's plane, mm.
    way : (3,) float array
        Unit vector from its last bolt below to its first bolt above.
    holds : float
        Pull that its bolts on either piece stand, or its sheet, N.
    bolts : tuple of tuple of BraceBolt
        On both pieces.
    """

    brace: str
    place: Floats
    way: Floats
    holds: float
    bolts: tuple[tuple[BraceBolt, ...], ...]


def ties_of(seam: Seam, braces: Sequence[BraceAlong], ground: Ground) -> tuple[Tie, ...]:
    """Return the braces that cross a seam.

    Parameters
    ----------
    seam : Seam
    braces : sequence of BraceAlong
    ground : Ground

    Raises
    ------
    WorkshopError
        If a thread is not on the shelf, or steel is not known.
    """
    found = []
    for brace in braces:
        for low, high in pairwise(brace.groups):
            if {low[0].piece, high[0].piece} != {seam.below, seam.above} or not brace.works:
                continue
            ends = np.array([low[-1].at, high[0].at])
            heights = seam.plane.height(ends)
            if heights[0] * heights[1] >= 0.0:
                continue
            share = heights[0] / (heights[0] - heights[1])
            step = (ends[1] - ends[0]) * math.copysign(1.0, heights[1])
            holds = _pull(brace, (low, high), ground)
            way = step / np.linalg.norm(step)
            place = ends[0] + share * (ends[1] - ends[0])
            found.append(Tie(brace.wish.name, place, way, holds, (low, high)))
    return tuple(found)


def _pull(brace: BraceAlong, groups: tuple[tuple[BraceBolt, ...], ...], ground: Ground) -> float:
    """Return the pull that a brace stands: the bolts of a piece share it evenly."""
    sides = [
        len(group)
        * min(
            bolt_holds(brace, bolt, ground.shelf, ground.plastic, ground.held_by).force
            for bolt in group
        )
        for group in groups
    ]
    wish = brace.wish
    width = wish.depth - max(bolt.brace_hole for group in groups for bolt in group)
    return min(*sides, brace.sheet.proof_stress * width * wish.stock)


def tied(load: SeamLoad, seam: Seam, ties: Sequence[Tie], share: float) -> SeamLoad:
    """Return what is left of a load with ties that pull with a share of what they hold."""
    frame, centre = seam.plane.frame, seam.section.centroid
    force, moment = np.array(load.force), np.array(load.moment)
    for tie in ties:
        pull = frame @ (-share * tie.holds * tie.way)
        force = force + pull
        moment = moment + np.cross(frame @ (tie.place - centre), pull)
    return SeamLoad(force, moment, load.at)


def tied_seam(
    loaded: LoadedSeams, bands: SeamBands, ties: Sequence[Tie]
) -> tuple[SeamUnderLoad, float] | None:
    """Return what a seam holds with its braces as ties, and which share of theirs they pull.

    Parameters
    ----------
    loaded : LoadedSeams
    bands : SeamBands
        Of one that the load reaches.
    ties : sequence of Tie
        One or more.

    Returns
    -------
    (SeamUnderLoad, float) or None
        None where a pull does not help.
    """
    seam, ground = bands.seam, loaded.ground
    joint, held = ground.plan.joint(seam.name), ground.held(bands, loaded.whole.chain.axis)
    load, bare = loaded.load(bands), loaded.capacity(bands, joint)
    share = _best_share(held, joint, load, ties, bare)
    if share is None:
        return None
    rest = tied(load, seam, ties, share)
    known = held.capacity(joint, rest)
    total = sum(tie.holds for tie in ties)
    note = f"bolts or sheet of {' and '.join(tie.brace for tie in ties)}, pulled"
    mode = Mode(TIE, 1.0 / share, 0, share * total, total, "N", note)
    stages = tuple(
        replace(
            stage,
            by=(*stage.by, "braces"),
            modes=tuple(sorted((*stage.modes, mode), key=lambda each: each.factor)),
        )
        for stage in known.stages
    )
    capacity = replace(known, stages=stages, uncut=bare.uncut)
    figures = section_properties(seam.section.shape)
    stress = float(np.abs(section_stresses(figures, rest, math.inf)[0]).max())
    relieved = relieved_share(load, rest)
    return seam_result(ground, bands, capacity, relieved, stress, loaded.uncut), share


def _best_share(
    held: HeldSeam, joint: Joint, load: SeamLoad, ties: Sequence[Tie], known: SeamCapacity
) -> float | None:
    """Return with which share of what ties hold the seam holds most; None where none helps."""
    bare = known.factor
    if math.isinf(bare) or known.governing.name.startswith(_NOT_OPENED):
        return None
    tried = {0.0: bare}

    def gains(share: float) -> bool:
        """Try a share; return whether more of it may be better still."""
        best = max(tried.values())
        factor = held.capacity(joint, tied(load, held.seam, ties, share)).factor
        tried[share] = min(factor, 1.0 / share)
        return best < factor < 1.0 / share

    most = _MORE * size_of(load, held.seam.section.area) / sum(tie.holds for tie in ties)
    if bare > 0.0:
        # The seam holds more the more it is pulled together, the ties less: where both meet.
        low, high = 0.0, min(most, 1.0 / bare)
        for _ in range(_HALVINGS):
            share = (low + high) / 2.0
            low, high = (share, high) if gains(share) else (low, share)
    else:
        # Held by its ties alone it is closed within a span of pulls only, not from nothing on.
        for share in (most * _FINER ** np.arange(_STEPS)).tolist():
            gains(share)
        for step in _FINER ** (0.5 ** np.arange(1, _HALVINGS - 2)):
            best = max(tried, key=lambda share: tried[share]) or most
            for share in (best * float(step), min(best / float(step), most)):
                gains(share)
    best = max(tried, key=lambda share: (tried[share], -share))
    return best if best > 0.0 else None


def add_pulls(pulls: dict[str, dict[BraceBolt, float]], ties: Sequence[Tie], share: float) -> None:
    """Note what each bolt takes of pulls, the larger where it does of two seams."""
    for tie in ties:
        known = pulls.setdefault(tie.brace, {})
        for group in tie.bolts:
            for bolt in group:
                known[bolt] = max(known.get(bolt, 0.0), share * tie.holds / len(group))
