"""What is known of a load case, as curves over its axis and as what seams hold."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.window.chart.load_painting import SeamHold
from splitplanner.window.chart.values import LOAD_CURVES, LoadCurve
from splitplanner.window.quantities import Quantities

if TYPE_CHECKING:
    # It takes long to load, and the window starts without it.
    from splitplanner.loaded import LoadAnswer

_FLAT = 0.01
"""What leaves a plane by less than this share of the most is drawn as if it lay in it."""


def load_curves(answer: LoadAnswer | None) -> tuple[LoadCurve, ...]:
    """Return the curves of a load case, in the order of `LOAD_CURVES`; empty ones if not known.

    Moments, forces and deflections that all lie in one plane have a sign, the largest above 0;
    of others the size is drawn.
    """
    if answer is None:
        return LOAD_CURVES
    found = answer.diagrams
    stress = np.abs(found.normal_stress).max(axis=1) + found.warping_stress
    uncut, planned = answer.uncut_layers, answer.planned.layers
    lines: dict[str, tuple[Floats, Floats]] = {
        "moment": (found.positions, in_plane(found.moment)),
        "shear": (found.positions, in_plane(found.shear)),
        "torque": (found.positions, found.torque),
        "deflection": (found.positions, in_plane(found.deflection)),
        "stress": (found.positions, stress),
        "strength": (uncut.positions, uncut.share),
    }
    curves = []
    for curve in LOAD_CURVES:
        at, numbers = lines[curve.name]
        beside = (planned.positions, planned.share) if curve.name == "strength" else None
        curves.append(replace(curve, at=at, numbers=numbers, beside=beside))
    return tuple(curves)


def in_plane(pairs: Floats) -> Floats:
    """Return vectors (k, 2) as numbers (k,): along their plane if they have one, else their size.

    The plane is that of the first right singular vector.
    """
    if not len(pairs) or not pairs.any():
        return np.zeros(len(pairs))
    ways = np.linalg.svd(pairs, full_matrices=False)[2]
    along, aside = pairs @ ways[0], pairs @ ways[1]
    if np.abs(aside).max() > _FLAT * np.abs(along).max():
        return np.asarray(np.linalg.norm(pairs, axis=1))
    return np.asarray(along * np.sign(along[np.abs(along).argmax()]))


def seam_holds(answer: LoadAnswer | None, quantities: Quantities) -> tuple[SeamHold, ...]:
    """Return what the seams of a plan hold, beside the uncut part; none while not known."""
    if answer is None:
        return ()
    holds = []
    for seam in answer.planned.seams:
        weakest, ratio = seam.weakest, quantities.share(min(seam.ratio, 1.0))
        times = "" if not np.isfinite(weakest.factor) else (
            f" and {quantities.number(weakest.factor, 2)} times the load"
        )  # fmt: skip
        what = f"; first gives way: {weakest.note}" if weakest.note else ""
        meaning = f"Seam {seam.seam} holds {ratio} of what the uncut part holds{times}{what}."
        text = f"{seam.seam} {ratio}"
        holds.append(SeamHold(seam.seam, seam.station, seam.ratio, text, meaning))
    return tuple(holds)
