"""The whole job from Python: read a part, propose plans, join the best, check it, write it.

::

    from pathlib import Path
    from splitplanner.job import plan_part, write
    from splitplanner.workshop import Bed, Printer

    result = plan_part(Path("hood.stl"), Printer(bed=Bed.parse("220x220x250")))
    write(result, Path("out"), Path("hood.stl"))
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from splitplanner.arrays import frozen_floats
from splitplanner.errors import NoProposalError, PlanFileError, ReadError
from splitplanner.findings import Finding, Severity
from splitplanner.joint import check_pins, check_sizes, is_sensible, pins_apart, place_pins
from splitplanner.output import Result, write_result
from splitplanner.plan import (
    Division,
    Joint,
    PartFile,
    Pin,
    Plan,
    divide,
    load_plan,
    part_path,
    plan_to_text,
)
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import Wishes, measure, scorecard, soundness
from splitplanner.solid import ReadPart, read_solid, seen_from_outside
from splitplanner.suggest import lower_bound, suggest
from splitplanner.viewport import draw_in_child
from splitplanner.workshop import DowelPin, Printer


def plan_part(
    model: Path,
    printer: Printer,
    *,
    unit: str | None = None,
    seed: int = 0,
    proposal: int = 1,
    shelf: tuple[DowelPin, ...] | None = None,
    weights: Mapping[str, float] | None = None,
    wishes: Wishes | None = None,
    alone: bool = False,
    report: Report = silent,
) -> Result:
    """Read a model, propose plans, and join and check one of them.

    Parameters
    ----------
    model : Path
    printer : Printer
    unit : str, optional
        Unit of the model's numbers where its file does not say; mm by default.
    seed : int
        Written into the plan; the search is deterministic.
    proposal : int
        Which of the proposals to join: 1 is the best.
    shelf : tuple of DowelPin, optional
        Pins to choose from; the built-in table by default.
    weights : mapping of criterion name to weight, optional
        Replaces default weights of the plan score.
    wishes : Wishes, optional
        Only plans that keep all of them are proposed.
    alone : bool
        Whether the search keeps to this process, as where every core has one already.
    report : progress callback

    Returns
    -------
    Result
        It may hold faults (`Result.is_sound`) if the joints could not be made sound.

    Raises
    ------
    ReadError, OpenSolidError
        If the model cannot be read or closed.
    NoProposalError
        If no sound plan was found that keeps the wishes, or there is no proposal of that number.
    WishesError
        If the wishes name faces of another part.
    ValueError
        If a weight is given to no criterion, or if `proposal` is below 1 or `seed` below 0.
    """
    if proposal < 1 or seed < 0:
        raise ValueError(f"proposals count from 1 and seeds from 0, got {proposal} and {seed}")
    _refuse_name(model)
    source = read_solid(model, unit, part_of(report, 0.0, 0.1))
    part_file = PartFile(model.as_posix(), source.unit, source.solid.fingerprint)
    # What the plan file cannot hold is found out now, and not after the search.
    plan_to_text(Plan(part_file, printer, seed=seed))
    suggestion = suggest(
        source.solid,
        part_file,
        printer,
        weights=weights,
        wishes=wishes,
        alone=alone,
        seed=seed,
        report=part_of(report, 0.1, 0.9),
    )
    found = len(suggestion.proposals)
    if proposal > found:
        raise NoProposalError(
            f"There is no proposal {proposal}: {found} {'was' if found == 1 else 'were'} found for "
            f"{model.name}; ask for 1{'' if found == 1 else f' to {found}'}."
        )
    chosen = suggestion.proposals[proposal - 1]
    division = chosen.draft.division
    joints, notes = join(division, printer, shelf, part_of(report, 0.9, 0.97))
    plan = chosen.plan.with_joints(joints)
    report(0.97, "checking the joints")
    result = Result(
        model.stem,
        source,
        plan,
        division,
        chosen.draft.card,
        suggestion.bound,
        suggestion,
        (*source.findings, *suggestion.findings, *notes, *check_joints(division, plan)),
    )
    report(1.0, "planned")
    return result


def _refuse_name(model: Path) -> None:
    """Refuse a file name that is no text, since plan and scorecard could not hold it."""
    try:
        os.path.realpath(model).encode("utf-8")
    except UnicodeEncodeError as fault:
        raise ReadError(
            f"The name of the model, {str(model)!a}, is not valid text; rename the file or its "
            "folder.",
            subject=str(model),
        ) from fault


def join(
    division: Division,
    printer: Printer,
    shelf: tuple[DowelPin, ...] | None = None,
    report: Report = silent,
) -> tuple[tuple[Joint, ...], tuple[Finding, ...]]:
    """Place dowel pins on every seam of a division, the largest seams first.

    Returns
    -------
    joints : tuple of Joint
        One for each seam, in the order of the seams; without pins where none fits.
    findings : tuple of Finding
    """
    joints: dict[str, Joint] = {}
    findings: list[Finding] = []
    seams = sorted(division.seams, key=lambda seam: -round(seam.section.area, 3))
    for index, seam in enumerate(seams):
        report(index / len(seams), f"placing pins on seam {seam.name}")
        below, above = division.piece(seam.below), division.piece(seam.above)
        others = [
            pin
            for other in seams[:index]
            if {other.below, other.above} & {seam.below, seam.above}
            for pin in joints[other.name].pins
        ]
        joint, found = place_pins(seam, below.solid, above.solid, printer, shelf, others)
        joints[seam.name] = joint
        findings += found
    return tuple(joints[seam.name] for seam in division.seams), tuple(findings)


def check_joints(division: Division, plan: Plan) -> tuple[Finding, ...]:
    """Check that every joint of a plan is sound.

    Its pins have sizes that suit the printer, and stand in material on both sides. Pins of
    different seams are checked against each other through the material they need.
    """
    seams = {seam.name: seam for seam in division.seams}
    findings: list[Finding] = []
    checked: list[tuple[str, Pin]] = []
    for joint in plan.joints:
        seam = seams.get(joint.seam)
        if seam is None:
            findings.append(_no_such_seam(joint))
            continue
        below, above = division.piece(seam.below).solid, division.piece(seam.above).solid
        findings += check_sizes(joint, plan.printer)
        sensible = replace(joint, pins=tuple(pin for pin in joint.pins if is_sensible(pin)))
        findings += check_pins(sensible, seam, below, above)
        checked += [(joint.seam, pin) for pin in sensible.pins]
    return (*findings, *_crossing_pins(checked))


def _no_such_seam(joint: Joint) -> Finding:
    return Finding(
        "joint.no_seam",
        Severity.FAULT,
        f"The plan has a joint for seam {joint.seam}, which its cuts do not make; delete the "
        "joint or bring the cut back.",
        joint.seam,
    )


def _crossing_pins(pins: list[tuple[str, Pin]]) -> list[Finding]:
    """Find holes of different seams that leave too little material between them."""
    findings = []
    for index, (seam, pin) in enumerate(pins):
        rest = [(name, other) for name, other in pins[index + 1 :] if name != seam]
        gaps = pins_apart(pin, [other for _, other in rest])
        for (name, other), gap in zip(rest, gaps, strict=True):
            needed = pin.edge_distance + other.hole_diameter / 2
            if gap < needed - 1e-6:
                findings.append(
                    Finding(
                        "joint.pins_cross",
                        Severity.FAULT,
                        f"Pins of seams {seam} and {name} are {gap:.1f} mm apart and need "
                        f"{needed:.1f} mm; move one of them.",
                        seam,
                        frozen_floats([pin.at, other.at]),
                        float(gap),
                        needed,
                        "mm",
                    )
                )
    return findings


def check_plan(plan_file: Path, model: Path | None = None, report: Report = silent) -> Result:
    """Read a plan and its part, and check and measure all of it anew.

    Parameters
    ----------
    plan_file : Path
    model : Path, optional
        The part's file, if it is not where the plan says.
    report : progress callback

    Raises
    ------
    PlanFileError
        If the plan cannot be read or the part is another one.
    ReadError, OpenSolidError
        If the part cannot be read.
    CutError
        If a cut does not divide what it names.
    """
    plan = load_plan(plan_file)
    where = model if model is not None else part_path(plan, plan_file)
    source = read_solid(where, plan.part.unit, part_of(report, 0.0, 0.2))
    _same_part(plan, source, plan_file, where)
    division = divide(source.solid, plan.cuts, part_of(report, 0.2, 0.3))
    ups = {piece.name: plan.up(piece.name) for piece in division.pieces}
    found = soundness(division, ups, plan.cuts, plan.printer, part_of(report, 0.3, 0.6))
    report(0.6, "checking the joints")
    found = (*found, *check_joints(division, plan), *_left_open(division, plan))
    report(0.65, "finding the good side")
    seen = seen_from_outside(source.solid)
    figures = measure(division, ups, plan.printer, seen, part_of(report, 0.7, 1.0))
    bound = lower_bound(source.solid, plan.printer.bed)
    report(1.0, "checked")
    return Result(
        where.stem,
        source,
        plan,
        division,
        scorecard(figures),
        bound,
        None,
        (*source.findings, *found),
    )


def _left_open(division: Division, plan: Plan) -> list[Finding]:
    """Warn of seams without pins, and of print directions for pieces that are not there."""
    found = [
        Finding(
            "joint.none",
            Severity.WARNING,
            f"Seam {seam.name} has no pins; hold its pieces in line by other means while the glue "
            "sets.",
            seam.name,
            seam.section.centroid[None, :],
        )
        for seam in division.seams
        if not plan.joint(seam.name).pins
    ]
    return found + [
        Finding(
            "plan.no_piece",
            Severity.WARNING,
            f"The plan has a print direction for piece “{name}”, which its cuts do not make; "
            "delete it.",
            name,
        )
        for name in plan.print_directions
        if name not in division.by_name
    ]


def _same_part(plan: Plan, source: ReadPart, plan_file: Path, model: Path) -> None:
    if source.solid.fingerprint != plan.part.fingerprint:
        raise PlanFileError(
            f"The plan {plan_file} was made for another part than {model}: their fingerprints "
            "differ; give the right file with --part, or plan this part anew.",
            subject=str(plan_file),
        )


def write(
    result: Result,
    folder: Path,
    model: Path,
    *,
    pictures: bool = True,
    stl: bool = True,
    three_mf: bool = True,
    overwrite: bool = False,
    report: Report = silent,
) -> Result:
    """Write the pieces, the plan, the scorecard and the pictures of a sound plan.

    Parameters
    ----------
    result : Result
    folder : Path
        See `splitplanner.output.folder` for what it will hold.
    model : Path
        The part's file, which the plan file points to.
    pictures, stl, three_mf : bool
        What is written besides the plan and the scorecard: pictures, the pieces as STL files, and
        all of them in one 3MF file.
    overwrite : bool
        Whether a folder written before may be replaced.
    report : progress callback

    Returns
    -------
    Result
        With the findings of writing.

    Raises
    ------
    UnsoundError
        If the plan is not sound.
    ExportError
        If the files cannot be written; what was there is whole.
    """
    draw = draw_in_child if pictures else None
    return write_result(
        result,
        folder,
        model,
        draw=draw,
        stl=stl,
        three_mf=three_mf,
        overwrite=overwrite,
        report=report,
    )
