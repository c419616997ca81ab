"""One step of the assembly as the view shows it: what stands, what moves, and which way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.arrays import Floats, to_vector
from splitplanner.background.examined import MadeBrace
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
    """A step of the assembly, how far pieces go straight in it, mm, and which brace goes on."""

    step: Step
    way: float = 0.0
    brace: MadeBrace | None = None

    def is_of(self, division: Division) -> bool:
        """Whether a division has all its pieces."""
        return {*self.step.moving, *self.step.standing} <= set(division.by_name)

    def shifts(self, division: Division, share: float) -> dict[str, Vector]:
        """Return by how much pieces are pulled away, mm, by a share of what is most.

        Only those that stand or move are there.
        """
        away = self.away(division, share)
        still = dict.fromkeys(self.step.standing, (0.0, 0.0, 0.0))
        return still | dict.fromkeys(self.step.moving, away)

    def away(self, division: Division, share: float) -> Vector:
        """Return by how much what moves is pulled away, mm."""
        most = max(showing.APART * division.part.size, _CLEAR * self.way)
        return to_vector(-share * most * np.array(self.step.direction) + 0.0)

    def closing(self, division: Division) -> list[Seam]:
        """Return the seams that close."""
        return [seam for seam in division.seams if seam.name in self.step.seams]


def step_bodies(
    shown: ShownStep, division: Division, colours: Mapping[str, str], share: float
) -> list[ShownBody]:
    """Return the pieces that stand, and what moves pulled away; later pieces are not there."""
    shifts = shown.shifts(division, share)
    bodies = [
        replace(body, shift=shifts[body.name])
        for body in showing.bodies_of(division, colours)
        if body.name in shifts
    ]
    if shown.brace is not None:
        bodies += showing.brace_bodies([shown.brace], division, share)
    return bodies


def step_lines(shown: ShownStep, division: Division, plan: Plan, share: float) -> list[Outline]:
    """Return the seams that close, on both sides, their pins, and an arrow from side to side."""
    away = np.array(shown.away(division, share))
    lines = [] if shown.brace is None else _brace_lines(shown.brace, away)
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


def _brace_lines(brace: MadeBrace, away: Floats) -> list[Outline]:
    """Return a brace pulled away, seen through what hides it, and arrows to where its bolts go."""
    if not away.any():
        return []
    outlines = showing.brace_outlines([brace])
    lines = [replace(each, points=each.points + away, colour=ARROW) for each in outlines]
    places = [np.array(bolt.at) for bolt in brace.bolts]
    return lines + [Outline(np.array([at + away, at]), ARROW, 3.0, has_head=True) for at in places]


def step_marks(shown: ShownStep, division: Division, share: float) -> list[Mark]:
    """Return the names of the seams that close, each where its arrow begins."""
    away = np.array(shown.away(division, share))
    return [
        Mark(to_vector(seam.section.centroid + away), seam.name, ARROW, False)
        for seam in shown.closing(division)
    ]
