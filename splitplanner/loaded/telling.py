"""What is said of a plan under its load cases: what does not hold, and what goes with figures."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.errors import SplitPlannerError
from splitplanner.findings import Finding, Severity
from splitplanner.loaded.answers import (
    BraceUnderLoad,
    LoadAnswer,
    PieceUnderLoad,
    SeamUnderLoad,
)
from splitplanner.loaded.holding import SIDEWAYS
from splitplanner.loaded.ties import TIE
from splitplanner.loaded.wording import named, unloaded_words
from splitplanner.plan import PEEL_SHARE, Division, Joint, Loading, Plan
from splitplanner.strength import GLUE, LEFT_OUT, LOWER_BOUND, TAPE_STAYS, Diagrams
from splitplanner.strength.seam_capacity import NOT_HELD, NOT_KEPT
from splitplanner.strength.seam_modes import ADHESIVE

_LESS = 0.9
"""Where a seam is sent it is to hold the load with this to spare (the program's own choice)."""

_NOTHING = 0.01
"""A smaller share of a seam's load that braces take is none."""

GLOBAL = (
    "Bending of the part as a whole is all that is looked at here. A blow or a support on a flat "
    "panel presses the wall in, often far worse: the check by finite cells shows that."
)
ACCURACY = (
    "To be expected where the part bends as a beam: stiffness within 5 %, stress within 10 %, "
    "forces in screws within 25 % where their flange hardly bends."
)
TWIST = (
    "Loads for which no point is given act through the middle of the sections and are taken not to "
    "twist the part; an open one, such as a channel, twists under them all the same."
)
GENERIC = (
    "The strength of the material is not known: these are figures of {name}. What ways to split "
    "and join hold beside each other says something; forces and stresses do not."
)
BRACED = (
    "Braces relieve the part of what they take if they slide freely on it, or tie a seam together "
    "by their pull, whichever lets it hold more; their own stress and bolts are those of what they "
    "take if nothing slides, or of the pull. A brace is taken to bend and pull with the part as a "
    "whole: the nearer it is to the middle of a deep part, the less it takes."
)
PINS_ALONE = (
    "Pins keep pieces in line and take what slides them on each other; a load that opens a seam "
    "pulls them out. Seams with pins alone hold no bending."
)
LENGTHWAYS = (
    "Seams along a load case's axis carry what slides the two sides on each other by V Q / (I b), "
    "as if all of it went one way."
)


def statements_of(
    plan: Plan, answers: tuple[LoadAnswer, ...], name: str, is_generic: bool, lengthwise: bool
) -> tuple[str, ...]:
    """Return what goes with the figures of a plan.

    Parameters
    ----------
    plan : Plan
    answers : tuple of LoadAnswer
    name : str
        Of the material.
    is_generic : bool
    lengthwise : bool
        Whether some seam lies along an axis.
    """
    if not answers:
        return ()
    joints = [plan.joint(seam.seam) for seam in answers[0].planned.seams]
    said = [GENERIC.format(name=name)] if is_generic else []
    said += [GLOBAL, ACCURACY]
    if not all(answer.diagrams.twists for answer in answers):
        said.append(TWIST)
    if any(joint.screws for joint in joints):
        said.append(LOWER_BOUND)
    said.append(LEFT_OUT)
    held = [plan.fastening_of(joint.seam) for joint in joints]
    pairs = list(zip(joints, held, strict=True))
    if any(_is_pinned_alone(joint) and not each.glue_shear for joint, each in pairs):
        said.append(PINS_ALONE)
    if any(joint.tape is not None and not each.resin_shear for joint, each in pairs):
        said.append(TAPE_STAYS)
    if any(each.glue_shear for each in held):
        said.append(GLUE.format(share=PEEL_SHARE))
    if any(answer.planned.braces for answer in answers):
        said.append(BRACED)
    if lengthwise:
        said.append(LENGTHWAYS)
    return tuple(said)


def _is_pinned_alone(joint: Joint) -> bool:
    return bool(joint.pins) and not joint.screws and joint.tape is None


def could_not(loading: Loading, fault: SplitPlannerError) -> Finding:
    """Return that a load case could not be worked out."""
    return Finding("strength.load", Severity.NOTE, str(fault), subject=loading.name)


def load_findings(division: Division, plan: Plan, answer: LoadAnswer) -> Iterator[Finding]:
    """Yield what of the plan as it is does not hold a load case: seams, pieces, braces.

    Parameters
    ----------
    division : Division
    plan : Plan
    answer : LoadAnswer
    """
    planned = answer.planned
    if math.isinf(answer.uncut.factor):
        said, name = unloaded_words(answer.loading), answer.loading.name
        yield Finding("strength.unloaded", Severity.WARNING, said, subject=name)
        return
    centres = {seam.name: seam.section.centroid for seam in division.seams}
    for seam in planned.seams:
        if seam.weakest.factor < 1.0:
            yield _seam_finding(answer, seam, plan.joint(seam.seam), centres[seam.seam])
    for piece in planned.pieces:
        if piece.share > 1.0:
            yield _piece_finding(division, answer, piece)
    for brace in planned.braces:
        if brace.weakest.factor < 1.0:
            yield _brace_finding(answer, brace)
    weakest = planned.weakest_seam
    if planned.braces and weakest is not None and weakest.relieved_most < _NOTHING:
        yield _unbraced_finding(answer, weakest, centres[weakest.seam])


def _seam_finding(answer: LoadAnswer, seam: SeamUnderLoad, joint: Joint, centre: Floats) -> Finding:
    factor = seam.weakest.factor
    low = answer.diagrams.chain.ends[0]
    held = f"holds {_times(factor)} the load ({seam.weakest.note})" if factor > 0.0 else (
        f"holds nothing of the load ({seam.weakest.note})"
    )  # fmt: skip
    return Finding(
        "strength.seam",
        Severity.WARNING,
        f"Load case “{answer.loading.name}”: seam {seam.seam} at {seam.station - low:.0f} mm "
        f"{held}; {_seam_way_out(answer, seam, joint)}.",
        subject=seam.seam,
        where=centre,
        measured=factor,
        allowed=1.0,
        unit="1",
    )


def _seam_way_out(answer: LoadAnswer, seam: SeamUnderLoad, joint: Joint) -> str:
    """Return what can be done for a seam."""
    mode, ways = seam.weakest.mode, []
    slides = mode.startswith(SIDEWAYS)
    place = easier_station(answer.diagrams, seam.station, seam.weakest.factor, slides=slides)
    if mode == NOT_KEPT:
        return "give it pins or screws that keep the pieces from sliding"
    if mode == NOT_HELD:
        pins = "pins alone hold no seam closed that bending opens; " if joint.pins else ""
        brace = "" if answer.planned.braces else ", or put a brace over it"
        return f"{pins}give it screws on the side that opens, or tape{brace}"
    if place is not None:
        low = answer.diagrams.chain.ends[0]
        less = "less slides it" if slides else "the part is bent less"
        ways.append(f"move it to where {less}, as at {place - low:.0f} mm")
    if mode.startswith(("piece.", "flange.")):
        what = "wall" if mode.startswith("piece.") else "flange"
        ways.append(f"make the {what} thicker or print the piece with its layers along the axis")
    elif mode == TIE:
        ways.append("take more or thicker bolts in its brace")
    elif mode.startswith("pin."):
        ways.append("take more or thicker pins")
    elif mode == ADHESIVE and not joint.screws:
        ways.append("give it screws beside its glue")
    else:
        ways.append("take more or thicker screws")
    if joint.tape is None:
        ways.append("tape it")
    if not answer.planned.braces:
        ways.append("put a brace over it")
    return f"{', '.join(ways[:-1])} or {ways[-1]}" if len(ways) > 1 else ways[0]


def easier_station(found: Diagrams, station: float, factor: float, *, slides: bool) -> float | None:
    """Return the nearest station where a seam like one at `station` would hold the load, mm.

    By the stress of the uncut part, which a seam's load goes with: the largest along the axis, or
    where the seam is slid the mean shear stress and the torque on a lever of the section's radius
    of gyration. None where there is none, but for the last tenth of the part at both ends.
    """
    stress = _sliding(found) if slides else np.abs(found.normal_stress).max(axis=1)
    here = float(np.interp(station, found.positions, stress))
    low, high = found.chain.ends
    margin = 0.1 * (high - low)
    fit = (stress <= _LESS * factor * here) & (found.positions >= low + margin)
    rows = np.flatnonzero(fit & (found.positions <= high - margin))
    if not len(rows):
        return None
    nearest = rows[np.abs(found.positions[rows] - station).argmin()]
    return float(found.positions[nearest])


def _sliding(found: Diagrams) -> Floats:
    """Return what slides a seam square to the axis, for each area of it, (k,) MPa."""
    area = found.chain.area
    polar = np.trace(found.chain.tensors, axis1=1, axis2=2)
    lever = np.sqrt(polar / area)
    twisting: Floats = np.abs(found.torque) / (lever * area)[found.stations]
    return twisting + found.mean_shear


def _piece_finding(division: Division, answer: LoadAnswer, piece: PieceUnderLoad) -> Finding:
    number = division.piece(piece.piece).number
    chain = answer.diagrams.chain
    turned = "" if piece.angle < 1.0 else "print it with its layers along the axis, "
    return Finding(
        "strength.layers",
        Severity.WARNING,
        f"Load case “{answer.loading.name}”: piece {number} holds {_times(1.0 / piece.share)} the "
        f"load at {piece.station - chain.ends[0]:.0f} mm, its layers at {piece.angle:.0f}° to the "
        f"axis; {turned}make it thicker there or brace it.",
        subject=piece.piece,
        where=_on_axis(answer.diagrams, piece.station),
        measured=1.0 / piece.share,
        allowed=1.0,
        unit="1",
    )


def _brace_finding(answer: LoadAnswer, brace: BraceUnderLoad) -> Finding:
    weakest = brace.weakest
    ways = "take a thicker sheet or make it deeper"
    if weakest.mode.startswith("bolt."):
        ways = "take more or thicker bolts, further apart on each piece"
    station = weakest.station - answer.diagrams.chain.ends[0]
    return Finding(
        "strength.brace",
        Severity.WARNING,
        f"Load case “{answer.loading.name}”: {named('brace', brace.brace)} holds "
        f"{_times(weakest.factor)} the load at {station:.0f} mm ({weakest.note}); {ways}.",
        subject=brace.brace,
        where=_on_axis(answer.diagrams, weakest.station),
        measured=weakest.factor,
        allowed=1.0,
        unit="1",
    )


def _unbraced_finding(answer: LoadAnswer, seam: SeamUnderLoad, centre: Floats) -> Finding:
    return Finding(
        "strength.unbraced",
        Severity.NOTE,
        f"Load case “{answer.loading.name}”: the braces take nothing off seam {seam.seam}, the "
        "weakest, so the plan holds no more with them; put one over it, further from the middle of "
        "the part, or hold it by more or thicker pins and screws.",
        subject=seam.seam,
        where=centre,
    )


def _on_axis(found: Diagrams, station: float) -> Floats:
    """Return the centroid of the section at a station, (3,) mm."""
    middle = found.chain.between(found.chain.centroids, [station])[0]
    result: Floats = np.array([*middle, station]) @ found.chain.frame
    return result


def _times(factor: float) -> str:
    return f"{factor:.2g} times" if math.isfinite(factor) else "many times"
