"""How much of a bending moment braces take over: bounds for a section of part and braces."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.solid import Plane, Solid
from splitplanner.strength.section_properties import SectionProperties, section_properties
from splitplanner.strength.stations import SectionChain


@dataclass(frozen=True, eq=False)
class BracedSection:
    """A part and its braces in one section, with and without slip between them.

    Of `bound` and `loose` the true figures lie between: bolts in printed bosses slip and give way.

    Attributes
    ----------
    part : SectionProperties
    braces : tuple of SectionProperties
        In the coordinates of the same section, mm.
    modulus : float
        Young's modulus of the part, MPa.
    moduli : tuple of float
        Of the braces, MPa.
    """

    part: SectionProperties
    braces: tuple[SectionProperties, ...]
    modulus: float
    moduli: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.braces) != len(self.moduli):
            raise ValueError(
                f"every brace needs its modulus, got {len(self.braces)} braces and "
                f"{len(self.moduli)} moduli"
            )
        if not all(math.isfinite(each) and each > 0 for each in (self.modulus, *self.moduli)):
            raise ValueError("moduli must be above 0 MPa")

    @property
    def _all(self) -> list[tuple[float, SectionProperties]]:
        return [(self.modulus, self.part), *zip(self.moduli, self.braces, strict=True)]

    @property
    def centroid(self) -> Floats:
        """Neutral point of the whole without slip, (2,) mm: ``Σ E A r / Σ E A``."""
        total = sum(modulus * each.area for modulus, each in self._all)
        first = sum(modulus * each.area * each.centroid for modulus, each in self._all)
        return frozen_floats(first / total)

    @property
    def bound(self) -> Floats:
        """Stiffness tensor without slip, (2, 2) N·mm²: the transformed section, an upper bound.

        ``Σ E (S + A e eᵀ)`` about `centroid` (transformed section with the theorem of parallel
        axes: Gere and Goodno, Mechanics of Materials, chapter on composite beams; from memory).
        """
        return frozen_floats(sum(self._share(index, bound=True) for index in range(len(self._all))))

    @property
    def loose(self) -> Floats:
        """Stiffness tensor of parts that slide on each other freely, (2, 2) N·mm²: a lower bound.

        ``Σ E S``, each about its own centroid; all bend alike.
        """
        return frozen_floats(
            sum(self._share(index, bound=False) for index in range(len(self._all)))
        )

    def _share(self, index: int, bound: bool) -> Floats:
        modulus, each = self._all[index]
        tensor = each.tensor
        if bound:
            away = each.centroid - self.centroid
            tensor = tensor + each.area * np.outer(away, away)
        return modulus * tensor

    def stiffness(self, moment: Sequence[float]) -> tuple[float, float]:
        """Return the lower and upper bound of the stiffness under a moment, N·mm².

        Moment through curvature along it, ``m² / (mᵀ K⁻¹ m)``.

        Parameters
        ----------
        moment : (2,) floats
            ``-∫ σ r dA`` as in `SectionProperties.bending_stress`; only its direction counts.
        """
        way = np.asarray(moment, float)
        square = float(way @ way)
        low, high = (
            square / float(way @ np.linalg.solve(tensor, way))
            for tensor in (self.loose, self.bound)
        )
        return low, high

    def gain(self, moment: Sequence[float]) -> tuple[float, float]:
        """Return how many times as stiff as the part alone it is, at least and at most."""
        way = np.asarray(moment, float)
        alone = float(way @ way) / float(
            way @ np.linalg.solve(self.modulus * self.part.tensor, way)
        )
        low, high = self.stiffness(moment)
        return low / alone, high / alone

    def taken(self, moment: Sequence[float]) -> tuple[float, float]:
        """Return the share of a moment that all braces take, with free slip and with none, 0 to 1.

        Each takes what its stiffness does of the common curvature; without slip also what its
        force does at its distance from the neutral point. Where that lies in a brace it takes less
        without slip than with: the stiffnesses are bounds, these shares are two cases.
        """
        way = np.asarray(moment, float)
        shares = []
        for bound, tensor in ((False, self.loose), (True, self.bound)):
            curvature = np.linalg.solve(tensor, way)
            braces = sum(self._share(index, bound) for index in range(1, len(self._all)))
            shares.append(float(way @ (braces @ curvature) / (way @ way)) if self.braces else 0.0)
        return shares[0], shares[1]

    def stresses(self, moment: Sequence[float], bound: bool) -> tuple[Floats, ...]:
        """Return bending stresses at the corners of each hull, the part first, MPa.

        Parameters
        ----------
        moment : (2,) floats
            N·mm, as in `SectionProperties.bending_stress`.
        bound : bool
            Without slip, or with parts that slide freely.

        Returns
        -------
        tuple of (k,) float arrays
            At `SectionProperties.hull`, tension above 0.
        """
        way = np.asarray(moment, float)
        curvature = np.linalg.solve(self.bound if bound else self.loose, way)
        found = []
        for modulus, each in self._all:
            away = each.centroid - self.centroid if bound else np.zeros(2)
            found.append(frozen_floats(-modulus * ((each.hull + away) @ curvature)))
        return tuple(found)

    def with_bolts(
        self, axis: Sequence[float], stiffness: float, spacing: float, span: float
    ) -> float:
        """Return the stiffness about an axis with one brace whose bolts give way, N·mm².

        ``EI = Σ E I + γ₁ E₁A₁ E₂A₂ h² / (γ₁ E₁A₁ + E₂A₂)``, 1 the brace, with
        ``γ₁ = 1 / (1 + π² E₁A₁ s / (K l²))`` (EN 1995-1-1, annex B, for two members; from memory):
        a simply supported span under a load like half a sine, bolts evenly spaced.

        Parameters
        ----------
        axis : (2,) floats
            Unit vector about which it bends.
        stiffness : float
            Of one bolt with its boss against slip, N/mm: from a test; there is no general figure.
        spacing : float
            Of the bolts, mm.
        span : float
            mm.

        Raises
        ------
        ValueError
            If there is not one brace, or a figure is not above 0.
        """
        if len(self.braces) != 1:
            raise ValueError(
                f"bolts that give way are reckoned with one brace, got {len(self.braces)}"
            )
        if min(stiffness, spacing, span) <= 0:
            raise ValueError("stiffness of a bolt, spacing and span must be above 0")
        across = np.array([-axis[1], axis[0]])
        own = float(across @ self.loose @ across)
        brace, part = self.moduli[0] * self.braces[0].area, self.modulus * self.part.area
        gamma = 1 / (1 + math.pi**2 * brace * spacing / (stiffness * span**2))
        height = float((self.braces[0].centroid - self.part.centroid) @ across)
        return own + gamma * brace * part * height**2 / (gamma * brace + part)


def braced_section(
    part: Polygon | MultiPolygon,
    braces: Sequence[tuple[Polygon | MultiPolygon, float]],
    modulus: float,
) -> BracedSection:
    """Return the section of a part with braces.

    Parameters
    ----------
    part : Polygon or MultiPolygon
        In plane coordinates, mm.
    braces : sequence of (polygons, modulus)
        In the same coordinates, mm and MPa.
    modulus : float
        Young's modulus of the part, MPa.

    Raises
    ------
    ValueError
        If a section has no area or a modulus is not above 0.
    """
    return BracedSection(
        part=section_properties(part),
        braces=tuple(section_properties(shape) for shape, _ in braces),
        modulus=modulus,
        moduli=tuple(each for _, each in braces),
    )


def braced_along(
    chain: SectionChain, braces: Sequence[tuple[Solid, float]], modulus: float
) -> tuple[BracedSection, ...]:
    """Return the braced section at each station of a part; where a brace ends it is left out.

    Parameters
    ----------
    chain : SectionChain
        Of the part or its pieces together.
    braces : sequence of (Solid, modulus)
        In the part's frame, mm and MPa. A station through a bolt's hole counts what is left of the
        brace there.
    modulus : float
        Young's modulus of the part, MPa.
    """
    base = Plane(chain.axis, 0.0)
    cut = [(solid.sections(base, chain.positions), each) for solid, each in braces]
    found = []
    for index, own in enumerate(chain.properties):
        here = [(sections[index], each) for sections, each in cut if sections[index].area > 0]
        found.append(
            BracedSection(
                part=own,
                braces=tuple(section_properties(section.shape) for section, _ in here),
                modulus=modulus,
                moduli=tuple(each for _, each in here),
            )
        )
    return tuple(found)
