"""Cuts that are remembered."""

import pytest

from splitplanner.plan import Cut, RememberedCuts, divide
from splitplanner.solid import Plane, Solid

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
FIRST, SECOND, THIRD = Cut(Plane(X, 50.0)), Cut(Plane(Y, 50.0), "1"), Cut(Plane(Z, 50.0), "1.2")
THIRD_OF_FIRST = Cut(Plane(Z, 40.0), "2")
OTHER = Cut(Plane(Z, 30.0))


@pytest.fixture
def made(monkeypatch):
    """The planes of all cuts that the kernel makes."""
    planes = []
    inner = Solid.split

    def counted(solid, plane):
        planes.append(plane)
        return inner(solid, plane)

    monkeypatch.setattr(Solid, "split", counted)
    return planes


def names(division):
    return sorted(piece.name for piece in division.pieces)


def test_what_comes_of_a_cut_is_what_divide_finds(made):
    part = Solid.box((100, 100, 100))
    cutter = RememberedCuts(part, 1000)
    for cuts in ((FIRST, SECOND, THIRD), (FIRST, SECOND), (FIRST, Cut(Plane(X, 200.0)))):
        plain = divide(part, cuts)
        for division in (divide(part, cuts, cutter=cutter), divide(part, cuts, cutter=cutter)):
            assert names(division) == names(plain)
            assert len(division.seams) == len(plain.seams)
            assert len(division.findings) == len(plain.findings)
            for piece in plain.pieces:
                same = division.piece(piece.name).solid
                assert same.fingerprint == piece.solid.fingerprint


def test_each_cut_is_made_once(made):
    part = Solid.box((100, 100, 100))
    cutter = RememberedCuts(part, 1000)
    divide(part, (FIRST, SECOND, THIRD), cutter=cutter)
    divide(part, (FIRST, SECOND), cutter=cutter)
    divide(part, (FIRST, SECOND, THIRD), cutter=cutter)
    assert made == [FIRST.plane, SECOND.plane, THIRD.plane]
    # That a plane misses is remembered too.
    missing = Cut(Plane(X, 200.0))
    divide(part, (missing,), cutter=cutter)
    divide(part, (missing,), cutter=cutter)
    assert made[3:] == [missing.plane]


def test_the_last_cuts_of_the_plan_of_longest_ago_are_dropped_first(made):
    part = Solid.box((100, 100, 100))
    below, above = part.split(FIRST.plane)
    first = len(below.faces) + len(above.faces)
    others = [
        sum(len(half.faces) for half in solid.split(cut.plane))
        for solid, cut in ((below, SECOND), (above, THIRD_OF_FIRST), (part, OTHER))
    ]
    # Room for two cuts.
    cutter = RememberedCuts(part, first + max(others))
    divide(part, (FIRST, SECOND), cutter=cutter)
    divide(part, (FIRST, THIRD_OF_FIRST), cutter=cutter)
    made.clear()
    divide(part, (FIRST, THIRD_OF_FIRST), cutter=cutter)
    assert made == []
    divide(part, (FIRST, SECOND), cutter=cutter)
    assert made == [SECOND.plane]
    made.clear()
    divide(part, (OTHER,), cutter=cutter)
    divide(part, (FIRST, SECOND), cutter=cutter)
    assert made == [OTHER.plane, SECOND.plane]


def test_pieces_of_something_else_are_not_kept(made):
    part, stranger = Solid.box((100, 100, 100)), Solid.box((100, 100, 100))
    cutter = RememberedCuts(part, 1000)
    for _ in range(2):
        divide(stranger, (FIRST, SECOND), cutter=cutter)
    assert made == [FIRST.plane, SECOND.plane] * 2


def test_a_cut_too_large_to_be_kept(made):
    part = Solid.box((100, 100, 100))
    cutter = RememberedCuts(part, 20)
    for _ in range(2):
        assert names(divide(part, (FIRST, SECOND), cutter=cutter)) == ["1.1", "1.2", "2"]
    assert made == [FIRST.plane, SECOND.plane] * 2
