"""Figures for every face of every piece, to be shown on the model."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from splitplanner.arrays import Bools, Floats
from splitplanner.background.overlay import LINES, MODULUS, OF_LOADS, THICKNESS, Overlay
from splitplanner.background.strength_overlays import load_overlay
from splitplanner.plan import Division, Piece, Plan, Vector
from splitplanner.progress import Report, part_of
from splitplanner.score import Stations, Surfaces, WallFigures, overhang, stations
from splitplanner.score.islands import known_layers
from splitplanner.solid import Solid, floor_below
from splitplanner.suggest.standing_in import carried_over
from splitplanner.workshop import Printer, overhang_words

if TYPE_CHECKING:
    from splitplanner.loaded import StrengthAnswer

_COLUMNS = 120
"""Lines that stand for support are drawn for so many places of a piece."""


def overlay(
    name: str,
    division: Division,
    plan: Plan,
    seen: Bools,
    light: Solid,
    report: Report,
    surfaces: Surfaces | None = None,
    walls: WallFigures | None = None,
    strength: StrengthAnswer | None = None,
    load: str = "",
) -> Overlay:
    """Work out an overlay.

    Parameters
    ----------
    name : str
        One of `OVERLAYS`.
    division : Division
    plan : Plan
        Whose pieces they are.
    seen : (m,) bool array
        The part's faces on the good side.
    light : Solid
        A light stand-in for the part.
    report : progress callback
    surfaces : Surfaces, optional
        What is remembered of walls.
    walls : WallFigures, optional
        Of the part.
    strength : StrengthAnswer, optional
        What is known of the plan's load cases.
    load : str
        The load case that is looked at; the first one if there is none of this name.
    """
    if name in OF_LOADS:
        return load_overlay(name, load, division, plan, strength)
    surfaces = surfaces or Surfaces()
    along = stations(light, light.long_axis, plan.machine) if name == MODULUS else None
    values: dict[str, Floats] = {}
    lines: dict[str, Floats] = {}
    for index, piece in enumerate(division.pieces):
        within = part_of(report, index / len(division.pieces), (index + 1) / len(division.pieces))
        within(0.0, f"looking at piece {piece.number}")
        up = plan.up(piece.name)
        if name == "good side":
            values[piece.name] = _good_side(piece, division, seen)
        elif along is not None:
            values[piece.name] = _modulus(piece.solid, along)
        elif name == THICKNESS:
            # Where there is no wall there is nothing to say.
            values[piece.name] = surfaces.thickness(piece.solid, plan.machine, within).face_walls
        elif name == LINES:
            values[piece.name] = surfaces.wall_lines(piece.solid, plan.machine, within).face_gaps
        else:
            values[piece.name] = _FIGURES[name](piece.solid, up, plan.machine)
        if name == "support":
            lines[piece.name] = _columns(piece.solid, up, plan.machine)
    unit = {THICKNESS: "mm", LINES: "mm", "islands": "islands", MODULUS: "mm3"}.get(name, "")
    shown = walls if name in (THICKNESS, LINES) else None
    hangs = name in ("overhang", "support")
    words = overhang_words(plan.printer, plan.material) if hangs else ""
    return Overlay(name, unit, values, lines, shown, words)


def _overhang(solid: Solid, up: Vector, printer: Printer) -> Floats:
    """Return 1 for faces that need support, 0 for others."""
    found = overhang(solid, up, printer.overhang_limit, printer.bridge_span)
    return np.where(found.faces, 1.0, 0.0)


def islands_at(solid: Solid, up: Vector, printer: Printer) -> Floats:
    """Return how many islands the layer has in which each face begins, (m,)."""
    _, layers = known_layers(solid, up, printer.layer_height, printer.line_width)
    heights = solid.face_centroids @ np.array(up)
    low = float((solid.vertices @ np.array(up)).min())
    high = float((solid.vertices @ np.array(up)).max())
    share = (heights - low) / max(high - low, 1e-9)
    counts = np.array([len(polygons) for _, polygons in layers], dtype=np.float64)
    at = np.clip((share * len(counts)).astype(np.int64), 0, len(counts) - 1)
    found: Floats = counts[at]
    return found


def _modulus(solid: Solid, along: Stations) -> Floats:
    """Return the section modulus of the part at the station of each face, (m,) mm³."""
    at = solid.face_centroids @ np.array(along.axis)
    found: Floats = np.interp(at, along.positions, along.modulus)
    return found


def _good_side(piece: Piece, division: Division, seen: Bools) -> Floats:
    """Return 1 for faces on the good side, 0 for others and for those that cuts left."""
    found = carried_over(seen, division.part, piece.solid)
    faces = piece.solid
    for seam in division.seams:
        if piece.name in (seam.below, seam.above):
            found = found & ~(np.abs(seam.plane.height(faces.face_centroids)) < 1e-6)
    return np.where(found, 1.0, 0.0)


def _columns(solid: Solid, up: Vector, printer: Printer) -> Floats:
    """Return lines from what needs support down to what is below it, (n, 2, 3) mm."""
    found = overhang(solid, up, printer.overhang_limit, printer.bridge_span)
    faces = np.flatnonzero(found.faces)
    if not len(faces):
        return np.empty((0, 2, 3))
    # Spread evenly over the area, the same ones each time.
    areas = np.cumsum(solid.face_areas[faces])
    steps = (np.arange(_COLUMNS) + 0.5) / _COLUMNS * areas[-1]
    chosen = np.unique(faces[np.searchsorted(areas, steps)])
    tops = solid.face_centroids[chosen]
    direction = np.array(up)
    bed = float((solid.vertices @ direction).min())
    drop = tops @ direction - np.maximum(floor_below(solid, up, tops), bed)
    return np.stack([tops, tops - drop[:, None] * direction], axis=1)


_FIGURES: dict[str, Callable[[Solid, Vector, Printer], Floats]] = {
    "overhang": _overhang,
    "support": _overhang,
    "islands": islands_at,
}
