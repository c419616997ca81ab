"""Whether a flange is sound: one with its piece, as wide as it should be, out of sight."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.findings import Finding, Severity, counted, piece_words
from splitplanner.joint.flange.building import flange_foot
from splitplanner.joint.flange.outlines import sides_of
from splitplanner.plan import Flange, Seam, Vector
from splitplanner.score.overhang import overhang
from splitplanner.solid import Solid, seen_from_outside
from splitplanner.solid.sight import Sight
from splitplanner.workshop import Printer

Bodies = tuple[Solid | None, Solid | None]

WIDTH_STEP = 2.0
"""Distance of the places at which the width is measured, mm."""
ENOUGH = 0.9
"""Share of its width that a flange has to have everywhere (common practice, no source)."""
_SLACK = 0.02
"""Flanges are slimmer than asked by up to this, and noise of outlines is less, mm."""
_LEAST_SEEN = 10.0
"""Area that may show, mm²: single faces close to an edge may (common practice, no source)."""
_LEAST_OUT = 0.01
"""Volume outside of the part's hull that is rounding, mm³."""
_STEEPER = 1.0
"""A face may hang over by this much more, degrees: lines are simpler than walls are."""
_LEAST_STEEP = 2.0
"""Hanging area that is too little to matter, mm²."""
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
    ups: tuple[Vector, Vector],
    printer: Printer,
) -> tuple[Finding, ...]:
    """Check the bodies of a flange, but for whether they show: see `check_seen`.

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
    ups : (up of the piece below, up of the piece above)
        Print directions.
    printer : Printer
        Its overhang limit and longest bridge count.

    Returns
    -------
    tuple of Finding
        Faults ``flange.none`` (nothing could be built on a piece), ``flange.loose`` (not one with
        its piece) and ``flange.out`` (outside of the part's convex hull). Warnings
        ``flange.narrow`` (less than 0.9 of its width, measured along normals of its lines) and
        ``flange.steep`` (needs support where the piece without it needs none; see
        `faces_to_support`).
    """
    sides = ((below, bodies[0], seam.below), (above, bodies[1], seam.above))
    findings: list[Finding] = []
    for (piece, body, name), up in zip(sides, ups, strict=True):
        if body is None:
            findings.append(_none(flange, seam, name))
            continue
        joined = piece.union(body)
        findings += _loose(seam, piece, joined, name)
        findings += _out(seam, body.difference(part.hull), name)
        findings += _steep(seam, piece, joined, name, up, printer)
    findings += _narrow(flange, seam, bodies)
    return tuple(findings)


