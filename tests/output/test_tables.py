"""The scorecard as text, as a maker reads it."""

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from rich.console import Console

from splitplanner.findings import Finding, Severity
from splitplanner.job import plan_part
from splitplanner.joint import join
from splitplanner.output import (
    CAUTIONS,
    WIDTH,
    AssemblyStep,
    Result,
    findings_table,
    scorecard_tables,
    scorecard_text,
)
from splitplanner.plan import Cut, Joint, Plan, Tape, divide
from splitplanner.score import measure, scorecard
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.workshop import Material, Printer

TITLES = [
    "Proposals, the best first; a lower score is better",
    "Pieces, each in its print direction",
    "Printing, by layers; hours are for one piece after another",
    "Seams, with the room for dowel pins of 3 mm",
    "What holds the seams",
    "What it takes",
    "Plan score: weight x value / reference, added up",
    "Of weight 0, so not in the plan score",
    "Assembly, in this order; directions are those of the part",
    "Findings",
]


def unwrapped(text):
    return " ".join(text.split())


@pytest.fixture(scope="module")
def text(box_result):
    return scorecard_text(box_result[0])


@pytest.fixture(scope="module")
def slab(box_result):
    """A slab of 400 x 300 x 4 mm in six pieces: two cuts along x, one across all three."""
    result, _ = box_result
    part = Solid.box((400.0, 300.0, 4.0))
    cuts = (
        Cut(Plane.through((140.0, 0, 0), (1, 0, 0))),
        Cut(Plane.through((280.0, 0, 0), (1, 0, 0)), "2"),
        Cut(Plane.through((0, 150.0, 0), (0, 1, 0))),
    )
    division = divide(part, cuts)
    printer = Printer()
    ups = {piece.name: (0.0, 0.0, 1.0) for piece in division.pieces}
    seen = seen_from_outside(part)
    plan = Plan(result.plan.part, printer, cuts, ups)
    joints, findings = join(division, plan, seen=seen)
    figures = measure(division, ups, printer, seen)
    source, plan = replace(result.source, solid=part), plan.with_joints(joints)
    return Result("slab", source, plan, division, scorecard(figures), result.bound, None, findings)


# -- what is in it ----------------------------------------------------------------------------
def test_all_tables_are_there_in_order(text):
    lines = text.splitlines()
    places = [lines.index(title) for title in TITLES]
    assert places == sorted(places)


def test_heading_says_what_and_whether_it_is_sound(text, box_result):
    lines = text.splitlines()
    # 430 x 200 x 240 mm are 20 640 cm³.
    assert lines[0] == "box: 430.0 x 200.0 x 240.0 mm, 20640.0 cm³"
    assert lines[1].startswith("2 pieces on a bed of 220x220x250 mm; fewer than 2 cannot do: ")
    assert "The plan is sound." in lines
    fault = Finding("piece.open", Severity.FAULT, "Piece 1 is open.")
    unsound = scorecard_text(box_result[0].with_findings(fault))
    assert "The plan is NOT SOUND: see the faults below." in unsound
    assert re.search(r"^fault +Piece 1 is open\.$", unsound, re.MULTILINE)


def test_cautions_end_it(text):
    plain = unwrapped(text)
    for caution in CAUTIONS:
        assert f"Caution: {caution}" in plain
    assert plain.endswith(CAUTIONS[-1])
    assert "strength of the seams has not been computed" in plain
    assert "eye protection" in plain


def test_numbers_of_a_piece_are_on_one_line(text, box_result):
    for row in box_result[0].card.figures.pieces:
        extents = " x ".join(f"{extent:.0f}" for extent in row.piece.solid.extents)
        (line,) = [
            line
            for line in text.splitlines()
            if line.startswith(f"{row.piece.number}   {row.piece.name} ")
        ]
        assert extents in line
        assert f"{row.piece.solid.volume / 1000:.1f}" in line


