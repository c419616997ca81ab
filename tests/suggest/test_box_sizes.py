"""Boxes and bars on the bed, by closed forms."""

import math

import numpy as np
import pytest

from splitplanner.solid import Solid
from splitplanner.suggest.box_sizes import (
    bed_sizes,
    box_counts,
    is_slender,
    is_wide_plate,
    leaning_reaches,
)
from splitplanner.workshop import Bed
from tests.suggest.shapes import BED


def test_the_box_a_bed_holds():
    assert bed_sizes(BED) == (220, 220, 250)
    assert bed_sizes(Bed.rectangle(300, 180, 150, margin=5)) == (290, 170, 150)
    # The square inside a circle of 190 mm.
    assert bed_sizes(Bed.circle(200, 180, margin=5)) == pytest.approx(
        (190 / math.sqrt(2), 190 / math.sqrt(2), 180)
    )


@pytest.mark.parametrize("bed", [BED, Bed.rectangle(300, 180, 150, margin=5)], ids=str)
def test_how_long_a_leaning_bar_may_be(bed):
    sizes = np.array(bed_sizes(bed))
    for thickness in (5.0, 20.0):
        reaches = leaning_reaches(bed, thickness)
        assert len(reaches) == 2
        # Along the space diagonal it may be as long as said: by the cosines of that direction.
        for reach, used in zip(reaches, (sizes * (1, 1, 0), sizes), strict=True):
            axis = used / np.linalg.norm(used)
            points = Solid.cylinder((0, 0, 0), axis * reach, thickness / 2, 240).vertices
            spans = np.ptp(points, axis=0)
            assert (spans <= sizes + 5e-3).all()
            assert (spans[used > 0] > sizes[used > 0] - 0.02).any()


def test_a_leaning_bar_on_a_round_bed():
    # In plan the four corners of the flat bar lie on the circle: l² + d² = 200².
    flat, leaning = leaning_reaches(Bed.circle(200, 180), 20.0)
    assert flat == pytest.approx(math.sqrt(200**2 - 20**2))
    # On a higher bed only leaning gains anything over standing upright.
    assert leaning_reaches(Bed.circle(200, 300), 20.0) == [pytest.approx(329.85, abs=0.01)]
    # Leaning, in the upright rectangle over that: its diagonal less what the thickness takes.
    assert 200 < leaning < math.hypot(200, 180)


def test_plates_that_may_have_to_lean():
    def asked(*sides):
        return is_wide_plate(np.array(sides, dtype=float), BED)

    assert asked(3, 252, 252)
    assert not asked(40, 252, 252)
    # One side fits the bed: it stands on that or is a bar.
    assert not asked(3, 219, 300)
    # The bed's sides show at most 220 x 220, 220 x 250 and 220 x 250 of it: 91 610 mm² in all,
    # and a triangle fills half of its box.
    assert asked(3, 428, 428)
    assert not asked(3, 429, 429)


def test_what_is_as_thick_as_the_bed_does_not_lean():
    assert leaning_reaches(BED, 220.0) == []
    assert len(leaning_reaches(BED, 10.0)) == 2


def test_counts_of_boxes_for_each_way_to_lie():
    counts = set(box_counts(np.array([440.0, 250.0, 100.0]), BED))
    # 440 in 220s is 2, and in 250s too; 250 is 2 unless it stands along the bed's height.
    assert counts == {(2, 1, 1), (2, 2, 1)}
    assert min(map(math.prod, counts)) == 2
    # An exact multiple is not one more.
    assert (3, 1, 1) in set(box_counts(np.array([660.0, 220.0, 250.0]), BED))
    assert set(box_counts(np.array([1.0, 1.0, 1.0]), BED)) == {(1, 1, 1)}


def test_bars():
    assert is_slender(np.array([10.0, 30, 200]))
    assert not is_slender(np.array([10.0, 80, 200]))
