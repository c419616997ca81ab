"""Jobs of strength: sheets, load cases, and the check by cells against a beam.

Expected values: a beam over two supports with shear (Timoshenko; Gere and Goodno, Mechanics of
Materials), a sheet by hand, and statics.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from splitplanner.background.cells_checking import load_factor, notes_of
from splitplanner.background.cells_told import WayInCells
from splitplanner.background.live_seams import answer_seams
from splitplanner.background.strength_tasks import check_cells, fit_braces, propose_loads
from splitplanner.errors import JointError, LoadError
from splitplanner.plan import (
    BraceWish,
    Cut,
    Fall,
    Fastening,
    Joint,
    Loading,
    PartFile,
    Plan,
    PointLoad,
    WeightLoad,
    over_two_supports,
    with_joint,
)
from splitplanner.score import Wishes
from splitplanner.solid import Plane, read_solid
from splitplanner.strength import POISSON
from splitplanner.workshop import Bed, Printer, hardware_shelf, known_material
from tests.loaded.celled import screw
from tests.planned import box, save

X = (1.0, 0.0, 0.0)
LENGTH, SIDE, FORCE = 200.0, 20.0, 50.0
SPAN = 180.0
BENT = Loading(X, over_two_supports(10.0, 190.0, PointLoad(100.0, (0.0, 0.0, -FORCE)), name="bent"))
FALLS = Loading(
    X,
    replace(over_two_supports(10.0, 190.0, WeightLoad((0.0, 0.0, -3.0))), name="falls"),
    Fall(300.0, 6.0),
)


def silent(done, doing):
    """Report to nobody."""


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    path = save(box((LENGTH, SIDE, SIDE)), tmp_path_factory.mktemp("bar") / "bar.stl")
    source = read_solid(path)
    return {"source": source, "light": source.solid}


def planned(desk, **more):
    """Return a plan of the bar, on a bed that it fits."""
    part = PartFile("bar.stl", "mm", desk["source"].solid.fingerprint)
    return Plan(part, Printer(bed=Bed.parse("250x220x250")), **more)


# -- cells ------------------------------------------------------------------------------------
def test_a_bar_bends_as_a_beam_does(desk):
    plan = planned(desk, loadings=(BENT,))
    told = check_cells(desk, silent, None, plan, "bent")
    (whole,) = told.ways
    assert (whole.held, whole.stiffness, told.factor) == ("glued", 1.0, 1.0)
    material = known_material(None)[0]
    modulus, across = material.stiffness_xy, material.stiffness_z
    inertia, area = SIDE**4 / 12.0, SIDE**2
    shear = (modulus * across) ** 0.5 / (2.0 * (1.0 + POISSON))
    bends = FORCE * SPAN**3 / (48.0 * modulus * inertia)
    bends += 1.2 * FORCE * SPAN / (4.0 * shear * area)
    assert whole.deflection == pytest.approx(bends, rel=0.05)


def test_a_seam_makes_it_no_stiffer_and_colours_come_with_it(desk):
    cut = Cut(Plane(X, 80.0))
    told = check_cells(desk, silent, None, planned(desk, loadings=(BENT,), cuts=(cut,)), "bent")
    # Nothing was asked to hold the seam, so that no way can be worked out but the part in one.
    assert [way.held for way in told.ways] == ["glued"]
    assert told.notes
    assert told.overlays == ()
    assert told.accuracy


def test_a_glued_seam_in_the_middle_holds_as_one_and_its_glue_is_told(desk):
    """Cut where it is loaded: ``σ = F L / 4 / W`` at its edge, 0.9 of it on 95 % of the square."""
    plan = planned(
        desk, loadings=(BENT,), cuts=(Cut(Plane(X, 100.0)),),
        fastening=Fastening(pins=False, glue_shear=8.0, glue_peel=3.0),
    )  # fmt: skip
    told = check_cells(desk, silent, None, plan, "bent")
    assert [way.held for way in told.ways] == ["glued", "fastened"]
    way = told.ways[-1]
    assert way.is_glued
    assert not way.has_hardware
    assert way.stiffness == pytest.approx(1.0, abs=0.05)
    share, seam = way.glue
    stress = FORCE * SPAN / 4.0 / (SIDE**3 / 6.0)
    assert (share, seam) == (pytest.approx(0.9 * stress / 3.0, rel=0.15), "S1")
    assert any(f"glue of seam S1 takes {share:.0%}".replace("%", " %") in n for n in told.notes)
    assert told.notes[0].startswith("Held by nothing:")
    # A plain bar has no faces that say where it is bent: they are divided.
    for shown in told.overlays:
        assert set(shown.meshes) == {piece.name for piece in desk["result"].made.pieces}
        for name, (vertices, faces) in shown.meshes.items():
            assert len(shown.values[name]) == len(shown.levels[name]) == len(faces) > 100
            if shown.moves:
                assert shown.bent(name, vertices).shape == vertices.shape
    moved = told.overlays[1].values
    assert max(each.max() for each in moved.values()) == pytest.approx(way.deflection, rel=0.05)


def test_more_than_the_uncut_part_and_failing_glue_get_a_word():
    def way(stiffness, glue=0.0):
        seams = (SimpleNamespace(glue=glue, seam="S1"), SimpleNamespace(glue=0.0, seam="S2"))
        return WayInCells("fastened", stiffness, 0.1, (0.1, 0.2), "1", seams)

    assert notes_of([way(1.0), way(1.04)]) == []
    (stiffer,) = notes_of([way(1.0), way(1.31)])
    assert "flanges" in stiffer
    assert notes_of([way(0.9, 1.2)]) == [
        "The glue of seam S1 takes 120 % of its strength on 95 % of its area, and fails."
    ]


def test_a_check_is_kept_and_answers_to_screws(desk):
    plan = planned(desk, loadings=(BENT,), cuts=(Cut(Plane(X, 80.0)),))
    check_cells(desk, silent, None, plan, "bent")
    (seam,) = desk["result"].division.seams
    middle = seam.section.centroid
    screws = [screw(seam.plane, middle[1] + way, middle[2]) for way in (-5.0, 5.0)]
    told = answer_seams(
        desk, silent, None, with_joint(plan, Joint("S1", screws=tuple(screws))), "bent"
    )
    assert told.before is None
    # Statics: half of the force goes through the seam, 70 mm beside its support.
    after = told.after.seam("S1")
    assert after.shear == pytest.approx(FORCE / 2.0, rel=1e-6)
    assert after.bending == pytest.approx(70.0 * FORCE / 2.0, rel=1e-6)
    assert 0.0 < told.after.answer.stiffness < 1.0
    # A part in one piece has nothing to answer.
    check_cells(desk, silent, None, planned(desk, loadings=(BENT,)), "bent")
    assert answer_seams(desk, silent, None, planned(desk, loadings=(BENT,)), "bent") is None


def test_an_unknown_load_case_is_told(desk):
    with pytest.raises(LoadError, match="“x” could not be worked out"):
        check_cells(desk, silent, None, planned(desk, loadings=(BENT,)), "x")


def test_a_fall_is_as_many_times_the_loads_as_the_supports_take(desk):
    plan = planned(desk, loadings=(BENT, FALLS))
    check_cells(desk, silent, None, plan, "bent")
    bent, falls = desk["result"].strength.loads
    assert load_factor(bent) == 1.0
    carried = np.sum([each.force for each in falls.diagrams.reactions], axis=0)
    # Statics: the supports carry all that acts, and 3 N are drawn.
    assert load_factor(falls) * 3.0 == pytest.approx(float(np.linalg.norm(carried)), rel=1e-6)


# -- braces and load cases --------------------------------------------------------------------
def brace(name, **more):
    """Return a brace whose outline is a strip of 300 x 20 mm."""
    wish = BraceWish(X, (0.0, 0.0, 1.0), 0.0, 0.0, 300.0, 20.0, 4.0, name=name, **more)
    return SimpleNamespace(
        wish=wish, profile=SimpleNamespace(outline=shapely.box(0.0, 0.0, 300.0, 20.0))
    )


def fitted(desk, braces, name=""):
    """Lay braces that are made already on a sheet of 400 x 100 mm."""
    source, plan = desk["source"], planned(desk)
    known = {
        "source": source,
        "examiner": SimpleNamespace(source=source, shelf=hardware_shelf()),
        "result": SimpleNamespace(plan=plan, braces=braces),
    }
    return fit_braces(known, silent, None, plan, (400.0, 100.0, 10.0, 6.0), name)


def test_only_braces_of_one_kind_are_laid_on_a_sheet(desk):
    kinds = (brace("a"), brace("b", metal="steel"), brace("c", is_printed=True))
    for name in ("", "a", "b"):
        found = fitted(desk, kinds, name)
        (outline,) = found.outlines
        # Inside the margin there are 380 x 80 mm for 300 x 20.
        assert found.finding.measured == pytest.approx(60.0)
        assert outline.min() >= 10.0 - 1e-6
        assert (outline.max(axis=0) <= [390.0, 90.0]).all()
    with pytest.raises(JointError, match="no brace"):
        fitted(desk, kinds[2:])


def test_usual_load_cases_lie_on_the_part(desk):
    found = propose_loads(dict(desk), silent, None, Wishes())
    assert {each.name for each in found} == {
        "fall on its back", "push from the side", "twist from end to end"
    }  # fmt: skip
    for loading in found:
        assert all(0.0 <= each.station <= LENGTH for each in loading.case.supports)