def test_hours_filament_and_spools_are_told_by_piece_and_in_all(box_result):
    bare = scorecard_text(box_result[0])
    assert "Mass and cost are not known without a material." in bare
    petg = Material("PETG", 1.25, 24.0)
    result = replace(box_result[0], plan=replace(box_result[0].plan, material=petg))
    lines = scorecard_text(result).splitlines()
    start = lines.index("Printing of PETG, by layers; hours are for one piece after another")
    rows = [lines[start + 4 + at].split() for at in range(3)]
    prints = [row.printed for row in result.card.figures.pieces]
    volumes = [each.volume / 1000 for each in prints]
    for number, (row, each, volume) in enumerate(zip(rows, prints, volumes, strict=False), 1):
        assert row[:4] == [str(number), f"{each.hours:.1f}", str(each.layers), "0"]
        grams = volume * 1.25
        metres = volume / (np.pi / 4 * 0.175**2) / 100
        wanted = [f"{volume:.1f}", f"{metres:.1f}", f"{grams:.0f}", f"{grams * 0.024:.2f}"]
        assert row[4:] == wanted
    total = sum(volumes)
    assert rows[2][:3] == ["all", f"{sum(each.hours for each in prints):.1f}", f"{total:.1f}"]
    assert rows[2][-1] == f"{total * 1.25 * 0.024:.2f}"
    # Some 4.4 kg: five spools of 1 kg.
    grams = total * 1.25
    said = unwrapped(scorecard_text(result))
    spools = int(np.ceil(grams / 1000))
    over = 1000 * spools - grams
    assert f"It takes {spools} new spools of 1000 g; {over:.0f} g are left over." in said
    said = unwrapped(scorecard_text(result.with_spool_left(9000.0)))
    assert f"The started spool is enough: of its 9000 g, {9000 - grams:.0f} g are left over" in said
    said = unwrapped(scorecard_text(result.with_spool_left(grams - 400)))
    assert "is not enough: it takes 1 new spool of 1000 g besides; 600 g are left over." in said


def test_what_weighs_nothing_is_shown_below_the_plan_score(slab):
    def rows(card):
        lines = scorecard_text(replace(slab, card=card)).splitlines()
        start = lines.index("Plan score: weight x value / reference, added up")
        middle = next(i for i in range(start, len(lines)) if lines[i].startswith("plan score"))
        end = next(i for i in range(middle, len(lines)) if lines[i].startswith("Assembly"))
        return "\n".join(lines[start:middle]), "\n".join(lines[middle + 1 : end])

    def named(text, term):
        return re.search(rf"^{term.criterion.name}  ", text, re.MULTILINE) is not None

    above, below = rows(slab.card)
    for term in slab.card.terms:
        assert named(above, term) == (term.applies and term.weight > 0)
        assert named(below, term) == (term.applies and term.weight == 0)
    # Six plates, four of 140 x 150 and two of 120 x 150 mm: no two go on one bed of 220 mm.
    assert re.search(r"^print beds +6  +beds  +1$", below, re.MULTILINE)
    above, below = rows(scorecard(slab.card.figures, {"print time": 0.5, "seam seen": 0.0}))
    assert "print time" in above
    assert "seam seen" in below
    every = {term.criterion.name: 1.0 for term in slab.card.terms}
    assert rows(scorecard(slab.card.figures, every))[1].strip() == ""


def test_an_uncut_part_has_no_empty_tables(small_model):
    text = scorecard_text(plan_part(small_model, Printer()))
    assert "1 piece on a bed of 220x220x250 mm, which the part fits uncut." in text
    assert "Seams" not in text
    assert "Assembly" not in text
    assert "Nothing to report." in text


def test_seams_without_pins_are_warned_of(slab):
    bare = replace(
        slab, plan=slab.plan.with_joints(tuple(Joint(seam.name) for seam in slab.division.seams))
    )
    text = scorecard_text(bare)
    bare_row = r"^S\d +none +none +- +-$"
    assert len(re.findall(bare_row, text, re.MULTILINE)) == len(slab.division.seams)
    assert "without pins" in text


# -- layout -----------------------------------------------------------------------------------
def test_no_line_is_wider_than_the_page(text, slab):
    for page in (text, scorecard_text(slab)):
        assert max(len(line) for line in page.splitlines()) <= WIDTH
        assert all(line == line.rstrip() for line in page.splitlines())
        assert page.endswith("\n")


@pytest.mark.parametrize(
    "settings",
    [
        {"FORCE_COLOR": "1"},
        {"COLUMNS": "40"},
        {"TERM": "dumb"},
        {"NO_COLOR": "1"},
        {"PYTHONIOENCODING": "ascii"},
    ],
)
def test_terminal_settings_do_not_change_the_file(text, box_result, monkeypatch, settings):
    for name, value in settings.items():
        monkeypatch.setenv(name, value)
    assert scorecard_text(box_result[0]) == text
    assert "\x1b" not in text


def test_names_are_not_taken_for_markup(box_result):
    message = "we[b]ird [red]:smile:[/b] part.stl states no unit."
    result = replace(box_result[0], title="we[b]ird [/red] :smile:")
    text = scorecard_text(result.with_findings(Finding("x", Severity.NOTE, message)))
    assert text.startswith("we[b]ird [/red] :smile:: 430.0")
    assert message in unwrapped(text)


