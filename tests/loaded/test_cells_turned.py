"""A part that is modelled turned does the same as it does along the axes."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from splitplanner.arrays import to_vector
from splitplanner.joint.brace.building import brace_of
from splitplanner.joint.brace.planned import brace_screw
from splitplanner.loaded.cells_check import check_condensed, check_uncut
from splitplanner.loaded.cells_model import condensed_plan
from splitplanner.plan import (
    WHOLE,
    BraceWish,
    Cut,
    Division,
    Fastening,
    Joint,
    Loading,
    PartFile,
    Plan,
    PointLoad,
    divide,
    over_two_supports,
)
from splitplanner.solid import Plane, Solid
from tests.loaded.celled import (
    ALONG,
    BOLTS,
    LENGTH,
    PINS,
    PLASTIC,
    PRINTER,
    SHELF,
    channel,
    gutter,
    pin,
    screw,
    solved_anew,
    unlike,
)

SIZE = 12.0
UP = {"upright": (0.0, 0.0, 1.0), "on end": (1.0, 0.0, 0.0), "leaning": (0.6, 0.0, 0.8)}
"""Print directions that are alike left and right; material and strength are not the same across."""
TURNS = {
    f"{degrees}° about {axis}": Rotation.from_euler(axis, degrees, degrees=True).as_matrix()
    for axis in "xz"
    for degrees in (10, 30)
}
ASKEW = Rotation.from_euler("xyz", [20, 35, 50], degrees=True).as_matrix()
"""Along no axis of the world."""
LEANING = Plane((0.97, 0.0, 0.2), 0.97 * 85.0)


@dataclass(frozen=True)
class Turned:
    """A channel, open above and along x, cut and screwed, on two supports: all of it turned."""

    turn: np.ndarray
    division: Division
    plan: Plan
    loading: Loading

    @staticmethod
    def of(turn, planes, up="upright", part=None, **others):
        whole = np.eye(4)
        whole[:3, :3] = turn
        part = (part or channel(85.0)).transformed(whole)
        cuts = tuple(Cut(Plane(to_vector(turn @ plane.normal), plane.offset)) for plane in planes)
        division = divide(part, cuts)
        ups = {
            name: to_vector(turn @ UP[up])
            for name in (WHOLE, *(piece.name for piece in division.pieces))
        }
        plan = Plan(
            PartFile("", "mm", ""), PRINTER, cuts, print_directions=ups, material=PLASTIC, **others
        )
        joints = tuple(
            turned_joint(turn, seam.name, plane)
            for seam, plane in zip(division.seams, planes, strict=True)
        )
        push = PointLoad(60.0, to_vector(turn @ (0.0, 0.0, -60.0)))
        loading = Loading(to_vector(turn @ ALONG), over_two_supports(10.0, 150.0, push))
        return Turned(turn, division, replace(plan, joints=joints), loading)

    def uncut(self):
        return self.seen(check_uncut(self.division, self.plan, self.loading, size=SIZE))

    def condensed(self, braces=()):
        pieces = self.division.pieces
        for brace in braces:
            pieces = [replace(p, solid=brace.made(p.name, p.solid)) for p in pieces]
        return condensed_plan(
            self.division, pieces, self.plan, SHELF, self.loading, braces=braces, size=SIZE
        )

    def braces(self):
        along, down = (to_vector(self.turn @ way) for way in (ALONG, (0.0, 0.0, -1.0)))
        wishes = [
            BraceWish(along, down, y, 12, LENGTH - 12, 15, 2, spacing=50, name=name)
            for name, y in (("left", -12.0), ("right", 12.0))
        ]
        screws = [brace_screw(wish, SHELF, PRINTER) for wish in wishes]
        return [brace_of(self.division, *each, SHELF) for each in zip(wishes, screws, strict=True)]

    def seen(self, check):
        """What is found, as who turns with the part sees it."""
        turn = self.turn
        return replace(
            check,
            pieces=tuple(
                replace(p, vertices=p.vertices @ turn, moved=p.moved @ turn) for p in check.pieces
            ),
        )


def turned_joint(turn, name, plane):
    """The screws and pins of a seam that lay on a plane before all of it was turned."""

    def placed(thing):
        return replace(thing, at=to_vector(turn @ thing.at), axis=to_vector(turn @ thing.axis))

    return Joint(
        name,
        screws=tuple(placed(screw(plane, *place)) for place in BOLTS),
        pins=tuple(placed(pin(plane, *place)) for place in PINS),
    )


@cache
def straight(up, *planes):
    case = Turned.of(np.eye(3), planes, up)
    return case.uncut() if not planes else check_condensed(case.condensed(), "fastened")


def same(found, expected):
    assert found.sag == pytest.approx(expected.sag, rel=1e-3)
    assert found.deflection == pytest.approx(expected.deflection, rel=1e-3)
    for piece, own in zip(found.pieces, expected.pieces, strict=True):
        assert piece.percentiles == pytest.approx(own.percentiles, rel=1e-3)
    for seam, own in zip(found.seams, expected.seams, strict=True):
        assert seam.screws == pytest.approx(own.screws, abs=1e-3 * own.screws.max())
        assert seam.opening == pytest.approx(own.opening, rel=1e-3)
        assert seam.bending == pytest.approx(own.bending, rel=1e-3)


# -- the same task turned -------------------------------------------------------------------
@pytest.mark.parametrize("up", UP)
@pytest.mark.parametrize("turn", [*TURNS.values(), ASKEW], ids=[*TURNS, "askew"])
def test_an_uncut_part_gives_as_one_along_the_axes(turn, up):
    found = Turned.of(turn, (), up).uncut()
    assert unlike(found) < 1e-3
    same(found, straight(up))


@pytest.mark.parametrize(
    ("turn", "plane", "up"),
    [
        *((turn, Plane(ALONG, 85.0), "upright") for turn in TURNS.values()),
        (ASKEW, Plane(ALONG, 85.0), "on end"),
        (ASKEW, LEANING, "leaning"),
        (TURNS["30° about x"], LEANING, "on end"),
    ],
    ids=[*TURNS, "askew", "cut leaning", "cut leaning and 30° about x"],
)
def test_a_cut_part_does_the_same_as_along_the_axes(turn, plane, up):
    case = Turned.of(turn, [plane], up)
    found = case.seen(check_condensed(case.condensed(), "fastened"))
    assert unlike(found) < 1e-3
    (seam,) = found.seams
    assert seam.screws[0::2] == pytest.approx(seam.screws[1::2], abs=1e-3 * seam.screws.max())
    same(found, straight(up, plane))


@pytest.mark.parametrize("turn", [TURNS["30° about x"], ASKEW], ids=["30° about x", "askew"])
def test_a_round_part_is_alike_left_and_right_however_it_is_turned(turn):
    assert unlike(Turned.of(turn, (), part=gutter()).uncut()) < 1e-3


def test_one_as_files_round_it_is_alike_left_and_right_too():
    part, turn = channel(85.0), TURNS["30° about x"]
    case = Turned.of(turn, ())
    corners = (part.vertices @ turn.T).astype(np.float32)
    rounded = divide(Solid.from_arrays(corners, part.faces), ())
    found = replace(case, division=rounded).uncut()
    assert unlike(found) < 1e-3
    same(found, straight("upright"))


def test_braces_take_the_same_however_the_part_is_turned():
    found = []
    for turn in (np.eye(3), ASKEW):
        case = Turned.of(turn, [Plane(ALONG, 85.0)])
        known = case.condensed(case.braces())
        solved = known.solved("braced")
        found.append(solved.in_braces())
        direct, _ = solved_anew(solved)
        moved = known.found.displacements(solved.answer)
        assert moved == pytest.approx(direct, abs=1e-6 * np.abs(direct).max())
    for one, other in zip(*found, strict=True):
        assert other.pull == pytest.approx(one.pull, rel=1e-3)
        assert other.bending == pytest.approx(one.bending, rel=1e-3)


def test_glue_holds_the_same_however_the_part_is_turned():
    glue = Fastening(glue_shear=8.0, glue_peel=3.0)
    found = []
    for turn in (np.eye(3), ASKEW):
        case = Turned.of(turn, [Plane(ALONG, 85.0)], fastening=glue)
        found.append(case.seen(check_condensed(case.condensed(), "fastened")))
    assert unlike(found[1]) < 1e-3
    same(found[1], found[0])
    assert found[1].seams[0].glue == pytest.approx(found[0].seams[0].glue, rel=1e-3)
