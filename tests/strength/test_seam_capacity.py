"""What seams hold. Expected values by hand, from closed forms, and from what has to be the same."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from splitplanner.errors import WorkshopError
from splitplanner.joint import tape_figures
from splitplanner.plan import Cut, Flange, Joint, Pin, Register, Screw, Tape, divide
from splitplanner.solid import Plane, Section, Solid
from splitplanner.strength.bolt_group import LOWER_BOUND
from splitplanner.strength.cautions import CAUTIONS, LEFT_OUT, TAPE_STAYS
from splitplanner.strength.plastic import Plastic
from splitplanner.strength.seam_capacity import seam_capacity
from splitplanner.strength.seam_ground import edge_distances, seam_load
from splitplanner.strength.seam_values import Adhesive, HeldBy, Side
from splitplanner.workshop import hardware_shelf

SHELF = hardware_shelf()
PLASTIC = Plastic(50.0, 30.0, 20.0, 50.0, 2000.0)
UPRIGHT = (Side(PLASTIC, (0.0, 0.0, 1.0)), Side(PLASTIC, (0.0, 0.0, 1.0)))
LYING = (Side(PLASTIC, (1.0, 0.0, 0.0)), Side(PLASTIC, (1.0, 0.0, 0.0)))
WIDTH, DEPTH = 40.0, 30.0


@pytest.fixture(scope="module")
def seam():
    """A bar of 40 by 30 mm about the z axis, cut square: u is x and v is y."""
    bar = Solid.box((WIDTH, DEPTH, 100)).transformed(
        np.array([[1.0, 0, 0, -WIDTH / 2], [0, 1, 0, -DEPTH / 2], [0, 0, 1, 0]])
    )
    (found,) = divide(bar, [Cut(Plane((0.0, 0.0, 1.0), 50.0))]).seams
    assert found.plane.frame == pytest.approx(np.eye(3))
    return found


def pin(x, y, slot=(0.0, 0.0, 0.0)):
    return Pin((x, y, 50), (0, 0, 1), "ISO 8734", 4.0, 16.0, 4.2, 8.5, 8.0, slot=slot)


def screw(x, y, down=False):
    axis = (0.0, 0.0, -1.0 if down else 1.0)
    return Screw(
        (x, y, 50.0),
        axis,
        "ISO 4762",
        "M4",
        16.0,
        "nut",
        5.0,
        2,
        4.5,
        10.0,
        False,
        6.0,
        4.5,
        0.0,
        6.0,
    )


def held(seam, joint, force=(0, 0, 0), moment=(0, 0, 0), sides=LYING, **options):
    return seam_capacity(seam, joint, seam_load(seam, force, moment), sides, SHELF, **options)


def factors(stage):
    return {mode.name: mode.factor for mode in stage.modes}


PINS = Joint("S1", pins=(pin(-12, 0), pin(12, 0)))
SCREWS = Joint("S1", screws=tuple(screw(x, y) for x in (-12, 12) for y in (-8, 8)))


def test_pins_share_a_side_load(seam):
    """100 N on two pins: 50 N each, on 400 N of pressure and 1040 N of tear-out, 15 mm away."""
    found = held(seam, PINS, force=(0, 100, 0))
    assert found.factor == pytest.approx(8.0)
    assert found.governing.name == "pin.bearing"
    assert (found.governing.measured, found.governing.allowed) == pytest.approx((50, 400))
    assert factors(found.best)["pin.tear_out"] == pytest.approx(20 * (15 - 2) * 8 / 2 / 50)
    # Towards the nearer edge, which is 8 mm away: what is kept round each is no less.
    aside = held(seam, PINS, force=(100, 0, 0))
    assert factors(aside.best)["pin.tear_out"] == pytest.approx(20 * (8 - 2) * 8 / 2 / 50)
    assert found.best.pin_shears == pytest.approx(np.array([(0, 50), (0, 50)]))
    # Uncut: 1.5 V/A on 20 MPa.
    assert found.uncut.factor == pytest.approx(20 / (1.5 * 100 / 1200))
    assert found.ratio == pytest.approx(8 / 160)


def test_distance_to_the_edge_by_the_force():
    """In an L of 60 by 90 mm with legs of 20 mm, by hand, along both ways of a force."""
    ell = shapely.Polygon([(0, 0), (60, 0), (60, 20), (20, 20), (20, 90), (0, 90)])
    places = np.array([(10.0, 60.0), (10.0, 60.0), (10.0, 10.0), (10.0, 10.0), (30.0, 30.0)])
    forces = np.array([(5.0, 0), (0, -2.0), (3.0, 3.0), (0, 0), (1.0, 0)])
    found = edge_distances(shapely.MultiPolygon([ell]), places, forces)
    # Outside of the material there is no distance.
    assert found == pytest.approx([10, 30, 10 * math.sqrt(2), 0, 0])


def test_slot_leaves_the_other_pin_alone(seam):
    slotted = Joint("S1", pins=(pin(-12, 0), pin(12, 0, slot=(0.5, 0.0, 0.0))))
    found = held(seam, slotted, force=(100, 0, 0))
    assert found.best.pin_shears == pytest.approx(np.array([(100, 0), (0, 0)]))
    assert found.factor == pytest.approx(4.0)
    assert found.governing.number == 1


def test_screws_leave_sideways_loads_to_pins(seam):
    both = Joint("S1", pins=PINS.pins, screws=SCREWS.screws)
    found = held(seam, both, force=(0, 100, 0))
    assert not found.best.screw_shears.any()
    assert found.factor == pytest.approx(8.0)
    # One pin alone does not stand a twist: then they help.
    single = replace(both, pins=PINS.pins[:1])
    helped = held(seam, single, moment=(0, 0, 500)).best
    assert helped.screw_shears.any()
    forces = np.vstack([helped.pin_shears, helped.screw_shears])
    arms = np.array([(-12, 0), (-12, -8), (-12, 8), (12, -8), (12, 8)])
    assert forces.sum(axis=0) == pytest.approx([0, 0], abs=1e-9)
    assert np.cross(np.c_[arms, np.zeros(5)], np.c_[forces, np.zeros(5)])[:, 2].sum() == (
        pytest.approx(500)
    )


def test_screws_in_bending(seam):
    """A cracked section by hand: neutral axis from the pressed edge, two rows of screws.

    The two rows are pulled at 7 and 23 mm from the pressed edge, so that
    ``b x²/2 = A (7 - x) + A (23 - x)`` with the transformed area A of a row.
    """
    moment = 4000.0
    found = held(seam, SCREWS, moment=(moment, 0, 0))
    area = 2 * SHELF.thread("M4").stress_area * 210_000 / 2000
    # b/2 x² + 2 A x - 30 A = 0
    axis = (-2 * area + math.sqrt(4 * area**2 + 2 * WIDTH * 30 * area)) / WIDTH
    if axis > 7:  # the near row is not pulled: b x²/2 = A (23 - x)
        axis = (-area + math.sqrt(area**2 + 2 * WIDTH * 23 * area)) / WIDTH
        assert axis > 7
        far = moment / (23 - axis / 3)
        assert found.best.tensions == pytest.approx([0, far / 2, 0, far / 2])
        pressure = 2 * far / (WIDTH * axis)
    washer = 50 * math.pi / 4 * (9**2 - 4.5**2)
    assert found.factor == pytest.approx(washer / (far / 2))
    assert found.governing.name in ("screw.head", "screw.nut")
    assert factors(found.best)["contact"] == pytest.approx(50 / pressure)


def test_wall_beside_the_seam(seam):
    """Pull of 1200 N on 1200 mm²: 1 MPa; layers across the seam hold 50, along it 30 times that."""
    glue = HeldBy(adhesive=Adhesive(1e3, 1e3))
    lying = held(seam, Joint("S1"), force=(0, 0, 1200), held_by=glue)
    assert (lying.governing.name, lying.factor) == ("piece.below", pytest.approx(50))
    assert lying.ratio == pytest.approx(1)
    mixed = (LYING[0], UPRIGHT[1])
    upright = held(seam, Joint("S1"), force=(0, 0, 1200), held_by=glue, sides=mixed)
    assert (upright.governing.name, upright.factor) == ("piece.above", pytest.approx(30))
    assert upright.ratio == pytest.approx(0.6)
    whole = held(
        seam, Joint("S1"), force=(0, 0, 1200), held_by=glue, sides=LYING, whole_up=(0, 0, 1)
    )
    assert whole.ratio == pytest.approx(50 / 30)


def test_glue_in_bending_and_shear(seam):
    """A rectangle: 6 M / (b h²) on the peel strength; V/A on the lap shear; the ellipse."""
    glue = HeldBy(adhesive=Adhesive(lap_shear=8.0, peel=3.0))
    bent = held(seam, Joint("S1"), moment=(9000, 0, 0), held_by=glue)
    assert bent.governing.name == "adhesive"
    assert bent.factor == pytest.approx(3 / (6 * 9000 / (WIDTH * DEPTH**2)))
    pushed = held(seam, Joint("S1"), force=(2400, 0, 0), held_by=glue)
    assert pushed.best.by == ("adhesive",)
    assert factors(pushed.best)["adhesive"] == pytest.approx(8 / 2)
    both = held(seam, Joint("S1"), force=(2400, 0, 0), moment=(9000, 0, 0), held_by=glue)
    assert factors(both.best)["adhesive"] == pytest.approx(
        1 / math.hypot(1 / bent.factor, 1 / factors(pushed.best)["adhesive"])
    )
    twisted = held(seam, Joint("S1"), moment=(0, 0, 9000), held_by=glue)
    polar = WIDTH * DEPTH * (WIDTH**2 + DEPTH**2) / 12
    assert factors(twisted.best)["adhesive"] == pytest.approx(8 / (9000 * 25 / polar))


def test_weak_glue_takes_nothing_from_the_screws(seam):
    """What lets go first leaves the seam to the rest."""
    plain = held(seam, SCREWS, moment=(4000, 0, 0))
    weak = held(seam, SCREWS, moment=(4000, 0, 0), held_by=HeldBy(adhesive=Adhesive(0.01, 0.01)))
    assert weak.factor == plain.factor
    assert weak.best.by == ("screws",)
    assert weak.stages[1].factor < 0.05
    strong = held(seam, SCREWS, moment=(4000, 0, 0), held_by=HeldBy(adhesive=Adhesive(20.0, 20.0)))
    assert strong.best.by == ("screws", "adhesive")
    assert strong.factor > plain.factor


def test_tape_all_round(seam):
    """A straight pull: the fibres that run across share it evenly, w/rho of glass by its length."""
    tape = Tape("glass", 163.0, 2, 0.5, 40.0, 100.0)
    joint = Joint("S1", tape=tape)
    found = held(seam, joint, force=(0, 0, 600))
    fibres = 100 * 2 * 163 / 2.55e3 / 2
    assert found.best.by == ("tape",)
    assert found.governing.name == "tape"
    assert found.governing.measured == pytest.approx(600 / fibres)
    assert found.factor == pytest.approx(1000 * fibres / 600)
    assert TAPE_STAYS in found.statements
    assert tape_figures(tape).overlap == 20.0
    bonded = held(seam, joint, force=(0, 0, 600), held_by=HeldBy(resin_shear=12.0))
    assert bonded.governing.name == "tape.bond"
    assert bonded.factor < found.factor
    assert TAPE_STAYS not in bonded.statements
    # Bent, tape holds with the contact on the other side: more than along one line at the middle.
    bent = held(seam, joint, moment=(3000, 0, 0))
    assert bent.factor > 0
    assert bent.governing.name in ("tape", "contact")


def test_nothing_holds_it_closed(seam):
    found = held(seam, PINS, moment=(1000, 0, 0))
    assert found.factor == 0.0
    assert found.governing.name == "open"
    assert found.ratio == 0.0
    # Pressed together it holds, as far as the resultant stays in the contact.
    assert held(seam, PINS, force=(0, 0, -100), moment=(1000, 0, 0)).factor > 1
    assert held(seam, PINS, force=(0, 0, -100), moment=(1600, 0, 0)).factor == 0.0


def test_nothing_keeps_it_from_sliding(seam):
    found = held(seam, Joint("S1", pins=(pin(0, 0),)), moment=(0, 0, 500))
    assert (found.factor, found.governing.name) == (0.0, "sideways")
    empty = held(seam, Joint("S1"), force=(0, 1, -100))
    assert empty.governing.name == "sideways"


def test_tongue_all_round(seam):
    """Pushed along y: only its two straights across that take it, 40 mm each, half an outline each.

    By hand 100 N over 40 mm is 2.5 N/mm; a tongue of 2 by 2 mm stands 20 MPa x 2 mm in shear,
    50 MPa x 4 / (3 x 2) in bending, 50 MPa x 2 mm on its side.
    """
    joint = Joint("S1", register=Register("tongue", height=2.0, width=2.0, gap=0.1))
    found = held(seam, joint, force=(0, 100, 0))
    ways = factors(found.best)
    assert found.best.by == ("register",)
    assert ways["register.shear"] == pytest.approx(40 / 2.5)
    assert ways["register.bending"] == pytest.approx(50 * 4 / 6 / 2.5)
    assert ways["register.bearing"] == pytest.approx(100 / 2.5)
    lap = replace(joint, register=replace(joint.register, form="lap"))
    assert factors(held(seam, lap, force=(0, 100, 0)).best)["register.shear"] == pytest.approx(8)
    # Layers of the piece below that lie along the seam let it break off sooner.
    weak = held(seam, joint, force=(0, 100, 0), sides=UPRIGHT)
    assert factors(weak.best)["register.bending"] == pytest.approx(30 * 4 / 6 / 2.5)
    # A twist: what the stretches take, by arms, adds up to it.
    twisted = held(seam, joint, moment=(0, 0, 2000))
    assert twisted.governing.name == "register.bending"
    # With pins there is more play in the register, and they take it.
    both = held(seam, replace(PINS, register=joint.register), force=(0, 100, 0))
    assert both.factor == pytest.approx(8.0)
    assert factors(both.best)["register.shear"] == math.inf


def test_studs(seam):
    """Two studs of 4 mm, 3 mm high: 50 N each, on pi/4 d² 20 MPa and 50 MPa pi d³/32 / (h/2)."""
    studs = Register("studs", height=3.0, width=4.0, gap=0.1, places=((-12.0, 0.0), (12.0, 0.0)))
    ways = factors(held(seam, Joint("S1", register=studs), force=(0, 100, 0)).best)
    assert ways["register.shear"] == pytest.approx(20 * math.pi * 4 / 50)
    assert ways["register.bending"] == pytest.approx(50 * math.pi * 64 / 32 / 1.5 / 50)
    assert ways["register.bearing"] == pytest.approx(50 * 12 / 50)


def random_load(rng):
    return rng.normal(0, 100, 3), rng.normal(0, 2000, 3)


FULL = Joint(
    "S1",
    pins=PINS.pins,
    screws=(screw(-14, -9), screw(13, -8), screw(2, 9, down=True)),
    tape=Tape("glass", 163.0, 1, 0.5, 40.0, 90.0),
)
GLUED = HeldBy(adhesive=Adhesive(8.0, 3.0), resin_shear=10.0)


def test_at_its_factor_a_mode_is_used_up(seam):
    """Brute force: under the load times its factor each mode takes what it stands, no less."""
    rng = np.random.default_rng(23)
    for _ in range(3):
        force, moment = random_load(rng)
        found = held(seam, FULL, force, moment, held_by=GLUED)
        for number, stage in enumerate(found.stages):
            assert [mode.factor for mode in stage.modes] == sorted(
                mode.factor for mode in stage.modes
            )
            for mode in stage.modes:
                if not 0 < mode.factor < 1e6:
                    continue
                again = held(seam, FULL, force * mode.factor, moment * mode.factor, held_by=GLUED)
                same = next(m for m in again.stages[number].modes if m.name == mode.name)
                assert same.measured == pytest.approx(same.allowed, rel=1e-6)
                assert same.factor == pytest.approx(1, rel=1e-6)


def test_factors_fall_as_loads_grow(seam):
    rng = np.random.default_rng(29)
    force, moment = random_load(rng)
    factors = [
        held(seam, FULL, force * times, moment * times, held_by=GLUED).factor
        for times in (0.1, 0.5, 1, 3, 20)
    ]
    assert np.array(factors) * [0.1, 0.5, 1, 3, 20] == pytest.approx(np.full(5, factors[2]))


def test_more_hardware_holds_no_less(seam):
    rng = np.random.default_rng(31)
    for _ in range(10):
        force, moment = random_load(rng)
        bare = held(seam, replace(FULL, tape=None), force, moment).factor
        taped = held(seam, FULL, force, moment).factor
        glued = held(seam, FULL, force, moment, held_by=HeldBy(adhesive=Adhesive(8.0, 3.0))).factor
        assert bare <= taped <= glued


def test_mirrored_seam(seam):
    """The mirrored joint under the mirrored load holds the same by the same modes."""
    rng = np.random.default_rng(37)

    def flipped(one):
        return replace(one, at=(-one.at[0], *one.at[1:]))

    mirrored = replace(
        FULL,
        pins=tuple(flipped(one) for one in FULL.pins),
        screws=tuple(flipped(one) for one in FULL.screws),
    )
    for _ in range(5):
        force, moment = random_load(rng)
        first = held(seam, FULL, force, moment, held_by=GLUED)
        second = held(seam, mirrored, force * [-1, 1, 1], moment * [1, -1, -1], held_by=GLUED)
        for here, there in zip(first.stages, second.stages, strict=True):
            assert factors(here) == pytest.approx(factors(there), rel=1e-6)


def test_rim_breaks_off():
    """A screw on a rim 7 mm from the wall, by hand: S b h² / (6 a)."""
    wall = Solid.box((80, 3, 60))
    (seam,) = divide(wall, [Cut(Plane((0.0, 0.0, 1.0), 30.0))]).seams
    line = ((80.0, 3.0), (0.0, 3.0))
    rim = Flange(lines=(line,), width=14.0, thickness=4.0)
    screws = tuple(
        replace(screw(x, 10.0), at=(x, 10.0, 30.0), seat=4.0, depth=4.0) for x in (20.0, 60.0)
    )
    joint = Joint("S1", screws=screws, flange=rim)
    found = held(seam, joint, force=(0, 0, 100), moment=(-100 * 8.5, 0, 0))
    # Moved to where the screws are: the pull runs through them... so each takes half or more.
    tension = found.best.tensions.max()
    by_name = {mode.name: mode for mode in found.best.modes}
    width = 9 + 2 * 7
    assert by_name["flange.bending"].allowed == pytest.approx(50 * width * 16 / (6 * 7))
    assert by_name["flange.shear"].allowed == pytest.approx(20 * width * 4 / 1.5)
    assert by_name["flange.bending"].measured == pytest.approx(tension)
    # Layers that lie across the rim are weaker.
    sides = (Side(PLASTIC, (0.0, 1.0, 0.0)), LYING[1])
    weak = held(seam, joint, force=(0, 0, 100), moment=(-100 * 8.5, 0, 0), sides=sides)
    bent = next(mode for mode in weak.best.modes if mode.name == "flange.bending")
    assert bent.allowed == pytest.approx(30 * width * 16 / (6 * 7))


def test_flange_presses_too():
    """The contact reaches over the rim: the screws' arm is longer where it opens at the wall."""
    wall = Solid.box((80, 3, 60))
    (seam,) = divide(wall, [Cut(Plane((0.0, 0.0, 1.0), 30.0))]).seams
    line = ((80.0, 3.0), (0.0, 3.0))
    screws = tuple(replace(screw(x, 10.0), at=(x, 10.0, 30.0)) for x in (20.0, 60.0))
    joint = Joint("S1", screws=screws, flange=Flange((line,), 14.0, 4.0))
    opens_at_wall = held(seam, joint, moment=(-1000, 0, 0)).best.tensions.sum()
    opens_at_rim = held(seam, joint, moment=(1000, 0, 0)).best.tensions.sum()
    # Levers to the pressed edges: 7 mm to the rim's, 10 mm to the wall's, less what is pressed.
    assert 1000 / 7 < opens_at_wall < 1000 / 3
    assert 1000 / 10 < opens_at_rim < 1000 / 7


