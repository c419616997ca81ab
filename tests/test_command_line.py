"""The command line: exit codes, one sentence for each fault, files that do not depend on luck."""

import contextlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest
import trimesh

from splitplanner import __version__, errors
from splitplanner.commands.demo import DEMO_NAMES
from splitplanner.commands.printing import DEBUG, EXIT_CODES
from splitplanner.demo_parts import DEMO_PARTS
from tests.planned import BED, box, run, save

PROGRAM = [sys.executable, "-c", "from splitplanner.command_line import main; main()"]
posix = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")


def tree(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def program(*arguments, **settings):
    return subprocess.run(
        [*PROGRAM, *map(str, arguments)],
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
        env={**os.environ, **settings},
    )


def assert_one_sentence(text, *words):
    """One line that ends as a sentence, with the words in it and no trace of the program."""
    assert text.endswith(".\n"), text
    assert text.count("\n") == 1, text
    assert "Traceback" not in text
    assert not re.search(r"(Error|Exception)\b", text), text
    for word in words:
        assert word in text


# -- faults of the user -----------------------------------------------------------------------
def open_box(size):
    """Return a box from which a corner is missing that is no flat face."""
    mesh = box(size).subdivide().subdivide()
    tip = np.linalg.norm(mesh.triangles_center - mesh.bounds[1], axis=1) < 0.5 * max(size)
    mesh.update_faces(~tip)
    return mesh


def no_numbers():
    mesh = box((60.0, 50.0, 40.0))
    vertices = np.array(mesh.vertices)
    vertices[2, 1] = np.nan
    return trimesh.Trimesh(vertices, mesh.faces, process=False, validate=False)


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder with all that can be wrong, which is the current one."""
    monkeypatch.chdir(tmp_path)
    save(box((60.0, 50.0, 40.0)), tmp_path / "good.stl")
    save(open_box((60.0, 50.0, 40.0)), tmp_path / "open.stl")
    (tmp_path / "nan.stl").write_bytes(trimesh.exchange.stl.export_stl(no_numbers()))
    (tmp_path / "empty.stl").touch()
    (tmp_path / "text.stl").write_text("this is no model\n", encoding="utf-8")
    (tmp_path / "noise.stl").write_bytes(bytes(range(256)) * 4)
    (tmp_path / "sheet.xls").write_text("a;b", encoding="utf-8")
    (tmp_path / "folder").mkdir()
    (tmp_path / "foreign").mkdir()
    (tmp_path / "foreign" / "letter.txt").write_text("Dear reader", encoding="utf-8")
    (tmp_path / "file").write_text("no folder", encoding="utf-8")
    (tmp_path / "broken.toml").write_text("bed = [", encoding="utf-8")
    (tmp_path / "unknown.toml").write_text("nozle = 0.4", encoding="utf-8")
    (tmp_path / "range.toml").write_text("nozzle = -0.4", encoding="utf-8")
    (tmp_path / "glued.toml").write_text('screws = "glue"', encoding="utf-8")
    (tmp_path / "thick.toml").write_text("coat = 9.0", encoding="utf-8")
    (tmp_path / "straw.toml").write_text('tape_plies = 1\ntape_fibre = "straw"', encoding="utf-8")
    (tmp_path / "hardware").mkdir()
    (tmp_path / "hardware" / "nails.csv").write_text("a,b\n", encoding="utf-8")
    (tmp_path / "columns.csv").write_text("a,b\n1,2\n", encoding="utf-8")
    (tmp_path / "numbers.csv").write_text(
        "standard,diameter,chamfer,length_min,length_max,lengths,source\nown,x,1,8,30,10,bench\n",
        encoding="utf-8",
    )
    return tmp_path


FAULTS = [
    # What is wrong, the options beside the model and the folder, exit code, words of the sentence.
    ("missing.stl", [], 3, ["missing.stl", "check its name"]),
    ("folder", [], 3, ["folder is a folder"]),
    ("empty.stl", [], 3, ["empty.stl is empty"]),
    ("text.stl", [], 3, ["text.stl is no STL file"]),
    ("noise.stl", [], 3, ["noise.stl"]),
    ("sheet.xls", [], 3, ["sheet.xls", ".stl"]),
    ("nan.stl", [], 3, ["nan.stl", "not numbers"]),
    ("good.stl", ["--unit", "parsec"], 3, ["parsec", "inch"]),
    ("good.stl", ["--bed", "abc"], 6, ["“abc”", "220x220x250"]),
    ("good.stl", ["--bed", "0x0x0"], 6, ["above 0 mm"]),
    ("good.stl", ["--bed", "-1x2x3"], 6, ["“-1x2x3”"]),
    ("good.stl", ["--bed", ""], 6, ["is not a bed size"]),
    ("good.stl", ["--printer", "none.toml"], 6, ["none.toml", "cannot be read"]),
    ("good.stl", ["--printer", "folder"], 6, ["folder", "cannot be read"]),
    ("good.stl", ["--printer", "broken.toml"], 6, ["broken.toml", "not valid TOML"]),
    ("good.stl", ["--printer", "unknown.toml"], 6, ["unknown.toml", "“nozle”"]),
    ("good.stl", ["--printer", "range.toml"], 6, ["nozzle must be above 0 mm"]),
    ("good.stl", ["--overhang", "95"], 6, ["95°"]),
    ("good.stl", ["--overhang", "nan"], 6, ["overhang limit"]),
    ("good.stl", ["--pins", "none.csv"], 6, ["none.csv"]),
    ("good.stl", ["--pins", "columns.csv"], 6, ["columns.csv, line 1", "column standard"]),
    ("good.stl", ["--pins", "numbers.csv"], 6, ["numbers.csv, line 2", "“x”"]),
    ("good.stl", ["--fastening", "none.toml"], 6, ["none.toml", "cannot be read"]),
    ("good.stl", ["--fastening", "broken.toml"], 6, ["broken.toml", "not valid TOML"]),
    ("good.stl", ["--fastening", "unknown.toml"], 6, ["unknown.toml", "“nozle”"]),
    ("good.stl", ["--fastening", "glued.toml"], 6, ["glued.toml", "“screws”", "insert"]),
    ("good.stl", ["--fastening", "thick.toml"], 6, ["thick.toml", "between 0 and 5 mm"]),
    ("good.stl", ["--fastening", "straw.toml"], 6, ["“straw”", "glass"]),
    ("good.stl", ["--screw-size", "M4"], 6, ["M4", "--screws"]),
    ("good.stl", ["--screws", "nut", "--screw-size", "M99"], 6, ["M99", "M2, M2.5, M3"]),
    ("good.stl", ["--screws", "nut", "--screw-size", "four"], 6, ["four", "M3"]),
    ("good.stl", ["--screws", "insert", "--screw-size", "M5"], 6, ["insert of size M5", "M3"]),
    ("good.stl", ["--screws", "plastic", "--screw-size", "M5"], 6, ["thread-forming screw of 5"]),
    ("good.stl", ["--hardware", "none"], 6, ["no hardware folder none"]),
    ("good.stl", ["--hardware", "folder"], 6, ["folder folder holds no table, such as screws"]),
    ("good.stl", ["--hardware", "hardware"], 6, ["nails.csv", "inserts.csv"]),
    ("good.stl", ["--proposal", "99"], 4, ["no proposal 99"]),
    ("good.stl", ["--bed", "5x5x5"], 4, ["960 pieces", "larger bed"]),
    ("good.stl", ["--bed", "0.1x0.1x0.1"], 4, ["over 1000 pieces"]),
    ("good.stl", ["--unit", "m"], 4, ["check the unit"]),
    ("good.stl", ["--seed", str(2**128)], 6, ["seed"]),
    ("good.stl", ["--out", "foreign"], 5, ["“letter.txt”", "choose another folder"]),
    ("good.stl", ["--out", "foreign", "--overwrite"], 5, ["“letter.txt”"]),
    ("good.stl", ["--out", "file"], 5, ["file is a file, not a folder"]),
    ("good.stl", ["--out", "file/deep/out"], 5, ["cannot be written"]),
    ("good.stl", ["--out", "x" * 300], 5, ["name is too long"]),
]


@pytest.mark.parametrize(("model", "options", "code", "words"), FAULTS)
def test_a_fault_is_one_sentence_and_its_exit_code(bench, model, options, code, words):
    before = tree(bench)
    outcome = run("plan", model, "--out", "out", "--quiet", "--no-pictures", *options)
    assert outcome.exit_code == code, outcome.stderr
    assert outcome.stdout == ""
    assert_one_sentence(outcome.stderr, *words)
    assert tree(bench) == before
    assert not (bench / "out").exists()


@pytest.mark.parametrize(("model", "options", "code", "words"), FAULTS[::4])
def test_a_fault_as_json(bench, model, options, code, words):
    outcome = run("plan", model, "--out", "out", "--quiet", "--json", *options)
    assert outcome.exit_code == code
    fault = json.loads(outcome.stdout)
    assert fault["exit_code"] == code
    assert fault["message"] + "\n" == outcome.stderr
    kind = getattr(errors, fault["error"])
    assert next(code for known, code in EXIT_CODES if issubclass(kind, known)) == code


def test_an_open_model_is_refused_with_the_place(bench):
    outcome = run("plan", "open.stl", "--out", "out", "--quiet", "--json")
    assert outcome.exit_code == 3
    fault = json.loads(outcome.stdout)
    assert fault["error"] == "OpenSolidError"
    assert fault["message"].startswith("open.stl: ")
    places = np.array([where for each in fault["findings"] for where in each["where"]])
    # All open edges lie round the corner at 60, 50, 40, which is missing.
    assert len(places) >= 3
    assert (np.linalg.norm(places - [60.0, 50.0, 40.0], axis=1) < 60.0).all()
    assert (places.max(axis=1) <= 60.0 + 1e-6).all()
    text = run("plan", "open.stl", "--out", "out", "--quiet").stderr
    assert re.search(r"\d+ (open )?edges?|hole", text)
    assert "Traceback" not in text


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["nonsense"],
        ["plan"],
        ["plan", "good.stl"],
        ["plan", "good.stl", "--out", "out", "--proposal", "0"],
        ["plan", "good.stl", "--out", "out", "--proposal", "-1"],
        ["plan", "good.stl", "--out", "out", "--seed", "-1"],
        ["plan", "good.stl", "--out", "out", "--overhang", "steep"],
        ["plan", "good.stl", "--out", "out", "--screws", "glue"],
        ["plan", "good.stl", "--out", "out", "--flange", "sometimes"],
        ["coupon", "--diameter", "wide"],
        ["demo", "--triangles", "1"],
        ["check"],
    ],
)
def test_wrong_use_is_exit_code_2(bench, arguments):
    outcome = run(*arguments)
    assert outcome.exit_code == 2
    assert "Usage" in outcome.output
    assert "Traceback" not in outcome.output
    assert not (bench / "out").exists()


@pytest.mark.parametrize(
    ("plan", "code", "words"),
    [
        ("none.json", 6, ["none.json", "does not exist"]),
        ("folder", 6, ["folder", "cannot be read"]),
        ("good.stl", 6, ["good.stl", "is not a plan"]),
        ("text.stl", 6, ["text.stl", "not valid JSON, line 1"]),
    ],
)
def test_check_of_what_is_no_plan(bench, plan, code, words):
    outcome = run("check", plan, "--quiet")
    assert outcome.exit_code == code
    assert_one_sentence(outcome.stderr, *words)


def test_check_of_a_plan_of_another_part(box_run, bench):
    plan = bench / "plan.json"
    plan.write_bytes((box_run.folder / "plan.json").read_bytes())
    gone = run("check", plan, "--quiet")
    assert gone.exit_code == 3
    assert_one_sentence(gone.stderr, "box.stl", "check its name")
    other = run("check", plan, "--part", "good.stl", "--quiet")
    assert other.exit_code == 6
    assert_one_sentence(other.stderr, "another part", "good.stl", "--part")
    record = json.loads(plan.read_text(encoding="utf-8"))
    record["part"]["fingerprint"] = "sha256:" + "0" * 64
    plan.write_text(json.dumps(record), encoding="utf-8")
    changed = run("check", plan, "--part", box_run.model, "--quiet")
    assert changed.exit_code == 6
    assert_one_sentence(changed.stderr, "fingerprints differ")
    record["cuts"][0]["piece"] = "9"
    record["part"]["fingerprint"] = json.loads(
        (box_run.folder / "plan.json").read_text(encoding="utf-8")
    )["part"]["fingerprint"]
    plan.write_text(json.dumps(record), encoding="utf-8")
    nowhere = run("check", plan, "--part", box_run.model, "--quiet")
    assert nowhere.exit_code == 6
    assert_one_sentence(nowhere.stderr, "names piece “9”", "whole")


def test_every_fault_has_an_exit_code():
    """Those of the tree that a job can raise; what is left ends with 1."""
    for name in dir(errors):
        kind = getattr(errors, name)
        if isinstance(kind, type) and issubclass(kind, errors.SplitPlannerError):
            assert kind is errors.SplitPlannerError or any(
                issubclass(kind, known) for known, _ in EXIT_CODES
            )
    assert {code for _, code in EXIT_CODES} == {1, 3, 4, 5, 6, 8, 70, 130}


def test_a_failure_of_the_program_is_a_sentence_too(bench, monkeypatch):
    def fail(*arguments, **options):
        raise RuntimeError("the wheel came off")

    monkeypatch.setattr("splitplanner.job.plan_part", fail)
    outcome = run("plan", "good.stl", "--out", "out", "--quiet", "--json")
    assert outcome.exit_code == 70
    fault = json.loads(outcome.stdout)
    assert "RuntimeError: the wheel came off" in fault["message"]
    assert "Traceback" not in outcome.stderr
    monkeypatch.setenv(DEBUG, "1")
    outcome = run("plan", "good.stl", "--out", "out", "--quiet")
    assert "Traceback" in outcome.stderr


# -- what is printed --------------------------------------------------------------------------
def test_plan_prints_the_scorecard_and_where_it_is(box_run):
    printed = box_run.outcome.stdout
    lines = [line.rstrip() for line in printed.splitlines()]
    assert lines[:-2] == (box_run.folder / "scorecard.txt").read_text(encoding="utf-8").splitlines()
    assert printed.endswith(f"\nWritten to {box_run.folder}.\n")


def test_json_is_one_document_and_the_same_as_the_file(ell_run):
    card = json.loads(ell_run.outcome.stdout)
    assert card == json.loads((ell_run.folder / "scorecard.json").read_text(encoding="utf-8"))
    # Progress went to the other stream, as lines with time and share.
    assert re.match(r" *\d+\.\d s +\d+%  \w", ell_run.outcome.stderr)


def test_check_says_that_a_plan_is_sound(box_run):
    outcome = run("check", box_run.folder / "plan.json", "--quiet")
    assert outcome.exit_code == 0
    assert outcome.stdout.endswith("\nThe plan is sound.\n")
    assert outcome.stderr == ""
    card = json.loads(run("check", box_run.folder / "plan.json", "--json", "--quiet").stdout)
    assert card["sound"] is True
    assert "proposals" not in card


def test_version_and_help():
    assert run("--version").stdout == f"splitplanner {__version__}\n"
    page = run("--help").stdout
    for command in ("plan", "check", "coupon", "demo"):
        assert command in page
        assert run(command, "--help").exit_code == 0
    assert "130 stopped" in " ".join(page.split())


def test_help_names_every_demonstration_part():
    assert set(DEMO_NAMES) == set(DEMO_PARTS)
    outcome = run("demo", "--part", "teapot", "--quiet")
    assert outcome.exit_code == 6
    assert_one_sentence(outcome.stderr, "“teapot”", *DEMO_NAMES)


# -- options ----------------------------------------------------------------------------------
def test_unit_of_the_model(bench):
    """60 x 50 x 40 read in inches is 1524 x 1270 x 1016 mm (25.4 mm, international inch 1959)."""
    save(box((6.0, 5.0, 4.0)), bench / "inch.stl")
    outcome = run(
        "plan", "inch.stl", "--unit", "inch", "--out", "out", "--json", "--quiet", "--no-pictures"
    )
    assert outcome.exit_code == 0, outcome.stderr
    card = json.loads(outcome.stdout)
    assert card["part"]["extents"] == [152.4, 127.0, 101.6]
    assert card["part"]["unit_read"] == "inch"
    assert run("check", bench / "out" / "plan.json", "--quiet").exit_code == 0


def test_overwrite_replaces_only_what_is_ours(bench):
    arguments = ["plan", "good.stl", "--out", "out", "--quiet", "--no-pictures"]
    assert run(*arguments).exit_code == 0
    before = tree(bench / "out")
    refused = run(*arguments)
    assert refused.exit_code == 5
    assert_one_sentence(refused.stderr, "out holds an older result", "--overwrite")
    assert run(*arguments, "--overwrite", "--seed", "3").exit_code == 0
    after = tree(bench / "out")
    # The seed is written into the plan and changes nothing else.
    assert {name for name in before if before[name] != after[name]} == {"plan.json"}
    assert json.loads(after["plan.json"]) == {**json.loads(before["plan.json"]), "seed": 3}
    (bench / "out" / "pieces" / "notes.txt").write_text("mine", encoding="utf-8")
    refused = run(*arguments, "--overwrite")
    assert refused.exit_code == 5
    assert_one_sentence(refused.stderr, "pieces/notes.txt")


def test_printer_file_pins_and_overhang_are_used(bench):
    (bench / "own.toml").write_text(
        'name = "own"\nhole_allowance = 0.3\n[bed]\nkind = "rectangle"\nwidth = 100.0\n'
        "depth = 100.0\nheight = 100.0\n",
        encoding="utf-8",
    )
    (bench / "own.csv").write_text(
        "standard,diameter,chamfer,length_min,length_max,lengths,source\n"
        "bench rod,4,0.5,8,40,16 20,bench\n",
        encoding="utf-8",
    )
    save(box((150.0, 50.0, 40.0)), bench / "long.stl")
    outcome = run(
        "plan", "long.stl", "--printer", "own.toml", "--pins", "own.csv", "--overhang", "60",
        "--out", "out", "--quiet", "--no-pictures", "--json",
    )  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    plan = json.loads((bench / "out" / "plan.json").read_text(encoding="utf-8"))
    assert plan["printer"]["name"] == "own"
    assert plan["printer"]["bed"]["width"] == 100.0
    assert plan["printer"]["overhang_limit"] == 60.0
    pins = [pin for joint in plan["joints"] for pin in joint["pins"]]
    assert len(pins) >= 2
    for pin in pins:
        assert pin["hole_diameter"] == pytest.approx(pin["diameter"] + 0.3)
        assert pin["diameter"] != 4.0 or pin["standard"] == "bench rod"
    wider = run("plan", "long.stl", "--printer", "own.toml", "--bed", BED, "--out", "whole",
                "--quiet", "--no-pictures", "--json")  # fmt: skip
    assert len(json.loads(wider.stdout)["pieces"]) == 1


@pytest.mark.parametrize("name", ["we[b]ird [red] :smile:.stl", "Größe 零件.stl", "-dash.stl"])
def test_odd_names_are_shown_as_they_are(bench, name):
    save(box((60.0, 50.0, 40.0)), bench / name)
    outcome = run("plan", "--out", f"out {name}", "--quiet", "--no-pictures", "--", name)
    assert outcome.exit_code == 0, outcome.stderr
    assert outcome.stdout.startswith(f"{Path(name).stem}: 60.0 x 50.0 x 40.0 mm")
    assert outcome.stdout.endswith(f"Written to out {name}.\n")
    assert run("check", f"out {name}/plan.json", "--quiet").exit_code == 0


# -- the program as a process -----------------------------------------------------------------
def test_a_terminal_of_few_letters_is_no_reason_to_fail(bench):
    save(box((60.0, 50.0, 40.0)), bench / "零件.stl")
    arguments = ["plan", "零件.stl", "--quiet", "--no-pictures"]
    card = program(*arguments, "--out", "a", "--json", PYTHONIOENCODING="ascii")
    assert card.returncode == 0
    assert json.loads(card.stdout)["part"]["title"] == "零件"
    text = program(*arguments, "--out", "b", PYTHONIOENCODING="ascii")
    assert text.returncode == 0
    assert text.stderr == ""
    assert "60.0 x 50.0 x 40.0 mm" in text.stdout


class Running:
    """The program on its way, whose progress lines are noted with the time they came."""

    def __init__(self, *arguments):
        self.process = subprocess.Popen(
            [*PROGRAM, *map(str, arguments)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            encoding="utf-8",
            start_new_session=True,
        )
        self.lines = []
        self.came = threading.Condition()
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self):
        for line in self.process.stderr:
            with self.came:
                self.lines.append((time.monotonic(), line))
                self.came.notify_all()

    def wait_for(self, words, seconds=60.0):
        with self.came:
            assert self.came.wait_for(
                lambda: any(words in line for _, line in self.lines), seconds
            ), self.lines

    def end(self):
        out = self.process.stdout.read()
        code = self.process.wait(60.0)
        self.reader.join(10.0)
        self.process.stdout.close()
        self.process.stderr.close()
        return code, out, "".join(line for _, line in self.lines)


def test_two_runs_give_the_same_bytes_and_the_log_rises(box_run, monkeypatch):
    """All files, pictures too, in another process with another order of sets."""
    monkeypatch.setenv("PYTHONHASHSEED", "12345")
    monkeypatch.setenv("COLUMNS", "60")
    again = box_run.folder.parent / "again"
    running = Running("plan", box_run.model, "--bed", BED, "--out", again)
    code, _, err = running.end()
    assert code == 0, err
    shares = [int(re.match(r" *[\d.]+ s +(\d+)%", line)[1]) for _, line in running.lines]
    assert shares == sorted(shares)
    assert shares[-1] == 100
    first, second = tree(box_run.folder), tree(again)
    shutil.rmtree(again)
    assert first.keys() == second.keys()
    assert [name for name in first if first[name] != second[name]] == []


def processes_of_group(group):
    """Return the command lines of all live processes of a group by id (Linux: proc(5))."""
    found = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            with contextlib.suppress(OSError):  # it ended meanwhile
                fields = (entry / "stat").read_text(encoding="utf-8").rpartition(")")[2].split()
                if int(fields[2]) == group and fields[0] != "Z":
                    found[int(entry.name)] = (
                        (entry / "cmdline").read_text(encoding="utf-8").replace("\0", " ")
                    )
    return found


@pytest.fixture(scope="module")
def older(small_model, tmp_path_factory):
    """A result that is there before."""
    folder = tmp_path_factory.mktemp("older") / "out"
    assert run("plan", small_model, "--out", folder, "--quiet", "--no-pictures").exit_code == 0
    return folder


@posix
@pytest.mark.parametrize(
    ("part", "moment", "name", "to_all"),
    [
        ("bracket", " cut", "SIGINT", True),
        ("bracket", " cut", "SIGTERM", False),
        # A line each half second may leave the start of drawing out, and tell of a picture next.
        ("small", "draw", "SIGINT", True),
        ("small", "drawing picture", "SIGINT", False),
        ("small", "drawing picture", "SIGTERM", True),
    ],
)
def test_stopping_leaves_the_older_result_whole(
    tmp_path, small_model, older, part, moment, name, to_all
):
    """Ctrl-C goes to the whole group of a terminal, a plain kill to the one process."""
    folder = tmp_path / "out"
    shutil.copytree(older, folder)
    before = tree(tmp_path)
    model = small_model
    if part == "bracket":
        # Its search takes seconds, so the log, a line each half second, tells of it: that cuts are
        # tried, moved or made.
        solid = DEMO_PARTS["l_bracket"].make(5000)
        mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
        model = save(mesh, small_model.parent / "bracket.stl")
    running = Running("plan", model, "--bed", BED, "--out", folder, "--overwrite")
    running.wait_for(moment)
    send = os.killpg if to_all else os.kill
    send(running.process.pid, getattr(signal, name))
    code, out, err = running.end()
    assert code == 130
    assert out == ""
    assert err.endswith("Stopped; nothing was left half written.\n")
    assert "Traceback" not in err
    assert tree(tmp_path) == before
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
    if sys.platform == "linux":
        # The drawing child is ended before the program ends; what Python keeps beside it to count
        # shared resources sees that a moment later.
        left = processes_of_group(running.process.pid)
        assert not [line for line in left.values() if "spawn_main" in line]
        patience = time.monotonic() + 10.0
        while processes_of_group(running.process.pid):
            assert time.monotonic() < patience, left
            time.sleep(0.05)
