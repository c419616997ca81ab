"""Whether a register leaves material enough, stands in the part, and can be pushed together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiLineString, MultiPolygon

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity, piece_words
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.register.foot import (
    DEEPER,
    LEAST_LINES,
    finding,
    grown,
    inner_lines,
    less,
    material_of,
)
from splitplanner.joint.register.planning import wall_thickness
from splitplanner.joint.register.solids import chamfer_of, register_bodies
from splitplanner.plan import Register, Seam
from splitplanner.solid import Solid, to_polygons
from splitplanner.workshop import Printer

_NEARLY = 0.01
"""What is less than two lines by no more than this (mm) still is two lines."""
_HEIGHTS = 9
"""At which the pieces are looked at."""
_DUST = 0.01
"""An area (mm²) or a volume (mm³) of no more than this is rounding of outlines."""
_EDGE = 0.006
"""Outlines within this of each other are one, mm."""


@dataclass(frozen=True, eq=False)
class _Made:
    """A register made, and the pieces near their seam with it."""

    register: Register
    line: float
    material: SeamMaterial
    added: Solid
    removed: Solid
    lower: Solid
    upper: Solid

    @property
    def seam(self) -> Seam:
        """The seam on which it stands."""
        return self.material.seam

    def section(self, solid: Solid, height: float) -> MultiPolygon:
        """Return what a solid has at a height over the seam."""
        return solid.section(self.seam.plane.shifted(height)).shape

    def fault(
        self,
        kind: str,
        message: str,
        place: Floats | None,
        measured: float,
        allowed: float,
        unit: str = "mm",
    ) -> Finding:
        """Return a fault at a place (2,) of the plane, or in the middle of the seam."""
        centre = self.seam.plane.to_plane(self.seam.section.centroid[None, :])
        places = centre if place is None else np.reshape(place, (-1, 2))
        return finding(kind, message, self.seam, places, measured, allowed, unit, Severity.FAULT)


def check_register(
    register: Register,
    seam: Seam,
    below: Solid,
    above: Solid,
    printer: Printer,
    hidden: MultiLineString | None = None,
    clear: MultiPolygon | None = None,
    bodies: tuple[Solid, Solid] | None = None,
) -> tuple[Finding, ...]:
    """Check a register on the solids that it makes.

    Parameters
    ----------
    register : Register
    seam : Seam
    below, above : Solid
        The two pieces, before anything is added or removed.
    printer : Printer
        Gives the width of a printed line.
    hidden, clear
        The same as those with which it was planned.
    bodies : two of Solid, optional
        From `register_bodies`, if they are known.

    Returns
    -------
    tuple of Finding
        Faults; empty when the register is sound. ``register.empty`` (nothing of it fits),
        ``register.outside`` (it stands out of the part), ``register.loose`` (a piece falls apart,
        or it does not stand on the seam with its whole foot), ``register.cheek`` (less than two
        printed lines are left beside it), ``register.thin`` (it is thinner than that itself) and
        ``register.undercut`` (the pieces do not go together along the normal).
    """
    material = material_of(seam, below, above, register.height)
    added, removed = bodies or register_bodies(register, seam, below, above, hidden, clear)
    if added.is_empty or removed.is_empty:
        message = "nothing of the register fits; plan it again or leave it out."
        centre = seam.plane.to_plane(seam.section.centroid[None, :])
        return (finding("register.empty", message, seam, centre, severity=Severity.FAULT),)
    made = _Made(
        register,
        printer.line_width,
        material,
        added,
        removed,
        material.below.union(added),
        material.above.difference(removed),
    )
    found = [*_standing(made), *_thin(made), *_cheek(made, hidden), *_pushed(made)]
    return tuple(found)


def _standing(made: _Made) -> list[Finding]:
    """Check that the register lies in the part and is of one body with the piece below."""
    findings = []
    part = made.material
    _, over = made.added.split(made.seam.plane)
    standing = over.volume if over is not None else 0.0
    outside = standing - part.above.intersection(made.added).volume
    if outside > _DUST:
        message = f"{outside:.2f} mm³ of the register stand out of the part; plan it again."
        findings.append(made.fault("register.outside", message, None, outside, _DUST, "mm3"))
    joined = made.lower.volume - part.below.volume
    off = abs(standing - joined) + _off_foot(made)
    if off > 10 * _DUST:
        message = "the register does not stand on the seam with its whole foot; plan it again."
        findings.append(made.fault("register.loose", message, None, off, 10 * _DUST, "mm3"))
    for solid, before, name in (
        (made.lower, part.below, made.seam.below),
        (made.upper, part.above, made.seam.above),
    ):
        # Dust is left out of the piece when it is made.
        bodies = sum(body.volume > _DUST for body in solid.bodies())
        allowed = len(before.bodies())
        if bodies > allowed:
            said = "comes apart at the register; make it narrower or leave it out."
            message = f"{piece_words(name)} {said}"
            findings.append(made.fault("register.loose", message, None, bodies, allowed, "1"))
    return findings


def _off_foot(made: _Made) -> float:
    """Return the area of the register's foot that does not stand on the seam, mm²."""
    foot = made.section(made.added, 1e-3)
    off = less(foot, grown(made.seam.section.shape, _EDGE))
    return float(off.area)


