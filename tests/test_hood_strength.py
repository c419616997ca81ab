"""The hood under a fall on its back and a push from the side, held in four ways."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.examining import Examiner
from splitplanner.joint.brace.proposing import proposed_braces
from splitplanner.output import plain_text, save_stl, scorecard_tables
from splitplanner.plan import Cut, PartFile, Plan, read_fastenings, read_loads
from splitplanner.solid import Plane, read_solid
from splitplanner.workshop import Bed, Printer, example_material

EXAMPLES = Path(__file__).parents[1] / "examples"


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    """Cut twice across, screwed, taped inside, and with two braces of aluminium."""
    model = tmp_path_factory.mktemp("hood") / "hood.stl"
    save_stl(DEMO_PARTS["rain_hood"].make(6_000), model)
    source = read_solid(model)
    part = source.solid
    plan = Plan(
        PartFile(model.as_posix(), "mm", part.fingerprint),
        Printer(bed=Bed.rectangle(256, 256, 250)),
        cuts=tuple(Cut(Plane((1.0, 0.0, 0.0), at)) for at in (-100.0, 95.0)),
        fastening=read_fastenings(EXAMPLES / "hood_fastening.toml").general,
        material=example_material(),
        loadings=read_loads(EXAMPLES / "hood_loads.toml").on(part),
    )
    examiner = Examiner(source)
    joined = examiner.examine(plan, "hood", completing=True)
    braces = proposed_braces(joined.division, joined.plan, maker=examiner.maker)
    return examiner.examine(replace(joined.plan, braces=braces), "hood")


def test_every_way_is_told_beside_the_uncut_part(result):
    assert result.is_sound
    falls, pushed = result.strength.loads
    assert (falls.loading.name, pushed.loading.name) == (
        "falls on its back",
        "pushed from the side",
    )
    assert falls.impact.factor > 100.0
    for answer in (falls, pushed):
        assert [way.way for way in answer.ways] == ["open", "fastened", "taped", "braced"]
        held = [way.ratio for way in answer.ways]
        # What holds a seam besides takes nothing away.
        assert held == sorted(held)
        assert held[0] == 0.0 < held[1] < 1.0
        for way in answer.ways:
            seam = way.weakest_seam
            assert seam.weakest.note
            assert way.weakest.factor <= seam.weakest.factor
            assert {each.seam for each in way.seams} == {"S1", "S2"}


def test_stress_moves_from_the_seams_into_the_braces(result):
    falls = result.strength.loads[0]
    found = {way.way: way for way in falls.ways}
    seams = zip(found["taped"].seams, found["braced"].seams, strict=True)
    for before, after in seams:
        assert after.relieved > 0.1
        assert after.stress < 0.9 * before.stress
        assert after.stress_least <= after.stress
    assert len(found["braced"].braces) == 2
    for brace in found["braced"].braces:
        assert 0.0 < brace.shares[0] <= brace.shares[1] < 1.0
        # Aluminium is stiffer than the plastic by as many times as it takes more.
        assert brace.stress > max(seam.stress for seam in found["braced"].seams)
        assert brace.stress < brace.proof


def test_the_stress_of_the_uncut_hood_is_that_of_its_section(result):
    # M c / I at the weakest station, by the section's own figures (Gere and Goodno).
    falls = result.strength.loads[0]
    diagrams = falls.diagrams
    entry = int(np.abs(diagrams.normal_stress).max(axis=1).argmax())
    section = diagrams.chain.properties[int(diagrams.stations[entry])]
    by_modulus = np.linalg.norm(diagrams.moment[entry]) / section.modulus
    # The least modulus is about a principal axis, and the hood is symmetric.
    assert diagrams.largest_stress == pytest.approx(by_modulus, rel=0.02)


def test_the_report_says_it(result):
    text = " ".join(plain_text(scorecard_tables(result)).split())
    for words in (
        "Strength, load case “falls on its back”",
        "Strength, load case “pushed from the side”",
        "pins and screws",
        "tape besides",
        "braces besides",
        "of what the uncut part holds, 2 braces included",
        "They are no proof of safety",
        "unless a licensed engineer answers for it",
    ):
        assert words in text
