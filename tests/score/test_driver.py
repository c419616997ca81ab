"""Which screws a driver reaches, on brackets whose room is known."""

import numpy as np
import pytest

from splitplanner.plan import Cut, divide
from splitplanner.score import measure, measure_seam
from splitplanner.score.criteria.driver_access import DRIVER_ACCESS
from splitplanner.score.driver import (
    ENGAGEMENT,
    LEAST_SEAT,
    THICKEST_SEAT,
    Driver,
    reachable,
    unreachable_share,
)
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
CUT = Cut(Plane(X, 100.0))


def bracket(flange=8.0, other=None):
    """A plate 200 x 60 x 6 with a flange 34 mm high on either side of x = 100."""
    width = flange + (flange if other is None else other)
    return Solid.box((200, 60, 6)).union(Solid.box((width, 60, 34), (100 - flange, 0, 6)))


def look(part, places, driver=None, good=None, cut=CUT):
    """Whether screws at (y, z) of the seam are reached."""
    (seam,) = divide(part, [cut]).seams
    points = np.array([(100.0, y, z) for y, z in places])
    good = np.zeros(len(part.faces), dtype=bool) if good is None else good
    return reachable(seam, part, good, seam.plane.to_plane(points), driver).tolist()


def test_a_flange_that_is_open_behind_is_reached_above_the_plate():
    # A driver of 5.5 mm clears the plate (z = 6) with its axis at 8.75 or more.
    places = [(30, z) for z in (3.0, 7.0, 8.6, 8.9, 20.0, 37.0)]
    assert look(bracket(), places) == [False, False, False, True, True, True]
    thin = Driver(diameter=3.0)
    assert look(bracket(), places, thin) == [False, False, True, True, True, True]


@pytest.mark.parametrize(
    ("flange", "other", "reached"),
    [
        (8, 8, True),
        # A seat that is too thin for a head, whatever is behind.
        (LEAST_SEAT - 0.1, LEAST_SEAT - 0.1, False),
        # Thin flanges hold screw and nut; a thin one and a thick one, a screw.
        (LEAST_SEAT + 0.1, LEAST_SEAT + 0.1, True),
        (LEAST_SEAT + 0.1, 90, True),
        # A head on the other side would have nothing here to screw into.
        (LEAST_SEAT - 0.1, ENGAGEMENT + 0.1, False),
        (THICKEST_SEAT + 0.1, THICKEST_SEAT + 0.1, False),
        (THICKEST_SEAT - 0.1, THICKEST_SEAT + 0.1, True),
    ],
)
def test_what_is_under_the_head_and_beyond_the_seam(flange, other, reached):
    assert look(bracket(flange, other), [(30, 20)]) == [reached]
    # Whichever way the plane looks.
    turned = Cut(CUT.plane.flipped())
    assert look(bracket(flange, other), [(30, 20)], cut=turned) == [reached]


@pytest.mark.parametrize(("gap", "reached"), [(59.0, False), (61.0, True)])
def test_the_driver_must_fit_in_before_the_next_wall(gap, reached):
    # One flange; beyond the other side's solid nothing is reached.
    part = Solid.box((400, 60, 6)).union(
        Solid.box((200, 60, 34), (92, 0, 6)), Solid.box((4, 60, 60), (92 - gap - 4, 0, 0))
    )
    assert look(part, [(30, 20)]) == [reached]


def test_a_wall_beside_the_screw_is_kept_clear_of():
    # A wall from y = 40 on: the axis must stay 2.75 mm away from it.
    walled = bracket(8, 80).union(Solid.box((100, 20, 60), (0, 40, 0)))
    assert look(walled, [(37.1, 20), (37.4, 20)]) == [True, False]


def hollow(lid=True):
    """A box of 300 x 80 x 80 with walls of 6 mm and a partition of 16 mm where it is cut."""
    inside = [Solid.box((86, 68, 68), (6, 6, 6)), Solid.box((180, 68, 68), (108, 6, 6))]
    if not lid:
        inside.append(Solid.box((86, 68, 70), (6, 6, 20)))
    return Solid.box((300, 80, 80)).difference(*inside)


def test_a_closed_box_is_reached_nowhere_and_an_open_one_through_its_lid():
    places = [(y, z) for y in (20, 40, 60) for z in (20, 40, 60)]
    assert not any(look(hollow(), places))
    assert all(look(hollow(lid=False), places))


def test_a_screw_head_on_the_good_side_does_not_count():
    part = bracket(8, 90)
    flange = (part.face_normals[:, 0] < -0.5) & (np.abs(part.face_centroids[:, 0] - 92) < 1e-9)
    assert flange.any()
    assert look(part, [(30, 20)], good=~flange) == [True]
    assert look(part, [(30, 20)], good=flange) == [False]


@pytest.mark.parametrize(("depth", "reached"), [(5.9, False), (6.1, True)])
def test_the_thread_wants_its_engagement(depth, reached):
    # No nut on the good side, so the screw must hold in what lies beyond the seam: 2 x 3 mm.
    assert ENGAGEMENT == 6
    part = bracket(8, depth)
    beyond = np.abs(part.face_centroids[:, 0] - 100 - depth) < 1e-9
    assert beyond.any()
    assert look(part, [(30, 20)], good=beyond) == [reached]


def test_the_share_counts_places():
    part = bracket()
    (seam,) = divide(part, [CUT]).seams
    places = seam.plane.to_plane([(100, 30, z) for z in (3, 7, 20, 30)])
    nobody = np.zeros(len(part.faces), dtype=bool)
    assert unreachable_share(seam, part, nobody, places) == 0.5
    assert unreachable_share(seam, part, nobody, places[:0]) == 1
    with pytest.raises(ValueError, match="mask of"):
        reachable(seam, part, nobody[:3], places)


def test_the_criterion_adds_up_the_seams():
    # The bracket's seam, and one across the plate alone, whose screws would come out at its end.
    part = bracket()
    nobody = np.zeros(len(part.faces), dtype=bool)
    division = divide(part, [CUT, Cut(Plane(X, 150.0))])
    ups = {piece.name: Z for piece in division.pieces}
    figures = measure(division, ups, Printer(), nobody)
    rows = [measure_seam(seam, division, nobody, Printer()) for seam in division.seams]
    height = rows[0].seam.plane.to_space(rows[0].room.positions)[:, 2]
    share = np.mean(height < 6 + 2.75)
    assert 0 < share < 0.5
    assert DRIVER_ACCESS.measure(figures) == pytest.approx(share + 1)
    assert (DRIVER_ACCESS.weight, DRIVER_ACCESS.estimate) == (0, None)
    whole = divide(part, [])
    assert DRIVER_ACCESS.measure(measure(whole, {"whole": Z}, Printer(), nobody)) == 0


@pytest.mark.parametrize("size", [(0, 10), (5, -1), (np.inf, 10)])
def test_a_driver_without_size_is_refused(size):
    with pytest.raises(ValueError, match="above 0 mm"):
        Driver(*size)
