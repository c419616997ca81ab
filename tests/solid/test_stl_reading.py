"""STL files in all their kinds, written by hand."""

import numpy as np
import pytest

from splitplanner.errors import ReadError
from splitplanner.findings import Severity
from splitplanner.solid import read_solid
from tests.solid.soups import box, found, stl_bytes, stl_text, together, write


def test_text_stl(tmp_path):
    part = read_solid(write(tmp_path, "a.stl", stl_text(box((100, 200, 300)))))
    assert part.solid.volume == pytest.approx(6e6)
    assert part.findings == ()


@pytest.mark.parametrize("change", [str.upper, lambda text: text.replace("\n", "\r\n")])
def test_text_stl_in_other_dress(tmp_path, change):
    part = read_solid(write(tmp_path, "a.STL", change(stl_text(box((100, 200, 300))))))
    assert part.solid.volume == pytest.approx(6e6)


def test_binary_stl_that_begins_like_text(tmp_path):
    data = stl_bytes(box((100, 200, 300)), header=b"solid part facet normal")
    part = read_solid(write(tmp_path, "a.stl", data))
    assert part.solid.volume == pytest.approx(6e6)
    assert part.triangles_read == 12


def test_binary_stl_with_bytes_at_its_end(tmp_path):
    part = read_solid(write(tmp_path, "a.stl", stl_bytes(box((100, 200, 300))) + b"\0" * 7))
    assert part.solid.volume == pytest.approx(6e6)
    assert found(part, "reading.trailing").measured == 7


def test_text_stl_without_its_last_line(tmp_path):
    text = stl_text(box((100, 200, 300))).replace("endsolid part", "")
    part = read_solid(write(tmp_path, "a.stl", text))
    assert found(part, "reading.unfinished").severity is Severity.WARNING


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (stl_bytes(box())[:-20], "states 12 triangles and holds 11"),
        (stl_bytes(box())[:50], "no STL file"),
        (b"solid", "no STL file"),
        (b"just some words that are no model at all", "no STL file"),
        (stl_text(box())[:900], "damaged or cut short"),
        (stl_text(box()).replace("vertex 5", "vertex five", 1), "coordinate is no number"),
        (b"solid nothing\nendsolid nothing\n", "no triangles"),
        (b" " * 80 + b"\0\0\0\0", "no triangles"),
    ],
)
def test_damaged_stl(tmp_path, data, what):
    with pytest.raises(ReadError, match=what) as caught:
        read_solid(write(tmp_path, "bad.stl", data))
    assert "bad.stl" in str(caught.value)
    assert caught.value.subject == "bad.stl"


def test_coordinates_that_are_no_numbers_are_counted(tmp_path):
    vertices, faces = box((100, 100, 100))
    vertices[faces[4, 0]] = np.nan
    count = int((faces == faces[4, 0]).any(axis=1).sum())
    first = int(np.argmax((faces == faces[4, 0]).any(axis=1))) + 1
    with pytest.raises(ReadError, match=f"{count} triangles .* first is triangle {first}"):
        read_solid(write(tmp_path, "a.stl", stl_bytes((vertices, faces))))


def test_several_bodies_in_one_stl(tmp_path):
    both = together(box((50, 50, 50)), box((50, 50, 50), (100, 0, 0)))
    part = read_solid(write(tmp_path, "two.stl", stl_bytes(both)))
    assert len(part.solid.bodies()) == 2
    assert part.solid.volume == pytest.approx(250_000)
