"""The whole job from Python: read a part, propose plans, join the best, check it, write it.

::

    from pathlib import Path
    from splitplanner.job import plan_part, write
    from splitplanner.workshop import Bed, Printer

    result = plan_part(Path("hood.stl"), Printer(bed=Bed.parse("220x220x250")))
    write(result, Path("out"), Path("hood.stl"))
"""

from __future__ import annotations

import inspect
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Literal

from splitplanner.errors import JointError, NoProposalError, PlanFileError, ReadError
from splitplanner.examining import Examiner, once
from splitplanner.findings import Finding, Severity
from splitplanner.joint import with_room_to_shrink
from splitplanner.joint.brace.proposing import proposed_braces
from splitplanner.output import Result, beds_of, write_result
from splitplanner.plan import (
    BraceWish,
    Fastening,
    Loading,
    LoadSheet,
    PartFile,
    Plan,
    divide,
    load_plan,
    part_path,
    plan_to_text,
)
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import Wishes
from splitplanner.solid import ReadPart, Solid, read_solid
from splitplanner.strength import usual_loadings
from splitplanner.suggest import Proposal, Suggestion, suggest
from splitplanner.viewport import draw_in_child
from splitplanner.workshop import Material, Printer, Shelf

Loads = Sequence[Loading] | Callable[[Solid], Sequence[Loading]]
"""Load cases, or what gives those of a part, such as `LoadSheet.on` or `usual_loadings`."""
Braces = Sequence[BraceWish] | Callable[..., Sequence[BraceWish]]
"""Braces, or what proposes them for a division and its plan, such as `proposed_braces`; a progress
callback is given as ``report`` where it takes one."""
AskedLoads = LoadSheet | Literal["usual"]
AskedBraces = tuple[BraceWish, ...] | Literal["two"]
"""The same of any part: those of a file, or a word for what the program proposes."""


def loads_for(asked: AskedLoads | None) -> Loads | None:
    """Return load cases that are asked for of any part, as `plan_part` takes them."""
    if asked is None:
        return None
    return usual_loadings if asked == "usual" else asked.on


def braces_for(asked: AskedBraces | None, shelf: Shelf | None) -> Braces | None:
    """Return braces that are asked for of any part, as `plan_part` takes them.

    Parameters
    ----------
    asked : tuple of BraceWish, "two" or None
    shelf : Shelf or None
        What bolts of proposed ones are taken from; the built-in tables if None.
    """
    return partial(proposed_braces, shelf=shelf) if asked == "two" else asked


