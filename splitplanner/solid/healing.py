"""Turns a triangle mesh as found in files into one closed solid, and says what it had to repair."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.errors import OpenSolidError, SolidError
from splitplanner.findings import Finding, Severity, counted
from splitplanner.progress import Report, part_of, silent
from splitplanner.solid.holes import Hole, HoleLimits, fill_holes, find_holes
from splitplanner.solid.junctions import close_junctions
from splitplanner.solid.sheets import Sheets, make_sheets
from splitplanner.solid.shells import join_shells, part_shells
from splitplanner.solid.solid import Solid
from splitplanner.solid.soup import Soup
from splitplanner.solid.uncrossing import uncrossed
from splitplanner.solid.welding import NEAR, drop_duplicates, drop_flat, weld
from splitplanner.solid.winding import crossing_findings

_STRAY = 1e-3
"""Open scraps of surface with at most this share of all area may be dropped (with a warning)."""


@dataclass(frozen=True, eq=False)
class Healed:
    """A closed solid and the repairs that were made.

    Attributes
    ----------
    solid : Solid
    findings : tuple of Finding
        One for each repair, with places and counts; empty for a sound mesh.
    """

    solid: Solid
    findings: tuple[Finding, ...]


def heal(
    vertices: ArrayLike,
    faces: ArrayLike,
    report: Report = silent,
    *,
    bodies: ArrayLike | None = None,
    limits: HoleLimits | None = None,
) -> Healed:
    """Return the closed solid that a triangle mesh stands for.

    Equal corners are joined, then near ones while the surface is open; faces without area and
    faces written twice are dropped; cracks are closed; edges with more than two faces are
    parted into sheets; faces are turned alike; small holes are closed; shells are sorted into
    bodies and voids; bodies that overlap are united. A surface that crosses itself within one
    shell is looked for by sampling; where it wraps a place twice it is made one, if that can be
    done safely (see `uncrossed`), and reported as it is if not.

    Parameters
    ----------
    vertices : (n, 3) array, mm
    faces : (m, 3) integer array
    report : Report
        Told after each stage.
    bodies : (n,) integer array, optional
        The object of the file each vertex belongs to; objects that are closed by themselves are
        not welded to each other.
    limits : HoleLimits, optional
        How large a hole may be closed.

    Raises
    ------
    OpenSolidError
        If the surface cannot be closed; its findings hold the open edges.
    SolidError
        If the arrays are no mesh: no faces, corners that do not exist, coordinates that are not
        finite.
    """
    soup = _checked(vertices, faces, bodies)
    report(0.0, "joining corners")
    soup, findings = weld(soup, part_of(report, 0.0, 0.25))
    report(0.25, "dropping doubled triangles")
    soup, more = drop_duplicates(soup)
    findings += more
    if soup.edges.open_count:
        soup, more = _close_cracks(soup)
        findings += more
    if not len(soup.faces):
        raise OpenSolidError("Every triangle of the model has lost its area; it is no solid.")
    report(0.35, "turning faces alike")
    sheets, more = _manifold(soup, limits or HoleLimits(), part_of(report, 0.35, 0.55))
    findings += more
    report(0.55, "parting shells")
    shells, more = part_shells(*sheets.closed_mesh())
    findings += more
    solid, more = join_shells(shells, part_of(report, 0.65, 0.9))
    findings += more
    report(0.9, "looking for crossings")
    solid, more = _uncross(solid, part_of(report, 0.9, 1.0))
    findings += more
    report(1.0, "closed")
    return Healed(solid, tuple(findings))


def _uncross(solid: Solid, report: Report) -> tuple[Solid, list[Finding]]:
    crossings = crossing_findings(solid.vertices, solid.faces)
    resolved = uncrossed(solid, report) if crossings else None
    if resolved is None:
        return solid, crossings
    twice = solid.volume - resolved.volume
    finding = Finding(
        "healing.uncrossed",
        Severity.NOTE,
        f"Made one of the surface where it passed through itself, {twice:.3g} mm³ in all.",
        where=crossings[0].where,
        measured=twice,
        unit="mm3",
    )
    return resolved, [finding]


def _checked(vertices: ArrayLike, faces: ArrayLike, bodies: ArrayLike | None) -> Soup:
    points = np.array(vertices, dtype=np.float64, order="C").reshape(-1, 3)
    corners = np.array(faces, dtype=np.int64, order="C").reshape(-1, 3)
    of_body: Ints = np.zeros(len(points), dtype=np.int64)
    if bodies is not None:
        of_body = np.array(bodies, dtype=np.int64)
    if not len(corners):
        raise SolidError("The mesh has no triangles.")
    if corners.min() < 0 or corners.max() >= len(points):
        raise SolidError("The mesh has triangles with corners that do not exist.")
    lost = ~np.isfinite(points[corners.ravel()]).all(axis=1)
    if lost.any():
        raise SolidError(
            f"{int(lost.sum())} corners have coordinates that are not finite numbers, the first "
            f"in triangle {int(np.argmax(lost)) // 3}."
        )
    return Soup(points, corners, of_body)


def _close_cracks(soup: Soup) -> tuple[Soup, list[Finding]]:
    soup, findings = drop_flat(soup)
    for share in NEAR:
        if soup.edges.open_count == 0:
            break
        soup, more = close_junctions(soup, share * soup.size)
        findings += more
        if more:
            soup, more = drop_duplicates(soup)
            findings += more
    return soup, findings


def _manifold(soup: Soup, limits: HoleLimits, report: Report) -> tuple[Sheets, list[Finding]]:
    """Return closed sheets, holes filled."""
    findings: list[Finding] = []
    sheets = make_sheets(soup)
    turned = sheets.turned
    findings += _sheet_findings(sheets, turned)
    if not len(sheets.open_half_edges):
        _refuse_one_sided(sheets)
        return sheets, findings
    report(0.5, "closing holes")
    fresh, more, left_open = fill_holes(sheets, limits)
    findings += more
    if len(fresh):
        sheets = make_sheets(sheets.soup.with_faces(np.concatenate([sheets.soup.faces, fresh])))
        left_open = find_holes(sheets)
    if left_open:
        sheets, more = _drop_strays(sheets, left_open)
        findings += more
    _refuse_one_sided(sheets)
    return sheets, findings


def _sheet_findings(sheets: Sheets, turned: Bools) -> list[Finding]:
    findings = []
    if turned.any():
        count = int(turned.sum())
        findings.append(
            Finding(
                "healing.orientation",
                Severity.NOTE,
                f"Turned over {counted(count, 'triangle')} that faced against the neighbours.",
                where=_middles(sheets.soup, turned),
                measured=float(count),
                unit="1",
            )
        )
    if len(sheets.crowded):
        findings.append(
            Finding(
                "healing.nonmanifold",
                Severity.NOTE,
                f"Parted the surface at {counted(len(sheets.crowded), 'edge')} shared by more than "
                "two triangles.",
                where=sheets.soup.middles(sheets.crowded),
                measured=float(len(sheets.crowded)),
                unit="1",
            )
        )
    return findings


def _middles(soup: Soup, chosen: Bools) -> Floats:
    result: Floats = soup.vertices[soup.faces[chosen]].mean(axis=1)
    return result


def _refuse_one_sided(sheets: Sheets) -> None:
    if not sheets.one_sided.any():
        return
    where = _middles(sheets.soup, sheets.one_sided)
    finding = Finding(
        "healing.one_sided",
        Severity.FAULT,
        f"{len(where)} triangles form a surface with one side only.",
        where=where,
        measured=float(len(where)),
        allowed=0.0,
        unit="1",
    )
    raise OpenSolidError(
        f"{len(where)} triangles form a surface that has no inside, like a twisted band, near "
        f"{_place(where[0])}; repair the model in the program that made it.",
        findings=(finding,),
    )


def _drop_strays(sheets: Sheets, holes: list[Hole]) -> tuple[Sheets, list[Finding]]:
    """Drop small open scraps beside closed shells; refuse the mesh if anything else is open."""
    area = np.bincount(sheets.sheet, np.linalg.norm(sheets.soup.area_vectors, axis=1))
    torn = np.unique([hole.sheet for hole in holes])
    if area[torn].sum() > _STRAY * area.sum():
        raise _still_open(sheets, holes)
    stray = np.isin(sheets.sheet, torn)
    finding = Finding(
        "healing.stray",
        Severity.WARNING,
        f"Dropped {counted(len(torn), 'loose scrap')} of surface that enclosed nothing, of "
        f"{float(area[torn].sum()):.3g} mm² in all.",
        where=_middles(sheets.soup, stray),
        measured=float(area[torn].sum()),
        allowed=_STRAY * float(area.sum()),
        unit="mm2",
    )
    return make_sheets(sheets.soup.with_faces(sheets.soup.faces[~stray])), [finding]


def _still_open(sheets: Sheets, holes: list[Hole]) -> OpenSolidError:
    loose = sheets.open_half_edges
    table, points = sheets.soup.edges, sheets.soup.vertices
    lengths = np.linalg.norm(points[table.ends[loose]] - points[table.starts[loose]], axis=1)
    longest = max(holes, key=lambda hole: hole.length)
    finding = Finding(
        "healing.open",
        Severity.FAULT,
        f"{len(loose)} edges belong to one triangle only.",
        where=sheets.soup.middles(loose),
        measured=float(lengths.sum()),
        allowed=0.0,
        unit="mm",
    )
    return OpenSolidError(
        f"The model is open: {len(loose)} edges of {float(lengths.sum()):.4g} mm in all belong to "
        f"one triangle only; the longest gap, {longest.length:.4g} mm round, is near "
        f"{_place(longest.points.mean(axis=0))}; close it in the program that made the model.",
        findings=(finding,),
    )


def _place(point: Floats) -> str:
    return "(" + ", ".join(f"{value:.4g}" for value in point) + ") mm"
