"""What is told of a seam before what it holds is worked out, and what comes of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from splitplanner.arrays import Floats
from splitplanner.plan import Fastening, Vector
from splitplanner.strength.plastic import Plastic
from splitplanner.strength.seam_ground import Fibre
from splitplanner.strength.seam_modes import Mode


@dataclass(frozen=True)
class Side:
    """One of the two pieces of a seam.

    Attributes
    ----------
    plastic : Plastic
    up : (x, y, z)
        Its print direction.
    """

    plastic: Plastic
    up: Vector


@dataclass(frozen=True)
class Adhesive:
    """Glue on the faces of a seam, by the user's own values.

    Attributes
    ----------
    lap_shear : float
        Shear stress at which it fails on this plastic, MPa.
    peel : float
        Stress across the glue at which it opens, tension and peel, MPa; far less than the strength
        of the glue itself.

    Raises
    ------
    ValueError
        If one is not above 0 MPa.
    """

    lap_shear: float
    peel: float

    def __post_init__(self) -> None:
        if not (self.lap_shear > 0 and self.peel > 0):
            raise ValueError("an adhesive needs a lap shear and a peel strength above 0 MPa")


@dataclass(frozen=True)
class HeldBy:
    """What the user knows of the hardware.

    Attributes
    ----------
    steel : str
        Property class of the screws.
    insert_pull_out : float or None
        Force that pulls an insert out, N; estimated where it is None.
    adhesive : Adhesive or None
        None for a seam that is not glued.
    fibre : Fibre or None
        Of the tape; a generic one by its name where it is None.
    resin_shear : float or None
        Lap shear strength of the tape's resin on this plastic, MPa. Where it is None it is not
        looked at whether the tape comes off, which `SeamCapacity.statements` says.
    """

    steel: str = "8.8"
    insert_pull_out: float | None = None
    adhesive: Adhesive | None = None
    fibre: Fibre | None = None
    resin_shear: float | None = None

    @classmethod
    def of(cls, fastening: Fastening) -> HeldBy:
        """Return what the user says of what holds a seam; what he does not say is not known."""
        glue = None
        if fastening.glue_shear > 0.0:
            glue = Adhesive(fastening.glue_shear, fastening.peel)
        return cls(
            fastening.screw_class,
            fastening.insert_pull_out or None,
            glue,
            None,
            fastening.resin_shear or None,
        )


@dataclass(frozen=True, eq=False)
class Stage:
    """A seam as long as some of what holds it is whole.

    Attributes
    ----------
    by : tuple of str
        Such as ``screws``, ``pins``, ``tape``, ``adhesive``.
    modes : tuple of Mode
        Every way to fail, the first one first.
    tensions : (n,) float array
        What each screw takes along its axis under the load itself, N: a lower bound.
    screw_shears, pin_shears : (n, 2) float array
        Across it, along u and v, N.
    """

    by: tuple[str, ...]
    modes: tuple[Mode, ...]
    tensions: Floats
    screw_shears: Floats
    pin_shears: Floats

    @property
    def governing(self) -> Mode:
        """What fails first."""
        return self.modes[0]

    @property
    def factor(self) -> float:
        """Of the load at which something fails."""
        return self.modes[0].factor


@dataclass(frozen=True, eq=False)
class SeamCapacity:
    """What one seam holds of a load.

    Attributes
    ----------
    seam : str
    stages : tuple of Stage
        Screws and pins alone, with tape, with glue: as much as there is. What lets go first leaves
        the seam to the rest, so that the best of them counts.
    uncut : Mode
        The part as if printed in one, at the same place.
    statements : tuple of str
        What goes with the figures, beside `cautions.CAUTIONS`.
    """

    seam: str
    stages: tuple[Stage, ...]
    uncut: Mode
    statements: tuple[str, ...]

    @property
    def best(self) -> Stage:
        """The stage that holds most; of equal ones the one with least."""
        return max(self.stages, key=lambda stage: stage.factor)

    @property
    def factor(self) -> float:
        """Of the load that the seam holds."""
        return self.best.factor

    @property
    def governing(self) -> Mode:
        """What fails first in the best stage."""
        return self.best.governing

    @property
    def ratio(self) -> float:
        """Of what the uncut part holds there; more than 1 where layers lie better in the pieces."""
        if math.isinf(self.factor):
            return 1.0
        return self.factor / self.uncut.factor
