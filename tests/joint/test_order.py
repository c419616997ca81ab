"""The order of assembly.

Expected values: by hand on blocks; by brute force over all binary trees, with the directions found
by linear programming (scipy); and volumes that pieces share at 20 places on their way.
"""

import math
from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest
import shapely
from scipy.optimize import linprog

from splitplanner.errors import Cancelled
from splitplanner.findings import Finding, Severity, faults
from splitplanner.joint.checking import assembly_of
from splitplanner.joint.order.finding import find_order, screws_reached
from splitplanner.joint.order.motion import overlap_on_the_way
from splitplanner.joint.screws.access import Tool
from splitplanner.plan import (
    Cut,
    Division,
    Flange,
    Joint,
    PartFile,
    Piece,
    Pin,
    Plan,
    Register,
    Screw,
    Seam,
    divide,
)
from splitplanner.solid import Plane, Section, Solid
from splitplanner.workshop import Printer

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def pinned(seam, axis=None):
    at = tuple(seam.section.centroid)
    pin = Pin(at, axis or seam.plane.normal, "ISO 8734", 3.0, 10.0, 3.2, 5.5, 4.0)
    return Joint(seam.name, (pin,))


def all_pinned(division):
    return {seam.name: pinned(seam) for seam in division.seams}


def names_of(division, *numbers):
    by_number = {piece.number: piece.name for piece in division.pieces}
    return {by_number[number] for number in numbers}


def pushes_clear(division, steps, solids=None):
    """Check that groups join into one, and never overlap on their way: 20 places over 300 mm."""
    solids = solids or {piece.name: piece.solid for piece in division.pieces}
    groups = [frozenset({name}) for name in solids]
    closed = []
    for step in steps:
        moving, standing = frozenset(step.moving), frozenset(step.standing)
        groups.remove(moving)
        groups.remove(standing)
        groups.append(moving | standing)
        closed += step.seams
        back = -np.array(step.direction)
        assert np.linalg.norm(back) == pytest.approx(1.0)
        for distance in np.geomspace(0.1, 300, 20):
            matrix = np.hstack([np.eye(3), (distance * back)[:, None]])
            for one in moving:
                moved = solids[one].transformed(matrix)
                for other in standing:
                    assert moved.intersection(solids[other]).volume < 1e-3
    assert sorted(closed) == sorted(seam.name for seam in division.seams)
    return groups


def test_two_crossing_cuts():
    division = divide(Solid.box((100, 80, 40)), [Cut(Plane(X, 50.0)), Cut(Plane(Y, 30.0))])
    found = find_order(division, all_pinned(division))
    assert found.is_possible
    assert found.findings == ()
    # The last cut closes on both sides of the first, then the first in one push.
    assert [len(step.seams) for step in found.steps] == [1, 1, 2]
    by_name = {seam.name: seam for seam in division.seams}
    assert [{by_name[name].cut for name in step.seams} for step in found.steps] == [{1}, {1}, {0}]
    assert len(found.steps[2].moving) == len(found.steps[2].standing) == 2
    # The smaller group moves: 30 of 80 mm wide, towards the larger.
    assert [step.direction for step in found.steps[:2]] == [Y, Y]
    assert pushes_clear(division, found.steps) == [frozenset(division.by_name)]


def tee():
    stem, bar = Solid.box((20, 30, 60), (40, 0, 0)), Solid.box((100, 30, 20), (0, 0, 60))
    return divide(stem.union(bar), [Cut(Plane(Z, 60.0)), Cut(Plane(X, 50.0), "2")])


def test_a_tee_of_three_pieces():
    division = tee()
    assert len(division.seams) == 3
    found = find_order(division, all_pinned(division))
    # Pins leave one order: the bar first, then both its halves on the stem at once.
    assert found.is_possible
    bar = {seam.name for seam in division.seams if seam.cut == 1}
    assert [set(step.seams) for step in found.steps] == [bar, set(all_pinned(division)) - bar]
    last = found.steps[1]
    assert (last.moving, last.direction) == (("1",), Z)
    pushes_clear(division, found.steps)


