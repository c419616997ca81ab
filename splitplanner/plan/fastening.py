"""How the maker wants seams to be held: what is placed where a plan says nothing of a seam."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any, Literal

from splitplanner.plan.joints import Form, Hold

Screws = Literal["none"] | Hold
Flanges = Literal["never", "where needed", "always"]
Marks = Literal["none", "engraved", "raised"]

_MOST = 5.0
"""Coats and gaps beyond this are a mistake, mm."""


@dataclass(frozen=True)
class Fastening:
    """What seams are to be held by.

    Attributes
    ----------
    pins : bool
        Dowel pins, two or more a seam.
    screws : "none", "nut", "insert" or "plastic"
        Screws, and what their threads go into.
    screw_standard : str
    screw_size : str
        Such as ``M3``.
    flange : "never", "where needed" or "always"
        Where an internal rim is added: where the wall has no room for what is wanted, or on every
        seam with a hidden side.
    bosses : bool
        Whether a flange is only there where fasteners sit.
    register : "none", "lap", "tongue", "studs" or "wedge"
        A form in the seam, where the wall is thick enough.
    press_fit : bool
        Whether pins are pressed in: their holes get vents.
    slots : bool
        Whether one of two pins that locate has a slot, so that they do not fight each other.
    coat : float
        Thickness of a coat, epoxy for instance, on all mating surfaces and in holes, mm.
    glue_gap : float
        Room for glue between the pieces, mm.
    tape_plies : int
        Plies of tape over each seam on its hidden side; 0 for none.
    tape_fibre : str
    tape_weight : float
        Of one ply of dry fibre, g/m².
    tape_fibre_share : float
        Of the laminate's weight, 0 to 1.
    marks : "none", "engraved" or "raised"
        Numbers and arrows on the seam faces.

    Raises
    ------
    ValueError
        If a figure is out of range.
    """

    pins: bool = True
    screws: Screws = "none"
    screw_standard: str = "ISO 4762"
    screw_size: str = "M3"
    flange: Flanges = "where needed"
    bosses: bool = False
    register: Literal["none"] | Form = "none"
    press_fit: bool = False
    slots: bool = True
    coat: float = 0.0
    glue_gap: float = 0.0
    tape_plies: int = 0
    tape_fibre: str = "glass"
    tape_weight: float = 163.0
    tape_fibre_share: float = 0.5
    marks: Marks = "none"

    def __post_init__(self) -> None:
        for value, what in ((self.coat, "coat"), (self.glue_gap, "glue gap")):
            if not 0 <= value <= _MOST:
                raise ValueError(
                    f"The {what} must be between 0 and {_MOST:g} mm, got {value:g} mm."
                )
        if self.tape_plies < 0:
            raise ValueError(f"Tape has 0 plies or more, got {self.tape_plies}.")
        if not 0 < self.tape_weight < 2000:
            raise ValueError(
                f"A ply of tape weighs between 0 and 2000 g/m², got {self.tape_weight:g}."
            )
        if not 0 < self.tape_fibre_share < 1:
            raise ValueError(
                "The fibre's share of the weight is between 0 and 1, got "
                f"{self.tape_fibre_share:g}."
            )


@dataclass(frozen=True)
class Fastenings:
    """How all seams of a plan are to be held: in general, and single ones in their own way.

    Attributes
    ----------
    general : Fastening
    own : mapping of seam name to Fastening
        All of how each of these is held; what differs from the general one is its own.
    """

    general: Fastening = field(default_factory=Fastening)
    own: Mapping[str, Fastening] = field(default_factory=dict)

    def of(self, seam: str) -> Fastening:
        """Return how one seam is held."""
        return self.own.get(seam, self.general)

    def with_general(self, general: Fastening) -> Fastenings:
        """Return the same with another general way.

        Seams that are held in their own way keep the entries in which they differed; the others
        follow.
        """
        own = {
            seam: replace(general, **differences(each, self.general))
            for seam, each in self.own.items()
        }
        return Fastenings(general, own)

    def with_own(self, seam: str, own: Fastening | None) -> Fastenings:
        """Return the same with one seam held in another way; in the general one again for None.

        A way that is the general one is none of its own.
        """
        others = {name: each for name, each in self.own.items() if name != seam}
        if own is not None and own != self.general:
            others[seam] = own
        return Fastenings(self.general, others)


def differences(own: Fastening, general: Fastening) -> dict[str, Any]:
    """Return the entries in which one way differs from another, by name, as they are in `own`."""
    return {
        each.name: getattr(own, each.name)
        for each in fields(Fastening)
        if getattr(own, each.name) != getattr(general, each.name)
    }
