"""How much of a pull acts across the layers, against the stress on an inclined section."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from splitplanner.plan import Cut, divide
from splitplanner.score import measure
from splitplanner.score.criteria.axis_layers import AXIS_LAYERS
from splitplanner.score.criteria.seam_layers import SEAM_LAYERS
from splitplanner.score.layers import across_layers
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Printer

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
PRINTER = Printer(bed=Bed.rectangle(500, 500, 500))


def figures_of(part, cuts, ups):
    division = divide(part, cuts)
    return measure(division, ups, PRINTER, np.ones(len(part.faces), dtype=bool))


@pytest.mark.parametrize("angle", [0, 20, 45, 60, 90, 135])
def test_the_share_is_that_of_the_inclined_section(angle):
    # The traction of a stress tensor on the plane of the layers (Cauchy), and its normal part.
    turn = Rotation.from_euler("y", angle, degrees=True).as_matrix()
    up = turn @ [0.0, 0.0, 1.0]
    stress = np.diag([0.0, 0.0, 7.0])
    assert 7.0 * across_layers(up, Z) == pytest.approx(up @ stress @ up, abs=1e-12)


def test_a_bar_lies_or_stands():
    bar, cut = Solid.box((400, 60, 40)), [Cut(Plane(X, 100.0))]
    lying = figures_of(bar, cut, {"1": Z, "2": Y})
    assert (SEAM_LAYERS.measure(lying), AXIS_LAYERS.measure(lying)) == pytest.approx((0, 0))
    standing = figures_of(bar, cut, {"1": X, "2": (-1.0, 0.0, 0.0)})
    assert (SEAM_LAYERS.measure(standing), AXIS_LAYERS.measure(standing)) == pytest.approx((1, 1))
    # The short piece stands: the seam is as weak as its weaker side, the bar by a quarter.
    mixed = figures_of(bar, cut, {"1": X, "2": Z})
    assert (SEAM_LAYERS.measure(mixed), AXIS_LAYERS.measure(mixed)) == pytest.approx((1, 0.25))


def test_every_seam_counts_by_its_weaker_side():
    # Leaning by 30° the layers take sin² 30° = 0.25 of the pull at the first seam.
    bar, cuts = Solid.box((400, 60, 40)), [Cut(Plane(X, 100.0)), Cut(Plane(X, 300.0))]
    leaning = (np.sin(np.radians(30)), 0.0, np.cos(np.radians(30)))
    figures = figures_of(bar, cuts, {"1": leaning, "2.1": Z, "2.2": X})
    assert SEAM_LAYERS.measure(figures) == pytest.approx(0.25 + 1)
    assert AXIS_LAYERS.measure(figures) == pytest.approx((0.25 * 100 + 1 * 100) / 400)
    # The layers along the axis add up piece by piece, those at seams take both sides of each.
    alone = [replace(figures, pieces=(row,), seams=()) for row in figures.pieces]
    assert sum(AXIS_LAYERS.estimate(one) for one in alone) == pytest.approx(125 / 400)
    assert (AXIS_LAYERS.adds_up, SEAM_LAYERS.adds_up) == (True, False)
    assert [SEAM_LAYERS.estimate(one) for one in alone] == [0, 0, 0]


def test_the_long_axis_need_not_be_one_of_the_frame():
    turn = Rotation.from_euler("zy", [30, 50], degrees=True).as_matrix()
    bar = Solid.box((300, 30, 20)).transformed(np.column_stack([turn, np.zeros(3)]))
    assert abs(bar.long_axis @ turn[:, 0]) == pytest.approx(1, abs=1e-9)
    for up, share in ((turn[:, 0], 1.0), (turn[:, 2], 0.0), (Z, turn[2, 0] ** 2)):
        figures = figures_of(bar, [], {"whole": tuple(float(u) for u in up)})
        assert AXIS_LAYERS.measure(figures) == pytest.approx(share, abs=1e-9)
        assert AXIS_LAYERS.estimate(figures) == AXIS_LAYERS.measure(figures)


def test_a_part_in_one_piece_has_no_weak_seam():
    figures = figures_of(Solid.box((60, 50, 40)), [], {"whole": X})
    assert SEAM_LAYERS.measure(figures) == 0
