"""Beds of a result, and their 3MF files: lib3mf, the 3MF Consortium's reader, and trimesh agree."""

import io
import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh

from splitplanner.errors import ExportError
from splitplanner.examining import Examiner
from splitplanner.findings import faults
from splitplanner.joint import file_allowance
from splitplanner.output import (
    BuildItem,
    bed_file_name,
    beds_of,
    on_one_bed,
    print_sheet_text,
    printable_mesh,
    scorecard_record,
    scorecard_text,
    three_mf_bytes,
    write_result,
)
from splitplanner.output.surface_tables import marks_words
from splitplanner.score import GoodSideFigures, bed_seconds, layered_print, layering
from splitplanner.score.bed_sharing import SPACING
from splitplanner.solid import Solid
from splitplanner.solid.plane import Plane
from splitplanner.workshop import Bed, Material
from tests.placed_meshes import read, shadow

# Two halves of 215 x 200 x 240 mm side by side take 435 or 405 mm.
WIDE = Bed.rectangle(450.0, 230.0, 250.0)
PLASTIC = Material("plain", 1.25, price=20.0)


def on_bed(result, bed, material=None):
    """The same plan on another bed, examined anew."""
    plan = replace(result.plan, printer=replace(result.plan.printer, bed=bed), material=material)
    return Examiner(result.source).examine(plan, result.title)


@pytest.fixture(scope="module")
def together(box_result):
    """The halves of the box on one bed that is wide enough for both."""
    return on_bed(box_result[0], WIDE, PLASTIC)


def written(result, folder):
    write_result(result, folder, folder.parent / "box.stl")
    return [(folder / "beds" / f"{bed_file_name(each.load)}.3mf").read_bytes()
            for each in beds_of(result)]  # fmt: skip


def hold(meshes, bed, spacing):
    for mesh in meshes.values():
        assert mesh.is_watertight
        assert mesh.volume > 0
        assert mesh.bounds[0, 2] == pytest.approx(0.0, abs=1e-5)
        assert (mesh.bounds[0] > -1e-5).all()
        assert (mesh.bounds[1] < np.array([bed.width, bed.depth, bed.height]) + 1e-4).all()
    for one, other in itertools.combinations(meshes.values(), 2):
        assert shadow(one).distance(shadow(other)) >= spacing - 1e-3


# -- files ------------------------------------------------------------------------------------
def test_pieces_that_share_a_bed_are_in_one_file_as_they_lie_there(together, tmp_path):
    (data,) = written(together, tmp_path / "one")
    meshes = read(data)
    assert list(meshes) == ["piece-01", "piece-02"]
    hold(meshes, WIDE, SPACING)
    (bed,) = beds_of(together)
    rows = {row.name: row for row in together.card.figures.pieces}
    for piece, mesh in zip(bed.load.pieces, meshes.values(), strict=True):
        solid = rows[piece.name].piece.solid
        laid = solid.transformed(piece.fit.pose(solid))
        assert mesh.volume == pytest.approx(solid.volume, rel=1e-6)
        np.testing.assert_allclose(mesh.bounds, laid.bounds, atol=1e-4)
        np.testing.assert_allclose(mesh.center_mass, laid.centroid, atol=1e-3)
    scene = trimesh.load_scene(io.BytesIO(data), file_type="3mf")
    assert scene.units == "millimeter"
    np.testing.assert_allclose(
        scene.bounds,
        [np.min([m.bounds[0] for m in meshes.values()], axis=0),
         np.max([m.bounds[1] for m in meshes.values()], axis=0)], atol=1e-5,
    )  # fmt: skip
    assert written(together, tmp_path / "two") == [data]


def test_a_piece_that_is_alone_lies_as_in_its_own_file(box_run):
    for number in (1, 2):
        (mesh,) = read((box_run.folder / "beds" / f"bed-0{number}.3mf").read_bytes()).values()
        own = trimesh.load_mesh(box_run.folder / "pieces" / f"piece-0{number}.stl")
        np.testing.assert_allclose(mesh.bounds, own.bounds, atol=1e-5)
        assert mesh.volume == pytest.approx(own.volume, rel=1e-6)


