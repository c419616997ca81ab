"""Improving plans: by sliding cuts and by one more cut, on shapes for which a maker knows."""

import pytest
import trimesh

from splitplanner.plan import Cut
from splitplanner.progress import silent
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.growing import Grower
from splitplanner.suggest.improving import Improver
from splitplanner.suggest.pool import Pool
from splitplanner.suggest.stations import Stations
from tests.catalogue import solid_of
from tests.suggest.shapes import BED, survey_of

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def improver_of(part, weights=None):
    survey = survey_of(part, weights=weights)
    return Improver(Grower(survey, Stations(part, BED), Pool(), 1))


def estimate(improver, *cuts):
    survey = improver.grower.survey
    return survey.estimate(survey.sketch(cuts))


def necked():
    """A bar of 400 mm with a neck of 20 x 40 from 150 to 190 mm."""
    notch = Solid.box((40, 41, 50), (150, -1, -5))
    other = Solid.box((40, 41, 50), (150, 60, -5))
    return Solid.box((400, 100, 40)).difference(notch, other)


def test_a_cut_is_moved_to_where_the_seam_is_short():
    improver = improver_of(necked())
    start = estimate(improver, Cut(Plane(X, 205.0)))
    after = improver.slid(start, silent)
    assert after.score < start.score
    assert 150 <= after.sketch.cuts[0].plane.offset <= 190
    (seam,) = after.numbers.seams
    assert seam.figures.area == pytest.approx(20 * 40)
    assert after.done


def test_what_cannot_be_better_stays():
    # All sections of a box are alike, but one piece as long as the bed is tight.
    improver = improver_of(Solid.box((400, 100, 40)))
    start = estimate(improver, Cut(Plane(X, 200.0)))
    assert improver.slid(start, silent) is start


def test_a_cut_is_not_moved_so_that_a_piece_no_longer_fits():
    # The neck lies at 20 mm: a piece of 480 mm would be left.
    part = Solid.box((500, 100, 40)).difference(
        Solid.box((20, 41, 50), (10, -1, -5)), Solid.box((20, 41, 50), (10, 60, -5))
    )
    improver = improver_of(part)
    start = estimate(improver, Cut(Plane(X, 250.0)))
    after = improver.slid(start, silent)
    assert after.done
    assert 100 < after.sketch.cuts[0].plane.offset < 400


def plate_with_holes():
    """300 x 300 x 3 mm with a hole of 40 x 10 in each half, at the same y."""
    holes = [Solid.box((40, 10, 9), (x, 95, -3)) for x in (55, 205)]
    return Solid.box((300, 300, 3)).difference(*holes)


def quarters(improver, one, other):
    cuts = Cut(Plane(X, 150.0)), Cut(Plane(Y, one), "1"), Cut(Plane(Y, other), "2")
    return estimate(improver, *cuts)


def test_cuts_in_one_plane_are_moved_together():
    # Through the holes seams are shorter, but a cut of one half alone makes one more seam, and
    # there is no room for pins in any.
    improver = improver_of(plate_with_holes())
    start, best = quarters(improver, 150.0, 150.0), quarters(improver, 100.0, 100.0)
    for alone in (quarters(improver, 100.0, 150.0), quarters(improver, 150.0, 100.0)):
        assert alone.score > start.score > best.score
    after = improver.slid(start, silent)
    assert after.score <= best.score
    first, second = (cut.plane.offset for cut in after.sketch.cuts[1:])
    assert first == second
    assert 95 <= first <= 105


def test_a_cut_is_moved_into_the_plane_of_another():
    improver = improver_of(plate_with_holes())
    apart = quarters(improver, 112.0, 188.0)
    after = improver.slid(apart, silent)
    assert after.sketch.cuts[1].plane.offset == after.sketch.cuts[2].plane.offset
    assert len(after.numbers.seams) == len(apart.numbers.seams) - 1


def test_mirror_images_are_moved_together():
    # Necks from 125 to 145 mm from either end of a symmetric bar of 460 mm.
    necks = [Solid.box((20, 41, 50), (x, y, -5)) for x in (125, 315) for y in (-1, 60)]
    part = Solid.box((460, 100, 40)).difference(*necks)
    improver = improver_of(part)
    start = estimate(improver, Cut(Plane(X, 155.0)), Cut(Plane(X, 305.0), "2"))
    after = improver.slid(start, silent)
    low, high = sorted(cut.plane.offset for cut in after.sketch.cuts)
    assert low + high == pytest.approx(460, abs=0.6)
    assert 125 <= low <= 145
    assert 315 <= high <= 335


def test_one_more_cut_goes_into_the_pool_where_it_pays():
    # However a ball lies, its underside hangs over; halves lie on their cut.
    part = solid_of(trimesh.creation.icosphere(3, 60.0))
    improver = improver_of(part, {"pieces": 0.05, "support volume": 5.0, "overhang area": 5.0})
    survey, pool = improver.grower.survey, improver.grower.pool
    pool.add(survey.estimate(survey.start))
    assert pool.counts == [1]
    improver.run(silent)
    assert pool.counts[:2] == [1, 2]
    assert pool.of(2)[0].score < pool.of(1)[0].score - 0.5
    (cut,) = pool.of(2)[0].sketch.cuts
    # Near its middle.
    assert abs(cut.plane.offset) < 10


def test_pieces_that_cost_much_get_no_more_cuts():
    improver = improver_of(Solid.box((200, 100, 60)), {"pieces": 50.0})
    survey, pool = improver.grower.survey, improver.grower.pool
    pool.add(survey.estimate(survey.start))
    improver.run(silent)
    assert pool.counts == [1]


def test_progress_rises():
    improver = improver_of(necked())
    improver.grower.pool.add(estimate(improver, Cut(Plane(X, 205.0))))
    heard = []
    improver.run(lambda done, doing: heard.append((done, doing)))
    shares = [done for done, _ in heard]
    assert shares == sorted(shares)
    assert 0 <= shares[0] <= shares[-1] <= 1
    assert {doing for _, doing in heard} >= {"moving cut 1"}


def test_an_empty_pool_is_left_alone():
    improver = improver_of(necked())
    improver.run(silent)
    assert improver.grower.pool.all == []
