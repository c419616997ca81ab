"""Small parts laid into cells: a channel with walls across at its seams, screwed and pinned."""

from dataclasses import replace

import numpy as np
from scipy.sparse import csr_array
from scipy.spatial import KDTree

from splitplanner.joint.brace.building import brace_of
from splitplanner.joint.brace.planned import brace_screw
from splitplanner.plan import (
    BraceWish,
    Cut,
    Joint,
    Loading,
    PartFile,
    Pin,
    Plan,
    PointLoad,
    Screw,
    cantilever,
    divide,
)
from splitplanner.solid import Plane, Solid
from splitplanner.strength.cells import factorised, sprung
from splitplanner.workshop import Bed, Material, Printer, hardware_shelf

SHELF = hardware_shelf()
PRINTER = Printer(bed=Bed.parse("220x220x250"))
PLASTIC = Material(
    "test", 1.2, strength_xy=50.0, strength_z=30.0, stiffness_xy=2000.0, stiffness_z=1500.0
)
LENGTH, WIDTH, HEIGHT, WALL = 160.0, 60.0, 45.0, 3.0
FLANGE = 5.0
BOLTS = ((-22.0, 10.0), (22.0, 10.0), (-22.0, 36.0), (22.0, 36.0))
PINS = ((-10.0, 8.0), (10.0, 8.0))
ALONG = (1.0, 0.0, 0.0)
LOAD = np.array([0.0, 0.0, -20.0])


def channel(*walls):
    """Open above, along x; with a wall of two flanges across at each of the stations."""
    outside = Solid.box((LENGTH, WIDTH, HEIGHT), (0, -WIDTH / 2, 0))
    inside = Solid.box((LENGTH + 2, WIDTH - 2 * WALL, HEIGHT), (-1, -WIDTH / 2 + WALL, WALL))
    part = outside.difference(inside)
    across = (2 * FLANGE, WIDTH - WALL, HEIGHT - 1)
    ribs = [Solid.box(across, (x - FLANGE, -WIDTH / 2 + WALL / 2, 1)) for x in walls]
    return part.union(*ribs) if ribs else part


def gutter():
    """A slit tube with a disc across in the middle: alike left and right, and not by its faces."""
    whole, bore = (Solid.cylinder((-e, 0, 22), (LENGTH + e, 0, 22), 30 - 3 * e) for e in (0.0, 1.0))
    part = whole.difference(bore).union(Solid.cylinder((80, 0, 22), (90, 0, 22), 28.5))
    return part.difference(Solid.box((200, 24, 30), (-10, -12, 40)))


def screw(plane, y, z):
    """An M4 with a nut through both flanges, square to a seam."""
    normal = np.array(plane.normal)
    at = np.array([0.0, y, z])
    at = at + np.array(ALONG) * ((plane.offset - normal @ at) / normal[0])
    return Screw(
        tuple(at.tolist()), tuple(normal.tolist()), "ISO 4762", "M4", 16.0, "nut", FLANGE, 0, 4.5,
        8.0, False, FLANGE, 4.5, 0.0, 3.0,
    )  # fmt: skip


def pin(plane, y, z):
    at = screw(plane, y, z)
    return Pin(at.at, at.axis, "ISO 8734", 3.0, 10.0, 3.2, 5.0, 3.0)


def joint(seam, bolts=BOLTS, pins=PINS):
    return Joint(
        seam.name,
        pins=tuple(pin(seam.plane, *place) for place in pins),
        screws=tuple(screw(seam.plane, *place) for place in bolts),
    )


def planned(part, *planes, **others):
    """A part cut and screwed together, with its plan."""
    division = divide(part, [Cut(plane) for plane in planes])
    plan = Plan(PartFile("", "mm", ""), PRINTER, tuple(Cut(p) for p in planes), material=PLASTIC)
    plan = replace(plan, joints=tuple(joint(seam) for seam in division.seams), **others)
    return division, plan


def pressed(station=LENGTH, force=LOAD, **others):
    """Clamped at x = 0, with a force on the floor in the middle."""
    load = PointLoad(station, tuple(np.asarray(force, float).tolist()), **others)
    return Loading(ALONG, cantilever(0.0, load))


def braced(division, plan):
    """The pieces with two strips below the floor, and these."""
    wishes = [
        BraceWish(ALONG, (0, 0, -1), y, 12, LENGTH - 12, 15, 2, spacing=50, name=name)
        for name, y in (("left", -12.0), ("right", 12.0))
    ]
    braces = [brace_of(division, wish, brace_screw(wish, SHELF, PRINTER), SHELF) for wish in wishes]
    pieces = []
    for piece in division.pieces:
        solid = piece.solid
        for brace in braces:
            solid = brace.made(piece.name, solid)
        pieces.append(replace(piece, solid=solid))
    return pieces, braces


def unlike(check):
    """How unlike corners left and right of a part move that is alike there, by its largest move."""
    most = []
    for piece in check.pieces:
        apart, partner = KDTree(piece.vertices).query(piece.vertices * (1.0, -1.0, 1.0))
        same = apart < 1e-3
        assert same.sum() > 0.3 * len(same)
        mirrored = piece.moved[partner] * (1.0, -1.0, 1.0)
        most.append(np.abs(piece.moved - mirrored)[same].max())
    return max(most) / check.deflection


def solved_anew(solved):
    """All freedoms by solving the whole at once, with all that holds in an answer; and springs."""
    known = solved.condensed
    assembly, gaps = known.found.assembly, known.found.gaps
    springs = np.zeros(gaps.shape[0])
    springs[: len(known.firm)] = known.firm
    springs[known.ground[0] :][: len(known.ground[1])] = known.ground[1]
    for each in solved.acting:
        springs[each.rows] = each.fixing.springs
    for each in solved.glued:
        springs[each.across] = each.springs
    matrix = sprung(assembly.matrix, gaps, np.where(solved.answer.closed, springs, 0.0)).tocsr()
    for brace in solved.braces:
        own = gaps[brace.start : brace.start + len(brace.beam.felt)]
        matrix = matrix + own.T @ csr_array(brace.beam.felt) @ own
    return factorised(matrix).solve(known.found.forces), springs


STRAIGHT = Plane(ALONG, 85.0)
