"""Which wishes a plan does not keep, on bars whose figures are plain; and their file."""

import math

import numpy as np
import pytest

from splitplanner.errors import WishesError
from splitplanner.findings import Severity
from splitplanner.plan import Cut, divide
from splitplanner.score import measure, wishes_file
from splitplanner.score.keep_out import KeepOutBox, KeepOutFaces, KeepOutSphere
from splitplanner.score.wishes import (
    GoodSide,
    Wishes,
    broken_wishes,
    check_wishes,
    good_side,
    reach_across,
    regions_met,
    seam_blocked,
    size_across,
)
from splitplanner.score.wishes_file import (
    read_wishes,
    wishes_from_text,
    wishes_to_text,
    write_wishes,
)
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.workshop import Bed, Printer

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
BAR = Solid.box((400, 60, 40))
PRINTER = Printer(bed=Bed.rectangle(500, 500, 500))


def figures_of(part, *offsets, ups=None):
    division = divide(part, [Cut(Plane(X, x)) for x in offsets])
    ups = ups or {piece.name: Z for piece in division.pieces}
    return measure(division, ups, PRINTER, np.ones(len(part.faces), dtype=bool))


@pytest.fixture(scope="module")
def thirds():
    """The bar cut at 100 and 250: pieces of 100, 150 and 150 mm."""
    return figures_of(BAR, 100.0, 250.0)


def only(figures, **wishes):
    """The one finding of some wishes; None if they are kept."""
    found = broken_wishes(figures, Wishes(**wishes))
    assert len(found) <= 1
    return found[0] if found else None


def told(finding):
    return finding.kind, finding.subject, finding.measured, finding.allowed, finding.unit


def test_nothing_wanted_is_always_kept(thirds):
    assert broken_wishes(thirds, Wishes()) == ()


def test_a_seam_in_a_region(thirds):
    assert only(thirds, keep_out=(KeepOutSphere((120, 30, 20), 15),)) is None
    found = only(
        thirds,
        keep_out=(KeepOutSphere((10, 30, 20), 15), KeepOutBox((240, 0, 30), (260, 60, 50))),
    )
    assert told(found) == ("wish.keep_out", "S2", pytest.approx(60 * 10), 0, "mm2")
    assert found.severity is Severity.WARNING
    assert found.message == (
        "Seam S2 has 600 mm² in keep-out region 2 (box); move the cut away from it."
    )
    assert found.where[0, 0] == pytest.approx(250)
    # Every seam and region that meet are told.
    everywhere = Wishes(keep_out=(KeepOutBox((0, 0, 0), (400, 60, 40)),) * 2)
    assert len(broken_wishes(thirds, everywhere)) == 4


def test_a_plane_that_must_be_cut(thirds):
    assert only(thirds, must_cut=(Plane(X, 100.0), Plane((-1.0, 0.0, 0.0), -250.0))) is None
    found = only(thirds, must_cut=(Plane(X, 130.0),))
    # The middle piece reaches from 100 to 250: 30 mm of it are before the plane.
    assert told(found) == ("wish.must_cut", "2.1", pytest.approx(30), 0, "mm")
    np.testing.assert_allclose(found.where, [[130, 30, 20]], atol=1e-9)
    # Lengthwise it goes through all three; past the end through none.
    assert len(broken_wishes(thirds, Wishes(must_cut=(Plane(Y, 20.0),)))) == 3
    assert only(thirds, must_cut=(Plane(X, 400.0),)) is None


def test_a_seam_that_is_too_long(thirds):
    # The outline of 60 x 40 is 200 mm.
    assert only(thirds, longest_seam=200.0) is None
    found = broken_wishes(thirds, Wishes(longest_seam=199.0))
    assert [told(f) for f in found] == [
        ("wish.longest_seam", name, pytest.approx(200), 199, "mm") for name in ("S1", "S2")
    ]
    np.testing.assert_allclose(found[0].where, [[100, 30, 20]], atol=1e-9)


def test_a_piece_that_is_too_small(thirds):
    # The first piece is 100 mm long; that the bar is 40 mm high does not matter.
    assert only(thirds, smallest_piece=100.0) is None
    found = only(thirds, smallest_piece=101.0)
    assert told(found) == ("wish.smallest_piece", "1", pytest.approx(100), 101, "mm")
    np.testing.assert_allclose(found.where, [[50, 30, 20]], atol=1e-9)
    assert only(figures_of(BAR), smallest_piece=1000.0) is None


