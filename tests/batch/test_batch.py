"""Many models: failures are rows, results are kept, and no death or stop harms what is done."""

import csv
import io
import json
import multiprocessing
import os
import re
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from splitplanner.batch import BatchOptions, Outcome, folder_names, models_in, plan_many
from splitplanner.batch.marks import mark_path, only_batch
from splitplanner.batch.tables import batch_table
from splitplanner.errors import Cancelled, ExportError, ReadError
from splitplanner.output import plain_text
from splitplanner.plan import Fastening, read_loads
from splitplanner.workshop import Bed, Material, Printer
from tests.batch.models import PLAIN, PRINTER, is_begun, pipe, small_boxes, tree
from tests.planned import box, run, save

posix = pytest.mark.skipif(sys.platform == "win32", reason="pipes with names, and signals")


def ages(folder):
    return {
        path.relative_to(folder).as_posix(): path.stat().st_mtime_ns
        for path in folder.rglob("*")
        if path.is_file() and path.parent != folder
    }


def batch(models, out, **settings):
    """Plan on one thread of this process, as on any executor."""
    settings = {"options": PLAIN, "printer": PRINTER, **settings}
    if "executor" in settings or "workers" in settings:
        return plan_many(models, out=out, **settings)
    with ThreadPoolExecutor(1) as executor:
        return plan_many(models, out=out, executor=executor, **settings)


@pytest.fixture
def folder(tmp_path):
    """Three boxes that the bed holds uncut, one that it does not, and what is no model."""
    place = tmp_path / "models"
    place.mkdir()
    save(box((50.0, 30.0, 20.0)), place / "b.stl")
    save(box((40.0, 30.0, 20.0)), place / "C.stl")
    save(box((30.0, 30.0, 20.0)), place / "a.obj")
    save(box((80.0, 20.0, 20.0)), place / "long.stl")
    (place / "broken.stl").write_text("nonsense", "utf-8")
    (place / "notes.txt").write_text("no model", "utf-8")
    (place / ".hidden.stl").write_text("no model", "utf-8")
    (place / "inner.stl").mkdir()
    return place


@pytest.fixture(scope="module")
def expected(tmp_path_factory):
    """What a batch of `small_boxes` writes, on one thread."""
    place = tmp_path_factory.mktemp("expected")
    batch(small_boxes(place), place / "out")
    return tree(place / "out")


# -- which models, and where to ---------------------------------------------------------------
def test_the_models_are_those_in_the_folder_itself_by_name(folder):
    names = [path.name for path in models_in(folder)]
    assert names == ["a.obj", "b.stl", "broken.stl", "C.stl", "long.stl"]


def test_a_folder_without_models_is_refused(tmp_path):
    for place in (tmp_path, tmp_path / "nowhere"):
        with pytest.raises(ReadError):
            models_in(place)


@pytest.mark.parametrize(
    ("files", "names"),
    [
        (["a.stl", "b.stl"], ["a", "b"]),
        (["a.stl", "a.obj"], ["a-stl", "a-obj"]),
        (["a.stl", "A.stl"], ["a-stl", "A-stl-2"]),
        (["a.stl", "a.obj", "a-stl.stl"], ["a-stl-2", "a-obj", "a-stl"]),
        (["x/a.stl", "y/a.stl"], ["a-stl", "a-stl-2"]),
        (["batch.json.stl", ".batch.stl"], ["batch.json-stl", ".batch-stl"]),
        (["a..stl", "...stl"], ["a", "model"]),
        # The same letter as one code point and as two: one name on some file systems.
        (["\u00e9.stl", "e\u0301.stl"], ["\u00e9-stl", "e\u0301-stl-2"]),
    ],
)
def test_no_two_result_folders_have_one_name(tmp_path, files, names):
    assert list(folder_names([tmp_path / name for name in files])) == names


def test_models_of_one_name_both_have_their_results(tmp_path):
    one = save(box((50.0, 30.0, 20.0)), tmp_path / "a.stl")
    two = save(box((40.0, 30.0, 20.0)), tmp_path / "a.obj")
    result = batch([one, two, one], tmp_path / "out")
    assert [row.folder for row in result.rows] == ["a-stl", "a-obj"]
    volumes = [
        json.loads((tmp_path / "out" / row.folder / "scorecard.json").read_text("utf-8"))["part"][
            "volume"
        ]
        for row in result.rows
    ]
    assert volumes == pytest.approx([30000.0, 24000.0])


