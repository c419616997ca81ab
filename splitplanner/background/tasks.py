"""The jobs that are done in a process of their own.

Each takes what was kept there by name, a progress callback, a function that hands over what is
known before the end, and what it was given. What it raises is told to whoever asked.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from splitplanner.arrays import Floats
from splitplanner.background.desk import Desk, Hand, examiner_on, result_on, title_of
from splitplanner.background.examined import Examined, MadeBrace
from splitplanner.background.known_prints import work_out_print
from splitplanner.background.live_cut import LiveCut, LiveFigures
from splitplanner.background.live_seams import answer_seams
from splitplanner.background.offered_way import OfferedWay
from splitplanner.background.overlay import Overlay
from splitplanner.background.overlays import overlay
from splitplanner.background.strength_tasks import (
    check_cells,
    fit_braces,
    propose_braces,
    propose_loads,
)
from splitplanner.findings import Finding
from splitplanner.joint import with_room_to_shrink
from splitplanner.joint.brace.first_hole import first_hole
from splitplanner.output import Result, list_parts
from splitplanner.plan import Loading, PartFile, Plan, Screw, Vector, divide
from splitplanner.progress import Report
from splitplanner.score import (
    BedLoad,
    Scorecard,
    Stations,
    Wishes,
    stations,
)
from splitplanner.score import rank_directions as ranked_directions
from splitplanner.solid import ReadPart, Solid, read_solid
from splitplanner.strength import main_stress_direction
from splitplanner.suggest import (
    Place,
    Suggestion,
    lightened,
    prepare,
    seam_normals,
    sensible_places,
    suggest,
)
from splitplanner.suggest.ranking import measured
from splitplanner.workshop import Bed, Material, Printer

_DIRECTIONS = 8
"""So many print directions of a piece are offered, besides that in which it prints now."""


def read_part(desk: Desk, report: Report, hand: Hand, path: Path, unit: str | None) -> ReadPart:
    """Read and heal a model."""
    source = read_solid(path, unit, report)
    # It goes along, so that the window need not work it out.
    _ = source.solid.fingerprint
    return source


def make_example(desk: Desk, report: Report, hand: Hand, name: str, path: Path) -> None:
    """Write the model of a demonstration part."""
    from splitplanner.demo_parts import DEMO_PARTS
    from splitplanner.output import save_stl

    report(0.0, "making the part")
    save_stl(DEMO_PARTS[name].make(), path)


def lighten(desk: Desk, report: Report, hand: Hand) -> Solid:
    """Make a light stand-in for the part."""
    return lightened(desk["source"].solid, report)[0]


def measure_stations(
    desk: Desk, report: Report, hand: Hand, axis: Vector, printer: Printer
) -> tuple[Stations, tuple[Place, ...]]:
    """Measure the light part along an axis, and find where a cut across it makes sense."""
    light = desk["light"]
    measured = stations(light, axis, printer, report=report)
    return measured, sensible_places(light, axis, printer.bed)


def examine(
    desk: Desk,
    report: Report,
    hand: Hand,
    plan: Plan,
    weights: Mapping[str, float],
    wishes: Wishes,
) -> Examined:
    """Cut, measure, complete and check a plan; hands over the Division, then the Figures."""
    result = examiner_on(desk).examine(
        plan,
        title_of(plan),
        completing=True,
        weights=weights,
        wishes=wishes,
        report=report,
        hand=hand,
    )
    desk["result"] = result
    of_reading = set(map(id, result.source.findings))
    findings = tuple(each for each in result.findings if id(each) not in of_reading)
    return Examined(
        result.plan, result.card, result.bound, findings, result.order, result.good_sides,
        result.walls, result.strength, _made_braces(result),
        list_parts(result.plan, result.shelf, result.braces),
    )  # fmt: skip


def _made_braces(result: Result) -> tuple[MadeBrace, ...]:
    return tuple(
        MadeBrace(
            each.wish.name,
            each.solid,
            each.wish.towards,
            each.bosses.bolts,
            first_hole(each, result.division.part),
        )
        for each in result.braces
    )


def prepare_search(desk: Desk, report: Report, hand: Hand) -> None:
    """Load what a search needs before it is asked for."""
    prepare(desk["source"].solid)


def propose(
    desk: Desk,
    report: Report,
    hand: Hand,
    part_file: PartFile,
    printer: Printer,
    weights: Mapping[str, float],
    wishes: Wishes,
    loadings: Sequence[Loading] = (),
    material: Material | None = None,
) -> Suggestion:
    """Propose plans; hands over each proposal as it is found."""
    return suggest(
        desk["source"].solid,
        part_file,
        printer,
        weights=weights,
        wishes=wishes,
        loadings=loadings,
        material=material,
        report=report,
        on_proposal=hand,
    )


def measure_criteria(
    desk: Desk, report: Report, hand: Hand, cards: Sequence[Scorecard], names: Collection[str]
) -> list[dict[str, float]]:
    """Measure criteria that were not measured before; return the values by name of each card."""
    found = []
    for index, card in enumerate(cards):
        report(index / len(cards), f"measuring proposal {index + 1} of {len(cards)}")
        found.append(measured(card, names))
    return found


def set_screw(
    desk: Desk,
    report: Report,
    hand: Hand,
    plan: Plan,
    wishes: Wishes,
    seam: str,
    place: tuple[float, float] | None,
    index: int | None,
) -> Screw:
    """Return a screw that is added to a seam, or one of its screws as it has to be now."""
    examiner = examiner_on(desk)
    return examiner.set_screw(plan, seam, place=place, index=index, wishes=wishes, report=report)


def rank_directions(
    desk: Desk,
    report: Report,
    hand: Hand,
    plan: Plan,
    name: str,
    weights: Mapping[str, float],
    wishes: Wishes,
) -> tuple[OfferedWay, ...]:
    """Rank print directions of a piece as it is made, that in which it prints now among them.

    By the plan's load cases too, where it has some.
    """
    result = result_on(desk, plan, report)
    division = result.made
    piece = division.piece(name)
    ranked = ranked_directions(
        piece,
        division.part,
        examiner_on(desk).seen(wishes, report),
        with_room_to_shrink(plan.machine, plan.material),
        seams=seam_normals(division, piece),
        load_direction=main_stress_direction(result.card.figures.under_load, piece.solid),
        weights=weights,
        measured=_DIRECTIONS,
        also=(plan.up(name),),
        report=report,
    )
    return tuple(OfferedWay.of(way, piece.solid) for way in ranked.measured)


def look_at_faces(
    desk: Desk,
    report: Report,
    hand: Hand,
    name: str,
    plan: Plan,
    wishes: Wishes,
    load: str = "",
) -> Overlay:
    """Work out an overlay for a plan, and of a load case if it is one of load cases."""
    result, examiner = result_on(desk, plan, report), examiner_on(desk)
    seen = examiner.seen(wishes, report)
    shown = overlay(
        name, result.made, plan, seen, desk["light"], report, examiner.surfaces, result.walls,
        result.strength, load,
    )  # fmt: skip
    # Worked out here, and sent with the rest.
    _ = shown.levels
    return shown


def place_on_beds(desk: Desk, report: Report, hand: Hand, plan: Plan) -> tuple[BedLoad, ...]:
    """Put all that is printed of a plan together on beds, as files have it."""
    from splitplanner.output import beds_of

    return tuple(bed.load for bed in beds_of(result_on(desk, plan, report), report))


def write_files(
    desk: Desk,
    report: Report,
    hand: Hand,
    plan: Plan,
    model: Path,
    folder: Path,
    options: Mapping[str, bool],
    spool_left: float | None = None,
) -> tuple[Finding, ...]:
    """Write the result folder of a plan; return the findings of writing."""
    from splitplanner.job import write
    from splitplanner.output import beds_of

    result = result_on(desk, plan, report)
    result = result.with_spool_left(spool_left, beds_of(result, report))
    written = write(result, folder, model, report=report, **options)
    return written.findings[len(result.findings) :]


def figure_live_cut(desk: Desk, report: Report, hand: Hand, plan: Plan, index: int) -> LiveFigures:
    """Measure a cut that is being dragged, on the light part."""
    known: LiveCut | None = desk.get("live_cut")
    if known is None or not known.is_of(desk["light"], plan, index):
        known = desk["live_cut"] = LiveCut(desk["light"], plan, index)
    return known.figures(known.at(plan.cuts[index].plane))


def draw_plan(desk: Desk, report: Report, hand: Hand, plan: Plan, size: tuple[int, int]) -> bytes:
    """Return a small picture of the light part cut as a plan says, pulled apart, as PNG."""
    from splitplanner.output import exploded
    from splitplanner.viewport import picture

    division = divide(desk["light"], plan.cuts)
    scene = exploded(division, plan, size)
    return picture(replace(scene, title="", caption=()))


def draw_piece(
    desk: Desk,
    report: Report,
    hand: Hand,
    solid: Solid,
    pose: Floats,
    bed: Bed,
    colour: str,
    size: tuple[int, int],
) -> bytes:
    """Return a small picture of a piece on its bed, as PNG."""
    from splitplanner.output import piece_on_bed
    from splitplanner.plan import Piece
    from splitplanner.viewport import picture

    scene = piece_on_bed(Piece("", 0, solid), pose, bed, colour, size)
    return picture(replace(scene, title="", caption=(), labels=()))


def wait(desk: Desk, report: Report, hand: Hand, seconds: float, heeds: bool = True) -> None:
    """Do nothing for a time, and heed a stop or not: for trying what becomes of long jobs."""
    report(0.0, "waiting")
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        time.sleep(0.01)
        if heeds:
            report(0.5, "waiting")


TASKS: dict[str, Callable[..., Any]] = {
    task.__name__: task
    for task in (
        read_part, make_example, lighten, measure_stations, examine, prepare_search, propose,
        measure_criteria, set_screw, rank_directions, look_at_faces, place_on_beds, write_files,
        figure_live_cut, draw_plan, draw_piece, wait, work_out_print, propose_braces, fit_braces,
        check_cells, propose_loads, answer_seams,
    )
}  # fmt: skip
"""Jobs by name."""
URGENT = frozenset({answer_seams.__name__})
"""Jobs so short that they are done in the midst of a long one, whenever that reports."""