@pytest.mark.parametrize("shrink", [(1.0, 1.0, 2.0), (2.0, 0.5, 0.0)])
def test_pieces_that_shrink_are_larger_in_the_file_along_the_axes_of_the_printer(
    box_result, shrink, tmp_path
):
    material = replace(PLASTIC, shrink=shrink)
    result = on_bed(box_result[0], Bed.rectangle(460.0, 230.0, 250.0), material)
    assert not faults(result.findings)
    (data,) = written(result, tmp_path / "out")
    meshes = read(data)
    hold(meshes, result.plan.printer.bed, SPACING - 2.0)
    scale = np.array(file_allowance(result.plan.printer, material).scale)
    # What is left of a length that shrinks by so many percent.
    np.testing.assert_allclose(scale, 1 / (1 - np.array(shrink) / 100), rtol=1e-9)
    rows = {row.name: row for row in result.card.figures.pieces}
    (bed,) = beds_of(result)
    for piece, mesh in zip(bed.load.pieces, meshes.values(), strict=True):
        solid = rows[piece.name].piece.solid
        laid = solid.transformed(piece.fit.pose(solid))
        np.testing.assert_allclose(mesh.extents, laid.extents * scale, atol=1e-4)
        assert mesh.volume == pytest.approx(solid.volume * scale.prod(), rel=1e-6)


def plate(shape):
    return Solid.prism(shape, Plane((0, 0, 1), 0.0), 0.0, 10.0)


def test_boxes_may_overlap_where_outlines_do_not():
    ring = shapely.Point(60, 60).buffer(50).difference(shapely.Point(60, 60).buffer(40))
    plug = shapely.Point(60, 60).buffer(20)
    square = shapely.box(50, 50, 70, 100)
    bed = Bed.rectangle(120, 120, 50)

    def items(*shapes):
        return [
            BuildItem(str(index), printable_mesh(plate(shape)),
                      outline=shapely.MultiPolygon([shape]))
            for index, shape in enumerate(shapes)
        ]  # fmt: skip

    meshes = read(three_mf_bytes(on_one_bed(items(ring, plug), bed), "two"))
    assert [round(mesh.bounds[0, 0]) for mesh in meshes.values()] == [10, 40]
    with pytest.raises(ExportError, match="“0” and “1” would overlap"):
        three_mf_bytes(items(ring, square), "two")
    with pytest.raises(ExportError, match="overlap"):
        three_mf_bytes([replace(each, outline=None) for each in items(ring, plug)], "two")
    beyond = [replace(items(plug)[0], offset=(80.0, 0.0, 0.0))]
    with pytest.raises(ExportError, match="beyond its bed of 120x120x50"):
        on_one_bed(beyond, bed)


def test_a_piece_is_turned_about_the_vertical_in_the_file():
    mesh = printable_mesh(Solid.box((40, 10, 5)))
    turned = BuildItem("bar", mesh, (30.0, 20.0, 0.0), yaw=90.0)
    (read_back,) = read(three_mf_bytes([turned], "bar")).values()
    np.testing.assert_allclose(read_back.bounds, [[20, 20, 0], [30, 60, 5]], atol=1e-6)
    np.testing.assert_allclose(turned.bounds, read_back.bounds, atol=1e-6)
    aslant = BuildItem("bar", mesh, (30.0, 20.0, 0.0), yaw=30.0)
    (read_back,) = read(three_mf_bytes([aslant], "bar")).values()
    c, s = np.sqrt(3) / 2, 0.5
    np.testing.assert_allclose(
        read_back.bounds, [[30 - 10 * s, 20, 0], [30 + 40 * c, 20 + 40 * s + 10 * c, 5]], atol=1e-5
    )
    # A trace below zero is made up for, for all that lie there alike.
    low = [BuildItem("a", mesh, (-1e-6, 5.0, -1e-7)), BuildItem("b", mesh, (50.0, 5.0, 0.0))]
    raised = on_one_bed(low, Bed.rectangle(100, 100, 50))
    assert min(item.bounds[0].min() for item in raised) >= 0.0
    assert raised[1].offset[0] - raised[0].offset[0] == pytest.approx(50.0 + 1e-6, abs=1e-9)


