"""A piece in one print direction, measured as for the scorecard."""

from __future__ import annotations

import numpy as np

from splitplanner.arrays import Bools, Ints
from splitplanner.score.figures import PieceFigures
from splitplanner.score.gaps import MOST_GAPPED, seen_crossings
from splitplanner.score.glancing import DirectionFigures, Glances
from splitplanner.score.good_side_figures import supports_on
from splitplanner.score.islands import MOST_LAYERS, Layers, layer_count
from splitplanner.score.tipping import tipping_angle
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer


def measured_direction(
    row: PieceFigures, good: Bools, part: Solid, seen: Bools, printer: Printer
) -> DirectionFigures:
    """Return what a piece is like in a direction in which it has been measured.

    Islands are counted in the layers that `splitplanner.score.islands` looks at, by walking round
    their outlines in the mesh; cut are only the layers in whose gaps it matters what shows.

    Parameters
    ----------
    row : PieceFigures
    good : (m,) bool array
        The piece's faces on the good side; see `splitplanner.score.faces_on_good_side`.
    part : Solid
    seen : (n,) bool array
        The part's faces on the good side.
    printer : Printer
    """
    solid, hanging, fit = row.piece.solid, row.overhang, row.fit
    layers = layer_count(fit.height, printer.layer_height)
    counts = Glances(solid, good, printer).islands(np.array(row.up), min(layers, MOST_LAYERS))
    crossings = float(np.maximum(counts - 1, 0).sum()) * layers / len(counts)
    shown = crossings > 0.0 and bool(good.any())
    return DirectionFigures(
        up=row.up,
        exact=True,
        fits=fit.fits,
        spare=fit.spare,
        height=fit.height,
        sides=fit.sides,
        outline=fit.outline_area,
        overhang=hanging.area,
        support=row.support.volume,
        support_seen=sum(supports_on(solid, row.up, hanging, good)),
        contact=hanging.contact_area,
        contact_seen=float(solid.face_areas[hanging.contact & good].sum()),
        crossings=crossings,
        crossings_seen=_share_seen(row, counts, part, seen, printer) * crossings if shown else 0.0,
        islands=int(counts.max()),
        tip=tipping_angle(solid, row.up),
    )


def _share_seen(
    row: PieceFigures, counts: Ints, part: Solid, seen: Bools, printer: Printer
) -> float:
    """Return what share of the gaps between islands ends on the good side.

    Of layers with `counts` islands those are cut that `seen_crossings` would choose.
    """
    gapped = np.flatnonzero(counts > 1)
    chosen = gapped[
        np.linspace(0, len(gapped) - 1, min(len(gapped), MOST_GAPPED)).round().astype(int)
    ]
    direction = np.array(row.up)
    heights = row.piece.solid.hull.vertices @ direction
    levels = heights.min() + np.ptp(heights) * (chosen + 0.5) / len(counts)
    sections = row.piece.solid.sections(Plane.through((0.0, 0.0, 0.0), direction), levels)
    least = np.pi / 4.0 * printer.line_width**2
    cut: Layers = (
        len(chosen),
        [(each.plane, tuple(p for p in each.polygons if p.area >= least)) for each in sections],
    )
    layer = printer.layer_height, printer.line_width
    found = seen_crossings(row.piece.solid, row.up, *layer, part, seen, cut)
    total = sum(max(len(islands) - 1, 0) for _, islands in cut[1])
    return found / total if total else 0.0
