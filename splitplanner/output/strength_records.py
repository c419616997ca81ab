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

Record = dict[str, Any]
_DIGITS = 6


def strength_record(strength: StrengthAnswer) -> Record:
    """Return all load cases; stations are offsets along their axes, mm.

    A factor is None where the load has nothing to do with what it is of.
    """
    return {
        "material": strength.material,
        "generic": strength.is_generic,
        "statements": list(strength.statements),
        "loads": [_load(answer) for answer in strength.loads],
    }


def _load(answer: LoadAnswer) -> Record:
    impact = answer.impact
    return {
        "name": answer.loading.name,
        "loading": asdict(answer.loading),
        "impact": None
        if impact is None
        else {
            "mass": _figure(impact.drop.mass),
            "factor": _figure(impact.factor),
            "sag": _figure(impact.sag),
        },
        "largest_stress": _figure(answer.diagrams.largest_stress),
        "uncut": _weakest(answer.uncut),
        "ways": [_way(way) for way in answer.ways],
    }


def _way(way: HeldWay) -> Record:
    return {
        "way": way.way,
        "ratio": _figure(way.ratio),
        "weakest": _weakest(way.weakest),
        "seams": [_seam(seam) for seam in way.seams],
        "pieces": [
            {
                "piece": each.piece,
                "station": _figure(each.station),
                "share": _figure(each.share),
                "angle": _figure(each.angle),
            }
            for each in way.pieces
        ],
        "braces": [_brace(each) for each in way.braces],
    }


def _seam(seam: SeamUnderLoad) -> Record:
    return {
        "seam": seam.seam,
        "station": _figure(seam.station),
        "ratio": _figure(seam.ratio),
        "relieved": _figure(seam.relieved),
        "relieved_most": _figure(seam.relieved_most),
        "stress": _figure(seam.stress),
        "stress_least": None if seam.stress_least is None else _figure(seam.stress_least),
        "weakest": _weakest(seam.weakest),
        "of_the_same_section": None if seam.capacity is None else _figure(seam.capacity.ratio),
    }


def _brace(brace: BraceUnderLoad) -> Record:
    return {
        "brace": brace.brace,
        "station": _figure(brace.station),
        "shares": [_figure(share) for share in brace.shares],
        "stress": _figure(brace.stress),
        "proof": _figure(brace.proof),
        "bolt": _figure(brace.bolt),
        "bolt_holds": _figure(brace.bolt_holds),
        "weakest": _weakest(brace.weakest),
    }


def _weakest(weakest: Weakest) -> Record:
    return {
        "kind": weakest.kind,
        "name": weakest.name,
        "mode": weakest.mode,
        "number": weakest.number,
        "factor": _figure(weakest.factor),
        "station": _figure(weakest.station),
        "note": weakest.note,
    }


def _figure(value: float) -> float | None:
    """Return a number that JSON can hold, rounded as figures are; None for one without end."""
    return None if not math.isfinite(value) else float(f"{value:.{_DIGITS}g}")