def _thin(made: _Made) -> list[Finding]:
    """Check how thick the register is itself, at its foot and near its tip."""
    register, least = made.register, LEAST_LINES * made.line
    tip = register.height - chamfer_of(register) if register.form != "wedge" else register.height
    findings = []
    for height in (0.05 * register.height, 0.98 * tip):
        width = wall_thickness(made.section(made.added, height), 0.05)
        if width < least - 3 * _NEARLY:
            message = (
                f"the register is {width:.2f} mm thick at a height of {height:.1f} mm, and two "
                f"printed lines are {least:.2f} mm; make it wider or leave it out."
            )
            findings.append(made.fault("register.thin", message, None, width, least))
            break
    return findings


def _cheek(made: _Made, hidden: MultiLineString | None) -> list[Finding]:
    """Check what is left between the groove and the surface of the piece above."""
    register, least = made.register, LEAST_LINES * made.line
    least_found, at, place = np.inf, 0.0, np.zeros(2)
    for height in np.linspace(0.02, register.height + DEEPER - 0.02, _HEIGHTS):
        groove = made.section(made.removed, float(height))
        outline = made.section(made.material.above, float(height)).boundary
        if register.form == "lap":
            lines = inner_lines(made.seam.section.shape) if hidden is None else hidden
            own = shapely.union(lines.buffer(register.width), groove.buffer(_EDGE))
            outline = shapely.difference(outline, own)
        if outline.is_empty or groove.is_empty:
            continue
        line = shapely.shortest_line(groove, outline)
        if line.length < least_found:
            least_found, at = float(line.length), float(height)
            place = shapely.get_coordinates(line)[0]
    if least_found >= least - _NEARLY:
        return []
    message = (
        f"{least_found:.2f} mm are left beside the groove {at:.1f} mm above the seam, and two "
        f"printed lines are {least:.2f} mm; make the register narrower, lower, or leave it out."
    )
    return [made.fault("register.cheek", message, place, least_found, least)]


def _pushed(made: _Made) -> list[Finding]:
    """Check that nothing of the piece above is in the way of the register on its way in.

    On its way along the normal a point of the register passes all heights below its own.
    """
    heights = np.linspace(made.register.height * 0.99, 0.02, _HEIGHTS)
    passing = MultiPolygon()
    worst, place = 0.0, np.zeros(2)
    for height in heights:
        here = made.section(made.added, float(height))
        passing = MultiPolygon(to_polygons(shapely.union(passing, here)))
        rest = made.section(made.upper, float(height))
        met = MultiPolygon(to_polygons(shapely.intersection(passing, rest)))
        if met.area > worst:
            worst = float(met.area)
            place = shapely.get_coordinates(met.representative_point())[0]
    if worst <= _DUST:
        return []
    message = (
        f"{worst:.2f} mm² of the piece above are in the way when the pieces are pushed together; "
        "plan the register again or leave it out."
    )
    return [made.fault("register.undercut", message, place, worst, _DUST, "mm2")]
