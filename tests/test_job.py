"""The whole job from Python: what it reports, how it is stopped, and what a check finds."""

import importlib
import json
import math
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.errors import Cancelled, CutError, NoProposalError, PlanFileError, ReadError
from splitplanner.findings import Severity
from splitplanner.job import check_plan, plan_part, write
from splitplanner.joint import check_joints, join
from splitplanner.plan import Cut, PartFile, Plan, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, DowelPin, Printer, hardware_shelf
from tests.planned import box, run, save


def drawing(scenes, report):
    """Stand in for the child process that draws; it takes some seconds to start."""
    for index, (path, _) in enumerate(scenes):
        report(index / len(scenes), f"drawing {path.name}")
        path.write_bytes(b"a picture")
    return ()


@pytest.fixture
def quick_pictures(monkeypatch):
    monkeypatch.setattr("splitplanner.job.draw_in_child", drawing)


@pytest.fixture
def few_reports(monkeypatch):
    """Walls are measured in three batches, not in twenty: each of all reports stops a whole job."""
    # By its name in the table: the room has a function of the same name.
    module = importlib.import_module("splitplanner.solid.thickness")
    monkeypatch.setattr(module, "_BATCH", 8_192)


def edited(plan_file, tmp_path, change):
    """Write the plan into `tmp_path` with `change` made to its record; the part's path stays."""
    record = json.loads(plan_file.read_text(encoding="utf-8"))
    record["part"]["path"] = (plan_file.parent / record["part"]["path"]).resolve().as_posix()
    change(record)
    path = tmp_path / "edited.json"
    path.write_text(json.dumps(record), encoding="utf-8")
    return path


def fault_kinds(result):
    return {finding.kind for finding in result.findings if finding.severity is Severity.FAULT}


# -- progress ---------------------------------------------------------------------------------
def test_planning_reports_from_0_to_1_and_never_back(box_result):
    _, calls = box_result
    shares = [done for done, _ in calls]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert all(doing for _, doing in calls)
    stages = {doing.split(",")[0].rstrip("0123456789S ") for _, doing in calls}
    assert {
        "reading box.stl",
        "trying grids of planes",
        "placing fasteners on seam",
        "checked",
    } <= stages


def test_writing_and_checking_report_from_0_to_1(box_run, box_result, quick_pictures, tmp_path):
    result, _ = box_result
    for job in (
        lambda report: write(result, tmp_path / "out", box_run.model, report=report),
        lambda report: check_plan(box_run.folder / "plan.json", report=report),
    ):
        shares = []
        job(lambda done, _, shares=shares: shares.append(done))
        assert shares == sorted(shares)
        assert (shares[0], shares[-1]) == (0.0, 1.0)
        assert len(shares) > 8


class Stopper:
    """A report that stops the job at its call number `last`, or at words that begin so."""

    def __init__(self, last=math.inf, words=None):
        self.last, self.words, self.calls = last, words, 0

    def __call__(self, done, doing):
        self.calls += 1
        if self.calls > self.last or (self.words and doing.startswith(self.words)):
            raise Cancelled("Stopped.")


def test_the_job_can_be_stopped_at_every_report(small_model, quick_pictures, few_reports, tmp_path):
    def whole(report):
        result = plan_part(small_model, Printer(), report=report)
        write(result, tmp_path / "out", small_model, report=report)

    counter = Stopper()
    whole(counter)
    assert counter.calls > 20
    for path in (tmp_path / "out").rglob("*.*"):
        path.unlink()
    for path in sorted((tmp_path / "out").rglob("*"), reverse=True):
        path.rmdir()
    (tmp_path / "out").rmdir()
    for last in range(counter.calls - 1):
        with pytest.raises(Cancelled):
            whole(Stopper(last))
        assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("words", ["trying grids", "moving cut 1", "placing fasteners"])
def test_the_search_can_be_stopped(box_run, words):
    stopper = Stopper(words=words)
    with pytest.raises(Cancelled):
        plan_part(box_run.model, Printer(), report=stopper)
    assert stopper.calls > 1


def test_checking_can_be_stopped_at_every_report(ell_run, few_reports):
    plan = ell_run.folder / "plan.json"
    counter = Stopper()
    check_plan(plan, report=counter)
    for last in range(counter.calls):
        with pytest.raises(Cancelled):
            check_plan(plan, report=Stopper(last))


# -- planning ---------------------------------------------------------------------------------
def test_a_part_that_fits_is_left_whole(small_model, tmp_path):
    result = plan_part(small_model, Printer())
    assert result.is_sound
    assert result.plan.cuts == result.plan.joints == ()
    assert [piece.name for piece in result.division.pieces] == ["whole"]
    assert result.bound.pieces == 1
    assert result.assembly() == ()
    write(result, tmp_path / "out", small_model, pictures=False)
    assert [path.name for path in (tmp_path / "out" / "pieces").iterdir()] == ["piece-01.stl"]
    assert check_plan(tmp_path / "out" / "plan.json").is_sound


