"""Seams estimated on the uncut part, against the seams of plans that are really cut."""

import pytest
import trimesh

from splitplanner.plan import Cut, divide
from splitplanner.score import measure_seam
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.suggest.estimate.seams import Contacts
from tests.catalogue import solid_of
from tests.suggest.shapes import (
    ASKEW,
    PRINTER,
    demo,
    l_shape,
    placed,
    square_ring,
    survey_of,
    u_shape,
)

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def box():
    return Solid.box((400, 100, 60))


def tube():
    outer = Solid.cylinder((0, 0, 0), (0, 0, 300), 80.0, 48)
    return outer.difference(Solid.cylinder((0, 0, -1), (0, 0, 301), 70.0, 48))


def tray():
    """Open above: its inside counts as seen or not as the good side says."""
    return Solid.box((300, 200, 80)).difference(Solid.box((284, 184, 80), (8, 8, 8)))


def steps():
    """A bar with a step 20 mm high at x = 200, whose riser is a flat across x."""
    return Solid.box((400, 80, 40)).union(Solid.box((200, 80, 20), (0, 0, 40)))


def fine_box():
    """With mesh edges at every 12.5 mm along x."""
    mesh = trimesh.creation.box((400, 100, 60))
    for _ in range(5):
        mesh = mesh.subdivide()
    return solid_of(mesh)


def torus():
    return solid_of(trimesh.creation.torus(120.0, 30.0, major_sections=64, minor_sections=32))


def hood():
    return demo("rain_hood")


PLANS = {
    "box": (box, [Cut(Plane(X, 133.0))]),
    "box askew": (box, [Cut(Plane.through((200, 50, 30), (1, 0.3, -0.2)))]),
    "turned box": (
        lambda: placed(box(), ASKEW),
        [Cut(Plane.through(placed(box(), ASKEW).centroid, (1, 0.3, -0.2)))],
    ),
    "grid": (box, [Cut(Plane(X, 133.0)), Cut(Plane(X, 266.0)), Cut(Plane(Y, 47.0))]),
    "nested": (
        box,
        [
            Cut(Plane(X, 210.0)),
            Cut(Plane(Y, 40.0), "1"),
            Cut(Plane(Z, 33.0), "2"),
            Cut(Plane(Y, 61.0), "2.1"),
        ],
    ),
    "nested askew": (
        box,
        [
            Cut(Plane.through((200, 50, 30), (1, 0.3, 0))),
            Cut(Plane.through((100, 45, 20), (0.1, 1, 0.1)), "1"),
            Cut(Plane.through((300, 45, 35), (-0.1, 0.2, 1)), "2"),
        ],
    ),
    "tube": (tube, [Cut(Plane(Z, 133.0)), Cut(Plane(X, 1.5))]),
    "tray": (tray, [Cut(Plane(X, 151.0)), Cut(Plane(Y, 99.0))]),
    "L": (l_shape, [Cut(Plane(X, 215.0)), Cut(Plane(Y, 190.0), "1")]),
    "ring": (square_ring, [Cut(Plane(X, 200.5)), Cut(Plane(Y, 201.5))]),
    "legs of a U": (u_shape, [Cut(Plane(Y, 150.0)), Cut(Plane(Y, 300.0))]),
    "one leg of a U": (
        u_shape,
        [Cut(Plane(Y, 150.0)), Cut(Plane(Y, 300.0), "2a"), Cut(Plane(X, 215.0), "1")],
    ),
    "torus": (torus, [Cut(Plane(X, 7.0)), Cut(Plane(Y, 9.0), "2")]),
    "along edges": (fine_box, [Cut(Plane(X, 50.0)), Cut(Plane(Y, 12.5))]),
    "hood": (hood, [Cut(Plane(X, 11.3)), Cut(Plane(Z, 41.7))]),
}


def pairs(part, cuts):
    """Every seam measured with its estimate, told by the two pieces it lies between."""
    survey = survey_of(part)
    estimates = {seam.between: seam for seam in survey.estimate(survey.sketch(cuts)).numbers.seams}
    division = divide(part, cuts)
    seen = seen_from_outside(part)
    measured = {}
    for seam in division.seams:
        assert (seam.below, seam.above) not in measured
        measured[seam.below, seam.above] = measure_seam(seam, division, seen, PRINTER)
    assert set(estimates) == set(measured)
    assert estimates
    return [(estimates[key], measured[key]) for key in measured]


def outlines_of(estimate):
    return sum(1 + len(polygon.interiors) for polygon in estimate.polygons)


