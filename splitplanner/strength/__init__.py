"""How strong a part is along an axis: sections, load cases and layers. Global bending only."""

from splitplanner.strength.section_properties import (
    SectionProperties,
    section_properties,
    shear_stress,
)

__all__ = ["SectionProperties", "section_properties", "shear_stress"]
