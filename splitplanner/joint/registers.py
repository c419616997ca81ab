"""Registers: choosing a lap, tongue, wedge or studs for a seam by the thickness of its wall."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import MultiLineString, MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity
from splitplanner.joint.keying import VISIBLE_STEP, SeamOutline
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.register_solids import (
    CHEEK,
    TAPER,
    foot_of,
    grown,
    ground_of,
    inner_lines,
    less,
    material_of,
    opened,
    side_of,
)
from splitplanner.plan import Form, Line, Register, Seam
from splitplanner.score import shrunk, widest_place
from splitplanner.solid import Solid, to_polygons
from splitplanner.workshop import Printer

LEAST_LINES = 2.0
"""Printed lines that a register and what is left beside it have at least. Common practice, no
source."""
_SPARE = 1.025
"""Sizes are chosen so much larger, since a band may be 0.98 of its width."""
_SLIDE = 0.1
"""Clearance of a side for a fit that slides by hand, mm. Common practice, no source."""
_WIDEST = {"lap": 5.0, "tongue": 5.0, "wedge": 6.0}
"""Width of a register in a thick wall, mm. Common practice, no source."""
_LEAST_HEIGHT = {"lap": 2.0, "tongue": 1.5, "wedge": 1.0}
"""Lower than this (mm) it is not felt when the pieces are put together."""
_LAP_HEIGHT, _HIGHEST_LAP = 1.25, 6.0
"""By the thickness of the wall, 1 to 1.5 is usual, and at most, mm. Common practice, no source."""
_DEEPEST = 6.0
"""Greatest height of a register, mm."""
STUDS = (8.0, 6.0, 5.0, 4.0)
"""Diameters of studs, mm; a thinner printed pin snaps off. Common practice, no source."""
_NEARLY_AS_FAR = 0.75
"""Thicker studs are taken when they stand this share of the widest distance apart."""
_ALIKE = 0.9
"""Share of a wall that is at least as thick as its thickness."""
_COVERED = 0.5
"""A register along less of the seam than this is worth a warning. Common practice, no source."""
_ONE_FOR_EACH, _MOST_STUDS, _ADDED_APART = 120.0, 6, 40.0
"""As for dowel pins: one for so much of the seam's length, at most, and their distance, mm."""
_CANDIDATES, _MOST_KEYINGS, _GIVE_UP = 120, 300, 0.7
_ACROSS = math.cos(math.radians(45.0))
_TOLERANCE = 5e-4
_NAMES = {"lap": "a lap", "tongue": "a tongue and groove", "wedge": "a wedge key"}


@dataclass(frozen=True)
class _Sizes:
    """What a form of register needs of a wall, and how large it is in one."""

    needed: float
    width: float
    height: float


def register_gap(printer: Printer) -> float:
    """Return the gap of a side between printed pieces that slide into each other, as drawn, mm.

    Half the printer's hole allowance, by which a groove comes out narrower, and 0.1 mm for a
    fit that slides by hand: 0.2 mm with the defaults. Common practice, no source.
    """
    return _SLIDE + max(printer.hole_allowance, 0.0) / 2


def wall_thickness(shape: MultiPolygon, least: float) -> float:
    """Return how thick a wall is, mm, where it is thick enough to matter.

    Parameters
    ----------
    shape : MultiPolygon
        Its section, plane coordinates, mm.
    least : float
        Thinner parts are left out, mm.

    Returns
    -------
    float
        The largest diameter of discs inside the wall that between them cover 0.9 of it (the
        granulometry of mathematical morphology, Matheron 1975); the diameter of the widest place
        where that is less than `least`, and 0 of nothing. To 0.0005 mm.
    """
    lean = MultiPolygon(to_polygons(shape.simplify(_TOLERANCE)))
    thick = opened(lean, least / 2)
    widest, _ = widest_place(lean)
    if thick.is_empty or widest <= least:
        return widest
    low, high = least, widest
    while high - low > _TOLERANCE:
        middle = (low + high) / 2
        covered = opened(thick, middle / 2).area >= _ALIKE * thick.area
        low, high = (middle, high) if covered else (low, middle)
    return low


