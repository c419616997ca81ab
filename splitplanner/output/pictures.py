"""Which pictures a plan has: the part with its cuts, its pieces apart, each piece on its bed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, unit_vector
from splitplanner.joint import Brace
from splitplanner.loaded import named
from splitplanner.output.anchors import CoarseView, anchors, coarse_view
from splitplanner.output.scene import (
    INK,
    LANDSCAPE,
    METAL,
    OKABE_ITO,
    PORTRAIT,
    BedFrame,
    Body,
    Label,
    Line,
    Scene,
    Sheet,
    view_frame,
)
from splitplanner.plan import Division, Piece, Pin, Plan, Screw, Vector, direction_words
from splitplanner.solid import Solid
from splitplanner.workshop import Bed, nominal_diameter

_PAST = 0.05
"""How far a cut plane reaches past what it cuts, as a share of the part's diagonal."""
_APART = 0.12
"""Gap between pieces pulled apart, as a share of the part's diagonal."""
_ON_BED: Vector = (-0.55, -1.0, 0.75)


def piece_colours(division: Division) -> dict[str, str]:
    """Return a colour for each piece by name, the same in every picture.

    Colours follow the pieces' numbers; pieces that share a seam differ while seven colours last.
    """
    near: dict[str, set[str]] = {piece.name: set() for piece in division.pieces}
    for seam in division.seams:
        near[seam.below].add(seam.above)
        near[seam.above].add(seam.below)
    colours: dict[str, str] = {}
    for piece in division.pieces:
        start = piece.number - 1
        ranked = [OKABE_ITO[(start + k) % len(OKABE_ITO)] for k in range(len(OKABE_ITO))]
        taken = {colours.get(name) for name in near[piece.name]}
        colours[piece.name] = next((c for c in ranked if c not in taken), ranked[0])
    return colours


def part_with_cuts(division: Division, plan: Plan, size: tuple[int, int] | None = None) -> Scene:
    """Return the whole part in the colours of its pieces, with seams and cut planes.

    A cut plane is drawn round what it cuts and a little past it.

    Parameters
    ----------
    size : (width, height) or None
        Pixels; landscape or upright by the part's shape if None.
    """
    colours = piece_colours(division)
    view = _view(division.part)
    bodies = [
        Body(piece.solid.vertices, piece.solid.faces, colours[piece.name])
        for piece in division.pieces
    ]
    coarse = _coarse(bodies, view)
    sheets, marks = _cut_sheets(division, plan, coarse)
    lines = [Line(ring, INK, 3.0) for seam in division.seams for ring in seam.section.rings()]
    return Scene(
        f"{_name(plan)}: {_count(len(plan.cuts), 'cut')}, {_count(len(bodies), 'piece')}",
        (f"whole part {_sizes(division.part.extents)} mm",),
        tuple(bodies),
        tuple(sheets),
        tuple(lines),
        (*_numbers(division.pieces, bodies, coarse), *marks),
        view_from=view,
        size=size or _format(division.part.vertices, view),
    )


