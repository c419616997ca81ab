"""Which dowel pins come into question for a seam, and in which order they are tried."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from splitplanner.workshop import DowelPin, Printer, stock_length

DEPTH_CLEARANCE = 0.5
"""How much deeper each hole is than half the pin, mm: room for glue and chips. Common practice,
no source."""
LEAST_HOLE = 2.0
"""Smallest hole that prints reliably, mm. From public guides to printed parts."""
USUAL_LARGEST, SOLID_LARGEST = 6.0, 8.0
"""Largest pin chosen by itself, mm; the second in seams with a place of `SOLID_WIDTH`. Common
practice, no source."""
SOLID_WIDTH = 40.0
"""Diameter of a circle that fits in the seam of a thick solid, mm."""
_LONG, _SHORT = 4.0, 3.0
"""Length by diameter: 2 d in each piece, which plastics want, or 1.5 d where there is less depth.
Common practice, no normative source."""
_SLACK = 0.005
"""Kept over the edge distance, mm: more than the error of the offset outlines."""


@dataclass(frozen=True)
class PinSize:
    """A dowel pin of one length, and the holes that it needs from a printer.

    Attributes
    ----------
    pin : DowelPin
    length : float
        A stocked length, mm.
    hole_diameter : float
        As drawn, mm.
    edge_distance : float
        Least distance from the pin's axis to a surface, mm.
    """

    pin: DowelPin
    length: float
    hole_diameter: float
    edge_distance: float

    @property
    def diameter(self) -> float:
        """Diameter of the pin, mm."""
        return self.pin.diameter

    @property
    def depth(self) -> float:
        """Depth of the hole in each piece, mm."""
        return self.length / 2 + DEPTH_CLEARANCE

    @cached_property
    def reach(self) -> float:
        """Depth of the hole and the material beyond it, as thick as that round it, mm."""
        return self.depth + self.edge_distance - self.hole_diameter / 2

    @property
    def margin(self) -> float:
        """How far the axis stays from the outlines of sections, mm."""
        return self.edge_distance + _SLACK

    @property
    def roomy_margin(self) -> float:
        """The margin taken where it costs little: 1.5 d (common practice, no source), mm."""
        return max(self.margin, 1.5 * self.diameter)

    @property
    def spacing(self) -> float:
        """Least distance between two pins: 3 d (common practice, no source), mm."""
        return max(3 * self.diameter, 2 * self.edge_distance)

    @property
    def slack(self) -> float:
        """How far off a hole's centre a pin may stand and be taken to go in, mm."""
        return self.hole_diameter / 2


def pin_sizes(shelf: Sequence[DowelPin], printer: Printer, widest: float) -> list[PinSize]:
    """Return the sizes to try on a seam, in the order in which they are wanted.

    Parameters
    ----------
    shelf : sequence of DowelPin
        For each diameter the first one is taken.
    printer : Printer
        Gives hole diameter and edge distance.
    widest : float
        Diameter of the largest circle in the seam, mm; see `splitplanner.score.widest_place`.

    Returns
    -------
    list of PinSize
        Pins of about four diameters in length first, then those of three; in each the thickest
        first, and last those thicker than is usual. Empty when the shelf has no pin whose hole
        prints.
    """
    usual = SOLID_LARGEST if widest >= SOLID_WIDTH else USUAL_LARGEST
    by_diameter: dict[float, DowelPin] = {}
    for pin in shelf:
        if printer.hole_diameter(pin.diameter) >= LEAST_HOLE:
            by_diameter.setdefault(pin.diameter, pin)
    sizes: dict[tuple[float, float], PinSize] = {}
    for ratio in (_LONG, _SHORT):
        for diameter, pin in by_diameter.items():
            length = stock_length(pin, nearest=ratio * diameter)
            sizes.setdefault(
                (diameter, length),
                PinSize(
                    pin, length, printer.hole_diameter(diameter), printer.edge_distance(diameter)
                ),
            )
    return sorted(
        sizes.values(),
        key=lambda size: (
            size.diameter > usual,
            size.length < (_LONG + _SHORT) / 2 * size.diameter,
            -size.diameter if size.diameter <= usual else size.diameter,
            -size.length,
        ),
    )
