"""What may go wrong when a piece is printed as it lies: each with its place and its measure."""

from splitplanner.score.printability.findings import print_findings
from splitplanner.score.printability.long_bridges import LongBridge, long_bridges
from splitplanner.score.printability.small_holes import RoundHole, round_holes
from splitplanner.score.printability.thin_spots import ThinSpots, thin_spots
from splitplanner.score.printability.tips import Tip, hanging_tips
from splitplanner.score.printability.warping import Warping, warping

__all__ = [
    "LongBridge",
    "RoundHole",
    "ThinSpots",
    "Tip",
    "Warping",
    "hanging_tips",
    "long_bridges",
    "print_findings",
    "round_holes",
    "thin_spots",
    "warping",
]
