"""How proposals come about: as they are found, by weights, no worse than grids, always the same."""

import os
import subprocess
import sys

import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import Cancelled, NoProposalError
from splitplanner.plan import PartFile
from splitplanner.plan.files import plan_to_text
from splitplanner.score import CRITERIA, fits_any
from splitplanner.solid import Solid
from splitplanner.suggest import Drafter, suggest
from splitplanner.suggest.growing import Grower
from splitplanner.suggest.pool import Pool
from splitplanner.suggest.stations import Stations
from splitplanner.workshop import Bed, Printer
from tests.suggest.shapes import BED, PRINTER, cross, l_shape, survey_of


def suggested(part, printer=PRINTER, **options):
    return suggest(part, PartFile("part.stl", "mm", part.fingerprint), printer, **options)


def box():
    return Solid.box((240, 215, 215))


def hood():
    return DEMO_PARTS["rain_hood"].make(5_000)


# -- as they are found ----------------------------------------------------------------------------
@pytest.mark.parametrize("shape", [l_shape, hood])
def test_proposals_are_shown_as_they_are_found(shape):
    shown, heard, when = [], [], []

    def on_proposal(proposal):
        shown.append(proposal)
        when.append(heard[-1])

    part = shape()
    found = suggested(part, on_proposal=on_proposal, report=lambda done, doing: heard.append(done))
    # The first comes early, with estimated figures, and is a plan all the same.
    first = shown[0]
    assert not first.draft.card.figures.exact
    assert when[0] < 0.2
    assert first.number == 1
    assert first.reason
    assert all(row.fit.fits for row in first.draft.card.figures.pieces)
    assert set(first.plan.print_directions) == set(first.draft.division.by_name)
    # All others are exact, and those that are returned are among them.
    assert all(proposal.draft.card.figures.exact for proposal in shown[1:])
    exact = [proposal.plan.cuts for proposal in shown[1:]]
    assert len(exact) >= len(found.proposals)
    assert all(proposal.plan.cuts in exact for proposal in found.proposals)
    assert heard == sorted(heard)
    # What was shown first is no better than what is proposed in the end, but for its coarseness.
    assert found.proposals[0].draft.score <= first.draft.score * 1.05


def test_the_end_result_does_not_depend_on_who_looks():
    silent = suggested(box())
    watched = suggested(box(), on_proposal=lambda proposal: None)
    assert [p.plan for p in silent.proposals] == [p.plan for p in watched.proposals]
    assert [p.number for p in watched.proposals] == list(range(1, len(watched.proposals) + 1))


def test_what_a_watcher_raises_ends_the_search():
    def stop(proposal):
        raise Cancelled("seen enough")

    with pytest.raises(Cancelled, match="seen enough"):
        suggested(box(), on_proposal=stop)


@pytest.mark.parametrize("share", [0.0, 0.05, 0.2, 0.4, 0.55, 0.61, 0.65])
def test_what_report_raises_ends_the_search_at_any_stage(share):
    heard = []

    def stop(done, doing):
        heard.append(done)
        if done >= share:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled, match="stopped"):
        suggested(box(), report=stop)
    assert heard[-1] >= share
    assert all(done < share for done in heard[:-1])


# -- what is proposed -----------------------------------------------------------------------------
@pytest.mark.parametrize("shape", [l_shape, cross])
def test_the_first_proposal_is_no_worse_than_grids(shape):
    part = shape()
    survey, pool = survey_of(part), Pool()
    Grower(survey, Stations(part, BED), pool, 1).grids_from(survey.start)
    drafter = Drafter(part, survey.ground.seen, survey.costs, exact=True)
    drafts = [drafter.draft(plan.sketch.cuts) for plan in pool.all]
    grids = [draft.score for draft in drafts if draft is not None]
    assert grids
    assert suggested(part).proposals[0].draft.score <= min(grids) + 1e-9


def value(proposal, name):
    terms = {term.criterion.name: term.value for term in proposal.draft.card.terms}
    return terms[name]


def test_weights_change_the_choice():
    # The L in three has seams of its legs' section only, but a corner much larger than its ends.
    part = l_shape()
    nothing = {criterion.name: 0.0 for criterion in CRITERIA}
    short = suggested(part, weights={**nothing, "seam seen": 1.0, "seam hidden": 1.0}, most=1)
    even = suggested(part, weights={**nothing, "uneven pieces": 1.0}, most=1)
    (short,), (even,) = short.proposals, even.proposals
    for name, better, worse in (
        ("seam seen", short, even),
        ("uneven pieces", even, short),
    ):
        assert value(better, name) <= value(worse, name)
    assert value(even, "uneven pieces") < value(short, "uneven pieces") - 0.01
    assert short.plan.cuts != even.plan.cuts


def test_a_criterion_that_does_not_exist_is_refused():
    with pytest.raises(ValueError, match="beauty"):
        suggested(box(), weights={"beauty": 1.0})


@pytest.mark.parametrize(
    "bed",
    [
        Bed.of_outline(
            ((0, 0), (220, 0), (220, 100), (100, 100), (100, 220), (0, 220)), height=250
        ),
        Bed(
            "rectangle",
            220,
            220,
            250,
            blocked=(((100.0, 100.0), (120.0, 100.0), (120.0, 120.0), (100.0, 120.0)),),
        ),
        Bed.circle(230, 250, margin=5),
    ],
    ids=["L", "post", "round"],
)
def test_odd_beds(bed):
    found = suggested(Solid.box((90, 90, 400)), Printer(bed=bed), most=2)
    assert min(len(p.draft.division.pieces) for p in found.proposals) == 2
    for proposal in found.proposals:
        for row in proposal.draft.card.figures.pieces:
            assert fits_any(row.piece.solid, row.up, bed)


def test_when_nothing_fits_the_bed_is_told():
    # A plate of 4 mm on a bed of 3 mm: no cut makes it lower than a line is wide.
    with pytest.raises(NoProposalError, match=r"use|bed"):
        suggested(Solid.box((30, 30, 4)), Printer(bed=Bed.rectangle(0.3, 0.3, 0.3)))


# -- always the same ------------------------------------------------------------------------------
SCRIPT = """
from splitplanner.plan import PartFile
from splitplanner.plan.files import plan_to_text
from splitplanner.solid import Solid
from splitplanner.suggest import suggest
from splitplanner.workshop import Bed, Printer
part = Solid.box((240, 215, 215))
found = suggest(part, PartFile("part.stl", "mm", part.fingerprint),
                Printer(bed=Bed.rectangle(220, 220, 250)))
for proposal in found.proposals:
    print(plan_to_text(proposal.plan), proposal.reason, repr(proposal.draft.score))
"""


def test_two_processes_write_the_same_bytes():
    """Whatever order sets come in: strings hash differently in each process."""
    texts = []
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        done = subprocess.run(
            [sys.executable, "-c", SCRIPT], capture_output=True, env=environment, check=True
        )
        texts.append(done.stdout)
    assert texts[0] == texts[1]
    here = suggested(box())
    for proposal in here.proposals:
        assert plan_to_text(proposal.plan).encode() in texts[0]
