"""Places for screws of one size on a seam, each with a side for its head and a length."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.joint.screws.sizes import Hardware, ScrewSize

_STAGES = ("room", "reach", "length", "material", "clear", "places")


@dataclass(frozen=True, eq=False)
class Places:
    """Where screws of one size can stand, their heads on one side.

    Attributes
    ----------
    size : ScrewSize
    places : (n, 2) float array, mm
    sides : tuple of int
        On which side each one's head is, +1 above and -1 below.
    hardware : tuple of Hardware
    stage : str
        What the last places were lost for: "room", "reach", "length", "material" or "clear"; or
        "places" where some are left.
    """

    size: ScrewSize
    places: Floats
    sides: tuple[int, ...]
    hardware: tuple[Hardware, ...]
    stage: str

    @property
    def rank(self) -> int:
        """How far the places came; more for a later stage."""
        return _STAGES.index(self.stage)

    def only(self, chosen: Sequence[int], stage: str | None = None) -> Places:
        """Return some of these; where none are left, for want of material if nothing is said."""
        return Places(
            self.size,
            self.places[list(chosen)],
            tuple(self.sides[index] for index in chosen),
            tuple(self.hardware[index] for index in chosen),
            stage or ("material" if len(self.places) and not len(chosen) else self.stage),
        )

    def of_one_length(self) -> Places:
        """Return those of the length that most of them have; the shorter of two as frequent."""
        lengths = [hardware.length for hardware in self.hardware]
        if not lengths:
            return self
        most = max(sorted(set(lengths)), key=lengths.count)
        return self.only([index for index, length in enumerate(lengths) if length == most])

    def and_of(self, other: Places) -> Places:
        """Return these, and of others of the same size those at places that are not among these."""
        mine = {tuple(place) for place in self.places.tolist()}
        more = [
            index for index, place in enumerate(other.places.tolist()) if tuple(place) not in mine
        ]
        rest = other.only(more)
        return Places(
            self.size,
            np.vstack([self.places, rest.places]),
            self.sides + rest.sides,
            self.hardware + rest.hardware,
            self.stage if len(self.places) else other.stage,
        )
