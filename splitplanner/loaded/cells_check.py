"""The full check by finite cells: deflection and stress of a plan's pieces, bolts and braces."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.joint import Brace
from splitplanner.loaded.cells_answers import CondensedPlan
from splitplanner.loaded.cells_loads import Held, LoadedParts
from splitplanner.loaded.cells_model import condensed_plan, load_size
from splitplanner.loaded.cells_reading import piece_in_cells
from splitplanner.loaded.cells_values import CellCheck, CellsHeld, PieceInCells
from splitplanner.plan import WHOLE, Division, Line, Loading, Piece, Plan, Vector
from splitplanner.progress import Report, part_of, silent
from splitplanner.solid import Solid, axes_of_form
from splitplanner.strength import LayeredStiffness, LayeredStrength
from splitplanner.strength.cells import (
    SIZE,
    Assembly,
    CellModel,
    elimination_order,
    embedded,
    held_as_whole,
    held_matrix,
)
from splitplanner.workshop import Material, Shelf, known_material

ACCURACY = (
    "Expected of the cells: stiffness within 5 %, stress in walls within 10 %, forces in screws "
    "within 25 %. A thin wall that is pressed in one spot comes out stiffer than it is, by some "
    "7 % with walls of a quarter of a cell. No buckling, creep, fatigue, heat or loss of preload "
    "is in it, and at sharp corners percentiles count, not peaks. Look at ratios first."
)
"""Goes with every figure of these modules; measured on the demonstration hood and a channel."""


def check_by_cells(
    division: Division,
    pieces: Sequence[Piece],
    plan: Plan,
    shelf: Shelf,
    loading: Loading,
    *,
    factor: float = 1.0,
    braces: Sequence[Brace] = (),
    held: CellsHeld = "fastened",
    uncut: CellCheck | None = None,
    tape_lines: Mapping[str, tuple[Line, ...]] | None = None,
    size: float = SIZE,
    report: Report = silent,
) -> CellCheck:
    """Work out what a load case does to a plan, by finite cells.

    Every piece lies in a grid of its own and is as stiff as its layers lie. Seams press and do not
    pull, unless glue that counts holds them; screws, pins, registers and tape are springs; braces
    are beams on their bolts.

    Parameters
    ----------
    division, pieces, plan, shelf, loading, braces, tape_lines, size
        As for `condensed_plan`.
    factor : float
        So many times the loads; all figures rise alike.
    held : "glued", "open", "fastened", "taped" or "braced"
        "glued" is the uncut part in one, printed as the plan says of a piece called whole.
    uncut : CellCheck, optional
        Of the same load case with `held="glued"`, for the stiffness beside it.
    report : progress callback

    Raises
    ------
    LoadError, WorkshopError
        As for `condensed_plan`; and if a piece is held by nothing.
    """
    if held == "glued":
        return check_uncut(division, plan, loading, factor=factor, size=size, report=report)
    start = time.process_time()
    found = condensed_plan(
        division,
        pieces,
        plan,
        shelf,
        loading,
        braces=braces,
        tape_lines=tape_lines,
        size=size,
        report=part_of(report, 0.0, 0.9),
    )
    report(0.9, "finding what every piece takes")
    check = check_condensed(found, held, factor=factor, uncut=uncut)
    return replace(check, seconds=time.process_time() - start)


def check_condensed(
    found: CondensedPlan,
    held: CellsHeld = "braced",
    *,
    factor: float = 1.0,
    uncut: CellCheck | None = None,
) -> CellCheck:
    """Return the full check of a plan that is condensed already: of one way after the other.

    Parameters
    ----------
    found : CondensedPlan
    held, factor, uncut
        As for `check_by_cells`, without "glued".

    Raises
    ------
    LoadError
        If a piece is held by nothing.
    """
    start = time.process_time()
    solved = found.solved(held)
    moved = factor * found.found.displacements(solved.answer)
    material, _ = known_material(found.plan.material)
    strength = LayeredStrength.of(material)
    assembly = found.found.assembly

    def taken(index: int) -> PieceInCells:
        name, model = found.names[index], assembly.models[index]
        return piece_in_cells(
            name, model, assembly.own(moved, index), strength, found.plan.up(name)
        )

    with ThreadPoolExecutor(2) as threads:
        pieces = tuple(threads.map(taken, range(len(found.names))))
    beside = None if uncut is None else uncut.sag / uncut.factor
    live = solved.live(factor, beside)
    return CellCheck(
        loading=found.loading,
        factor=factor,
        held=held,
        pieces=pieces,
        seams=live.seams,
        braces=live.braces,
        sag=live.sag,
        stiffness=live.stiffness,
        freedoms=int(assembly.starts[-1]),
        seconds=time.process_time() - start,
    )


def check_uncut(
    division: Division,
    plan: Plan,
    loading: Loading,
    *,
    factor: float = 1.0,
    size: float = SIZE,
    report: Report = silent,
) -> CellCheck:
    """Work out what a load case does to the part as if printed in one.

    Parameters
    ----------
    division, plan, loading, factor, size, report
        As for `check_by_cells`.

    Raises
    ------
    LoadError
        If a load or support has nothing to act on, or the part can move freely.
    """
    start = time.process_time()
    material, _ = known_material(plan.material)
    up = plan.up(WHOLE)
    report(0.0, "laying the part into cells")
    model, held, forces, stiffness = _laid(division.part, material, up, loading, size)
    report(0.2, "working out the part as if printed in one")
    # Nobody else keeps the stiffness, which is let go once it is in order.
    moved = held_as_whole(
        stiffness.pop(), forces, held.gaps, held.springs, held.aids, model.modulus,
        elimination_order(model.grid.lattice, np.unique(held.aids.indices)),
    )  # fmt: skip
    sag = float(np.dot(forces, moved)) / load_size(loading)
    report(0.9, "finding what the part takes")
    whole = piece_in_cells("", model, factor * moved, LayeredStrength.of(material), up)
    return CellCheck(
        loading=loading,
        factor=factor,
        held="glued",
        pieces=(whole,),
        seams=(),
        braces=(),
        sag=factor * sag,
        stiffness=1.0,
        freedoms=model.freedoms,
        seconds=time.process_time() - start,
    )


def _laid(
    part: Solid, material: Material, up: Vector, loading: Loading, size: float
) -> tuple[CellModel, Held, Floats, list[Any]]:
    """Return a part in cells without its stiffness, how it is held and loaded, and its stiffness.

    That is one with what holds points, in a list from which it can be taken: it is larger than all
    the rest together.
    """
    stiffness = LayeredStiffness.of(material)
    model = embedded(part, stiffness, up, size, frame=axes_of_form(part))
    parts = LoadedParts(Assembly((model,), ()), loading)
    held, forces = parts.held(), parts.forces()
    matrix = held_matrix(model, [hold for _, hold in held.holds])
    return model.light(), held, forces, [matrix]
