"""Plan files: the same bytes again, and one clear sentence for whatever is wrong."""

import json
import os
import re
import sys
from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from splitplanner.errors import ExportError, PlanFileError
from splitplanner.plan import (
    BraceWish,
    Cut,
    Fall,
    Fastening,
    Flange,
    Form,
    Hold,
    Joint,
    Loading,
    PartFile,
    Pin,
    Plan,
    PointLoad,
    Register,
    Screw,
    SpreadLoad,
    Tape,
    WeightLoad,
    cantilever,
    files,
    load_plan,
    over_two_supports,
    part_path,
    plan_from_text,
    plan_to_text,
    save_plan,
    with_part_path,
)
from splitplanner.plan.fastening import FOR_STRENGTH, Marks, ScrewClass
from splitplanner.solid import Plane
from splitplanner.workshop import Bed, Material, Printer

lengths = st.floats(-1e6, 1e6, allow_nan=False)
sizes = st.floats(1e-3, 1e4)
names = st.text(st.characters(blacklist_categories=("Cs",)), max_size=12)
directions = (
    st.tuples(*[st.floats(-1, 1)] * 3)
    .filter(lambda v: np.linalg.norm(v) > 1e-3)
    .map(lambda v: tuple(float(x) for x in np.array(v) / np.linalg.norm(v)))
)
vectors = st.tuples(lengths, lengths, lengths)
outlines = st.lists(st.tuples(lengths, lengths), min_size=3, max_size=5).map(tuple)
beds = st.one_of(
    st.builds(Bed.rectangle, sizes, sizes, sizes),
    st.builds(Bed.circle, sizes, sizes),
    st.builds(
        Bed.of_outline,
        outlines.filter(lambda corners: (np.ptp(corners, axis=0) > 1e-3).all()),
        sizes,
        st.just(0.0),
        st.lists(outlines, max_size=2).map(tuple),
    ),
)
shares = st.floats(0, 1)
printers = st.builds(
    Printer, names, beds, sizes, sizes, sizes, st.floats(1, 89), sizes, lengths,
    st.integers(1, 9), shares, shares,
)  # fmt: skip
cuts = st.builds(Cut, st.builds(Plane, directions, lengths), st.none() | names)
pins = st.builds(Pin, vectors, directions, names, sizes, sizes, sizes, sizes, sizes)
screws = st.builds(
    Screw, vectors, directions, names, names, sizes, st.sampled_from(get_args(Hold)), sizes,
    st.integers(0, 2), sizes, sizes, st.booleans(), sizes, sizes, sizes, sizes,
)  # fmt: skip
lines = st.lists(st.tuples(lengths, lengths), max_size=3).map(tuple)
flanges = st.builds(Flange, st.lists(lines, max_size=2).map(tuple), sizes, sizes, sizes, sizes)
registers = st.builds(Register, st.sampled_from(get_args(Form)), sizes, sizes, sizes, lines)
tapes = st.builds(Tape, names, sizes, st.integers(1, 9), shares, sizes, sizes)
joints = st.lists(
    st.builds(
        Joint,
        names,
        st.lists(pins, max_size=2).map(tuple),
        st.lists(screws, max_size=2).map(tuple),
        st.none() | flanges,
        st.none() | registers,
        st.none() | tapes,
    ),
    max_size=3,
    unique_by=lambda joint: joint.seam,
).map(tuple)
fastenings = st.builds(
    Fastening, coat=st.floats(0, 5), marks=st.sampled_from(get_args(Marks)),
    glue_shear=st.floats(0, 100), screw_class=st.sampled_from(get_args(ScrewClass)),
)  # fmt: skip
plans = st.builds(
    Plan,
    st.builds(PartFile, names, st.sampled_from(["mm", "inch"]), names),
    printers,
    st.lists(cuts, max_size=4).map(tuple),
    st.dictionaries(names, directions, max_size=3),
    joints,
    st.integers(0, 2**64),
    fastenings,
    st.dictionaries(names, fastenings, max_size=3),
    st.none() | st.lists(cuts, max_size=3).map(tuple),
)

PLAN = Plan(
    PartFile("hood.stl", "mm", "sha256:0123"),
    Printer("bench", Bed.of_outline(((0, 0), (200, 0), (0, 200)), 250, 2)),
    (Cut(Plane((0.0, 0.6, 0.8), 12.5)), Cut(Plane((1.0, 0.0, 0.0), 270.0), "1.2")),
    {"1.1": (0.0, 0.0, -1.0)},
    (
        Joint(
            "S1",
            (Pin((1.0, -2.0, 3.0), (0.0, 0.6, 0.8), "ISO 8734", 3.0, 16.0, 3.2, 8.5, 1.75),),
        ),
    ),
    7,
)


