"""What one seam holds: which part of it fails first, at what load, beside the uncut part."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from splitplanner.arrays import Floats, Ints, frozen_floats
from splitplanner.plan import Joint, Line, Seam, Vector
from splitplanner.strength.bolt_group import (
    BALANCED,
    LOWER_BOUND,
    Group,
    SeamLoad,
    balance,
    group_of,
    shear_forces,
)
from splitplanner.strength.cautions import LEFT_OUT, TAPE_STAYS
from splitplanner.strength.fastener_capacity import (
    Resistance,
    ScrewHardware,
    pin_resistances,
    screw_hardware,
    screw_resistances,
)
from splitplanner.strength.neutral_axis import Bed, Opening, bed_of, opening_of
from splitplanner.strength.plastic import Plastic
from splitplanner.strength.seam_ground import (
    Rim,
    TapeStretches,
    contact_of,
    edge_distances,
    generic_fibre,
    pin_places,
    rims_of,
    screw_places,
    tape_stretches,
)
from splitplanner.strength.seam_modes import (
    ADHESIVE,
    Mode,
    adhesive_mode,
    contact_mode,
    fastener_modes,
    section_mode,
    section_stresses,
    tape_modes,
)
from splitplanner.strength.seam_register import (
    RegisterStretches,
    register_modes,
    register_stretches,
)
from splitplanner.strength.seam_values import HeldBy, SeamCapacity, Side, Stage
from splitplanner.strength.section_properties import SectionProperties, section_properties
from splitplanner.strength.torsion import torsion
from splitplanner.workshop import Shelf

STEEL = 210_000.0
"""Modulus of elasticity of steel, MPa."""
_PINS, _REGISTER, _SCREWS = (0,), (1,), (2,)
_ALL = _PINS + _REGISTER + _SCREWS
_ROUNDING = 1e-10
"""Of a load: components of less are rounding."""
NOT_HELD, NOT_KEPT = "open", "sideways"
"""Modes of a seam that nothing holds closed, and that nothing keeps from sliding."""


def seam_capacity(
    seam: Seam,
    joint: Joint,
    load: SeamLoad,
    sides: tuple[Side, Side],
    shelf: Shelf,
    held_by: HeldBy | None = None,
    tape_lines: tuple[Line, ...] = (),
    whole_up: Vector | None = None,
) -> SeamCapacity:
    """Return what a seam holds of a load, and what fails first.

    Screws, tape and glue share a pull and bending by their stiffness over the same length, the
    contact presses; see `neutral_axis.opening_of`. In the plane glue takes all where there is some;
    else pins do, in whose holes there is least play; a register where they cannot do it alone, and
    screws where both cannot. Friction is not counted.

    Parameters
    ----------
    seam : Seam
    joint : Joint
    load : SeamLoad
        On the piece above; see `seam_ground.seam_load`.
    sides : (piece below, piece above)
    shelf : Shelf
    held_by : HeldBy, optional
    tape_lines : tuple of lines
        Where the tape runs; see `seam_ground.tape_stretches`.
    whole_up : (x, y, z), optional
        Print direction of the part as if printed in one; if not given, one with its layers across
        the seam, which is the strongest.

    Raises
    ------
    ValueError
        If the load is none, or there is no contact.
    WorkshopError
        If hardware is not on the shelf, or steel or fibre are not known.
    """
    if seam.section.is_empty:
        raise ValueError(f"seam {seam.name} has no contact")
    if not (load.force.any() or load.moment.any()):
        raise ValueError("what a seam holds of no load has no answer")
    held_by = held_by or HeldBy()
    plain = _cleared(load, math.sqrt(seam.section.area))
    case = _Seam(seam, joint, plain, sides, shelf, held_by, tape_lines)
    statements = [LOWER_BOUND, LEFT_OUT]
    if joint.tape is not None and held_by.resin_shear is None:
        statements.append(TAPE_STAYS)
    return SeamCapacity(seam.name, case.stages(), case.uncut(whole_up), tuple(statements))


def _cleared(load: SeamLoad, reach: float) -> SeamLoad:
    """Return a load without what is rounding beside the rest of it."""
    size = float(np.linalg.norm(load.force) + np.linalg.norm(load.moment) / reach)
    force = np.where(np.abs(load.force) > _ROUNDING * size, load.force, 0.0)
    moment = np.where(np.abs(load.moment) > _ROUNDING * size * reach, load.moment, 0.0)
    return SeamLoad(force, moment, load.at)


@dataclass(frozen=True, eq=False)
class _Seam:
    """One such task."""

    seam: Seam
    joint: Joint
    load: SeamLoad
    sides: tuple[Side, Side]
    shelf: Shelf
    held_by: HeldBy
    tape_lines: tuple[Line, ...]

    @cached_property
    def plastics(self) -> tuple[Plastic, Plastic]:
        return self.sides[0].plastic, self.sides[1].plastic

    @cached_property
    def stiffness(self) -> float:
        """Of the plastic, MPa: of both pieces one after the other."""
        below, above = (plastic.stiffness for plastic in self.plastics)
        return 2 / (1 / below + 1 / above)

    @cached_property
    def contact(self) -> shapely.MultiPolygon:
        return contact_of(self.seam, self.joint)

    @cached_property
    def bed(self) -> Bed:
        return bed_of(self.contact)

    @cached_property
    def section(self) -> SectionProperties:
        return section_properties(self.seam.section.shape)

    @cached_property
    def stresses(self) -> tuple[Floats, float]:
        """Normal stresses and shear stress of the seam's section as if it were whole."""
        # The torsion constant takes long, so it is found where there is a twist.
        twist = float(self.load.about(self.section.centroid)[2])
        size = float(np.linalg.norm(self.load.moment)) + float(np.linalg.norm(self.load.force))
        needed = abs(twist) > _ROUNDING * size
        modulus = torsion(self.seam.section.shape).modulus if needed else math.inf
        return section_stresses(self.section, self.load, modulus)

    @cached_property
    def hardware(self) -> tuple[ScrewHardware, ...]:
        return tuple(screw_hardware(screw, self.shelf) for screw in self.joint.screws)

    @cached_property
    def tape(self) -> TapeStretches | None:
        tape = self.joint.tape
        if tape is None:
            return None
        fibre = self.held_by.fibre or generic_fibre(tape.fibre)
        return tape_stretches(self.seam, self.joint, tape, fibre, self.tape_lines)

    @cached_property
    def register(self) -> RegisterStretches:
        return register_stretches(self.seam, self.joint.register)

    def uncut(self, whole_up: Vector | None) -> Mode:
        plastic = self.plastics[0]
        strength = max(plastic.strength_xy, plastic.strength_z)
        if whole_up is not None:
            strength = plastic.along(self.seam.plane.normal, whole_up)
        note = "the part as if printed in one, elastic bending"
        return section_mode("uncut", *self.stresses, strength, plastic, note)

    def walls(self) -> list[Mode]:
        """Return how the pieces themselves fail beside the seam."""
        modes = []
        for name, side in zip(("below", "above"), self.sides, strict=True):
            strength = side.plastic.along(self.seam.plane.normal, side.up)
            note = f"the wall of the piece {name} beside the seam, by its layers"
            modes.append(
                section_mode(f"piece.{name}", *self.stresses, strength, side.plastic, note)
            )
        return modes

    def stages(self) -> tuple[Stage, ...]:
        hardware = [
            name
            for name, some in (
                ("screws", self.joint.screws),
                ("pins", self.joint.pins),
                ("register", self.joint.register),
            )
            if some
        ]
        found = [self.stage(tuple(hardware))]
        if self.tape is not None:
            hardware.append("tape")
            found.append(self.stage(tuple(hardware)))
        if self.held_by.adhesive is not None:
            hardware.append(ADHESIVE)
            found.append(self.stage(tuple(hardware)))
        return tuple(found)

    def stage(self, by: tuple[str, ...]) -> Stage:
        """Return the seam while `by` hold it."""
        glued = ADHESIVE in by
        screws = screw_places(self.seam, self.joint)
        areas = [one.thread.stress_area * STEEL / self.stiffness for one in self.hardware]
        places, transformed = screws, np.array(areas)
        tape = self.tape if "tape" in by else None
        if tape is not None:
            places = np.vstack([places, tape.places])
            fibres = tape.areas * tape.fibre.stiffness / self.stiffness
            transformed = np.append(transformed, fibres)
        opening = opening_of(places, transformed, self.load, self.bed, glued=glued)
        across = self.across(glued)
        modes = [*across.modes, *self.walls()]
        modes += fastener_modes(
            self.pin_ways(across.pins), np.zeros(len(self.joint.pins)), _sizes(across.pins)
        )
        if not opening.is_balanced:
            return self.ended([_open(opening), *modes], by, np.zeros(len(screws)), across)
        tensions, pulls = np.split(opening.tensions, [len(screws)])
        modes.append(contact_mode(opening, self.plastics))
        modes += fastener_modes(self.screw_ways(across.screws), tensions, _sizes(across.screws))
        if tape is not None:
            wall = 2 * self.section.area / self.section.perimeter * self.stiffness
            modes += tape_modes(tape, pulls, wall, self.held_by.resin_shear)
        if glued and self.held_by.adhesive is not None:
            glue = self.held_by.adhesive
            modes.append(adhesive_mode(self.bed, opening, self.load, glue.lap_shear, glue.peel))
        return self.ended(modes, by, tensions, across)

    def ended(
        self, modes: list[Mode], by: tuple[str, ...], tensions: Floats, across: _Across
    ) -> Stage:
        ordered = tuple(sorted(modes, key=lambda mode: mode.factor))
        return Stage(by, ordered, frozen_floats(tensions), across.screws, across.pins)

    def pin_ways(self, pushes: Floats) -> list[tuple[Resistance, ...]]:
        """Return how each pin fails."""
        edges = edge_distances(self.contact, pin_places(self.seam, self.joint)[0], pushes)
        return [
            pin_resistances(pin, self.plastics, edge)
            for pin, edge in zip(self.joint.pins, edges.tolist(), strict=True)
        ]

    def screw_ways(self, pushes: Floats) -> list[tuple[Resistance, ...]]:
        """Return how each screw fails, the rim below its head too."""
        normal = np.array(self.seam.plane.normal)
        rims = rims_of(self.seam, self.joint)
        edges = edge_distances(self.contact, screw_places(self.seam, self.joint), pushes)
        found = []
        for screw, hardware, rim, edge in zip(
            self.joint.screws, self.hardware, rims, edges.tolist(), strict=True
        ):
            rising = float(np.array(screw.axis) @ normal) > 0
            order = self.sides if rising else self.sides[::-1]
            ways = screw_resistances(
                screw,
                hardware,
                (order[0].plastic, order[1].plastic),
                self.held_by.steel,
                self.held_by.insert_pull_out,
                edge,
            )
            found.append((*ways, *self.rim_ways(rim, hardware, order)))
        return found

    def rim_ways(
        self, rim: Rim | None, hardware: ScrewHardware, order: tuple[Side, ...]
    ) -> tuple[Resistance, ...]:
        """Return how the rims fail on which head and nut of a screw bear, `order` in this order."""
        if rim is None:
            return ()
        towards = rim.away @ self.seam.plane.frame[:2]
        widths = (hardware.head_width, hardware.nut_width or hardware.diameter)
        heads = tuple(zip(order, widths, strict=True))
        bent = min(rim.bending(w, side.plastic.along(towards, side.up)) for side, w in heads)
        torn = min(rim.shearing(w, side.plastic.shear) for side, w in heads)
        return (
            Resistance("flange.bending", "pulled", bent, "the rim as a cantilever from the wall"),
            Resistance("flange.shear", "pulled", torn, "the rim sheared off at the wall"),
        )

    def across(self, glued: bool) -> _Across:
        """Share what acts in the plane: among glue, pins, the register, screws."""
        screws, pins = len(self.joint.screws), len(self.joint.pins)
        nothing = _Across(np.zeros((screws, 2)), np.zeros((pins, 2)), ())
        twisted = self.load.moment[2] * np.array([0.0, 0.0, 1.0])
        inside = SeamLoad(self.load.force * [1.0, 1.0, 0.0], twisted, self.load.at)
        if glued or not (inside.force.any() or inside.moment.any()):
            return nothing
        group, kinds = self.sideways_group()
        for taken in (_PINS, _REGISTER, _PINS + _REGISTER, _PINS + _SCREWS, _ALL):
            some = np.where(np.isin(kinds, taken), group.shear, 0.0)
            shares = shear_forces(replace(group, shear=some), inside)
            found = balance(group, inside, np.column_stack([shares, np.zeros(len(shares))]))
            if found.residual < BALANCED:
                return _Across(
                    shares[np.isin(kinds, _SCREWS)],
                    shares[np.isin(kinds, _PINS)],
                    self.register_ways(shares[np.isin(kinds, _REGISTER)]),
                )
        size = float(np.linalg.norm(inside.force)) or float(abs(inside.moment[2]))
        note = "nothing keeps the pieces from sliding on each other; add pins"
        return _Across(
            nothing.screws, nothing.pins, (Mode(NOT_KEPT, 0.0, 0, size, 0.0, "N", note),)
        )

    def sideways_group(self) -> tuple[Group, Ints]:
        """Return all that takes forces in the plane, by weight, and of which kind each is."""
        at, slots = pin_places(self.seam, self.joint)
        stretches, screws = self.register, screw_places(self.seam, self.joint)
        # Plastic gives way by its pressed area, which is as the pin is thick and long.
        weights = (
            [pin.diameter * min(pin.length / 2, pin.depth) for pin in self.joint.pins],
            stretches.lengths * (self.joint.register.height if self.joint.register else 0.0),
            [one.thread.diameter * min(one.grip, one.engagement) for one in self.hardware],
        )
        group = group_of(
            np.vstack([at, stretches.places, screws]),
            shear=np.concatenate(weights),
            slots=np.vstack([slots, stretches.tangents, np.zeros_like(screws)]),
        )
        kinds = (*_PINS, *_REGISTER, *_SCREWS)
        return group, np.repeat(kinds, [len(each) for each in weights]).astype(np.int64)

    def register_ways(self, shares: Floats) -> tuple[Mode, ...]:
        """Return how the register fails."""
        if self.joint.register is None:
            return ()
        side = self.sides[0]
        strength = side.plastic.along(self.seam.plane.normal, side.up)
        return tuple(
            register_modes(
                self.joint.register, self.register, _sizes(shares), self.plastics, strength
            )
        )


@dataclass(frozen=True, eq=False)
class _Across:
    """What fasteners take in the plane, (n, 2) N, and modes beside theirs."""

    screws: Floats
    pins: Floats
    modes: tuple[Mode, ...]


def _open(opening: Opening) -> Mode:
    note = "nothing holds the seam closed against this load; add screws, tape or glue"
    return Mode(NOT_HELD, 0.0, 0, opening.residual, BALANCED, "1", note)


def _sizes(forces: Floats) -> Floats:
    return frozen_floats(np.linalg.norm(forces, axis=1))
