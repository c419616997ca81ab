"""How seams are to be held, from the command line: files, single entries, hardware of one's own."""

import json
from dataclasses import replace

import pytest

from splitplanner.commands.seam_options import fastening_of, shelf_of
from splitplanner.errors import NoProposalError
from splitplanner.plan import Fastening, Fastenings, write_fastenings
from splitplanner.workshop import Printer, hardware_shelf
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
    write_fastenings(Fastenings(wanted), bench / "held.toml")
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
    assert given["own_fastenings"] == {}
    assert given["shelf"] == hardware_shelf()


# -- single seams ---------------------------------------------------------------------------
def plan_record(bench, folder):
    return json.loads((bench / folder / "plan.json").read_text(encoding="utf-8"))


def test_a_single_seam_is_held_as_its_table_and_words_say(bench):
    (bench / "held.toml").write_text(
        'coat = 0.1\n[seams.S1]\nregister = "lap"\nslots = false\n', encoding="utf-8"
    )
    outcome = planned(
        "--fastening", "held.toml", "--seam", "S1: register=tongue, coat=0", "--seam",
        "S1: marks=engraved", "--screws", "none", "--out", "a", "--json",
    )  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    record = plan_record(bench, "a")
    assert Fastening(**record["fastening"]) == Fastening(coat=0.1)
    own = Fastening(register="tongue", slots=False, coat=0.0, marks="engraved")
    assert {name: Fastening(**each) for name, each in record["own_fastenings"].items()} == {
        "S1": own
    }
    (joint,) = record["joints"]
    assert joint["register"]["form"] == "tongue"
    assert {tuple(pin["slot"]) for pin in joint["pins"]} == {(0.0, 0.0, 0.0)}
    # The plan is checked as it was made.
    assert run("check", "a/plan.json", "--quiet").exit_code == 0


def test_a_seam_that_the_plan_does_not_have_is_warned_of_once(bench):
    outcome = planned("--seam", "S9: coat=0.1", "--out", "a", "--json")
    assert outcome.exit_code == 0, outcome.stderr
    findings = json.loads(outcome.stdout)["findings"]
    (found,) = [each for each in findings if each["subject"] == "S9"]
    assert (found["kind"], found["severity"]) == ("plan.no_seam", "warning")
    assert "seam S9" in found["message"]
    again = run("check", "a/plan.json", "--quiet", "--json")
    kinds = [each["kind"] for each in json.loads(again.stdout)["findings"]]
    assert kinds.count("plan.no_seam") == 1


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--seam", "S1: register=dovetail"), "it is one of 'none', 'lap', 'tongue'"),
        (("--seam", "S1 register=lap"), "write its name, a colon and the entries"),
        (("--seam", "S1: screws=nut, screw_size=M99"), "M99"),
        (("--seam", "S1: coat=0.1", "--screw-size", "M4"), "says nothing without screws"),
        (("--seam", "S1: tape_plies=1, tape_fibre=straw"), "straw"),
    ],
)
def test_wrong_words_of_a_seam_end_it_before_anything_is_planned(bench, options, told):
    outcome = planned(*options, "--out", "a")
    assert outcome.exit_code == 6
    assert_one_sentence(outcome.stderr, told)
    assert not (bench / "a").exists()


def test_a_size_is_for_the_screws_of_a_single_seam_too():
    held = fastening_of(None, None, "M4", None, ["S2: screws=nut"], hardware_shelf(), Printer())
    assert held.own == {"S2": Fastening(screws="nut", screw_size="M4")}
    assert held.general.screws == "none"


def test_models_of_a_batch_get_the_same_words(bench, monkeypatch):
    given = {}

    def take(models, machine, out, *, options, **how):
        given.update(options.for_planning())
        raise NoProposalError("that will do.")

    monkeypatch.setattr("splitplanner.batch.plan_many", take)
    outcome = run("batch", ".", "--seam", "S1: pins=no", "--out", "b", "--quiet")
    assert outcome.exit_code == 4, outcome.stderr
    assert given["own_fastenings"] == {"S1": Fastening(pins=False)}
    assert given["fastening"] == Fastening()
