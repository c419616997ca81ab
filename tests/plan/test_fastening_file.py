"""How seams are to be held, as a file. TOML is read by the standard library, beside our own."""

import inspect
import itertools
import tomllib
from dataclasses import asdict, fields

import pytest

from splitplanner.errors import ExportError, PlanFileError
from splitplanner.plan import (
    Fastening,
    fastening_file,
    fastening_from_text,
    fastening_to_text,
    read_fastening,
    write_fastening,
)

# Nothing is as it is by default, and numbers have all the digits that they can have.
OTHER = Fastening(
    pins=False,
    screws="insert",
    screw_standard='own "A" \\ ß 零',
    screw_size="M2.5",
    flange="always",
    bosses=True,
    register="wedge",
    press_fit=True,
    slots=False,
    coat=0.1 + 0.2,
    glue_gap=1e-7,
    tape_plies=3,
    tape_fibre="carbon",
    tape_weight=199.99999999999997,
    tape_fibre_share=1 / 3,
    marks="raised",
)


def test_other_differs_everywhere():
    assert all(getattr(OTHER, field.name) != field.default for field in fields(Fastening))


@pytest.mark.parametrize("fastening", [Fastening(), OTHER])
def test_what_is_written_is_read_back_to_the_bit(tmp_path, fastening):
    path = tmp_path / "own.toml"
    write_fastening(fastening, path)
    assert read_fastening(path) == fastening
    assert tomllib.loads(path.read_text(encoding="utf-8")) == asdict(fastening)
    again = path.read_bytes()
    write_fastening(read_fastening(path), path)
    assert path.read_bytes() == again


def test_every_entry_says_what_it_is():
    lines = fastening_to_text(OTHER).splitlines()
    assert len(lines) == len(fields(Fastening))
    for line, field in zip(lines, fields(Fastening), strict=True):
        assert line.startswith(f"{field.name} = ")
        assert len(line.rpartition("# ")[2]) > 5


def test_the_entries_in_the_description_are_the_defaults():
    text = inspect.cleandoc(fastening_file.__doc__.partition("::\n")[2])
    assert tomllib.loads(text) == asdict(Fastening())


def test_what_is_left_out_is_as_usual(tmp_path):
    assert fastening_from_text("") == Fastening()
    # Whole numbers are lengths too, and some editors write a mark before the text.
    path = tmp_path / "few.toml"
    path.write_bytes(b"\xef\xbb\xbf" + b'coat = 1\nflange = "never"\n')
    assert read_fastening(path) == Fastening(coat=1.0, flange="never")


WRONG = [
    ("pins =", "is not valid TOML"),
    ("nonsense = 1", "“nonsense” that is not known; there are pins, screws, "),
    ("a-b.c = 1", "“a-b” that is not known"),
    ('screws = "glue"', "“screws”: it is one of 'none', 'nut', 'insert', 'plastic', got \"glue\""),
    ("screws = [1]", "“screws”: it is one of 'none', 'nut'"),
    ('flange = "sometimes"', "“flange”: it is one of 'never', 'where needed', 'always'"),
    ('register = "dovetail"', "“register”: it is one of 'none', 'lap', 'tongue', 'studs', 'wedge'"),
    ("marks = true", "“marks”: it is one of 'none', 'engraved', 'raised', got true"),
    ('pins = "yes"', '“pins”: input should be a valid boolean, got "yes"'),
    ("pins = 1", "“pins”"),
    ('coat = "thin"', "“coat”"),
    ("coat = -0.1", "The coat must be between 0 and 5 mm, got -0.1 mm"),
    ("coat = nan", "The coat must be between 0 and 5 mm"),
    ("glue_gap = inf", "The glue gap must be between 0 and 5 mm"),
    ("tape_plies = 1.5", "“tape_plies”"),
    ("tape_plies = true", "“tape_plies”"),
    ("tape_plies = -1", "0 plies or more"),
    ("tape_fibre_share = 1", "between 0 and 1"),
]


@pytest.mark.parametrize(("text", "words"), WRONG)
def test_a_wrong_entry_is_one_sentence_with_file_and_entry(tmp_path, text, words):
    path = tmp_path / "wrong.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(PlanFileError) as caught:
        read_fastening(path)
    said = str(caught.value)
    assert said.startswith(f"The fastening file {path} ")
    assert words in said
    assert said.endswith(".")
    assert not said.endswith("..")
    assert "\n" not in said
    assert caught.value.subject == str(path)


def test_a_file_that_cannot_be_read(tmp_path):
    (tmp_path / "latin.toml").write_bytes('tape_fibre = "Glasfäden"'.encode("latin-1"))
    for name, words in (
        ("none.toml", "cannot be read"),
        ("", "cannot be read"),
        ("latin.toml", "is not UTF-8 text"),
    ):
        with pytest.raises(PlanFileError, match=words) as caught:
            read_fastening(tmp_path / name)
        assert str(tmp_path / name) in str(caught.value)


def test_a_file_that_cannot_be_written_leaves_what_was_there(tmp_path):
    with pytest.raises(ExportError):
        write_fastening(OTHER, tmp_path / "no" / "own.toml")
    assert list(tmp_path.iterdir()) == []


def test_every_word_can_be_read():
    """All combinations of the words that an entry may be, from the type hints' own lists."""
    holds = ("none", "nut", "insert", "plastic")
    flanges = ("never", "where needed", "always")
    registers = ("none", "lap", "tongue", "studs", "wedge")
    marks = ("none", "engraved", "raised")
    for screws, flange, register, mark in itertools.product(holds, flanges, registers, marks):
        wanted = Fastening(screws=screws, flange=flange, register=register, marks=mark)
        assert fastening_from_text(fastening_to_text(wanted)) == wanted
