"""Sections along a part. Expected values: closed forms, named at each check."""

import math
import pickle

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from shapely.geometry import box

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import Cancelled
from splitplanner.score import stations
from splitplanner.solid import Plane, Solid
from splitplanner.strength import (
    SectionChain,
    chain_torsions,
    section_chain,
    section_properties,
    torsion,
)
from splitplanner.strength import stations as stations_module
from splitplanner.workshop import Material, Printer

CHANNEL = box(0, 0, 40, 30).difference(box(3, 3, 37, 31))


def channel(length=300.0):
    return Solid.prism(CHANNEL, Plane((0.0, 0.0, 1.0), 0.0), 0.0, length)


def turned(solid, rotation, shift=(0.0, 0.0, 0.0)):
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = rotation.as_matrix(), shift
    return solid.transformed(matrix)


def test_a_prism_has_its_section_all_along():
    found = section_chain(channel(), (0, 0, 1), 21)
    wanted = section_properties(CHANNEL)
    assert found.ends == (0.0, 300.0)
    assert found.length == 300.0
    assert found.positions[[0, -1]] == pytest.approx([0.3, 299.7])
    assert found.area == pytest.approx(np.full(21, 282.0), rel=1e-9)
    assert found.modulus == pytest.approx(np.full(21, wanted.modulus), rel=1e-9)
    assert found.centroids == pytest.approx(np.tile(wanted.centroid, (21, 1)), rel=1e-9)
    assert found.tensors == pytest.approx(np.tile(wanted.tensor, (21, 1, 1)), rel=1e-9, abs=1e-6)
    # Like sections twist alike, and are worked out once.
    assert len(set(map(id, found.torsions))) == 1
    assert found.torsion_constants[0] == pytest.approx(torsion(CHANNEL).constant, rel=0.01)


def test_sections_that_are_the_same_twist_alike_wherever_they_stand():
    # Two channels with a box between them, and one that lies on its back.
    block = Solid.box((40, 30, 50), (0, 0, 100))
    upright = np.array([[0, -1, 0, 30], [1, 0, 0, 0], [0, 0, 1, 200], [0, 0, 0, 1]], float)
    part = channel(100.0).union(block, turned(channel(50.0), Rotation.identity(), (0, 0, 150)))
    found = section_chain(part.union(channel(50.0).transformed(upright)), (0, 0, 1), 26)
    groups = [{id(found.torsions[i]) for i in stations} for stations in kinds(found)]
    assert [len(group) for group in groups] == [1, 1, 1]
    assert len(set.union(*groups)) == 3
    # Mirrored or turned, it has the same constant, and another shear centre.
    constants = [found.torsion_constants[stations[0]] for stations in kinds(found)]
    assert constants[2] == pytest.approx(constants[0], rel=0.02)
    for shape, twist in zip(found.shapes, found.torsions, strict=True):
        assert twist.constant == pytest.approx(torsion(shape, 0.02).constant, rel=1e-3)


def kinds(found):
    """Return the stations in the channel, in the box and in the channel on its back."""
    at = found.positions
    middle, last = (at > 100) & (at < 150), at > 200
    return [np.flatnonzero(mask) for mask in (~middle & ~last, middle, last)]


def test_one_thread_or_many_find_the_same(monkeypatch):
    found = section_chain(DEMO_PARTS["l_bracket"].make(5_000), (0.3, 0.2, 0.9), 12)
    usual = chain_torsions(found)
    for threads in (1, 5):
        monkeypatch.setattr(stations_module, "_THREADS", threads)
        assert chain_torsions(found) == usual