def test_oblique_seams_and_loads_from_afar():
    """A seam turned with its load holds the same; moments are about the seam's centroid."""
    straight = Solid.box((30, 30, 100))
    (seam,) = divide(straight, [Cut(Plane((0.0, 0.0, 1.0), 50.0))]).seams
    glue = HeldBy(adhesive=Adhesive(8.0, 3.0))
    far = seam_load(seam, (0, 40, 0), (0, 0, 0), at=(15, 15, 100))
    near = seam_load(seam, (0, 40, 0), (-40 * 50, 0, 0))
    assert far.force == pytest.approx(near.force)
    assert far.moment == pytest.approx(near.moment)
    sides = (Side(PLASTIC, (0.0, 0.0, 1.0)),) * 2
    upright = seam_capacity(seam, Joint("S1"), far, sides, SHELF, glue)
    turn = np.array([[0.36, 0.48, -0.8], [-0.8, 0.6, 0.0], [0.48, 0.64, 0.6]])
    turned = straight.transformed(np.column_stack([turn, np.zeros(3)]))
    normal = turn @ [0, 0, 1]
    plane = Plane.through(normal @ (normal * 50) * normal, normal)
    (slanted,) = divide(turned, [Cut(plane)]).seams
    load = seam_load(slanted, tuple(turn @ [0, 40, 0]), (0, 0, 0), at=tuple(turn @ [15, 15, 100]))
    sides = (Side(PLASTIC, tuple(turn @ [0, 0, 1])),) * 2
    tilted = seam_capacity(slanted, Joint("S1"), load, sides, SHELF, glue)
    assert tilted.factor == pytest.approx(upright.factor, rel=1e-6)
    assert tilted.uncut.factor == pytest.approx(upright.uncut.factor, rel=1e-6)


def test_statements_and_faults(seam):
    found = held(seam, SCREWS, moment=(4000, 0, 0))
    assert LOWER_BOUND in found.statements
    assert LEFT_OUT in found.statements
    assert "prying" in LOWER_BOUND
    assert "lower bounds" in LOWER_BOUND
    assert any("no proof of safety" in line for line in CAUTIONS)
    assert any("licensed engineer" in line for line in CAUTIONS)
    with pytest.raises(ValueError, match="no load"):
        held(seam, SCREWS)
    with pytest.raises(ValueError, match="no contact"):
        seam_capacity(
            replace(seam, section=Section(seam.plane, ())),
            SCREWS,
            seam_load(seam, (0, 0, 0), (4000, 0, 0)),
            LYING,
            SHELF,
        )
    with pytest.raises(WorkshopError, match="property class"):
        held(seam, SCREWS, moment=(4000, 0, 0), held_by=HeldBy(steel="7.7"))
    hemp = Joint("S1", tape=Tape("hemp", 163.0, 1, 0.5, 40.0, 90.0))
    with pytest.raises(WorkshopError, match="hemp"):
        held(seam, hemp, force=(0, 0, 10))
