"""The check of a plan by finite cells, in the process that examined it."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence

import numpy as np

from splitplanner.background.cells_told import CellsTold, WayInCells
from splitplanner.background.overlay import BENT, SHARE, Overlay
from splitplanner.background.strength_overlays import checked_overlay
from splitplanner.errors import LoadError
from splitplanner.loaded import LoadAnswer, percent_words, way_words
from splitplanner.loaded.cells_answers import CondensedPlan
from splitplanner.loaded.cells_check import ACCURACY, check_condensed, check_uncut
from splitplanner.loaded.cells_model import condensed_plan
from splitplanner.loaded.cells_values import CellCheck
from splitplanner.output import Result
from splitplanner.progress import Report, part_of
from splitplanner.workshop import hardware_shelf

_MORE = 1.05
"""A plan that is stiffer than so many times the uncut part asks for a word."""
_STIFFER = (
    "More than 100 % of the uncut part's stiffness is no mistake: the pieces have flanges and "
    "bosses, and braces maybe, that the part as if printed in one has not, and lie on the bed in "
    "other ways."
)


def load_factor(answer: LoadAnswer) -> float:
    """Return how many times a load case's loads are on the part: what a fall makes of them."""
    if answer.impact is None:
        return 1.0
    whole = float(np.linalg.norm(answer.loading.case.total))
    return answer.impact.factor * answer.impact.drop.weight / whole


def checked_in_cells(
    result: Result,
    name: str,
    report: Report,
    keep: Callable[[CondensedPlan, float, float], None] | None = None,
) -> CellsTold:
    """Check an examined plan under one of its load cases.

    Parameters
    ----------
    result : Result
    name : str
        Of the load case.
    report : progress callback
    keep : callable, optional
        Takes the condensed plan, how many times the loads are on it, and the sag of the uncut part
        under the loads once, mm; see `live_seams.keeping`.

    Raises
    ------
    LoadError
        If the plan has no such load case that could be worked out, or a load or support has
        nothing to act on.
    WorkshopError
        If hardware or material is not known.
    """
    start = time.monotonic()
    answers = () if result.strength is None else result.strength.loads
    answer = next((each for each in answers if each.loading.name == name), None)
    if answer is None:
        raise LoadError(
            f"Load case “{name}” could not be worked out along the part, so it is not checked by "
            "cells either; see the findings."
        )
    plan, factor, loading = result.plan, load_factor(answer), answer.loading
    uncut = check_uncut(
        result.division, plan, loading, factor=factor, report=part_of(report, 0.0, 0.3)
    )
    ways, notes = [_told(uncut)], []
    last: CellCheck | None = None
    made = result.made
    if len(made.pieces) > 1:
        found = condensed_plan(
            result.division,
            made.pieces,
            plan,
            result.shelf or hardware_shelf(),
            loading,
            braces=result.braces,
            report=part_of(report, 0.3, 0.9),
        )
        for at, held in enumerate(answer.ways):
            report(0.9 + 0.1 * at / len(answer.ways), "finding what every piece takes")
            try:
                last = check_condensed(found, held.way, factor=factor, uncut=uncut)
            except LoadError as fault:
                last = None
                words = way_words(held.way, held.has_hardware, held.is_glued)
                notes.append(f"Held by {words}: {fault}")
                continue
            ways.append(_told(last))
        if keep is not None:
            keep(found, factor, uncut.sag / factor)
    notes += notes_of(ways)
    overlays = () if last is None else _overlays(last, name, made.part.size)
    report(1.0, "checked by cells")
    seconds = time.monotonic() - start
    return CellsTold(loading, factor, tuple(ways), tuple(notes), overlays, seconds, ACCURACY)


def _told(check: CellCheck) -> WayInCells:
    worst = max(check.pieces, key=lambda piece: piece.percentiles[1])
    return WayInCells(
        check.held,
        1.0 if check.stiffness is None else check.stiffness,
        check.deflection,
        worst.percentiles,
        worst.name,
        check.seams,
        check.braces,
    )


def notes_of(ways: Sequence[WayInCells]) -> list[str]:
    """Return what is to be known of the figures of some ways, and of the glue in the last one."""
    notes = [_STIFFER] if any(way.stiffness > _MORE for way in ways) else []
    share, seam = ways[-1].glue
    if seam:
        glued = (
            f"The glue of seam {seam} takes {percent_words(share)} of its strength on 95 % of its "
            "area"
        )
        notes.append(f"{glued}, and fails." if share > 1.0 else f"{glued}; its edges take more.")
    return notes


def _overlays(check: CellCheck, name: str, size: float) -> tuple[Overlay, ...]:
    """Return what the faces of the pieces take, and how far they move."""
    words = "At sharp corners look at what lies round them."
    shares = {piece.name: piece.share for piece in check.pieces}
    moves = {piece.name: piece.moved for piece in check.pieces}
    meshes = {piece.name: (piece.vertices, piece.faces) for piece in check.pieces}
    ways = {
        piece.name: np.linalg.norm(piece.moved[piece.faces].mean(axis=1), axis=1)
        for piece in check.pieces
    }
    found = (
        checked_overlay(SHARE, name, shares, words=words, meshes=meshes),
        checked_overlay(BENT, name, ways, moves, size=size, meshes=meshes),
    )
    for each in found:
        # Worked out here, and sent with the rest.
        _ = each.levels
    return found
