"""Printed pins as a register: how thick, and where they stand."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.findings import Finding
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.pins.keying import VISIBLE_STEP, SeamOutline
from splitplanner.joint.register.foot import LEAST_LINES, finding, ground_of, less
from splitplanner.plan import Line, Register, Seam
from splitplanner.score import shrunk, widest_place
from splitplanner.workshop import Printer

STUDS = (8.0, 6.0, 5.0, 4.0)
"""Diameters of studs, mm; a thinner printed pin snaps off. Common practice, no source."""
_NEARLY_AS_FAR = 0.75
"""Thicker studs are taken when they stand this share of the widest distance apart."""
_ONE_FOR_EACH, _MOST_STUDS, _ADDED_APART = 120.0, 6, 40.0
"""As for dowel pins: one for so much of the seam's length, at most, and their distance, mm."""
_CANDIDATES, _MOST_KEYINGS, _GIVE_UP = 120, 300, 0.7
_TOLERANCE = 5e-4


def plan_studs(
    seam: Seam,
    material: SeamMaterial,
    printer: Printer,
    gap: float,
    clear: MultiPolygon | None,
) -> tuple[Register | None, tuple[Finding, ...]]:
    """Plan printed pins, as thick as leaves them far apart."""
    around = gap + LEAST_LINES * printer.line_width + _TOLERANCE
    found: list[tuple[float, Line, float]] = []
    outline = SeamOutline(seam.section.shape)
    widest = 0.0
    for width in reversed(STUDS):
        ground = ground_of(material, width)
        if clear is not None:
            ground = less(ground, clear)
        room = shrunk(ground, width / 2 + around)
        widest = max(widest, widest_place(ground)[0])
        if room.is_empty:
            break
        places, step = _stud_places(room, outline, width, gap, seam.section.length)
        if len(places) > 1:
            found.append((width, places, step))
    if not found:
        return None, (_no_studs(seam, widest, STUDS[-1] + 2 * around),)
    spans = [_span(places) for _, places, _ in found]
    good = [
        one for one, span in zip(found, spans, strict=True) if span >= _NEARLY_AS_FAR * spans[0]
    ]
    width, places, step = good[-1]
    register = Register("studs", width, width, round(gap, 4), places)
    if step >= VISIBLE_STEP:
        return register, ()
    message = (
        f"the studs go into their holes the wrong way round too, and the pieces then stand off by "
        f"{step:.1f} mm only; mark both pieces."
    )
    where = np.array(places)
    return register, (finding("register.not_keyed", message, seam, where, step, VISIBLE_STEP),)


def _no_studs(seam: Seam, widest: float, needed: float) -> Finding:
    message = (
        f"two studs need places {needed:.1f} mm wide and far apart, and the widest with material "
        f"enough on both sides is {widest:.1f} mm; use a flange with pins, or a lap."
    )
    _, place = widest_place(seam.section.shape)
    return finding("register.no_room", message, seam, place[None, :], widest, needed)


def _span(places: Line) -> float:
    flat = np.array(places)
    return float(np.linalg.norm(flat[:, None] - flat[None], axis=2).max())


def _stud_places(
    room: MultiPolygon, outline: SeamOutline, width: float, gap: float, length: float
) -> tuple[Line, float]:
    """Return places for studs, the first two as far apart as keys the seam, and the keying's step.

    At most one place where there is no room for two at three diameters.
    """
    rim = room.boundary.simplify(0.02)
    dense = shapely.segmentize(rim, max(rim.length / _CANDIDATES, 0.5))
    places = np.unique(np.round(shapely.get_coordinates(dense), 2), axis=0)
    first, second = np.triu_indices(len(places), 1)
    apart = np.linalg.norm(places[first] - places[second], axis=1)
    order = np.argsort(-np.round(apart, 6), kind="stable")
    order = order[apart[order] >= 3 * width]
    if not len(order):
        return (), 0.0

    def step_of(chosen: list[int]) -> float:
        many = len(chosen)
        keying = outline.keying(places[chosen], np.full(many, width), np.full(many, 2 * gap))
        return keying.step

    best = [int(first[order[0]]), int(second[order[0]])]
    step = step_of(best)
    for index in _tries(order, apart):
        if step >= VISIBLE_STEP:
            break
        pair = [int(first[index]), int(second[index])]
        other = step_of(pair)
        if other > step + 1e-6:
            best, step = pair, other
    best = _with_more(best, places, width, length, step_of)
    chosen = tuple((float(u), float(v)) for u, v in places[best])
    return chosen, step_of(best)


def _tries(order: Floats, apart: Floats) -> list[int]:
    """Return pairs nearly as far apart as the farthest, spread over all of these."""
    near = order[apart[order] >= _GIVE_UP * apart[order[0]]]
    stride = max(len(near) // _MOST_KEYINGS, 1)
    return [int(index) for index in near[::stride][:_MOST_KEYINGS]]


def _with_more(
    best: list[int],
    places: Floats,
    width: float,
    length: float,
    step_of: Callable[[list[int]], float],
) -> list[int]:
    """Return the chosen places with more on a long seam, as long as they key it no worse."""
    wanted = min(_MOST_STUDS, round(length / 2 / _ONE_FOR_EACH))
    while len(best) < wanted:
        apart = np.linalg.norm(places[:, None] - places[best][None], axis=2).min(axis=1)
        added = int(np.argmax(np.round(apart, 6)))
        if apart[added] < max(3 * width, _ADDED_APART):
            break
        if step_of([*best, added]) < min(step_of(best), VISIBLE_STEP):
            break
        best = [*best, added]
    return best
