"""Single entries of a printer's file beside all else, read back by the standard library."""

import tomllib

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.workshop import read_printer
from splitplanner.workshop.printer_file import set_entries

FILE = """# My printer
name = "Werkbank"   # in the shed
time_factor = 1.25  # of last year
nozzle = 0.6

[bed]
kind = "rectangle"
width = 200
depth = 200
height = 180
"""


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_what_is_set_takes_its_place_and_the_rest_stays(tmp_path, end):
    path = tmp_path / "own.toml"
    path.write_bytes(FILE.replace("\n", end).encode())
    before = tomllib.loads(FILE)
    set_entries(path, {"time_factor": 1.5, "mass_factor": 0.95})
    text = path.read_bytes().decode()
    assert "time_factor = 1.5  # of last year" in text
    assert "# in the shed" in text
    assert tomllib.loads(text) == {**before, "time_factor": 1.5, "mass_factor": 0.95}
    assert text.index("mass_factor") < text.index("[bed]")
    printer = read_printer(path)
    assert (printer.time_factor, printer.mass_factor) == (1.5, 0.95)
    set_entries(path, {"time_factor": 2.0, "mass_factor": 1.0})
    assert path.read_bytes().decode().count("factor") == 2


@pytest.mark.parametrize("text", ["", "nozzle = 0.6", "\n\n"])
def test_files_with_little_in_them(tmp_path, text):
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    set_entries(path, {"time_factor": 1.5})
    wanted = {**tomllib.loads(text), "time_factor": 1.5}
    assert tomllib.loads(path.read_text(encoding="utf-8")) == wanted


def test_what_cannot_be_set_alone_is_said(tmp_path):
    path = tmp_path / "own.toml"
    # The line is part of a text, and no entry.
    text = 'name = """\ntime_factor = 3\n"""\n'
    path.write_text(text, encoding="utf-8")
    with pytest.raises(WorkshopError, match=r"write time_factor = 1\.5 into it"):
        set_entries(path, {"time_factor": 1.5})
    assert path.read_text(encoding="utf-8") == text
    with pytest.raises(WorkshopError, match="missing"):
        set_entries(tmp_path / "missing.toml", {"time_factor": 1.5})
