"""What a part stands of its load cases, as plain values."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

from splitplanner.loaded import (
    BraceUnderLoad,
    HeldWay,
    LoadAnswer,
    SeamUnderLoad,
    StrengthAnswer,
    Weakest,
)
from splitplanner.strength import CAUTIONS

Record = dict[str, Any]
_DIGITS = 6


def strength_record(strength: StrengthAnswer) -> Record:
    """Return all load cases; stations are offsets along their axes, mm.

    Less ``low_end`` they count from the low end of the part, as in papers. A factor is None where
    the load has nothing to do with what it is of.
    """
    return {
        "material": strength.material,
        "generic": strength.is_generic,
        "statements": list(strength.statements),
        "loads": [_load(answer) for answer in strength.loads],
        "cautions": list(CAUTIONS),
    }


def _load(answer: LoadAnswer) -> Record:
    impact = answer.impact
    return {
        "name": answer.loading.name,
        "loading": asdict(answer.loading),
        "low_end": figure(answer.diagrams.chain.ends[0]),
        "impact": None
        if impact is None
        else {
            "mass": figure(impact.drop.mass),
            "factor": figure(impact.factor),
            "sag": figure(impact.sag),
        },
        "largest_stress": figure(answer.diagrams.largest_stress),
        "uncut": _weakest(answer.uncut),
        "ways": [_way(way) for way in answer.ways],
    }


def _way(way: HeldWay) -> Record:
    return {
        "way": way.way,
        "ratio": figure(way.ratio),
        "weakest": _weakest(way.weakest),
        "seams": [_seam(seam) for seam in way.seams],
        "pieces": [
            {
                "piece": each.piece,
                "station": figure(each.station),
                "share": figure(each.share),
                "angle": figure(each.angle),
            }
            for each in way.pieces
        ],
        "braces": [_brace(each) for each in way.braces],
    }


def _seam(seam: SeamUnderLoad) -> Record:
    return {
        "seam": seam.seam,
        "station": figure(seam.station),
        "ratio": figure(seam.ratio),
        "relieved": figure(seam.relieved),
        "relieved_most": figure(seam.relieved_most),
        "stress": figure(seam.stress),
        "stress_least": None if seam.stress_least is None else figure(seam.stress_least),
        "weakest": _weakest(seam.weakest),
        "of_the_same_section": None if seam.capacity is None else figure(seam.capacity.ratio),
    }


def _brace(brace: BraceUnderLoad) -> Record:
    return {
        "brace": brace.brace,
        "station": figure(brace.station),
        "shares": [figure(share) for share in brace.shares],
        "stress": figure(brace.stress),
        "proof": figure(brace.proof),
        "bolt": figure(brace.bolt),
        "bolt_holds": figure(brace.bolt_holds),
        "weakest": _weakest(brace.weakest),
    }


def _weakest(weakest: Weakest) -> Record:
    return {
        "kind": weakest.kind,
        "name": weakest.name,
        "mode": weakest.mode,
        "number": weakest.number,
        "factor": figure(weakest.factor),
        "station": figure(weakest.station),
        "note": weakest.note,
    }


def figure(value: float) -> float | None:
    """Return a number that JSON can hold, rounded as figures are; None for one without end."""
    return None if not math.isfinite(value) else float(f"{value:.{_DIGITS}g}")
