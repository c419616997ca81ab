"""Joints of the seam between the two boxes, made by hand, for tests of widgets."""

from dataclasses import replace

from splitplanner.plan import Flange, Register, Screw, Tape
from tests.window.boxes import division, joint

CLEARANCE, HEAD, NUT = 3.4, 7.5, 5.7
EDGE = 4.2
"""Of an M3 screw, mm."""
FLANGE_WIDTH = 12.0


def plane():
    """Return the plane of the seam."""
    return division().seams[0].plane


def bounds():
    """Return low u, low v, high u and high v of the seam, a rectangle of 200 x 240 mm."""
    return division().seams[0].section.shape.bounds


def screw(u, v, hold="nut", from_below=True, **more):
    """Return an M3 screw at a place of the seam."""
    normal = plane().normal
    made = Screw(
        at=tuple(plane().to_space([(u, v)])[0].tolist()),
        axis=normal if from_below else tuple(-each for each in normal),
        standard="ISO 4762",
        size="M3",
        length=12.0,
        hold=hold,
        seat=4.0,
        washers=2 if hold == "nut" else 1,
        clearance=CLEARANCE,
        head_room=HEAD,
        is_countersunk=False,
        depth=4.0 if hold == "nut" else 7.0,
        hole=CLEARANCE if hold == "nut" else 4.0,
        nut_room=NUT if hold == "nut" else 0.0,
        edge_distance=EDGE,
    )
    return replace(made, **more)


def flange():
    """Return a rim along the lower side of the seam, outside of it: the wall is on its left."""
    low_u, low_v, high_u, _ = bounds()
    return Flange((((low_u, low_v), (high_u, low_v)),), FLANGE_WIDTH, 4.0)


def held():
    """Return a joint with everything: the pins of the seam, two screws, flange, register, tape."""
    low_u, low_v, high_u, high_v = bounds()
    u, v = (low_u + high_u) / 2, (low_v + high_v) / 2
    screws = (screw(u - 20, v), screw(u + 20, v, "insert", from_below=False))
    return replace(
        joint(),
        screws=screws,
        flange=flange(),
        register=Register("tongue", 2.0, 1.6, 0.1),
        tape=Tape("glass", 163.0, 2, 0.5, 30.0, 400.0),
    )
