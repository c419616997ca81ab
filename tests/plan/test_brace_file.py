"""Braces as a file. TOML is read by the standard library, beside our own."""

import tomllib
from dataclasses import MISSING, asdict, fields, replace

import numpy as np
import pytest

from splitplanner.errors import ExportError, PlanFileError
from splitplanner.plan import (
    BraceWish,
    brace_file,
    braces_from_text,
    braces_to_text,
    read_braces,
    write_braces,
)

# Nothing is as it is by default, and numbers have all the digits that they can have.
OTHER = BraceWish(
    along=(1.0, 2.0, 3.0),
    towards=(3.0, 0.0, -1.0),
    offset=-0.1 - 0.2,
    low=1 / 3,
    high=199.99999999999997,
    depth=21.0,
    stock=2.5,
    clearance=0.0,
    bridged=1e-7,
    land_margin=0.7,
    deepest=9.9,
    root=0.4,
    cutter=3.175,
    spacing=77.0,
    is_printed=True,
    metal='own "A" \\ ß 零',
    hold="insert",
    screw_standard="ISO 7380",
    screw_size="M3",
    name='odd "name".',
)
PLAIN = BraceWish((1, 0, 0), (0, 0, -1), 60, -163, 199, 20, 4, name="left")
NEEDED = (
    "along = [1, 0, 0]\ntowards = [0, 0, -1]\noffset = 60\nlow = -163\nhigh = 199\ndepth = 20\n"
    "stock = 4\n"
)


def test_other_differs_everywhere():
    given = [field for field in fields(BraceWish) if field.default is not MISSING]
    assert len(given) == 13
    assert all(getattr(OTHER, field.name) != field.default for field in given)


def test_what_is_written_is_read_back_to_the_bit(tmp_path):
    path = tmp_path / "own.toml"
    write_braces((PLAIN, OTHER), path)
    assert read_braces(path) == (PLAIN, OTHER)
    written = tomllib.loads(path.read_text(encoding="utf-8"))["braces"]
    assert list(written) == ["left", 'odd "name".']
    for brace in (PLAIN, OTHER):
        record = {name: value for name, value in asdict(brace).items() if name != "name"}
        table = written[brace.name]
        assert list(table) == list(record)
        for name, value in record.items():
            assert table[name] == (list(value) if isinstance(value, tuple) else value)
    # Each entry is told beside it, and nothing is wider than a page.
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if " = " in line]
    assert all(" # " in line for line in lines)


def test_the_text_in_the_module_is_read():
    # It has all entries, and the second half is as it is by default.
    text = "".join(
        line.removeprefix("    ") + "\n"
        for line in brace_file.__doc__.splitlines()
        if line.startswith("    ")
    )
    assert braces_from_text(text) == (PLAIN,)
    assert set(tomllib.loads(text)["braces"]["left"]) == {
        field.name for field in fields(BraceWish)
    } - {"name"}


def test_what_is_left_out_is_as_by_default_and_ways_get_length_1():
    text = f"[braces.left]\n{NEEDED}".replace("[1, 0, 0]", "[2.5, 0, 0]")
    assert braces_from_text(text) == (PLAIN,)
    tilted = NEEDED.replace("[1, 0, 0]", "[1, 1, 0]")
    (brace,) = braces_from_text(f"[braces.a]\n{tilted}")
    assert brace.along == pytest.approx(np.array([1, 1, 0]) / np.sqrt(2))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "holds no brace"),
        ("braces = 3", "holds no brace"),
        ("[braces]\nleft = 3", "“braces.left”: a brace is a table of its own"),
        (f"depth = 3\n[braces.left]\n{NEEDED}", "wrong entry “depth”: each brace is a table"),
        (
            f"[braces.left]\n{NEEDED}name = 'b'",
            "“braces.left.name”: a brace is called as its",
        ),
        (f"[braces.' ']\n{NEEDED}", "a brace without a name"),
        (f"[braces.left]\n{NEEDED}thick = 3", "“braces.left.thick”: it is not known; there are"),
        ("[braces.left]\nalong = [1, 0, 0]", "lacks the entry “braces.left.towards”"),
        (f"[braces.left]\n{NEEDED}hold = 'glue'", "it is one of 'nut', 'insert', 'plastic'"),
        (f"[braces.left]\n{NEEDED}metal = 3", "“braces.left.metal”"),
        (f"[braces.left]\n{NEEDED}root = 0", "“braces.left”: The root of a brace must be above 0"),
        (
            f"[braces.left]\n{NEEDED.replace('199', '-200')}",
            "A brace must end beyond its start, got -163 to -200 mm",
        ),
        (
            f"[braces.left]\n{NEEDED.replace('[0, 0, -1]', '[1, 0, -1]')}",
            "must stand square to its way",
        ),
        ("[braces.left", "is not valid TOML"),
    ],
)
def test_wrong_files_are_told_with_their_place(tmp_path, text, said):
    path = tmp_path / "b.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(PlanFileError) as caught:
        read_braces(path)
    assert str(caught.value).startswith(f"The brace file {path} ")
    assert said in str(caught.value)


def test_files_that_cannot_be_read_or_written(tmp_path):
    with pytest.raises(PlanFileError, match="cannot be read"):
        read_braces(tmp_path / "none.toml")
    with pytest.raises(ExportError):
        write_braces((PLAIN,), tmp_path / "no" / "folder.toml")


def test_braces_of_one_name_are_one_table():
    # TOML knows no two tables of one name; a plan has none either.
    text = braces_to_text((PLAIN, replace(PLAIN, low=0.0)))
    with pytest.raises(PlanFileError, match="not valid TOML"):
        braces_from_text(text)
