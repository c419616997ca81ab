"""How seams are to be held, as a file. TOML is read by the standard library, beside our own."""

import inspect
import itertools
import tomllib
from dataclasses import asdict, fields, replace

import pytest

from splitplanner.errors import ExportError, PlanFileError
from splitplanner.plan import (
    Fastening,
    Fastenings,
    differences,
    fastening_file,
    fastenings_from_text,
    fastenings_to_text,
    read_fastenings,
    with_words,
    write_fastenings,
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
    glue_shear=8.1 + 0.2,
    glue_peel=1 / 7,
    screw_class="A2-70",
    insert_pull_out=412.3,
    resin_shear=11.1,
)


def test_other_differs_everywhere():
    assert all(getattr(OTHER, field.name) != field.default for field in fields(Fastening))


SEAMS = {"S10": OTHER, "S3": replace(OTHER, register="lap"), 'odd "name".': Fastening()}


@pytest.mark.parametrize("own", [{}, SEAMS], ids=["none", "seams"])
@pytest.mark.parametrize("general", [Fastening(), OTHER], ids=["usual", "other"])
def test_what_is_written_is_read_back_to_the_bit(tmp_path, general, own):
    path, fastenings = tmp_path / "own.toml", Fastenings(general, own)
    write_fastenings(fastenings, path)
    assert read_fastenings(path) == fastenings
    written = tomllib.loads(path.read_text(encoding="utf-8"))
    tables = written.pop("seams", {})
    assert written == asdict(general)
    # A table has what differs, and nothing else.
    assert tables == {
        seam: {name: value for name, value in asdict(each).items() if value != written[name]}
        for seam, each in own.items()
    }
    again = path.read_bytes()
    write_fastenings(read_fastenings(path), path)
    assert path.read_bytes() == again


def test_every_entry_says_what_it_is():
    lines = fastenings_to_text(Fastenings(OTHER)).splitlines()
    assert len(lines) == len(fields(Fastening))
    for line, field in zip(lines, fields(Fastening), strict=True):
        assert line.startswith(f"{field.name} = ")
        assert len(line.rpartition("# ")[2]) > 5


def test_the_entries_in_the_description_are_the_defaults():
    _, text, table = fastening_file.__doc__.split("::\n")
    text = inspect.cleandoc(text.partition("\n\nA table")[0])
    assert tomllib.loads(text) == asdict(Fastening())
    single = fastenings_from_text(inspect.cleandoc(table))
    assert single.own == {"S3": Fastening(register="tongue", screws="nut")}


def test_what_is_left_out_is_as_usual(tmp_path):
    assert fastenings_from_text("") == Fastenings()
    # Whole numbers are lengths too, and some editors write a mark before the text.
    path = tmp_path / "few.toml"
    path.write_bytes(b"\xef\xbb\xbf" + b'coat = 1\nflange = "never"\n')
    assert read_fastenings(path) == Fastenings(Fastening(coat=1.0, flange="never"))


def test_a_table_of_a_seam_has_what_differs_of_the_general_entries():
    text = 'coat = 0.1\nscrews = "nut"\n[seams.S3]\nscrews = "none"\ncoat = 0\n[seams.S12]\n'
    read = fastenings_from_text(text)
    assert read.general == Fastening(coat=0.1, screws="nut")
    # An entry that is the default differs all the same where the general one is another.
    assert read.own == {"S3": Fastening(), "S12": read.general}
    assert read.of("S3") == Fastening()
    assert read.of("S4") == read.general


WRONG = [
    ("pins =", "is not valid TOML"),
    ("nonsense = 1", "“nonsense”: it is not known; there are pins, screws, "),
    ("nonsense = 1", "insert_pull_out, resin_shear, seams."),
    ("a-b.c = 1", "“a-b”: it is not known"),
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
    ("glue_shear = -1", "The glue's lap shear strength is between 0 and 100 MPa, got -1"),
    ("glue_peel = nan", "at which it opens is between 0 and 100 MPa, got nan"),
    ("insert_pull_out = 1e6", "pulls an insert out is between 0 and 100000 N, got 1e+06"),
    ("resin_shear = inf", "strength of the tape's resin is between 0 and 100 MPa, got inf"),
    ('screw_class = "7.7"', "“screw_class”: it is one of '4.6', '4.8', "),
    ("screw_class = 8.8", "“screw_class”: it is one of '4.6', '4.8', "),
    ("[seams.S3]\nregister = 'dovetail'", "“seams.S3.register”: it is one of 'none', 'lap'"),
    ("[seams.S3]\ncolour = 1", "“seams.S3.colour”: it is not known; there are pins, screws, "),
    ("[seams.S3]\ncoat = 7", "“seams.S3”: The coat must be between 0 and 5 mm, got 7 mm"),
    ("[seams.S3.more]\ncoat = 1", "“seams.S3.more”: it is not known"),
    ("[[seams]]\ncoat = 1", "“seams”: what differs of a single seam is a table of its own"),
    ("[seams]\nregister = 'lap'", "“seams.register”: what differs of a single seam is a table"),
    ("[seams]\n'' = {coat = 1}", "a seam without a name"),
]


