"""What holds a seam besides pins, screws and a flange: a register and tape, if they are wanted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from splitplanner.arrays import Bools
from splitplanner.findings import Finding, Severity, faults, piece_words
from splitplanner.joint.keeping_clear import kept_clear, others_of
from splitplanner.joint.making import Maker
from splitplanner.joint.register.checks import check_register
from splitplanner.joint.register.planning import plan_register, register_gap
from splitplanner.joint.tape import tape_for
from splitplanner.plan import Division, Joint, Plan, Seam
from splitplanner.score import bed_fit, seam_figures


def with_register(
    seam: Seam, division: Division, plan: Plan, maker: Maker
) -> tuple[Joint, tuple[Finding, ...]]:
    """Return the joint of a seam with the register that its fastening asks for, if it stands.

    Parameters
    ----------
    seam : Seam
    division : Division
    plan : Plan
        With all that has been decided on so far.
    maker : Maker

    Returns
    -------
    joint : Joint
    findings : tuple of Finding
        Warnings where none stands, or along some of the seam only.
    """
    joint, fastening = plan.joint(seam.name), plan.fastening_of(seam.name)
    if fastening.register == "none":
        return joint, ()
    below, above = (division.piece(name).solid for name in (seam.below, seam.above))
    others = others_of(plan, seam)
    clear = kept_clear(joint, seam, others)
    register, found = plan_register(
        fastening.register,
        seam,
        below,
        above,
        plan.machine,
        gap=register_gap(plan.machine) + 2 * fastening.coat,
        clear=clear,
        up=plan.up(seam.below),
    )
    if register is None:
        return joint, found
    held = replace(joint, register=register)
    if not _fits_bed(seam, division, plan.with_joints(_with(plan, held)), maker):
        return joint, (_too_large(seam),)
    made = maker.register(held, seam, division, others)
    wrong = faults(check_register(register, seam, below, above, plan.machine, None, clear, made))
    return (joint, (_unsound(seam, wrong[0]),)) if wrong else (held, found)


def with_tape(joint: Joint, seam: Seam, division: Division, plan: Plan, seen: Bools) -> Joint:
    """Return a joint with the tape that its fastening asks for."""
    fastening = plan.fastening_of(seam.name)
    if not fastening.tape_plies:
        return joint
    figures = seam_figures(seam, division.part, seen)
    length = figures.hidden_length - figures.inner_length
    return replace(joint, tape=tape_for(length, fastening))


def _with(plan: Plan, held: Joint) -> tuple[Joint, ...]:
    return (*(joint for joint in plan.joints if joint.seam != held.seam), held)


def _fits_bed(seam: Seam, division: Division, plan: Plan, maker: Maker) -> bool:
    """Whether the piece below fits the bed with all that stands on it, if it does without."""
    up, bed = plan.up(seam.below), plan.printer.bed
    bare = maker.rimmed(division, plan)[seam.below]
    standing = [bare.hull.vertices]
    for other in division.seams:
        if other.below != seam.below:
            continue
        joint = plan.joint(other.name)
        bodies = maker.register(joint, other, division, others_of(plan, other))
        if bodies is not None:
            standing.append(bodies[0].vertices)
    return bed_fit(np.vstack(standing), up, bed).fits or not bed_fit(bare, up, bed).fits


def _too_large(seam: Seam) -> Finding:
    return Finding(
        "register.too_large",
        Severity.WARNING,
        f"Seam {seam.name}: with a register standing on it, {piece_words(seam.below)} is too "
        "large for the bed as it lies, so none was made; turn the piece, move the cut, or flip it "
        "so that the other piece carries the register.",
        seam.name,
        seam.section.centroid[None, :],
    )


def _unsound(seam: Seam, fault: Finding) -> Finding:
    """Say of a register that was planned by sections why it does not stand on the solids."""
    _, said = fault.message.split(": ", 1)
    message = f"Seam {seam.name}: its register was left out, since {said}"
    return replace(fault, kind="register.left_out", severity=Severity.WARNING, message=message)
