"""What the view and the chart show of a plan, as plain values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.background.examined import MadeBrace
from splitplanner.loaded.wording import named
from splitplanner.output import OKABE_ITO, pulled_apart, view_frame
from splitplanner.plan import Division, Flange, Joint, Plan, Screw, Seam, Vector
from splitplanner.score import BedFit, Figures, SeamRow
from splitplanner.score.lying import Fit, fit_of, stretch_along
from splitplanner.solid import Plane, Section, Solid
from splitplanner.window.chart.cut_places import ChartAxis, place_of
from splitplanner.window.chart.values import CutMark, Span
from splitplanner.window.look import FIT_MARKS
from splitplanner.window.seams.ground import rim_of
from splitplanner.window.view.values import Mark, Outline, ShownBody, ShownPlane

PLAIN = "#B8BDC6"
"""Of the part before it is cut."""
APART = 0.25
"""Pieces are pulled apart by this share of the part's diagonal at most."""
_PAST = 0.05
"""A cut plane reaches past what it cuts by this share of the part's diagonal."""
ROOM = "#009E73"
FLANGE = "#D55E00"
BRACE = "#7F8791"
_BESIDE = 0.01
"""What is further off a plane than this was made for another one, mm."""
_FIT_WORDS = {
    Fit.TOO_LARGE: ("does not fit", "do not fit"),
    Fit.TURNED: ("fits turned", "fit turned"),
    Fit.SQUARE: ("fits", "fit"),
}
"""Of one piece and of more."""
"""Okabe & Ito, "Color Universal Design" (2008): bluish green and vermilion."""
_RING = 24
"""A circle is drawn with so many corners."""
_ABOUT = 0.05
"""So far from the middle of a piece its number may stand, as a share of its size in the picture."""
_STILL = (0.0, 0.0, 0.0)


def bodies_of(
    division: Division, colours: Mapping[str, str], spread: float = 0.0
) -> list[ShownBody]:
    """Return the pieces, pulled apart by a share `spread` of what is most."""
    shifts = shifts_of(division, spread)
    return [
        ShownBody(
            piece.name,
            piece.solid.vertices,
            piece.solid.faces,
            colours[piece.name] if len(division.pieces) > 1 else PLAIN,
            shifts[piece.name],
        )
        for piece in division.pieces
    ]


def shifts_of(division: Division, spread: float) -> dict[str, Vector]:
    """Return by how much each piece is pulled away, mm."""
    if spread <= 0.0 or len(division.pieces) < 2:
        return dict.fromkeys(division.by_name, _STILL)
    shifts = pulled_apart(division, spread * APART * division.part.size)
    return {name: to_vector(shift) for name, shift in shifts.items()}


def brace_bodies(braces: Iterable[MadeBrace], division: Division, spread: float) -> list[ShownBody]:
    """Return braces, pulled off the part by a share `spread` of what is most."""
    away = spread * APART * division.part.size
    return [
        ShownBody(
            named("brace", each.name),
            each.solid.vertices,
            each.solid.faces,
            BRACE,
            to_vector(away * np.array(each.towards)),
        )
        for each in braces
    ]


def body_of(solid: Solid, name: str = "part", colour: str = PLAIN) -> ShownBody:
    """Return a solid as it is."""
    return ShownBody(name, solid.vertices, solid.faces, colour)


def live_bodies(pieces: Mapping[str, Solid], colours: dict[str, str]) -> list[ShownBody]:
    """Return light pieces; `colours` gets one for each that has none yet."""
    for name in sorted(set(pieces) - set(colours)):
        taken = list(colours.values())
        colours[name] = min(OKABE_ITO, key=lambda each: (taken.count(each), OKABE_ITO.index(each)))
    return [
        ShownBody(name, solid.vertices, solid.faces, colours[name])
        for name, solid in pieces.items()
    ]


def laid_on_bed(solid: Solid, fit: BedFit, colour: str, name: str) -> ShownBody:
    """Return a piece as it lies on the bed."""
    pose = fit.pose(solid.vertices)
    lying = solid.vertices @ pose[:3, :3].T + pose[:3, 3]
    return ShownBody(name, lying, solid.faces, colour)


def planes_of(
    plan: Plan, part: Solid, division: Division | None, selected: int | None
) -> list[ShownPlane]:
    """Return the cut planes, each round what it cuts and a little past it."""
    shown = []
    for index, cut in enumerate(plan.cuts):
        corners = sheet_of(cut.plane, _cut_box(index, part, division), _PAST * part.size)
        centre = to_vector(corners.mean(axis=0))
        name = f"Cut {index + 1}"
        shown.append(ShownPlane(index, cut.plane, centre, corners, name, index == selected))
    return shown


