"""Screws by the hand formula, under what goes through their seam by finite cells."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from splitplanner.arrays import Floats, frozen_floats, to_vector
from splitplanner.loaded.cells_values import SeamInCells
from splitplanner.plan import Flange, Joint, Seam
from splitplanner.strength import Bed, bed_of, contact_of, opening_of, screw_hardware, seam_load
from splitplanner.strength.seam_capacity import STEEL
from splitplanner.strength.seam_ground import generic_fibre, screw_places, tape_stretches
from splitplanner.workshop import Shelf

_FELT = 1e-9
"""A screw that takes less than this share of the largest pull takes nothing."""


@dataclass(eq=False)
class ByHand:
    """The hand formula for the seams of one plan; remembers their contact.

    Attributes
    ----------
    modulus : float
        Of the plastic, MPa.
    shelf : Shelf
    """

    modulus: float
    shelf: Shelf
    _beds: dict[tuple[str, Flange | None], Bed] = field(default_factory=dict, init=False)

    def pulls(self, seam: Seam, joint: Joint, found: SeamInCells, is_glued: bool = False) -> Floats:
        """Return what each screw takes by hand under what cells found in its seam, (n,) N.

        So the load is the same, whatever braces carry past the seam, and only its shares differ.
        The tensions are those of `seam_capacity`: screws, tape and glue share a pull and bending by
        their stiffness, the contact presses.

        Parameters
        ----------
        seam : Seam
        joint : Joint
        found : SeamInCells
            Held by that joint.
        is_glued : bool
            Whether glue holds it too.

        Raises
        ------
        WorkshopError
            If hardware or fibre is not on the shelf.
        """
        screws = screw_places(seam, joint)
        hardware = [screw_hardware(screw, self.shelf) for screw in joint.screws]
        places, areas = screws, np.array([each.thread.stress_area for each in hardware]) * STEEL
        if joint.tape is not None:
            fibre = generic_fibre(joint.tape.fibre)
            tape = tape_stretches(seam, joint, joint.tape, fibre)
            places = np.vstack([places, tape.places])
            areas = np.append(areas, tape.areas * fibre.stiffness)
        load = seam_load(seam, to_vector(found.force), to_vector(found.moment))
        if not len(screws) or not (load.force[2] or load.moment[:2].any()):
            return frozen_floats(np.zeros(len(screws)))
        bed = self._bed(seam, joint)
        opening = opening_of(places, areas / self.modulus, load, bed, glued=is_glued)
        if not opening.is_balanced:
            return frozen_floats(np.zeros(len(screws)))
        return frozen_floats(opening.tensions[: len(screws)])

    def factors(
        self, seam: Seam, joint: Joint, found: SeamInCells, is_glued: bool = False
    ) -> Floats:
        """Return how many times what the hand formula gives each screw takes by cells, (n,).

        NaN for a screw that it gives nothing: it is a lower bound.

        Parameters
        ----------
        seam, joint, found, is_glued
            As for `pulls`.

        Raises
        ------
        WorkshopError
            If hardware or fibre is not on the shelf.
        """
        hand = self.pulls(seam, joint, found, is_glued)
        cells = np.asarray(found.screws, float)
        felt = hand > _FELT * max(float(cells.max(initial=0.0)), 1e-300)
        return frozen_floats(np.where(felt, cells / np.where(felt, hand, 1.0), np.nan))

    def _bed(self, seam: Seam, joint: Joint) -> Bed:
        key = seam.name, joint.flange
        if key not in self._beds:
            self._beds[key] = bed_of(contact_of(seam, joint))
        return self._beds[key]