def test_rows_of_pieces_in_every_direction():
    planes = [Plane(normal, offset) for normal in (X, Y, Z) for offset in (30.0, 60.0)]
    division = divide(Solid.box((90, 90, 90)), [Cut(plane) for plane in planes])
    assert len(division.pieces) == 27
    found = find_order(division, all_pinned(division))
    assert found.is_possible
    assert len(found.steps) == 26
    assert pushes_clear(division, found.steps) == [frozenset(division.by_name)]


def ring(pieces=3):
    """Return a ring of 20 to 40 mm, 15 mm high, cut by half planes; its seams close round it."""
    turns = 2 * np.pi * np.arange(pieces) / pieces
    whole = Solid.cylinder((0, 0, 0), (0, 0, 15), 40, 96)
    whole = whole.difference(Solid.cylinder((0, 0, -1), (0, 0, 16), 20, 96))
    sectors, seams = [], []
    for index, turn in enumerate(turns):
        fan = np.linspace(turn, turn + 2 * np.pi / pieces, 25)
        wedge = shapely.Polygon(
            [(0, 0), *(100 * np.column_stack([np.cos(fan), np.sin(fan)])).tolist()]
        )
        solid = whole.intersection(Solid.prism(wedge, Plane(Z, 0.0), -1, 16))
        sectors.append(Piece(f"P{index + 1}", index + 1, solid))
        plane = Plane((-math.sin(turn), math.cos(turn), 0.0), 0.0)
        corners = [
            (r * math.cos(turn), r * math.sin(turn), z)
            for r, z in ((20, 0), (40, 0), (40, 15), (20, 15))
        ]
        section = Section(plane, (shapely.Polygon(plane.to_plane(corners)),))
        before = f"P{index or pieces}"
        seams.append(Seam(f"S{index + 1}", index, before, f"P{index + 1}", section))
    return Division(whole, tuple(sectors), tuple(seams))


def test_a_ring_with_pins_conflicts():
    division = ring()
    found = find_order(division, all_pinned(division))
    assert not found.is_possible
    (finding,) = found.findings
    assert finding.kind == "assembly.conflict"
    assert finding.severity is Severity.FAULT
    assert finding.message.startswith("Seams S1, S2 and S3 close along different directions")
    assert "loose dowels" in finding.message
    assert "common direction" in finding.message
    assert finding.measured == pytest.approx(60.0)
    assert len(finding.where) == 3
    # The steps are those of the proposal, one seam with loose dowels.
    assert len(found.steps) == 2
    pushes_clear(division, found.steps)
    for seam in division.seams:
        joints = all_pinned(division)
        del joints[seam.name]
        assert find_order(division, joints).is_possible


def test_a_ring_is_closed_with_glue_or_turned_holes():
    division = ring()
    glued = find_order(division, {})
    assert glued.is_possible
    pushes_clear(division, glued.steps)
    # The third piece goes in along the middle of its sector, square to nothing.
    last = glued.steps[-1]
    (name,) = last.moving
    middle = division.piece(name).solid.centroid * (1, 1, 0)
    assert last.direction == pytest.approx(-middle / np.linalg.norm(middle), abs=1e-6)
    # Pins along that direction in both of its seams do as well.
    joints = all_pinned(division)
    way = tuple(middle / np.linalg.norm(middle))
    joints |= {s.name: pinned(s, way) for s in division.seams if name in (s.below, s.above)}
    turned = find_order(division, joints)
    assert turned.is_possible
    pushes_clear(division, turned.steps)


def test_a_ring_of_four_and_one_of_five():
    # Halves of a ring of four meet in one plane; a ring of five has no such halves.
    division = ring(4)
    found = find_order(division, all_pinned(division))
    assert found.is_possible
    assert [len(step.seams) for step in found.steps] == [1, 1, 2]
    pushes_clear(division, found.steps)
    assert not find_order(ring(5), all_pinned(ring(5))).is_possible


