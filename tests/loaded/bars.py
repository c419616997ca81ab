"""A plain bar along x with its seams, what holds them, and plans of it."""

from splitplanner.plan import Cut, Joint, PartFile, Pin, Plan, Screw, Tape, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Material, Printer

LENGTH, WIDTH, DEPTH = 200.0, 30.0, 40.0
ABOUT_Y = WIDTH * DEPTH**3 / 12
MODULUS = WIDTH * DEPTH**2 / 6
PLASTIC = Material(
    "test plastic", 1.2, strength_xy=50.0, strength_z=30.0, stiffness_xy=2000.0, stiffness_z=1500.0
)
PRINTER = Printer(bed=Bed.parse("220x220x250"))
ALONG = (1.0, 0.0, 0.0)
LYING = {"1": (0.0, 0.0, 1.0), "2": (0.0, 0.0, 1.0)}
"""Print directions with layers along the bar."""


def bar():
    return Solid.box((LENGTH, WIDTH, DEPTH), (0.0, -WIDTH / 2, -DEPTH / 2))


def square_cut(station, piece=None):
    return Cut(Plane(ALONG, station), piece)


def cut_bar(*cuts):
    return divide(bar(), cuts)


def screw(station, y, z):
    return Screw(
        at=(station, y, z), axis=ALONG, standard="ISO 4762", size="M4", length=16.0, hold="nut",
        seat=5.0, washers=2, clearance=4.5, head_room=10.0, is_countersunk=False, depth=6.0,
        hole=4.5, nut_room=0.0, edge_distance=6.0,
    )  # fmt: skip


def pin(station, y, z):
    return Pin((station, y, z), ALONG, "ISO 8734", 4.0, 16.0, 4.2, 8.5, 8.0)


def screwed(station=100.0):
    """Two screws 15 mm below the middle."""
    return Joint("S1", screws=tuple(screw(station, y, -15.0) for y in (-9.0, 9.0)))


def raised(station=100.0):
    """Two screws 15 mm above the middle."""
    return Joint("S1", screws=tuple(screw(station, y, 15.0) for y in (-9.0, 9.0)))


def pinned(station=100.0):
    return Joint("S1", pins=(pin(station, -8.0, 0.0), pin(station, 8.0, 0.0)))


TAPE = Tape("glass", 163.0, 2, 0.5, 40.0, 140.0)


def plan_of(cuts, joints=(), loadings=(), material=PLASTIC, ups=LYING):
    return Plan(
        PartFile("bar.stl", "mm", ""), PRINTER, tuple(cuts), joints=tuple(joints),
        loadings=tuple(loadings), material=material, print_directions=dict(ups),
    )  # fmt: skip
