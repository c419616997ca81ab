"""What makes dowel pins go in well: a slot, chamfers at the mouths, a way out for the air."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from splitplanner.arrays import to_vector
from splitplanner.joint.fasteners.distances import bars_of
from splitplanner.joint.material import SeamMaterial
from splitplanner.plan import Fastening, Pin, Screw, Vector
from splitplanner.workshop import Printer

SLOT = 0.3
"""By how much one of two holes is longer than wide, mm: printed parts are some tenths off in the
distance of two holes, by shrinkage and by the printer's axes. Common practice, no source."""
LEAD_IN, LEAST_LEAD_IN = 0.5, 0.2
"""Width of the chamfer at the mouth of a hole, and the least that is worth drawing, mm. Common
practice, no source."""
_SHARE = 0.5
"""Of the wall kept round a hole, what the chamfer at its mouth may take. Common practice, no
source."""
_VENT, _VENT_SHARE = 1.0, 1 / 3
"""Width of the groove for the air, mm; no more than this share of the pin. Common practice, no
source."""
_THIN = 1e-6


def with_details(
    pins: Sequence[Pin], material: SeamMaterial, fastening: Fastening, printer: Printer
) -> tuple[Pin, ...]:
    """Return the pins of a seam with slot, lead-ins and vents.

    Two pins locate the pieces: were both holes round, the pieces would go together only where the
    distance of the holes is the same in both. So the second of them gets a slot along the line
    between the two, which still keeps the pieces from turning. Its ends keep the edge distance;
    where they have no room for that the first pin gets it. A chamfer takes what material there is
    beyond the edge distance, and no more than half of the wall round the hole.

    Parameters
    ----------
    pins : sequence of Pin
        As placed; the first two locate.
    material : SeamMaterial
        The two pieces near their seam.
    fastening : Fastening
    printer : Printer
    """
    shape = material.seam.section.shape
    outline = shape.boundary
    places = material.seam.plane.to_plane([pin.at for pin in pins]) if pins else np.empty((0, 2))
    edges = shapely.distance(outline, shapely.points(places))
    done = [
        replace(
            pin,
            lead_in=_lead_in(pin, edge),
            vent=min(_VENT, _VENT_SHARE * pin.diameter) if fastening.press_fit else 0.0,
        )
        for pin, edge in zip(pins, edges.tolist(), strict=True)
    ]
    if fastening.slots and len(done) > 1:
        run = np.array(done[1].at) - np.array(done[0].at)
        length = max(SLOT, printer.hole_allowance)
        slot = to_vector(run / np.linalg.norm(run) * length)
        for index in (1, 0):
            if _has_room(done[index], slot, material):
                done[index] = replace(done[index], slot=slot)
                break
    return tuple(done)


def _lead_in(pin: Pin, edge: float) -> float:
    """Return the width of the chamfer of a pin that is `edge` from the outline, mm."""
    wall = pin.edge_distance - pin.hole_diameter / 2
    most = max(edge - pin.edge_distance, 0.0) + _SHARE * wall
    width = min(LEAD_IN, math.floor(most * 10 + 1e-6) / 10)
    return width if width >= LEAST_LEAD_IN else 0.0


def _has_room(pin: Pin, slot: Vector, material: SeamMaterial) -> bool:
    """Return whether both ends of a slot keep the pin's edge distance."""
    half = np.array(slot) / 2
    ends = material.seam.plane.to_plane([pin.at + half, pin.at - half])
    return all(material.holds(end, pin.edge_distance, pin.depth) for end in ends)


def as_pins(screw: Screw, reach: float) -> tuple[Pin, ...]:
    """Return pins that keep others off a screw of another seam, and off the ways to head and nut.

    Parameters
    ----------
    screw : Screw
    reach : float
        How far those ways are kept free, mm.
    """
    pins = []
    for bar in bars_of(screw, reach):
        if bar.kind == "body":
            continue
        length = float(np.linalg.norm(bar.end - bar.start))
        pins.append(
            Pin(
                at=to_vector((bar.start + bar.end) / 2),
                axis=screw.axis,
                standard=screw.standard,
                diameter=2 * bar.radius,
                length=length,
                hole_diameter=2 * bar.radius - _THIN,
                depth=length / 2,
                edge_distance=bar.radius + bar.wall,
            )
        )
    return tuple(pins)
