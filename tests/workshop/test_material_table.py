"""Materials of the user's own in a table, beside those with files of their own."""

from dataclasses import replace

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.workshop import (
    Material,
    drop_material,
    generic_materials,
    keep_material,
    own_materials,
)
from splitplanner.workshop.material_table import read_materials

TABLE = """density, name, price, shrink, scaled, note
1.27, PETG black, 22.5, 0.4 0.4 0.5, no, "bought in May, 2 spools"
1.24, PLA,,,,
"""
PETG = Material(
    "PETG black", 1.27, 22.5, "bought in May, 2 spools", shrink=(0.4, 0.4, 0.5), scaled=False
)
PLA = Material("PLA", 1.24)


@pytest.fixture
def shelf(tmp_path):
    (tmp_path / "materials").mkdir()
    path = tmp_path / "materials" / "shelf.csv"
    path.write_text(TABLE, encoding="utf-8-sig")
    return path


def test_rows_become_materials(shelf):
    assert read_materials(shelf) == (PETG, PLA)
    assert own_materials(shelf.parents[1]).things == (PETG, PLA)
    assert own_materials(shelf.parents[1]).faults == ()


def test_the_built_in_table_can_be_copied_and_filled_in(shelf):
    from importlib import resources

    text = (resources.files("splitplanner.workshop") / "data" / "materials.csv").read_text("utf-8")
    shelf.write_text(text, encoding="utf-8")
    assert read_materials(shelf) == generic_materials()


def test_a_row_that_is_changed_is_kept_as_a_file_that_stands_for_it(shelf):
    folder = shelf.parents[1]
    dearer = replace(PETG, price=30.0)
    keep_material(folder, dearer, before=PETG.name)
    assert own_materials(folder).things == (dearer, PLA)
    assert own_materials(folder).faults == ()
    assert shelf.read_text(encoding="utf-8-sig") == TABLE
    drop_material(folder, PETG.name)
    assert own_materials(folder).things == (PETG, PLA)
    with pytest.raises(WorkshopError, match=r"“PETG black” is a row of .*shelf.csv; remove it"):
        drop_material(folder, PETG.name)
    assert own_materials(folder).things == (PETG, PLA)
    keep_material(folder, Material("ASA", 1.07))
    drop_material(folder, "ASA")
    assert own_materials(folder).things == (PETG, PLA)


def test_what_is_wrong_in_one_table_leaves_the_others(shelf):
    (shelf.parent / "bad.csv").write_text("name\nPLA\n", encoding="utf-8")
    (shelf.parent / "up.csv").write_text("name,density\nPLA,1.3\nTPU,1.2\n", encoding="utf-8")
    kept = own_materials(shelf.parents[1])
    assert kept.things == (PETG, PLA, Material("TPU", 1.2))
    bad, twice = kept.faults
    assert bad.endswith("bad.csv, line 1: column density is missing.")
    assert twice.endswith("up.csv: there is another one called “PLA” already.")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "line 1: column name is missing"),
        ("name,density,colour\n", "line 1: column “colour” is not known; the columns may be name"),
        ("name,density,name\n", "line 1: column “name” is twice"),
        ("name,density\nPLA\n", "line 2: give 2 values, one for each column"),
        ("name,density\nPLA,\n", "line 2: the density is missing"),
        ("name,density\n\n,1.2\n", "line 3: A material needs a name."),
        ("name,density\nPLA,a lot\n", "line 2: “a lot” in column density is not a number"),
        ("name,density\nPLA,1240\n", "line 2: Material “PLA”: the density is in g/cm³"),
        ("name,density,shrink\nPLA,1.2,0.4\n", "along x, y and z, or leave it out"),
        ("name,density,shrink\nPLA,1.2,0.4 x 1\n", "in column shrink is not three numbers"),
        ("name,density,scaled\nPLA,1.2,perhaps\n", "in column scaled is neither yes nor no"),
        ("name,density\nPLA,1.2\nPLA,1.3\n", "line 3: there is a “PLA” above it already"),
        ('name,density\n"PLA,1.2\n', "not a CSV row"),
    ],
)
def test_what_is_wrong_is_one_sentence_with_its_line(shelf, text, words):
    shelf.write_text(text, encoding="utf-8")
    with pytest.raises(WorkshopError) as fault:
        read_materials(shelf)
    said = str(fault.value)
    assert words in said
    assert said.startswith(f"The table of materials {shelf}, ")
    assert said.endswith(".")
    assert not said.endswith("..")


def test_files_that_cannot_be_read_are_told(tmp_path):
    with pytest.raises(WorkshopError, match="cannot be read"):
        read_materials(tmp_path / "none.csv")
    path = tmp_path / "latin.csv"
    path.write_bytes("name,density\nPLA für alles,1.2\n".encode("latin-1"))
    with pytest.raises(WorkshopError, match="not text in UTF-8"):
        read_materials(path)