# -- the table --------------------------------------------------------------------------------
def test_a_failure_is_a_row_and_the_others_go_on(folder, tmp_path):
    out = tmp_path / "out"
    result = batch(models_in(folder), out)
    assert [(row.model, row.outcome, row.pieces) for row in result.rows] == [
        ("a.obj", Outcome.PLANNED, 1),
        ("b.stl", Outcome.PLANNED, 1),
        ("broken.stl", Outcome.FAILED, None),
        ("C.stl", Outcome.PLANNED, 1),
        ("long.stl", Outcome.PLANNED, 2),
    ]
    failed = result.rows[2]
    assert failed.failure.startswith("broken.stl is no STL file")
    assert failed.fault == "ReadError"
    assert not (out / "broken").exists()
    assert not result.all_planned
    record = json.loads((out / "batch.json").read_text(encoding="utf-8"))
    assert (record["planned"], record["failed"], record["waiting"]) == (4, 1, 0)
    rows = list(csv.DictReader(io.StringIO((out / "batch.csv").read_text(encoding="utf-8"))))
    for row, entry in zip(rows, record["models"], strict=True):
        assert {key: value or None for key, value in row.items()} == {
            key: None if value is None else str(value) for key, value in entry.items()
        }
        if entry["outcome"] == "planned":
            card = json.loads((out / entry["folder"] / "scorecard.json").read_text("utf-8"))
            assert entry["pieces"] == len(card["pieces"])
            assert entry["score"] == card["score"]["total"]
            assert entry["least_pieces_possible"] == card["least_pieces_possible"]["pieces"]
            # Of no material: hours alone are known.
            assert entry["print_time"] == card["printing"]["print_time"]
            assert entry["filament_mass"] is entry["spools"] is entry["filament_cost"] is None
            kinds = [finding["severity"] for finding in card["findings"]]
            assert entry["warnings"] == kinds.count("warning")
            assert entry["notes"] == kinds.count("note")
    text = plain_text(batch_table(result))
    assert failed.failure in text
    assert "4 of 5 models planned, 1 failed. Together: " in text
    assert "filament" not in text
    assert "cost" not in text


def test_the_table_tells_what_it_takes_to_print_them(tmp_path):
    models = [
        save(box((50.0, 30.0, 20.0)), tmp_path / "a.stl"),
        save(box((40.0, 30.0, 20.0)), tmp_path / "b.stl"),
    ]
    # All solid: 30 and 24 cm³ of 1.25 g/cm³ at 20 a kg, on spools of 20 g.
    options = replace(PLAIN, material=Material("plain", 1.25, price=20.0, spool_mass=20.0))
    settings = {"options": options, "printer": replace(PRINTER, infill=1.0)}
    result = batch(models, tmp_path / "out", **settings)
    record = json.loads((tmp_path / "out" / "batch.json").read_text(encoding="utf-8"))["models"]
    assert [each["filament_mass"] for each in record] == pytest.approx([37.5, 30.0], rel=1e-3)
    assert [each["filament_cost"] for each in record] == pytest.approx([0.75, 0.60], rel=1e-3)
    assert [each["spools"] for each in record] == [2, 2]
    cards = [
        json.loads((tmp_path / "out" / name / "scorecard.json").read_text(encoding="utf-8"))
        for name in "ab"
    ]
    hours = [each["print_time"] for each in record]
    assert hours == [card["printing"]["print_time"] for card in cards]
    text = plain_text(batch_table(result))
    (line,) = [line.split() for line in text.splitlines() if line.startswith("a.stl")]
    assert line[4:8] == [f"{hours[0]:.1f}", "38", "2", "0.75"]
    together = " ".join(text.split())
    assert (
        f"Together: {sum(hours):.1f} h of printing, 68 g of filament, which cost 1.35." in together
    )
    # Kept rows have them too.
    again = batch(models, tmp_path / "out", **settings)
    assert again.kept == 2
    assert again.total("mass") == pytest.approx(67.5, rel=1e-3)


