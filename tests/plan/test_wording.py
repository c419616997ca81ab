"""Directions in words: unit vectors by hand."""

import numpy as np
import pytest

from splitplanner.plan import direction_words

HALF = float(np.sqrt(0.5))


@pytest.mark.parametrize(
    ("direction", "words"),
    [
        ((1.0, 0.0, 0.0), "+x"),
        ((0.0, -1.0, 0.0), "−y"),
        ((0.0, 0.0, -120.0), "−z"),
        ((1e-9, -0.0, 1.0), "+z"),
        ((HALF, 0.0, -HALF), "(0.71, 0, −0.71)"),
        ((3.0, 4.0, -0.0), "(0.6, 0.8, 0)"),
        # 5° off an axis.
        ((-0.087, 0.0, 0.996), "(−0.09, 0, 1)"),
        ((-0.001, 0.6, 0.8), "(0, 0.6, 0.8)"),
        ((0.0, 0.0, 0.0), ""),
    ],
)
def test_a_direction_is_an_axis_or_its_shares(direction, words):
    assert direction_words(direction) == direction_words(np.array(direction)) == words
    assert direction_words(direction, minus="-") == words.replace("−", "-")