@pytest.mark.parametrize("held", ["pins", "screws", "flange", "register"])
def test_what_binds_a_seam(held):
    division = ring()

    def joint(seam):
        at, axis = tuple(seam.section.centroid), seam.plane.normal
        if held == "pins":
            return pinned(seam)
        if held == "screws":
            numbers = (16.0, "insert", 5.0, 0, 3.4, 6.5, False, 8.0, 4.0, 0.0, 5.0)
            return Joint(seam.name, screws=(Screw(at, axis, "ISO 4762", "M3", *numbers),))
        if held == "flange":
            return Joint(seam.name, flange=Flange((((0.0, 0.0), (10.0, 0.0)),), 8.0, 4.0))
        return Joint(seam.name, register=Register("tongue", 3.0, 2.0, 0.2))

    found = find_order(division, {seam.name: joint(seam) for seam in division.seams})
    assert [finding.kind for finding in found.findings] == ["assembly.conflict"]


def test_pins_that_lie_along_two_axes_cannot_go_in():
    division = divide(Solid.box((100, 80, 40)), [Cut(Plane(X, 50.0))])
    (seam,) = division.seams
    pins = pinned(seam).pins + pinned(seam, (math.cos(0.1), math.sin(0.1), 0.0)).pins
    found = find_order(division, {seam.name: Joint(seam.name, pins)})
    (finding,) = found.findings
    assert finding.message.startswith(f"Seam {seam.name} cannot close")
    assert finding.measured == pytest.approx(math.degrees(0.1))


# -- brute force -----------------------------------------------------------------------------


def graph(random, count, normals, held):
    """Return a division of balls that touch nowhere, with seams at random between them."""
    pieces = tuple(
        Piece(f"P{index}", index + 1, Solid.box((1, 1, 1), (3 * index, 0, 0)))
        for index in range(count)
    )
    pairs = list(combinations(range(count), 2))
    tree = [(int(random.integers(0, index)), index) for index in range(1, count)]
    more = [pair for pair in pairs if pair not in tree and random.random() < 0.4]
    seams = []
    for number, (one, other) in enumerate(tree + more):
        normal = normals[int(random.integers(len(normals)))]
        plane = Plane(tuple(np.array(normal) * random.choice([-1.0, 1.0])), 0.0)
        square = shapely.box(0, 0, *random.uniform(1, 5, 2))
        names = f"P{one}", f"P{other}"
        seams.append(Seam(f"S{number + 1}", number, *names, Section(plane, (square,))))
    division = Division(pieces[0].solid, pieces, tuple(seams))
    return division, {s.name: pinned(s) for s in seams if random.random() < held}


def brute(division, joints):
    """Return whether any binary tree of groups can be put together, and by which steps."""

    def oriented(seam, leaves):
        sign = 1.0 if seam.above in leaves else -1.0
        return sign * np.array(seam.plane.normal)

    def connected(group):
        reached, edge = {min(group)}, {min(group)}
        while edge:
            edge = {
                name
                for seam in division.seams
                for name in (seam.below, seam.above)
                if seam.below in group and seam.above in group
                if {seam.below, seam.above} & edge
            } - reached
            reached |= edge
        return reached == group

    @cache
    def opens(stays, leaves):
        between = [
            seam
            for seam in division.seams
            if (seam.below in stays and seam.above in leaves)
            or (seam.above in stays and seam.below in leaves)
        ]
        normals = np.array([oriented(seam, leaves) for seam in between])
        ways = [n for n, s in zip(normals, between, strict=True) if s.name in joints]
        if ways:
            aligned = all(np.dot(way, ways[0]) > 1 - 1e-9 for way in ways)
            return aligned and bool((normals @ ways[0] > -1e-6).all())
        # Any direction but none: the farthest along each axis within the half spaces.
        for axis in range(3):
            for sign in (1, -1):
                aim = np.zeros(3)
                aim[axis] = -sign
                best = linprog(aim, A_ub=-normals, b_ub=np.zeros(len(normals)), bounds=(-1, 1))
                if best.fun < -1e-6:
                    return True
        return False

    @cache
    def builds(group):
        if len(group) == 1:
            return True
        first, *rest = sorted(group)
        for size in range(len(rest)):
            for more in combinations(rest, size):
                stays = frozenset({first, *more})
                leaves = group - stays
                hold = connected(stays) and connected(leaves)
                if hold and opens(stays, leaves) and builds(stays) and builds(leaves):
                    return True
        return False

    return builds(frozenset(division.by_name))


