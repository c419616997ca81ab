"""Which end of a brace points where, told by its first hole in words of the part's own axes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import to_vector
from splitplanner.joint.brace.building import Brace
from splitplanner.plan import Vector, direction_words
from splitplanner.solid import Solid


@dataclass(frozen=True)
class FirstHole:
    """Where the first hole of a brace goes; in its drawing it is the one at the left end.

    Attributes
    ----------
    towards : (x, y, z)
        Which way that end points, in the part's frame.
    distance : float
        Of the hole's axis from the part's end that way, along `towards`, mm.
    """

    towards: Vector
    distance: float

    def words(self, distance: str, *, minus: str = "−") -> str:
        """Return where it goes in words.

        Parameters
        ----------
        distance : str
            As it is written there, with its unit.
        minus : str
            See `splitplanner.plan.direction_words`.
        """
        towards = direction_words(self.towards, minus=minus)
        return (
            f"the left end of its drawing goes towards {towards}, its first hole {distance} from "
            "that end of the part"
        )


def first_hole(brace: Brace, part: Solid) -> FirstHole | None:
    """Return where the first hole of a brace goes; None where it has no bolts.

    Parameters
    ----------
    brace : Brace
    part : Solid
        Uncut.
    """
    if not brace.bosses.bolts:
        return None
    along = np.array(brace.wish.along)
    end = float((part.vertices @ along).min())
    return FirstHole(to_vector(0.0 - along), brace.bosses.bolts[0].station - end)
