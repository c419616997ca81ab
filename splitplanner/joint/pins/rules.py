"""Whether the sizes written in a joint make sense, and suit the printer that will print it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from splitplanner.findings import Finding, Severity
from splitplanner.plan import Joint, Pin
from splitplanner.workshop import Printer

_ROUNDING = 1e-6
"""mm."""


def is_sensible(pin: Pin) -> bool:
    """Return whether all sizes of a pin are above 0 and its hole lies inside its edge distance."""
    sizes = (pin.diameter, pin.length, pin.depth, pin.hole_diameter)
    return min(sizes) > 0 and pin.edge_distance > pin.hole_diameter / 2


def check_sizes(joint: Joint, printer: Printer) -> tuple[Finding, ...]:
    """Check the sizes of the pins of a joint, which somebody may have edited.

    Parameters
    ----------
    joint : Joint
    printer : Printer
        Gives hole diameter and edge distance.

    Returns
    -------
    tuple of Finding
        Faults ``joint.size`` (no pin or hole has such sizes) and ``joint.printer_edge`` (less
        material round the pin than the printer's rule), and warnings ``joint.allowance`` (the
        hole is not drawn with the printer's hole allowance).
    """
    return tuple(
        finding
        for number, pin in enumerate(joint.pins, 1)
        for finding in _of_pin(pin, joint.seam, f"Seam {joint.seam}, pin {number}", printer)
    )


def _of_pin(pin: Pin, seam: str, name: str, printer: Printer) -> Iterator[Finding]:
    where = np.array([pin.at])
    if not is_sensible(pin):
        yield Finding(
            "joint.size",
            Severity.FAULT,
            f"{name}: diameter, length, depth and hole must be above 0 mm, and the edge distance "
            f"({pin.edge_distance:g} mm) above half the hole ({pin.hole_diameter:g} mm); place "
            "the pins of this seam again.",
            seam,
            where,
        )
        return
    edge, hole = printer.edge_distance(pin.diameter), printer.hole_diameter(pin.diameter)
    if pin.edge_distance < edge - _ROUNDING:
        yield Finding(
            "joint.printer_edge",
            Severity.FAULT,
            f"{name}: it keeps {pin.edge_distance:g} mm of material from its axis, and this "
            f"printer's rule for a pin of {pin.diameter:g} mm is {edge:g} mm; place the pins of "
            "this seam again.",
            seam,
            where,
            pin.edge_distance,
            edge,
            "mm",
        )
    if abs(pin.hole_diameter - hole) > _ROUNDING:
        yield Finding(
            "joint.allowance",
            Severity.WARNING,
            f"{name}: its hole is drawn {pin.hole_diameter:g} mm wide, and with the printer's hole "
            f"allowance a pin of {pin.diameter:g} mm gets {hole:g} mm; place the pins of this seam "
            "again, or print a test hole first.",
            seam,
            where,
            pin.hole_diameter,
            hole,
            "mm",
        )