@pytest.mark.parametrize("held", [0.0, 0.3, 0.6, 1.0])
def test_the_same_as_brute_force_on_axis_parallel_normals(held):
    random = np.random.default_rng(int(100 * held))
    verdicts = []
    for _ in range(40):
        division, joints = graph(random, int(random.integers(3, 6)), [X, Y, Z], held)
        expected = brute(division, joints)
        found = find_order(division, joints)
        conflicts = [f for f in found.findings if f.kind == "assembly.conflict"]
        assert (not conflicts) == expected
        verdicts.append(expected)
        if not expected and found.steps:
            assert len(found.steps) == len(division.pieces) - 1
    assert verdicts.count(True) > 3
    assert held < 0.5 or verdicts.count(False) > 3


@pytest.mark.parametrize("held", [0.0, 0.2])
def test_the_same_as_brute_force_on_any_normals(held):
    random = np.random.default_rng(7 + int(100 * held))
    verdicts = []
    for _ in range(25):
        normals = random.normal(size=(6, 3))
        normals /= np.linalg.norm(normals, axis=1)[:, None]
        division, joints = graph(random, 5, [tuple(n) for n in normals], held)
        verdicts.append(brute(division, joints))
        conflicts = [f for f in find_order(division, joints).findings if "conflict" in f.kind]
        assert (not conflicts) == verdicts[-1]
    assert verdicts.count(True) > 3


def test_what_a_conflict_names_and_proposes():
    # The seams that are named conflict with all others glued; with the dowels of the proposal
    # loose, everything goes together.
    random = np.random.default_rng(3)
    proposed = 0
    for _ in range(40):
        division, joints = graph(random, 5, [X, Y, Z], 1.0)
        found = find_order(division, joints)
        conflicts = [f for f in found.findings if f.kind == "assembly.conflict"]
        assert bool(conflicts) != brute(division, joints)
        for conflict in conflicts:
            named, advice = (part.replace(",", " ").split() for part in conflict.message.split(";"))
            binding = {name: joint for name, joint in joints.items() if name in named}
            assert not brute(division, binding)
            if "loose" in advice:
                loose = set(advice[: advice.index("loose")]) & set(joints)
                assert loose
                tight = {name: joint for name, joint in joints.items() if name not in loose}
                assert brute(division, tight)
                proposed += 1
    assert proposed > 5


def test_pieces_glued_all_round():
    # Six seams round one piece, and each of its neighbours held by all others: no way out.
    pieces = tuple(
        Piece(f"P{index}", index + 1, Solid.box((1, 1, 1), (3 * index, 0, 0))) for index in (0, 1)
    )
    ways = [tuple(sign * np.array(way)) for way in (X, Y, Z) for sign in (1.0, -1.0)]
    square = (shapely.box(0, 0, 1, 1),)
    seams = tuple(
        Seam(f"S{index + 1}", 0, "P0", "P1", Section(Plane(way, 0.0), square))
        for index, way in enumerate(ways)
    )
    found = find_order(Division(pieces[0].solid, pieces, seams), {})
    (finding,) = found.findings
    assert finding.kind == "assembly.conflict"
    assert "S1, S2, S3, S4, S5 and S6" in finding.message
    assert finding.message.endswith("cut elsewhere.")
    assert found.steps == ()


# -- on the way ------------------------------------------------------------------------------