def exploded(
    division: Division,
    plan: Plan,
    size: tuple[int, int] | None = None,
    apart: float = _APART,
    braces: Sequence[Brace] = (),
) -> Scene:
    """Return the pieces pulled apart across their seams, with what goes between them.

    Braces are drawn where they are before they are put on, beyond all pieces, with a line from each
    bolt to its place.

    Parameters
    ----------
    size : (width, height) or None
        Pixels; landscape or upright by the part's shape if None.
    apart : float
        Gap between neighbours as a share of the part's diagonal.
    braces : sequence of Brace
        Those of the plan, as they were made.
    """
    colours = piece_colours(division)
    gap = apart * division.part.size
    shifts = pulled_apart(division, gap)
    view = _view(division.part)
    bodies = [
        Body(piece.solid.vertices + shifts[piece.name], piece.solid.faces, colours[piece.name])
        for piece in division.pieces
    ]
    metal: list[Body] = []
    lines: list[Line] = []
    for seam in division.seams:
        for each in plan.joint(seam.name).fasteners:
            ends = np.array(each.at) + np.array([shifts[seam.below], shifts[seam.above]])
            middle = ends.mean(axis=0)
            metal += _pin_body(each, middle) if isinstance(each, Pin) else _screw_body(each, middle)
            lines.append(Line(ends, METAL, 1.5))
    marks: list[Label] = []
    for brace in braces:
        body, ways, label = _brace_apart(brace, bodies, shifts, gap)
        metal.append(body)
        lines += ways
        marks.append(label)
    counts = {
        "dowel pin": sum(len(joint.pins) for joint in plan.joints),
        "screw": sum(len(joint.screws) for joint in plan.joints),
        "brace": len(braces),
        "bolt": sum(len(brace.bosses.bolts) for brace in braces),
    }
    held = "".join(f", {_count(count, what)}" for what, count in counts.items() if count)
    return Scene(
        f"{_name(plan)}: {_count(len(bodies), 'piece')} pulled apart",
        (f"whole part {_sizes(division.part.extents)} mm{held}",),
        (*bodies, *metal),
        lines=tuple(lines),
        labels=(*_numbers(division.pieces, bodies, _coarse(bodies, view)), *marks),
        view_from=view,
        size=size or _format(np.vstack([body.vertices for body in (*bodies, *metal)]), view),
    )


def _brace_apart(
    brace: Brace, bodies: Sequence[Body], shifts: Mapping[str, Floats], gap: float
) -> tuple[Body, list[Line], Label]:
    """Return a brace beyond all pieces, the way of each bolt to its piece, and the brace's name."""
    towards = np.array(brace.wish.towards)
    beyond = max(float((body.vertices @ towards).max()) for body in bodies)
    bolts = brace.bosses.bolts
    along = np.mean([shifts[bolt.piece] for bolt in bolts] or [np.zeros(3)], axis=0)
    along = along - towards * float(along @ towards)
    away = beyond + gap - float((brace.solid.vertices @ towards).min())
    moved = along + towards * max(away, 0.0)
    points = brace.solid.vertices + moved
    ways = [
        Line(np.array([bolt.at + moved, bolt.at + shifts[bolt.piece]]), METAL, 1.5)
        for bolt in bolts
    ]
    end = points[np.argmax(points @ np.array(brace.wish.along))]
    body = Body(points, brace.solid.faces, METAL)
    return body, ways, Label(named("brace", brace.wish.name), end, INK, round=False)


def piece_on_bed(
    piece: Piece,
    pose: ArrayLike,
    bed: Bed,
    colour: str = OKABE_ITO[0],
    size: tuple[int, int] | None = None,
) -> Scene:
    """Return one piece as it lies on the bed.

    Parameters
    ----------
    pose : (4, 4) array
        From the part's frame to that of the bed, whose origin is the low corner of its plan, mm.
    colour : str
        ``#RRGGBB``; see `piece_colours`.
    size : (width, height) or None
        Pixels; landscape or upright by the bed's shape if None.
    """
    matrix = np.asarray(pose, float)
    points = piece.solid.vertices @ matrix[:3, :3].T + matrix[:3, 3]
    lying = Body(points, piece.solid.faces, colour)
    box = np.ptp(points, axis=0)
    up = matrix[2, :3]
    frame = bed_frame(bed)
    reach = np.array(np.meshgrid([0, bed.width], [0, bed.depth], [0, bed.height])).reshape(3, -1).T
    return Scene(
        f"Piece {piece.number} on the bed",
        (
            f"as it lies {_sizes(box)} mm, bed {_bed_text(bed)} mm",
            # The font of pictures has no sign for minus.
            f"print direction: {direction_words(up, minus='-')} of the part is up",
        ),
        (lying,),
        labels=_numbers([piece], [lying], _coarse([lying], _ON_BED)),
        bed=frame,
        view_from=_ON_BED,
        size=size or _format(reach, _ON_BED),
    )


