"""Soundings: what hangs over air between walls, against closed forms and against cut pieces."""

import numpy as np
import pytest
import trimesh

from splitplanner.score import overhang, support_volume
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.estimate.ground import CELLS, Ground
from splitplanner.suggest.estimate.soundings import sounded
from splitplanner.workshop import Printer
from tests.catalogue import solid_of
from tests.suggest.shapes import PRINTER, demo

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
NO_WALLS = np.empty((0, 4))


def t_shape():
    return Solid.box((20, 20, 80)).union(Solid.box((100, 20, 20), (-40, 0, 80)))


def arch():
    rings = Solid.cylinder((0, 0, 0), (0, 60, 0), 90.0, 64).difference(
        Solid.cylinder((0, -1, 0), (0, 61, 0), 75.0, 64)
    )
    return rings.difference(Solid.box((200, 100, 100), (-100, -20, -100)))


def cone():
    return solid_of(trimesh.creation.cone(60.0, 150.0, sections=96))


def hood():
    return demo("rain_hood")


def down(axis):
    return tuple(-value for value in axis)


# -- closed forms ---------------------------------------------------------------------------------
def test_a_t_upright():
    # Both arms hang over: 2 x 40 x 20 mm² at 80 mm; the foot of 20 x 20 rests on the bed.
    hanging, held, volume = sounded(t_shape(), Z, PRINTER, 20_000).measure(NO_WALLS, 0.0)
    assert hanging.area == pytest.approx(1600, rel=0.02)
    assert hanging.contact_area == pytest.approx(400, rel=0.05)
    assert held == pytest.approx(1600 * 80, rel=0.02)
    assert volume == pytest.approx(20 * 20 * 80 + 100 * 20 * 20, rel=0.01)


def test_a_t_upside_down_needs_nothing():
    hanging, held, _ = sounded(t_shape(), down(Z), PRINTER, 20_000).measure(NO_WALLS, -100.0)
    assert (hanging.area, held) == (0, 0)
    assert hanging.contact_area == pytest.approx(2000, rel=0.02)


def test_a_cone_on_its_tip():
    # Its side leans out by atan(60 / 150) = 21.8°: nothing at a limit of 45°; at 20° its whole
    # side, pi r s. Support: the cylinder round it less the cone, 2/3 of pi r² h.
    part = cone()
    usual = sounded(part, down(Z), PRINTER, 20_000).measure(NO_WALLS, -150.0)
    assert (usual[0].area, usual[1]) == (0, 0)
    printer = Printer(overhang_limit=20.0)
    hanging, held, volume = sounded(part, down(Z), printer, 20_000).measure(NO_WALLS, -150.0)
    assert hanging.area == pytest.approx(np.pi * 60 * np.hypot(60, 150), rel=0.02)
    assert held == pytest.approx(2 / 3 * np.pi * 60**2 * 150, rel=0.02)
    assert volume == pytest.approx(1 / 3 * np.pi * 60**2 * 150, rel=0.01)


def test_what_hangs_over_the_part_itself_stands_on_it():
    # A shelf 60 mm above a foot of 10 mm: columns of 50 mm.
    part = Solid.box((80, 40, 10)).union(
        Solid.box((10, 40, 70)), Solid.box((80, 40, 5), (0, 0, 60))
    )
    printer = Printer(bridge_span=0.0)
    hanging, held, _ = sounded(part, Z, printer, 20_000).measure(NO_WALLS, 0.0)
    assert hanging.area == pytest.approx(70 * 40, rel=0.02)
    assert held == pytest.approx(70 * 40 * 50, rel=0.02)


def test_a_wall_below_a_block_is_its_underside():
    # The upper part of a box, cut 60° askew: the cut face is over the limit of 45°.
    part, plane = Solid.box((100, 100, 200)), Plane.through((50, 50, 100), (0.5, 0, np.sqrt(0.75)))
    rows = np.array([[*plane.normal, plane.offset]])
    floor = 100 - 50 / np.sqrt(3)
    hanging, held, volume = sounded(part, Z, PRINTER, 20_000).measure(rows, floor)
    assert hanging.area == pytest.approx(100 * 100 / np.sqrt(0.75), rel=0.01)
    assert held == pytest.approx(100 * 100 * 50 / np.sqrt(3), rel=0.02)
    assert volume == pytest.approx(100 * 100 * 100, rel=0.01)
    # Level, it lies on the bed.
    hanging, held, _ = sounded(part, Z, PRINTER, 20_000).measure(np.array([[*Z, 70.0]]), 70.0)
    assert hanging.contact_area == pytest.approx(100 * 100, rel=0.01)
    assert (hanging.area, held) == (0, 0)


def test_bridges_need_no_support():
    table = Solid.box((10, 40, 40)).union(
        Solid.box((10, 40, 40), (20, 0, 0)), Solid.box((30, 40, 5), (0, 0, 40))
    )
    for span, area in ((0.0, 400.0), (15.0, 0.0)):
        sounding = sounded(table, Z, Printer(bridge_span=span), 20_000)
        assert sounding.measure(NO_WALLS, 0.0)[0].area == pytest.approx(area, rel=0.05)


