"""Is a division sound: closed, connected, fitting pieces without slivers that add up to the part.

Joints are checked beside the joints themselves, in `splitplanner.joint`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np
import shapely

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity
from splitplanner.plan import Cut, Division, Piece, Seam, Vector
from splitplanner.progress import Report, silent
from splitplanner.score.bed_fit import BedFit, bed_fit, fit_findings
from splitplanner.solid import Solid, neighbours_of, outline_edges, to_polygons
from splitplanner.workshop import Printer

VOLUME_TOLERANCE = 1e-6
"""Relative to the part's volume."""

_FEATHER = 4.0
"""A skin may run out this many line widths from where the piece is a line thick: the feather edge
of a sloping wall."""

_PATCH = 4.0
"""A thin skin counts from this area on, mm²; less is rounding and corners."""


def soundness(
    division: Division,
    ups: Mapping[str, Vector],
    cuts: tuple[Cut, ...],
    printer: Printer,
    report: Report = silent,
    *,
    skins: bool = True,
    fits: Mapping[str, BedFit] | None = None,
) -> tuple[Finding, ...]:
    """Check a division before joints are added.

    Parameters
    ----------
    division : Division
    ups : mapping of piece name to print direction
    cuts : tuple of Cut
        The cuts that made the division.
    printer : Printer
    report : progress callback
    skins : bool
        Whether thin skins are looked for; False if none were found before.
    fits : mapping of piece name to BedFit, optional
        How pieces fit the printer's bed in their print directions, where that has been measured.

    Returns
    -------
    tuple of Finding
        Faults where the plan is not sound; empty when it is.
    """
    found: list[Finding] = list(division.findings)
    for index, piece in enumerate(division.pieces):
        report(0.6 * index / len(division.pieces), f"checking piece {piece.number}")
        found += connected(piece)
        found += thick_enough(piece, printer.line_width)
        fit = (fits or {}).get(piece.name)
        if fit is None:
            fit = bed_fit(piece.solid.hull.vertices, ups[piece.name], printer.bed)
        found += printable(piece, fit, printer)
    for index, seam in enumerate(division.seams if skins else ()):
        report(0.6 + 0.2 * index / len(division.seams), f"checking seam {seam.name}")
        found += thin_skins(seam, division, printer.line_width)
    report(0.8, "checking that the pieces add up")
    found += adding_up(division)
    found += assembling(division, cuts)
    return tuple(found)


def printable(piece: Piece, fit: BedFit, printer: Printer) -> Iterator[Finding]:
    """Find what keeps a piece from being printed: an open mesh, or too small a bed.

    Also of pieces to which flanges have been added, and from which holes have been taken.
    """
    yield from closed(piece)
    for finding in fit_findings(fit, str(piece.number), piece.solid, printer.bed):
        yield replace(finding, subject=piece.name)


def closed(piece: Piece) -> Iterator[Finding]:
    """Find edges that do not belong to exactly two faces in opposite order."""
    faces, vertices = piece.solid.faces, piece.solid.vertices
    if neighbours_of(faces, len(vertices)) is not None:
        return
    # One number for each directed edge.
    turned = np.roll(faces, -1, axis=1)
    forward = np.sort((faces * len(vertices) + turned).ravel())
    repeated = int((forward[1:] == forward[:-1]).sum())
    starts, ends = outline_edges(faces)
    if len(starts) or repeated:
        yield Finding(
            "piece.open",
            Severity.FAULT,
            f"Piece {piece.number} is not closed: {len(starts) + repeated} edges do not join two "
            "faces; move the cut a little.",
            piece.name,
            (vertices[starts] + vertices[ends]) / 2,
            float(len(starts) + repeated),
            0.0,
            "edges",
        )


def connected(piece: Piece, as_cut: Piece | None = None) -> Iterator[Finding]:
    """Find a piece of several bodies.

    Parameters
    ----------
    piece : Piece
    as_cut : Piece, optional
        The same piece before flanges were added to it and holes taken from it, where it is looked
        at as it is printed: only what these leave apart is found then.
    """
    bodies = piece.solid.bodies()
    cause, way_out = "", "name each in its cut"
    if as_cut is not None:
        cause, way_out = " once it is joined", "take smaller fasteners there, or move them"
    if len(bodies) > 1 and (as_cut is None or len(bodies) > len(as_cut.solid.bodies())):
        yield Finding(
            "piece.loose",
            Severity.FAULT,
            f"Piece {piece.number} is {len(bodies)} bodies that do not touch{cause}; {way_out}.",
            piece.name,
            np.array([body.centroid for body in bodies]),
            float(len(bodies)),
            1.0,
            "bodies",
        )


def thick_enough(piece: Piece, line_width: float) -> Iterator[Finding]:
    """Find dust and slivers: pieces whose mean thickness 2 V / A is below one line.

    Twice volume over surface is the thickness of a plate; no body is thinner everywhere.
    """
    thickness = 2 * piece.solid.volume / piece.solid.area
    if thickness < line_width:
        dust = float(piece.solid.extents.max()) < 10 * line_width
        yield Finding(
            "piece.dust" if dust else "piece.sliver",
            Severity.FAULT,
            f"Piece {piece.number} is {'dust' if dust else 'a sliver'}, {thickness:.2f} mm thick "
            f"on average and {piece.solid.volume:.1f} mm³; move the cut that made it.",
            piece.name,
            piece.solid.centroid[None, :],
            thickness,
            line_width,
            "mm",
        )


