"""From a material's shrink to the files: the command line, the plan file and what is written."""

import json

import numpy as np
import pytest
import trimesh
from typer.testing import CliRunner

from splitplanner.command_line import app
from splitplanner.job import check_plan, plan_part, write
from splitplanner.joint import file_allowance, scaled_fit, with_room_to_shrink
from splitplanner.output import save_stl
from splitplanner.plan import load_plan
from splitplanner.solid import Solid
from splitplanner.workshop import Bed, Material, Printer

SHRINKING = Material("asa", 1.07, shrink=(0.5, 0.5, 0.8))
BED = Bed.parse("200x200x200")


@pytest.fixture(scope="module")
def bar(tmp_path_factory):
    """Return a bar that two beds of 200 mm hold, but not once it is scaled by half a percent."""
    path = tmp_path_factory.mktemp("bar") / "bar.stl"
    save_stl(Solid.box((399, 60, 30)), path)
    return path


def extents_of(folder):
    """Return the sorted extents of the pieces that were written, read by trimesh, mm."""
    meshes = [trimesh.load_mesh(path) for path in sorted((folder / "pieces").iterdir())]
    assert all(mesh.is_watertight for mesh in meshes)
    return [mesh.extents for mesh in meshes]


def test_pieces_in_files_fit_the_bed_and_come_out_at_size(bar, tmp_path):
    result = plan_part(bar, Printer(bed=BED, foot_width=0.2, foot_height=0.3), material=SHRINKING)
    assert result.is_sound
    assert result.plan.printer.bed == BED
    write(result, tmp_path / "out", bar, pictures=False)
    rows = result.card.figures.pieces
    allowance = file_allowance(result.plan.printer, SHRINKING)
    for row, found in zip(rows, extents_of(tmp_path / "out"), strict=True):
        # As it comes out it fits along the bed; as it is in the file, slantwise alone.
        assert row.fit.yaw % 90.0 == pytest.approx(0.0)
        fit = scaled_fit(row.piece.solid, row.fit, allowance, BED)
        assert fit.yaw % 90.0 != pytest.approx(0.0)
        turned = np.ptp(row.piece.solid.vertices @ fit.rotation.T, axis=0)
        assert found * (0.995, 0.995, 0.992) == pytest.approx(turned, abs=1e-4)
        assert (found <= 200.0).all()
    # The plan file keeps what was scaled by, and the plan stays sound by it.
    assert load_plan(tmp_path / "out" / "plan.json").material == SHRINKING
    again = check_plan(tmp_path / "out" / "plan.json")
    assert again.is_sound
    assert "allowance.files" in {finding.kind for finding in again.findings}


def test_the_command_line_reads_a_material(bar, tmp_path):
    mine = tmp_path / "mine.toml"
    mine.write_text("density = 1.07\nshrink = [2.0, 2.0, 2.0]\n", encoding="utf-8")
    out = tmp_path / "out"
    words = ["plan", str(bar), "--bed", "220x220x220", "--material", str(mine), "--out", str(out)]
    done = CliRunner().invoke(app, [*words, "--no-pictures", "--quiet", "--json"])
    assert done.exit_code == 0, done.output
    told = {each["kind"]: each["message"] for each in json.loads(done.stdout)["findings"]}
    assert "1.0204 x 1.0204 x 1.0204" in told["allowance.files"]
    # Lengths of both pieces add up to the bar's, larger by 1 / 0.98.
    longest = sum(max(each) for each in extents_of(out))
    assert longest == pytest.approx(399.0 / 0.98, abs=0.01)
    mine.write_text("density = 1.07\nshrink = [2.0, 2.0]\n", encoding="utf-8")
    wrong = CliRunner().invoke(app, [*words, "--quiet", "--overwrite"])
    assert wrong.exit_code == 6


@pytest.mark.parametrize(
    "bed",
    [
        Bed.parse("200x180x160"),
        Bed.parse("round 200x160"),
        Bed.rectangle(200.0, 200.0, 160.0, 5.0),
        Bed.of_outline(((0, 0), (200, 0), (200, 150), (0, 200)), 160.0, 4.0,
                       (((0, 0), (20, 0), (20, 20)),)),
    ],
)  # fmt: skip
def test_what_fits_the_smaller_bed_fits_the_real_one_once_it_is_scaled(bed):
    printer = Printer(bed=bed)
    smaller = with_room_to_shrink(printer, SHRINKING).bed
    largest = max(file_allowance(printer, SHRINKING).scale)
    assert largest == pytest.approx(1 / 0.992)
    for side in ("width", "depth", "height"):
        assert 0.0 <= getattr(bed, side) - getattr(smaller, side) * largest < 0.011 * largest
    assert smaller.margin * largest == pytest.approx(bed.margin)
    assert np.array(smaller.outline) * largest == pytest.approx(np.array(bed.outline))
    assert with_room_to_shrink(printer, None) is printer
    growing = Material("x", 1.0, shrink=(-1.0, -1.0, -1.0))
    assert with_room_to_shrink(printer, growing) is printer
