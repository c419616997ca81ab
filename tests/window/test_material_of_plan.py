"""The material of a plan in the whole window: chosen as one step, kept, and what it leads to."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from splitplanner.window.dialogs.export_dialog import ExportChoice
from splitplanner.workshop import Material

SHRINKING = Material("shrinking", 1.07, shrink=(0.4, 0.4, 0.4))


@pytest.fixture
def cut(desk, model):
    """A box of 430 x 100 x 80 mm with a cut in the middle that is examined."""
    desk.begin(model)
    desk.window.commands["add"].trigger()
    desk.settle()
    usual = desk.window.workshop.material
    yield desk
    desk.window.workshop.use_material(usual)
    desk.settle()


def kinds(desk):
    return {finding.kind for finding in desk.session.findings}


def choose(desk, material):
    before = desk.session.examined
    desk.window.workshop.use_material(material)
    desk.until(lambda: desk.session.examined not in (None, before))
    desk.settle()


def test_a_material_is_chosen_as_one_step_and_taken_back(cut):
    session, before = cut.session, cut.session.plan
    assert before.material == cut.window.workshop.material
    assert "allowance.files" not in kinds(cut)
    choose(cut, SHRINKING)
    assert session.plan == replace(before, material=SHRINKING)
    assert "allowance.files" in kinds(cut)
    session.document.undo()
    cut.settle()
    assert session.plan == before
    assert cut.window.workshop.material == before.material
    assert before.material.name in cut.window.workshop.buttons[1].text()


def test_files_of_a_material_that_shrinks_are_larger(cut, tmp_path):
    choose(cut, SHRINKING)
    folder = tmp_path / "out"
    cut.window.export.ask()
    cut.window.export.write(ExportChoice(folder, False, True, False, False))
    cut.until(lambda: (folder / "scorecard.json").exists())
    for row in cut.session.figures.pieces:
        (path,) = folder.glob(f"pieces/piece-{row.piece.number:02d}.stl")
        mesh = trimesh.load_mesh(path)
        assert mesh.is_watertight
        assert np.sort(mesh.extents) * 0.996 == pytest.approx(
            np.sort(row.piece.solid.extents), abs=1e-3
        )