def test_no_proposal_is_a_failure_with_its_sentence(tmp_path):
    model = save(box((50.0, 30.0, 20.0)), tmp_path / "a.stl")
    result = batch([model], tmp_path / "out", options=BatchOptions(proposal=9, pictures=False))
    assert result.rows[0].fault == "NoProposalError"
    assert "There is no proposal 9" in result.rows[0].failure
    assert not mark_path(tmp_path / "out", "a").exists()


def test_the_result_of_each_is_what_plan_writes(tmp_path):
    model = save(box((80.0, 20.0, 20.0)), tmp_path / "a.stl")
    batch([model], tmp_path / "out")
    alone = tmp_path / "alone" / "a"
    outcome = run("plan", model, "--bed", "60x60x60", "--out", alone, "--no-pictures", "--quiet")
    assert outcome.exit_code == 0
    assert tree(tmp_path / "out" / "a") == tree(alone)


# -- going on where an earlier run stopped ----------------------------------------------------
def test_a_second_run_plans_nothing_anew(folder, tmp_path):
    out = tmp_path / "out"
    models = [model for model in models_in(folder) if model.stem != "long"]
    batch(models, out)
    files, before = tree(out), ages(out)
    result = batch(models, out)
    assert result.kept == 3
    assert tree(out) == files
    assert ages(out) == before


@pytest.mark.parametrize(
    "change",
    ["model", "printer", "options", "fastening", "file lost", "folder lost", "mark damaged"],
)
def test_what_is_changed_or_not_whole_is_planned_anew(tmp_path, change):
    out = tmp_path / "out"
    models = [
        save(box((50.0, 30.0, 20.0)), tmp_path / "a.stl"),
        save(box((40.0, 30.0, 20.0)), tmp_path / "b.stl"),
    ]
    batch(models, out)
    whole, settings, kept = tree(out), {}, 1
    if change == "model":
        save(box((55.0, 30.0, 20.0)), models[0])
    elif change == "printer":
        settings, kept = {"printer": Printer(bed=Bed.parse("60x60x61"))}, 0
    elif change == "options":
        settings, kept = {"options": BatchOptions(seed=3, pictures=False)}, 0
    elif change == "fastening":
        other = replace(PLAIN, fastening=Fastening(coat=0.1))
        settings, kept = {"options": other}, 0
    elif change == "file lost":
        (out / "a" / "pieces.3mf").unlink()
    elif change == "folder lost":
        for path in sorted((out / "a").rglob("*"), reverse=True):
            path.rmdir() if path.is_dir() else path.unlink()
    else:
        mark_path(out, "a").write_text("[]", "utf-8")
        settings = {"overwrite": True}
    result = batch(models, out, **settings)
    assert (result.kept, result.all_planned) == (kept, True)
    assert (tree(out) == whole) == (change in ("file lost", "folder lost", "mark damaged"))
    assert batch(models, out, **settings).kept == 2


def test_weights_and_wishes_go_to_every_worker(tmp_path):
    (tmp_path / "models").mkdir()
    save(box((50.0, 30.0, 20.0)), tmp_path / "models" / "a.stl")
    (tmp_path / "wishes.toml").write_text("pieces = 2\n", "utf-8")
    command = ["batch", tmp_path / "models", "--out", tmp_path / "out", "--jobs", "1", "--quiet"]
    command += ["--no-pictures", "--json", "--weight", "pieces=0.5"]
    wanted = ["--wishes", tmp_path / "wishes.toml"]
    for options, pieces in (([], 1), (wanted, 2)):
        outcome = run(*command, *options)
        assert outcome.exit_code == 0, outcome.stderr
        assert json.loads(outcome.stdout)["models"][0]["pieces"] == pieces
    card = json.loads((tmp_path / "out" / "a" / "scorecard.json").read_text("utf-8"))
    weights = {term["criterion"]: term["weight"] for term in card["score"]["terms"]}
    assert weights["pieces"] == 0.5


