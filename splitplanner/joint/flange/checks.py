"""Whether a flange is sound: one with its piece, as wide as it should be, out of sight."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.findings import Finding, Severity, counted
from splitplanner.joint.flange.building import flange_foot
from splitplanner.joint.flange.outlines import sides_of
from splitplanner.plan import Flange, Seam
from splitplanner.solid import Solid, seen_from_outside

Bodies = tuple[Solid | None, Solid | None]

_STEP = 2.0
"""Distance of the places at which the width is measured, mm."""
_ENOUGH = 0.9
"""Share of its width that a flange has to have everywhere (common practice, no source)."""
_SLACK = 0.02
"""Flanges are slimmer than asked by up to this, and noise of outlines is less, mm."""
_LEAST_SEEN = 10.0
"""Area that may show, mm²: what is seen is told face by face, and single faces close to an edge may
be (common practice, no source)."""
_LEAST_OUT = 0.01
"""Volume outside of the part's hull that is rounding, mm³."""
_STEEPER = 1.0
"""A slope may be this much more, degrees: lines are drawn a little simpler than walls are."""
_LEAST_STEEP = 2.0
"""Area over the slope that is too little to matter, mm²."""
_SAME_PLANE = 1e-4
"""Faces lie in the same plane when neither their distance (mm) nor 100 times the difference of
their normals is more."""
_SMALLEST = 1e-3
"""Smaller faces have no certain normal, mm²."""


def check_flange(
    flange: Flange,
    seam: Seam,
    below: Solid,
    above: Solid,
    bodies: Bodies,
    part: Solid,
    look: Callable[[Solid], Bools] | None = seen_from_outside,
) -> tuple[Finding, ...]:
    """Check the bodies of a flange.

    Parameters
    ----------
    flange : Flange
    seam : Seam
    below, above : Solid
        The two pieces, without it.
    bodies : two of Solid or None
        From `splitplanner.joint.flange.building.flange_bodies`.
    part : Solid
        The uncut part.
    look : callable, optional
        Returns the faces of a solid on the good side, (m,) bool; None to leave that out, which
        takes longest.

    Returns
    -------
    tuple of Finding
        Faults ``flange.none`` (nothing could be built on a piece), ``flange.loose`` (not one with
        its piece) and ``flange.out`` (outside of the part's convex hull). Warnings
        ``flange.narrow`` (less than 0.9 of its width, measured along normals of its lines),
        ``flange.steep`` (runs out at more than its slope, so that it needs support) and
        ``flange.seen`` (shows from outside in the assembled part).
    """
    sides = ((below, bodies[0], seam.below, -1), (above, bodies[1], seam.above, 1))
    findings: list[Finding] = []
    for piece, body, name, side in sides:
        if body is None:
            findings.append(_none(flange, seam, name))
            continue
        joined = piece.union(body)
        findings += _loose(seam, piece, joined, name)
        findings += _out(seam, body.difference(part.hull), name)
        findings += _steep(flange, seam, piece, joined, name, side)
    findings += _narrow(flange, seam, bodies)
    if look is not None:
        there = [body for body in bodies if body is not None]
        findings += check_seen([(seam, bodies)], part, part.union(*there), look) if there else ()
    return tuple(findings)


def _none(flange: Flange, seam: Seam, name: str) -> Finding:
    corners = np.array([line[0] for line in flange.lines]).reshape(-1, 2)
    return Finding(
        "flange.none",
        Severity.FAULT,
        f"Seam {seam.name}: no flange can be built on piece “{name}”, which has no wall to carry "
        "it; take the flange off this seam, or move the cut.",
        seam.name,
        seam.plane.to_space(corners),
    )


def _loose(seam: Seam, piece: Solid, joined: Solid, name: str) -> Iterator[Finding]:
    more = len(joined.bodies()) - len(piece.bodies())
    if more <= 0:
        return
    smallest = sorted(joined.bodies(), key=lambda body: body.volume)[:more]
    yield Finding(
        "flange.loose",
        Severity.FAULT,
        f"Seam {seam.name}: {counted(more, 'part')} of the flange on piece “{name}” "
        f"{'hangs' if more == 1 else 'hang'} on nothing; make the flange narrower, or move the "
        "cut.",
        seam.name,
        np.array([body.centroid for body in smallest]),
        float(more),
        0.0,
    )


def _out(seam: Seam, outside: Solid, name: str) -> Iterator[Finding]:
    if outside.is_empty or outside.volume <= _LEAST_OUT:
        return
    yield Finding(
        "flange.out",
        Severity.FAULT,
        f"Seam {seam.name}: the flange on piece “{name}” sticks out of the part by "
        f"{outside.volume:.2f} mm³; make it narrower, or end its lines earlier.",
        seam.name,
        np.array([body.centroid for body in outside.bodies()]),
        outside.volume,
        0.0,
        "mm3",
    )