def _pin_body(pin: Pin, middle: Floats) -> list[Body]:
    half = np.array(pin.axis) * pin.length / 2
    return [_bar(middle - half, middle + half, pin.diameter)]


def _screw_body(screw: Screw, middle: Floats) -> list[Body]:
    """Return shank and head of a screw, with the head of ISO 4762: 1.8 d wide and d high."""
    axis, diameter = np.array(screw.axis), nominal_diameter(screw.standard, screw.size)
    start = middle - axis * screw.length / 2
    shank = _bar(start, start + axis * screw.length, diameter)
    return [shank, _bar(start - axis * diameter, start, 1.8 * diameter)]


def _bar(start: Floats, end: Floats, diameter: float) -> Body:
    bar = Solid.cylinder(start, end, diameter / 2, 24)
    return Body(bar.vertices, bar.faces, METAL)


def _numbers(
    pieces: Sequence[Piece], bodies: Sequence[Body], coarse: CoarseView
) -> tuple[Label, ...]:
    """Return the number of each piece where the piece can be seen; `coarse` shows `bodies`."""
    places = anchors([(body.vertices, body.faces) for body in bodies], coarse)
    return tuple(
        Label(str(piece.number), at, body.colour)
        for piece, body, at in zip(pieces, bodies, places, strict=True)
    )


def _coarse(bodies: Sequence[Body], view: Vector) -> CoarseView:
    return coarse_view([(body.vertices, body.faces) for body in bodies], view_frame(view))


def _cut_sheets(
    division: Division, plan: Plan, coarse: CoarseView
) -> tuple[list[Sheet], list[Label]]:
    """Return each cut plane round its seams and a little past them, and the names of its seams."""
    sheets, marks = [], []
    past = _PAST * division.part.size
    for index, cut in enumerate(plan.cuts):
        seams = [seam for seam in division.seams if seam.cut == index]
        if not seams:
            continue
        low_u, low_v, high_u, high_v = shapely.total_bounds(
            np.array([seam.section.shape for seam in seams])
        )
        u, v = (low_u - past, high_u + past), (low_v - past, high_v + past)
        corners = cut.plane.to_space([(u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])])
        sheets.append(Sheet(corners))
        names = [seam.name for seam in seams]
        text = ", ".join(names) if len(names) <= 3 else f"{names[0]} to {names[-1]}"
        marks.append(Label(text, _free_corner(corners, coarse), INK, round=False))
    return sheets, marks


def _free_corner(corners: Floats, coarse: CoarseView) -> Floats:
    """Return the highest corner (3,) beside the part, or the highest if all lie over it."""
    free = corners[~coarse.covers(corners)]
    chosen = free if len(free) else corners
    heights = np.round(chosen @ coarse.frame[1], 6)
    place: Floats = chosen[int(np.argmax(heights))]
    return place


def pulled_apart(division: Division, gap: float) -> dict[str, Floats]:
    """Return how far each piece is moved, (3,) mm, so that all seams open by about `gap`.

    Least squares over the seams: ``shift(above) - shift(below) = gap * normal``. It opens a row or
    a grid of pieces evenly; where seams meet in a T it is a compromise, scaled up until the seam
    that opens least opens by half of `gap`.
    """
    names = [piece.name for piece in division.pieces]
    row = {name: index for index, name in enumerate(names)}
    shifts = _loose_shifts(division, gap)
    if not division.seams:
        return dict(zip(names, shifts, strict=True))
    ends = np.array([(row[seam.below], row[seam.above]) for seam in division.seams])
    normals = np.array([seam.plane.normal for seam in division.seams])
    links = np.zeros((len(ends), len(names)))
    links[np.arange(len(ends)), ends[:, 0]] = -1.0
    links[np.arange(len(ends)), ends[:, 1]] = 1.0
    opened = np.linalg.lstsq(links, gap * normals, rcond=None)[0]
    least = float(((opened[ends[:, 1]] - opened[ends[:, 0]]) * normals).sum(axis=1).min())
    opened *= min(4.0, max(1.0, gap / 2 / least)) if least > 0 else 1.0
    return dict(zip(names, opened + shifts, strict=True))