# -- figures ----------------------------------------------------------------------------------
def test_what_a_bed_takes_is_by_all_of_its_pieces(together):
    (bed,) = beds_of(together)
    printer = together.plan.printer
    prints = [
        layered_print(layering(row.piece.solid, row.up, printer), printer, row.support.volume)
        for row in together.card.figures.pieces
    ]
    assert bed.hours == pytest.approx(bed_seconds(prints, printer) / 3600)
    volume = sum(each.volume for each in prints)
    assert bed.volume == pytest.approx(volume)
    # 1.25 g/cm³, 20 a kg, filament of 1.75 mm.
    assert bed.filament.mass == pytest.approx(volume / 1000 * 1.25)
    assert bed.filament.cost == pytest.approx(volume / 1000 * 1.25 / 1000 * 20)
    assert bed.filament.length == pytest.approx(volume / (np.pi / 4 * 1.75**2))
    covered = sum(shadow_of(row) for row in together.card.figures.pieces)
    assert bed.load.free == pytest.approx(1 - covered / (450 * 230), abs=1e-6)
    record = scorecard_record(together)["beds"]
    assert record[0]["print_time"] == pytest.approx(bed.hours, abs=1e-4)
    assert record[0]["filament_mass"] == pytest.approx(bed.filament.mass, abs=1e-4)
    assert record[0]["file"] == "beds/bed-01.3mf"
    assert [each["piece"] for each in record[0]["placed"]] == [1, 2]
    assert "file" not in scorecard_record(together, bed_files=False)["beds"][0]
    (line,) = [line for line in scorecard_text(together).splitlines() if line.startswith("bed 1 ")]
    assert line.split()[2:4] == ["1", "2"]
    assert f"{bed.filament.mass:.0f}" in line.split()


def shadow_of(row):
    solid = row.piece.solid.transformed(row.fit.pose(row.piece.solid))
    return shadow(trimesh.Trimesh(solid.vertices, solid.faces, process=False)).area


# -- the sheet --------------------------------------------------------------------------------
def block(text, label):
    """What stands behind a label, in one line for each bed."""
    found = []
    for line in text.splitlines():
        if line.startswith(f"  {label} "):
            found.append(line[2 + len(label) :].strip())
    return found


def test_the_sheet_has_what_is_to_be_set(together):
    (bed,) = beds_of(together)
    text = print_sheet_text(together)
    assert text.startswith("box: what to print, on 1 bed of 450x230x250 mm\n")
    assert "Bed 1 of 1 (beds/bed-01.3mf)" in text
    assert "(" not in text.split("Bed 1 of 1")[1].splitlines()[0].replace("(beds", "", 1)
    printer = together.plan.printer
    assert block(text, "Material") == ["plain"]
    assert block(text, "Nozzle") == [f"{printer.nozzle:g} mm"]
    assert block(text, "Line width") == [f"{printer.line_width:g} mm"]
    assert block(text, "Layer height") == [f"{printer.layer_height:g} mm, {bed.layers} layers"]
    assert block(text, "Wall lines") == ["3, 1.35 mm together"]
    assert block(text, "Infill") == ["15 %"]
    assert block(text, "Support") == ["no"]
    assert block(text, "Time") == [f"{bed.hours:.1f} h"]
    mass = bed.filament.mass
    assert block(text, "Filament")[0].endswith(f"{mass:.0f} g, which cost {bed.filament.cost:.2f}")
    assert all(len(line) <= 100 for line in text.splitlines())
    # The halves weigh 2.3 kg each: four spools of 1 kg besides the first one.
    assert 4000 < mass < 5000
    (spool,) = block(text, "Spool")
    assert spool.startswith(
        "1000 g are on it before, which is too little: have 4 full ones of 1000 g"
    )
    left = 5000 - mass
    assert f"{left:.0f} g are left after" in " ".join(text.split())
    assert "(beds" not in print_sheet_text(together, bed_files=False)


def test_spools_are_followed_from_bed_to_bed(box_result):
    result = on_bed(box_result[0], box_result[0].plan.printer.bed, replace(PLASTIC, spool_mass=5e3))
    masses = [bed.filament.mass for bed in beds_of(result)]
    text = print_sheet_text(result.with_spool_left(5000.0))
    after = 5000.0 - masses[0]
    assert block(text, "Spool") == [
        f"5000 g are on it before, {after:.0f} g after",
        f"{after:.0f} g are on it before, {after - masses[1]:.0f} g after",
    ]
    text = print_sheet_text(result.with_spool_left(masses[0] + 10))
    assert f"{5010 - masses[1]:.0f} g are left after" in " ".join(text.split())
    assert "10 g are on it before, which is too little: have 1 full one of 5000 g" in text