def test_fastening_and_hardware_go_to_every_worker(tmp_path):
    """A pin that only the user has, in the plan that a process of its own has written."""
    (tmp_path / "models").mkdir()
    save(box((80.0, 40.0, 40.0)), tmp_path / "models" / "a.stl")
    (tmp_path / "hardware").mkdir()
    table = tmp_path / "hardware" / "dowel_pins.csv"
    header = "standard,diameter,chamfer,length_min,length_max,lengths,source\n"
    table.write_text(header + "bench rod,6,0.5,8,40,20 24,bench\n", "utf-8")
    command = ["batch", tmp_path / "models", "--out", tmp_path / "out", "--jobs", "1", "--quiet"]
    command += ["--no-pictures", "--json", "--bed", "60x60x60", "--hardware", tmp_path / "hardware"]

    def planned(*options):
        outcome = run(*command, *options)
        assert outcome.exit_code == 0, outcome.stderr
        return json.loads((tmp_path / "out" / "a" / "plan.json").read_text(encoding="utf-8"))

    plan = planned("--flange", "never")
    assert Fastening(**plan["fastening"]) == Fastening(flange="never")
    pins = [pin for joint in plan["joints"] for pin in joint["pins"]]
    assert {pin["standard"] for pin in pins} == {"bench rod"}
    mark = mark_path(tmp_path / "out", "a").read_bytes()
    assert planned("--flange", "never") == plan
    assert mark_path(tmp_path / "out", "a").read_bytes() == mark
    # Other hardware may make another plan, even where it is only called otherwise.
    table.write_text(header + "bench bar,6,0.5,8,40,20 24,bench\n", "utf-8")
    plan = planned("--flange", "never")
    pins = [pin for joint in plan["joints"] for pin in joint["pins"]]
    assert {pin["standard"] for pin in pins} == {"bench bar"}


def test_a_fastening_that_cannot_be_had_stops_the_batch_at_once(tmp_path):
    (tmp_path / "models").mkdir()
    save(box((50.0, 30.0, 20.0)), tmp_path / "models" / "a.stl")
    outcome = run("batch", tmp_path / "models", "--out", tmp_path / "out", "--screws", "insert",
                  "--screw-size", "M6", "--quiet")  # fmt: skip
    assert outcome.exit_code == 6
    assert "no heat-set insert of size M6" in outcome.stderr
    assert not (tmp_path / "out").exists()


def test_what_the_user_changed_is_only_replaced_when_asked(tmp_path):
    out = tmp_path / "out"
    model = save(box((50.0, 30.0, 20.0)), tmp_path / "a.stl")
    batch([model], out)
    plan_file = out / "a" / "plan.json"
    plan_file.write_text(plan_file.read_text("utf-8") + "\n", "utf-8")
    own = plan_file.read_bytes()
    result = batch([model], out)
    assert result.rows[0].fault == "ExportError"
    assert "--overwrite" in result.rows[0].failure
    assert plan_file.read_bytes() == own
    assert batch([model], out, overwrite=True).all_planned
    assert plan_file.read_bytes() == own[:-1]


def test_what_no_batch_wrote_is_left_alone(tmp_path):
    model = save(box((50.0, 30.0, 20.0)), tmp_path / "a.stl")
    (tmp_path / "out" / "a").mkdir(parents=True)
    (tmp_path / "out" / "a" / "letter.txt").write_text("mine", "utf-8")
    result = batch([model], tmp_path / "out", overwrite=True)
    assert "letter.txt" in result.rows[0].failure
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "batch.csv").write_text("mine", "utf-8")
    with pytest.raises(ExportError, match=r"batch\.csv"):
        batch([model], tmp_path / "other")
    assert [path.name for path in (tmp_path / "other").iterdir()] == ["batch.csv"]


def test_two_batches_do_not_write_into_one_folder(tmp_path):
    model = save(box((50.0, 30.0, 20.0)), tmp_path / "a.stl")
    with only_batch(tmp_path / "out"), pytest.raises(ExportError, match="Another batch"):
        batch([model], tmp_path / "out")
    assert batch([model], tmp_path / "out").all_planned


def test_a_report_that_cancels_leaves_what_is_done_whole(tmp_path, expected):
    models = small_boxes(tmp_path)
    out = tmp_path / "out"

    def report(done, doing):
        if doing.startswith("2 of 4"):
            raise Cancelled("Enough.")

    with ThreadPoolExecutor(1) as executor, pytest.raises(Cancelled, match="same command again"):
        plan_many(models, PRINTER, out, options=PLAIN, executor=executor, report=report)
    record = json.loads((out / "batch.json").read_text("utf-8"))
    outcomes = [entry["outcome"] for entry in record["models"]]
    assert outcomes[:2] == ["planned", "planned"]
    assert outcomes[3] == "waiting"
    assert batch(models, out).kept >= 2
    assert tree(out) == expected