@settings(max_examples=120, deadline=None, derandomize=True, database=None)
@given(plans)
def test_a_saved_plan_opens_to_the_same_plan_and_the_same_bytes(plan):
    text = plan_to_text(plan)
    again = plan_from_text(text)
    assert again == plan
    assert plan_to_text(again) == text


@settings(max_examples=60, deadline=None, derandomize=True, database=None)
@given(plans)
def test_the_text_is_what_json_says_it_is(plan):
    # Reference: Python's own JSON reader, apart from our layout.
    record = json.loads(plan_to_text(plan))
    assert [entry["offset"] for entry in record["cuts"]] == [c.plane.offset for c in plan.cuts]
    assert [tuple(entry["normal"]) for entry in record["cuts"]] == [
        c.plane.normal for c in plan.cuts
    ]
    assert record["part"]["path"] == plan.part.path
    assert record["printer"]["bed"]["width"] == plan.printer.bed.width


def test_the_layout_is_readable_and_fixed():
    text = plan_to_text(PLAN)
    assert text.startswith('{\n  "format": "split plan",\n  "version": 5,\n  "part": {\n')
    assert '      "normal": [0.0, 0.6, 0.8],\n      "offset": 12.5,\n      "piece": null\n' in text
    assert '"outline": [\n        [0.0, 0.0],\n        [200.0, 0.0],\n' in text
    assert text.endswith('  "seed": 7\n}\n')
    assert "\r" not in text
    assert not any(line.endswith(" ") for line in text.splitlines())


def test_minus_zero_and_whole_numbers_do_not_change_the_bytes():
    one = replace(PLAN, cuts=(Cut(Plane((0.0, 0.0, 1.0), 0.0)),), print_directions={})
    other = replace(one, cuts=(Cut(Plane((-0.0, 0.0, 1.0), -0.0)),))
    assert plan_to_text(other) == plan_to_text(one)
    assert "-0.0" not in plan_to_text(other)
    whole = replace(PLAN, printer=Printer("p", Bed.rectangle(220, 220, 250)))
    decimal = replace(PLAN, printer=Printer("p", Bed.rectangle(220.0, 220.0, 250.0)))
    whole = replace(whole, printer=replace(whole.printer, flow_limit=9, travel_seconds=2, infill=1))
    decimal = replace(decimal, printer=replace(decimal.printer, flow_limit=9.0, travel_seconds=2.0))
    decimal = replace(decimal, printer=replace(decimal.printer, infill=1.0))
    assert plan_to_text(whole) == plan_to_text(decimal)


def test_a_plan_without_the_settings_of_the_print_time_has_their_defaults():
    record = json.loads(plan_to_text(PLAN))
    for setting in ("wall_lines", "infill", "support_infill", "flow_limit", "time_factor"):
        del record["printer"][setting]
    assert plan_from_text(json.dumps(record)) == PLAN


def test_entries_that_printers_had_once_are_passed_over():
    record = json.loads(plan_to_text(PLAN))
    record["printer"] |= {"flow": 8.0, "layer_seconds": 3.0}
    assert plan_from_text(json.dumps(record)) == PLAN


def test_numbers_of_numpy_are_written_as_numbers():
    plan = replace(PLAN, seed=np.int64(5), cuts=(Cut(Plane((1.0, 0.0, 0.0), np.float64(0.1))),))
    assert plan_from_text(plan_to_text(plan)).seed == 5
    assert '"offset": 0.1,' in plan_to_text(plan)


def test_a_direction_written_by_hand_is_given_length_one():
    text = plan_to_text(PLAN).replace("[0.0, 0.0, -1.0]", "[0, 3, 4]")
    plan = plan_from_text(text)
    np.testing.assert_allclose(plan.print_directions["1.1"], (0, 0.6, 0.8), rtol=0, atol=1e-15)
    assert plan_from_text(plan_to_text(plan)) == plan


