"""Pins and screws that give way to each other. Expected values: plane geometry, brute force."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, box

from splitplanner.joint.fasteners.distances import Bar, check_hardware
from splitplanner.joint.fasteners.patterns import is_bare
from splitplanner.joint.fasteners.placing import place_fasteners
from splitplanner.joint.fasteners.reserving import reserved_on
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.pins.keying import VISIBLE_STEP
from splitplanner.joint.pins.pattern import candidates
from splitplanner.joint.pins.placing import PinRoom, deepest
from splitplanner.joint.pins.sizes import pin_sizes
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.plan import Fastening, Flange, Joint
from splitplanner.solid import Solid
from tests.joint.test_fastener_places import (
    PRINTER,
    SHELF,
    Pads,
    access_to,
    flat,
    kinds,
    plate,
    seam_of,
)

NUTS = Fastening(screws="nut")
ENDS = (6.0, 35.0, 65.0, 94.0)
"""Where screws can be on a plate of 100 mm: each is needed to keep ten diameters of M3."""


def pads_on(seam, along=ENDS):
    return Pads(seam.plane.to_plane([(x, 4.5, 6.0) for x in along]), 0.5)


def test_pins_go_where_the_screws_leave_room():
    seam, below, above = seam_of(plate())
    alone = place_fasteners(seam, below, above, PRINTER, Fastening(), SHELF, pads_on(seam))[0]
    pins, screws, findings = place_fasteners(
        seam, below, above, PRINTER, NUTS, SHELF, pads_on(seam)
    )
    # The pins alone would stand at the ends, in the bores of two of the four screws.
    ends = sorted(pin.at[0] for pin in alone)
    assert max(abs(ends[0] - ENDS[0]), abs(ends[-1] - ENDS[-1])) < screws[0].head_room / 2
    assert kinds(findings) == ["joint.keyed", "joint.screws"]
    assert sorted(screw.at[0] for screw in screws) == pytest.approx(ENDS, abs=0.5)
    assert len(pins) == 2
    assert check_hardware(Joint(seam.name, pins=pins, screws=screws)) == ()


def test_pins_beside_the_screws_are_nearly_as_far_apart_as_brute_force_finds():
    seam, below, above = seam_of(plate())
    pins, screws, _ = place_fasteners(seam, below, above, PRINTER, NUTS, SHELF, pads_on(seam))
    sizes, reach = deepest(pin_sizes(SHELF.dowel_pins, PRINTER, 9.0))
    room = PinRoom(SeamMaterial.around(seam, below, above, reach), sizes)
    size = next(one for one in sizes if one.diameter == pins[0].diameter)
    places, _ = candidates(room.room(size), seam.section.shape)
    holes = flat(seam, screws)
    # Bores of heads and nuts run to both faces of the plate: a pin's wall keeps clear of them.
    away = np.linalg.norm(places[:, None] - holes[None], axis=2).min(axis=1)
    free = places[away >= size.edge_distance + screws[0].head_room / 2]
    best = 0.0
    for one, other in itertools.combinations(free[::3], 2):
        apart = float(np.linalg.norm(one - other))
        if apart <= best or not (room.fits(size, one) and room.fits(size, other)):
            continue
        equal = np.full(2, size.diameter)
        keying = room.outline.keying(np.array([one, other]), equal, np.full(2, size.slack))
        best = apart if keying.step >= VISIBLE_STEP else best
    apart = float(np.linalg.norm(flat(seam, pins)[0] - flat(seam, pins)[1]))
    # Some of it goes into the chamfers at the mouths, and into a larger step.
    assert 0.85 * best <= apart


def test_screws_keep_off_what_is_reserved_where_that_costs_nothing():
    seam, below, above = seam_of(plate())
    along = (6.0, 20.0, 33.0, 47.0, 60.0, 74.0, 94.0)
    access, only = pads_on(seam, along), replace(NUTS, pins=False)

    def with_(reserved):
        return place_fasteners(seam, below, above, PRINTER, only, SHELF, access, reserved=reserved)[
            1:
        ]

    free, _ = with_(())
    spot = min((screw.at[0] for screw in free if 10 < screw.at[0] < 90), key=lambda x: abs(x - 50))
    over = Bar("hole", np.array([spot, 0.0, 14.0]), np.array([spot, 9.0, 14.0]), 2.0)
    screws, findings = with_((over,))
    assert kinds(findings) == ["joint.screws"]
    assert min(abs(screw.at[0] - spot) for screw in screws) > 2.0
    # All of it is reserved: then none of it is.
    everywhere = replace(over, start=np.array([0.0, 4.5, 14.0]), end=np.array([100.0, 4.5, 14.0]))
    assert with_((everywhere,))[0] == free


def test_heads_are_reserved_over_the_middle_of_a_flange():
    seam, _, _ = seam_of(Solid.box((100, 60, 40)))
    # The wall is on the left of the line, so the flange lies on its right: at lower v.
    flange = Flange((((10.0, 40.0), (90.0, 40.0)),), width=8.0, thickness=5.0)
    sizes = screw_sizes(NUTS, SHELF, PRINTER)
    bars = reserved_on(flange, seam, sizes)
    assert len(bars) == 2
    high = max(size.head_height for size in sizes)
    for bar, side in zip(bars, (1, -1), strict=True):
        ends = np.array([bar.start, bar.end])
        np.testing.assert_allclose(seam.plane.to_plane(ends), [(10, 36), (90, 36)], atol=1e-9)
        assert seam.plane.height(ends) == pytest.approx(side * (5.0 + high / 2))
        assert 2 * bar.radius == max(max(size.head_room, size.nut_way) for size in sizes)


def test_walls_that_are_mostly_thin_are_bare():
    sizes = screw_sizes(NUTS, SHELF, PRINTER)
    wide = 2 * min(size.edge_distance for size in sizes) + 1.0

    def seam(*boxes):
        return MultiPolygon([shapely.union_all(boxes)])

    assert is_bare(seam(box(0, 0, 200, 2.4)), sizes)
    assert not is_bare(seam(box(0, 0, 200, wide)), sizes)
    # A thick end holds screws 15 mm beyond itself, half the pitch of M3: 20 + 15 of 200 mm, and
    # 150 + 15 of 200 mm.
    assert is_bare(seam(box(0, 0, 200, 2.4), box(0, 0, 20, wide)), sizes)
    assert not is_bare(seam(box(0, 0, 200, 2.4), box(0, 0, 150, wide)), sizes)


def test_a_nut_is_not_let_into_a_pocket_that_nothing_leads_to():
    # A block with a hollow below the seam: closed, and open at one end.
    block = Solid.box((60, 30, 60))
    closed = block.difference(Solid.box((40, 14, 12), (10, 8, 10)))
    opened = block.difference(Solid.box((60, 14, 12), (10, 8, 10)))
    for part, is_open in ((closed, False), (opened, True)):
        seam, below, above = seam_of(part)
        screws = place_fasteners(
            seam, below, above, PRINTER, replace(NUTS, pins=False), SHELF, access_of(seam, part)
        )[1]
        in_hollow = [s for s in screws if 10 < s.at[0] < 50 and s.axis[2] < 0 and s.depth < 12]
        assert bool(in_hollow) == is_open


def access_of(seam, part):
    """Heads may come in from above alone: what is below and outside is the good side."""
    below = part.face_normals[:, 2] < -0.5
    outside = below & (part.vertices[part.faces][:, :, 2].max(axis=1) < 1e-6)
    return access_to(seam, part, outside)
