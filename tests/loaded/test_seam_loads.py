"""What seams hand on: by statics of the loads beyond them, and by elementary beams."""

import numpy as np
import pytest

from splitplanner.loaded.seam_loads import (
    forces_at,
    seam_bands,
    seam_load_of,
    stress_across,
)
from splitplanner.plan import Cut, PointLoad, cantilever, divide, over_two_supports
from splitplanner.solid import Plane, Solid
from splitplanner.strength import diagrams, section_chain
from tests.loaded.bars import ABOUT_Y, ALONG, DEPTH, LENGTH, MODULUS, WIDTH, bar, square_cut

DIAGONAL = 2.0**-0.5


def loads_of(part, cuts, case, count=None, chain=None, twist=False):
    """Return the seams of a part with what they hand on, in the part's frame about the origin."""
    chain = chain or section_chain(part, ALONG, 40)
    found = diagrams(chain, case, 2000.0, twist=twist)
    rows = []
    for bands in seam_bands(part, divide(part, cuts).seams, chain, count):
        frame, load = bands.seam.plane.frame, seam_load_of(bands, found)
        force, moment = frame.T @ load.force, frame.T @ load.moment
        rows.append((bands, force, moment + np.cross(bands.seam.section.centroid, force)))
    return found, rows


def beyond(loads, middle=(0.0, 0.0)):
    """Return force and moment about the origin of point loads, by hand."""
    force, moment = np.zeros(3), np.zeros(3)
    for load in loads:
        place = np.array([load.station, *(load.at[1:] if load.at else middle)])
        force += load.force
        moment += np.cross(place, load.force) + np.array(load.moment)
    return force, moment


MID = over_two_supports(0.0, LENGTH, PointLoad(100.0, (0.0, 0.0, -100.0)))


def test_square_seam_has_what_lies_beyond_it():
    _, [(bands, force, moment)] = loads_of(bar(), [square_cut(60.0)], MID)
    # Beyond: the load at 100 mm, and half of it held up at 200 mm.
    ends = [PointLoad(100.0, (0.0, 0.0, -100.0)), PointLoad(LENGTH, (0.0, 0.0, 50.0))]
    expected = beyond(ends)
    assert force == pytest.approx(expected[0], abs=1e-9)
    assert moment == pytest.approx(expected[1], abs=1e-7)
    assert bands.station == pytest.approx(60.0)


def test_a_normal_against_the_axis_is_the_other_side():
    _, [(_, force, moment)] = loads_of(bar(), [Cut(Plane((-1.0, 0.0, 0.0), -60.0))], MID)
    # The piece above lies at lower stations: 50 N at 0 mm.
    expected = beyond([PointLoad(0.0, (0.0, 0.0, 50.0))])
    assert force == pytest.approx(expected[0], abs=1e-9)
    assert moment == pytest.approx(expected[1], abs=1e-7)


def wedge():
    """A bar that grows: 20 x 30 mm at one end and 40 x 60 mm at the other, off the axis."""
    ends = ((0.0, 10.0, 15.0), (LENGTH, 20.0, 30.0))
    return Solid.hull_of(
        [(x, y + 0.05 * x, z) for x, b, h in ends for y in (-b, b) for z in (-h, h)]
    )


def test_seams_of_one_station_add_up_to_the_section():
    """Pull, bending both ways, shear and twist of a growing bar, in two seams side by side."""
    part = wedge()
    load = PointLoad(LENGTH, (200.0, 30.0, -50.0), (0.0, 100.0, 0.0), (LENGTH, 25.0, 12.0))
    cuts = [square_cut(90.0), Cut(Plane((0.0, 1.0, 0.0), 2.0))]
    chain = section_chain(part, ALONG, positions=[1.0, 60.0, 120.0, 199.0])
    _, rows = loads_of(part, cuts, cantilever(0.0, load), chain=chain, twist=True)
    across = [row for row in rows if abs(row[0].seam.plane.normal[0]) == 1.0]
    assert len(across) == 2
    force, moment = (sum(row[k] for row in across) for k in (1, 2))
    expected = beyond([load])
    assert force == pytest.approx(expected[0], rel=1e-9, abs=1e-7)
    # Moments go by the centroids of the chain, which runs in straight lines between its stations.
    centre = section_chain(part, ALONG, positions=[89.9, 90.0, 90.1]).centroids[1]
    here = np.array([90.0, *centre])
    left, wanted = (m - np.cross(here, f) for f, m in ((force, moment), expected))
    assert left == pytest.approx(wanted, rel=1e-6)
    # Each has a share of all, and not the same one.
    pulls = [row[1][0] for row in across]
    assert min(np.abs(pulls)) > 1.0
    assert abs(pulls[0] - pulls[1]) > 1.0


