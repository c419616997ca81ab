"""Stations: places along a direction that a maker would cut at."""

import numpy as np
import pytest

from splitplanner.solid import Solid
from splitplanner.suggest.box_sizes import leaning_reaches
from splitplanner.suggest.estimate.blocks import Block
from splitplanner.suggest.stations import Stations
from splitplanner.workshop import Bed
from tests.catalogue import turned
from tests.suggest.shapes import BED, survey_of

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def along(part, normal, bed=BED, **options):
    block = Block(survey_of(part).ground, ())
    return Stations(part, bed).along(block, normal, **options)


def test_the_middle_of_a_symmetric_part_comes_first():
    assert along(Solid.box((430, 200, 240)), X)[0] == pytest.approx(215)
    assert along(Solid.box((430, 200, 240), (100, 0, 0)), X)[0] == pytest.approx(315)


def test_as_far_as_the_bed_reaches_from_either_end():
    """A hair less than the bed, so that a brim has room."""
    # A wedge has no middle plane along x.
    part = Solid.box((700, 100, 100)).split(_slope(700))[0]
    found = along(part, X)
    for reach in (220, 250):
        for place in (reach, 700 - reach):
            near = [at for at in found if abs(at - place) <= 3]
            assert near
            assert all(at < reach for at in near if place == reach)
            assert all(at > 700 - reach for at in near if place == 700 - reach)
    # Even shares: of 700 mm in 250s three, in 220s four.
    for share in (700 / 4, 700 / 3):
        assert any(abs(at - share) < 1e-6 for at in found)


def _slope(length):
    from splitplanner.solid import Plane

    return Plane.through((length, 50, 40), (60, 0, length))


def test_thin_bars_reach_across_the_bed():
    bar = Solid.box((900, 10, 10))
    found = along(bar, X)
    for reach in leaning_reaches(BED, 10.0):
        assert any(abs(at - (reach - 2.5)) < 1e-6 for at in found)
    # A thick one does not lean.
    assert not any(abs(at - 305) < 8 for at in along(Solid.box((900, 200, 200)), X))


def test_flats_and_short_sections():
    # A bar with a neck from 300 to 340, and a flange that ends at 120.
    part = (
        Solid.box((700, 100, 40))
        .difference(Solid.box((40, 41, 50), (300, -1, -5)), Solid.box((40, 41, 50), (300, 60, -5)))
        .union(Solid.box((120, 100, 60)))
    )
    stations = Stations(part, BED)
    # The ends with 100 x 60 and 100 x 40, the neck's flanks of 2 x 40 x 40, the flange's 100 x 20.
    assert stations.flats(X)[:2] == pytest.approx([0, 700])
    assert sorted(stations.flats(X)) == pytest.approx([0, 120, 300, 340, 700])
    assert stations.flats(Y)[0] in (0, 100)
    short = stations.naturals(X, 10, 690, 2)
    assert any(300 < place < 340 for place in short)
    assert {300, 340} <= {round(place, 6) for place in short}
    # Short sections are at whole halves of a millimetre.
    assert all(abs(2 * place - round(2 * place)) < 1e-9 for place in short)
    found = along(part, X)
    assert any(300 <= place <= 340 for place in found)
    # Between two places only.
    assert all(400 <= place <= 600 for place in stations.naturals(X, 400, 600, 3))


def test_small_flats_do_not_count():
    # A rib of 2 x 2 mm on a bar of 100 x 40: 0.1 % of its section.
    part = Solid.box((700, 100, 40)).union(Solid.box((50, 2, 2), (200, 50, 40)))
    assert sorted(Stations(part, BED).flats(X)) == pytest.approx([0, 700])


@pytest.mark.parametrize("seed", range(3))
def test_stations_keep_apart_and_inside(seed):
    part, turn = turned(Solid.box((430, 200, 240)), seed)
    normal = tuple(float(value) for value in turn[:, 0])
    heights = part.vertices @ np.array(normal)
    found = np.sort(along(part, normal))
    assert heights.min() + 1 < found[0]
    assert found[-1] < heights.max() - 1
    assert np.diff(found).min() > 0.02 * 430
    assert np.isclose(found, heights.mean(), atol=1e-6).any()


def test_a_round_bed_reaches_as_far_as_its_square():
    found = along(Solid.box((700, 100, 100)), X, Bed.circle(200, 300))
    reach = 200 / np.sqrt(2)
    assert any(0 <= reach - at <= 2.5 for at in found)


def test_what_was_looked_up_is_remembered():
    stations = Stations(Solid.box((430, 200, 240)), BED)
    assert stations.profile(X) is stations.profile(X)
    assert stations.flats(X) is stations.flats(X)
    assert stations.mirror(X) == pytest.approx(215)
    assert stations.profile(X).area == pytest.approx(np.full(96, 200 * 240))


def test_flats_are_told_as_exactly_as_they_lie():
    # A cut beside a flat by a hundredth would leave a film.
    part = Solid.box((700, 100, 40)).union(Solid.box((123.45678, 100, 60)))
    (flat,) = [at for at in Stations(part, BED).flats(X) if 1 < at < 699]
    assert flat == pytest.approx(123.45678, abs=1e-9)
