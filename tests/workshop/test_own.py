"""The user's own printers and materials: kept whole, read again, told what is wrong."""

import tomllib
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from splitplanner.errors import ExportError, WorkshopError
from splitplanner.workshop import (
    Bed,
    Kept,
    Material,
    Printer,
    drop_material,
    drop_printer,
    generic_materials,
    generic_printers,
    keep_material,
    keep_printer,
    own_materials,
    own_printers,
    read_material,
    read_printer,
    usual_folder,
)

TRIANGLE = ((0.0, 0.0), (200.0, 0.0), (0.0, 300.0))
CLIPS = (((0.0, 0.0), (10.0, 0.0), (0.0, 10.0)), ((50.0, 0.0), (60.0, 0.0), (50.0, 5.0)))
BENCH = Printer("Bank “eins”", Bed.circle(200.0, 300.0, 2.5), nozzle=0.6, wall_lines=2, infill=0.0)
LOFT = Printer("loft", Bed.of_outline(TRIANGLE, 250.0, 1.0, CLIPS))
PETG = Material("PETG, blue", 1.27, 24.5, "my data sheet\nrevision 3")

names = st.text(st.characters(blacklist_categories=("Cs",)), min_size=1).filter(str.strip)
sizes = st.floats(1.0, 1000.0)


def stems(folder, kind):
    return sorted(path.stem for path in (folder / kind).iterdir())


# -- kept and read again ----------------------------------------------------------------------
def test_they_are_read_as_they_were_kept_by_name(tmp_path):
    for printer in (LOFT, BENCH):
        keep_printer(tmp_path, printer)
    keep_material(tmp_path, PETG)
    keep_material(tmp_path, replace(PETG, name="abs", price=None, note=""))
    assert own_printers(tmp_path) == Kept((BENCH, LOFT))
    assert own_materials(tmp_path) == Kept((replace(PETG, name="abs", price=None, note=""), PETG))
    assert stems(tmp_path, "printers") == ["bank-eins", "loft"]
    assert stems(tmp_path, "materials") == ["abs", "petg-blue"]


def test_the_files_are_plain_toml_for_the_command_line_too(tmp_path):
    path = keep_printer(tmp_path, LOFT)
    assert read_printer(path) == LOFT
    record = tomllib.loads(path.read_text(encoding="utf-8"))
    assert record["bed"] == {
        "kind": "outline",
        "width": 200.0,
        "depth": 300.0,
        "height": 250.0,
        "margin": 1.0,
        "outline": [list(corner) for corner in TRIANGLE],
        "blocked": [[list(corner) for corner in area] for area in CLIPS],
    }
    assert "outline" not in keep_printer(tmp_path, BENCH).read_text(encoding="utf-8")


@settings(deadline=None)
@given(
    st.builds(
        Printer,
        names,
        st.one_of(
            st.builds(Bed.rectangle, sizes, sizes, sizes), st.builds(Bed.circle, sizes, sizes)
        ),
        sizes,
        sizes,
        sizes,
        st.floats(1, 89),
        sizes,
        sizes,
        st.integers(1, 9),
        st.floats(0, 1),
    )
)
def test_every_printer_is_read_as_it_was_kept(tmp_path_factory, printer):
    folder = tmp_path_factory.mktemp("own")
    keep_printer(folder, printer)
    assert own_printers(folder) == Kept((printer,))


@settings(deadline=None)
@given(st.builds(Material, names, st.floats(0.1, 20), st.none() | st.floats(0, 1e9), st.text(
    st.characters(blacklist_categories=("Cs",)))))  # fmt: skip
def test_every_material_is_read_as_it_was_kept(tmp_path_factory, material):
    folder = tmp_path_factory.mktemp("own")
    keep_material(folder, material)
    assert own_materials(folder) == Kept((material,))


def test_one_of_the_same_name_is_replaced_and_a_new_name_leaves_nothing_behind(tmp_path):
    keep_printer(tmp_path, LOFT)
    keep_printer(tmp_path, replace(LOFT, nozzle=0.8))
    assert own_printers(tmp_path).things == (replace(LOFT, nozzle=0.8),)
    keep_printer(tmp_path, replace(LOFT, name="attic"), before="loft")
    assert own_printers(tmp_path).things == (replace(LOFT, name="attic"),)
    keep_printer(tmp_path, BENCH)
    keep_printer(tmp_path, replace(BENCH, name="attic"), before=BENCH.name)
    assert own_printers(tmp_path).things == (replace(BENCH, name="attic"),)
    assert len(stems(tmp_path, "printers")) == 1


