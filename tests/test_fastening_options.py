"""How seams are to be held, from the command line: files, single entries, hardware of one's own."""

import json
from dataclasses import replace

import pytest

from splitplanner.command_options import shelf_of
from splitplanner.errors import NoProposalError
from splitplanner.plan import Fastening, write_fastening
from splitplanner.workshop import hardware_shelf
from tests.planned import box, run, save
from tests.test_command_line import assert_one_sentence


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """The current folder, with a part that is cut once."""
    monkeypatch.chdir(tmp_path)
    save(box((150.0, 60.0, 50.0)), tmp_path / "long.stl")
    return tmp_path


def kept_fastening(bench, folder):
    record = json.loads((bench / folder / "plan.json").read_text(encoding="utf-8"))
    return Fastening(**record["fastening"]), record["joints"]


def planned(*options):
    return run("plan", "long.stl", "--bed", "100x100x100", "--quiet", "--no-pictures", *options)


def test_seams_are_held_as_the_file_says_and_single_entries_are_overridden(bench):
    wanted = Fastening(screws="plastic", flange="never", slots=False, coat=0.1)
    write_fastening(wanted, bench / "held.toml")
    assert planned("--fastening", "held.toml", "--out", "a").exit_code == 0
    fastening, _ = kept_fastening(bench, "a")
    assert fastening == wanted
    outcome = planned(
        "--fastening", "held.toml", "--screws", "none", "--flange", "where-needed", "--out", "b"
    )
    assert outcome.exit_code == 0, outcome.stderr
    fastening, joints = kept_fastening(bench, "b")
    assert fastening == replace(wanted, screws="none", flange="where needed")
    assert all(joint["screws"] == [] for joint in joints)
    assert sum(len(joint["pins"]) for joint in joints) >= 2
    assert planned("--out", "c").exit_code == 0
    assert kept_fastening(bench, "c")[0] == Fastening()
    assert planned("--screws", "nut", "--screw-size", "M4", "--out", "d").exit_code == 0
    assert kept_fastening(bench, "d")[0] == Fastening(screws="nut", screw_size="M4")


def test_own_pins_come_first_then_own_tables_then_the_built_in_ones(bench):
    """By the order of the rows: each of three 4 mm pins is the same but for its name."""
    header = "standard,diameter,chamfer,length_min,length_max,lengths,source\n"
    row = "{},4,0.5,8,40,16 20,bench\n"
    (bench / "pins.csv").write_text(header + row.format("first"), encoding="utf-8")
    (bench / "hardware").mkdir()
    (bench / "hardware" / "dowel_pins.csv").write_text(
        header + row.format("second"), encoding="utf-8"
    )
    (bench / "hardware" / "inserts.csv").write_text(
        "name,size,hole_diameter,length,outer_diameter,least_wall,source\n"
        "brass,M5,6.4,9.5,7.1,2.6,bench\n",
        encoding="utf-8",
    )
    shelf = shelf_of(bench / "hardware", bench / "pins.csv")
    standards = [pin.standard for pin in shelf.dowel_pins if pin.diameter == 4.0]
    assert standards[:2] == ["first", "second"]
    assert "ISO 8734" in standards[2:]
    assert shelf_of(None) == hardware_shelf()
    assert shelf.insert("M5").name == "brass"
    # What is in the folder can be asked for.
    save(box((60.0, 50.0, 40.0)), bench / "good.stl")
    outcome = run(
        "plan", "good.stl", "--screws", "insert", "--screw-size", "M5", "--hardware", "hardware",
        "--pins", "pins.csv", "--out", "out", "--quiet", "--no-pictures",
    )  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    assert kept_fastening(bench, "out")[0] == Fastening(screws="insert", screw_size="M5")


def test_a_demonstration_is_held_as_asked(bench, monkeypatch):
    """What is handed to the job, and that a wrong wish ends it before the part is made."""
    given = {}

    def take(model, machine, **how):
        given.update(how)
        raise NoProposalError("that will do.")

    monkeypatch.setattr("splitplanner.job.plan_part", take)
    part = ["demo", "--part", "l_bracket", "--triangles", "5000", "--out", "d", "--quiet"]
    refused = run(*part, "--screws", "nut", "--screw-size", "M99")
    assert refused.exit_code == 6
    assert_one_sentence(refused.stderr, "M99")
    assert not (bench / "d").exists()
    assert run(*part, "--screws", "nut", "--flange", "always").exit_code == 4
    assert given["fastening"] == Fastening(screws="nut", flange="always")
    assert given["shelf"] == hardware_shelf()