def hook():
    """Return a bar in a clamp that is open to +x and to both sides in y; they touch at the left."""
    clamp = Solid.box((30, 20, 30)).difference(Solid.box((25, 20, 10), (5, 0, 10)))
    lip = Solid.box((3, 20, 2), (27, 0, 10))
    bar = Solid.box((20, 20, 8), (5, 0, 11))
    plane = Plane(X, 5.0)
    corners = plane.to_plane([(5, 0, 11), (5, 20, 11), (5, 20, 19), (5, 0, 19)])
    seam = Seam("S1", 0, "clamp", "bar", Section(plane, (shapely.Polygon(corners),)))
    pieces = (Piece("clamp", 1, clamp.union(lip)), Piece("bar", 2, bar))
    return Division(clamp, pieces, (seam,))


def test_a_lip_in_the_way():
    division = hook()
    # The lip is 2 mm high and the bar begins 1 mm above the ground: out along x it runs into it.
    found = find_order(division, all_pinned(division))
    (finding,) = found.findings
    assert finding.kind == "assembly.blocked"
    assert finding.measured > finding.allowed
    assert finding.message.startswith("Piece 2 cannot be slid into place at seam S1")
    assert len(found.steps) == 1
    # Glued, it slides in from the side.
    found = find_order(division, {})
    assert found.is_possible
    assert abs(found.steps[0].direction[1]) == 1.0
    pushes_clear(division, found.steps)
    # Without the lip it goes straight in.
    solids = {
        name: piece.solid.difference(Solid.box((3, 20, 2), (27, 0, 10)))
        for name, piece in division.by_name.items()
    }
    assert find_order(division, all_pinned(division), solids).is_possible


def test_overlap_on_the_way_is_a_volume():
    wall = Solid.box((2, 50, 50), (100, 0, 0))
    slug = Solid.box((20, 10, 10), (0, 20, 20))
    # A wall 2 mm thick lies between two of the 20 places: the corners find it.
    most = overlap_on_the_way([wall], [slug], np.array(X), [Y], 1e-3)
    assert 1.0 <= most <= 2 * 10 * 10
    assert overlap_on_the_way([wall], [slug], -np.array(X), [Y], 1e-3) == 0.0
    assert overlap_on_the_way([wall], [slug], np.array(Z), [Y], 1e-3) == 0.0
    assert overlap_on_the_way([wall], [slug], -np.array(X), [X], 1e-3) == 0.0


# -- screws ----------------------------------------------------------------------------------


def slotted(screw_axis):
    """Return a block with a slot that is open to +x, cut below and above the slot's floor.

    A screw across the lower cut has its head in the slot, which is 10 mm high.
    """
    block = Solid.box((60, 40, 60)).difference(Solid.box((40, 40, 10), (20, 0, 20)))
    division = divide(block, [Cut(Plane(Z, 10.0)), Cut(Plane(Z, 30.0), "2")])
    lower = next(seam for seam in division.seams if seam.cut == 0)
    numbers = (12.0, "insert", 10.0, 0, 3.4, 6.5, False, 8.0, 4.0, 0.0, 5.0)
    screw = Screw((40.0, 20.0, 10.0), screw_axis, "ISO 4762", "M3", *numbers)
    joints = {lower.name: Joint(lower.name, screws=(screw,))}
    hole = Solid.cylinder((40, 20, -1), (40, 20, 20.1), 1.7)
    solids = {piece.name: piece.solid.difference(hole) for piece in division.pieces}
    return division, joints, solids


def test_screws_are_reached_when_their_seam_closes():
    division, joints, solids = slotted((0.0, 0.0, -1.0))
    (lower,) = joints
    # Without regard to screws the last cut closes first, and the slot shuts the driver out.
    assert find_order(division, joints, solids).steps[-1].seams == (lower,)
    reach = screws_reached(division, joints, solids, Tool("straight", 4.0, 60.0))
    found = find_order(division, joints, solids, reach)
    assert found.is_possible
    assert found.steps[0].seams == (lower,)
    # A driver of 5 mm fits the slot, but the screw of 12 mm cannot be put in there: no change.
    short = screws_reached(division, joints, solids, Tool("straight", 4.0, 5.0))
    assert find_order(division, joints, solids, short).steps == found.steps