def _sizes(form: str, thickness: float, gap: float, line: float) -> _Sizes:
    """Return the sizes of a lap, tongue or wedge in a wall of `thickness`, mm."""
    least = LEAST_LINES * line * _SPARE
    if form == "lap":
        width = min((thickness - gap) / 2, _WIDEST[form])
        high = min(max(_LAP_HEIGHT * thickness, _LEAST_HEIGHT[form]), _HIGHEST_LAP)
        return _Sizes(2 * least + gap, width, high)
    leaves = 1 + 2 * CHEEK[form]
    width = min((thickness - 2 * gap) / leaves, _WIDEST[form])
    if form == "tongue":
        return _Sizes(leaves * least + 2 * gap, width, max(width, _LEAST_HEIGHT[form]))
    both = 2 * math.tan(math.radians(TAPER))
    foot = max(least / CHEEK[form], least + both * _LEAST_HEIGHT[form])
    high = min((width - least) / both, width, _DEEPEST)
    return _Sizes(leaves * foot + 2 * gap, width, high)


def plan_register(
    form: Form,
    seam: Seam,
    below: Solid,
    above: Solid,
    printer: Printer,
    *,
    gap: float | None = None,
    hidden: MultiLineString | None = None,
    clear: MultiPolygon | None = None,
    up: ArrayLike | None = None,
) -> tuple[Register | None, tuple[Finding, ...]]:
    """Choose the sizes of a register by the thickness of the wall at its seam.

    Parameters
    ----------
    form : "lap", "tongue", "studs" or "wedge"
    seam : Seam
    below, above : Solid
        The two pieces, before anything is added or removed.
    printer : Printer
        Gives the width of a printed line: what stands and what is left have two of them at least.
    gap : float, optional
        Of each side, mm; `register_gap` where not given.
    hidden : MultiLineString, optional
        The stretches of the seam's outlines along which a lap may show, plane coordinates, mm; a
        lap keeps away from all others, and the other forms from all outlines.
        `register_solids.inner_lines` where not given.
    clear : MultiPolygon, optional
        Kept free, plane coordinates, mm, for the holes of pins with the material round them.
    up : (3,) array, optional
        Print direction of the piece below.

    Returns
    -------
    register : Register or None
        None where the wall is too thin. Widths are halves and thirds of the wall less its gaps; a
        lap is 1.25 walls high, a tongue as high as wide, studs as high as thick.
    findings : tuple of Finding
        Warnings ``register.no_room``, ``register.short`` (along less than half of the seam),
        ``register.not_keyed``, ``register.layers`` (studs that snap between layers) and
        ``register.bed`` (the piece below would be printed standing on its register).
    """
    room = register_gap(printer) if gap is None else gap
    material = material_of(seam, below, above, _DEEPEST + _SLIDE + max(STUDS))
    if form == "studs":
        register, findings = _plan_studs(seam, material, printer, room, clear)
    else:
        register, findings = _plan_band(form, seam, material, printer, room, hidden, clear)
    if register is None or up is None:
        return register, findings
    return register, (*findings, *_printing(register, seam, np.asarray(up, float)))


def _plan_band(
    form: Form,
    seam: Seam,
    material: SeamMaterial,
    printer: Printer,
    gap: float,
    hidden: MultiLineString | None,
    clear: MultiPolygon | None,
) -> tuple[Register | None, tuple[Finding, ...]]:
    """Plan a lap, tongue or wedge."""
    height, thickness = _LEAST_HEIGHT[form], math.inf
    # The wall is measured as deep as the register goes, which is known once it was measured.
    for _ in range(3):
        ground = ground_of(material, height)
        needed = _sizes(form, 0.0, gap, printer.line_width).needed
        thickness = min(wall_thickness(ground, needed), thickness)
        if thickness < needed:
            return None, (_no_room(form, seam, ground, thickness, needed),)
        sizes = _sizes(form, thickness, gap, printer.line_width)
        if sizes.height <= height:
            break
        height = sizes.height
    sizes = _sizes(form, thickness, gap, printer.line_width)
    # Rounded inwards to what a plan keeps, so that the file gives the same register.
    width = math.floor(sizes.width * 1e3) / 1e3
    register = Register(form, round(sizes.height, 3), width, round(gap, 4))
    foot = foot_of(register, material, hidden, clear)
    if foot.is_empty:
        return None, (_no_room(form, seam, ground, thickness, needed, is_taken=True),)
    return register, _coverage(register, seam, foot, hidden)


