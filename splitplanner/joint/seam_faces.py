"""What is done to the faces of a seam besides its holes: set back for coat and glue, marked."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.findings import Finding
from splitplanner.joint.glue import GlueRelief, glue_relief
from splitplanner.joint.keeping_clear import kept_clear, others_of
from splitplanner.joint.marks import Mark, can_be_raised, place_mark, room_for_marks
from splitplanner.joint.register.solids import register_zone
from splitplanner.plan import Division, Plan, Seam
from splitplanner.solid import to_polygons


def set_back(
    seam: Seam, contact: Seam, division: Division, plan: Plan
) -> tuple[tuple[GlueRelief, ...], tuple[Finding, ...]]:
    """Return what is taken off the faces of a seam: for a coat all over, for glue inside a rim."""
    fastening, joint = plan.fastening_of(contact.name), plan.joint(contact.name)
    reliefs: list[GlueRelief | None] = []
    findings: list[Finding] = []
    coats = 2 * fastening.coat
    if coats > 0.0:
        coated, _ = glue_relief(contact, coats, plan.machine, whole=True)
        reliefs.append(coated)
    if fastening.glue_gap > 0.0:
        clear = kept_clear(joint, contact)
        if joint.register is not None:
            below, above = (division.piece(name).solid for name in (seam.below, seam.above))
            free = kept_clear(joint, seam, others_of(plan, seam))
            zone = register_zone(joint.register, seam, below, above, None, free)
            clear = MultiPolygon(to_polygons(shapely.union(clear, zone)))
        glued, found = glue_relief(contact, coats + fastening.glue_gap, plan.machine, clear)
        reliefs.append(glued)
        findings += found
    return tuple(each for each in reliefs if each is not None), tuple(findings)


def mark_of(
    seam: Seam, contact: Seam, reliefs: tuple[GlueRelief, ...], division: Division, plan: Plan
) -> tuple[Mark | None, tuple[Finding, ...]]:
    """Return the mark on the faces of a seam, if it is wanted and has room."""
    wanted, joint = plan.fastening_of(contact.name).marks, plan.joint(contact.name)
    if wanted == "none":
        return None, ()
    holes = []
    for each in joint.fasteners:
        u, v = contact.plane.to_plane([each.at])[0]
        holes.append((float(u), float(v), each.edge_distance))
    # Where glue goes all of it has one depth.
    ground = reliefs[-1].shape if reliefs else contact.section.shape
    if joint.register is not None:
        ground = MultiPolygon(to_polygons(ground.difference(seam.section.shape)))
    room = room_for_marks(ground, holes, plan.machine)
    below, above = (np.array(plan.up(name)) for name in (contact.below, contact.above))
    raised = wanted == "raised" and can_be_raised(contact.plane, below, above, plan.machine)
    one, other = (division.piece(name).number for name in (contact.below, contact.above))
    return place_mark(contact, one, other, room, plan.machine, raised=raised)
