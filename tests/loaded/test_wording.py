"""Load cases and what gives way, in words."""

import math

import pytest

from splitplanner.loaded import (
    BraceUnderLoad,
    Weakest,
    brace_words,
    factor_words,
    loading_words,
    low_end,
    percent_words,
    way_words,
    weakest_words,
)
from splitplanner.plan import (
    Fall,
    Loading,
    PointLoad,
    SpreadLoad,
    WeightLoad,
    cantilever,
    over_two_supports,
)
from splitplanner.solid import Solid

X = (1.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("loading", "words"),
    [
        (
            Loading(X, over_two_supports(30, 410, PointLoad(110, (0, 3, -4)))),
            "Held at 20 mm, held at 400 mm; 5 N at 100 mm.",
        ),
        (
            Loading(X, cantilever(10, PointLoad(60, (0, 0, 9), (2000, 0, 0)))),
            "Clamped at 0 mm; 9 N and 2 N·m at 50 mm.",
        ),
        (
            Loading(X, cantilever(10, PointLoad(60, (0, 0, 12345.6)))),
            "Clamped at 0 mm; 12346 N at 50 mm.",
        ),
        (
            Loading(X, cantilever(10, SpreadLoad(20, 60, (0, 0, 8)), WeightLoad((0, 0, -3)))),
            "Clamped at 0 mm; 8 N from 10 to 50 mm, 3 N spread as the mass is.",
        ),
        (
            Loading(X, cantilever(10, WeightLoad((0, 0, -3))), Fall(750.0, 12.0)),
            "Clamped at 0 mm; its mass strikes along −z; the part falls 750 mm and stops within "
            "12 mm.",
        ),
        (
            Loading(X, cantilever(10, PointLoad(60, (0, 3, 4))), Fall(200.0, None, 900.0)),
            "Clamped at 0 mm; 5 N at 50 mm; 900 g fall 200 mm and only it gives way.",
        ),
    ],
)
def test_a_load_case_is_one_sentence_with_stations_from_the_low_end(loading, words):
    part = Solid.box((500.0, 20.0, 20.0), (10.0, 0.0, 0.0))
    assert loading_words(loading, low_end(part, loading)) == words


@pytest.mark.parametrize(
    ("factor", "words"),
    [(0.0, "0 x"), (0.004, "0 x"), (0.5, "0.5 x"), (12.34, "12.3 x"), (1e4, "over 1000 x")],
)
def test_factors(factor, words):
    assert factor_words(factor) == words
    assert factor_words(math.inf) == "not loaded"
    assert factor_words(factor, "×") == words.replace("x", "×")


def test_ratios():
    assert [percent_words(each) for each in (0.0, 0.634, 1.0, 9.0)] == [
        "0 %",
        "63 %",
        "100 %",
        "900 %",
    ]
    assert percent_words(11.0) == percent_words(math.inf) == "over 1000 %"


def test_what_gives_way_is_told_once_by_kind_and_name():
    seam = Weakest("seam", "S3", "screw.thread", 2.0, 0.0, "thread of screw 2")
    assert weakest_words(seam, {}) == "seam S3: thread of screw 2"
    brace = Weakest("brace", "brace 1", "sheet", 2.0, 0.0, "its sheet")
    assert weakest_words(brace, {"brace 1": 7}) == "brace 1: its sheet"
    piece = Weakest("piece", "2.1.1", "layers", 2.0, 0.0, "its layers")
    assert weakest_words(piece, {"2.1": 1, "2.1.1": 4}) == "piece 4: its layers"
    told = brace_words(BraceUnderLoad("left", 0.0, (0.125, 0.5), 12.0, 80.0, 40.0, 100.0, brace))
    assert told == (
        "takes 12 to 50 % of the bending, 12 of 80 MPa; a bolt 40 of 100 N, so that it lets go at "
        "2 x the load"
    )


def test_a_brace_that_a_load_does_not_reach_lets_go_at_nothing():
    bolt = Weakest("brace", "keel", "bolt.shear", math.inf, 0.0, "its bolts")
    told = brace_words(BraceUnderLoad("keel", 0.0, (0.0, 0.0), 0.0, 45.0, 0.0, 162.0, bolt))
    assert told == "takes nothing of this load"


def test_ways():
    assert way_words("open") == "nothing"
    assert way_words("fastened") == "pins and screws"
    assert way_words("taped") == "tape besides"
