"""Steps from one plan to the next: what a user does to cuts, print directions, pins and screws."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

import numpy as np

from splitplanner.arrays import Floats, to_vector, unit_vector
from splitplanner.plan.brace import BraceWish
from splitplanner.plan.fastening import Fastening, Fastenings
from splitplanner.plan.joints import Joint, Pin, Screw, Vector
from splitplanner.plan.loading import Loading
from splitplanner.plan.pieces import WHOLE, Cut, divide_in_place, loose_bodies
from splitplanner.plan.plan import Plan
from splitplanner.solid import Plane, Solid

Named = TypeVar("Named", bound=BraceWish | Loading)


def with_cuts(plan: Plan, cuts: tuple[Cut, ...]) -> Plan:
    """Return a plan with other cuts; seams that nothing holds are open again.

    Seams are named by their order, so that what was said of one may be another's now. Of seams
    that are held in their own way it is kept by which cuts they were named.
    """
    named_by = plan.cuts if plan.seams_named_by is None else plan.seams_named_by
    return replace(
        plan,
        cuts=cuts,
        joints=tuple(joint for joint in plan.joints if not joint.is_empty),
        seams_named_by=named_by if plan.own_fastenings and named_by != cuts else None,
    )


def with_cut(plan: Plan, plane: Plane, piece: str | None = None) -> Plan:
    """Return a plan with one more cut, of one piece or of all that it meets."""
    return with_cuts(plan, (*plan.cuts, Cut(plane, piece)))


def with_plane(plan: Plan, index: int, plane: Plane) -> Plan:
    """Return a plan in which a cut lies elsewhere."""
    return _with(plan, index, replace(plan.cuts[index], plane=plane))


def with_target(plan: Plan, index: int, piece: str | None) -> Plan:
    """Return a plan in which a cut divides another piece, or all that it meets."""
    return _with(plan, index, replace(plan.cuts[index], piece=piece))


def with_cut_flipped(plan: Plan, index: int) -> Plan:
    """Return a plan in which below and above of a cut are exchanged, with what the pieces are.

    Print directions go with the pieces where one piece is cut; else they are open again.
    """
    cut = plan.cuts[index]
    flipped = _with(plan, index, replace(cut, plane=cut.plane.flipped()))
    if cut.piece is None:
        return replace(flipped, print_directions={})
    stem = "" if cut.piece == WHOLE else f"{cut.piece}."
    renamed = _exchanging(f"{stem}1", f"{stem}2")
    targets = tuple(
        each if each.piece is None else replace(each, piece=renamed(each.piece))
        for each in flipped.cuts
    )
    ups = {renamed(name): up for name, up in plan.print_directions.items()}
    return replace(flipped, cuts=targets, print_directions=ups)


def _exchanging(one: str, other: str) -> Callable[[str], str]:
    """Return what exchanges two beginnings of piece names."""

    def renamed(name: str) -> str:
        for before, after in ((one, other), (other, one)):
            # 1, 1a and 1.2 begin with 1; 12 does not.
            if name.startswith(before) and not name[len(before) :][:1].isdigit():
                return after + name[len(before) :]
        return name

    return renamed


def with_cut_copied(plan: Plan, index: int, distance: float) -> Plan:
    """Return a plan with a copy of a cut, shifted along its normal, of all pieces that it meets."""
    return with_cut(plan, plan.cuts[index].plane.shifted(distance))


def with_cut_mirrored(plan: Plan, index: int, middle: Plane) -> Plan:
    """Return a plan with the mirror image of a cut in a plane, of all pieces that it meets."""
    return with_cut(plan, mirrored(plan.cuts[index].plane, middle))


def mirrored(plane: Plane, middle: Plane) -> Plane:
    """Return the mirror image of a plane, with its upper side where the image of that is."""
    across = np.array(middle.normal)
    normal = np.array(plane.normal)
    point = plane.origin - 2.0 * float(middle.height(plane.origin[None, :])[0]) * across
    return Plane.through(point, to_vector(normal - 2.0 * float(normal @ across) * across))


def without_cut(plan: Plan, index: int) -> Plan:
    """Return a plan without a cut."""
    return with_cuts(plan, plan.cuts[:index] + plan.cuts[index + 1 :])


def with_cut_at(plan: Plan, index: int, place: int) -> Plan:
    """Return a plan in which a cut is done earlier or later: as number `place`, from 0."""
    rest = plan.cuts[:index] + plan.cuts[index + 1 :]
    place = min(max(place, 0), len(rest))
    return with_cuts(plan, (*rest[:place], plan.cuts[index], *rest[place:]))


def with_targets_there(plan: Plan, part: Solid) -> Plan:
    """Return a plan in which cuts of pieces that are not there divide all that they meet.

    Parameters
    ----------
    plan : Plan
    part : Solid
        The part or a light stand-in.
    """
    solids = loose_bodies(WHOLE, part)
    cuts = []
    for cut in plan.cuts:
        if not divide_in_place(cut, solids) and cut.piece is not None:
            cut = replace(cut, piece=None)
            divide_in_place(cut, solids)
        cuts.append(cut)
    return plan if tuple(cuts) == plan.cuts else with_cuts(plan, tuple(cuts))


def with_up(plan: Plan, piece: str, up: Vector) -> Plan:
    """Return a plan in which a piece prints with another direction upwards."""
    unit = to_vector(unit_vector(up))
    return replace(plan, print_directions={**plan.print_directions, piece: unit})


def with_joint(plan: Plan, joint: Joint) -> Plan:
    """Return a plan in which a seam is held in another way."""
    others = tuple(each for each in plan.joints if each.seam != joint.seam)
    return plan.with_joints((*others, joint))


def with_seam_open(plan: Plan, seam: str | None = None) -> Plan:
    """Return a plan that leaves open what holds a seam, or any seam, so that pins are placed."""
    left = () if seam is None else tuple(each for each in plan.joints if each.seam != seam)
    return plan.with_joints(left)


def with_pin_at(plan: Plan, seam: str, index: int, at: Floats) -> Plan:
    """Return a plan in which a pin stands at another point (3,) mm of its seam."""
    joint = plan.joint(seam)
    pins = list(joint.pins)
    pins[index] = replace(pins[index], at=to_vector(np.asarray(at, dtype=np.float64)))
    return with_joint(plan, replace(joint, pins=tuple(pins)))


def with_pin(plan: Plan, seam: str, pin: Pin) -> Plan:
    """Return a plan with one more pin across a seam."""
    joint = plan.joint(seam)
    return with_joint(plan, replace(joint, pins=(*joint.pins, pin)))


def without_pin(plan: Plan, seam: str, index: int) -> Plan:
    """Return a plan without a pin of a seam."""
    joint = plan.joint(seam)
    pins = joint.pins[:index] + joint.pins[index + 1 :]
    return with_joint(plan, replace(joint, pins=pins))


def with_screw_at(plan: Plan, seam: str, index: int, at: Floats) -> Plan:
    """Return a plan in which a screw stands at another point (3,) mm of its seam."""
    joint = plan.joint(seam)
    screws = list(joint.screws)
    screws[index] = replace(screws[index], at=to_vector(np.asarray(at, dtype=np.float64)))
    return with_joint(plan, replace(joint, screws=tuple(screws)))


def with_screw(plan: Plan, seam: str, screw: Screw) -> Plan:
    """Return a plan with one more screw across a seam."""
    joint = plan.joint(seam)
    return with_joint(plan, replace(joint, screws=(*joint.screws, screw)))


def with_other_screw(plan: Plan, seam: str, index: int, screw: Screw) -> Plan:
    """Return a plan in which another screw stands for one of a seam."""
    joint = plan.joint(seam)
    screws = (*joint.screws[:index], screw, *joint.screws[index + 1 :])
    return with_joint(plan, replace(joint, screws=screws))


def with_screw_turned(plan: Plan, seam: str, index: int) -> Plan:
    """Return a plan in which the head of a screw is in the other piece.

    A nut then bears where the head did, and the head where the nut did. A hole for an insert or a
    thread keeps its depth, and the head its distance from the seam; what lies beyond may be
    another there, so both have to be found anew.
    """
    screw = plan.joint(seam).screws[index]
    turned = replace(screw, axis=to_vector(-np.array(screw.axis)))
    if screw.hold == "nut":
        turned = replace(turned, seat=screw.depth, depth=screw.seat)
    return with_other_screw(plan, seam, index, turned)


def without_screw(plan: Plan, seam: str, index: int) -> Plan:
    """Return a plan without a screw of a seam."""
    joint = plan.joint(seam)
    screws = joint.screws[:index] + joint.screws[index + 1 :]
    return with_joint(plan, replace(joint, screws=screws))


def _with(plan: Plan, index: int, cut: Cut) -> Plan:
    return with_cuts(plan, (*plan.cuts[:index], cut, *plan.cuts[index + 1 :]))


def with_brace(plan: Plan, brace: BraceWish) -> Plan:
    """Return the plan with a brace; it replaces the one of its name."""
    return replace(plan, braces=_named(plan.braces, brace))


def without_brace(plan: Plan, name: str) -> Plan:
    """Return the plan without one brace."""
    return replace(plan, braces=tuple(each for each in plan.braces if each.name != name))


def with_loading(plan: Plan, loading: Loading) -> Plan:
    """Return the plan with a load case; it replaces the one of its name."""
    return replace(plan, loadings=_named(plan.loadings, loading))


def without_loading(plan: Plan, name: str) -> Plan:
    """Return the plan without one load case."""
    return replace(plan, loadings=tuple(each for each in plan.loadings if each.name != name))


def _named(known: tuple[Named, ...], new: Named) -> tuple[Named, ...]:
    """Return values with a new one in the place of the one of its name, or at the end."""
    kept = [new if each.name == new.name else each for each in known]
    return tuple(kept if new in kept else [*kept, new])


def with_fastening(plan: Plan, fastening: Fastening) -> Plan:
    """Return a plan whose seams are held in another way in general; what held them is open again.

    What differs of single seams stays as it is; see `Fastenings.with_general`.
    """
    return with_fastenings(plan, plan.fastenings.with_general(fastening))


def with_own_fastening(plan: Plan, seam: str, fastening: Fastening | None) -> Plan:
    """Return a plan that holds one seam in its own way, or in the general one again for None."""
    return with_fastenings(plan, plan.fastenings.with_own(seam, fastening))


def with_fastenings(plan: Plan, fastenings: Fastenings) -> Plan:
    """Return a plan whose seams are held in other ways; those that are so are open again.

    Those of which it is said anew only what their hardware stands keep what holds them.
    """
    own = dict(fastenings.own)
    left = tuple(
        joint
        for joint in plan.joints
        if fastenings.of(joint.seam).places_as(plan.fastening_of(joint.seam))
    )
    return replace(
        plan,
        fastening=fastenings.general,
        own_fastenings=own,
        joints=left,
        seams_named_by=plan.seams_named_by if own else None,
    )