# -- against cut pieces ---------------------------------------------------------------------------
def cut_piece(solid, planes, sides):
    """What is left of a solid on the given side of each plane."""
    for plane, side in zip(planes, sides, strict=True):
        below, above = solid.split(plane)
        solid = above if side > 0 else below
    return solid


CUTS = {
    "uncut": ((), ()),
    "half": ((Plane.through((0, 0, 0), (1.0, 0.2, 0.1)),), (1,)),
    "quarter": (
        (Plane.through((0, 0, 0), (1.0, 0.2, 0.1)), Plane.through((0, 3, 0), (-0.1, 1.0, 0.3))),
        (-1, 1),
    ),
    "slice": (
        (Plane.through((0, 0, -9), (0.1, 0.2, 1)), Plane.through((0, 0, 12), (0.1, 0.2, 1))),
        (1, -1),
    ),
}


@pytest.mark.parametrize("cut", CUTS)
@pytest.mark.parametrize("shape", [t_shape, arch, cone, hood], ids=lambda shape: shape.__name__)
def test_figures_of_cut_pieces(shape, cut):
    """Within 3 % of the exact figures, or of 1 % of what it would be if all of it hung over."""
    part = shape()
    part = part.transformed(np.column_stack([np.eye(3), -part.bounds.mean(axis=0)]))
    planes, sides = CUTS[cut]
    piece = cut_piece(part, planes, sides)
    rows = np.array(
        [[*(s * np.array(p.normal)), s * p.offset] for p, s in zip(planes, sides, strict=True)]
    )
    printer = Printer(bridge_span=0.0)
    ground = Ground(part, np.zeros(len(part.faces), bool), printer)
    limits = (printer.overhang_limit, printer.bridge_span)
    volumes = []
    for up in (X, down(X), Y, Z, down(Z), (0.6, 0.0, 0.8)):
        heights = piece.vertices @ np.array(up)
        hanging, held, volume = ground.sounding(up).measure(rows.reshape(-1, 4), heights.min())
        volumes.append(volume)
        exact = overhang(piece, up, *limits)
        tall = np.ptp(heights)
        # The hood's walls of 3 mm are hardly wider than a column; of a slice little is met.
        off = (0.1 if cut == "slice" else 0.05) if shape is hood else 0.02
        assert volume == pytest.approx(piece.volume, rel=off)
        assert hanging.area == pytest.approx(exact.area, rel=0.03, abs=0.01 * piece.area)
        assert hanging.contact_area == pytest.approx(
            exact.contact_area, rel=0.03, abs=0.015 * piece.area
        )
        support = support_volume(piece, up, *limits)
        assert held == pytest.approx(support.volume, rel=0.03, abs=0.01 * piece.area * tall)
    # The search takes the mean over several directions.
    assert np.mean(volumes) == pytest.approx(piece.volume, rel=0.02)


def test_more_columns_come_nearer():
    part = arch()
    exact = support_volume(part, X, PRINTER.overhang_limit, 0.0).volume
    errors = []
    for cells in (300, CELLS, 40_000):
        held = sounded(part, X, Printer(bridge_span=0.0), cells).measure(
            NO_WALLS, part.bounds[0, 0]
        )[1]
        errors.append(abs(held / exact - 1))
    assert errors[2] < 0.005
    assert errors[2] < errors[0]
    # About as many columns as asked for.
    grid = sounded(part, X, PRINTER, CELLS).grid
    assert np.prod(grid.shape) == pytest.approx(CELLS, rel=0.1)


def test_many_directions_at_once_are_the_same_as_one_after_another():
    part = hood()
    ground = Ground(part, np.zeros(len(part.faces), bool), PRINTER)
    ups = (X, down(X), Y, Z, down(Z), (0.6, 0.0, 0.8))
    middle = part.bounds.mean(axis=0)
    rows = np.array([[*X, middle[0]], [*down(Y), -middle[1]]])
    points = part.vertices[(part.vertices @ rows[:, :3].T >= rows[:, 3]).all(axis=1)]
    floors = (points @ np.array(ups).T).min(axis=0)
    found = ground.coarse(ups).measure(rows, floors, points)
    for up, floor, sums in zip(ups, floors, found, strict=True):
        alone = ground.coarse((up,)).soundings[0]
        assert np.prod(alone.grid.shape) == pytest.approx(CELLS / 8, rel=0.1)
        hanging, held, volume = alone.measure(rows, floor, points)
        expected = (hanging.area, hanging.contact_area, held, volume)
        assert sums == pytest.approx(expected, rel=1e-12)
        # They are coarse, but not wrong.
        assert volume == pytest.approx(ground.sounding(up).measure(rows, floor)[2], rel=0.15)