def _coverage(
    register: Register, seam: Seam, foot: MultiPolygon, hidden: MultiLineString | None
) -> tuple[Finding, ...]:
    """Warn where a register runs along less than half of the seam."""
    shape = seam.section.shape
    if register.form == "lap":
        outline = inner_lines(shape) if hidden is None else hidden
        reach = 0.05
    else:
        outline, reach = shape.boundary, 1.2 * side_of(register) + 0.05
    left = shapely.difference(outline, foot.buffer(reach))
    share = 1 - float(left.length / outline.length)
    if share >= _COVERED:
        return ()
    places = shapely.get_coordinates(left.representative_point())
    message = (
        f"{_NAMES[register.form]} has room along {100 * share:.0f} % of the seam only; add pins "
        "or a flange, or cut where the wall is thicker and upright."
    )
    return (
        _finding("register.short", Severity.WARNING, message, seam, places, share, _COVERED, "1"),
    )


def _no_room(
    form: Form,
    seam: Seam,
    ground: MultiPolygon,
    thickness: float,
    needed: float,
    is_taken: bool = False,
) -> Finding:
    _, place = widest_place(seam.section.shape)
    if is_taken:
        message = (
            f"{_NAMES[form]} has no room beside the holes and the seen outlines; leave it out or "
            "use fewer pins."
        )
    else:
        found = "no material" if ground.is_empty else f"a wall {thickness:.2f} mm thick"
        message = (
            f"{_NAMES[form]} needs a wall {needed:.2f} mm thick, and deep enough on both sides "
            f"there is {found}; use a flange with pins, or glue and tape."
        )
    return _finding(
        "register.no_room", Severity.WARNING, message, seam, place[None, :], thickness, needed
    )


def _plan_studs(
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
    good = [one for one, span in zip(found, spans, strict=True) if span >= _NEARLY_AS_FAR * spans[0]]
    width, places, step = good[-1]
    register = Register("studs", width, width, round(gap, 4), places)
    if step >= VISIBLE_STEP:
        return register, ()
    message = (
        f"the studs go into their holes the wrong way round too, and the pieces then stand off by "
        f"{step:.1f} mm only; mark both pieces."
    )
    where = np.array(places)
    return register, (
        _finding("register.not_keyed", Severity.WARNING, message, seam, where, step, VISIBLE_STEP),
    )


def _no_studs(seam: Seam, widest: float, needed: float) -> Finding:
    message = (
        f"two studs need places {needed:.1f} mm wide and far apart, and the widest with material "
        f"enough on both sides is {widest:.1f} mm; use a flange with pins, or a lap."
    )
    _, place = widest_place(seam.section.shape)
    return _finding(
        "register.no_room", Severity.WARNING, message, seam, place[None, :], widest, needed
    )


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


def _printing(register: Register, seam: Seam, up: Floats) -> tuple[Finding, ...]:
    """Warn of registers that print badly with the piece below the way up it is."""
    along = float(up @ np.array(seam.plane.normal) / np.linalg.norm(up))
    where = seam.section.centroid[None, :]
    findings = []
    if register.form == "studs" and abs(along) > _ACROSS:
        message = (
            "the layers of the piece below run across its studs, which snap between two layers; "
            "lay the piece on its side, or take dowel pins."
        )
        findings.append(
            _finding("register.layers", Severity.WARNING, message, seam, seam.plane.to_plane(where))
        )
    if along < -_ACROSS:
        message = (
            f"the piece below, “{seam.below}”, would be printed standing on its register; turn it, "
            "or flip the cut so that the other piece carries it."
        )
        findings.append(
            _finding("register.bed", Severity.WARNING, message, seam, seam.plane.to_plane(where))
        )
    return tuple(findings)


def _finding(
    kind: str,
    severity: Severity,
    message: str,
    seam: Seam,
    places: Floats,
    measured: float | None = None,
    allowed: float | None = None,
    unit: str = "mm",
) -> Finding:
    where = seam.plane.to_space(places)
    text = f"Seam {seam.name}: {message}"
    return Finding(kind, severity, text, seam.name, where, measured, allowed, unit)