def test_another_proposal_can_be_taken(box_result, box_run):
    best, _ = box_result
    second = plan_part(box_run.model, Printer(), proposal=2)
    assert second.plan.cuts == best.suggestion.proposals[1].plan.cuts
    assert second.plan.cuts != best.plan.cuts
    assert second.is_sound


def test_a_proposal_that_is_not_there_is_refused(small_model):
    with pytest.raises(NoProposalError, match=r"no proposal 99: 1 was found .*; ask for 1\."):
        plan_part(small_model, Printer(), proposal=99)
    for wrong in ({"proposal": 0}, {"proposal": -1}, {"seed": -1}):
        with pytest.raises(ValueError, match="proposals count from 1 and seeds from 0"):
            plan_part(small_model, Printer(), **wrong)


def test_what_the_plan_file_cannot_hold_is_found_before_the_search(small_model):
    stopper = Stopper(words="making a light stand-in")
    with pytest.raises(PlanFileError, match="seed"):
        plan_part(small_model, Printer(), seed=2**128, report=stopper)


def test_a_name_that_is_no_text_is_refused(tmp_path):
    with pytest.raises(ReadError, match="is not valid text; rename"):
        plan_part(tmp_path / "caf\udce9.stl", Printer())


def test_pins_of_the_user_are_taken(box_result):
    result, _ = box_result
    own = DowelPin("own pin", 5.0, 20.0, 20.0, 0.5, "bench", (20.0,))
    shelf = replace(hardware_shelf(), dowel_pins=(own,))
    seen = result.card.figures.good_side
    joints, _ = join(result.division, result.plan, shelf, seen=seen)
    assert {pin.standard for joint in joints for pin in joint.pins} == {"own pin"}
    assert {pin.diameter for joint in joints for pin in joint.pins} == {5.0}


def quarters():
    """Return a plate cut into quarters with its plan, and its faces, which are all seen."""
    part = Solid.box((200.0, 200.0, 20.0))
    cuts = (
        Cut(Plane.through((100.0, 0, 0), (1, 0, 0))),
        Cut(Plane.through((0, 100.0, 0), (0, 1, 0))),
    )
    division = divide(part, cuts)
    plan = Plan(PartFile("plate.stl", "mm", part.fingerprint), Printer(), cuts)
    return division, plan, np.ones(len(part.faces), bool)


def test_pins_of_crossing_seams_stay_clear_of_each_other():
    """A plate cut into quarters: four seams meet in one line, and no two holes may meet."""
    division, plan, seen = quarters()
    joints, findings = join(division, plan, seen=seen)
    assert len(division.seams) == 4
    assert [joint.seam for joint in joints] == [seam.name for seam in division.seams]
    assert all(len(joint.pins) >= 2 for joint in joints)
    assert not any(finding.severity is Severity.FAULT for finding in findings)
    # Axes as points in plan, half a hole and a wall of two lines apart at the least.
    for index, joint in enumerate(joints):
        for other in joints[index + 1 :]:
            for pin in joint.pins:
                for second in other.pins:
                    if abs(pin.axis[0] * second.axis[0] + pin.axis[1] * second.axis[1]) > 0.5:
                        continue  # parallel
                    reach = [
                        max(0.0, abs(a - b) - half)
                        for a, b, half in zip(
                            pin.at,
                            second.at,
                            [
                                abs(pin.axis[i]) * pin.depth + abs(second.axis[i]) * second.depth
                                for i in range(3)
                            ],
                            strict=True,
                        )
                    ]
                    assert math.hypot(*reach) > (pin.hole_diameter + second.hole_diameter) / 2


# -- checking ---------------------------------------------------------------------------------
def test_a_written_plan_is_sound_and_measures_the_same(box_run, box_result):
    planned, _ = box_result
    checked = check_plan(box_run.folder / "plan.json")
    assert checked.is_sound
    assert checked.card.total == pytest.approx(planned.card.total, rel=1e-9)
    assert checked.plan.joints == planned.plan.joints
    assert checked.suggestion is None


def move_pin_to_the_rim(record):
    # 3 mm inside the face at y = 20 of the box; the plan keeps the printer's edge distance.
    pin = record["joints"][0]["pins"][0]
    pin["at"] = [pin["at"][0], 23.0, pin["at"][2]]


def lift_pin(record):
    record["joints"][0]["pins"][0]["at"][0] += 2.0


def move_cut(record):
    record["cuts"][0]["offset"] += 40.0
    record["joints"] = []


def cut_a_sliver(record):
    # The box reaches to x = 330.
    record["cuts"].append({"normal": [1.0, 0.0, 0.0], "offset": 329.8, "piece": "2"})


def add_joint(record):
    record["joints"].append({"seam": "S9", "pins": []})


def turn_a_piece(record):
    record["print_directions"]["1"] = [1.0, 1.0, 1.0]


