"""Pieces of a plan laid into cells, with their load case and all that holds them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString

from splitplanner.arrays import to_vector
from splitplanner.errors import LoadError
from splitplanner.joint import Brace
from splitplanner.loaded.brace_loads import sheet_of
from splitplanner.loaded.cells_answers import BracePlace, CondensedPlan, Place
from splitplanner.loaded.cells_braces import bolt_gaps, brace_beam
from splitplanner.loaded.cells_loads import LoadedParts, row_of
from splitplanner.loaded.cells_seams import Fixings, SeamSides, seam_sides
from splitplanner.loaded.uncut import known_material
from splitplanner.plan import Division, Joint, Line, Load, Loading, Piece, Plan, PointLoad, Screw
from splitplanner.progress import Report, silent
from splitplanner.strength import LayeredStiffness
from splitplanner.strength.cells import (
    SIZE,
    Assembly,
    condensed,
    embedded,
    stacked,
)
from splitplanner.strength.seam_ground import contact_of
from splitplanner.workshop import Shelf

PLACES = 8.0
"""Distance of the places where screws are tried, mm."""


def condensed_plan(
    division: Division,
    pieces: Sequence[Piece],
    plan: Plan,
    shelf: Shelf,
    loading: Loading,
    *,
    braces: Sequence[Brace] = (),
    tape_lines: Mapping[str, tuple[Line, ...]] | None = None,
    places: bool = False,
    size: float = SIZE,
    report: Report = silent,
) -> CondensedPlan:
    """Lay a plan into cells and condense it to its seams under a load case.

    Parameters
    ----------
    division : Division
    pieces : sequence of Piece
        The same as they are computed: as they are printed, with flanges, holes and the lands and
        bosses of the braces. Bare ones have nothing that screws in flanges could hold on to.
    plan : Plan
    shelf : Shelf
    loading : Loading
        Its loads act as they are; what a fall makes of them has to be in them.
    braces : sequence of Brace
    tape_lines : mapping of seam name to lines, optional
        As for `strength_answer`.
    places : bool
        Whether screws are tried along all flanges, so that it answers to screws that are moved or
        added: takes longer.
    size : float
        Of cells, mm.
    report : progress callback

    Raises
    ------
    LoadError
        If a load or support has nothing to act on, or a seam's pieces nothing to touch.
    WorkshopError
        If hardware or material is not known.
    """
    material, _ = known_material(plan.material)
    stiffness = LayeredStiffness.of(material)
    models = []
    for index, piece in enumerate(pieces):
        report(0.2 * index / len(pieces), f"laying piece {piece.name} into cells")
        models.append(embedded(piece.solid, stiffness, plan.up(piece.name), size))
    names = tuple(piece.name for piece in pieces)
    report(0.2, "finding what holds the pieces")
    parts = LoadedParts(Assembly(tuple(models), ()), loading)
    held = parts.held()
    assembly = replace(parts.assembly, holds=held.holds)
    sides = tuple(seam_sides(seam, assembly, names, plan) for seam in division.seams)
    contacts = [assembly.contact_gaps(each.contact)[2::3] for each in sides]
    firm = [assembly.glued(each.contact)[2::3] for each in sides]
    fixings = Fixings(assembly, shelf, stiffness.along)
    rows = _Rows(sum(gaps.shape[0] for gaps in contacts))
    found = []
    for each in sides:
        joint = plan.joint(each.seam.name)
        found += _places(fixings, each, joint, (tape_lines or {}).get(joint.seam, ()), rows)
        if places:
            found += _tried(fixings, each, joint, rows)
    strips = []
    for brace in braces:
        sheet = sheet_of(brace.profile.wish, shelf, material)
        beam = brace_beam(brace, sheet, shelf, stiffness.along)
        strips.append(
            BracePlace(beam, rows.added(bolt_gaps(assembly, names, brace)), sheet.proof_stress)
        )
    ground = rows.added(held.gaps), held.springs
    forces = parts.forces()
    report(0.3, "condensing the pieces to their seams")
    whole = condensed(
        assembly, _all(contacts, assembly), rows.all(assembly), forces, row_of(forces)
    )
    return CondensedPlan(
        plan, loading, names, sides, tuple(found), tuple(strips), ground,
        np.concatenate(firm) if firm else np.zeros(0), whole, load_size(loading), shelf,
    )  # fmt: skip


def load_size(loading: Loading) -> float:
    """Return the size of all loads of a load case, N; couples count by 1 N for each N·mm.

    Raises
    ------
    LoadError
        If nothing acts.
    """
    total = sum(_size(load) for load in loading.case.loads)
    if not total > 0.0:
        raise LoadError(f"Load case “{loading.name}” has no load; add one.")
    return total


def _size(load: Load) -> float:
    force = float(np.linalg.norm(load.total))
    if isinstance(load, PointLoad) and force == 0.0:
        return float(np.linalg.norm(load.moment))
    return force


class _Rows:
    """Gaps one after the other, behind those of the contacts."""

    def __init__(self, first: int) -> None:
        self._next = first
        self._gaps: list[Any] = []

    def added(self, gaps: Any) -> int:
        start = self._next
        self._gaps.append(gaps)
        self._next += gaps.shape[0]
        return start

    def all(self, assembly: Assembly) -> Any:
        return _all(self._gaps, assembly)


def _all(gaps: Sequence[Any], assembly: Assembly) -> Any:
    from scipy.sparse import csr_array

    return stacked([csr_array((0, int(assembly.starts[-1]))), *gaps])


def _places(
    fixings: Fixings, sides: SeamSides, joint: Joint, lines: tuple[Line, ...], rows: _Rows
) -> list[Place]:
    """Return all fasteners of a joint."""
    found = []
    for fixing in fixings.of(sides, joint, lines):
        thing: object = joint.tape if fixing.kind == "tape" else joint.register
        if fixing.kind == "pin":
            thing = joint.pins[fixing.number]
        elif fixing.kind in ("screw", "screw across"):
            thing = joint.screws[fixing.number]
        found.append(Place(joint.seam, thing, fixing, rows.added(fixing.gaps)))
    return found


def _tried(fixings: Fixings, sides: SeamSides, joint: Joint, rows: _Rows) -> list[Place]:
    """Return places for screws as the joint has them, along its flange."""
    found = []
    known = [np.array(screw.at) for screw in joint.screws]
    for screw in screws_along(sides, joint):
        if min(np.linalg.norm(at - screw.at) for at in known) < PLACES / 4.0:
            continue
        fixing = fixings.screw(sides, screw)
        found.append(Place(joint.seam, screw, fixing, rows.added(fixing.gaps)))
    return found


def screws_along(sides: SeamSides, joint: Joint) -> list[Screw]:
    """Return screws like the first of a joint, all along its flange."""
    if joint.flange is None or not joint.screws:
        return []
    plane, first = sides.seam.plane, joint.screws[0]
    place = shapely.points(plane.to_plane(np.array([first.at]))[0])
    lines = [LineString(line) for line in joint.flange.lines]
    arm = min(float(line.distance(place)) for line in lines)
    contact = contact_of(sides.seam, joint).buffer(-screw_room(first))
    found = []
    for line in lines:
        # The wall is on the left of the line, the rim on its right.
        for way in shapely.get_parts(line.offset_curve(-arm)):
            count = max(1, math.ceil(way.length / PLACES))
            spots = shapely.line_interpolate_point(way, np.linspace(0.0, way.length, count + 1))
            for at in plane.to_space(
                shapely.get_coordinates(spots[shapely.contains(contact, spots)])
            ):
                found.append(replace(first, at=to_vector(at)))
    return found


def screw_room(screw: Screw) -> float:
    """Return how far a screw has to be from the edge of the contact, mm."""
    return screw.clearance / 2.0