def _none(flange: Flange, seam: Seam, name: str) -> Finding:
    corners = np.array([line[0] for line in flange.lines]).reshape(-1, 2)
    return Finding(
        "flange.none",
        Severity.FAULT,
        f"Seam {seam.name}: no flange can be built on {piece_words(name)}, which has no wall to "
        "carry it; take the flange off this seam, or move the cut.",
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
        f"Seam {seam.name}: {counted(more, 'part')} of the flange on {piece_words(name)} "
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
        f"Seam {seam.name}: the flange on {piece_words(name)} sticks out of the part by "
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
    few = widths < ENOUGH * flange.width
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
    width. Not within that width of a line's open ends, where it may run out to the wall.
    """
    shape = shapely.union(flange_foot(seam, *bodies).buffer(_SLACK), seam.section.shape)
    shapely.prepare(shape)
    found, measured = [np.empty((0, 2))], [np.empty(0)]
    for line in flange.lines:
        fine = shapely.get_coordinates(shapely.segmentize(shapely.linestrings(line), WIDTH_STEP))
        middles, normals, _ = sides_of(fine)
        if line[0] != line[-1]:
            ends = shapely.multipoints([line[0], line[-1]])
            inner = shapely.distance(shapely.points(middles), ends) > flange.width
            middles, normals = middles[inner], normals[inner]
        rays = shapely.linestrings(
            np.stack([middles - _SLACK * normals, middles + flange.width * normals], axis=1)
        )
        left = shapely.difference(rays, shape.buffer(_SLACK))
        away = shapely.distance(left, shapely.points(middles))
        found.append(middles)
        measured.append(np.minimum(np.where(np.isnan(away), np.inf, away), flange.width))
    return np.vstack(found), np.concatenate(measured)


# -- faces of the flange -------------------------------------------------------------------
def faces_to_support(piece: Solid, joined: Solid, up: Vector, printer: Printer) -> Ints:
    """Return the faces of a piece with its flange that need support because of the flange.

    Those that are new, hang over (`splitplanner.score.overhang`, bridges are none of them), and
    under which no support stands anyway: going up from them, a surface of the piece without its
    flange that needs support comes first. There support ends at the flange instead.

    Parameters
    ----------
    piece, joined : Solid
        The piece without its flange and with it.
    up : (x, y, z)
        Print direction.
    printer : Printer
        Its overhang limit, 1° more than which is let pass, and longest bridge count.

    Returns
    -------
    (k,) int array
        Indices of faces of `joined`, without the smallest ones, which are no more than 2 mm² in
        all.
    """
    limit = min(printer.overhang_limit + _STEEPER, 90.0)
    hanging = overhang(joined, up, limit, printer.bridge_span).faces
    faces = np.flatnonzero(hanging & (joined.face_areas > _SMALLEST))
    faces = _that_matter(joined, faces[_are_new(joined, faces, piece)])
    if not len(faces):
        return faces
    bare = overhang(piece, up, printer.overhang_limit, printer.bridge_span).faces
    points = joined.face_centroids[faces]
    way = np.broadcast_to(np.array(up), points.shape)
    _, met = Sight.of(piece).first(points, np.zeros_like(points), way)
    return _that_matter(joined, faces[(met < 0) | ~bare[met]])


def _that_matter(solid: Solid, faces: Ints) -> Ints:
    """Return faces without the smallest, as long as those are together too little to matter."""
    areas = solid.face_areas[faces]
    order = np.argsort(areas, kind="stable")
    matter = np.cumsum(areas[order]) > _LEAST_STEEP
    return np.sort(faces[order[matter]])


def _steep(
    seam: Seam, piece: Solid, joined: Solid, name: str, up: Vector, printer: Printer
) -> Iterator[Finding]:
    """Look for faces that hang over where the bare piece does not."""
    faces = faces_to_support(piece, joined, up, printer)
    if not len(faces):
        return
    area = float(joined.face_areas[faces].sum())
    angle = np.degrees(np.arcsin(np.clip(-joined.face_normals[faces] @ np.array(up), -1.0, 1.0)))
    yield Finding(
        "flange.steep",
        Severity.WARNING,
        f"Seam {seam.name}: {area:.0f} mm² of the flange on {piece_words(name)} hang over by up to "
        f"{angle.max():.0f}° where {printer.overhang_limit:g}° prints without support; allow "
        "support there, turn the piece, or end the flange earlier.",
        seam.name,
        joined.face_centroids[faces],
        float(angle.max()),
        printer.overhang_limit,
        "deg",
    )


def check_seen(
    flanges: Sequence[tuple[Seam, Bodies]], part: Solid, assembled: Solid, seen: Bools
) -> tuple[Finding, ...]:
    """Check that flanges are out of sight: see `faces_that_show`.

    Parameters
    ----------
    flanges : sequence of (seam, bodies)
    part : Solid
        The uncut part.
    assembled : Solid
        The part with all of these flanges.
    seen : (m,) bool array
        Faces of the part on the good side.

    Returns
    -------
    tuple of Finding
        Warnings ``flange.seen``, one for each seam.
    """
    faces = faces_that_show(part, assembled, seen)
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


def faces_that_show(part: Solid, assembled: Solid, seen: Bools) -> Ints:
    """Return the faces of flanges that show.

    As with the part's own faces (`splitplanner.solid.seen_from_outside`), a tenth of what a face
    looks at has to be open to views from outside. But no view counts in which the part's hidden
    side is behind the flange: who looks there, into the mouth of a tube, looks at what is not the
    good side, with or without a rim on it. What is left is where a flange stands before the good
    side, or out into the open beside the part.

    Parameters
    ----------
    part : Solid
        The uncut part.
    assembled : Solid
        The part with flanges.
    seen : (m,) bool array
        Faces of the part on the good side.

    Returns
    -------
    (k,) int array
        Indices of faces of `assembled`.

    Raises
    ------
    ValueError
        If `seen` does not have one entry for each face of the part.
    """
    if len(seen) != len(part.faces):
        raise ValueError(f"expected a mask of {len(part.faces)} faces, got {len(seen)}")
    new = assembled.face_areas > _SMALLEST
    new[new] = _are_new(assembled, np.flatnonzero(new), part)
    if not new.any():
        return np.zeros(0, dtype=np.int64)
    behind = Sight.of(part)

    def counts(points: Floats, towards: Floats) -> Bools:
        _, face = behind.first(points, np.zeros_like(points), -towards)
        result: Bools = (face < 0) | seen[face]
        return result

    return np.flatnonzero(seen_from_outside(assembled, only=new, counts=counts))


def _shows(seam: Seam, area: float, places: Floats) -> Finding:
    return Finding(
        "flange.seen",
        Severity.WARNING,
        f"Seam {seam.name}: {area:.0f} mm² of the flange show from outside, beside the part or "
        "before its good side; end it earlier there, or leave it.",
        seam.name,
        places,
        area,
        0.0,
        "mm2",
    )


def _are_new(joined: Solid, faces: Ints, before: Solid) -> Bools:
    """Return which of some faces lie in no plane of a face that was near before, (k,)."""
    if not len(faces):
        return np.zeros(0, dtype=np.bool_)
    # Imported late: loading scipy would hold up the start of the window.
    from scipy.spatial import KDTree

    sure = (before.face_areas > _SMALLEST) & _beside(before, joined.vertices[joined.faces[faces]])
    if not sure.any():
        return np.ones(len(faces), dtype=np.bool_)
    known = KDTree(_planes(before)[sure])
    apart, _ = known.query(_planes(joined)[faces], distance_upper_bound=_SAME_PLANE)
    result: Bools = ~np.isfinite(apart)
    return result


def _beside(solid: Solid, corners: Floats) -> Bools:
    """Return which faces of a solid, (m,), reach into the box of some corners (..., 3)."""
    flat = corners.reshape(-1, 3)
    low, high = flat.min(axis=0) - _SLACK, flat.max(axis=0) + _SLACK
    own = solid.vertices[solid.faces]
    result: Bools = ((own.min(axis=1) <= high) & (own.max(axis=1) >= low)).all(axis=1)
    return result


def _planes(solid: Solid) -> Floats:
    """Return the planes of all faces as points, (m, 4)."""
    normals = solid.face_normals
    offsets = np.einsum("ij,ij->i", normals, solid.face_centroids)
    return np.column_stack([100.0 * normals, offsets])