def test_no_line_of_the_sheet_ends_between_a_number_and_its_unit(together):
    # Of ever longer names, so that each place comes to the end of a line once.
    for longer in range(30):
        material = replace(PLASTIC, name="plain" + longer * "n", spool_mass=1000.0)
        marks = (GoodSideFigures("1", 120.0, 30.0, 10.0**longer, 3.0, 4000.0),)
        plan = replace(together.plan, material=material)
        text = print_sheet_text(replace(together, plan=plan, good_sides=marks))
        starts = [line.split()[0] for line in text.splitlines() if line.startswith(" " * 17)]
        assert not {"mm", "cm²", "cm³", "m,", "g,", "g", "h", "%"} & set(starts)
        assert max(map(len, text.splitlines())) <= 100


def test_findings_of_spools_go_by_beds_where_these_are_known(together, box_result):
    (bed,) = beds_of(together)
    kinds = [each.kind for each in together.with_spool_left(500.0, [bed]).findings]
    told = [each for each in together.with_spool_left(500.0, [bed]).findings
            if each.kind.startswith("filament.")]  # fmt: skip
    # Both halves at once: one print, for which one spool is too little, and 500 g all the more.
    assert [each.kind for each in told] == ["filament.full_spool", "filament.started_spool"]
    assert told[0].message.startswith(f"Bed 1 (pieces 1 and 2) takes {bed.filament.mass:.0f} g")
    assert "is empty after 500 g of it" in told[1].message
    assert len(kinds) == len(together.findings) + len(told) - sum(
        each.kind.startswith("filament.") for each in together.findings
    )
    # One by one where nobody has put them on beds.
    alone = together.with_spool_left(500.0).findings
    assert "Piece 2 takes" in " ".join(each.message for each in alone)


def test_the_sheet_tells_what_is_on_the_good_side(together):
    marks = [
        GoodSideFigures("1", 120.0, 30.0, 256.4, 3.0, 4000.0),
        GoodSideFigures("2", 0.0, 0.0, 0.0, 1.0, 1.0),
    ]
    text = print_sheet_text(replace(together, good_sides=tuple(marks)))
    assert (
        " Good side piece 1: supports touch 1.5 cm², 256 mm of seam, 3 travels over gaps, 40.0 cm² "
        "on the bed piece 2: "
    ) in " ".join(text.split())
    assert f"\n{' ' * 17}piece 2: 1 travel over gaps\n" in text
    assert marks_words(GoodSideFigures("3", 0.0, 0.0, 0.0, 0.0, 0.0)) == "nothing"
    assert not block(print_sheet_text(replace(together, good_sides=())), "Good side")


def test_a_plan_without_a_material_or_layers_has_a_sheet(box_result):
    result, _ = box_result
    assert result.plan.material is None
    text = print_sheet_text(result)
    assert "Material: not chosen, so mass and cost are not known." in text
    assert not block(text, "Spool")
    assert block(text, "Filament")[0].endswith("cm³")
    figures = result.card.figures
    bare = replace(figures, pieces=tuple(replace(row, printed=None) for row in figures.pieces))
    rough = replace(result, card=replace(result.card, figures=bare))
    assert not block(print_sheet_text(rough), "Time")
    assert "print_time" not in scorecard_record(rough)["beds"][0]
    assert "bed 1" in scorecard_text(rough)


def test_the_sheet_tells_of_larger_files_and_chamfers(box_result):
    result, _ = box_result
    printer = replace(result.plan.printer, foot_width=0.4, foot_height=0.3)
    plan = replace(result.plan, printer=printer, material=replace(PLASTIC, shrink=(0.5, 0.5, 0.2)))
    text = " ".join(print_sheet_text(replace(result, plan=plan)).split())
    assert "larger by +0.50 % along x, +0.50 % along y and +0.20 % upward" in text
    assert "a chamfer of 0.4 mm, 0.3 mm high" in text
