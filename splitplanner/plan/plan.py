"""The decision: which cuts, which way up each piece prints, what holds each seam."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from splitplanner.plan.brace import BraceWish
from splitplanner.plan.fastening import Fastening, Fastenings
from splitplanner.plan.joints import Joint, Vector
from splitplanner.plan.loading import Loading
from splitplanner.plan.pieces import Cut
from splitplanner.workshop import Material, Printer, printing_with

UP: Vector = (0.0, 0.0, 1.0)


@dataclass(frozen=True)
class PartFile:
    """Which model file a plan belongs to.

    Attributes
    ----------
    path : str
        With forward slashes; relative to the plan file when the plan is on disk.
    unit : str
        Unit the file's numbers were read in: mm, cm, m, inch, foot or micron.
    fingerprint : str
        Of the healed solid; see `splitplanner.solid.Solid.fingerprint`.
    """

    path: str
    unit: str
    fingerprint: str


@dataclass(frozen=True)
class Plan:
    """One whole plan; frozen, compared by value.

    Attributes
    ----------
    part : PartFile
    printer : Printer
    cuts : tuple of Cut
        Done in this order.
    print_directions : dict of piece name to unit vector
        Which direction of the part's frame is up on the bed; +z where a piece is not named.
    joints : tuple of Joint
        At most one for each seam.
    seed : int
        What the search started from.
    fastening : Fastening
        How seams are to be held of which the joints say nothing, and how joints are made.
    own_fastenings : dict of seam name to Fastening
        The same of single seams that are held in their own way.
    seams_named_by : tuple of Cut or None
        The cuts by which `own_fastenings` name seams, where the plan has had others since; None
        where they are its own. See `splitplanner.plan.following`.
    material : Material or None
        What it is printed of; None where that is open.
    braces : tuple of BraceWish
        Stiff strips that are bolted over seams; each has a name of its own.
    loadings : tuple of Loading
        What the part has to stand; each has a name of its own.
    """

    part: PartFile
    printer: Printer
    cuts: tuple[Cut, ...] = ()
    print_directions: dict[str, Vector] = field(default_factory=dict)
    joints: tuple[Joint, ...] = ()
    seed: int = 0
    fastening: Fastening = field(default_factory=Fastening)
    own_fastenings: dict[str, Fastening] = field(default_factory=dict)
    seams_named_by: tuple[Cut, ...] | None = None
    material: Material | None = None
    braces: tuple[BraceWish, ...] = ()
    loadings: tuple[Loading, ...] = ()

    @property
    def machine(self) -> Printer:
        """The printer as it prints the material: what pieces are measured and made for."""
        return printing_with(self.printer, self.material)

    @property
    def fastenings(self) -> Fastenings:
        """How all seams are to be held."""
        return Fastenings(self.fastening, self.own_fastenings)

    def fastening_of(self, seam: str) -> Fastening:
        """Return how one seam is to be held."""
        return self.own_fastenings.get(seam, self.fastening)

    def up(self, piece: str) -> Vector:
        """Return the print direction of a piece."""
        return self.print_directions.get(piece, UP)

    def joint(self, seam: str) -> Joint:
        """Return what holds a seam; an empty joint if nothing does."""
        return next((joint for joint in self.joints if joint.seam == seam), Joint(seam))

    def with_joints(self, joints: tuple[Joint, ...]) -> Plan:
        """Return the plan with other joints."""
        return replace(self, joints=joints)
