"""Registers: choosing a lap, tongue, wedge or studs for a seam by the thickness of its wall."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import MultiLineString, MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, piece_words
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.register.foot import (
    CHEEK,
    LEAST_LINES,
    finding,
    foot_of,
    ground_of,
    inner_lines,
    material_of,
    opened,
    side_of,
)
from splitplanner.joint.register.solids import TAPER
from splitplanner.joint.register.studs import STUDS, plan_studs
from splitplanner.plan import Form, Register, Seam
from splitplanner.score import widest_place
from splitplanner.solid import Solid, to_polygons
from splitplanner.workshop import Printer

_SPARE = 1.025
"""Sizes are chosen so much larger, since a band may be 0.98 of its width."""
_SLIDE = 0.1
"""Clearance of a side for a fit that slides by hand, mm. Common practice, no source."""
_WIDEST = {"lap": 5.0, "tongue": 5.0, "wedge": 5.0}
"""Width of a register in a thick wall, mm. Common practice, no source."""
_LEAST_HEIGHT = {"lap": 2.0, "tongue": 1.5, "wedge": 1.0}
"""Lower than this (mm) it is not felt when the pieces are put together."""
_LAP_HEIGHT, _HIGHEST_LAP = 1.25, 6.0
"""By the thickness of the wall, 1 to 1.5 is usual, and at most, mm. Common practice, no source."""
_HIGHEST_WEDGE = 4.0
"""mm; a higher one centres no better."""
_ALIKE = 0.9
"""Share of a wall that is at least as thick as its thickness."""
_COVERED, _HARDLY = 0.5, 0.2
"""A register along less of the seam than this is worth a warning, and is none along less than
that. Common practice, no source."""
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
        where that is less than `least`, and 0 of nothing. To 0.002 mm.
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
    high = min((width - least) / both, width, _HIGHEST_WEDGE)
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
    material = material_of(seam, below, above, max(_HIGHEST_LAP, *STUDS))
    if form == "studs":
        register, findings = plan_studs(seam, material, printer, room, clear)
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
    findings, share = _coverage(register, seam, foot, hidden)
    return (register if share >= _HARDLY else None), findings


def _coverage(
    register: Register, seam: Seam, foot: MultiPolygon, hidden: MultiLineString | None
) -> tuple[tuple[Finding, ...], float]:
    """Warn where a register runs along less than half of the seam; return the share as well."""
    shape = seam.section.shape
    if register.form == "lap":
        outline = inner_lines(shape) if hidden is None else hidden
        reach = 0.05
    else:
        # The material goes less far than the outline where the wall leans.
        outline, reach = shape.boundary, 1.2 * side_of(register) + register.height / 2
    left = shapely.difference(outline, foot.buffer(reach))
    share = 1 - float(left.length / outline.length)
    if share >= _COVERED:
        return (), share
    places = shapely.get_coordinates(left.representative_point())
    message = (
        f"{_NAMES[register.form]} has room along {100 * share:.0f} % of the seam only; add pins "
        "or a flange, or cut where the wall is thicker and upright."
    )
    short = finding("register.short", message, seam, places, share, _COVERED, "1")
    return (short,), share


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
    return finding("register.no_room", message, seam, place[None, :], thickness, needed)


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
        findings.append(finding("register.layers", message, seam, seam.plane.to_plane(where)))
    if along < -_ACROSS:
        message = (
            f"{piece_words(seam.below)}, which is below, would be printed standing on its "
            "register; turn it, or flip the cut so that the other piece carries it."
        )
        findings.append(finding("register.bed", message, seam, seam.plane.to_plane(where)))
    return tuple(findings)
