"""How strong a part is along an axis: sections, load cases and layers. Global bending only."""

from splitplanner.strength.section_properties import (
    SectionProperties,
    section_properties,
    shear_stress,
)
from splitplanner.strength.stations import SectionChain, chain_torsions, section_chain
from splitplanner.strength.torsion import Torsion, torsion

__all__ = [
    "SectionChain",
    "SectionProperties",
    "Torsion",
    "chain_torsions",
    "section_chain",
    "section_properties",
    "shear_stress",
    "torsion",
]