def test_a_piece_is_measured_square_to_a_slanting_seam():
    # 100 mm along x between x = 0 and a plane at 30°: its far corner is what counts.
    normal = (math.cos(math.radians(30)), 0.0, math.sin(math.radians(30)))
    below, _ = BAR.split(Plane.through((100, 0, 0), normal))
    # From the corner (0, 0, 0) to the plane.
    assert size_across(below, normal) == pytest.approx(100 * math.cos(math.radians(30)))


def test_the_number_of_pieces(thirds):
    assert only(thirds, pieces=3) is None
    more, fewer = only(thirds, pieces=4), only(thirds, pieces=2)
    assert told(more) == ("wish.pieces", "", 3, 4, "1")
    assert more.message == "The plan has 3 pieces, not the 4 wanted; add a cut."
    assert fewer.message.endswith("remove a cut.")
    assert only(figures_of(BAR), pieces=2).message.startswith("The plan has 1 piece,")


def test_equal_pieces(thirds):
    # The mean is 400/3: the first has 0.75 of it, the others 1.125.
    found = only(thirds, equal_pieces=True)
    assert told(found) == ("wish.equal_pieces", "1", pytest.approx(0.25), 0.1, "1")
    assert "75%" in found.message
    # 180 and 220 are off the mean by a tenth exactly; 179 and 221 by more.
    assert only(figures_of(BAR, 180.0), equal_pieces=True) is None
    assert only(figures_of(BAR, 179.0), equal_pieces=True) is not None


def test_without_support():
    # A T: its cap hangs 30 mm over the bed with 60 x 170 mm on either side of the stem.
    tee = Solid.box((60, 60, 30), (170, 0, 0)).union(Solid.box((400, 60, 10), (0, 0, 30)))
    upright = figures_of(tee)
    found = only(upright, support_free=True)
    assert told(found) == ("wish.support_free", "whole", pytest.approx(340 * 60 * 30), 1, "mm3")
    assert len(found.where) > 0
    np.testing.assert_allclose(found.where[:, 2], 30)
    turned = figures_of(tee, ups={"whole": (0.0, 0.0, -1.0)})
    assert only(turned, support_free=True) is None


def test_several_broken_wishes_are_all_told(thirds):
    found = broken_wishes(
        thirds, Wishes(pieces=1, equal_pieces=True, longest_seam=10, smallest_piece=120)
    )
    assert [f.kind.removeprefix("wish.") for f in found] == [
        "longest_seam",
        "longest_seam",
        "smallest_piece",
        "pieces",
        "equal_pieces",
    ]


# -- for a search ---------------------------------------------------------------------------------
def test_the_fast_tests_say_what_the_full_check_says():
    wishes = Wishes(
        keep_out=(
            KeepOutSphere((80, 70, 20), 18.0),
            KeepOutBox((150, 10, 5), (190, 50, 35)),
            KeepOutFaces(tuple(int(i) for i in np.flatnonzero(BAR.face_normals[:, 0] > 0.5))),
        )
    )
    blocked = []
    for x in np.arange(10.0, 400.0, 7.5):
        plane = Plane(X, float(x))
        is_blocked = seam_blocked(BAR.section(plane), BAR, wishes)
        assert is_blocked == bool(broken_wishes(figures_of(BAR, float(x)), wishes))
        # What no region meets, no region blocks.
        assert regions_met(plane, BAR, wishes) or not is_blocked
        if is_blocked:
            blocked.append(x)
    # The ball's centre is 10 mm beside the bar: it blocks sqrt(18² - 10²) = 15 mm to either side.
    ball = [x for x in np.arange(10.0, 400.0, 7.5) if abs(x - 80) < math.sqrt(18**2 - 10**2)]
    box = [x for x in np.arange(10.0, 400.0, 7.5) if 150 < x < 190]
    assert blocked == ball + box
    assert len(ball) > 2
    assert not seam_blocked(BAR.section(Plane(X, 80.0)), BAR, Wishes())


def test_how_far_a_piece_reaches_across():
    assert reach_across(BAR, Plane(X, 390.0)) == pytest.approx(10)
    assert reach_across(BAR, Plane(X, 10.0)) == pytest.approx(10)
    assert reach_across(BAR, Plane(X, 410.0)) == 0


# -- the good side --------------------------------------------------------------------------------
def test_the_good_side_is_found_or_given():
    assert (good_side(BAR, Wishes()) == seen_from_outside(BAR)).all()
    named = good_side(BAR, Wishes(good_side=GoodSide(faces=(2, 5))))
    assert np.flatnonzero(named).tolist() == [2, 5]
    front = good_side(BAR, Wishes(good_side=GoodSide(directions=((0, -3, 0), (0, 0, -1)))))
    # From the front and from below one sees those two sides of a bar, and no other.
    facing = (BAR.face_normals[:, 1] < -0.5) | (BAR.face_normals[:, 2] < -0.5)
    assert (front == facing).all()


