"""The fit coupon from the command line: its file, what is said of it, and what is refused."""

import json

import numpy as np
import pytest
import trimesh

from splitplanner.joint.coupon import coupon
from splitplanner.workshop import Printer, hardware_shelf, read_printer
from tests.planned import run
from tests.test_command_line import assert_one_sentence, tree


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """The current folder, with some files that are in the way or wrong."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "hood.stl").write_text("somebody's model", encoding="utf-8")
    (tmp_path / "file").write_text("no folder", encoding="utf-8")
    (tmp_path / "range.toml").write_text("nozzle = -0.4", encoding="utf-8")
    return tmp_path


def test_the_coupons_file_is_its_solid(bench):
    """Read with trimesh; the volume of the solid itself is checked in its own tests."""
    outcome = run("coupon", "--diameter", "3", "--insert", "M3", "--out", "new/fit.stl")
    assert outcome.exit_code == 0, outcome.stderr
    mesh = trimesh.load(bench / "new" / "fit.stl")
    assert mesh.is_watertight
    expected = coupon(Printer(), [3.0], [hardware_shelf().insert("M3")])
    assert mesh.volume == pytest.approx(expected.solid.volume, rel=1e-5)
    assert np.allclose(mesh.bounds, expected.solid.bounds, atol=1e-4)
    printed = outcome.stdout
    for label in ("D3", "S3", "I4"):
        (line,) = (line for line in printed.splitlines() if line.startswith(f"{label} "))
        assert line.split()[-7:] == ["-10", "0", "10", "20", "30", "40", "50"]
    # Each number has a hole through the plate: V - E + F of a solid with so many handles.
    assert mesh.euler_number == 2 - 2 * 3 * 7
    assert "only an example" in printed
    assert "eye protection" in printed
    assert "hot iron" in printed
    assert printed.endswith("\nWritten to new/fit.stl.\n")


def test_what_it_says_to_enter_is_read_back(bench):
    """The line that is printed, and that of the record, as a printer's file."""
    (bench / "own.toml").write_text(
        "hole_allowance = 0.25\nhole_allowances = [[5, 0.1]]\n", encoding="utf-8"
    )
    outcome = run("coupon", "--diameter", "5", "--diameter", "3.175", "--printer", "own.toml",
                  "--json")  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    record = json.loads(outcome.stdout)
    assert record["file"] == "coupon.stl"
    # Nothing changes by it: beyond 5 mm, and below it, the one that was measured holds.
    assert record["hole_allowances"] == [[3.175, 0.1], [5.0, 0.1]]
    assert [row["label"] for row in record["rows"]] == ["D3.175", "D5", "S3.175", "S5"]
    for row in record["rows"]:
        for hole in row["holes"]:
            assert hole["number"] == pytest.approx(100 * hole["allowance"])
        assert [hole["number"] for hole in row["holes"]] == [-20, -10, 0, 10, 20, 30, 40]
    (bench / "coupon.stl").unlink()
    text = run("coupon", "--diameter", "5", "--diameter", "3.175", "--printer", "own.toml").stdout
    (line,) = (line for line in text.splitlines() if line.startswith("hole_allowances"))
    (bench / "own.toml").write_text(f"hole_allowance = 0.25\n{line}\n", encoding="utf-8")
    assert read_printer(bench / "own.toml").hole_allowances == ((3.175, 0.1), (5.0, 0.1))


def test_a_coupon_for_nothing_in_particular_has_the_usual_pins(bench):
    record = json.loads(run("coupon", "--json").stdout)
    labels = [row["label"] for row in record["rows"]]
    assert labels == ["D3", "D4", "D5", "S3", "S4", "S5"]
    assert record["hole_allowances"] == [[3.0, 0.2], [4.0, 0.2], [5.0, 0.2]]
    assert record["findings"] == []
    small = run("coupon", "--bed", "30x30x30", "--out", "small.stl")
    assert small.exit_code == 0
    assert "too large for the bed (30x30x30)" in " ".join(small.stdout.split())


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["--diameter", "0"], 6, ["wider than 0 mm"]),
        (["--diameter", "nan"], 6, ["wider than 0 mm"]),
        (["--insert", "M99"], 6, ["insert of size M99", "M3"]),
        (["--hardware", "none"], 6, ["no hardware folder"]),
        (["--bed", "abc"], 6, ["“abc”"]),
        (["--printer", "range.toml"], 6, ["nozzle must be above 0 mm"]),
        (["--out", "hood.stl"], 5, ["hood.stl is there already", "--overwrite"]),
        (["--out", "coupon.3mf"], 5, ["coupon.3mf", ".stl"]),
        (["--out", "file/deep.stl"], 5, ["cannot be written"]),
    ],
)
def test_a_coupon_that_cannot_be_made_is_one_sentence(bench, arguments, code, words):
    before = tree(bench)
    outcome = run("coupon", *arguments)
    assert outcome.exit_code == code
    assert outcome.stdout == ""
    assert_one_sentence(outcome.stderr, *words)
    assert tree(bench) == before
    fault = json.loads(run("coupon", *arguments, "--json").stdout)
    assert fault["exit_code"] == code


def test_a_coupon_is_replaced_when_asked_and_is_the_same_each_time(bench):
    arguments = ["coupon", "--diameter", "3", "--out", "hood.stl", "--overwrite"]
    assert run(*arguments).exit_code == 0
    first = (bench / "hood.stl").read_bytes()
    assert run(*arguments).exit_code == 0
    assert (bench / "hood.stl").read_bytes() == first
