"""Sentences call pieces by their numbers; names of pieces look like figures and are not told."""

import json
import re

import pytest

from splitplanner.examining import Examiner
from splitplanner.findings import Finding, Severity, called, capital, numbered, piece_words
from splitplanner.output import print_sheet_text, scorecard_csv, scorecard_json, scorecard_text
from splitplanner.plan import (
    Cut,
    Fastening,
    Loading,
    PartFile,
    Plan,
    PointLoad,
    over_two_supports,
)
from splitplanner.solid import Plane, ReadPart, Solid
from splitplanner.workshop import Printer

X = (1.0, 0.0, 0.0)
NUMBERS = {"1": 4, "1.2": 2, "1.2.1": 1, "12a": 3}


def note(message, subject="1.2"):
    return Finding("piece.sliver", Severity.NOTE, message, subject)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (f"On {piece_words('1.2')} 1.2 mm.", "On piece 2 1.2 mm."),
        # Names begin as others do.
        (f"{piece_words('1.2.1')}, {piece_words('1')}", "piece 1, piece 4"),
        (f"{capital(piece_words('12a'))} is 12 mm thick.", "Piece 3 is 12 mm thick."),
        # Several in the order of their numbers.
        (f"heads in {piece_words('1', '12a', '1.2')}.", "heads in pieces 2, 3 and 4."),
        (f"{capital(piece_words('1', '1.2'))} overlap.", "Pieces 2 and 4 overlap."),
        # What is called so and is no piece, or none that is known, stays.
        ("Brace “1.2” on a piece of 1.2 mm", "Brace “1.2” on a piece of 1.2 mm"),
        ("piece “7” has none", "piece “7” has none"),
        ("pieces “1” and “7” have none", "pieces “1” and “7” have none"),
        ("timepiece “1” and piece 1.2", "timepiece “1” and piece 1.2"),
    ],
)  # fmt: skip
def test_pieces_are_called_by_their_numbers_and_nothing_else_is_changed(said, told):
    found = note(said)
    again = numbered(found, NUMBERS)
    assert (again.message, again.subject, again.kind) == (told, "1.2", "piece.sliver")
    assert numbered(again, NUMBERS) is again
    assert numbered(found, {}) is found


def test_things_are_called_by_name():
    assert called("seam", ["S1"]) == "seam S1"
    assert called("piece", (1, 2, 5)) == "pieces 1, 2 and 5"
    assert capital("brace “Left Side”") == "Brace “Left Side”"
    assert capital("") == ""


@pytest.fixture(scope="module")
def result():
    """A channel in pieces 1.1, 1.2 and 2, which are 1, 2 and 3 along it, under a load."""
    part = Solid.box((200.0, 60.0, 50.0)).difference(
        Solid.box((194.0, 54.0, 47.0), (3.0, 3.0, 0.0))
    )
    cuts = (Cut(Plane(X, 130.0)), Cut(Plane(X, 60.0), "1"))
    load = over_two_supports(10.0, 190.0, PointLoad(100.0, (0.0, 0.0, -50.0)))
    plan = Plan(
        PartFile("channel.stl", "mm", part.fingerprint), Printer(), cuts,
        fastening=Fastening(screws="nut"), loadings=(Loading(X, load),),
    )  # fmt: skip
    found = Examiner(ReadPart(part, "mm", (), len(part.faces))).examine(
        plan, "channel", completing=True
    )
    assert found.division.numbers == {"1.1": 1, "1.2": 2, "2": 3}
    return found


def test_all_papers_of_a_plan_call_its_pieces_by_their_numbers(result):
    more = note(f"{capital(piece_words('1.2'))} was simplified by 1.2 mm.")
    result = result.with_findings(more)
    heads = [each.message for each in result.findings if each.kind == "joint.screws"]
    assert sorted(each[-len("piece 1.") :] for each in heads) == ["piece 1.", "piece 3."]
    record = json.loads(scorecard_json(result))
    messages = [each["message"] for each in record["findings"]]
    assert messages == [each.message for each in result.findings]
    told = "Piece 2 was simplified by 1.2 mm."
    assert messages[-1] == told
    # By what a program knows it stays its name.
    assert record["findings"][-1]["subject"] == "1.2"
    assert [each["name"] for each in record["pieces"]] == ["1.1", "1.2", "2"]
    papers = scorecard_text(result), print_sheet_text(result)
    assert told in papers[0]
    assert "push piece 3 onto pieces 1 and 2" in papers[0]
    assert "piece 2: -z of the part upward" in papers[1]
    for text in (*papers, scorecard_csv(result), *messages):
        assert not re.search("[Pp]ieces? “", text)