def record_with(plan=None, **changes):
    record = json.loads(plan_to_text(plan or PLAN))
    for place, value in changes.items():
        *path, last = place.split("__")
        at = record
        for step in path:
            at = at[int(step) if step.isdigit() else step]
        at[last] = value
    return json.dumps(record)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "is not valid JSON, line 1 column 1"),
        ('{"format": "split plan",', "is not valid JSON"),
        ("[1, 2]", "is not a plan"),
        ("{}", "is not a plan"),
        ('{"format": "other"}', "is not a plan"),
        ('{"format": "split plan"}', "no whole number above 0 as its entry “version”"),
        ('{"format": "split plan", "version": true}', "no whole number"),
        ('{"format": "split plan", "version": 0}', "no whole number"),
        ('{"format": "split plan", "version": 6}', "is of version 6 and this program reads up"),
        ('{"format": "split plan", "version": 5}', "lacks the entry “part”"),
        ('{"seed": 1, "seed": 2}', "has the entry “seed” twice"),
        ("[" * 100_000, "nested too deep"),
        (record_with(cuts__0__offset="12"), "wrong entry “cuts[0].offset”"),
        (record_with(cuts__0__offset=True), "wrong entry “cuts[0].offset”"),
        (record_with(cuts__1__normal=[1.0, 0.0]), "“cuts[1].normal[2]”"),
        (record_with(cuts__1__normal=[0.0, 0.0, 0.0]), "“cuts[1]”: a direction needs a length"),
        (record_with(cuts__0__colour="red"), "“cuts[0].colour” that no plan of version 5 has"),
        (record_with(part__weight=3), "“part.weight” that no plan of version 5 has"),
        (record_with(printer__bed__width=-1.0), "A bed needs three sizes above 0 mm"),
        (record_with(printer__bed__colour=1), "“printer.bed.colour” that no plan"),
        (record_with(own_fastenings={"S1": {"coat": "x"}}), "wrong entry “own_fastenings.S1.coat”"),
        (record_with(own_fastenings={"S1": {"colour": 1}}), "“own_fastenings.S1.colour” that no"),
        (
            record_with(seams_named_by=[{"normal": [0, 0, 0], "offset": 1, "piece": None}]),
            "“seams_named_by[0]”: a direction needs a length",
        ),
        (record_with(seed=1.5), "wrong entry “seed”"),
        (record_with(seed=-1), "wrong entry “seed”"),
        (record_with(print_directions={"1": [0, 0, 0]}), "“print_directions.1”"),
        (record_with(joints=[{"seam": "S1"}, {"seam": "S1"}]), "“S1” has a joint already"),
        (record_with(cuts__0__offset=float("nan")), "holds NaN, which is not a finite number"),
        (record_with(cuts__0__offset=float("-inf")), "holds -Infinity, which is not a finite"),
        (record_with().replace("12.5", "1e999"), "holds 1e999, which is not a finite number"),
        (record_with().replace("12.5", "1" * 50), "holds the number 111111111111…"),
    ],
)
def test_what_is_wrong_is_said_in_one_sentence_with_the_file_named(text, expected):
    with pytest.raises(PlanFileError) as caught:
        plan_from_text(text, "bench/plan.json")
    message = str(caught.value)
    assert expected in message
    assert message.startswith("The plan file bench/plan.json ")
    assert message.endswith(".")
    assert "\n" not in message
    assert caught.value.subject == "bench/plan.json"


@pytest.mark.parametrize("offset", [float("nan"), float("inf")])
def test_a_plan_that_could_not_be_opened_again_is_not_saved(tmp_path, offset):
    pin = replace(PLAN.joints[0].pins[0], at=(0.0, offset, 0.0))
    plan = replace(PLAN, joints=(Joint("S1", (pin,)),))
    with pytest.raises(PlanFileError, match="not finite"):
        save_plan(plan, tmp_path / "plan.json")
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(PlanFileError, match="a joint already"):
        plan_to_text(replace(PLAN, joints=(Joint("S1"), Joint("S1"))))


def test_files_hold_the_same_bytes_after_opening_and_saving(tmp_path):
    first, second = tmp_path / "plan.json", tmp_path / "again.json"
    save_plan(replace(PLAN, part=PartFile("höhe/ß part.stl", "mm", "x")), first)
    save_plan(load_plan(first), second)
    assert first.read_bytes() == second.read_bytes()
    assert "höhe/ß part.stl" in first.read_bytes().decode("utf-8")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["again.json", "plan.json"]


def test_a_byte_order_mark_and_other_line_ends_are_read(tmp_path):
    path = tmp_path / "plan.json"
    path.write_bytes(b"\xef\xbb\xbf" + plan_to_text(PLAN).replace("\n", "\r\n").encode())
    assert load_plan(path) == PLAN


