"""Makes one sound surface of one that passes through itself."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Bools, Floats
from splitplanner.errors import SolidError
from splitplanner.progress import Report, silent
from splitplanner.solid.plane import Plane
from splitplanner.solid.solid import Solid
from splitplanner.solid.winding import WrongStretches, winding_numbers, wrong_stretches

_DEEPEST = 24
"""Cuts one after another round the same crossing before it is given up."""
_MOST = 96
"""Bodies looked at before it is given up."""
_BEYOND = 2.0
"""A crossing may reach this many steps of the sampling beyond where it is found."""
_FINE = 96
"""Sample lines each way by which the result is checked."""
_SAMPLED = 0.05
"""Relative error that is allowed to volumes sampled so."""
_PROBES = 160
"""Points at which the result is compared with the surface as it was."""
_WHOLE = 1e-4
"""How near to a whole number a winding number must be to be sharp: not on the surface."""


def uncrossed(solid: Solid, report: Report = silent) -> Solid | None:
    """Return the solid that a self-crossing surface wraps one or more times, or None.

    The surface is cut beside the crossing on all sides, until the two parts of it that cross
    there hang together no more; each body is then sound by itself, and their union is what is
    meant. No cut passes through the crossing, where the kernel's caps would overlap. That ends
    well for a tube that passes through itself; it does not where the crossing runs out in the
    surface, as at a fold, nor where the surface wraps a place backwards.

    Parameters
    ----------
    solid : Solid
        Closed, but wrapping some places twice or more.
    report : Report
        Told about each body.

    Returns
    -------
    Solid or None
        None if it cannot be done safely: the result must be free of crossings, must hold a place
        exactly if the surface wraps it, at all points compared, and must have lost the volume
        that was wrapped more than once, to the accuracy of sampling.
    """
    try:
        bodies = _parted(solid, report)
        if bodies is None:
            return None
        whole = bodies[0].union(*bodies[1:])
    except SolidError:
        return None
    return whole if _is_meant(solid, whole) else None


def _parted(solid: Solid, report: Report) -> list[Solid] | None:
    """Return bodies free of crossings that make up the solid, or None."""
    sound: list[Solid] = []
    waiting = [(body, 0) for body in solid.bodies()]
    for seen in range(_MOST):
        if not waiting:
            return sound
        report(seen / _MOST, "parting crossings")
        body, depth = waiting.pop()
        wrong = wrong_stretches(body.vertices, body.faces)
        if not len(wrong.wraps):
            sound.append(body)
            continue
        plane = _beside(body.bounds, wrong)
        if plane is None or depth == _DEEPEST or (wrong.wraps < 0).any():
            return None
        halves = body.split(plane)
        waiting += [(part, depth + 1) for half in halves if half for part in half.bodies()]
    return None


def _beside(bounds: Floats, wrong: WrongStretches) -> Plane | None:
    """Return a plane that cuts a body with no crossing in it, the most off; None if none does."""
    best: tuple[float, int, float] | None = None
    for axis in range(3):
        step = float(wrong.steps[axis])
        low = wrong.starts[:, axis] - _BEYOND * step
        high = wrong.ends[:, axis] + _BEYOND * step
        order = np.argsort(low, kind="stable")
        # What is free: below the first, above the last, and between one crossing and the next.
        free_from = np.concatenate([[bounds[0, axis]], np.maximum.accumulate(high[order])])
        free_to = np.concatenate([low[order], [bounds[1, axis]]])
        for start, end in zip(free_from, free_to, strict=True):
            outer = start == bounds[0, axis] or end == bounds[1, axis]
            size = float(end - start) / step
            if size > 1.0 and (best is None or size > best[0]):
                inner = end if start == bounds[0, axis] else start
                best = size, axis, float(inner if outer else (start + end) / 2)
    if best is None:
        return None
    normal = np.eye(3)[best[1]]
    return Plane.through(normal * best[2], normal)


def _is_meant(before: Solid, after: Solid) -> bool:
    """Return whether what is held is what was wrapped, by volume and at many points."""
    wrong = wrong_stretches(before.vertices, before.faces, _FINE)
    if len(wrong_stretches(after.vertices, after.faces, _FINE).wraps):
        return False
    doubled = float((wrong.lengths * (wrong.wraps - 1)).sum()) * wrong.cell
    if abs(before.volume - after.volume - doubled) > _SAMPLED * doubled:
        return False
    # Half of the points on all sides, half near the crossings.
    rng = np.random.default_rng(0)
    chosen = rng.integers(len(wrong.starts), size=_PROBES // 2)
    near = (wrong.starts + wrong.ends)[chosen] / 2
    far = rng.uniform(before.bounds[0], before.bounds[1], (_PROBES // 2, 3))
    points = np.concatenate([far, near + rng.normal(0.0, 1.0, near.shape) * wrong.steps])
    wraps = winding_numbers(points, before.vertices, before.faces)
    held = winding_numbers(points, after.vertices, after.faces)
    sharp = _near_whole(wraps) & _near_whole(held)
    return bool(((wraps > 0.5) == (held > 0.5))[sharp].all())


def _near_whole(numbers: Floats) -> Bools:
    result: Bools = np.abs(numbers - np.round(numbers)) < _WHOLE
    return result