def _loose_shifts(division: Division, gap: float) -> Floats:
    """Return shifts (n, 3) away from the middle for bodies that no seam joins to the others."""
    joined = {name for seam in division.seams for name in (seam.below, seam.above)}
    middle = division.part.bounds.mean(axis=0)
    shifts = np.zeros((len(division.pieces), 3))
    for index, piece in enumerate(division.pieces):
        out = piece.solid.bounds.mean(axis=0) - middle
        if piece.name not in joined and np.linalg.norm(out) > 0:
            shifts[index] = gap * unit_vector(out)
    return shifts


def _view(part: Solid) -> Vector:
    """Return a view from a little above in which the long side lies across the picture."""
    x, y, z = part.extents
    tall = z > max(x, y)
    turn = np.radians(32.0)
    across = np.array([-np.sin(turn), -np.cos(turn)])
    if y > x:
        across = np.array([np.cos(turn), -np.sin(turn)])
    rise = np.tan(np.radians(16.0 if tall else 30.0))
    return (float(across[0]), float(across[1]), float(rise))


def _format(points: Floats, view: Vector) -> tuple[int, int]:
    """Return landscape or upright, whichever shows `points` (n, 3) larger."""
    width, height = np.ptp(points @ view_frame(view)[:2].T, axis=0)
    return PORTRAIT if height > width else LANDSCAPE


def bed_frame(bed: Bed) -> BedFrame:
    """Return the bed as it is drawn, with a grid of 10 mm, or of 50 mm on large beds."""
    plan = _bed_plan(bed)
    kept = plan.buffer(-bed.margin, join_style="mitre") if bed.margin else plan
    inner = kept if kept.geom_type == "Polygon" else max(kept.geoms, key=lambda part: part.area)
    step = 10.0 if max(bed.width, bed.depth) <= 250.0 else 20.0
    x = np.arange(step, bed.width, step)
    y = np.arange(step, bed.depth, step)
    rows = [[(at, 0.0), (at, bed.depth)] for at in x] + [[(0.0, at), (bed.width, at)] for at in y]
    cut = shapely.intersection(shapely.linestrings(rows), plan)
    grid = [
        shapely.get_coordinates(piece)
        for piece in shapely.get_parts(cut)
        if piece.geom_type == "LineString" and not piece.is_empty
    ]
    return BedFrame(
        shapely.get_coordinates(plan.exterior),
        shapely.get_coordinates(inner.exterior),
        tuple(np.array(area) for area in bed.blocked),
        bed.height,
        tuple(grid),
    )


def _bed_plan(bed: Bed) -> shapely.Polygon:
    if bed.kind == "circle":
        radius = bed.width / 2
        return shapely.Point(radius, radius).buffer(radius, quad_segs=32)
    if bed.kind == "outline":
        return shapely.Polygon(bed.outline)
    return shapely.box(0.0, 0.0, bed.width, bed.depth)


def _bed_text(bed: Bed) -> str:
    if bed.kind == "circle":
        return f"round {bed.width:g} x {bed.height:g}"
    return f"{bed.width:g} x {bed.depth:g} x {bed.height:g}"


def _name(plan: Plan) -> str:
    stem = plan.part.path.replace("\\", "/").rsplit("/", 1)[-1]
    return stem.rsplit(".", 1)[0] or "part"


def _sizes(extents: ArrayLike) -> str:
    return " x ".join(f"{round(float(size), 1):g}" for size in np.asarray(extents))


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
