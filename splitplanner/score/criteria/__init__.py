"""The criteria of the plan score: one file each, and one line each in the registry.

What is the same for every plan of a part can be none. So walls that are no whole number of lines
(`splitplanner.score.wall_lines`) are told of the uncut part and have no criterion: they are
measured without regard to the way up, and a sound cut makes no wall thicker or thinner. Spots
thinner than a line are left out of the printing risks for the same reason.
"""

from __future__ import annotations

from splitplanner.score.criteria.axis_layers import AXIS_LAYERS
from splitplanner.score.criteria.bed_hold import BED_HOLD
from splitplanner.score.criteria.driver_access import DRIVER_ACCESS
from splitplanner.score.criteria.good_side_marks import GOOD_SIDE_MARKS
from splitplanner.score.criteria.little_contact import LITTLE_CONTACT
from splitplanner.score.criteria.overhang_area import OVERHANG_AREA
from splitplanner.score.criteria.piece_count import PIECE_COUNT
from splitplanner.score.criteria.pin_room import PIN_ROOM
from splitplanner.score.criteria.print_beds import PRINT_BEDS
from splitplanner.score.criteria.print_hours import PRINT_HOURS
from splitplanner.score.criteria.print_risks import PRINT_RISKS
from splitplanner.score.criteria.seam_hidden import SEAM_HIDDEN
from splitplanner.score.criteria.seam_layers import SEAM_LAYERS
from splitplanner.score.criteria.seam_seen import SEAM_SEEN
from splitplanner.score.criteria.seam_strength import SEAM_STRENGTH
from splitplanner.score.criteria.slenderness import SLENDERNESS
from splitplanner.score.criteria.support_volume import SUPPORT_VOLUME
from splitplanner.score.criteria.tight_fit import TIGHT_FIT
from splitplanner.score.criteria.too_large import TOO_LARGE
from splitplanner.score.criteria.travel_crossings import TRAVEL_CROSSINGS
from splitplanner.score.criteria.travel_seen import TRAVEL_SEEN
from splitplanner.score.criteria.uneven_volumes import UNEVEN_VOLUMES
from splitplanner.score.criterion import Criterion

__all__ = ["CRITERIA"]

CRITERIA: tuple[Criterion, ...] = (
    PIECE_COUNT,
    TOO_LARGE,
    TIGHT_FIT,
    OVERHANG_AREA,
    SUPPORT_VOLUME,
    BED_HOLD,
    SEAM_SEEN,
    SEAM_HIDDEN,
    PIN_ROOM,
    SEAM_STRENGTH,
    PRINT_HOURS,
    PRINT_BEDS,
    UNEVEN_VOLUMES,
    SLENDERNESS,
    LITTLE_CONTACT,
    TRAVEL_CROSSINGS,
    TRAVEL_SEEN,
    GOOD_SIDE_MARKS,
    PRINT_RISKS,
    SEAM_LAYERS,
    AXIS_LAYERS,
    DRIVER_ACCESS,
)
"""In the order in which they are shown. References and weights are the program's own choice."""
