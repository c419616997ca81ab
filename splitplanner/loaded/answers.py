"""What a planned part stands of its load cases: values for screen and papers, made elsewhere."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from splitplanner.findings import Finding
from splitplanner.plan import Loading
from splitplanner.strength import Diagrams, Impact, LayerShares, SeamCapacity
from splitplanner.strength.seam_modes import ADHESIVE

Way = Literal["open", "fastened", "taped", "braced"]
"""How seams are held: by nothing; by pins, screws, registers and glue that counts; by tape besides;
by braces besides."""
WAYS: tuple[Way, ...] = ("open", "fastened", "taped", "braced")
"""In the order in which they are shown; each holds with all that the one before it does."""


@dataclass(frozen=True)
class Weakest:
    """What gives way first.

    Attributes
    ----------
    kind : "part", "seam", "piece" or "brace"
    name : str
        Of the seam, piece or brace; "" for the part as if printed in one.
    mode : str
        How it fails, stable, such as ``screw.thread`` or ``layers``.
    factor : float
        How many times the load case it holds: below 1 it does not; inf where the load has nothing
        to do with it.
    station : float
        Offset along the load case's axis, mm.
    note : str
        How it fails, for people.
    number : int
        Of the screw, pin or bolt, from 1; 0 where there is none.
    """

    kind: Literal["part", "seam", "piece", "brace"]
    name: str
    mode: str
    factor: float
    station: float
    note: str
    number: int = 0


@dataclass(frozen=True, eq=False)
class SeamUnderLoad:
    """A seam held in one way.

    Attributes
    ----------
    seam : str
    station : float
        Of its centroid along the load case's axis, mm.
    relieved : float
        Share of the load that braces take off it, at least, 0 to 1.
    capacity : SeamCapacity or None
        Of what is left for it; None where the seam is held by nothing or the load has nothing to do
        with it.
    weakest : Weakest
    ratio : float
        What it holds over what the uncut part holds at its weakest place, 1 at most.
    stress : float
        Largest stress across the seam as if it were whole, MPa, with the load that is left for it.
    relieved_most : float
        Share of the load that braces take off it if nothing slides, 0 to 1; the truth lies between.
    stress_least : float or None
        `stress` with that much taken off it; None without braces.
    """

    seam: str
    station: float
    relieved: float
    capacity: SeamCapacity | None
    weakest: Weakest
    ratio: float
    stress: float
    relieved_most: float = 0.0
    stress_least: float | None = None


@dataclass(frozen=True)
class PieceUnderLoad:
    """A piece with its layers as they lie.

    Attributes
    ----------
    piece : str
    station : float
        Where it takes most, offset along the axis, mm.
    share : float
        Of its strength there; 1 is where it fails.
    angle : float
        Between the axis and its layers, degrees: 90 where bending pulls layers apart.
    """

    piece: str
    station: float
    share: float
    angle: float


@dataclass(frozen=True)
class BraceUnderLoad:
    """A brace where it takes most.

    Attributes
    ----------
    brace : str
    station : float
        mm.
    shares : (low, high)
        Of the bending moment there that it takes, the lesser and the larger of what it does with
        free slip and with none, 0 to 1.
    stress, proof : float
        Largest stress in it with the higher share, and what its sheet stands, MPa.
    bolt, bolt_holds : float
        Force on the bolt that takes most, across it, and what that one stands, N.
    weakest : Weakest
    """

    brace: str
    station: float
    shares: tuple[float, float]
    stress: float
    proof: float
    bolt: float
    bolt_holds: float
    weakest: Weakest


@dataclass(frozen=True, eq=False)
class HeldWay:
    """The part with its seams held in one way.

    Attributes
    ----------
    way : Way
    seams : tuple of SeamUnderLoad
        In the order of the division's.
    pieces : tuple of PieceUnderLoad
    layers : LayerShares
        Along the axis, beside the diagrams.
    braces : tuple of BraceUnderLoad
    weakest : Weakest
        Of all of them; where braces let go under less than the part holds without them, that of the
        part without them.
    ratio : float
        What it holds over what the uncut part holds; more than 1 where layers lie better in the
        pieces or braces help.
    """

    way: Way
    seams: tuple[SeamUnderLoad, ...]
    pieces: tuple[PieceUnderLoad, ...]
    layers: LayerShares
    braces: tuple[BraceUnderLoad, ...]
    weakest: Weakest
    ratio: float

    @property
    def weakest_seam(self) -> SeamUnderLoad | None:
        """The seam that holds least; None without seams."""
        return min(self.seams, key=lambda each: each.weakest.factor, default=None)

    @property
    def is_glued(self) -> bool:
        """Whether glue counts in some seam that the load reaches."""
        return ADHESIVE in self._held_by

    @property
    def has_hardware(self) -> bool:
        """Whether there are pins or screws in some seam that the load reaches."""
        return bool(self._held_by.intersection(("pins", "screws")))

    @property
    def _held_by(self) -> frozenset[str]:
        known = [seam.capacity for seam in self.seams if seam.capacity is not None]
        return frozenset(by for each in known for stage in each.stages for by in stage.by)


@dataclass(frozen=True, eq=False)
class LoadAnswer:
    """One load case.

    Attributes
    ----------
    loading : Loading
    diagrams : Diagrams
        Of the uncut part under all of the load, that of a fall included.
    impact : Impact or None
        What the fall comes to; None where nothing falls.
    uncut : Weakest
        The part as if printed in one.
    uncut_layers : LayerShares
    ways : tuple of HeldWay
        In the order of `WAYS`, those that the plan has; the last one is the plan as it is.
    """

    loading: Loading
    diagrams: Diagrams
    impact: Impact | None
    uncut: Weakest
    uncut_layers: LayerShares
    ways: tuple[HeldWay, ...]

    @property
    def planned(self) -> HeldWay:
        """The plan as it is."""
        return self.ways[-1]

    @property
    def stands(self) -> bool:
        """Whether the plan as it is holds the load."""
        return self.planned.weakest.factor >= 1.0


@dataclass(frozen=True, eq=False)
class StrengthAnswer:
    """All load cases of a plan.

    Attributes
    ----------
    loads : tuple of LoadAnswer
        In the order of the plan's.
    findings : tuple of Finding
        What does not hold, and load cases that could not be worked out.
    statements : tuple of str
        What goes with the figures, beside `splitplanner.strength.CAUTIONS`.
    material : str
        By whose values it was worked out.
    is_generic : bool
        Whether the plan says of no material, so that only relative figures mean anything.
    """

    loads: tuple[LoadAnswer, ...]
    findings: tuple[Finding, ...]
    statements: tuple[str, ...]
    material: str
    is_generic: bool

    @property
    def seam_ratios(self) -> dict[str, float]:
        """Of every seam the least ratio of all load cases, as the plan holds it."""
        ratios: dict[str, float] = {}
        for answer in self.loads:
            for seam in answer.planned.seams:
                ratios[seam.seam] = min(seam.ratio, ratios.get(seam.seam, math.inf))
        return ratios
