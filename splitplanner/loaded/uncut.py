"""The part as if printed in one: what its material is, what a load case does to it."""

from __future__ import annotations

from dataclasses import dataclass

from splitplanner.arrays import to_vector
from splitplanner.loaded.answers import Weakest
from splitplanner.plan import Loading, Vector
from splitplanner.progress import Report, part_of, silent
from splitplanner.solid import Solid
from splitplanner.strength import (
    Diagrams,
    Impact,
    LayerShares,
    SectionChain,
    Stretch,
    layer_shares,
    loaded_diagrams,
    section_chain,
)
from splitplanner.workshop import Material

_CHAINS = 6
"""Sections of a part along so many axes are kept."""


class Chains:
    """The sections of parts along axes, remembered, so that other load cases cost little."""

    def __init__(self) -> None:
        self._known: dict[tuple[Solid, Vector], SectionChain] = {}

    def of(self, part: Solid, axis: Vector, report: Report = silent) -> SectionChain:
        """Return the sections of a part along an axis, new or as they were found before.

        Parameters
        ----------
        part : Solid
            The same object finds its own again.
        axis : (x, y, z)
            Unit vector.
        report : progress callback
        """
        key = part, axis
        chain = self._known.pop(key, None)
        if chain is None:
            chain = section_chain(part, axis, report=report)
        self._known[key] = chain
        while len(self._known) > _CHAINS:
            del self._known[next(iter(self._known))]
        return chain


@dataclass(frozen=True, eq=False)
class Uncut:
    """A part printed in one under a load case, its layers along the axis, which is the best case.

    Attributes
    ----------
    diagrams : Diagrams
        Under all of the load, that of a fall included.
    impact : Impact or None
    layers : LayerShares
    weakest : Weakest
    """

    diagrams: Diagrams
    impact: Impact | None
    layers: LayerShares
    weakest: Weakest


def uncut_under_load(
    chain: SectionChain, loading: Loading, material: Material, report: Report = silent
) -> Uncut:
    """Return what a load case does to a part printed in one.

    Parameters
    ----------
    chain : SectionChain
        Of the part along the load case's axis.
    loading : Loading
    material : Material
        With strengths and stiffnesses.
    report : progress callback

    Raises
    ------
    LoadError
        If the load case does not suit the part.
    """
    found, impact = loaded_diagrams(chain, loading, material, part_of(report, 0.0, 0.9))
    whole = Stretch("", *chain.ends, to_vector(chain.frame[0]), material)
    layers = layer_shares(found, [whole])
    worst = layers.weakest
    weakest = Weakest(
        "part", "", "layers", factor_of(float(layers.share[worst])),
        float(layers.positions[worst]), "the part as if printed in one, layers along the axis",
    )  # fmt: skip
    return Uncut(found, impact, layers, weakest)


def factor_of(share: float) -> float:
    """Return how many times a load is held of which `share` of the strength is taken."""
    return 1.0 / share if share > 0.0 else float("inf")
