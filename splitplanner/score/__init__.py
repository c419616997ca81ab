"""One module a criterion, one function each: what a plan is measured by."""

from splitplanner.score.any_fit import fits_any
from splitplanner.score.bed_fit import BedFit, bed_fit, bed_fits, best_fit, fit_findings
from splitplanner.score.bed_sharing import bed_count, bed_room
from splitplanner.score.criteria import CRITERIA
from splitplanner.score.criteria.bed_hold import LEAST_CONTACT
from splitplanner.score.criterion import Criterion, Numbers
from splitplanner.score.directions import diagonal_directions, print_directions
from splitplanner.score.figures import (
    REFERENCE_PIN,
    Figures,
    PieceFigures,
    SeamRow,
    measure,
    measure_piece,
    measure_seam,
)
from splitplanner.score.islands import Islands, islands
from splitplanner.score.leaning import leaning_directions
from splitplanner.score.overhang import Overhang, overhang, overhang_areas
from splitplanner.score.print_time import PrintTime, print_time
from splitplanner.score.room import Room, lever_arm, room, seam_shape, shrunk, widest_place
from splitplanner.score.scorecard import Scorecard, Term, scorecard
from splitplanner.score.seam import SeamFigures, seam_figures
from splitplanner.score.soundness import soundness, thick_enough, thin_skins
from splitplanner.score.support import Support, support_volume

__all__ = [
    "CRITERIA",
    "LEAST_CONTACT",
    "REFERENCE_PIN",
    "BedFit",
    "Criterion",
    "Figures",
    "Islands",
    "Numbers",
    "Overhang",
    "PieceFigures",
    "PrintTime",
    "Room",
    "Scorecard",
    "SeamFigures",
    "SeamRow",
    "Support",
    "Term",
    "bed_count",
    "bed_fit",
    "bed_fits",
    "bed_room",
    "best_fit",
    "diagonal_directions",
    "fit_findings",
    "fits_any",
    "islands",
    "leaning_directions",
    "lever_arm",
    "measure",
    "measure_piece",
    "measure_seam",
    "overhang",
    "overhang_areas",
    "print_directions",
    "print_time",
    "room",
    "scorecard",
    "seam_figures",
    "seam_shape",
    "shrunk",
    "soundness",
    "support_volume",
    "thick_enough",
    "thin_skins",
    "widest_place",
]