@pytest.mark.parametrize("name", PLANS)
def test_seams_are_those_of_the_cut_plan(name):
    shape, cuts = PLANS[name]
    part = shape()
    for estimate, row in pairs(part, cuts):
        found, exact = estimate.figures, row.figures
        assert found.area == pytest.approx(exact.area, rel=1e-3)
        assert found.length == pytest.approx(exact.length, rel=1e-3)
        assert found.seen_length == pytest.approx(exact.seen_length, rel=1e-3, abs=0.01)
        assert found.hidden_length == pytest.approx(exact.hidden_length, rel=1e-3, abs=0.01)
        assert found.inner_length == pytest.approx(exact.inner_length, rel=1e-3, abs=0.01)
        assert found.length == pytest.approx(found.seen_length + found.hidden_length)
        assert outlines_of(estimate) == exact.outlines
        assert estimate.normal == pytest.approx(row.normal)
        assert estimate.deep_room.count == min(row.deep_room.count, 2)


@pytest.mark.parametrize(
    ("shape", "cuts", "areas"),
    [
        # At the step only the lower 80 x 40 touch; the riser is outside.
        (steps, [Cut(Plane(X, 200.0))], [80 * 40]),
        # Under the step's tread: the upper bar's foot.
        (steps, [Cut(Plane(Z, 40.0))], [200 * 80]),
        # At the root of the U's legs, from either side: two legs of 60 x 60.
        (u_shape, [Cut(Plane(Y, 60.0))], [60 * 60, 60 * 60]),
        (u_shape, [Cut(Plane(Y, 60.0).flipped())], [60 * 60, 60 * 60]),
        # And then across one leg or both.
        (u_shape, [Cut(Plane(Y, 60.0)), Cut(Plane(Y, 200.0), "2b")], [60 * 60] * 3),
    ],
)
def test_planes_on_flat_faces(shape, cuts, areas):
    found = pairs(shape(), cuts)
    assert sorted(row.figures.area for _, row in found) == pytest.approx(areas)
    for estimate, row in found:
        assert estimate.figures.area == pytest.approx(row.figures.area, rel=1e-3)
        assert estimate.figures.length == pytest.approx(row.figures.length, rel=1e-3)
        assert outlines_of(estimate) == row.figures.outlines
        assert estimate.deep_room.count == min(row.deep_room.count, 2)
        assert estimate.figures.seen_length == pytest.approx(row.figures.seen_length, rel=0.02)


def test_a_thin_floor_leaves_no_room_for_pins():
    # Of two boxes joined by a plate of 3 mm the contact goes on far enough, but it is too thin;
    # beside a step it is thick enough on one side only.
    plate = Solid.box((100, 80, 40)).union(
        Solid.box((100, 80, 40), (200, 0, 0)), Solid.box((300, 80, 3))
    )
    ((estimate, row),) = pairs(plate, [Cut(Plane(X, 150.0))])
    assert (estimate.deep_room.count, row.deep_room.count) == (0, 0)
    # Pins of 3 mm go 6 mm deep: 5 mm beside the step's riser they would come out of it.
    part = Solid.box((400, 80, 4)).union(Solid.box((200, 80, 60)))
    ((estimate, row),) = pairs(part, [Cut(Plane(X, 195.0))])
    assert estimate.deep_room.count == min(row.deep_room.count, 2) == 0
    ((estimate, row),) = pairs(part, [Cut(Plane(X, 100.0))])
    assert estimate.deep_room.count == min(row.deep_room.count, 2) == 2


def test_blocks_that_do_not_touch_have_no_seam():
    survey = survey_of(u_shape())
    sketch = survey.sketch([Cut(Plane(Y, 150.0)), Cut(Plane(X, 215.0), "1")])
    plane = Plane(Y, 150.0)
    left, right = sketch.blocks["2a"], sketch.blocks["2b"]
    seam = Contacts(survey.ground).seam
    touching = [seam(plane, sketch.blocks[half], left) for half in ("1.1", "1.2")]
    assert sorted(found is None for found in touching) == [False, True]
    others = [seam(plane, sketch.blocks[half], right) for half in ("1.1", "1.2")]
    assert [found is None for found in others] == [found is not None for found in touching]


def test_blocks_that_meet_along_an_edge_have_no_seam():
    # Of four quarters, those across from each other meet in a line.
    survey = survey_of(box())
    cuts = [Cut(Plane(X, 200.0)), Cut(Plane(Y, 50.0))]
    seams = survey.estimate(survey.sketch(cuts)).numbers.seams
    assert {seam.between for seam in seams} == {
        ("1.1", "2.1"),
        ("1.2", "2.2"),
        ("1.1", "1.2"),
        ("2.1", "2.2"),
    }
