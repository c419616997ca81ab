"""What holds seams of pieces in cells: contact, screws, pins, registers and tape as springs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import shapely

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.errors import LoadError
from splitplanner.loaded.cells_stretches import ties_along
from splitplanner.plan import Joint, Line, Pin, Plan, Screw, Seam
from splitplanner.solid import to_polygons
from splitplanner.strength.cells import Assembly, Contact, Tie, seam_points, stacked
from splitplanner.strength.fastener_capacity import screw_hardware
from splitplanner.strength.seam_capacity import STEEL
from splitplanner.strength.seam_ground import (
    Fibre,
    contact_of,
    generic_fibre,
    tape_stretches,
)
from splitplanner.strength.seam_register import register_stretches
from splitplanner.workshop import Shelf

Kind = Literal["screw", "screw across", "pin", "register", "tape"]

_LEVEL = 0.3
"""Sections that say where pieces touch are taken so far inside their faces, mm."""
_DUST = 0.05
"""Bits of contact of no more than this are rounding, mm²."""
RING = 6
"""Points round a fastener."""
BEDDING = 0.25
"""A stiff pin in a hole gives way by ``F / (E L / 4)``, as one does that turns in a bed which
presses by its modulus for every mm that it gives; see `fastener_capacity.rigid_pin_bearing`."""
_FURTHEST = 10.0
"""A tape is taken to hand over what it takes no further from the seam than this, mm."""
LAMINATE_SHEAR = 3500.0
"""Modulus of rigidity of a laminate with a weave laid along and across, MPa: that of its resin
mostly. From memory."""


@dataclass(frozen=True, eq=False)
class Fixing:
    """One fastener, or a stretch of tape or register, as springs.

    Attributes
    ----------
    kind : str
    number : int
        Which of the joint's screws or pins it is, from 0; which stretch of the others.
    gaps : sparse (d, f) array
    springs : (d,) float array, N/mm
    directions : (d, 3) float array
        In the part's frame: a force above 0 in a gap acts on the seam's piece below that way, and
        on the one above the other way.
    at : (3,) float array
        On the seam, mm.
    """

    kind: Kind
    number: int
    gaps: Any
    springs: Floats
    directions: Floats
    at: Floats


@dataclass(frozen=True, eq=False)
class SeamSides:
    """A seam between two pieces in cells.

    Attributes
    ----------
    seam : Seam
    below, above : int
        Which pieces of the assembly.
    contact : Contact
    """

    seam: Seam
    below: int
    above: int
    contact: Contact


def seam_sides(seam: Seam, assembly: Assembly, names: Sequence[str], plan: Plan) -> SeamSides:
    """Return a seam with the contact of its pieces as they are.

    What faces each other of seam and flange, less holes and whatever else is not there in one of
    the two pieces.

    Parameters
    ----------
    seam : Seam
    assembly : Assembly
    names : sequence of str
        Of its pieces.
    plan : Plan
        Its joints have the flanges, its fastenings the room that is left for glue.
    """
    below, above = names.index(seam.below), names.index(seam.above)
    fastening = plan.fastening_of(seam.name)
    level = _LEVEL + fastening.coat + fastening.glue_gap / 2.0
    shape: shapely.Geometry = contact_of(seam, plan.joint(seam.name))
    for piece, way in ((below, -level), (above, level)):
        section = assembly.models[piece].solid.section(seam.plane.shifted(way))
        shape = shapely.intersection(shape, section.shape)
    polygons = to_polygons(shape, _DUST)
    frame = assembly.models[below].grid.frame_along(seam.plane.normal)
    at = seam_points(seam.plane, polygons or seam.section.polygons, frame=frame)
    return SeamSides(seam, below, above, Contact(below, above, at))


class Fixings:
    """Makes springs of joints between pieces in cells.

    Parameters
    ----------
    assembly : Assembly
    shelf : Shelf
    modulus : float
        Of the plastic, MPa.
    fibre : Fibre, optional
        Of tapes; a generic one by its name otherwise.
    """

    def __init__(
        self, assembly: Assembly, shelf: Shelf, modulus: float, fibre: Fibre | None = None
    ) -> None:
        self.assembly, self.shelf, self.modulus, self.fibre = assembly, shelf, modulus, fibre

    def of(
        self, sides: SeamSides, joint: Joint, lines: tuple[Line, ...] = (), across: bool = False
    ) -> list[Fixing]:
        """Return what a joint holds its seam with.

        Parameters
        ----------
        sides : SeamSides
        joint : Joint
        lines : tuple of lines
            Where tape runs.
        across : bool
            Whether screws take what slides, beside pulling; see `needs_screws_across`.

        Raises
        ------
        WorkshopError
            If hardware or fibre is not known.
        LoadError
            If a fastener is beside its pieces.
        """
        found = [self.screw(sides, screw, number) for number, screw in enumerate(joint.screws)]
        if across:
            found += [
                self.screw_across(sides, screw, number) for number, screw in enumerate(joint.screws)
            ]
        found += [self.pin(sides, pin, number) for number, pin in enumerate(joint.pins)]
        return found + self.register(sides, joint) + self.tape(sides, joint, lines)

    def things(
        self, sides: SeamSides, joint: Joint, lines: tuple[Line, ...] = (), across: bool = False
    ) -> list[tuple[object, Fixing]]:
        """Return the same, each with what of the joint it is."""
        found: list[tuple[object, Fixing]] = []
        for fixing in self.of(sides, joint, lines, across):
            thing: object = joint.tape if fixing.kind == "tape" else joint.register
            if fixing.kind == "pin":
                thing = joint.pins[fixing.number]
            elif fixing.kind in ("screw", "screw across"):
                thing = joint.screws[fixing.number]
            found.append((thing, fixing))
        return found

    def screw(self, sides: SeamSides, screw: Screw, number: int = 0) -> Fixing:
        """Return a screw that pulls: its stress area over the length between head and thread.

        It is one-sided, as contact is: its gap is how far head and thread come closer, so that
        what opens the seam is below 0, and so is its force.
        """
        hardware = screw_hardware(screw, self.shelf)
        at, axis = np.array(screw.at), np.array(screw.axis)
        end = _end(screw, self.shelf)
        far = hardware.nut_width if screw.hold == "nut" else hardware.diameter + 1.0
        near = 0.25 * (hardware.head_width + screw.clearance)
        far = 0.25 * (far + min(screw.hole, far))
        frame = self._frame(sides, axis)
        head = at - axis * screw.seat + ring_in(frame, near)
        tip = at + axis * end + ring_in(frame, far)
        rising = float(axis @ np.array(sides.seam.plane.normal)) > 0.0
        low, high = (head, tip) if rising else (tip, head)
        way = axis if rising else -axis
        stiff = screw_stiffness(screw, self.shelf)
        pulled = self._tied("screw", number, sides, low, high, way[None], [stiff], at)
        return replace(pulled, gaps=-pulled.gaps, directions=frozen_floats(-way[None]))

    def screw_across(self, sides: SeamSides, screw: Screw, number: int = 0) -> Fixing:
        """Return a screw that is pushed against the walls of its holes."""
        hardware = screw_hardware(screw, self.shelf)
        length = min(hardware.grip, hardware.engagement)
        return self._pinned(
            "screw across", number, sides, np.array(screw.at), screw.clearance, length, None
        )

    def pin(self, sides: SeamSides, pin: Pin, number: int = 0) -> Fixing:
        """Return a pin: it takes what slides, but not along its slot."""
        length = min(pin.length / 2.0, pin.depth)
        slot = np.array(pin.slot) if any(pin.slot) else None
        return self._pinned("pin", number, sides, np.array(pin.at), pin.hole_diameter, length, slot)

    def register(self, sides: SeamSides, joint: Joint) -> list[Fixing]:
        """Return a register: it takes what slides across its way."""
        if joint.register is None:
            return []
        found = register_stretches(sides.seam, joint.register)
        frame = sides.seam.plane.frame
        fixings: list[Fixing] = []
        # A stud has no way along which it takes nothing, and is a tie by itself.
        ties = list(np.arange(len(found.places))[:, None])
        if found.tangents.any():
            ties = ties_along(found.places, found.tangents)
        for some in ties:
            at = sides.seam.plane.to_space(found.places[some].mean(axis=0)[None])
            along = found.tangents[some].mean(axis=0)
            ways = frame[:2]
            if along.any():
                ways = (np.array([-along[1], along[0]]) / np.linalg.norm(along))[None] @ frame[:2]
            length = float(found.lengths[some].sum())
            if not found.tangents.any():
                length = joint.register.width
            stiff = BEDDING / 2.0 * self.modulus * length
            fixings.append(
                self._tied(
                    "register", len(fixings), sides, at, at, ways, [stiff] * len(ways), at[0]
                )
            )
        return fixings

    def tape(self, sides: SeamSides, joint: Joint, lines: tuple[Line, ...]) -> list[Fixing]:
        """Return a tape: its fibres pull, its resin takes what slides."""
        if joint.tape is None:
            return []
        fibre = self.fibre or generic_fibre(joint.tape.fibre)
        found = tape_stretches(sides.seam, joint, joint.tape, fibre, lines)
        plane = sides.seam.plane
        normal = np.array(plane.normal)
        fixings: list[Fixing] = []
        reach = min(found.overlap / 2.0, _FURTHEST)
        for some in ties_along(found.places, found.tangents):
            at = plane.to_space(found.places[some].mean(axis=0)[None])
            area = float(found.areas[some].sum())
            pull = fibre.stiffness * area / (2.0 * reach)
            # Half of a laminate made by hand is resin, so that it is twice as thick as its fibres.
            slide = LAMINATE_SHEAR * 2.0 * area / fibre.across / (2.0 * reach)
            both = (
                self._tied(
                    "tape", len(fixings), sides, at - reach * normal, at + reach * normal,
                    normal[None], [pull], at[0],
                ),
                self._tied(
                    "tape", len(fixings), sides, at, at, plane.frame[:2], [slide, slide], at[0]
                ),
            )  # fmt: skip
            fixings.append(_joined(both))
        return fixings

    def _pinned(
        self,
        kind: Kind,
        number: int,
        sides: SeamSides,
        at: Floats,
        diameter: float,
        length: float,
        slot: Floats | None,
    ) -> Fixing:
        frame = sides.seam.plane.frame
        ways = frame[:2]
        if slot is not None:
            across = np.cross(frame[2], slot)
            ways = (across / np.linalg.norm(across))[None]
        points = at + ring_in(self._frame(sides, frame[2]), diameter / 2.0 + 1.0)
        # Both of its holes give way.
        stiff = 0.5 * BEDDING * self.modulus * length
        return self._tied(kind, number, sides, points, points, ways, [stiff] * len(ways), at)

    def _frame(self, sides: SeamSides, axis: Floats) -> Floats:
        return self.assembly.models[sides.below].grid.frame_along(axis)

    def _tied(
        self,
        kind: Kind,
        number: int,
        sides: SeamSides,
        low: Floats,
        high: Floats,
        ways: Floats,
        springs: list[float],
        at: Floats,
    ) -> Fixing:
        try:
            gaps = self.assembly.tie_gaps(Tie(sides.below, sides.above, low, high, ways))
        except LoadError as fault:
            raise LoadError(
                f"Seam {sides.seam.name}: {kind} {number + 1} is beside the pieces that it holds; "
                "place it anew."
            ) from fault
        return Fixing(kind, number, gaps, frozen_floats(springs), frozen_floats(ways), at)


def screw_stiffness(screw: Screw, shelf: Shelf) -> float:
    """Return how stiff a screw is, N/mm: its stress area over the length between head and thread.

    In a nut as far as the face on which that bears; else to half of what the thread holds.

    Raises
    ------
    WorkshopError
        If it is not on the shelf.
    """
    return STEEL * shelf.thread(screw.size).stress_area / (screw.seat + _end(screw, shelf))


def _end(screw: Screw, shelf: Shelf) -> float:
    return screw.depth if screw.hold == "nut" else screw_hardware(screw, shelf).engagement / 2.0


def needs_screws_across(joint: Joint) -> bool:
    """Return whether screws have to take what slides: pins and register do not do it alone."""
    return len(joint.pins) < 2 and joint.register is None


def ring_in(frame: Floats, radius: float) -> Floats:
    """Return points on a circle about the origin, (n, 3) mm, from the first row of a frame on.

    The third is its axis.
    """
    angle = np.arange(RING) * 2.0 * math.pi / RING
    ring: Floats = radius * np.stack([np.cos(angle), np.sin(angle)], axis=1) @ frame[:2]
    return ring


def _joined(fixings: Sequence[Fixing]) -> Fixing:
    return Fixing(
        fixings[0].kind,
        fixings[0].number,
        stacked([each.gaps for each in fixings]),
        frozen_floats(np.concatenate([each.springs for each in fixings])),
        frozen_floats(np.vstack([each.directions for each in fixings])),
        fixings[0].at,
    )