def test_an_absolute_path_of_the_part_is_kept_relative_to_the_plan(tmp_path):
    model = tmp_path / "models" / "hood.stl"
    plan_file = tmp_path / "out" / "plan.json"
    model.parent.mkdir()
    plan_file.parent.mkdir()
    save_plan(replace(PLAN, part=replace(PLAN.part, path=str(model))), plan_file)
    loaded = load_plan(plan_file)
    assert loaded.part.path == "../models/hood.stl"
    assert part_path(loaded, plan_file) == Path(os.path.realpath(model))


def test_the_folder_can_move_with_its_part_and_a_plan_can_be_kept_elsewhere(tmp_path):
    here, there = tmp_path / "a" / "plan.json", tmp_path / "b" / "c" / "plan.json"
    plan = replace(PLAN, part=replace(PLAN.part, path="hood.stl"))
    assert part_path(plan, here) == Path(os.path.realpath(tmp_path)) / "a" / "hood.stl"
    moved = with_part_path(plan, part_path(plan, here), there)
    assert moved.part.path == "../../a/hood.stl"
    assert part_path(moved, there) == part_path(plan, here)


def test_files_that_cannot_be_read_or_written_are_said_so(tmp_path):
    with pytest.raises(PlanFileError, match="does not exist"):
        load_plan(tmp_path / "none.json")
    with pytest.raises(PlanFileError, match="cannot be read"):
        load_plan(tmp_path)
    (tmp_path / "picture.json").write_bytes(b"\x89PNG\xff")
    with pytest.raises(PlanFileError, match="not UTF-8"):
        load_plan(tmp_path / "picture.json")
    with pytest.raises(ExportError, match="does not exist; create it first"):
        save_plan(PLAN, tmp_path / "none" / "plan.json")


def test_an_older_version_is_brought_up_step_by_step(monkeypatch):
    # A pretended version 6, in which the seed was called "start" before.
    def upgrade(record):
        return {**{k: v for k, v in record.items() if k != "start"}, "seed": record["start"]}

    class Later(files._PlanFile):
        version: int

    record = json.loads(record_with())
    record["start"] = record.pop("seed")
    monkeypatch.setattr(files, "VERSION", 6)
    monkeypatch.setattr(files, "_UPGRADES", {5: upgrade})
    monkeypatch.setattr(files, "_PlanFile", Later)
    assert plan_from_text(json.dumps(record)) == PLAN


SINCE_4 = ("material", "braces", "loadings")
"""Entries that version 3 did not have."""


def test_a_plan_of_version_4_has_no_braces_and_no_loads():
    record = json.loads(plan_to_text(PLAN))
    record["version"] = 4
    del record["braces"], record["loadings"]
    assert plan_from_text(json.dumps(record)) == PLAN


BRACE = BraceWish(
    along=(1, 0, 0), towards=(0, 0.6, 0.8), offset=1, low=-5.5, high=9, depth=20, stock=4
)
LOADINGS = (
    Loading((0.6, 0.8, 0), over_two_supports(1, 9, SpreadLoad(2, 3, (0, 0, -9)), name="lies")),
    Loading((1, 0, 0), cantilever(0, PointLoad(7.1, (0, 0, 5), at=(1, 2, 3)), name="side")),
    Loading((0, 0, 2), over_two_supports(0, 5, WeightLoad((0, 1, 0)), name="falls"), Fall(900, 8)),
)


def test_braces_and_loads_are_kept_and_open_to_the_same_bytes():
    braces = (BRACE, replace(BRACE, name="second", is_printed=True, hold="insert"))
    plan = replace(PLAN, braces=braces, loadings=LOADINGS)
    text = plan_to_text(plan)
    assert plan_from_text(text) == plan
    assert plan_to_text(plan_from_text(text)) == text


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"braces__0__depth": -1}, "The depth of a brace must be above 0 mm, got -1"),
        ({"braces__0__towards": [1, 0, 0]}, "A brace must stand square to its way"),
        ({"braces__0__name": "second"}, "two of the name “second”: give each brace its own"),
        ({"braces__0__colour": 1}, "“braces[0].colour” that no plan of version 5 has"),
        ({"loadings__0__case__supports": []}, "Load case “lies”: the part is not held"),
        ({"loadings__0__case__name": "side"}, "two of the name “side”"),
        ({"loadings__0__axis": [0, 0, 0]}, "Load case “lies” needs an axis with a length"),
        ({"loadings__2__fall__height": -3}, "height of a fall must be 0 mm or more, got -3"),
        ({"loadings__0__case__loads__0__end": 1}, "must end after it starts, got 2 to 1 mm"),
    ],
)
def test_wrong_braces_and_loads_are_told_in_one_sentence(changes, message):
    plan = replace(PLAN, braces=(BRACE, replace(BRACE, name="second")), loadings=LOADINGS)
    with pytest.raises(PlanFileError, match=re.escape(message)):
        plan_from_text(record_with(plan, **changes))


