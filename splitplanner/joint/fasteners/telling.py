"""What is said of the screws that were placed on a seam, and of those that are wanting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity, counted, piece_words
from splitplanner.joint.fasteners.patterns import FEWER_THAN, Pattern
from splitplanner.plan import Seam
from splitplanner.score import widest_place

WANTING = (
    "joint.screws_no_room",
    "joint.screws_not_reached",
    "joint.screws_no_length",
    "joint.one_screw",
    "joint.screws_gap",
)
"""Kinds of findings of a seam that has not the screws it should have; a flange may help."""


@dataclass(frozen=True, eq=False)
class Told:
    """The findings of a seam's screws."""

    seam: Seam

    def findings(self, pattern: Pattern) -> list[Finding]:
        """Say what was placed, and what is wanting."""
        number = len(pattern.places.places)
        if not number:
            return [self._none(pattern)]
        found = [self._note(pattern)]
        if number < FEWER_THAN:
            found.append(
                self._finding(
                    "joint.one_screw",
                    "there is room for one screw only, which lets the seam gape at its ends; add "
                    "or widen the flange, or take a thinner screw.",
                    pattern.places.places[0],
                )
            )
        elif not pattern.is_complete:
            found.append(
                self._finding(
                    "joint.screws_gap",
                    f"{pattern.gap:.0f} mm of it have no screw and should be no more than "
                    f"{pattern.pitch:.0f} mm, for want of room or of a way for the driver; widen "
                    "the flange there, take a thinner screw, or glue and tape it.",
                    pattern.places.places.mean(axis=0),
                    pattern.gap,
                    pattern.pitch,
                )
            )
        return found

    def _note(self, pattern: Pattern) -> Finding:
        places, size = pattern.places, pattern.places.size
        lengths = sorted({hardware.length for hardware in places.hardware})
        sides = set(places.sides)
        heads = [self.seam.above if side > 0 else self.seam.below for side in sorted(sides)]
        message = (
            f"{counted(len(places.places), 'screw')} {size.standard} {size.size} x "
            f"{', '.join(f'{length:g}' for length in lengths)} mm, heads in "
            f"{piece_words(*heads)}."
        )
        where = self.seam.plane.to_space(places.places)
        name = self.seam.name
        return Finding("joint.screws", Severity.NOTE, f"Seam {name}: {message}", name, where)

    def _none(self, pattern: Pattern) -> Finding:
        """Say why no screw stands."""
        size, stage = pattern.places.size, pattern.places.stage
        width, place = widest_place(self.seam.section.shape)
        needed = 2 * size.edge_distance
        name = f"{size.standard} {size.size}"
        if stage == "reach":
            what = "head or nut" if size.hold == "nut" else "head"
            message = (
                f"no {name} screw: wherever it has room, its {what} finds no seat that can be "
                "reached; add a flange on a side that is open, or turn the seam towards one."
            )
            return self._finding("joint.screws_not_reached", message, place)
        if stage == "length":
            longest = max(size.lengths)
            message = (
                f"no {name} screw on the shelf has a length that suits this seam; the longest is "
                f"{longest:g} mm; add lengths to the shelf, or make the flange "
                f"{'thinner' if size.hold == 'nut' else 'thicker'}."
            )
            return self._finding("joint.screws_no_length", message, place, allowed=longest)
        if stage == "clear":
            message = (
                f"no room for {name} screws beside the pins and what holds other seams; widen the "
                "flange, or take thinner pins."
            )
            return self._finding("joint.screws_no_room", message, place)
        if width < needed:
            message = (
                f"no room for {name} screws: the wall is at most {width:.2f} mm thick and "
                f"{needed:.2f} mm are needed; add a flange, or take a thinner screw."
            )
            return self._finding("joint.screws_no_room", message, place, width, needed)
        deep = max(size.least_seat, size.least_depth + size.end_cover)
        message = (
            f"no room for {name} screws: nowhere {needed:.1f} mm of width have {deep:.1f} mm of "
            "material on both sides, and room for a head besides; make the flange wider or "
            "thicker, or take a thinner screw."
        )
        return self._finding("joint.screws_no_room", message, place, allowed=deep)

    def _finding(
        self,
        kind: str,
        message: str,
        place: Floats,
        measured: float | None = None,
        allowed: float | None = None,
    ) -> Finding:
        where = self.seam.plane.to_space(np.reshape(place, (1, 2)))
        name = self.seam.name
        text = f"Seam {name}: {message}"
        return Finding(kind, Severity.WARNING, text, name, where, measured, allowed, "mm")
