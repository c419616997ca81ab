"""What a print leaves on the good side: marks of supports and of the bed, strings, seams."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Bools, unit_vector
from splitplanner.score.figures import Figures, PieceFigures, SeamRow
from splitplanner.score.gaps import seen_crossings
from splitplanner.score.overhang import Overhang
from splitplanner.score.support import CELLS_ACROSS, skewed
from splitplanner.solid import Sight, Solid, columns, frame_of
from splitplanner.workshop import Printer

_NEAR = 4.0
"""A face of the part lies on one of a piece when a ray from just off that face meets it within so
many times the distance that it started at."""
_FACING = 0.9
"""Cosine of the angle by which two faces that lie on each other may be askew: the normals of
slivers are rough."""


@dataclass(frozen=True)
class GoodSideFigures:
    """What one piece has on the good side when it is printed in its direction.

    Attributes
    ----------
    name : str
        Of the piece.
    held : float
        Area of the overhangs on the good side, which supports leave their marks on, mm².
    stood_on : float
        Area of the good side, in plan, that supports stand on, mm².
    seam : float
        Length of the outlines of the piece's seams that lie on the good side, mm.
    crossings : float
        Travels over a gap that ends on the good side; see
        `splitplanner.score.gaps.seen_crossings`.
    contact : float
        Area of the good side that lies on the bed, mm².
    """

    name: str
    held: float
    stood_on: float
    seam: float
    crossings: float
    contact: float

    @property
    def supports(self) -> float:
        """Area of the good side that supports touch, above them or below, mm²."""
        return self.held + self.stood_on


def faces_on_good_side(piece: Solid, part: Solid, seen: Bools) -> Bools:
    """Return which faces of a piece lie on the good side of the part it was cut from, (m,).

    Those that lie on a face of the part that is seen, at their middle; what cuts, flanges and holes
    made lies on no face of it. Found by a ray from just off each face back to it, which has to
    meet a face of the part that looks the same way.

    Parameters
    ----------
    piece, part : Solid
        In the same frame.
    seen : (n,) bool array
        The part's faces on the good side.

    Raises
    ------
    ValueError
        If `seen` does not have one entry for each face of the part.
    """
    if len(seen) != len(part.faces):
        raise ValueError(f"expected a mask of {len(part.faces)} faces, got {len(seen)}")
    if piece is part or not seen.any():
        return seen if piece is part else np.zeros(len(piece.faces), dtype=np.bool_)
    sight, normals = Sight.of(part), piece.face_normals
    run, met = sight.first(piece.face_centroids, normals, -normals)
    facing = np.einsum("ij,ij->i", part.face_normals[met], normals)
    good: Bools = (met >= 0) & (np.abs(run) <= _NEAR * sight.off) & (facing >= _FACING) & seen[met]
    return good


def supports_on(
    solid: Solid, up: ArrayLike, hanging: Overhang, good: Bools, resolution: float | None = None
) -> tuple[float, float]:
    """Return the area of the good side that supports hold up, and that they stand on, mm².

    What is held up is exact: the area of the faces. What supports stand on is counted by columns,
    as in `splitplanner.score.support.support_volume`, and in plan.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Print direction.
    hanging : Overhang
        Of the same solid in this direction.
    good : (m,) bool array
        Its faces on the good side.
    resolution : float, optional
        Side of the columns, mm; by default the plan's longer side / `CELLS_ACROSS`.
    """
    held = float(solid.face_areas[hanging.faces & good].sum())
    if not hanging.faces.any() or not good.any():
        return held, 0.0
    frame = frame_of(unit_vector(up))
    if resolution is None:
        plan = solid.vertices @ frame[:2].T
        resolution = float(np.ptp(plan, axis=0).max()) / CELLS_ACROSS
    grid = columns(solid, frame[2], resolution, frame=skewed(frame))
    tops = np.flatnonzero(~grid.upward & hanging.faces[grid.faces])
    feet = grid.floors()[tops]
    standing = np.count_nonzero(good[grid.faces[feet[feet >= 0]]])
    return held, float(standing) * resolution**2


def good_side_figures(
    row: PieceFigures, part: Solid, seen: Bools, printer: Printer, seams: Iterable[SeamRow] = ()
) -> GoodSideFigures:
    """Measure what a piece has on the good side, as it prints.

    Parameters
    ----------
    row : PieceFigures
        The piece, as it was measured in its print direction.
    part : Solid
        The uncut part.
    seen : (m,) bool array
        Its faces on the good side.
    printer : Printer
    seams : iterable of SeamRow
        Of the plan; those of this piece count.

    Raises
    ------
    ValueError
        If `seen` does not have one entry for each face of the part.
    """
    solid = row.piece.solid
    good = faces_on_good_side(solid, part, seen)
    held, stood_on = supports_on(solid, row.up, row.overhang, good)
    return GoodSideFigures(
        name=row.name,
        held=held,
        stood_on=stood_on,
        seam=sum(seam.figures.seen_length for seam in seams if row.name in seam.between),
        crossings=seen_crossings(
            solid, row.up, printer.layer_height, printer.line_width, part, seen
        ),
        contact=float(solid.face_areas[row.overhang.contact & good].sum()),
    )


def good_sides(figures: Figures) -> tuple[GoodSideFigures, ...]:
    """Return what each piece of a plan has on the good side; a seam counts for both its pieces."""
    return tuple(
        good_side_figures(row, figures.part, figures.good_side, figures.printer, figures.seams)
        for row in figures.pieces
    )
