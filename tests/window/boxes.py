"""A box cut in two, what was measured on it, and what is proposed for it, for tests of widgets."""

from functools import cache

from splitplanner.joint import place_pins
from splitplanner.plan import Cut, Division, Joint, PartFile, divide
from splitplanner.score import Figures, measure
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.suggest import Proposal, suggest
from splitplanner.workshop import Bed, Printer
from tests.planned import BED, BOX

PRINTER = Printer(bed=Bed.parse(BED))
CUTS = (Cut(Plane((1.0, 0.0, 0.0), 200.0)),)


@cache
def division() -> Division:
    """Return pieces of 200 and 230 x 200 x 240 mm; the second is too long for the bed."""
    return divide(Solid.box(BOX), CUTS)


@cache
def figures() -> Figures:
    """Return the figures of both pieces printed with z up."""
    ups = {piece.name: (0.0, 0.0, 1.0) for piece in division().pieces}
    return measure(division(), ups, PRINTER, seen_from_outside(division().part))


@cache
def joint() -> Joint:
    """Return the pins of the one seam."""
    seam = division().seams[0]
    solids = (division().piece(name).solid for name in (seam.below, seam.above))
    return place_pins(seam, *solids, PRINTER)[0]


@cache
def proposals() -> tuple[Proposal, ...]:
    """Return what is proposed for an L-shaped part, as a search gives it."""
    part = Solid.box((300, 60, 40)).union(Solid.box((60, 240, 40)))
    part_file = PartFile("ell.stl", "mm", part.fingerprint)
    return suggest(part, part_file, PRINTER, alone=True).proposals