def thin_skins(seam: Seam, division: Division, line_width: float) -> Iterator[Finding]:
    """Find places where the material behind a seam is thinner than one line.

    On each side the seam is compared with the sections half a line and one line further in: what
    is not there any more, but for a feather edge, is a skin. One line deep alone would miss a
    skin with a gap behind it that ends before that depth. A gap that lies between two of these
    depths is narrower than half a line and closes in the print (common practice, no source).
    """
    for name, side in ((seam.below, -1), (seam.above, 1)):
        piece = division.piece(name)
        depths = side * line_width * np.array([0.5, 1.0])
        gone = [
            seam.section.shape.difference(behind.shape.buffer(_FEATHER * line_width))
            for behind in piece.solid.sections(seam.plane, depths)
        ]
        skins = to_polygons(shapely.union_all(gone), smallest=_PATCH)
        if skins:
            area = float(sum(skin.area for skin in skins))
            places = [shapely.point_on_surface(skin).coords[0] for skin in skins]
            yield Finding(
                "seam.thin_skin",
                Severity.FAULT,
                f"Seam {seam.name} leaves {area:.0f} mm² of skin thinner than one line "
                f"({line_width:g} mm) on piece {piece.number}; move the cut by a few millimetres.",
                seam.name,
                seam.plane.to_space(places),
                area,
                _PATCH,
                "mm2",
            )


def adding_up(division: Division) -> Iterator[Finding]:
    """Find a volume that is lost, or pieces that overlap."""
    whole = division.part.volume
    total = sum(piece.solid.volume for piece in division.pieces)
    if abs(total - whole) > VOLUME_TOLERANCE * whole:
        yield Finding(
            "pieces.volume",
            Severity.FAULT,
            f"The pieces hold {total:.3f} mm³ and the part {whole:.3f} mm³; they do not add up; "
            "make the plan anew.",
            where=_missing(division),
            measured=total,
            allowed=whole,
            unit="mm3",
        )
    shared, places = _overlap(division)
    if shared > VOLUME_TOLERANCE * whole:
        yield Finding(
            "pieces.overlap",
            Severity.FAULT,
            f"Pieces overlap by {shared:.3f} mm³ in all; check the cuts.",
            where=np.array(places),
            measured=shared,
            allowed=VOLUME_TOLERANCE * whole,
            unit="mm3",
        )


def _missing(division: Division) -> Floats:
    """Return the middles (n, 3) mm of what of the part is in no piece."""
    left = division.part.difference(*(piece.solid for piece in division.pieces))
    bodies = () if left.is_empty else left.bodies()
    least = VOLUME_TOLERANCE * division.part.volume / 10
    middles = [body.bounds.mean(axis=0) for body in bodies if body.volume > least]
    return np.reshape(middles, (-1, 3))


def _overlap(division: Division) -> tuple[float, list[Floats]]:
    shared = 0.0
    places: list[Floats] = []
    pieces = division.pieces
    # Most pieces are apart along an axis or the normal of a seam.
    normals = np.unique(np.round([seam.plane.normal for seam in division.seams], 12), axis=0)
    directions = np.concatenate([np.eye(3), normals.reshape(-1, 3)])
    reaches = [_reach(piece.solid, directions) for piece in pieces]
    for index, one in enumerate(pieces):
        for place, other in enumerate(pieces[index + 1 :], index + 1):
            slack = 1e-9 * max(one.solid.size, other.solid.size)
            if _are_apart(reaches[index], reaches[place], slack):
                continue
            both = one.solid.intersection(other.solid)
            if not both.is_empty and both.volume > 0:
                shared += both.volume
                places.append(both.bounds.mean(axis=0))
    return shared, places


def _reach(solid: Solid, directions: Floats) -> Floats:
    """Return from where to where a solid lies along each of the `directions` (n, 3), (2, n) mm."""
    along = directions @ solid.hull.vertices.T
    return np.stack([along.min(axis=1), along.max(axis=1)])


def _are_apart(one: Floats, other: Floats, slack: float) -> bool:
    """Return whether two solids overlap along one of the directions by no more than rounding."""
    low, high = np.maximum(one[0], other[0]), np.minimum(one[1], other[1])
    return bool((high - low <= slack).any())


def assembling(division: Division, cuts: tuple[Cut, ...]) -> Iterator[Finding]:
    """Find pieces that block each other when the cuts are joined last first.

    Joining the cuts in reverse order, the two sides of each come together along its normal. That
    is free when the whole of each side lies on its own side of the plane.
    """
    for seam in division.seams:
        cut = cuts[seam.cut]
        below, above = division.piece(seam.below).solid, division.piece(seam.above).solid
        reach = max(
            float(cut.plane.height(below.vertices).max()),
            -float(cut.plane.height(above.vertices).min()),
        )
        if reach > 1e-6 * division.part.size:
            yield Finding(
                "seam.blocked",
                Severity.FAULT,
                f"The pieces at seam {seam.name} cannot be pushed together along its normal: one "
                f"reaches {reach:.2f} mm past the seam.",
                seam.name,
                seam.section.centroid[None, :],
                reach,
                0.0,
                "mm",
            )
