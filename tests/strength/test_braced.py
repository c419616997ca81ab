"""Braced sections against published and closed-form composite beams."""

import numpy as np
import pytest
import shapely

from splitplanner.solid import Solid
from splitplanner.strength.braced import braced_along, braced_section
from splitplanner.strength.stations import section_chain

ABOUT_U = (0.0, 1.0)
"""A moment that bends towards v."""


def test_a_timber_beam_with_a_steel_plate():
    # A published problem (a textbook's timber 140 x 400 mm, 12.5 GPa, with a steel plate 200 x
    # 8 mm, 200 GPa, on top, 30 kN·m; from memory): 5.36 MPa at the bottom of the wood, 2.76 at its
    # top, 46.8 at the top of the steel.
    wood, steel = shapely.box(-70, 0, 70, 400), shapely.box(-100, 400, 100, 408)
    section = braced_section(wood, [(steel, 200e3)], 12.5e3)
    # n = 16: the neutral axis at 264.0 mm and I = 1477.94e6 mm⁴ of wood.
    assert section.centroid == pytest.approx([0, 264.0], abs=1e-9)
    assert section.bound[1, 1] / 12.5e3 == pytest.approx(1477.94e6, rel=1e-5)
    part, brace = section.stresses((0.0, 30e6), bound=True)
    assert part.max() == pytest.approx(5.359, abs=1e-3)
    assert part.min() == pytest.approx(-2.761, abs=1e-3)
    assert brace.min() == pytest.approx(-46.77, abs=1e-2)


def test_a_block_on_a_strip():
    # Closed form (and a finite element section program, to ten digits): 20 x 10 mm of 3 GPa on a
    # strip 20 x 2 mm of 200 GPa, EI = 27 759 689.92 N·mm².
    block, strip = shapely.box(0, 0, 20, 10), shapely.box(0, -2, 20, 0)
    section = braced_section(block, [(strip, 200e3)], 3e3)
    low, high = section.stiffness(ABOUT_U)
    assert section.centroid[1] == pytest.approx(-0.581395, abs=1e-6)
    assert high == pytest.approx(27_759_689.92, abs=0.01)
    assert low == pytest.approx(3e3 * 20 * 10**3 / 12 + 200e3 * 20 * 2**3 / 12)


def test_shares_follow_from_stresses():
    # Integrated over the strip, by 4000 layers: the moment of its stresses about the common
    # neutral axis, without slip; about its own middle, with free slip.
    block, strip = shapely.box(0, 0, 20, 10), shapely.box(0, -3, 20, 0)
    section = braced_section(block, [(strip, 70e3)], 2e3)
    moment = 1000.0
    layers = np.linspace(-3, 0, 4001)
    heights = (layers[:-1] + layers[1:]) / 2
    _, high = section.taken(ABOUT_U)
    low, _ = section.taken(ABOUT_U)
    for share, bound, level in ((low, False, -1.5), (high, True, section.centroid[1])):
        _, stress = section.stresses((0.0, moment), bound)
        hull = section.braces[0].hull[:, 1] - 1.5
        slope, start = np.polyfit(hull, stress, 1)
        taken = -((slope * heights + start) * (heights - level) * 20 * (3 / 4000)).sum()
        assert taken / moment == pytest.approx(share, rel=1e-5)
    # The neutral axis lies in the strip, so that it takes less without slip.
    assert 0 < high < low < 1
    far = shapely.box(8, -15, 12, -5)
    low, high = braced_section(block, [(far, 70e3)], 20e3).taken(ABOUT_U)
    assert low == pytest.approx(70e3 * 4 * 1000 / (70e3 * 4 * 1000 + 20e3 * 20 * 1000))
    assert low < high < 1


def test_skew_sections_bend_between_their_bounds():
    rng = np.random.default_rng(3)
    ell = shapely.Polygon([(0, 0), (80, 0), (80, 3), (3, 3), (3, 50), (0, 50)])
    section = braced_section(
        ell, [(shapely.box(10, 3, 14, 23), 70e3), (shapely.box(3, 40, 23, 44), 70e3)], 2e3
    )
    for moment in rng.normal(size=(20, 2)):
        low, high = section.stiffness(moment)
        alone = section.gain(moment)
        assert 1 < alone[0] < alone[1]
        assert alone[1] / alone[0] == pytest.approx(high / low)
        # Moments of all stresses come to the moment: each is linear, so by their tensors.
        for bound in (False, True):
            tensor = section.bound if bound else section.loose
            curvature = np.linalg.solve(tensor, moment)
            assert tensor @ curvature == pytest.approx(moment)


def test_bolts_that_give_way_lie_between_free_slip_and_none():
    block, strip = shapely.box(0, 0, 20, 10), shapely.box(0, -2, 20, 0)
    section = braced_section(block, [(strip, 200e3)], 3e3)
    low, high = section.stiffness(ABOUT_U)
    figures = [section.with_bolts((1.0, 0.0), k, 40.0, 400.0) for k in (1e-9, 1e2, 1e3, 1e4, 1e12)]
    assert figures[0] == pytest.approx(low)
    assert figures[-1] == pytest.approx(high)
    assert figures == sorted(figures)
    # The same by hand: gamma = 1 / (1 + pi² 8e6 40 / (1e4 400²)) = 0.33627, EI = own +
    # gamma 8e6 6e5 36 / (gamma 8e6 + 6e5).
    gamma = 0.336264
    own = 5e6 + 200e3 * 20 * 8 / 12
    assert figures[3] == pytest.approx(own + gamma * 8e6 * 6e5 * 36 / (gamma * 8e6 + 6e5), rel=1e-5)


def test_a_brace_along_a_part_counts_where_it_is():
    # A block 100 x 20 x 10 mm, whose strip of 2 mm reaches from 30 to 70 mm, below it.
    block = Solid.box((100, 20, 10))
    strip = Solid.box((40, 20, 2), (30, 0, -2))
    chain = section_chain(block, (1, 0, 0), positions=[10.0, 29.0, 31.0, 50.0, 69.0, 71.0])
    along = braced_along(chain, [(strip, 200e3)], 3e3)
    assert [len(each.braces) for each in along] == [0, 0, 1, 1, 1, 0]
    # The plane of stations has its own axes: bending towards z, by the closed form above.
    towards = chain.frame[:2] @ np.array([0.0, 0.0, 1.0])
    assert along[3].stiffness(towards)[1] == pytest.approx(27_759_689.92, abs=0.01)
    assert along[0].stiffness(towards) == pytest.approx((5e6, 5e6))
    assert along[0].gain(towards) == pytest.approx((1.0, 1.0))


def test_figures_without_sense_are_refused():
    block, strip = shapely.box(0, 0, 20, 10), shapely.box(0, -2, 20, 0)
    with pytest.raises(ValueError, match="above 0 MPa"):
        braced_section(block, [(strip, 0.0)], 3e3)
    section = braced_section(block, [], 3e3)
    assert section.taken(ABOUT_U) == (0.0, 0.0)
    with pytest.raises(ValueError, match="one brace"):
        section.with_bolts((1.0, 0.0), 1e3, 40.0, 400.0)
    with pytest.raises(ValueError, match="stiffness of a bolt"):
        braced_section(block, [(strip, 2e5)], 3e3).with_bolts((1.0, 0.0), 0.0, 40.0, 400.0)