def test_screws_that_are_never_reached():
    division, joints, solids = slotted((0.0, 0.0, -1.0))
    # The slot cut by another plane, so that the roof is of one piece with the floor.
    division = divide(division.part, [Cut(Plane(Z, 10.0))])
    hole = Solid.cylinder((40, 20, -1), (40, 20, 20.1), 1.7)
    solids = {piece.name: piece.solid.difference(hole) for piece in division.pieces}
    reach = screws_reached(division, joints, solids, Tool("straight", 4.0, 60.0))
    found = find_order(division, joints, solids, reach)
    assert [finding.kind for finding in found.findings] == ["joint.screw_blocked"]
    assert len(found.steps) == 1
    # Seams without screws ask for nothing.
    assert find_order(division, {}, solids, screws_reached(division, {}, {}, None)).is_possible


def test_a_nut_is_as_wide_as_the_shelf_says():
    # M4 in a spot face of 8.7 mm: 8.08 mm across the corners of 7 mm flats (ISO 4032) go in.
    block = Solid.box((40, 40, 40))
    division = divide(block, [Cut(Plane(Z, 20.0))])
    (seam,) = division.seams
    numbers = (20.0, "nut", 8.0, 0, 4.5, 8.7, False, 8.0, 4.5, 0.0, 5.0)
    screw = Screw((20.0, 20.0, 20.0), (0.0, 0.0, 1.0), "ISO 4762", "M4", *numbers)
    joints = {seam.name: Joint(seam.name, screws=(screw,))}
    ends = ((-1, 12, 4.35), (12, 28, 2.25), (28, 41, 4.35))
    holes = [Solid.cylinder((20, 20, low), (20, 20, high), r) for low, high, r in ends]
    solids = {piece.name: piece.solid.difference(*holes) for piece in division.pieces}
    tool = Tool("straight", 4.0, 60.0)

    def found(widths):
        reach = screws_reached(division, joints, solids, tool, widths)
        return [finding.kind for finding in find_order(division, joints, solids, reach).findings]

    assert found({"M4": 2 * 7 / math.sqrt(3)}) == []
    assert found({"M4": 9.0}) == ["joint.nut_blocked"]
    # The widest of any thread, 2.31 d, where the shelf has none of this size.
    assert found({"M3": 6.35}) == found(None) == ["joint.nut_blocked"]


def test_each_screw_is_turned_by_whichever_tool_reaches():
    # M3 with 2.5 mm flats: the key's arms are 20.5 and 58.5 mm (ISO 2936). One screw stands in a
    # well of 20 mm, where no key turns but a straight driver goes in; over the other there is a
    # roof 40 mm up, where the short arm of the key is all that goes in.
    part = Solid.box((200, 60, 80)).difference(
        Solid.box((20, 20, 61), (20, 20, 20)), Solid.box((140, 80, 40), (60, -10, 20))
    )
    cuts = [Cut(Plane(Z, 12.0))]
    division = divide(part, cuts)
    (seam,) = division.seams
    numbers = (12.0, "insert", 8.0, 0, 3.4, 6.5, False, 8.0, 4.0, 0.0, 5.0)
    where = ((30.0, 30.0, 12.0), (130.0, 30.0, 12.0))
    screws = tuple(Screw(at, (0.0, 0.0, -1.0), "ISO 4762", "M3", *numbers) for at in where)

    def found(part, screws):
        division = divide(part, cuts)
        holes = [Solid.cylinder((x, y, 2), (x, y, 21), 2.0) for (x, y, _) in where]
        pieces = tuple(
            replace(piece, solid=piece.solid.difference(*holes)) for piece in division.pieces
        )
        file = PartFile("part.stl", "mm", part.fingerprint)
        ups = {piece.name: Z for piece in pieces}
        plan = Plan(file, Printer(), tuple(cuts), ups, (Joint(seam.name, screws=screws),))
        return [finding.kind for finding in assembly_of(division, plan, pieces).findings]

    assert found(part, screws) == []
    # With a lid on the well nothing goes in there, and that alone is said.
    lid = part.union(Solid.box((24, 24, 2), (18, 18, 50)))
    assert found(lid, screws) == ["joint.driver_swing"]
    assert found(lid, screws[1:]) == []