def plan_part(
    model: Path,
    printer: Printer,
    *,
    unit: str | None = None,
    seed: int = 0,
    proposal: int = 1,
    shelf: Shelf | None = None,
    fastening: Fastening | None = None,
    own_fastenings: Mapping[str, Fastening] | None = None,
    weights: Mapping[str, float] | None = None,
    wishes: Wishes | None = None,
    alone: bool = False,
    material: Material | None = None,
    spool_left: float | None = None,
    loadings: Loads = (),
    braces: Braces = (),
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
    shelf : Shelf, optional
        Hardware to choose from; the built-in tables by default.
    fastening : Fastening, optional
        How the seams are to be held: by dowel pins, and flanges where they need them, by default.
    own_fastenings : mapping of seam name to Fastening, optional
        The same of single seams of the plan that is joined.
    weights : mapping of criterion name to weight, optional
        Replaces default weights of the plan score.
    wishes : Wishes, optional
        Only plans that keep all of them are proposed.
    alone : bool
        Whether the search keeps to this process, as where every core has one already.
    material : Material, optional
        What the pieces are printed from: by what files are scaled, and what they weigh and cost.
    spool_left : float, optional
        What is left on the started spool, g.
    loadings : sequence of Loading, or function
        What the part has to stand: seams are put where it is bent little.
    braces : sequence of BraceWish, or function
        What is bolted over seams. Where a function finds no place for any, the plan has none, and
        a finding says why.
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
    LoadError
        If a load case does not fit the part.
    ValueError
        If a weight is given to no criterion, or if `proposal` is below 1 or `seed` below 0.
    """
    if proposal < 1 or seed < 0:
        raise ValueError(f"proposals count from 1 and seeds from 0, got {proposal} and {seed}")
    _refuse_name(model)
    source = read_solid(model, unit, part_of(report, 0.0, 0.1))
    part_file = PartFile(model.as_posix(), source.unit, source.solid.fingerprint)
    # What the plan file cannot hold is found out now, and not after the search.
    bare = Plan(part_file, printer, seed=seed, material=material)
    bare = replace(bare, loadings=_given(loadings, source.solid))
    plan_to_text(bare)
    with _unit_in_doubt(source):
        suggestion = suggest(
            source.solid,
            part_file,
            with_room_to_shrink(bare.machine, material),
            weights=weights,
            wishes=wishes,
            loadings=bare.loadings,
            material=material,
            alone=alone,
            seed=seed,
            report=part_of(report, 0.1, 0.9),
        )
    plan = replace(
        _numbered(suggestion, proposal, model).plan,
        printer=printer,
        fastening=fastening or Fastening(),
        own_fastenings=dict(own_fastenings or {}),
        material=material,
    )
    examined = partial(
        Examiner(source, shelf).examine,
        title=model.stem,
        completing=True,
        weights=weights,
        wishes=wishes,
    )
    result = examined(plan, report=part_of(report, 0.9, 0.95 if braces else 1.0))
    if braces:
        # They keep clear of what holds the seams, so that has to be known before.
        proposing, bracing = part_of(report, 0.95, 0.98), part_of(report, 0.98, 1.0)
        plan, unbraced = _with_braces_or_without(result.plan, source, braces, proposing)
        if plan.braces:
            braced = examined(plan, report=bracing)
            result = braced.with_findings(*_said_of_joining(result, braced))
        bracing(1.0, "checked")
        result = result.with_findings(*unbraced)
    result = _by_beds(result, spool_left, report)
    findings = (*source.findings, *suggestion.findings, *result.findings)
    return replace(result, suggestion=suggestion, findings=once(findings))


def _said_of_joining(before: Result, braced: Result) -> tuple[Finding, ...]:
    """Return what was said when seams were joined that are held in the same way with braces.

    Only then it is found out where screws had no room; a plan whose joints are known is silent.
    """
    same = {each.seam for each in braced.plan.joints if each in before.plan.joints}
    told = {(each.kind, each.subject) for each in braced.findings}
    return tuple(
        each
        for each in before.findings
        if each.kind.startswith("joint.") and each.severity is not Severity.FAULT
        and each.subject in same and (each.kind, each.subject) not in told
    )  # fmt: skip


def _numbered(suggestion: Suggestion, number: int, model: Path) -> Proposal:
    """Return the proposal of a number."""
    found = len(suggestion.proposals)
    if number > found:
        raise NoProposalError(
            f"There is no proposal {number}: {found} {'was' if found == 1 else 'were'} found for "
            f"{model.name}; ask for 1{'' if found == 1 else f' to {found}'}."
        )
    return suggestion.proposals[number - 1]


@contextmanager
def _unit_in_doubt(source: ReadPart) -> Iterator[None]:
    """Say with the reason why there is no plan if the model's unit was in doubt: it may be that."""
    try:
        yield
    except NoProposalError as fault:
        doubts = [each for each in source.findings if each.kind == "reading.unit"]
        if not doubts:
            raise
        said = " ".join((str(fault), *(each.message for each in doubts)))
        raise NoProposalError(
            said, subject=fault.subject, findings=(*fault.findings, *doubts)
        ) from fault


def _given(loadings: Loads, part: Solid) -> tuple[Loading, ...]:
    return tuple(loadings(part) if callable(loadings) else loadings)


def _with_braces(plan: Plan, source: ReadPart, braces: Braces, report: Report) -> Plan:
    if callable(braces):
        # Looking for places takes up to some minutes; what can tell how far it is does.
        tells = "report" in inspect.signature(braces).parameters
        told = {"report": report} if tells else {}
        braces = braces(divide(source.solid, plan.cuts), plan, **told)
        if not braces:
            raise JointError("No seam crosses the part's long way, so braces tie nothing.")
    return replace(plan, braces=tuple(braces))


def _with_braces_or_without(
    plan: Plan, source: ReadPart, braces: Braces, report: Report
) -> tuple[Plan, tuple[Finding, ...]]:
    """Return the plan with its braces; as it is, and why, where none can be proposed.

    What took minutes to plan is not thrown away for that.
    """
    try:
        return _with_braces(plan, source, braces, report), ()
    except JointError as fault:
        said = f"The plan has no braces. {fault}"
        return plan, (Finding("brace.none", Severity.WARNING, said),)


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


def check_plan(
    plan_file: Path,
    model: Path | None = None,
    report: Report = silent,
    *,
    shelf: Shelf | None = None,
    spool_left: float | None = None,
    loadings: Loads | None = None,
    braces: Braces | None = None,
) -> Result:
    """Read a plan and its part, and check and measure all of it anew.

    Parameters
    ----------
    plan_file : Path
    model : Path, optional
        The part's file, if it is not where the plan says.
    report : progress callback
    shelf, spool_left
        See `plan_part`.
    loadings, braces : optional
        The same; instead of the plan's own where they are given.

    Raises
    ------
    PlanFileError
        If the plan cannot be read or the part is another one.
    ReadError, OpenSolidError
        If the part cannot be read.
    CutError
        If a cut does not divide what it names.
    LoadError
        As for `plan_part`.
    JointError
        If no brace can be proposed.
    """
    plan = load_plan(plan_file)
    where = model if model is not None else part_path(plan, plan_file)
    source = read_solid(where, plan.part.unit, part_of(report, 0.0, 0.2))
    _same_part(plan, source, plan_file, where)
    if loadings is not None:
        plan = replace(plan, loadings=_given(loadings, source.solid))
    if braces is not None:
        plan = _with_braces(plan, source, braces, part_of(report, 0.2, 0.3))
    examining = part_of(report, 0.2 if braces is None else 0.3, 1.0)
    result = Examiner(source, shelf).examine(plan, where.stem, report=examining)
    return _by_beds(result, spool_left, report)


def _by_beds(result: Result, left: float | None, report: Report) -> Result:
    """Return the result with what its beds take of spools, `left` (g) being on the started one."""
    beds = () if result.plan.material is None else beds_of(result, part_of(report, 1.0, 1.0))
    return result.with_spool_left(left, beds)


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
        all of them in one 3MF file, and in one for each bed on which some are printed together.
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
