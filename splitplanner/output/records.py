"""The scorecard as plain values, and as JSON."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

import numpy as np

from splitplanner.output.beds import bed_file_name, beds_of
from splitplanner.output.brace_tables import braces_record
from splitplanner.output.cautions import cautions_of
from splitplanner.output.parts_list import needed_parts
from splitplanner.output.result import Result, piece_file_name
from splitplanner.output.strength_records import strength_record
from splitplanner.output.surface_records import good_side_record, walls_record
from splitplanner.plan import Joint, Pin, Screw
from splitplanner.score import (
    BedPrint,
    FilamentUse,
    PieceFigures,
    Scorecard,
    SeamRow,
    filament_of,
    print_time,
)
from splitplanner.suggest import Proposal

FORMAT = "split plan scorecard"
VERSION = 3
Record = dict[str, Any]


def scorecard_record(result: Result, *, files: bool = True, bed_files: bool = True) -> Record:
    """Return the whole scorecard as plain values; lengths in mm, areas mm², volumes mm³.

    Parameters
    ----------
    result : Result
    files : bool
        Whether the pieces are written as STL files; each is then named.
    bed_files : bool
        Whether the beds are written as 3MF files; the same.
    """
    part = result.source.solid
    record: Record = {
        "format": FORMAT,
        "version": VERSION,
        "sound": result.is_sound,
        "part": {
            "title": result.title,
            "unit_read": result.source.unit,
            "triangles": len(part.faces),
            "extents": _rounded(part.extents),
            "volume": _figure(part.volume),
            "area": _figure(part.area),
            "fingerprint": result.plan.part.fingerprint,
        },
        "bed": str(result.plan.printer.bed),
        "overhang_limit": _figure(result.plan.machine.overhang_limit),
        "least_pieces_possible": {"pieces": result.bound.pieces, "reason": result.bound.reason},
        "score": score_record(result.card),
        "pieces": [_piece(row, result) for row in result.card.figures.pieces],
        "seams": [_seam(row, result) for row in result.card.figures.seams],
        **({} if result.walls is None else {"walls": walls_record(result.walls)}),
        **({} if result.strength is None else {"strength": strength_record(result.strength)}),
        "assembly": [
            {
                "step": number,
                "moving": list(step.moving),
                "standing": list(step.standing),
                "seams": [seam.name for seam in step.seams],
                "direction": _rounded(step.direction, 9),
                "pins": step.pins,
                "screws": step.screws,
            }
            for number, step in enumerate(result.assembly(), 1)
        ],
        **({"braces": braces_record(result)} if result.braces else {}),
        "printing": printing_record(result),
        "beds": [_bed(each, result) for each in beds_of(result)],
        "parts_list": [
            asdict(part) for part in needed_parts(result.plan, result.shelf, result.braces)
        ],
        "findings": [finding.as_record() for finding in result.findings],
        "cautions": list(cautions_of(result)),
    }
    if not files:
        for piece in record["pieces"]:
            del piece["file"]
    if not bed_files:
        for bed in record["beds"]:
            del bed["file"]
    if result.suggestion is not None:
        record["proposals"] = [proposal_record(each) for each in result.suggestion.proposals]
    return record


def score_record(card: Scorecard, *, every: bool = True) -> Record:
    """Return the plan score and its terms: `every` one that applies, or those that count."""
    return {
        "total": _figure(card.total),
        "terms": [
            {
                "criterion": term.criterion.name,
                "value": _figure(term.value),
                "unit": term.criterion.unit,
                "reference": term.criterion.reference,
                "weight": term.weight,
                "contribution": _figure(term.contribution),
            }
            for term in card.terms
            if (every and term.applies) or term.counts
        ],
    }


def proposal_record(proposal: Proposal) -> Record:
    """Return one proposal in short."""
    return {
        "number": proposal.number,
        "pieces": len(proposal.draft.division.pieces),
        "cuts": [
            {
                "normal": list(cut.plane.normal),
                "offset": cut.plane.offset,
                "piece": cut.piece,
            }
            for cut in proposal.draft.cuts
        ],
        "reason": proposal.reason,
        # What weighs nothing takes long to measure and is shown for the plan that was built.
        "score": score_record(proposal.draft.card, every=False),
    }


def printing_record(result: Result) -> Record:
    """Return what all pieces take to print, by their layers; what is not known is left out.

    Hours are for the pieces one after another. The criterion “print time” of the plan score is the
    sum of the pieces' estimates instead, which a search can work out for thousands of plans.
    """
    totals, material = result.printing(), result.plan.material
    if totals is None:
        return {}
    record: Record = {
        "print_time": _figure(totals.hours),
        "printed_volume": _figure(totals.volume),
    }
    if material is None or totals.filament is None or totals.spools is None:
        return record
    record |= {"material": material.name, **_filament(totals.filament)}
    if result.spool_left is not None:
        record |= {
            "spool_left": _figure(result.spool_left),
            "spool_is_enough": totals.spools.is_enough,
        }
    return record | {
        "spool_mass": _figure(material.spool_mass),
        "new_spools": totals.spools.new_spools,
        "left_over": _figure(totals.spools.over),
    }


def _bed(bed: BedPrint, result: Result) -> Record:
    """Return one bed: what lies where on it, and what it takes to print all of it at once."""
    record: Record = {
        "number": bed.number,
        "file": f"beds/{bed_file_name(bed.load)}.3mf",
        "placed": [
            {
                **_thing(piece.name, result),
                "yaw": _figure(piece.yaw),
                "shift": _rounded(piece.shift),
            }
            for piece in bed.load.pieces
        ],
        "free": _figure(bed.load.free),
        "height": _figure(bed.load.height),
        "support_volume": _figure(bed.support),
    }
    if bed.hours is None or bed.volume is None:
        return record
    record |= {
        "print_time": _figure(bed.hours),
        "layers": bed.layers,
        "printed_volume": _figure(bed.volume),
    }
    return record if bed.filament is None else {**record, **_filament(bed.filament)}


def _thing(name: str, result: Result) -> Record:
    """Return what lies on a bed: a piece by its number, or a brace by its name."""
    braces = {row.name: row.piece.number for row in result.card.figures.braces}
    if name in braces:
        return {"brace": result.braces[braces[name] - 1].wish.name}
    return {"piece": result.number(name)}


def _filament(use: FilamentUse) -> Record:
    record = {"filament_length": _figure(use.length), "filament_mass": _figure(use.mass)}
    return record if use.cost is None else {**record, "filament_cost": _figure(use.cost)}


def _printing(row: PieceFigures, result: Result) -> Record:
    """Return what one piece takes to print."""
    printer, material = result.plan.printer, result.plan.material
    rough = print_time(row.volume, row.area, row.fit.height, row.support.volume, printer)
    record: Record = {"print_time_estimate": _figure(rough.hours)}
    if row.printed is None:
        return record
    record |= {
        "print_time": _figure(row.printed.hours),
        "layers": row.printed.layers,
        "travel_crossings": row.printed.crossings,
        "printed_volume": _figure(printer.mass_factor * row.printed.volume),
    }
    use = None if material is None else filament_of(row, material, result.card.figures)
    return record if use is None else {**record, **_filament(use)}


def _piece(row: PieceFigures, result: Result) -> Record:
    solid, support = row.piece.solid, row.support.volume
    return {
        "number": row.piece.number,
        "name": row.piece.name,
        "file": f"pieces/{piece_file_name(row.piece)}.stl",
        "extents": _rounded(solid.extents),
        "volume": _figure(solid.volume),
        "print_direction": _rounded(row.up, 9),
        "yaw": _figure(row.fit.yaw),
        "height": _figure(row.fit.height),
        "plan": _rounded(row.fit.sides),
        "fits": row.fit.fits,
        "spare": _figure(row.fit.spare),
        "overhang_area": _figure(row.overhang.area),
        "bridged_area": _figure(row.overhang.bridged_area),
        "bed_contact_area": _figure(row.overhang.contact_area),
        "support_volume": _figure(support),
        "support_resolution": _figure(row.support.resolution),
        **good_side_record(row.name, result),
        **_printing(row, result),
    }


def _seam(row: SeamRow, result: Result) -> Record:
    seam = row.seam
    return {
        "name": seam.name,
        "pieces": [result.number(seam.below), result.number(seam.above)],
        "normal": list(seam.plane.normal),
        "offset": seam.plane.offset,
        "length": _figure(row.figures.length),
        "seen_length": _figure(row.figures.seen_length),
        "hidden_length": _figure(row.figures.hidden_length),
        "area": _figure(row.figures.area),
        "room_area": _figure(row.room.area),
        "room_count": row.room.count,
        "room_count_deep": row.deep_room.count,
        "lever_arm": _rounded(row.deep_room.lever_arm),
        **_held(result.plan.joint(seam.name)),
    }


def _held(joint: Joint) -> Record:
    """Return what holds a seam; what there is none of is not named, but for pins and screws."""
    record: Record = {
        "pins": [_pin(pin) for pin in joint.pins],
        "screws": [_screw(screw) for screw in joint.screws],
    }
    if joint.flange is not None:
        record["flange_width"] = _figure(joint.flange.width)
        record["flange_thickness"] = _figure(joint.flange.thickness)
    if joint.register is not None:
        record["register"] = joint.register.form
        record["register_height"] = _figure(joint.register.height)
        record["register_width"] = _figure(joint.register.width)
        record["register_gap"] = _figure(joint.register.gap)
    if joint.tape is not None:
        record["tape"] = joint.tape.fibre
        record["tape_plies"] = joint.tape.plies
        record["tape_width"] = _figure(joint.tape.width)
        record["tape_length"] = _figure(joint.tape.length)
    return record


def _pin(pin: Pin) -> Record:
    return {
        "pin": f"{pin.standard} - {pin.diameter:g} x {pin.length:g}",
        "at": _rounded(pin.at, 4),
        "hole_diameter": _figure(pin.hole_diameter),
        "depth": _figure(pin.depth),
        "edge_distance": _figure(pin.edge_distance),
    }


def _screw(screw: Screw) -> Record:
    return {
        "screw": f"{screw.standard} - {screw.size} x {screw.length:g}",
        "into": screw.hold,
        "at": _rounded(screw.at, 4),
        "axis": _rounded(screw.axis, 9),
        "seat": _figure(screw.seat),
        "depth": _figure(screw.depth),
        "clearance": _figure(screw.clearance),
        "hole": _figure(screw.hole),
        "edge_distance": _figure(screw.edge_distance),
    }


def scorecard_json(result: Result, *, files: bool = True, bed_files: bool = True) -> str:
    """Return the scorecard as JSON text; see `scorecard_record`."""
    record = scorecard_record(result, files=files, bed_files=bed_files)
    return json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _figure(value: float) -> float:
    return round(float(value), 4) + 0.0


def _rounded(values: Any, decimals: int = 4) -> list[float]:
    return (np.round(np.asarray(values, float), decimals) + 0.0).tolist()  # type: ignore[no-any-return]
