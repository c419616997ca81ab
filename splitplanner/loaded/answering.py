"""From a plan to what it stands of its load cases."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from splitplanner.errors import LoadError, WorkshopError
from splitplanner.findings import Finding
from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.joint.brace.building import Brace
from splitplanner.loaded.answers import HeldWay, LoadAnswer, StrengthAnswer
from splitplanner.loaded.brace_bolts import braces_under
from splitplanner.loaded.brace_loads import braced_load, braces_along
from splitplanner.loaded.seam_loads import SeamBands, is_lengthwise, seam_bands
from splitplanner.loaded.telling import could_not, load_findings, statements_of
from splitplanner.loaded.ties import add_pulls, tied_seam, ties_of
from splitplanner.loaded.uncut import Chains, Uncut, uncut_under_load
from splitplanner.loaded.ways import (
    Ground,
    LoadedSeams,
    at_least,
    held_way,
    pieces_under,
    ways_of,
)
from splitplanner.plan import Division, Line, Loading, Plan, Vector
from splitplanner.progress import Report, part_of, silent
from splitplanner.strength import moduli_along
from splitplanner.workshop import Shelf, known_material


def strength_answer(
    division: Division,
    plan: Plan,
    shelf: Shelf,
    *,
    braces: Sequence[Brace] = (),
    tape_lines: Mapping[str, tuple[Line, ...]] | None = None,
    remembered: Chains | None = None,
    report: Report = silent,
) -> StrengthAnswer:
    """Return what a plan stands of its load cases, its seams held in one way after the other.

    Parameters
    ----------
    division : Division
        Bare, without flanges and holes: what is held on seams is in the plan's joints.
    plan : Plan
        With its load cases and the joints that something can be made of; its fastenings say what
        hardware and glue stand.
    shelf : Shelf
    braces : sequence of Brace
        As they are made.
    tape_lines : mapping of seam name to lines, optional
        Where tape runs, in the seam's plane, mm; along flanges or all outlines where not given.
    remembered : Chains, optional
        Keeps what was found of the part, so that other load cases and plans cost little.
    report : progress callback
        What it raises ends it.
    """
    material, is_generic = known_material(plan.material)
    ground = Ground(division, plan, shelf, material, tape_lines or {})
    chains = remembered or Chains()
    known: dict[Vector, tuple[SeamBands, ...]] = {}
    answers: list[LoadAnswer] = []
    findings: list[Finding] = []
    for index, loading in enumerate(plan.loadings):
        steps = len(plan.loadings)
        here = part_of(report, index / steps, (index + 1) / steps)
        try:
            chain = chains.of(division.part, loading.axis, part_of(here, 0.0, 0.4))
            if loading.axis not in known:
                known[loading.axis] = seam_bands(division.part, division.seams, chain)
            uncut = uncut_under_load(chain, loading, material, part_of(here, 0.4, 0.7))
            case = _Case(ground, loading, known[loading.axis], braces, uncut)
            answer = case.answer(part_of(here, 0.7, 1.0))
        except (LoadError, WorkshopError) as fault:
            findings.append(could_not(loading, fault))
            continue
        answers.append(answer)
        findings += load_findings(division, plan, answer)
    lengthwise = any(
        is_lengthwise(seam.seam, axis) for axis, seams in known.items() for seam in seams
    )
    found = tuple(answers)
    said = statements_of(plan, found, material.name, is_generic, lengthwise)
    return StrengthAnswer(found, tuple(findings), said, material.name, is_generic)


@dataclass(frozen=True, eq=False)
class _Case:
    """One load case of a plan, while it is worked out."""

    ground: Ground
    loading: Loading
    seams: tuple[SeamBands, ...]
    braces: Sequence[Brace]
    uncut: Uncut

    def answer(self, report: Report) -> LoadAnswer:
        names = [bands.seam.name for bands in self.seams]
        ways = ways_of(self.ground.plan, names, bool(self.braces))
        whole, factor = self.uncut.diagrams, self.uncut.weakest.factor
        loaded = LoadedSeams(self.ground, self.seams, whole, factor)
        pieces, layers = pieces_under(whole, self.ground.stretches(self.loading.axis))
        held: list[HeldWay] = []
        for index, way in enumerate(ways):
            report(index / len(ways), "working out what seams hold")
            if way == "braced":
                held.append(at_least(held[-1], self.braced(loaded)))
            else:
                held.append(held_way(way, loaded.held(way), pieces, layers, (), factor))
        return LoadAnswer(
            loading=self.loading,
            diagrams=whole,
            impact=self.uncut.impact,
            uncut=self.uncut.weakest,
            uncut_layers=self.uncut.layers,
            ways=tuple(held),
        )

    def braced(self, loaded: LoadedSeams) -> HeldWay:
        ground, whole = self.ground, self.uncut.diagrams
        stretches, factor = ground.stretches(self.loading.axis), self.uncut.weakest.factor
        along = braces_along(whole.chain, self.braces, ground.shelf, ground.material)
        load = braced_load(whole, along, moduli_along(whole.chain, stretches)[0])
        left = load.left
        pieces, layers = pieces_under(left, stretches)
        seams = list(loaded.held("braced", left))
        pulls: dict[str, dict[BraceBolt, float]] = {}
        for index, bands in enumerate(self.seams):
            ties = ties_of(bands.seam, along, ground)
            found = tied_seam(loaded, bands, ties) if ties and loaded.is_felt(bands) else None
            if found is not None and found[0].weakest.factor > seams[index].weakest.factor:
                seams[index] = found[0]
                add_pulls(pulls, ties, found[1])
        seams = loaded.with_most_taken(seams, load.left_at_least)
        under = braces_under(load, ground.shelf, ground.plastic, ground.held_by, pulls)
        return held_way("braced", tuple(seams), pieces, layers, under, factor)