# -- processes --------------------------------------------------------------------------------
def test_the_bytes_are_the_same_whatever_the_number_of_processes(tmp_path, expected):
    heard = []
    result = batch(
        small_boxes(tmp_path), tmp_path / "out", workers=2,
        report=lambda done, doing: heard.append((done, doing)),
    )  # fmt: skip
    assert [row.outcome for row in result.rows] == ["planned"] * 3 + ["failed"]
    assert tree(tmp_path / "out") == expected
    shares, said = zip(*heard, strict=True)
    assert list(shares) == sorted(shares)
    assert shares[-1] == 1.0
    assert "0 of 4 models done; in hand a.stl, b.stl" in said
    assert said[-1] == "4 models done"
    assert not multiprocessing.active_children()


@posix
def test_a_killed_process_is_survived(tmp_path, expected):
    models = small_boxes(tmp_path)
    real = models[0].read_bytes()
    pipe(models[0])
    killed = []

    def report(done, doing):
        if not killed and is_begun(tmp_path / "out", "a"):
            # The model is put back; the process goes on waiting at the pipe that was there.
            (tmp_path / "real").write_bytes(real)
            os.replace(tmp_path / "real", models[0])
            killed.extend(multiprocessing.active_children())
            for child in killed:
                child.kill()

    result = batch(models, tmp_path / "out", workers=2, report=report)
    assert len(killed) == 2
    assert [row.outcome for row in result.rows] == ["planned"] * 3 + ["failed"]
    assert tree(tmp_path / "out") == expected


@posix
def test_a_model_whose_process_dies_twice_has_failed_and_the_others_go_on(tmp_path, expected):
    models = small_boxes(tmp_path)
    pipe(models[0])
    rounds = []

    def report(done, doing):
        children = multiprocessing.active_children()
        if len(rounds) < 2 and is_begun(tmp_path / "out", "a"):
            fresh = [child for child in children if not any(child in each for each in rounds)]
            if fresh:
                rounds.append(fresh)
                for child in fresh:
                    child.kill()

    result = batch(models, tmp_path / "out", workers=2, report=report)
    assert [len(each) for each in rounds] == [2, 1]
    assert "died more than once" in result.rows[0].failure
    assert [row.outcome for row in result.rows] == ["failed", "planned", "planned", "failed"]
    # What the dead process had begun is the batch's own, and done by a later run.
    models[0].unlink()
    save(box((50.0, 30.0, 20.0)), models[0])
    assert batch(models, tmp_path / "out").kept == 2
    assert tree(tmp_path / "out") == expected


