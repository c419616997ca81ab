"""How the maker wants seams to be held: what is placed where a plan says nothing of a seam."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any, Literal

from splitplanner.plan.joints import Form, Hold

Screws = Literal["none"] | Hold
Flanges = Literal["never", "where needed", "always"]
Marks = Literal["none", "engraved", "raised"]
ScrewClass = Literal["4.6", "4.8", "5.6", "5.8", "8.8", "10.9", "12.9", "A2-50", "A2-70", "A4-80"]
"""Property classes of ISO 898-1 and of ISO 3506-1 whose strength is known."""

_MOST = 5.0
"""Coats and gaps beyond this are a mistake, mm."""
PEEL_SHARE = 0.2
"""Of its lap shear strength glue is taken to stand across it where no value is given: rigid glue
peels at far less than it shears. The program's own choice, no source."""
MOST_SHEAR = 100.0
"""No glue and no resin stands more on plastic, MPa."""
MOST_PULL = 100_000.0
"""No insert stands more, N."""
FOR_STRENGTH = ("glue_shear", "glue_peel", "screw_class", "insert_pull_out", "resin_shear")
"""Entries that say what hardware and glue stand, by which nothing is placed."""


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
    glue_shear : float
        Lap shear strength of the glue on the seam faces, on this plastic, MPa; 0 where glue is not
        to be counted.
    glue_peel : float
        Stress across the glue at which it opens, tension and peel, MPa. 0 for `PEEL_SHARE` of its
        lap shear strength; without one it says nothing.
    screw_class : str
        Property class of the screws.
    insert_pull_out : float
        Force that pulls an insert out, N; 0 where it is to be estimated.
    resin_shear : float
        Lap shear strength of the tape's resin on this plastic, MPa; 0 where it is not to be looked
        at whether the tape comes off.

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
    glue_shear: float = 0.0
    glue_peel: float = 0.0
    screw_class: ScrewClass = "8.8"
    insert_pull_out: float = 0.0
    resin_shear: float = 0.0

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
        for value, most, unit, what in (
            (self.glue_shear, MOST_SHEAR, "MPa", "The glue's lap shear strength"),
            (self.glue_peel, MOST_SHEAR, "MPa", "The stress across the glue at which it opens"),
            (self.insert_pull_out, MOST_PULL, "N", "The force that pulls an insert out"),
            (self.resin_shear, MOST_SHEAR, "MPa", "The lap shear strength of the tape's resin"),
        ):
            if not 0 <= value <= most:
                raise ValueError(f"{what} is between 0 and {most:.0f} {unit}, got {value:g}.")

    @property
    def peel(self) -> float:
        """Stress across the glue at which it is taken to open, MPa; 0 where it is not counted."""
        if not self.glue_shear:
            return 0.0
        return self.glue_peel or PEEL_SHARE * self.glue_shear

    def places_as(self, other: Fastening) -> bool:
        """Return whether the same is placed on a seam, whatever it stands."""
        return not set(differences(self, other)).difference(FOR_STRENGTH)


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
