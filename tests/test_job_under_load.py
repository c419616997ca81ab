"""A part with load cases, from its file to the scorecard."""

import json
from dataclasses import replace

import pytest

from splitplanner.errors import NoProposalError
from splitplanner.examining import once
from splitplanner.findings import Finding, Severity
from splitplanner.job import plan_part
from splitplanner.joint.brace.proposing import proposed_braces
from splitplanner.output import scorecard_text
from splitplanner.output.records import scorecard_record
from splitplanner.plan import BraceWish, Fastening, Loading, PointLoad, over_two_supports
from splitplanner.score import scorecard
from splitplanner.score.criteria.seam_strength import HELD, SEAM_STRENGTH
from splitplanner.strength.whole import BESIDE
from splitplanner.workshop import Bed, Printer
from tests.planned import box, run, save
from tests.test_command_line import assert_one_sentence

NAME = SEAM_STRENGTH.name
MIDDLE = PointLoad(300.0, (0.0, 0.0, -100.0))
LOADING = Loading((1.0, 0.0, 0.0), over_two_supports(0.0, 600.0, MIDDLE))


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    model = tmp_path_factory.mktemp("bar") / "bar.stl"
    save(box((600.0, 40.0, 30.0)), model)
    return plan_part(model, Printer(bed=Bed.rectangle(480, 60, 250)), loadings=[LOADING])


def terms(card):
    return {term.criterion.name: term for term in card.terms}


def test_the_plan_keeps_its_load_cases_and_its_seam_lies_where_little_bends(result):
    assert result.plan.loadings == (LOADING,)
    (cut,) = result.plan.cuts
    # Half of the moment in the middle is left 150 mm from it; a joint reaches further.
    assert abs(cut.plane.offset - 300.0) >= 150.0 + BESIDE
    # By the examination as by the search, as long as the joint is not looked at.
    (proposal,) = [p for p in result.suggestion.proposals if p.plan.cuts == result.plan.cuts]
    bare = scorecard(replace(result.card.figures, seam_ratios=None))
    for card in (bare, proposal.draft.card):
        assert (terms(card)[NAME].counts, terms(card)[NAME].value) == (True, 0.0)
    assert terms(bare)[NAME].contribution == 0.0


def test_it_is_shown_where_there_are_load_cases(result):
    def told(figures):
        known = replace(result, card=scorecard(figures))
        names = [each["criterion"] for each in scorecard_record(known)["score"]["terms"]]
        return NAME in scorecard_text(known), NAME in names

    assert told(result.card.figures) == (True, True)
    assert told(replace(result.card.figures, under_load=(), seam_ratios=None)) == (False, False)
    # A joint that is known counts instead of what it is taken to hold.
    seam = result.division.seams[0].name
    known = scorecard(replace(result.card.figures, seam_ratios={seam: HELD / 2}))
    assert terms(known)[NAME].value == pytest.approx(75.0)


def test_a_plan_is_kept_where_no_place_is_found_for_braces(tmp_path):
    # A bar 40 mm wide: two braces would have to be as far apart as it is wide.
    model = save(box((600.0, 40.0, 30.0)), tmp_path / "bar.stl")
    outcome = run(
        "plan", model, "--bed", "480x60x250", "--braces", "two", "--sheet", "300x200",
        "--out", tmp_path / "out", "--no-pictures", "--json", "--quiet",
    )  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    record = json.loads(outcome.stdout)
    told = [each for each in record["findings"] if each["kind"].startswith("brace")]
    assert [each["kind"] for each in told] == ["brace.none"]
    assert told[0]["message"].startswith("The plan has no braces. No place was found for 2 braces")
    assert "braces" not in record
    assert (tmp_path / "out" / "plan.json").is_file()


def test_braces_of_an_uncut_part_tie_nothing(tmp_path):
    model = save(box((60.0, 40.0, 30.0)), tmp_path / "small.stl")
    result = plan_part(model, Printer(), braces=proposed_braces)
    (told,) = [each for each in result.findings if each.kind == "brace.none"]
    assert told.message.endswith("No seam crosses the part's long way, so braces tie nothing.")