@pytest.mark.parametrize(("text", "words"), WRONG)
def test_a_wrong_entry_is_one_sentence_with_file_and_entry(tmp_path, text, words):
    path = tmp_path / "wrong.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(PlanFileError) as caught:
        read_fastenings(path)
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
            read_fastenings(tmp_path / name)
        assert str(tmp_path / name) in str(caught.value)


def test_a_file_that_cannot_be_written_leaves_what_was_there(tmp_path):
    with pytest.raises(ExportError):
        write_fastenings(Fastenings(OTHER), tmp_path / "no" / "own.toml")
    assert list(tmp_path.iterdir()) == []


def test_every_word_can_be_read():
    """All combinations of the words that an entry may be, from the type hints' own lists."""
    holds = ("none", "nut", "insert", "plastic")
    flanges = ("never", "where needed", "always")
    registers = ("none", "lap", "tongue", "studs", "wedge")
    marks = ("none", "engraved", "raised")
    for screws, flange, register, mark in itertools.product(holds, flanges, registers, marks):
        way = Fastening(screws=screws, flange=flange, register=register, marks=mark)
        wanted = Fastenings(way, {"S1": replace(way, pins=False)})
        assert fastenings_from_text(fastenings_to_text(wanted)) == wanted


# -- ways that differ -------------------------------------------------------------------------
def test_single_seams_follow_the_general_way_but_for_what_differs():
    before = Fastenings(Fastening(coat=0.1), {"S1": Fastening(coat=0.2, register="lap")})
    after = before.with_general(Fastening(pins=False, coat=0.3))
    assert after.of("S2") == Fastening(pins=False, coat=0.3)
    assert after.of("S1") == Fastening(pins=False, coat=0.2, register="lap")
    assert differences(after.of("S1"), after.general) == {"coat": 0.2, "register": "lap"}


def test_a_seam_goes_back_to_the_general_way():
    held = Fastenings().with_own("S1", OTHER).with_own("S2", Fastening(slots=False))
    assert set(held.own) == {"S1", "S2"}
    assert held.with_own("S1", None).own == {"S2": Fastening(slots=False)}
    # The general way is none of its own.
    assert held.with_own("S1", Fastening()) == held.with_own("S1", None)
    assert held.with_own("S9", None) == held


# -- a few words ------------------------------------------------------------------------------
BEFORE = Fastenings(Fastening(screws="nut"), {"S3": Fastening(screws="nut", coat=0.2)})


@pytest.mark.parametrize(
    ("words", "seam", "changed"),
    [
        ("S3: register=tongue, screws=none", "S3", {"register": "tongue", "screws": "none"}),
        ("S3:coat=1", "S3", {"coat": 1.0}),
        (" S1 : pins = false ,slots=no", "S1", {"pins": False, "slots": False}),
        ("S1: screw_standard=ISO 7380-1, screw-size=M4", "S1",
         {"screw_standard": "ISO 7380-1", "screw_size": "M4"}),
        ("S1: flange=where-needed, marks=raised, press_fit=yes", "S1",
         {"marks": "raised", "press_fit": True}),
        ("S1: flange='always'", "S1", {"flange": "always"}),
        ("S3: glue_shear=8", "S3", {"glue_shear": 8.0}),
        ("S3: glue-peel=2, screw_class=12.9, insert-pull-out=400, resin_shear=10", "S3",
         {"glue_peel": 2.0, "screw_class": "12.9", "insert_pull_out": 400.0, "resin_shear": 10.0}),
        ("S1: tape-plies=2, tape_fibre_share=.45", "S1",
         {"tape_plies": 2, "tape_fibre_share": 0.45}),
    ],
)  # fmt: skip
def test_a_few_words_say_how_one_seam_is_held(words, seam, changed):
    after = with_words(BEFORE, words)
    assert after.of(seam) == replace(BEFORE.of(seam), **changed)
    assert after.general == BEFORE.general
    assert {**after.own, seam: None} == {**BEFORE.own, seam: None}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("S3", "write its name, a colon and the entries"),
        ("S3: coat", "write its name, a colon and the entries"),
        ("S3:", "write its name, a colon and the entries"),
        (": coat=1", "write its name, a colon and the entries"),
        ("S3: coat=1,", "write its name, a colon and the entries"),
        ("coat=1", "write its name, a colon and the entries"),
        ("S3: colour=red", "“colour”: it is not known; there are pins, screws, "),
        ("S3: register=dovetail", "“register”: it is one of 'none', 'lap', 'tongue', 'studs'"),
        ("S3: coat=thin", "“coat”: input should be a valid number"),
        ("S3: coat=9", "The coat must be between 0 and 5 mm, got 9 mm"),
        ("S3: coat=nan", "The coat must be between 0 and 5 mm"),
        ("S3: tape_plies=1.5", "“tape_plies”: input should be a valid integer"),
        ("S3: pins=perhaps", "“pins”: input should be a valid boolean"),
        ("S3: coat=1, coat=2", "“coat” twice"),
    ],
)
def test_words_that_say_nothing_are_refused_in_a_sentence(words, told):
    with pytest.raises(PlanFileError) as caught:
        with_words(BEFORE, words)
    said = str(caught.value)
    assert f"“{words}”" in said
    assert told in said
    assert said.endswith(".")
    assert not said.endswith("..")
    assert "\n" not in said