def _cut_box(index: int, part: Solid, division: Division | None) -> Floats:
    """Return the box (2, 3) mm round the pieces on both sides of a cut, or round the part."""
    seams = () if division is None else division.seams
    names = {name for seam in seams if seam.cut == index for name in (seam.below, seam.above)}
    if division is None or not names:
        return part.bounds
    boxes = np.array([division.piece(name).solid.bounds for name in names])
    return np.array([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])


def sheet_of(plane: Plane, box: Floats, past: float) -> Floats:
    """Return the corners (4, 3) mm of a sheet in a plane that shows where it meets a box (2, 3).

    The box seen along the normal, and a margin past it; where the plane leans, only as much of the
    box as it meets.
    """
    corners = np.stack(np.meshgrid(*box.T, indexing="ij"), axis=-1).reshape(-1, 3)
    met = _met_edges(plane, corners)
    flat = plane.to_plane(met if len(met) else corners)
    (low_u, low_v), (high_u, high_v) = flat.min(axis=0) - past, flat.max(axis=0) + past
    return plane.to_space([(low_u, low_v), (high_u, low_v), (high_u, high_v), (low_u, high_v)])


_EDGES = tuple(
    (one, other)
    for one in range(8)
    for other in range(one + 1, 8)
    if bin(one ^ other).count("1") == 1
)


def _met_edges(plane: Plane, corners: Floats) -> Floats:
    """Return where a plane meets the edges of a box with corners (8, 3), (n, 3) mm."""
    heights = plane.height(corners)
    met = []
    for one, other in _EDGES:
        if heights[one] * heights[other] <= 0.0 and heights[one] != heights[other]:
            share = heights[one] / (heights[one] - heights[other])
            met.append(corners[one] + share * (corners[other] - corners[one]))
    return np.array(met).reshape(-1, 3)


def seam_outlines(sections: Iterable[Section], colour: str, width: float) -> list[Outline]:
    """Return the outlines of sections."""
    return [Outline(ring, colour, width) for section in sections for ring in section.rings()]


def joint_outlines(joints: Sequence[Joint], seams: Sequence[Seam], colour: str) -> list[Outline]:
    """Return a line for each pin and screw, as long as it is, and the lines of flanges.

    A screw has a ring where its head bears. Of a seam whose cut has moved nothing is shown until
    it is held anew.
    """
    planes = {seam.name: seam.plane for seam in seams}
    lines = []
    for joint in joints:
        if _is_left_behind(joint, planes.get(joint.seam)):
            continue
        for pin in joint.pins:
            half = np.array(pin.axis) * pin.length / 2
            lines.append(Outline(np.array([pin.at - half, pin.at + half]), colour, 4.0))
        for screw in joint.screws:
            lines += _screw_outlines(screw, colour)
        plane = planes.get(joint.seam)
        if joint.flange is not None and plane is not None:
            lines += _flange_outlines(joint.flange, plane)
    return lines


def _is_left_behind(joint: Joint, plane: Plane | None) -> bool:
    """Whether what holds a seam stands where its cut was before."""
    places = [*(pin.at for pin in joint.pins), *(screw.at for screw in joint.screws)]
    if plane is None or not places:
        return False
    return bool(np.abs(plane.height(np.array(places))).max() > _BESIDE)


def _screw_outlines(screw: Screw, colour: str) -> list[Outline]:
    axis = np.array(screw.axis)
    head = screw.at - axis * screw.seat
    across = Plane.through(head, to_vector(axis))
    turns = np.linspace(0.0, 2.0 * np.pi, _RING + 1)
    ring = screw.head_room / 2 * np.column_stack([np.cos(turns), np.sin(turns)])
    middle = across.to_plane([head])[0]
    return [
        Outline(np.array([head, head + axis * screw.length]), colour, 3.0),
        Outline(across.to_space(middle + ring), colour, 2.0),
    ]


def _flange_outlines(flange: Flange, plane: Plane) -> list[Outline]:
    """Return where a flange begins at the wall, and its free edge."""
    rim = Section(plane, tuple(rim_of(flange).geoms))
    return [
        *(Outline(plane.to_space(line), FLANGE, 2.5) for line in flange.lines),
        *seam_outlines([rim], FLANGE, 1.0),
    ]


def room_outlines(row: SeamRow) -> list[Outline]:
    """Return the outlines of the room in which pins of a seam may stand."""
    room = Section(row.seam.plane, tuple(row.deep_room.polygons.geoms))
    return seam_outlines([room], ROOM, 1.6)