def test_what_braces_lack_is_told_before_anything_is_planned(tmp_path):
    model = save(box((60.0, 40.0, 30.0)), tmp_path / "small.stl")
    file, out = tmp_path / "braces.toml", tmp_path / "out"
    file.write_text(
        "[braces.keel]\nalong = [1, 0, 0]\ntowards = [0, 0, 1]\noffset = -20.0\nlow = 0.0\n"
        'high = 60.0\ndepth = 20.0\nstock = 4.0\nhold = "insert"\n',
        encoding="utf-8",
    )
    outcome = run("plan", model, "--braces", file, "--out", out, "--quiet")
    assert outcome.exit_code == 6
    assert_one_sentence(
        outcome.stderr, "Brace “keel”: There is no heat-set insert of size M4 on the hardware shelf"
    )
    outcome = run("plan", model, "--sheet", "300x200", "--out", out, "--quiet")
    assert outcome.exit_code == 6
    assert_one_sentence(outcome.stderr, "A sheet, 300x200, says nothing without braces")
    assert not out.exists()


def test_findings_are_told_once_though_the_same_object_comes_twice():
    one = Finding("healing.hole", Severity.WARNING, "Closed 1 missing flat face.")
    other = Finding("healing.hole", Severity.WARNING, "Closed 2 missing flat faces.")
    assert once((one, other, one, replace(other))) == (one, other)


def test_a_part_that_is_likely_in_inches_is_said_to_be_where_there_is_no_plan(tmp_path):
    model = save(box((16.0, 6.0, 0.1)), tmp_path / "plate.stl")
    with pytest.raises(NoProposalError, match=r"in inch it would be 406\.4 mm\.$") as fault:
        plan_part(model, Printer())
    assert "thinner than a line" in str(fault.value)


def test_what_was_said_when_seams_were_joined_is_said_with_braces_too(tmp_path):
    # Too thin for screws without a flange, and a plate has no hidden side for one.
    model = save(box((600.0, 60.0, 8.0)), tmp_path / "plate.stl")
    brace = BraceWish((1, 0, 0), (0, 0, 1), -30.0, 60.0, 540.0, 20.0, 4.0, name="keel")
    bed, held = Printer(bed=Bed.rectangle(480, 80, 250)), Fastening(screws="insert")
    told = [
        {(each.kind, each.subject, each.message) for each in result.findings
         if each.kind.startswith("joint.screws")}
        for result in (
            plan_part(model, bed, fastening=held),
            plan_part(model, bed, fastening=held, braces=[brace]),
        )
    ]  # fmt: skip
    assert told[0]
    assert told[0] == told[1]


def test_what_proposes_braces_tells_how_far_it_is(tmp_path):
    model = save(box((600.0, 60.0, 8.0)), tmp_path / "plate.stl")
    doing = []

    def proposing(division, plan, report):
        assert division.seams
        report(0.5, "looking for places")
        return ()

    result = plan_part(
        model, Printer(bed=Bed.rectangle(480, 80, 250)), braces=proposing,
        report=lambda done, what: doing.append((done, what)),
    )  # fmt: skip
    assert (0.965, "looking for places") in [(round(done, 6), what) for done, what in doing]
    assert doing[-1] == (1.0, "checked")
    assert [each.kind for each in result.findings if each.kind == "brace.none"]
    # What takes none is not given one.
    told = plan_part(model, Printer(bed=Bed.rectangle(480, 80, 250)), braces=lambda one, other: ())
    assert [each.kind for each in told.findings if each.kind == "brace.none"]


def test_a_plan_is_kept_where_the_sheet_is_too_small_for_its_braces(tmp_path):
    model, file = save(box((600.0, 60.0, 40.0)), tmp_path / "bar.stl"), tmp_path / "braces.toml"
    file.write_text(
        "[braces.keel]\nalong = [1, 0, 0]\ntowards = [0, 0, 1]\noffset = -30.0\nlow = 30.0\n"
        "high = 570.0\ndepth = 20.0\nstock = 4.0\n",
        encoding="utf-8",
    )
    outcome = run(
        "plan", model, "--bed", "480x80x250", "--braces", file, "--sheet", "500x100+10",
        "--out", tmp_path / "out", "--no-pictures", "--json", "--quiet",
    )  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    found = json.loads(outcome.stdout)["findings"]
    (told,) = [each for each in found if each["kind"].startswith("brace.stock")]
    # 540 mm do not lie on 480 x 80 however they are turned: its diagonal is 487 mm.
    assert told["severity"] == "warning"
    assert "are missing" in told["message"]
    # The same of a plan that is there is a fault, for scripts.
    checked = run("check", tmp_path / "out" / "plan.json", "--sheet", "500x100+10", "--quiet")
    assert checked.exit_code == 1
