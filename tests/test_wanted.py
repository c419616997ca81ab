"""What the user wants of a plan, from the command line to the files."""

import json

import numpy as np
import pytest

from splitplanner.errors import NoProposalError
from splitplanner.job import plan_part
from splitplanner.score import Wishes
from splitplanner.score.keep_out import KeepOutBox
from splitplanner.solid import Plane
from splitplanner.workshop import Bed, Printer
from tests.planned import BOX, box, run, save

PRINTER = Printer(bed=Bed.parse("220x220x250"))


@pytest.fixture(scope="module")
def model(tmp_path_factory):
    path = tmp_path_factory.mktemp("wanted") / "box.stl"
    save(box(BOX), path)
    return path


def planned(model, **wanted):
    return plan_part(model, PRINTER, wishes=Wishes(**wanted))


def test_as_many_pieces_as_wanted(model):
    result = planned(model, pieces=3)
    assert [len(p.draft.division.pieces) for p in result.suggestion.proposals] == [3] * len(
        result.suggestion.proposals
    )


def test_no_seam_in_a_region_to_keep_out_of(model):
    middle = np.array(BOX) / 2
    low, high = np.subtract(middle, [8, 200, 200]), np.add(middle, [3, 200, 200])
    result = planned(model, keep_out=(KeepOutBox(tuple(low), tuple(high)),))
    for proposal in result.suggestion.proposals:
        for cut in proposal.draft.cuts:
            if abs(cut.plane.normal[0]) > 0.5:
                assert not low[0] + 1e-6 < cut.plane.offset / cut.plane.normal[0] < high[0] - 1e-6


def test_a_plane_that_must_be_cut(model):
    plane = Plane((0.0, 0.0, 1.0), 90.0)
    result = planned(model, must_cut=(plane,))
    for piece in result.division.pieces:
        height = plane.height(piece.solid.vertices)
        assert height.max() < 1e-6 or height.min() > -1e-6


def test_wishes_that_nothing_keeps_are_told_by_name(model):
    with pytest.raises(NoProposalError, match=r"keeps all wishes.*mm long"):
        planned(model, longest_seam=10.0)


def test_the_number_of_pieces_comes_from_a_file(model, tmp_path):
    wishes = tmp_path / "wishes.toml"
    wishes.write_text("pieces = 3\n", encoding="utf-8")
    outcome = run(
        "plan", model, "--out", tmp_path / "out", "--wishes", wishes, "--no-pictures", "--json"
    )
    assert outcome.exit_code == 0, outcome.stderr
    assert len(json.loads(outcome.stdout)["pieces"]) == 3


def test_weights_are_in_the_scorecard(model, tmp_path):
    outcome = run(
        "plan", model, "--out", tmp_path / "out", "--weight", "pieces=0.5", "--weight",
        "print time = 2", "--no-pictures", "--json",
    )  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    terms = {term["criterion"]: term for term in json.loads(outcome.stdout)["score"]["terms"]}
    assert terms["pieces"]["weight"] == 0.5
    assert terms["print time"]["weight"] == 2.0
    assert terms["print time"]["contribution"] > 0


@pytest.mark.parametrize("text", ["pieces", "pieces=much", "beauty=1", "pieces=-1", "=1"])
def test_a_weight_that_is_none_is_one_sentence(model, tmp_path, text):
    outcome = run("plan", model, "--out", tmp_path / "out", "--weight", text)
    assert outcome.exit_code == 6
    assert text in outcome.stderr
    assert "support volume" in outcome.stderr
    assert not (tmp_path / "out").exists()