def test_a_wide_terminal_shows_the_same_words(box_result):
    stream = io.StringIO()
    Console(file=stream, width=200).print(scorecard_tables(box_result[0]))
    wide = unwrapped(stream.getvalue())
    for title in TITLES:
        assert unwrapped(title) in wide


# -- order ------------------------------------------------------------------------------------
def test_findings_are_sorted_by_weight_and_seam():
    findings = [
        Finding("joint.keyed", Severity.NOTE, "note S1", "S1"),
        Finding("joint.close", Severity.WARNING, "warning S10", "S10"),
        Finding("joint.close", Severity.WARNING, "warning S2", "S2"),
        Finding("piece.sliver", Severity.FAULT, "fault 1", "1"),
    ]
    stream = io.StringIO()
    Console(file=stream, width=WIDTH).print(findings_table(findings))
    found = re.findall(r"(?:fault|warning|note) (?:S\d+|\d)", stream.getvalue())
    assert found == ["fault 1", "warning S2", "warning S10", "note S1"]


def middle(result, numbers):
    """Return the centre of mass of some pieces."""
    solids = [piece.solid for piece in result.division.pieces if piece.number in numbers]
    volumes = [solid.volume for solid in solids]
    return np.average([solid.centroid for solid in solids], axis=0, weights=volumes)


def assert_pushed_together(result, step):
    """The moving group goes towards the standing one, square to the seams that it closes."""
    way = middle(result, step.standing) - middle(result, step.moving)
    assert way @ step.direction > 0
    for seam in step.seams:
        assert abs(np.dot(seam.plane.normal, step.direction)) == pytest.approx(1.0)


def test_blocks_that_hang_together_close_in_one_push(slab):
    """Three strips are joined of two pieces each; the strips are then pushed onto each other."""
    numbers = {piece.name: piece.number for piece in slab.division.pieces}
    steps = slab.assembly()
    assert all(isinstance(step, AssemblyStep) for step in steps)
    strips = [{numbers["1.1"], numbers["1.2"]}, {numbers["2.1.1"], numbers["2.1.2"]}]
    strips.append({numbers["2.2.1"], numbers["2.2.2"]})
    within = [step for step in steps if len(step.seams) == 1]
    across = [step for step in steps if len(step.seams) == 2]
    assert len(within) + len(across) == len(steps) == 5
    assert sorted(sorted({*step.moving, *step.standing}) for step in within) == list(
        map(sorted, strips)
    )
    # Two strips that lie side by side first, and then the third one.
    one, other = ({frozenset(step.moving), frozenset(step.standing)} for step in across)
    first, second, third = map(frozenset, strips)
    assert one in ({first, second}, {second, third})
    joined = frozenset.union(*one)
    assert other == {joined, (first | second | third) - joined}
    together = {frozenset([piece.number]) for piece in slab.division.pieces}
    for step in steps:
        assert {frozenset(step.moving), frozenset(step.standing)} <= together
        together.add(frozenset([*step.moving, *step.standing]))
        assert_pushed_together(slab, step)
    assert sum(step.pins for step in steps) == sum(len(j.pins) for j in slab.plan.joints)


def test_pieces_told_apart_by_a_letter_go_on_one_by_one(box_result):
    """A U cut across its legs leaves two loose tips, each of which has a seam of its own."""
    result, _ = box_result
    part = Solid.box((100.0, 40.0, 10.0)).difference(
        Solid.box((60.0, 30.0, 30.0), (20.0, 10.0, -9.0))
    )
    cuts = (Cut(Plane.through((0, 25.0, 0), (0, 1, 0))),)
    division = divide(part, cuts)
    assert [piece.name for piece in division.pieces] == ["2a", "1", "2b"]
    plan = Plan(result.plan.part, Printer(), cuts)
    whole = replace(result, division=division, plan=plan, order=None)
    steps = whole.assembly()
    assert [len(step.seams) for step in steps] == [1, 1]
    assert sorted({*steps[0].moving, *steps[1].moving, *steps[0].standing}) == [1, 2, 3]
    assert set(steps[1].standing) == {*steps[0].moving, *steps[0].standing}
    for step in steps:
        assert_pushed_together(whole, step)
        assert step.direction == (0, -1, 0)


def test_seams_are_taped_as_soon_as_they_are_closed(box_result):
    result, _ = box_result
    tape = Tape("glass", 163.0, 2, 0.5, 30.0, 400.0)
    joints = tuple(replace(joint, tape=tape) for joint in result.plan.joints)
    told = unwrapped(scorecard_text(replace(result, plan=result.plan.with_joints(joints))))
    assert re.search(
        r"push piece \d onto piece \d along [^:]+: seam S1, on \d pins; then tape S1 ", told
    )
    assert "then tape" not in unwrapped(scorecard_text(result))
