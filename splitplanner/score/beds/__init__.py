"""Which pieces are printed together, and where each lies on its bed."""

from splitplanner.score.beds.loads import BedLoad, PlacedPiece, ToPlace
from splitplanner.score.beds.prints import BedPrint, bed_prints
from splitplanner.score.beds.sharing import share_beds

__all__ = ["BedLoad", "BedPrint", "PlacedPiece", "ToPlace", "bed_prints", "share_beds"]
