"""Pieces of a plan laid into cells, with their load case and all that holds them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.errors import LoadError
from splitplanner.joint import Brace
from splitplanner.loaded.brace_loads import sheet_of
from splitplanner.loaded.cells_answers import BracePlace, CondensedPlan, Place
from splitplanner.loaded.cells_braces import bolt_gaps, brace_beam
from splitplanner.loaded.cells_glue import Glued, smoothing, taken_in
from splitplanner.loaded.cells_loads import LoadedParts
from splitplanner.loaded.cells_seams import (
    Fixings,
    SeamSides,
    needs_screws_across,
    seam_sides,
)
from splitplanner.loaded.cells_spots import row_of
from splitplanner.plan import Division, Line, Load, Loading, Piece, Plan, PointLoad
from splitplanner.progress import Report, silent
from splitplanner.solid import axes_of_form
from splitplanner.strength import HeldBy, LayeredStiffness
from splitplanner.strength.cells import (
    SIZE,
    Assembly,
    condensed,
    embedded,
    stacked,
)
from splitplanner.workshop import Shelf, known_material


def condensed_plan(
    division: Division,
    pieces: Sequence[Piece],
    plan: Plan,
    shelf: Shelf,
    loading: Loading,
    *,
    braces: Sequence[Brace] = (),
    tape_lines: Mapping[str, tuple[Line, ...]] | None = None,
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
    # One frame for all: pieces that are alike left and right of a cut stay so.
    frame = axes_of_form(division.part)
    models = []
    for index, piece in enumerate(pieces):
        report(0.2 * index / len(pieces), f"laying piece {piece.number} into cells")
        up = plan.up(piece.name)
        models.append(embedded(piece.solid, stiffness, up, size, frame=frame))
    names = tuple(piece.name for piece in pieces)
    report(0.2, "finding what holds the pieces")
    parts = LoadedParts(Assembly(tuple(models), ()), loading)
    held = parts.held()
    assembly = replace(parts.assembly, holds=held.holds)
    sides = tuple(seam_sides(seam, assembly, names, plan) for seam in division.seams)
    contacts, firm, glued = _seams(assembly, sides, plan)
    fixings = Fixings(assembly, shelf, stiffness.along)
    rows = _Rows(sum(gaps.shape[0] for gaps in contacts))
    found = []
    for each in sides:
        joint = plan.joint(each.seam.name)
        lines = (tape_lines or {}).get(joint.seam, ())
        for thing, fixing in fixings.things(each, joint, lines, needs_screws_across(joint)):
            found.append(Place(joint.seam, thing, fixing, rows.added(fixing.gaps)))
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
    many = [
        each.start - rows.first + row
        for each in found
        if each.fixing.kind in ("tape", "register")
        for row in range(each.fixing.gaps.shape[0])
    ]
    whole = condensed(
        assembly, _all(contacts, assembly), rows.all(assembly), forces, row_of(forces), many
    )
    return CondensedPlan(
        plan, loading, names, sides, tuple(found), glued, tuple(strips), ground, firm, whole,
        load_size(loading), fixings, taken_in(whole, glued, firm),
    )  # fmt: skip


def _seams(
    assembly: Assembly, sides: Sequence[SeamSides], plan: Plan
) -> tuple[list[Any], Floats, tuple[Glued, ...]]:
    """Return gaps in the contact of all seams: along their normals, then across those with glue.

    Returns
    -------
    gaps : list of sparse (k, f) array
    firm : (c,) float array, N/mm
        Springs of those along normals.
    glued : tuple of Glued
    """
    gaps = [assembly.contact_gaps(each.contact) for each in sides]
    springs = [assembly.glued(each.contact) for each in sides]
    ends = np.cumsum([0, *(each.shape[0] // 3 for each in gaps)]).tolist()
    contacts, glued, start = [each[2::3] for each in gaps], [], ends[-1]
    for index, each in enumerate(sides):
        glue = HeldBy.of(plan.fastening_of(each.seam.name)).adhesive
        if glue is not None:
            contacts += [gaps[index][0::3], gaps[index][1::3]]
            across = np.concatenate([springs[index][0::3], springs[index][1::3]])
            some = slice(ends[index], ends[index + 1])
            smooth = smoothing(each.contact.at)
            glued.append(Glued(each.seam.name, some, start, across, glue, smooth))
            start += len(across)
    firm = np.concatenate([np.zeros(0), *(each[2::3] for each in springs)])
    return contacts, firm, tuple(glued)


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
        self.first = self._next = first
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
