"""Joining a whole plan: pins on every seam of a division, and the check of all of them together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from splitplanner.arrays import frozen_floats
from splitplanner.findings import Finding, Severity
from splitplanner.joint.holes import check_pins, pins_apart
from splitplanner.joint.placing import place_pins
from splitplanner.joint.rules import check_sizes, is_sensible
from splitplanner.plan import Division, Joint, Pin, Plan
from splitplanner.progress import Report, silent
from splitplanner.workshop import DowelPin, Printer


def join(
    division: Division,
    printer: Printer,
    shelf: tuple[DowelPin, ...] | None = None,
    report: Report = silent,
    kept: Mapping[str, Joint] | None = None,
) -> tuple[tuple[Joint, ...], tuple[Finding, ...]]:
    """Place dowel pins on every seam of a division, the largest seams first.

    Parameters
    ----------
    division : Division
    printer : Printer
    shelf : tuple of DowelPin, optional
        Pins to choose from; the built-in table by default.
    report : progress callback
    kept : mapping of seam name to Joint, optional
        What holds these seams already and stays as it is.

    Returns
    -------
    joints : tuple of Joint
        One for each seam, in the order of the seams; without pins where none fits.
    findings : tuple of Finding
    """
    before = kept or {}
    joints = {seam.name: before[seam.name] for seam in division.seams if seam.name in before}
    findings: list[Finding] = []
    seams = sorted(division.seams, key=lambda seam: -round(seam.section.area, 3))
    for index, seam in enumerate(seams):
        if seam.name in joints:
            continue
        report(index / len(seams), f"placing pins on seam {seam.name}")
        below, above = division.piece(seam.below), division.piece(seam.above)
        others = [
            pin
            for other in seams
            if other.name in joints and {other.below, other.above} & {seam.below, seam.above}
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


def left_open(division: Division, plan: Plan) -> list[Finding]:
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