@pytest.mark.parametrize("seed", range(3))
def test_along_any_axis(seed):
    # A turned prism along its turned axis: the same moments and moduli.
    rotation = Rotation.random(random_state=seed)
    part = turned(channel(), rotation, (500.0, -70.0, 20.0))
    found = section_chain(part, 3.0 * rotation.apply([0, 0, 1]), 9)
    wanted = section_properties(CHANNEL)
    for figures in found.properties:
        assert figures.area == pytest.approx(wanted.area, rel=1e-6)
        assert figures.major == pytest.approx(wanted.major, rel=1e-6)
        assert figures.minor == pytest.approx(wanted.minor, rel=1e-6)
        assert figures.modulus == pytest.approx(wanted.modulus, rel=1e-6)
    # Where the frame says the major axis points, the prism has its y axis.
    u, v = found.properties[4].major_axis
    assert abs((u * found.frame[0] + v * found.frame[1]) @ rotation.apply([0, 1, 0])) > 1 - 1e-9


def test_a_tapering_bar():
    # A frustum of a square pyramid: sides go from 40 to 20 over 100, I = a⁴ / 12.
    corners = [(s * x, s * y, z) for s, z in ((20, 0), (10, 100)) for x in (-1, 1) for y in (-1, 1)]
    found = section_chain(Solid.hull_of(np.array(corners, float)), (0, 0, 1), 51)
    side = 40.0 - 0.2 * found.positions
    assert found.area == pytest.approx(side**2, rel=1e-9)
    assert found.tensors[:, 0, 0] == pytest.approx(side**4 / 12, rel=1e-9)
    middle = (found.positions[3] + found.positions[4]) / 2
    assert found.between(found.area, [middle])[0] == pytest.approx(found.area[3:5].mean())
    # Beyond the ends the figures of the last stations hold.
    assert found.between(found.area, [-5.0, 105.0]) == pytest.approx(found.area[[0, -1]])
    assert found.nearest([0.0, found.positions[7] + 0.4, 99.9]).tolist() == [0, 7, 50]


def test_mass_along_the_part_adds_up_to_the_part():
    part = DEMO_PARTS["rain_hood"].make(20_000)
    material = Material("PETG", 1.27)
    found = section_chain(part, (1, 0, 0), 400)
    mass = np.trapezoid(found.mass_per_length(material), found.positions)
    assert mass == pytest.approx(material.mass(part.volume), rel=0.02)


def test_it_tells_the_same_as_the_station_chart():
    part = DEMO_PARTS["l_bracket"].make(10_000)
    ours, chart = section_chain(part, (1, 2, 0), 25), stations(part, (1, 2, 0), Printer(), 25)
    assert ours.positions == pytest.approx(chart.positions)
    assert ours.area == pytest.approx(chart.area)
    # On the chart nearly equal moments count as equal.
    apart = np.array([found.major > 1.01 * found.minor for found in ours.properties])
    assert apart.sum() > 10
    assert chart.modulus[apart] == pytest.approx(ours.modulus[apart], rel=1e-9)


def test_stations_can_be_chosen_and_those_off_the_part_are_left_out():
    ball = Solid.cylinder((0, 0, 0), (0, 0, 10), 5.0)
    found = section_chain(ball, (0, 0, 1), positions=[-3.0, 2.0, 7.5, 11.0])
    assert found.positions.tolist() == [2.0, 7.5]
    assert found.area[0] == pytest.approx(math.pi * 25, rel=0.01)


def test_it_goes_to_another_process_and_back():
    found = section_chain(channel(), (0, 0, 1), 4)
    again = pickle.loads(pickle.dumps(found))
    assert again.area == pytest.approx(found.area)
    assert again.torsion_constants == pytest.approx(found.torsion_constants)


def test_it_is_stopped():
    def stop(done, doing):
        raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        section_chain(channel(), (0, 0, 1), 5, stop)


def test_what_is_no_chain():
    with pytest.raises(ValueError, match="two sections"):
        section_chain(channel(), (0, 0, 1), 1)
    good = section_chain(channel(), (0, 0, 1), 2)
    with pytest.raises(ValueError, match="rise"):
        SectionChain(good.axis, good.ends, good.positions[::-1], good.shapes, good.properties)