def shrink_bed(record):
    record["printer"]["bed"]["width"] = 150.0


def thin_edge(record):
    record["joints"][0]["pins"][0]["edge_distance"] = 4.2


def no_hole(record):
    record["joints"][0]["pins"][0]["hole_diameter"] = 0.0


def one_pin_twice(record):
    pins = record["joints"][0]["pins"]
    pins.append(pins[0])


@pytest.mark.parametrize(
    ("change", "kind"),
    [
        (move_pin_to_the_rim, "joint.edge_distance"),
        (lift_pin, "joint.off_plane"),
        (one_pin_twice, "joint.pins_touch"),
        (thin_edge, "joint.printer_edge"),
        (no_hole, "joint.size"),
        (add_joint, "joint.no_seam"),
        (move_cut, "piece.bed_fit"),
        (shrink_bed, "piece.bed_fit"),
        (turn_a_piece, "piece.bed_fit"),
        (cut_a_sliver, "piece.sliver"),
    ],
)
def test_a_hand_edit_that_spoils_the_plan_is_found(box_run, tmp_path, change, kind):
    path = edited(box_run.folder / "plan.json", tmp_path, change)
    result = check_plan(path)
    assert kind in fault_kinds(result)
    outcome = run("check", path, "--quiet")
    assert outcome.exit_code == 1
    assert "NOT SOUND" in outcome.stdout
    assert "The plan is not sound." in outcome.stdout
    assert outcome.stderr == ""


def loosen(record):
    record["printer"]["hole_allowance"] = 0.15


def drop_joints(record):
    record["joints"] = []


def name_no_piece(record):
    record["print_directions"]["7.1"] = [0.0, 0.0, 1.0]


@pytest.mark.parametrize(
    ("change", "kind"),
    [
        (drop_joints, "joint.none"),
        (name_no_piece, "plan.no_piece"),
        (loosen, "joint.allowance"),
    ],
)
def test_a_hand_edit_that_is_odd_is_warned_of(box_run, tmp_path, change, kind):
    result = check_plan(edited(box_run.folder / "plan.json", tmp_path, change))
    assert kind in {
        finding.kind for finding in result.findings if finding.severity is Severity.WARNING
    }
    assert result.is_sound


def test_cuts_that_do_not_divide_are_refused(box_run, tmp_path):
    plan = box_run.folder / "plan.json"

    def name(record):
        record["cuts"][0]["piece"] = "3.2"

    def miss(record):
        record["cuts"].append({"normal": [1.0, 0.0, 0.0], "offset": 999.0, "piece": "2"})

    with pytest.raises(CutError, match=r"names piece “3\.2”, which does not exist"):
        check_plan(edited(plan, tmp_path, name))
    with pytest.raises(CutError, match="Cut 2 does not meet piece “2”"):
        check_plan(edited(plan, tmp_path, miss))


def test_another_part_is_refused(box_run, small_model, tmp_path):
    plan = box_run.folder / "plan.json"
    with pytest.raises(PlanFileError, match="made for another part"):
        check_plan(plan, small_model)
    other = save(box((430.0, 200.0, 239.9)), tmp_path / "box.stl")
    with pytest.raises(PlanFileError, match="fingerprints differ; give the right file"):
        check_plan(plan, other)


def test_a_moved_part_is_found_where_it_is_said_to_be(box_run, tmp_path):
    plan = tmp_path / "plan.json"
    plan.write_bytes((box_run.folder / "plan.json").read_bytes())
    with pytest.raises(ReadError, match="There is no file"):
        check_plan(plan)
    assert check_plan(plan, box_run.model).is_sound


def test_a_joint_with_pins_of_two_seams_that_cross_is_found():
    """One pin of a seam put where the pin of another seam is: the holes would meet."""
    division, plan, seen = quarters()
    joints, _ = join(division, plan, seen=seen)
    assert check_joints(division, plan.with_joints(joints), seen=seen) == ()

    def beside(joint, axis):
        """Return the joint with one pin 9 mm from the line in which the seams meet."""
        pin = joint.pins[0]
        at = [pin.at[0], pin.at[1], 10.0]
        at[1 - axis] = 100.0 + math.copysign(9.0, at[1 - axis] - 100.0)
        return type(joint)(joint.seam, (type(pin)(**{**vars(pin), "at": tuple(at)}),))

    crossing = [beside(joint, 0 if abs(joint.pins[0].axis[0]) > 0.5 else 1) for joint in joints]
    found = check_joints(division, plan.with_joints(tuple(crossing)), seen=seen)
    assert "joint.hardware_touches" in {finding.kind for finding in found}


def test_seed_and_size_of_bed_are_kept_in_the_plan(small_model):
    printer = Printer(bed=Bed.parse("round 200x300"))
    result = plan_part(small_model, printer, seed=7)
    assert result.plan.seed == 7
    assert result.plan.printer.bed.kind == "circle"
