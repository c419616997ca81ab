"""What of a plan still holds after its cuts have changed, and findings told once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from splitplanner.arrays import Floats
from splitplanner.findings import Finding
from splitplanner.joint import is_sensible_joint, sloping
from splitplanner.plan import Division, Joint, Plan, Seam

_BESIDE = 0.2
"""What is no further from a seam, or its outline, than this lies on it, mm: lines of flanges are
simpler than outlines."""
_ON_PLANE = 1e-6
"""A fastener lies on its seam when it is no further from its plane, mm."""


def kept_joints(division: Division, plan: Plan) -> dict[str, Joint]:
    """Return the joints of a plan that still lie on their seams, by name.

    An empty joint is kept too: somebody may have wanted it so; one of which nothing could be made
    is not, nor one whose flange or fasteners are beside the seam now, as when a cut across it was
    moved. How a flange slopes follows the print directions.
    """
    seams = {seam.name: seam for seam in division.seams}
    kept = {}
    for joint in plan.joints:
        seam = seams.get(joint.seam)
        if seam is None or not is_sensible_joint(joint):
            continue
        fasteners = joint.fasteners
        at = np.reshape([each.at for each in fasteners], (-1, 3))
        axes = np.reshape([each.axis for each in fasteners], (-1, 3))
        away = np.abs(seam.plane.height(at)) <= _ON_PLANE
        along = np.abs(axes @ np.array(seam.plane.normal)) >= 1.0 - _ON_PLANE
        if away.all() and along.all() and _is_on(seam, joint, at):
            kept[joint.seam] = sloping(joint, seam, plan)
    return kept


def _is_on(seam: Seam, joint: Joint, at: Floats) -> bool:
    """Whether a joint's fasteners, at (n, 3) mm, and its flange are where the seam is."""
    flange, section = joint.flange, seam.section.shape
    beside = shapely.distance(section, shapely.points(seam.plane.to_plane(at)))
    if bool((beside > (0.0 if flange is None else flange.width) + _BESIDE).any()):
        return False
    corners = [corner for line in (() if flange is None else flange.lines) for corner in line]
    off = shapely.distance(section.boundary, shapely.points(np.reshape(corners, (-1, 2))))
    return bool((off <= _BESIDE).all())


def once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return findings without those that say the same of the same as one before them."""
    first: dict[tuple[str, str, str], Finding] = {}
    for each in findings:
        first.setdefault((each.kind, each.subject, each.message), each)
    return tuple(first.values())