class Program:
    """A batch that runs as a program of its own, in a group of processes of its own."""

    def __init__(self, *arguments):
        self.process = subprocess.Popen(
            [sys.executable, "-m", "splitplanner", "batch", *map(str, arguments)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8",
            start_new_session=True,
        )  # fmt: skip

    def wait_until(self, truth):
        until = time.monotonic() + 120.0
        while not truth():
            assert time.monotonic() < until
            time.sleep(0.01)

    def is_alive(self):
        """Tell whether the group still has a process."""
        try:
            os.killpg(self.process.pid, 0)
        except ProcessLookupError:
            return False
        return True


@pytest.fixture
def started():
    """Give a function that starts a program; what is left of it is ended after the test."""
    programs = []

    def start(*arguments):
        programs.append(Program(*arguments))
        return programs[-1]

    yield start
    for program in programs:
        if program.is_alive():
            os.killpg(program.process.pid, signal.SIGKILL)
        program.process.communicate(timeout=30)


def is_done(out, name):
    return mark_path(out, name).exists() and not is_begun(out, name)


@posix
@pytest.mark.parametrize(("name", "to_all"), [("SIGINT", True), ("SIGTERM", False)])
def test_ctrl_c_leaves_what_is_done_whole_and_says_how_to_go_on(
    tmp_path, expected, started, name, to_all
):
    models = small_boxes(tmp_path)
    out = tmp_path / "out"
    real = models[2].read_bytes()
    pipe(models[2])
    options = [tmp_path / "models", "--out", out, "--bed", "60x60x60", "--no-pictures"]
    program = started(*options, "--jobs", "2")
    program.wait_until(lambda: is_done(out, "a") and is_done(out, "b") and is_begun(out, "c"))
    (os.killpg if to_all else os.kill)(program.process.pid, getattr(signal, name))
    printed, said = program.process.communicate(timeout=30)
    assert program.process.returncode == 130
    assert printed == ""
    assert said.endswith(
        "Stopped: 2 of 4 models planned and whole; give the same command again to go on with the "
        "rest.\n"
    )
    assert "Traceback" not in said
    program.wait_until(lambda: not program.is_alive())
    assert not [path for path in out.rglob("*") if path.name.endswith(".tmp")]
    assert {name: data for name, data in tree(out).items() if name[:2] in ("a/", "b/")} == {
        name: data for name, data in expected.items() if name[:2] in ("a/", "b/")
    }
    models[2].unlink()
    models[2].write_bytes(real)
    outcome = run("batch", *options, "--json", "--jobs", "1")
    assert outcome.exit_code == 7
    assert json.loads(outcome.stdout) == json.loads((out / "batch.json").read_text("utf-8"))
    assert tree(out) == expected


def test_the_command_prints_the_table_and_its_exit_code(tmp_path):
    (tmp_path / "models").mkdir()
    save(box((50.0, 30.0, 20.0)), tmp_path / "models" / "a.stl")
    options = [tmp_path / "models", "--out", tmp_path / "out", "--jobs", "1", "--no-pictures"]
    outcome = run("batch", *options)
    assert outcome.exit_code == 0, outcome.stderr
    assert "1 of 1 model planned." in outcome.stdout
    assert f"Written to {tmp_path / 'out'}." in outcome.stdout
    assert "1 of 1 model done" in outcome.stderr or "1 model done" in outcome.stderr
    assert run("batch", tmp_path / "out", "--out", tmp_path / "x").exit_code == 3


@posix
def test_workers_end_when_their_parent_is_killed(tmp_path, started):
    models = small_boxes(tmp_path)
    pipe(models[2])
    out = tmp_path / "out"
    program = started(tmp_path / "models", "--out", out, "--no-pictures", "--quiet")
    program.wait_until(lambda: is_begun(out, "c"))
    program.process.kill()
    program.process.wait(timeout=30)
    program.wait_until(lambda: not program.is_alive())


# -- load cases and braces --------------------------------------------------------------------
def test_load_cases_are_told_in_the_table_and_planned_anew_when_they_change(tmp_path):
    models = small_boxes(tmp_path)
    out, loads = tmp_path / "out", tmp_path / "loads.toml"
    loads.write_text(
        '[loads.bent]\naxis = "x"\nsupports = [{ station = 0 }, { station = 20 }]\n'
        "forces = [{ station = 10, force = [0, 0, -100] }]\n",
        encoding="utf-8",
    )
    options = replace(PLAIN, loads=read_loads(loads))
    result = batch(models, out, options=options)
    first = result.rows[0]
    record = json.loads((out / first.folder / "scorecard.json").read_text("utf-8"))
    (load,) = record["strength"]["loads"]
    assert (first.ratio, first.holds) == (1.0, pytest.approx(load["uncut"]["factor"], rel=1e-4))
    text = plain_text(batch_table(result))
    assert re.search(rf"100 % +{first.holds:.3g} x ", text)
    assert "They are no proof of safety" in text
    with (out / "batch.csv").open(encoding="utf-8", newline="") as stream:
        assert next(csv.DictReader(stream))["holds_of_uncut"] == "1.0"
    assert batch(models, out, options=options).kept == 3
    # Without load cases they are other results, and nothing is said of strength.
    bare = batch(models, out)
    assert (bare.kept, bare.rows[0].ratio) == (0, None)
    assert "proof of safety" not in plain_text(batch_table(bare))


def test_words_for_loads_and_braces_stand_for_what_is_proposed(tmp_path):
    (tmp_path / "models").mkdir()
    save(box((40.0, 30.0, 20.0)), tmp_path / "models" / "one.stl")
    outcome = run(
        "batch", tmp_path / "models", "--out", tmp_path / "out", "--loads", "usual", "--braces",
        "two", "--no-pictures", "--jobs", "1", "--quiet",
    )  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    record = json.loads((tmp_path / "out" / "one" / "scorecard.json").read_text("utf-8"))
    assert len(record["strength"]["loads"]) >= 2
    assert [each["kind"] for each in record["findings"]][:1] == ["brace.none"]
