"""Load cases to begin with: held, loaded and named so that they suit the part."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.solid import Solid, seen_from_outside
from splitplanner.strength import under_loads, usual_loadings
from splitplanner.strength.usual_loads import PUSH, TURN

X, Y, Z = np.eye(3)


def plate():
    return Solid.box((600.0, 200.0, 30.0))


def facing(part, way):
    return part.face_normals @ way > 0.5


def test_a_plate_gets_a_fall_a_push_and_a_twist():
    fall, push, twist = usual_loadings(plate(), facing(plate(), Z))
    assert [loading.name for loading in (fall, push, twist)] == [
        "fall on its back", "push from the side", "twist from end to end",
    ]  # fmt: skip
    assert {loading.axis for loading in (fall, push, twist)} == {(1.0, 0.0, 0.0)}
    assert (fall.fall.height, fall.fall.stopping, fall.fall.mass) == (750.0, 10.0, None)
    assert fall.case.loads[0].force == (0.0, 0.0, -1.0)
    assert [support.station for support in fall.case.supports] == pytest.approx([30.0, 570.0])
    assert (push.fall, twist.fall) == (None, None)
    assert (push.case.loads[0].station, push.case.loads[0].force) == (300.0, (0.0, PUSH, 0.0))
    assert twist.case.supports[0].clamped
    assert twist.case.loads[0].moment == (TURN, 0.0, 0.0)
    assert twist.case.loads[0].station == pytest.approx(570.0)


@pytest.mark.parametrize(
    ("way", "back", "side"), [(Z, -Z, Y), (-Z, Z, Y), (Y, -Y, Z), (-Y, Y, Z), (X, -Z, Y)]
)
def test_the_back_is_what_the_good_side_looks_away_from(way, back, side):
    fall, push, _ = usual_loadings(plate(), facing(plate(), way))
    assert fall.case.loads[0].force == pytest.approx(tuple(back))
    assert np.abs(push.case.loads[0].force) == pytest.approx(PUSH * side)


def test_without_a_good_side_it_falls_on_its_broad_side():
    part = plate()
    for seen in (None, np.ones(len(part.faces), bool), np.zeros(len(part.faces), bool)):
        assert usual_loadings(part, seen)[0].case.loads[0].force == (0.0, 0.0, -1.0)
    with pytest.raises(ValueError, match="mask of 12 faces, got 3"):
        usual_loadings(part, np.ones(3, bool))


def test_they_go_along_with_a_part_that_lies_askew():
    turn = np.eye(4)
    turn[:3, :3] = Rotation.from_euler("xyz", [20, 35, 50], degrees=True).as_matrix()
    part = plate().transformed(turn)
    fall, _, twist = usual_loadings(part, facing(part, turn[:3, 2]))
    assert np.abs(turn[:3, 0] @ fall.axis) == pytest.approx(1.0)
    assert fall.case.loads[0].force == pytest.approx(tuple(-turn[:3, 2]))
    assert np.linalg.norm(twist.case.loads[0].moment) == pytest.approx(TURN)
    # One that is hardly off is taken as it was drawn.
    turn[:3, :3] = Rotation.from_euler("z", 5, degrees=True).as_matrix()
    assert usual_loadings(plate().transformed(turn))[0].axis == (1.0, 0.0, 0.0)


def test_they_suit_the_demonstration_parts():
    for name in ("rain_hood", "garden_heron"):
        part = DEMO_PARTS[name].make(5_000)
        proposed = usual_loadings(part, seen_from_outside(part))[:2]
        loads = under_loads(part, proposed)
        assert not loads.findings
        assert [whole.loading for whole in loads.found] == list(proposed)
        # Bent most somewhere between the supports, and not at a tip.
        for whole in loads.found:
            heights = part.vertices @ np.array(whole.loading.axis)
            low, high = np.quantile([heights.min(), heights.max()], [0.1, 0.9])
            worst = whole.positions[whole.normal.argmax()]
            assert low < worst < high
