"""The search on parts that stand askew, lean, or are thin: the least pieces all the same."""

import pytest

from splitplanner.solid import Solid
from splitplanner.suggest import lower_bound
from tests.suggest.fitting import assert_plans, fits_box
from tests.suggest.shapes import ASKEW, BED, ON_EDGE, PLAIN, part_of, placed, pool_of, searched

# Why these are the least is told in test_searching.
LEAST = [
    ("box in 2", ASKEW, 2),
    ("box in 2", ON_EDGE, 2),
    ("box in 2", (0, 90, 0), 2),
    ("box in 4", ON_EDGE, 4),
    ("L", ASKEW, 3),
]


@pytest.mark.parametrize(("name", "angles", "least"), LEAST, ids=str)
def test_the_least_number_of_pieces_is_found(name, angles, least):
    pool = pool_of(name, angles)
    assert pool.least == least
    assert lower_bound(part_of(name, angles), BED).pieces == least
    assert_plans(part_of(name, angles), pool.of(least)[:2])


# 300 x 15 x 15 would not lie flat: (300 + 15) / sqrt 2 = 222.7 mm, so such bars lean.
@pytest.mark.parametrize("angles", [PLAIN, ASKEW, ON_EDGE], ids=str)
@pytest.mark.parametrize(
    "size", [(280, 15, 15), (330, 10, 10), (220, 220, 250), (385, 4, 4)], ids=str
)
def test_a_part_that_fits_needs_no_cut(size, angles):
    part = placed(Solid.box(size), angles)
    (plan,) = searched(part).of(1)
    assert plan.sketch.cuts == ()
    assert set(plan.sketch.blocks) == {"whole"}
    assert fits_box(part.vertices)


@pytest.mark.parametrize("angles", [PLAIN, (0, 90, 0), ASKEW], ids=str)
def test_a_long_rod_gives_the_least_number_however_it_lies(angles):
    # A chain of pieces, none longer than 399.1 mm, spans 900: three at least. On the space
    # diagonal a rod of 20 mm and 300 fits, so three are possible.
    part, pool = part_of("rod", angles), pool_of("rod", angles)
    assert lower_bound(part, BED).pieces == 3
    assert fits_box(Solid.cylinder((0, 0, 0), (300, 0, 0), 10.0, 12).vertices)
    assert pool.least == 3
    assert_plans(part, pool.of(3)[:1])