def brace_outlines(braces: Iterable[MadeBrace]) -> list[Outline]:
    """Return how braces run, half way through their sheets: most of them lie inside the part."""
    lines: list[Outline] = []
    for each in braces:
        solid = each.solid
        across = to_vector(solid.face_normals[int(solid.face_areas.argmax())])
        start, stop = stretch_along(solid, across)
        middle = solid.section(Plane(across, (start + stop) / 2.0))
        lines += seam_outlines([middle], BRACE, 1.8)
    return lines


def straight_lines(lines: Mapping[str, Floats], colour: str) -> list[Outline]:
    """Return lines (n, 2, 3) mm of pieces as outlines."""
    return [Outline(line, colour, 1.0) for each in lines.values() for line in each]


def shifted(body: ShownBody, shift: Vector | None) -> ShownBody:
    """Return a body that is pulled away."""
    return body if shift is None else replace(body, shift=shift)


def number_marks(division: Division, bodies: Sequence[ShownBody], view_from: Vector) -> list[Mark]:
    """Return the numbers of pieces, each on the side that is seen from a direction."""
    return [
        Mark(_front_point(body, view_from), str(division.piece(body.name).number), body.colour)
        for body in bodies
    ]


def _front_point(body: ShownBody, view_from: Vector) -> Vector:
    """Return the corner of a body nearest to the viewer among those about its middle."""
    seen = body.vertices @ view_frame(view_from).T
    low, high = seen.min(axis=0), seen.max(axis=0)
    gaps = np.linalg.norm(seen[:, :2] - (low + high)[:2] / 2, axis=1)
    near = np.flatnonzero(gaps <= gaps.min() + _ABOUT * float(np.linalg.norm((high - low)[:2])))
    point: Floats = body.vertices[near[int(seen[near, 2].argmax())]]
    return to_vector(point + np.array(body.shift))


def cut_marks(plan: Plan, axis: ChartAxis) -> list[CutMark]:
    """Return the cuts as markers of the chart."""
    marks = []
    for index, cut in enumerate(plan.cuts):
        place = place_of(cut.plane, axis)
        slope = abs(float(np.sin(np.radians(place.lean))))
        station = place.station + axis.low
        is_movable = bool(np.isfinite(station))
        marks.append(CutMark(index, station, slope, f"Cut {index + 1}", is_movable))
    return marks


def spans_of(
    division: Division, figures: Figures | None, colours: Mapping[str, str], axis: ChartAxis
) -> list[Span]:
    """Return where the pieces lie along the axis of the chart, and whether they fit."""
    fits = {} if figures is None else {row.name: row for row in figures.pieces}
    spans = []
    for piece in division.pieces:
        start, stop = stretch_along(piece.solid, axis.direction)
        row = fits.get(piece.name)
        fit = None if row is None else fit_of(piece.solid, row.fit)
        spans.append(Span(start, stop, fit, str(piece.number), colours[piece.name]))
    return spans


def live_spans(
    pieces: Mapping[str, Solid],
    fits: Mapping[str, Fit],
    colours: Mapping[str, str],
    axis: ChartAxis,
    numbers: Mapping[str, int],
) -> list[Span]:
    """Return where light pieces lie along the axis of the chart.

    Parameters
    ----------
    pieces : dict of str to Solid
    fits : dict of str to Fit
    colours : dict of str to str
    axis : ChartAxis
    numbers : dict of str to int
        What the user knows them by; a piece that has none is called by its name.
    """
    spans = []
    for name, solid in sorted(pieces.items()):
        start, stop = stretch_along(solid, axis.direction)
        label = str(numbers.get(name, name))
        spans.append(Span(start, stop, fits.get(name), label, colours[name]))
    return spans


def numbers_of(division: Division | None) -> dict[str, int]:
    """Return the number of each piece by its name; none of a division that is not known."""
    return {} if division is None else division.numbers


def _as_counted(label: str) -> tuple[int, str]:
    return len(label), label


def fit_text(fits: Mapping[str, Fit], numbers: Mapping[str, int]) -> str:
    """Return how the pieces of a cut fit, in a few words, the worst first.

    Parameters
    ----------
    fits : dict of str to Fit
        By the names of pieces.
    numbers : dict of str to int
        As in `live_spans`.
    """
    told = []
    for fit, (one, many) in _FIT_WORDS.items():
        labels = [str(numbers.get(name, name)) for name, each in fits.items() if each == fit]
        if labels:
            words = one if len(labels) == 1 else many
            told.append(f"{FIT_MARKS[fit]} {' + '.join(sorted(labels, key=_as_counted))} {words}")
    return ", ".join(told)
