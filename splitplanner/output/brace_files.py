"""Braces as they leave the program: outlines, holes and marks as DXF, printed ones as meshes."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats
from splitplanner.joint import Brace, as_in_file, file_allowance
from splitplanner.joint.spots import roomiest_spot
from splitplanner.output.beds import fit_in_file
from splitplanner.output.printable import PrintableMesh, printable_mesh
from splitplanner.plan import Piece, Plan, direction_words
from splitplanner.score import measure_piece
from splitplanner.solid import to_polygons
from splitplanner.solid.lettering import text_strokes

OUTLINE, HOLES, MARKS = "OUTLINE", "HOLES", "MARKS"
"""The layers of a drawing."""
_COLOURS = {OUTLINE: 7, HOLES: 1, MARKS: 5}
"""Of the layers, as numbers of the standard palette: black or white, red and blue."""
_LETTERS = (8.0, 6.0, 5.0, 4.0, 3.0)
"""Heights of letters that are tried for marks, mm; smaller ones cannot be read."""
_CLEAR = 1.0
"""Left round a mark at least, mm."""


def brace_file_name(number: int) -> str:
    """Return the stem of the files of a brace, such as ``brace-03``; they count from 1."""
    return f"brace-{number:02d}"


def flat_outline(brace: Brace) -> Polygon:
    """Return the outline of a brace without holes, its low corner in the origin, mm.

    As it is seen with its heads behind it, its way to the right and the part below.
    """
    low = shapely.bounds(brace.profile.outline)[:2]
    return shapely.transform(brace.profile.outline, lambda flat: flat - low)


def flat_holes(brace: Brace) -> tuple[tuple[Floats, float], ...]:
    """Return middle (2,) and diameter of each hole in `flat_outline`, mm."""
    low = shapely.bounds(brace.profile.outline)[:2]
    return tuple(
        (brace.wish.to_own([bolt.at])[0, :2] - low, bolt.brace_hole) for bolt in brace.bosses.bolts
    )


def flat_mark(brace: Brace) -> tuple[Floats, ...]:
    """Return the strokes of the mark in `flat_outline` that tells which end this is, (n, 2) mm.

    Where the left end goes in the part's own axes, such as ``-x``, and the name of the brace, as
    large as there is room for beside the first holes; the name is left out where there is none or
    it has letters that the pen has not. No strokes where the brace is too slight for any.
    """
    free = _room_of_mark(brace)
    towards = direction_words((0.0 - np.array(brace.wish.along)).tolist(), minus="-")
    for text in (f"{towards} {brace.wish.name}", towards):
        for height in _LETTERS if text.isascii() and text.isprintable() else ():
            strokes = [np.array(line) for line in text_strokes(text, height, 0.0)]
            corners = np.vstack(strokes)
            size = np.ptp(corners, axis=0) + 2 * _CLEAR
            spot = roomiest_spot(free, (float(size[0]), float(size[1])))
            if spot is not None:
                middle, turn = (
                    (corners.min(axis=0) + corners.max(axis=0)) / 2,
                    math.radians(spot[1]),
                )
                along = np.array(
                    [[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]]
                )
                return tuple((line - middle) @ along + spot[0] for line in strokes)
    return ()


def _room_of_mark(brace: Brace) -> MultiPolygon:
    """Return what a mark may cover of `flat_outline`: from the left end up to the third hole."""
    outline, holes = flat_outline(brace), flat_holes(brace)
    low, bottom, high, top = outline.bounds
    ends = [middle[0] - diameter / 2 for middle, diameter in holes[2:3]]
    near = shapely.box(low, bottom, min([*ends, (low + high) / 2]), top)
    taken = [shapely.Point(middle).buffer(diameter / 2 + _CLEAR) for middle, diameter in holes]
    free = shapely.difference(shapely.intersection(outline, near), shapely.union_all(taken))
    return MultiPolygon(to_polygons(free))


def brace_dxf(brace: Brace) -> bytes:
    """Return the outline of a brace with its holes as a DXF drawing in mm (ASCII, R2000).

    One closed polyline a ring: the outline of straight pieces on layer OUTLINE, each hole of two
    half circles on layer HOLES, so that it is round whatever reads it. The mark of its left end
    is open polylines on layer MARKS, to be engraved or written; see `flat_mark`. Equal braces give
    equal bytes.
    """
    # Imported late: loading it takes longer than most commands need to start.
    import ezdxf
    from ezdxf import units

    with _without_time(ezdxf.options):
        drawing = ezdxf.new("R2000", setup=False)
        drawing.units = units.MM
        for layer, colour in _COLOURS.items():
            drawing.layers.add(layer, color=colour)
        space = drawing.modelspace()
        outline = flat_outline(brace)
        corners = shapely.get_coordinates(outline.exterior)[:-1]
        space.add_lwpolyline(corners.tolist(), close=True, dxfattribs={"layer": OUTLINE})
        for middle, diameter in flat_holes(brace):
            x, y = middle.tolist()
            ends = [(x - diameter / 2, y, 1.0), (x + diameter / 2, y, 1.0)]
            space.add_lwpolyline(ends, format="xyb", close=True, dxfattribs={"layer": HOLES})
        for stroke in flat_mark(brace):
            space.add_lwpolyline(stroke.tolist(), dxfattribs={"layer": MARKS})
        # So that what opens it shows all of it.
        drawing.header["$EXTMIN"] = (0.0, 0.0, 0.0)
        drawing.header["$EXTMAX"] = (*outline.bounds[2:], 0.0)
        space.reset_extents((0.0, 0.0, 0.0), (*outline.bounds[2:], 0.0))
        stream = io.StringIO()
        drawing.write(stream)
    encoded: bytes = stream.getvalue().encode(drawing.output_encoding, errors="dxfreplace")
    return encoded


@contextmanager
def _without_time(options: Any) -> Iterator[None]:
    """Have drawings made and written without the time and the random names they would get."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def printed_brace(brace: Brace, number: int, plan: Plan) -> PrintableMesh:
    """Return a brace that is printed as its file has it: flat on the bed, like a piece.

    Raises
    ------
    ExportError
        See `printable_mesh`.
    """
    piece = Piece(brace.wish.name, number, brace.solid)
    row = measure_piece(piece, brace.wish.plane.normal, plan.machine)
    fit = fit_in_file(row, plan.printer, plan.material)
    allowance = file_allowance(plan.printer, plan.material)
    laid = as_in_file(brace.solid, fit.pose(brace.solid), allowance)
    return printable_mesh(laid, brace_file_name(number))
