"""One module a criterion, one function each: what a plan is measured by."""

from splitplanner.score.any_fit import fits_any, may_fit
from splitplanner.score.bed_fit import BedFit, bed_fit, bed_fits, best_fit, fit_findings
from splitplanner.score.bed_sharing import bed_count, bed_room
from splitplanner.score.beds import (
    BedLoad,
    BedPrint,
    PlacedPiece,
    ToPlace,
    bed_prints,
    share_beds,
)
from splitplanner.score.criteria import CRITERIA
from splitplanner.score.criteria.bed_hold import LEAST_CONTACT
from splitplanner.score.criteria.seen_from import seen_from
from splitplanner.score.criterion import Criterion, Numbers
from splitplanner.score.directions import print_directions
from splitplanner.score.driver import Driver, reachable
from splitplanner.score.figures import (
    REFERENCE_PIN,
    Figures,
    PieceFigures,
    SeamRow,
    measure,
    measure_piece,
    measure_seam,
)
from splitplanner.score.filament import (
    FilamentUse,
    SpoolUse,
    filament_use,
    spool_findings,
    spool_use,
)
from splitplanner.score.gaps import seen_crossings
from splitplanner.score.glancing import DirectionFigures
from splitplanner.score.good_side_figures import (
    GoodSideFigures,
    faces_on_good_side,
    good_side_figures,
    good_sides,
    supports_on,
)
from splitplanner.score.islands import Islands, islands
from splitplanner.score.keep_out import KeepOutBox, KeepOutFaces, KeepOutSphere, Region
from splitplanner.score.known_print import known_print, spent_on
from splitplanner.score.layering import Layering, layering
from splitplanner.score.layers import across_layers
from splitplanner.score.leaning import leaning_directions
from splitplanner.score.line_widths import LineRule, LineWidths, line_widths
from splitplanner.score.measuring_ways import measured_direction
from splitplanner.score.overhang import Overhang, overhang, overhang_areas
from splitplanner.score.print_time import (
    LayeredPrint,
    PrintTime,
    Spent,
    bed_seconds,
    calibrated,
    layered_print,
    print_time,
)
from splitplanner.score.print_totals import (
    PrintTotals,
    filament_findings,
    filament_of,
    print_totals,
)
from splitplanner.score.printability.findings import print_findings
from splitplanner.score.ranking import RankedDirections, WayUp, rank_directions
from splitplanner.score.ranking_terms import RANKING_TERMS, RankingTerm
from splitplanner.score.room import Room, lever_arm, room, seam_shape, shrunk, widest_place
from splitplanner.score.scorecard import Scorecard, Term, scorecard
from splitplanner.score.seam import SeamFigures, seam_figures
from splitplanner.score.soundness import (
    connected,
    printable,
    soundness,
    thick_enough,
    thin_skins,
)
from splitplanner.score.stations import (
    Stations,
    section_modulus,
    station_axes,
    stations,
)
from splitplanner.score.support import Support, support_volume
from splitplanner.score.surfaces import Surfaces
from splitplanner.score.tipping import tipping_angle
from splitplanner.score.views import Views, seen_length
from splitplanner.score.wall_figures import ThinWalls, WallFigures, WallRow
from splitplanner.score.wall_lines import WallLines, thick_enough_for, wall_lines
from splitplanner.score.ways_up import Origin
from splitplanner.score.wishes import (
    GoodSide,
    Wishes,
    broken_wishes,
    check_wishes,
    good_side,
    reach_across,
    regions_met,
    seam_blocked,
    size_across,
)
from splitplanner.score.wishes_file import (
    read_wishes,
    wishes_from_text,
    wishes_to_text,
    write_wishes,
)

__all__ = [
    "CRITERIA",
    "LEAST_CONTACT",
    "RANKING_TERMS",
    "REFERENCE_PIN",
    "BedFit",
    "BedLoad",
    "BedPrint",
    "Criterion",
    "DirectionFigures",
    "Driver",
    "Figures",
    "FilamentUse",
    "GoodSide",
    "GoodSideFigures",
    "Islands",
    "KeepOutBox",
    "KeepOutFaces",
    "KeepOutSphere",
    "LayeredPrint",
    "Layering",
    "LineRule",
    "LineWidths",
    "Numbers",
    "Origin",
    "Overhang",
    "PieceFigures",
    "PlacedPiece",
    "PrintTime",
    "PrintTotals",
    "RankedDirections",
    "RankingTerm",
    "Region",
    "Room",
    "Scorecard",
    "SeamFigures",
    "SeamRow",
    "Spent",
    "SpoolUse",
    "Stations",
    "Support",
    "Surfaces",
    "Term",
    "ThinWalls",
    "ToPlace",
    "Views",
    "WallFigures",
    "WallLines",
    "WallRow",
    "WayUp",
    "Wishes",
    "across_layers",
    "bed_count",
    "bed_fit",
    "bed_fits",
    "bed_prints",
    "bed_room",
    "bed_seconds",
    "best_fit",
    "broken_wishes",
    "calibrated",
    "check_wishes",
    "connected",
    "faces_on_good_side",
    "filament_findings",
    "filament_of",
    "filament_use",
    "fit_findings",
    "fits_any",
    "good_side",
    "good_side_figures",
    "good_sides",
    "islands",
    "known_print",
    "layered_print",
    "layering",
    "leaning_directions",
    "lever_arm",
    "line_widths",
    "may_fit",
    "measure",
    "measure_piece",
    "measure_seam",
    "measured_direction",
    "overhang",
    "overhang_areas",
    "print_directions",
    "print_findings",
    "print_time",
    "print_totals",
    "printable",
    "rank_directions",
    "reach_across",
    "reachable",
    "read_wishes",
    "regions_met",
    "room",
    "scorecard",
    "seam_blocked",
    "seam_figures",
    "seam_shape",
    "section_modulus",
    "seen_crossings",
    "seen_from",
    "seen_length",
    "share_beds",
    "shrunk",
    "size_across",
    "soundness",
    "spent_on",
    "spool_findings",
    "spool_use",
    "station_axes",
    "stations",
    "support_volume",
    "supports_on",
    "thick_enough",
    "thick_enough_for",
    "thin_skins",
    "tipping_angle",
    "wall_lines",
    "widest_place",
    "wishes_from_text",
    "wishes_to_text",
    "write_wishes",
]
