"""How strong a part is along an axis: sections, load cases and layers. Global bending only."""

from splitplanner.strength.beams import POISSON, Diagrams, Reaction, diagrams
from splitplanner.strength.bolt_group import (
    LOWER_BOUND,
    Group,
    GroupForces,
    SeamLoad,
    edge_tensions,
    elastic_forces,
    group_of,
)
from splitplanner.strength.cautions import CAUTIONS, GLUE, LEFT_OUT, TAPE_STAYS
from splitplanner.strength.drops import (
    GRAVITY,
    Drop,
    Impact,
    drop_factor,
    dropped,
    stopping_factor,
)
from splitplanner.strength.fastener_capacity import (
    CLASSES,
    Resistance,
    ScrewHardware,
    pin_resistances,
    screw_hardware,
    screw_resistances,
)
from splitplanner.strength.layered import (
    LayeredStiffness,
    LayeredStrength,
    bar_stress,
    turned_compliance,
)
from splitplanner.strength.neutral_axis import Bed, Opening, bed_of, opening_of
from splitplanner.strength.plastic import Plastic, plastic_of
from splitplanner.strength.seam_capacity import seam_capacity
from splitplanner.strength.seam_ground import Fibre, contact_of, seam_load
from splitplanner.strength.seam_modes import Mode
from splitplanner.strength.seam_values import Adhesive, HeldBy, SeamCapacity, Side, Stage
from splitplanner.strength.section_properties import (
    SectionProperties,
    area_moments,
    section_properties,
    shear_stress,
)
from splitplanner.strength.stations import SectionChain, chain_torsions, section_chain
from splitplanner.strength.torsion import Torsion, torsion
from splitplanner.strength.usual_loads import usual_loadings
from splitplanner.strength.weak_direction import (
    SAFETY,
    LayerShares,
    Stretch,
    layer_findings,
    layer_shares,
    moduli_along,
)
from splitplanner.strength.whole import (
    UnderLoads,
    WholeUnderLoad,
    loaded_diagrams,
    main_stress_direction,
    square_share,
    stress_along,
    under_loads,
)

__all__ = [
    "CAUTIONS",
    "CLASSES",
    "GLUE",
    "GRAVITY",
    "LEFT_OUT",
    "LOWER_BOUND",
    "POISSON",
    "SAFETY",
    "TAPE_STAYS",
    "Adhesive",
    "Bed",
    "Diagrams",
    "Drop",
    "Fibre",
    "Group",
    "GroupForces",
    "HeldBy",
    "Impact",
    "LayerShares",
    "LayeredStiffness",
    "LayeredStrength",
    "Mode",
    "Opening",
    "Plastic",
    "Reaction",
    "Resistance",
    "ScrewHardware",
    "SeamCapacity",
    "SeamLoad",
    "SectionChain",
    "SectionProperties",
    "Side",
    "Stage",
    "Stretch",
    "Torsion",
    "UnderLoads",
    "WholeUnderLoad",
    "area_moments",
    "bar_stress",
    "bed_of",
    "chain_torsions",
    "contact_of",
    "diagrams",
    "drop_factor",
    "dropped",
    "edge_tensions",
    "elastic_forces",
    "group_of",
    "layer_findings",
    "layer_shares",
    "loaded_diagrams",
    "main_stress_direction",
    "moduli_along",
    "opening_of",
    "pin_resistances",
    "plastic_of",
    "screw_hardware",
    "screw_resistances",
    "seam_capacity",
    "seam_load",
    "section_chain",
    "section_properties",
    "shear_stress",
    "square_share",
    "stopping_factor",
    "stress_along",
    "torsion",
    "turned_compliance",
    "under_loads",
    "usual_loadings",
]