# -- width ---------------------------------------------------------------------------------
def _narrow(flange: Flange, seam: Seam, bodies: Bodies) -> Iterator[Finding]:
    places, widths = free_widths(flange, seam, bodies)
    few = widths < _ENOUGH * flange.width
    if not few.any() or None in bodies:
        return
    least = float(widths.min())
    yield Finding(
        "flange.narrow",
        Severity.WARNING,
        f"Seam {seam.name}: the flange is only {least:.1f} mm wide in places, for want of room, "
        f"and should be {flange.width:g} mm; put no fasteners there.",
        seam.name,
        seam.plane.to_space(places[few]),
        least,
        flange.width,
        "mm",
    )


def free_widths(flange: Flange, seam: Seam, bodies: Bodies) -> tuple[Floats, Floats]:
    """Return places along a flange's lines, (n, 2) mm, and the contact's width there, (n,) mm.

    From the line along its normal to where either the seam or the flange ends, at most the flange's
    width.
    """
    shape = shapely.union(flange_foot(seam, *bodies).buffer(_SLACK), seam.section.shape)
    shapely.prepare(shape)
    found, measured = [np.empty((0, 2))], [np.empty(0)]
    for line in flange.lines:
        fine = shapely.get_coordinates(shapely.segmentize(shapely.linestrings(line), _STEP))
        middles, normals, _ = sides_of(fine)
        rays = shapely.linestrings(
            np.stack([middles - _SLACK * normals, middles + flange.width * normals], axis=1)
        )
        left = shapely.difference(rays, shape.buffer(_SLACK))
        away = shapely.distance(left, shapely.points(middles))
        found.append(middles)
        measured.append(np.minimum(np.where(np.isnan(away), np.inf, away), flange.width))
    return np.vstack(found), np.concatenate(measured)


# -- faces of the flange -------------------------------------------------------------------
def _steep(
    flange: Flange, seam: Seam, piece: Solid, joined: Solid, name: str, side: int
) -> Iterator[Finding]:
    """Look for faces that look away from the seam more than the slope has them look."""
    slope = flange.slope_above if side > 0 else flange.slope_below
    if slope >= 90.0:
        return
    away = joined.face_normals @ (side * seam.plane.frame[2])
    angle = np.degrees(np.arcsin(np.clip(away, -1.0, 1.0)))
    steep = (angle > slope + _STEEPER) & (joined.face_areas > _SMALLEST)
    steep[steep] = _are_new(joined, np.flatnonzero(steep), piece)
    area = float(joined.face_areas[steep].sum())
    if area <= _LEAST_STEEP:
        return
    yield Finding(
        "flange.steep",
        Severity.WARNING,
        f"Seam {seam.name}: {area:.0f} mm² of the flange on piece “{name}” run out at up to "
        f"{angle[steep].max():.0f}° where {slope:g}° prints without support, since the wall leans "
        "away or ends; allow support there, or print the seam downward.",
        seam.name,
        joined.face_centroids[steep],
        float(angle[steep].max()),
        slope,
        "deg",
    )


def check_seen(
    flanges: Sequence[tuple[Seam, Bodies]],
    part: Solid,
    assembled: Solid,
    look: Callable[[Solid], Bools] = seen_from_outside,
) -> tuple[Finding, ...]:
    """Check that flanges are out of sight.

    Parameters
    ----------
    flanges : sequence of (seam, bodies)
    part : Solid
        The uncut part.
    assembled : Solid
        The part with all of these flanges.
    look : callable
        Returns the faces of a solid on the good side, (m,) bool.

    Returns
    -------
    tuple of Finding
        Warnings ``flange.seen``, one for each seam.
    """
    seen = look(assembled) & (assembled.face_areas > _SMALLEST)
    seen[seen] = _are_new(assembled, np.flatnonzero(seen), part)
    faces = np.flatnonzero(seen)
    places = assembled.face_centroids[faces]
    findings = []
    for seam, bodies in flanges:
        boxes = [body.bounds for body in bodies if body is not None]
        near = [
            ((places >= low - _SLACK) & (places <= high + _SLACK)).all(axis=1)
            for low, high in boxes
        ]
        mine = faces[np.any(near, axis=0)] if near else faces[:0]
        area = float(assembled.face_areas[mine].sum())
        if area > _LEAST_SEEN:
            findings.append(_shows(seam, area, assembled.face_centroids[mine]))
    return tuple(findings)


def _shows(seam: Seam, area: float, places: Floats) -> Finding:
    return Finding(
        "flange.seen",
        Severity.WARNING,
        f"Seam {seam.name}: {area:.0f} mm² of the flange show from outside; end it earlier there, "
        "or leave it.",
        seam.name,
        places,
        area,
        0.0,
        "mm2",
    )


def _are_new(joined: Solid, faces: Ints, before: Solid) -> Bools:
    """Return which of some faces lie in no plane of a face that was there before, (k,)."""
    if not len(faces):
        return np.zeros(0, dtype=np.bool_)
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial import KDTree

    sure = before.face_areas > _SMALLEST
    known = KDTree(_planes(before)[sure])
    apart, _ = known.query(_planes(joined)[faces], distance_upper_bound=_SAME_PLANE)
    result: Bools = ~np.isfinite(apart)
    return result


def _planes(solid: Solid) -> Floats:
    """Return the planes of all faces as points, (m, 4)."""
    normals = solid.face_normals
    offsets = np.einsum("ij,ij->i", normals, solid.face_centroids)
    return np.column_stack([100.0 * normals, offsets])