def test_seams_side_by_side_in_a_straight_bar_share_exactly():
    load = PointLoad(LENGTH, (200.0, 30.0, -50.0))
    cuts = [square_cut(90.0), Cut(Plane((0.0, 1.0, 0.0), 5.0))]
    _, rows = loads_of(bar(), cuts, cantilever(0.0, load))
    across = [row for row in rows if row[0].seam.plane.normal == ALONG]
    force, moment = (sum(row[k] for row in across) for k in (1, 2))
    expected = beyond([load])
    assert force == pytest.approx(expected[0], rel=1e-9, abs=1e-9)
    assert moment == pytest.approx(expected[1], rel=1e-9, abs=1e-7)
    # 20 of 30 mm: that share of the pull, and what bending sideways pulls in it: -110 mm of 30 N,
    # over 27 000 mm³/12 x 40, on 800 mm² whose middle is 5 mm off.
    low = next(row for row in across if row[0].seam.section.centroid[1] < 0)
    sideways = 110.0 * 30.0 / (DEPTH * WIDTH**3 / 12) * 5.0 * 800.0
    assert low[1][0] == pytest.approx(200.0 * 20 / 30 + sideways, rel=1e-9)
    assert low[1][2] == pytest.approx(-50.0 * 20 / 30)


def test_a_seam_in_part_of_a_section_has_its_share():
    """The upper half of a bar alone is cut: ``M Q / I`` presses it."""
    cuts = [Cut(Plane((0.0, 0.0, 1.0), 0.0)), Cut(Plane(ALONG, 60.0), "2")]
    _, rows = loads_of(bar(), cuts, MID)
    part = next(row for row in rows if row[0].seam.plane.normal == ALONG)
    first = WIDTH * DEPTH / 2 * DEPTH / 4
    assert part[1][0] == pytest.approx(-50.0 * 60.0 * first / ABOUT_Y, rel=1e-9)
    assert part[1][2] == pytest.approx(-25.0, rel=1e-9)


def test_oblique_seam_has_what_lies_beyond_it_and_converges():
    """Cut at 45°: shear by V Q / (I b) along the trace, so that all is in equilibrium."""
    cut = Cut(Plane.through((60.0, 0.0, 0.0), (DIAGONAL, 0.0, DIAGONAL)))
    ends = [PointLoad(100.0, (0.0, 0.0, -100.0)), PointLoad(LENGTH, (0.0, 0.0, 50.0))]
    expected = beyond(ends)
    errors = []
    for count in (8, 16, 32):
        _, [(_, force, moment)] = loads_of(bar(), [cut], MID, count)
        assert moment == pytest.approx(expected[1], abs=0.05 * 3000)
        errors.append(np.linalg.norm(force - expected[0]))
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.1)
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.1)
    assert errors[2] < 0.002 * 50.0


def test_stress_across_an_inclined_seam():
    """A pull s across a plane at the angle t to square: ``s cos² t`` (Gere, section 2.6)."""
    pulled = cantilever(0.0, PointLoad(LENGTH, (1200.0, 0.0, 0.0)))
    for normal, share in ((ALONG, 1.0), ((DIAGONAL, 0.0, DIAGONAL), 0.5)):
        found, [(bands, _, _)] = loads_of(bar(), [Cut(Plane.through((60, 0, 0), normal))], pulled)
        assert stress_across(bands, found) == pytest.approx(share * 1.0, rel=1e-6)
    found, [(bands, _, _)] = loads_of(bar(), [square_cut(60.0)], MID)
    assert stress_across(bands, found) == pytest.approx(50.0 * 60.0 / MODULUS)


def test_lengthwise_seam_slides_by_shear_flow():
    """``V Q / I`` along the middle, one way before the load and the other beyond it."""
    _, [(_, force, moment)] = loads_of(bar(), [Cut(Plane((0.0, 0.0, 1.0), 0.0))], MID)
    flow = 50.0 * (WIDTH * DEPTH / 2 * DEPTH / 4) / ABOUT_Y
    assert abs(force[0]) == pytest.approx(flow * LENGTH, rel=1e-6)
    assert force[1:] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert moment == pytest.approx(np.zeros(3), abs=1e-6)


def test_where_shear_jumps_the_larger_counts():
    case = over_two_supports(0.0, LENGTH, PointLoad(50.0, (0.0, 0.0, -100.0)))
    found = diagrams(section_chain(bar(), ALONG, 40), case, 2000.0, twist=False)
    acting = forces_at(found, 50.0)
    # 75 N on the one side and 25 N on the other.
    assert np.linalg.norm(acting.shear) == pytest.approx(75.0)
    assert np.linalg.norm(acting.moment) == pytest.approx(75.0 * 50.0)
