"""One step of the assembly as the view shows it: what stands, what moves, and which way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.arrays import to_vector
from splitplanner.joint import Step
from splitplanner.plan import Division, Joint, Plan, Seam, Vector
from splitplanner.window.view import showing
from splitplanner.window.view.values import Mark, Outline, ShownBody

ARROW = "#D55E00"
PINS = "#CC79A7"
"""Okabe & Ito, "Color Universal Design" (2008): vermilion and reddish purple."""
_CLEAR = 1.2
"""What moves is drawn apart as far as pieces are at most, or by so many times the way that it goes
straight, if that is more."""


@dataclass(frozen=True)
class ShownStep:
    """A step of the assembly, and how far the moving pieces go straight, mm."""

    step: Step
    way: float = 0.0

    def is_of(self, division: Division) -> bool:
        """Whether a division has all its pieces."""
        return {*self.step.moving, *self.step.standing} <= set(division.by_name)

    def shifts(self, division: Division, share: float) -> dict[str, Vector]:
        """Return by how much pieces are pulled away, mm, by a share of what is most.

        Only those that stand or move are there.
        """
        most = max(showing.APART * division.part.size, _CLEAR * self.way)
        away = to_vector(-share * most * np.array(self.step.direction) + 0.0)
        still = dict.fromkeys(self.step.standing, (0.0, 0.0, 0.0))
        return still | dict.fromkeys(self.step.moving, away)

    def closing(self, division: Division) -> list[Seam]:
        """Return the seams that close."""
        return [seam for seam in division.seams if seam.name in self.step.seams]


def step_bodies(
    shown: ShownStep, division: Division, colours: Mapping[str, str], share: float
) -> list[ShownBody]:
    """Return the pieces that stand, and those that move pulled away; later ones are not there."""
    shifts = shown.shifts(division, share)
    return [
        replace(body, shift=shifts[body.name])
        for body in showing.bodies_of(division, colours)
        if body.name in shifts
    ]


def step_lines(shown: ShownStep, division: Division, plan: Plan, share: float) -> list[Outline]:
    """Return the seams that close, on both sides, their pins, and an arrow from side to side."""
    away = np.array(shown.shifts(division, share)[shown.step.moving[0]])
    lines = []
    for seam in shown.closing(division):
        for ring in seam.section.rings():
            lines.append(Outline(ring, ARROW, 1.6))
            if share > 0.0:
                lines.append(Outline(ring + away, ARROW, 1.6))
        lines += showing.joint_outlines([Joint("", plan.joint(seam.name).pins)], [], PINS)
        if share > 0.0:
            middle = seam.section.centroid
            lines.append(Outline(np.array([middle + away, middle]), ARROW, 3.0, has_head=True))
    return lines


def step_marks(shown: ShownStep, division: Division, share: float) -> list[Mark]:
    """Return the names of the seams that close, each where its arrow begins."""
    away = np.array(shown.shifts(division, share)[shown.step.moving[0]])
    return [
        Mark(to_vector(seam.section.centroid + away), seam.name, ARROW, False)
        for seam in shown.closing(division)
    ]
