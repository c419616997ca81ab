"""What an eye sees of a seam, by similar triangles."""

import numpy as np
import pytest

from splitplanner.plan import Cut, divide
from splitplanner.score import measure
from splitplanner.score.criteria.seen_from import seen_from
from splitplanner.score.views import Views, seen_length
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
STEP = 1.0


def seam_of(part, x):
    (seam,) = divide(part, [Cut(Plane(X, x))]).seams
    return seam


BOX = Solid.box((100, 40, 30))
SEAM = seam_of(BOX, 37.0)


@pytest.mark.parametrize(
    ("views", "length"),
    [
        (Views(), 0),
        # Straight in front of the side y = 0: its edge of 30 mm and no more.
        (Views(points=((37, -500, 15),)), 30),
        (Views(points=((90, -500, 1),)), 30),
        # From higher up also the 40 mm along the top.
        (Views(points=((37, -500, 100),)), 70),
        # From above, from below, from the end, which looks along the seam's normal.
        (Views(points=((0, 20, 900),)), 40),
        (Views(points=((0, 20, -900),)), 40),
        (Views(points=((900, 20, 15),)), 0),
        # Two eyes in front see the same edge; one on either side see two.
        (Views(points=((30, -500, 15), (60, -500, 15))), 30),
        (Views(points=((37, -500, 15), (37, 500, 15))), 60),
        # Far away, the same.
        (Views(directions=((0, -2, 0),)), 30),
        (Views(directions=((0, -1, 1),)), 70),
        (Views(directions=((1, 0, 0),)), 0),
        (Views(points=((37, -500, 15),), directions=((0, 0, 1),)), 70),
        # An eye inside the material sees nothing.
        (Views(points=((37, 20, 15),)), 0),
    ],
)
def test_a_box(views, length):
    assert seen_length(SEAM, BOX, views) == pytest.approx(length, abs=1e-9)


def test_a_rib_hides_what_is_behind_it():
    # On a plate, a rib 20 mm high at y = 40..44; the eye at y = -60, 40 above the plate. The line
    # over the rib's near upper edge (y = 40) falls 20 in 100, that over the far one 20 in 104:
    # it meets the plate again at y = 44 + 104.
    part = Solid.box((100, 200, 10)).union(Solid.box((100, 4, 20), (0, 40, 10)))
    seam = seam_of(part, 50.0)
    eye = Views(points=((50.0, -60.0, 50.0),))
    # The front of 10 mm, the plate up to the rib, the rib's front and top, and the plate behind
    # the shadow. Each end of what is seen may be off by half a step.
    expected = 10 + 40 + 20 + 4 + (200 - 148)
    assert seen_length(seam, part, eye) == pytest.approx(expected, abs=STEP)
    # The eye that is far away in the direction (0, -2, 1): a shadow of 2 x 20 mm.
    far = Views(directions=((0, -2, 1),))
    assert seen_length(seam, part, far) == pytest.approx(74 + (200 - 84), abs=STEP)


def test_an_eye_before_the_rib_is_not_hidden_by_what_is_behind_it():
    part = Solid.box((100, 200, 10)).union(Solid.box((100, 4, 20), (0, 40, 10)))
    seam = seam_of(part, 50.0)
    # Between plate and ceiling the eye is near; a ray that did not end at it would meet the roof.
    roofed = part.union(Solid.box((100, 200, 10), (0, 0, 60)), Solid.box((100, 4, 70), (0, 196, 0)))
    (under,) = divide(roofed, [Cut(Plane(X, 50.0))]).seams
    eye = Views(points=((50.0, 100.0, 35.0),))
    below, above = 196 - 44, 196
    # The whole plate behind the rib, the rib's back and top, the wall inside and the roof below.
    # Over the rib the eye, 25 above the plate, sees past the near edge (y = 40, 20 high): the
    # line falls 5 in 60 mm and would meet the plate 240 mm further on, outside.
    expected = below + 20 + 4 + 50 + above
    assert seen_length(under, roofed, eye) == pytest.approx(expected, abs=STEP)
    assert seen_length(seam, part, eye) == pytest.approx((200 - 44) + 20 + 4, abs=STEP)


def test_the_inside_of_a_closed_box_is_never_seen():
    hollow = BOX.difference(Solid.box((80, 20, 10), (10, 10, 10)))
    seam = seam_of(hollow, 37.0)
    assert seam.section.length == pytest.approx(140 + 60)
    around = Views(directions=((0, 1, 1), (0, -1, -1)))
    assert seen_length(seam, hollow, around) == pytest.approx(140)
    assert seen_length(seam, hollow, Views(points=((50, 20, 15),))) == pytest.approx(60)


def test_the_criterion_adds_up_all_seams():
    division = divide(BOX, [Cut(Plane(X, 30.0)), Cut(Plane(X, 60.0))])
    ups = {piece.name: Z for piece in division.pieces}
    figures = measure(division, ups, Printer(), np.ones(len(BOX.faces), dtype=bool))
    criterion = seen_from(Views(points=((50, -500, 15),)))
    assert criterion.measure(figures) == pytest.approx(2 * 30 / BOX.size)
    assert (criterion.weight, criterion.estimate) == (0, None)
    assert seen_from(Views()).measure(figures) == 0


def test_a_direction_without_length_and_an_eye_nowhere_are_refused():
    with pytest.raises(ValueError, match="needs a length"):
        Views(directions=((0, 0, 0),))
    with pytest.raises(ValueError, match="finite"):
        Views(points=((np.nan, 0, 0),))
