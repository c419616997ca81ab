"""Where the tests keep what they find out, and the results that many of them look at."""

from pathlib import Path

import pytest
from hypothesis.configuration import set_hypothesis_home_dir

from splitplanner.job import plan_part
from splitplanner.workshop import Bed, Printer
from tests.planned import BED, BOX, Run, box, ell, run, save

# Beside pytest's own notes, so that it is no folder that the collection of tests walks into.
set_hypothesis_home_dir(Path(__file__).parent.parent / ".pytest_cache" / "hypothesis")


@pytest.fixture(scope="session")
def box_run(tmp_path_factory):
    """A box of 430 x 200 x 240 mm, planned and written by the command line with everything."""
    place = tmp_path_factory.mktemp("box")
    model = save(box(BOX, (-100.0, 20.0, 5.0)), place / "box.stl")
    outcome = run("plan", model, "--bed", BED, "--out", place / "out")
    assert outcome.exit_code == 0, outcome.stderr
    return Run(model, place / "out", outcome)


@pytest.fixture(scope="session")
def box_result(box_run):
    """What `plan_part` returns for the same box, with all that it reported."""
    calls = []
    result = plan_part(
        box_run.model, Printer(bed=Bed.parse(BED)), report=lambda *call: calls.append(call)
    )
    return result, calls


@pytest.fixture(scope="session")
def ell_run(tmp_path_factory):
    """An L of 300 x 240 x 40 mm, planned and written without pictures; the card as JSON."""
    place = tmp_path_factory.mktemp("ell")
    model = save(ell(), place / "ell.stl")
    outcome = run("plan", model, "--bed", BED, "--out", place / "out", "--no-pictures", "--json")
    assert outcome.exit_code == 0, outcome.stderr
    return Run(model, place / "out", outcome)


@pytest.fixture(scope="session")
def small_model(tmp_path_factory):
    """A box of 60 x 50 x 40 mm, which any bed holds uncut: planned in some 30 ms."""
    return save(box((60.0, 50.0, 40.0)), tmp_path_factory.mktemp("small") / "small.stl")