def test_a_plan_of_version_1_holds_pins_alone_and_builds_no_flange():
    record = json.loads(plan_to_text(PLAN))
    for later in ("fastening", "own_fastenings", "seams_named_by", *SINCE_4):
        del record[later]
    record["version"] = 1
    for joint in record["joints"]:
        del joint["screws"], joint["flange"], joint["register"], joint["tape"]
        for pin in joint["pins"]:
            del pin["lead_in"], pin["vent"], pin["slot"]
    old = Fastening(flange="never", slots=False)
    assert plan_from_text(json.dumps(record)) == replace(PLAN, fastening=old)


def test_a_plan_of_version_2_holds_all_seams_in_one_way():
    record = json.loads(plan_to_text(PLAN))
    record["version"] = 2
    for later in ("own_fastenings", "seams_named_by", *SINCE_4):
        del record[later]
    assert plan_from_text(json.dumps(record)) == PLAN


def test_a_plan_of_version_3_is_for_any_material():
    record = json.loads(plan_to_text(PLAN))
    record["version"] = 3
    for later in SINCE_4:
        del record[later]
    assert plan_from_text(json.dumps(record)) == PLAN


def test_seams_of_which_a_plan_says_nothing_for_the_strength_are_as_usual():
    """Plans of before hardware and glue had values of their own, of any version."""
    plan = replace(PLAN, own_fastenings={"S1": Fastening(coat=0.1)})
    record = json.loads(plan_to_text(plan))
    for held in (record["fastening"], record["own_fastenings"]["S1"]):
        for entry in FOR_STRENGTH:
            del held[entry]
    assert plan_from_text(json.dumps(record)) == plan
    record["own_fastenings"]["S1"]["glue_shear"] = 8
    glued = plan_from_text(json.dumps(record)).own_fastenings["S1"]
    assert glued == Fastening(coat=0.1, glue_shear=8.0)
    record["fastening"]["screw_class"] = "7.7"
    with pytest.raises(PlanFileError, match=r"wrong entry “fastening.screw_class”"):
        plan_from_text(json.dumps(record))


def test_the_material_is_kept_to_the_bit_and_a_wrong_one_is_told():
    petg = Material("PETG", 1.27, shrink=(0.41, 0.4, 0.1 + 0.2), annealing=(1, 2, -3), scaled=False)
    plan = replace(PLAN, material=petg)
    assert plan_from_text(plan_to_text(plan)) == plan
    record = json.loads(plan_to_text(plan))
    record["material"]["shrink"] = [0.4, 25.0, 0.4]
    with pytest.raises(PlanFileError, match=r"wrong entry “material”: .* from -20 to 20, got 25"):
        plan_from_text(json.dumps(record))


def test_single_seams_are_kept_with_the_cuts_that_named_them_whatever_their_order():
    own = {"S2": Fastening(register="lap"), "S10": Fastening(pins=False)}
    plan = replace(PLAN, own_fastenings=own, seams_named_by=PLAN.cuts[:1])
    assert plan_from_text(plan_to_text(plan)) == plan
    turned = replace(plan, own_fastenings=dict(reversed(own.items())))
    assert plan_to_text(turned) == plan_to_text(plan)
    record = json.loads(plan_to_text(plan))
    assert record["own_fastenings"]["S2"]["register"] == "lap"
    assert record["seams_named_by"] == record["cuts"][:1]


def test_every_older_version_has_an_upgrade():
    assert set(files._UPGRADES) == set(range(1, files.VERSION))


@pytest.mark.skipif(sys.platform == "win32", reason="file names are Unicode there")
def test_a_name_that_is_no_text_is_refused_and_not_written_damaged(tmp_path):
    plan = replace(PLAN, part=PartFile("bad\udc80.stl", "mm", "x"))
    with pytest.raises(PlanFileError):
        save_plan(plan, tmp_path / "plan.json")
