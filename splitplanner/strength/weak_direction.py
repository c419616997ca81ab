"""Pieces along a part, each with its own print direction: how stiff they are, what they stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats, frozen_ints
from splitplanner.findings import Finding, Severity, piece_words
from splitplanner.plan import Vector
from splitplanner.strength.beams import Diagrams
from splitplanner.strength.layered import LayeredStiffness, LayeredStrength, bar_stress
from splitplanner.strength.stations import SectionChain
from splitplanner.workshop import Material

SAFETY = 2.0
"""How many times the load a part should stand (the program's own choice): strength across layers
differs by a third or half from print to print."""


@dataclass(frozen=True)
class Stretch:
    """A piece as the axis of the part sees it.

    Attributes
    ----------
    name : str
    low, high : float
        From where to where it reaches along the axis, mm.
    up : (x, y, z)
        Its print direction in the part's frame.
    material : Material
    """

    name: str
    low: float
    high: float
    up: Vector
    material: Material


@dataclass(frozen=True, eq=False)
class LayerShares:
    """How much of their strength sections take, with their layers as they lie.

    Attributes
    ----------
    positions : (k,) float array
        As `Diagrams.positions`, mm.
    share : (k,) float array
        Of the piece that stands least there; 1 is where it fails.
    piece : (k,) int array
        Which of the stretches that is.
    angle : (s,) float array
        Between the axis and the layers of each stretch, degrees: 0 with layers along the axis, 90
        with layers that bending pulls apart.
    """

    positions: Floats
    share: Floats
    piece: Ints
    angle: Floats

    def __post_init__(self) -> None:
        object.__setattr__(self, "positions", frozen_floats(self.positions, (-1,)))
        object.__setattr__(self, "share", frozen_floats(self.share, (len(self.positions),)))
        object.__setattr__(self, "piece", frozen_ints(self.piece, (len(self.positions),)))
        object.__setattr__(self, "angle", frozen_floats(self.angle, (-1,)))

    @property
    def weakest(self) -> int:
        """The entry with the largest share."""
        return int(self.share.argmax())


def moduli_along(chain: SectionChain, stretches: Sequence[Stretch]) -> tuple[Floats, Floats]:
    """Return both moduli at every station for `diagrams`, (n,) and (n,) MPa.

    Where several pieces lie side by side, their mean (all count alike). A station between pieces
    has those of the nearest.

    Parameters
    ----------
    chain : SectionChain
    stretches : sequence of Stretch
        One or more.

    Raises
    ------
    WorkshopError
        If a material does not tell its stiffness.
    """
    stiff = [LayeredStiffness.of(s.material) for s in stretches]
    elastic = np.array(
        [
            (k.modulus(chain.axis, s.up), k.rigidity(chain.axis, s.up))
            for k, s in zip(stiff, stretches, strict=True)
        ]
    )
    there = _covered(chain.positions, stretches).astype(float)
    modulus, rigid = (there @ elastic / there.sum(axis=1, keepdims=True)).T
    return modulus, rigid


def layer_shares(found: Diagrams, stretches: Sequence[Stretch]) -> LayerShares:
    """Return which share of their strength sections take, with their layers as they lie.

    Of the least and the largest stress along the axis, that from warping added, each with the shear
    stress from twisting in the worst way round (see `LayeredStrength.share`); where several pieces
    lie side by side, that of the weakest. Shear by forces across the axis is left out: it is least
    where bending is most.

    Parameters
    ----------
    found : Diagrams
    stretches : sequence of Stretch
        One or more.

    Raises
    ------
    WorkshopError
        If a material does not tell its strength.
    """
    axis = np.array(found.chain.axis)
    strengths = [LayeredStrength.of(s.material) for s in stretches]
    there = _covered(found.positions, stretches)
    shares = np.zeros((len(found.positions), len(stretches)))
    for column, (strength, stretch) in enumerate(zip(strengths, stretches, strict=True)):
        rows = np.flatnonzero(there[:, column])
        warped = found.warping_stress[rows, None] * (-1.0, 1.0)
        along = found.normal_stress[rows] + warped
        stress = bar_stress(along, found.twist_stress[rows, None], axis)
        shares[rows, column] = strength.share(stress, stretch.up).max(axis=(1, 2), initial=0.0)
    lying = [abs(float(axis @ s.up) / float(np.linalg.norm(s.up))) for s in stretches]
    return LayerShares(
        found.positions,
        shares.max(axis=1),
        shares.argmax(axis=1),
        np.degrees(np.arcsin(np.minimum(lying, 1.0))),
    )


def layer_findings(
    found: Diagrams, shares: LayerShares, stretches: Sequence[Stretch], safety: float = SAFETY
) -> tuple[Finding, ...]:
    """Return where pieces are loaded beyond their strength over a safety factor, one each."""
    findings = []
    allowed = 1.0 / safety
    for index, stretch in enumerate(stretches):
        own = np.where(shares.piece == index, shares.share, 0.0)
        worst = int(own.argmax())
        if own[worst] <= allowed:
            continue
        station = float(shares.positions[worst])
        middle = found.chain.between(found.chain.centroids, [station])[0]
        findings.append(
            Finding(
                "strength.layers",
                Severity.WARNING,
                f"Load case “{found.case.name}”: {piece_words(stretch.name)} takes "
                f"{own[worst]:.0%} of its strength at {station:.0f} mm, layers at "
                f"{shares.angle[index]:.0f}° to the axis; make it thicker there, brace it or print "
                "it with layers along the axis.",
                subject=stretch.name,
                where=np.array([*middle, station]) @ found.chain.frame,
                measured=float(own[worst]),
                allowed=allowed,
                unit="1",
            )
        )
    return tuple(findings)


def _covered(positions: Floats, stretches: Sequence[Stretch]) -> Bools:
    """Return which stretches lie at each position, (k, s); where none does, the nearest."""
    if not stretches:
        raise ValueError("at least one piece is needed")
    low, high = np.array([(s.low, s.high) for s in stretches], float).T
    away = np.maximum(np.maximum(low - positions[:, None], positions[:, None] - high), 0.0)
    nearest: Bools = away <= away.min(axis=1, keepdims=True)
    return nearest
