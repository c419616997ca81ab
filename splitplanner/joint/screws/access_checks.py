"""Whether the screws of a plan can be put in and turned, and their nuts put on.

`order` asks that for each step, of the screws that it closes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity
from splitplanner.joint.screws.access import HANDLE, REGRIP, Tool
from splitplanner.joint.screws.sight import Past
from splitplanner.plan import Joint, Screw, Seam
from splitplanner.solid import Solid

_NUT_WIDTH = 2.31
_NUT_HEIGHT = 0.95
"""No nut of ISO 4032 from M2 to M8 is wider across corners, or higher, in thread diameters."""
_FARTHEST, _PLACES = 50.0, 12
"""From over the seat of a nut up to so far, mm, and at how many places, a way to it is looked for:
the longest bore and the nut above it."""
_A_WAY = 1
"""Directions that have to lead out where a plan is checked. Places are chosen by more, so that a
check a little further on, or before all pieces are in place, does not find fault with them."""


def check_access(
    joint: Joint,
    seam: Seam,
    obstacles: Solid | Sequence[Solid],
    tool: Tool,
    *,
    nut_width: float | None = None,
) -> tuple[Finding, ...]:
    """Check that every screw of a joint can be put in and turned, and its nut put on.

    Parameters
    ----------
    joint : Joint
    seam : Seam
        The seam that it holds.
    obstacles : Solid or several
        The pieces in place when the screws are tightened, with their holes and counterbores.
    tool : Tool
    nut_width : float, optional
        Across corners of a nut that lies open, mm; 2.31 thread diameters, more than any nut of
        ISO 4032 from M2 to M8 has, if it is not given.

    Returns
    -------
    tuple of Finding
        Faults; empty when all can be reached. Kinds: ``joint.screw_blocked`` (no room to put the
        screw in), ``joint.driver_blocked`` (no room for the tool), ``joint.driver_swing`` (a key
        cannot be turned), ``joint.driver_shut_in`` (no way into the open from the tool) and
        ``joint.nut_blocked``.
    """
    past = Past([obstacles] if isinstance(obstacles, Solid) else obstacles)
    findings: list[Finding] = []
    for number, screw in enumerate(joint.screws, 1):
        one = _Reached(past, screw, tool, f"Seam {seam.name}, screw {number}", seam.name)
        found = [one.head_fault()]
        if screw.hold == "nut":
            found.append(one.nut_fault(nut_width))
        findings += filter(None, found)
    return tuple(findings)


@dataclass(frozen=True, eq=False)
class _Reached:
    """A screw of a seam, past what is in the way of hands and tools."""

    past: Past
    screw: Screw
    tool: Tool
    name: str
    seam: str

    @cached_property
    def _out(self) -> Floats:
        """The way out of the hole over the head, a unit vector (3,)."""
        out: Floats = -np.array(self.screw.axis)
        return out

    @cached_property
    def _foot(self) -> Floats:
        """Where the head bears, (1, 3) mm."""
        return (np.array(self.screw.at) + self.screw.seat * self._out)[None, :]

    @cached_property
    def _thread(self) -> float:
        """The diameter of the thread, mm, from its size such as ``M4``."""
        return float(self.screw.size.removeprefix("M").split("x")[0])

    @property
    def _height(self) -> float:
        """How far the head stands up from where it bears, mm."""
        return 0.0 if self.screw.is_countersunk else self._thread

    def head_fault(self) -> Finding | None:
        """Return the first thing that keeps one from the head."""
        return self._screw_fault() or self._driver_fault() or self._hand_fault()

    def _screw_fault(self) -> Finding | None:
        start = self._foot + self.past.off * self._out
        needed = self.screw.length + self._height
        free = self._free(start, self.screw.head_room) + self.past.off
        if free >= needed:
            return None
        text = f"only {free:.1f} mm are free over its seat, and {needed:.1f} mm are needed to put "
        text += "it in; take a shorter screw, or turn it round"
        return self._fault("joint.screw_blocked", text, free, needed)

    def _driver_fault(self) -> Finding | None:
        tool, start = self.tool, self._height + self.past.off
        free = self._free(self._foot + start * self._out, tool.diameter) + start
        if free >= tool.length - self.past.off:
            return None
        text = f"its driver has {free:.1f} mm over the seat and needs {tool.length:.1f} mm; move "
        text += "the screw, turn it round, or take a shorter driver"
        return self._fault("joint.driver_blocked", text, free, tool.length)

    def _hand_fault(self) -> Finding | None:
        """Return what keeps a hand from the tool, or from turning it."""
        past, tool, out = self.past, self.tool, self._out
        ends = self._foot + tool.length * out
        if tool.handle:
            free = self._free(ends, tool.handle)
            if free < HANDLE:
                text = f"the handle of its driver has {free:.1f} mm of room and needs "
                text += f"{HANDLE:.0f} mm; turn the screw round, or take a longer driver"
                return self._fault("joint.driver_blocked", text, free, HANDLE)
            ends = ends + HANDLE * out
        leads = past.lead_out(ends, _A_WAY)
        if tool.kind == "key":
            swing, tips = past.swing(ends, out, tool.diameter, tool.swing)
            if swing[0] < REGRIP:
                text = f"its key turns through {swing[0]:.0f}° and needs {REGRIP:.0f}°; move the "
                text += "screw away from the wall, or turn it round"
                return self._fault("joint.driver_swing", text, float(swing[0]), REGRIP, "deg")
            leads |= past.lead_out(tips, _A_WAY)
        if leads[0]:
            return None
        text = "its head is shut in, so that no hand gets there; turn it round"
        return self._fault("joint.driver_shut_in", text, None, None, "")

    def nut_fault(self, nut_width: float | None) -> Finding | None:
        """Return what keeps the nut from going on; one that lies open is so wide, mm."""
        screw, past, thread = self.screw, self.past, self._thread
        width = screw.nut_room or nut_width or _NUT_WIDTH * thread
        # On over the tip of the screw, which stands out of the nut.
        tip = 0.0 if screw.nut_room else max(screw.length - screw.seat - screw.depth, 0.0)
        needed = max(_NUT_HEIGHT * thread, tip) + _NUT_HEIGHT * thread
        axis = np.array(screw.axis)
        foot = (np.array(screw.at) + (screw.depth + past.off) * axis)[None, :]
        free = float(past.free_round(foot, axis, width / 2)[0]) + past.off
        # It comes in along the axis, so that a way to any place on it will do.
        along = np.linspace(needed, max(min(free, _FARTHEST), needed), _PLACES)
        if free >= needed and past.lead_out(foot + along[:, None] * axis, _A_WAY).any():
            return None
        free = min(free, 1e6)
        text = f"the nut has {free:.1f} mm over where it bears and needs {needed:.1f} mm and a way "
        text += "there; move the screw, turn it round, or take an insert"
        return self._fault("joint.nut_blocked", text, free, needed)

    def _free(self, start: Floats, width: float) -> float:
        """Return how far it is free outwards from (1, 3) mm, as wide as `width`, mm."""
        return float(self.past.free_round(start, self._out, width / 2)[0])

    def _fault(
        self,
        kind: str,
        text: str,
        measured: float | None,
        allowed: float | None,
        unit: str = "mm",
    ) -> Finding:
        where, said = np.array([self.screw.at]), f"{self.name}: {text}."
        return Finding(kind, Severity.FAULT, said, self.seam, where, measured, allowed, unit)