def test_names_that_differ_only_in_what_no_file_can_be_called_are_kept_apart(tmp_path):
    for name in ("a/b", "a:b", "A b", "…", "?"):
        keep_printer(tmp_path, replace(BENCH, name=name))
    assert {printer.name for printer in own_printers(tmp_path).things} == {
        "a/b", "a:b", "A b", "…", "?"
    }  # fmt: skip
    assert stems(tmp_path, "printers") == ["a-b", "a-b-2", "a-b-3", "unnamed", "unnamed-2"]


def test_what_is_dropped_is_gone(tmp_path):
    keep_printer(tmp_path, LOFT)
    keep_material(tmp_path, PETG)
    drop_printer(tmp_path, "no such")
    drop_printer(tmp_path, "loft")
    drop_material(tmp_path, PETG.name)
    assert own_printers(tmp_path) == own_materials(tmp_path) == Kept(())


def test_without_a_folder_there_is_nothing(tmp_path):
    assert own_printers(tmp_path / "none") == own_materials(tmp_path / "none") == Kept(())
    assert not (tmp_path / "none").exists()


def test_the_usual_folder_is_the_users_own():
    assert usual_folder().name == "splitplanner"


# -- what is wrong ----------------------------------------------------------------------------
def test_a_file_that_is_wrong_is_told_and_the_others_are_read(tmp_path):
    keep_printer(tmp_path, LOFT)
    place = tmp_path / "printers"
    (place / "a.toml").write_text("nozzle = -1", encoding="utf-8")
    (place / "b.toml").write_text("nozzle = ", encoding="utf-8")
    (place / "c.toml").write_text("", encoding="utf-8")
    (place / "loft-too.toml").write_text('name = "loft"', encoding="utf-8")
    kept = own_printers(tmp_path)
    assert kept.things == (replace(Printer(), name="c"), LOFT)
    assert len(kept.faults) == 3
    for fault, (name, words) in zip(
        kept.faults,
        [
            ("a.toml", "the nozzle must be above 0 mm"),
            ("b.toml", "is not valid TOML"),
            ("loft-too.toml", "there is another one called “loft” already"),
        ],
        strict=True,
    ):
        assert str(place / name) in fault
        assert words in fault
        assert fault.endswith(".")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (b"density = ", "is not valid TOML"),
        (b"", "lacks the entry “density”"),
        (b"density = 1.2\ncolour = 1", "wrong entry “colour”"),
        (b'density = "much"', "wrong entry “density”"),
        (b"density = 1240", "the density is in g/cm³"),
        (b"\xff", "is not UTF-8 text"),
    ],
)
def test_what_is_wrong_in_a_material_file_is_said(tmp_path, text, expected):
    path = tmp_path / "mine.toml"
    path.write_bytes(text)
    with pytest.raises(WorkshopError, match=expected):
        read_material(path)
    with pytest.raises(WorkshopError, match="cannot be read"):
        read_material(tmp_path / "none.toml")


def test_a_material_is_called_as_its_file_if_it_has_no_name(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("density = 1.3", encoding="utf-8")
    assert read_material(path) == Material("mine", 1.3)


def test_a_printer_needs_a_name(tmp_path):
    with pytest.raises(WorkshopError, match="needs a name"):
        keep_printer(tmp_path, Printer(" "))


def test_a_place_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(ExportError, match="cannot be written"):
        keep_printer(tmp_path / "file", LOFT)


# -- the built-in ones ------------------------------------------------------------------------
def test_the_built_in_printers_are_beds_and_nothing_more():
    printers = generic_printers()
    assert [printer.name for printer in printers] == [
        "180 × 180 × 180 mm",
        "220 × 220 × 250 mm",
        "250 × 210 × 210 mm",
        "300 × 300 × 300 mm",
        "400 × 400 × 450 mm",
        "round 200 × 300 mm",
    ]
    for printer in printers:
        assert printer == Printer(printer.name, printer.bed)
        assert Bed.parse(printer.name.removesuffix("mm")) == printer.bed


def test_the_built_in_ones_have_names_of_their_own():
    for things in (generic_printers(), generic_materials()):
        assert len({thing.name for thing in things}) == len(things)