def test_reach_is_asked_with_what_is_in_place():
    division = divide(Solid.box((90, 20, 20)), [Cut(Plane(X, 30.0)), Cut(Plane(X, 60.0))])
    asked = []

    def reach(seam, in_place):
        asked.append((seam.name, set(in_place)))
        both = {seam.below, seam.above} <= set(in_place)
        assert both
        shut = seam.cut == 0 and len(in_place) == 3
        return (Finding("joint.test", Severity.FAULT, "shut in"),) if shut else ()

    found = find_order(division, all_pinned(division), None, reach)
    assert found.is_possible
    first = next(seam for seam in division.seams if seam.cut == 0)
    assert found.steps[0].seams == (first.name,)
    assert (first.name, names_of(division, 1, 2)) in asked


# -- the rest --------------------------------------------------------------------------------


def test_pieces_that_no_seam_joins():
    part = Solid.box((50, 20, 20)).union(Solid.box((50, 20, 20), (0, 40, 0)))
    division = divide(part, [Cut(Plane(X, 25.0))])
    found = find_order(division, all_pinned(division))
    assert found.is_possible
    assert [finding.kind for finding in found.findings] == ["assembly.apart"]
    assert faults(found.findings) == ()
    assert len(pushes_clear(division, found.steps)) == 2


def test_a_single_piece_and_a_stop():
    division = divide(Solid.box((5, 5, 5)), [])
    assert find_order(division, {}).steps == ()

    def stop(done, doing):
        raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        find_order(tee(), {}, report=stop)


def test_the_same_order_again():
    division = divide(Solid.box((100, 80, 40)), [Cut(Plane(X, 50.0)), Cut(Plane(Y, 30.0))])
    first, second = (find_order(division, all_pinned(division)) for _ in range(2))
    assert first.steps == second.steps


def test_frames_slide_too():
    # Two glued seams along x and y: the way out between them opens both the same.
    base = Solid.box((60, 60, 20)).difference(Solid.box((40, 40, 20), (20, 20, 0)))
    corner = Solid.box((40, 40, 20), (20, 20, 0))
    seams = []
    for number, normal in enumerate((X, Y)):
        plane = Plane(normal, 20.0)
        ends = [np.array(normal) * 20 + p for p in ((0, 0, 0), (0, 0, 20))]
        other = np.array(Y if normal == X else X)
        corners = [
            ends[0] + 20 * other,
            ends[0] + 60 * other,
            ends[1] + 60 * other,
            ends[1] + 20 * other,
        ]
        shape = shapely.Polygon(plane.to_plane(corners))
        assert shape.area == pytest.approx(800.0)
        seams.append(Seam(f"S{number + 1}", 0, "base", "corner", Section(plane, (shape,))))
    pieces = (Piece("base", 1, base), Piece("corner", 2, corner))
    division = Division(base.union(corner), pieces, tuple(seams))
    (step,) = find_order(division, {}).steps
    # The corner (1600 of 3600) is the smaller and moves in by 45°.
    assert step.moving == ("corner",)
    assert step.direction == pytest.approx((-math.sqrt(0.5), -math.sqrt(0.5), 0.0))
    # One of them pinned: along its axis, sliding in the other.
    (step,) = find_order(division, {"S1": pinned(seams[0])}).steps
    assert step.direction == pytest.approx((-1.0, 0.0, 0.0))
    assert not find_order(division, all_pinned(division)).is_possible