def test_a_good_side_given_twice_or_without_length_is_refused():
    with pytest.raises(WishesError, match="not by both"):
        GoodSide(faces=(1,), directions=(Z,))
    with pytest.raises(WishesError, match="needs a length"):
        GoodSide(directions=((0, 0, 0),))


def test_faces_of_another_part_are_refused():
    named = GoodSide(faces=(2,))
    check_wishes(BAR, Wishes(good_side=named))
    check_wishes(BAR, Wishes(good_side=named, part=BAR.fingerprint))
    with pytest.raises(WishesError, match="another part"):
        check_wishes(BAR, Wishes(good_side=named, part="sha256:0"))
    # Nothing but faces depends on the mesh.
    check_wishes(BAR, Wishes(keep_out=(KeepOutSphere((0, 0, 0), 1),), part="sha256:0"))
    with pytest.raises(WishesError, match="names face 99"):
        broken_wishes(figures_of(BAR), Wishes(keep_out=(KeepOutFaces((1, 99)),)))


# -- the file -------------------------------------------------------------------------------------
FULL = Wishes(
    keep_out=(
        KeepOutBox((0.1, 0.2, 1 / 3), (40.0, 20.0, 30.0)),
        KeepOutSphere((1e-7, 60.0, -5.0), 15.5),
        KeepOutFaces((12, 13)),
    ),
    must_cut=(Plane.through((10, 20, 30), (1, 2, 3)),),
    good_side=GoodSide(directions=((0.0, -1.0, 0.0), (0.0, 0.0, 1.0))),
    longest_seam=600.0,
    smallest_piece=40.0,
    equal_pieces=True,
    pieces=4,
    support_free=True,
    part="sha256:“quoted” \\ 12",
)


@pytest.mark.parametrize("wishes", [Wishes(), FULL, Wishes(good_side=GoodSide(faces=(1, 2)))])
def test_wishes_are_read_as_they_were_written(wishes, tmp_path):
    write_wishes(wishes, tmp_path / "wishes.toml")
    assert read_wishes(tmp_path / "wishes.toml") == wishes
    assert wishes_from_text(wishes_to_text(wishes)) == wishes


def test_no_wishes_are_an_empty_file():
    assert wishes_to_text(Wishes()).strip() == ""
    assert wishes_from_text("") == Wishes()


def test_the_example_in_the_documentation_is_read():
    example = wishes_file.__doc__.split("::", 1)[1]
    wishes = wishes_from_text(example)
    assert (wishes.pieces, wishes.longest_seam) == (4, 600)
    assert [region.kind for region in wishes.keep_out] == ["box", "sphere", "faces"]
    assert wishes.must_cut == (Plane(X, 150.0),)
    # It shows every entry there is.
    for name in Wishes.__dataclass_fields__:
        assert f"{name} = " in example or f"[{name}]" in example


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("piece = 3", "“piece”"),
        ("pieces = 0", "1 or more"),
        ("pieces = true", "“pieces”"),
        ("longest_seam = -1", "above 0 mm"),
        ("smallest_piece = nan", "above 0 mm"),
        ("[[keep_out]]\nkind = 'cone'", "keep_out.0.*cone"),
        ("[[keep_out]]\nlow = [0, 0, 0]\nhigh = [1, 1, 1]", "keep_out.0"),
        ("[[keep_out]]\nkind = 'sphere'\ncentre = [0, 0, 0]\nradius = 0", "radius above 0"),
        ("[[keep_out]]\nkind = 'sphere'\ncentre = [0, 0, 0]\nsize = 0", "keep_out.0.sphere"),
        ("[[must_cut]]\nnormal = [0, 0, 0]\noffset = 1", "must_cut.0.*length"),
        ("[good_side]\ncolour = 'red'", "good_side.colour"),
        ("pieces = = 3", "not valid TOML"),
    ],
)
def test_a_wrong_entry_is_named(text, place, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(WishesError, match=place) as caught:
        read_wishes(path)
    assert caught.value.subject == str(path)
    assert str(path) in str(caught.value)


def test_a_file_that_is_missing_or_no_text_is_refused(tmp_path):
    with pytest.raises(WishesError, match="cannot be read: No such file"):
        read_wishes(tmp_path / "none.toml")
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(WishesError, match="not UTF-8"):
        read_wishes(tmp_path / "bytes.toml")
