"""Where the tests keep what they find out, and the results that many of them look at."""

import os
from pathlib import Path

# Before Qt and VTK are loaded: no test opens a window on a screen.
os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

import pytest
from hypothesis.configuration import set_hypothesis_home_dir

from splitplanner import job
from splitplanner.job import plan_part
from tests.planned import BED, BOX, Run, box, ell, run, save

# Beside pytest's own notes, so that it is no folder that the collection of tests walks into.
set_hypothesis_home_dir(Path(__file__).parent.parent / ".pytest_cache" / "hypothesis")


@pytest.fixture(scope="session")
def box_job(tmp_path_factory):
    """A box of 430 x 200 x 240 mm, planned and written by the command line with everything.

    The run, and what `plan_part` returned and reported in it.
    """
    place = tmp_path_factory.mktemp("box")
    model = save(box(BOX, (-100.0, 20.0, 5.0)), place / "box.stl")
    calls, results = [], []

    def recorded(*arguments, report, **options):
        def noted(done, doing):
            calls.append((done, doing))
            report(done, doing)

        results.append(plan_part(*arguments, report=noted, **options))
        return results[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(job, "plan_part", recorded)
        outcome = run("plan", model, "--bed", BED, "--out", place / "out")
    assert outcome.exit_code == 0, outcome.stderr
    return Run(model, place / "out", outcome), (results[0], calls)


@pytest.fixture(scope="session")
def box_run(box_job):
    """The run of `box_job`: model, folder and what was printed."""
    return box_job[0]


@pytest.fixture(scope="session")
def box_result(box_job):
    """The result that `plan_part` returned in `box_job`, and all that it reported."""
    return box_job[1]


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
