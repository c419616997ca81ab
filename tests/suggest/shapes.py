"""Parts, beds and ways to search them that several tests of the search share."""

from functools import cache

import numpy as np
from scipy.spatial.transform import Rotation

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.progress import silent
from splitplanner.solid import Solid, seen_from_outside
from splitplanner.suggest.candidates import cut_directions
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.estimate import surveyed
from splitplanner.suggest.searching import search
from splitplanner.suggest.standing_in import stand_in_for
from splitplanner.workshop import Bed, Printer

SIZES = np.array([220.0, 220.0, 250.0])
BED = Bed.rectangle(*SIZES)
"""Space diagonal 399.1 mm, plan diagonal 311.1 mm."""
PRINTER = Printer(bed=BED)
PLAIN, ASKEW, ON_EDGE = (0, 0, 0), (20, 30, 50), (45, 0, 0)


def placed(solid, angles):
    """The solid turned by angles about x, y and z, degrees, and away from the origin."""
    matrix = np.eye(4)
    matrix[:3, :3] = Rotation.from_euler("xyz", angles, degrees=True).as_matrix()
    matrix[:3, 3] = (100, -40, 7)
    return solid.transformed(matrix)


def searched(part, bed=BED, report=silent):
    """The pool of a search without weights."""
    return search(stand_in_for(part), Costs(part, Printer(bed=bed)), lambda plan: True, report).pool


def survey_of(part, printer=PRINTER, weights=None):
    """The survey of a part itself, not of a stand-in."""
    costs = Costs(part, printer, weights or {})
    return surveyed(part, seen_from_outside(part), cut_directions(part), costs)


def l_shape():
    return Solid.box((400, 60, 60)).union(Solid.box((60, 400, 60)))


def u_shape():
    legs = [Solid.box((60, 430, 60), (x, 0, 0)) for x in (0, 370)]
    return Solid.box((430, 60, 60)).union(*legs)


def square_ring():
    return Solid.box((400, 400, 30)).difference(Solid.box((340, 340, 50), (30, 30, -10)))


def cross():
    return Solid.box((400, 60, 60), (-200, -30, 0)).union(Solid.box((60, 400, 60), (-30, -200, 0)))


def rod():
    return Solid.cylinder((0, 0, 0), (900, 0, 0), 10.0, 12)


def tube():
    return Solid.cylinder((0, 0, 0), (0, 0, 620), 100.0, 24).difference(
        Solid.cylinder((0, 0, -1), (0, 0, 621), 97.0, 24)
    )


PARTS = {
    "bar": lambda: Solid.box((280, 15, 15)),
    "box in 2": lambda: Solid.box((430, 200, 240)),
    "box in 4": lambda: Solid.box((430, 430, 240)),
    "box in 8": lambda: Solid.box((430, 430, 480)),
    "L": l_shape,
    "U": u_shape,
    "ring": square_ring,
    "cross": cross,
    "plate": lambda: Solid.box((500, 300, 5)),
    "rod": rod,
    "tube": tube,
}


def part_of(name, angles=PLAIN):
    return placed(PARTS[name](), angles)


@cache
def demo(name):
    """A demonstration part of some 5 000 triangles; each is made only once for all tests."""
    return DEMO_PARTS[name].make(5_000)


@cache
def pool_of(name, angles=PLAIN):
    """The pool of a named part; each is searched for only once for all tests."""
    return searched(part_of(name, angles))
