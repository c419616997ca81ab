"""The result folder, read back by trimesh and by lib3mf, the 3MF Consortium's own reader."""

import json
import math

import lib3mf
import numpy as np
import pytest
import trimesh
from PIL import Image

from splitplanner.errors import Cancelled, ExportError, UnsoundError
from splitplanner.findings import Finding, Severity
from splitplanner.output import write_result
from splitplanner.plan import divide, load_plan, part_path, plan_to_text
from splitplanner.solid import read_solid
from tests.pin_holes import holes_of
from tests.planned import BOX

BED = np.array([220.0, 220.0, 250.0])
BED_GAP = 20.0


def read_back(path):
    # merge_vertices: an STL file repeats every corner in each of its triangles.
    mesh = trimesh.load_mesh(path, process=False)
    mesh.merge_vertices(digits_vertex=6)
    return mesh


@pytest.fixture(scope="module", params=["box_run", "ell_run"])
def written(request):
    done = request.getfixturevalue(request.param)
    return done.folder, json.loads((done.folder / "scorecard.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def as_cut(written):
    """The plan that was written, and what its cuts make of the part."""
    folder, _ = written
    path = folder / "plan.json"
    plan = load_plan(path)
    return plan, divide(read_solid(part_path(plan, path)).solid, plan.cuts)


@pytest.fixture(scope="module")
def meshes(written):
    folder, card = written
    return {row["number"]: read_back(folder / row["file"]) for row in card["pieces"]}


# -- layout -----------------------------------------------------------------------------------
def test_the_folder_holds_exactly_what_is_promised(box_run):
    stems = ["piece-01", "piece-02"]
    wanted = {
        "beds/bed-01.3mf",
        "beds/bed-02.3mf",
        "pieces.3mf",
        "plan.json",
        "print_sheet.txt",
        "scorecard.csv",
        "scorecard.json",
        "scorecard.txt",
        *(f"pieces/{stem}.stl" for stem in stems),
        *(f"pictures/{stem}.png" for stem in ["part", "exploded", *stems]),
    }
    found = {
        path.relative_to(box_run.folder).as_posix()
        for path in box_run.folder.rglob("*")
        if not path.is_dir()
    }
    assert found == wanted
    assert sorted(path.name for path in box_run.folder.parent.iterdir()) == ["box.stl", "out"]


def test_without_pictures_there_is_no_folder_for_them(ell_run):
    assert not (ell_run.folder / "pictures").exists()


def test_pictures_are_drawn_and_not_empty(box_run):
    for path in (box_run.folder / "pictures").iterdir():
        with Image.open(path) as picture:
            assert min(picture.size) >= 400
            assert len(picture.convert("RGB").getcolors(maxcolors=10**7)) > 50


# -- pieces -----------------------------------------------------------------------------------
def test_pieces_are_closed_single_bodies_on_the_bed(written, meshes):
    _, card = written
    assert len(meshes) == len(card["pieces"]) >= 2
    for mesh in meshes.values():
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume > 0
        assert mesh.body_count == 1
        assert mesh.bounds[0][2] == pytest.approx(0.0, abs=1e-4)
        assert (mesh.bounds[0] > -1e-4).all()
        assert (mesh.bounds[1] < BED + 1e-4).all()


def test_pieces_and_their_holes_add_up_to_the_part(written, as_cut):
    # Closed forms of the two parts: width x depth x height, and the L's two arms.
    _, card = written
    plan, division = as_cut
    whole = {"box": math.prod(BOX), "ell": (300 * 60 + 60 * 180) * 40.0}[card["part"]["title"]]
    assert sum(piece.solid.volume for piece in division.pieces) == pytest.approx(whole, rel=1e-9)
    holes = sum(
        hole.volume for piece in division.pieces for hole in holes_of(piece, division, plan)
    )
    made = sum(row["volume"] for row in card["pieces"])
    assert made + holes == pytest.approx(whole, rel=1e-9)


def test_written_pieces_are_those_of_the_scorecard(written, meshes):
    _, card = written
    for row in card["pieces"]:
        mesh = meshes[row["number"]]
        # Coordinates of STL are 32 bit floats: 1.5e-5 mm at 200 mm, over the area of a piece.
        assert mesh.volume == pytest.approx(row["volume"], rel=1e-6)
        assert mesh.extents[2] == pytest.approx(row["height"], abs=1e-4)


def test_written_pieces_lack_exactly_their_pin_holes(as_cut, meshes):
    plan, division = as_cut
    assert not any(joint.flange or joint.register for joint in plan.joints)
    for piece in division.pieces:
        holes = holes_of(piece, division, plan)
        assert len(holes) >= 2
        missing = piece.solid.volume - meshes[piece.number].volume
        # Of the order of 0.5 mm³ is what 32 bit floats are off by.
        assert missing == pytest.approx(sum(hole.volume for hole in holes), rel=1e-3)


def test_holes_stand_where_the_plan_puts_them(box_run, box_result):
    """Half way down each hole there is no material; past its bottom and round it there is."""
    result, _ = box_result
    for row in result.card.figures.pieces:
        mesh = read_back(box_run.folder / f"pieces/piece-{row.piece.number:02d}.stl")
        pose = row.fit.pose(row.piece.solid)
        for seam in result.division.seams:
            inward = np.array(seam.plane.normal) * (1 if row.piece.name == seam.above else -1)
            across = np.roll(np.abs(inward), 1)
            for pin in result.plan.joint(seam.name).pins:
                at = np.array(pin.at)
                hollow = [at + share * pin.depth * inward for share in (0.1, 0.5, 0.95)]
                solid = [
                    at + (pin.depth + 0.5) * inward,
                    at + pin.depth / 2 * inward + (pin.hole_diameter / 2 + 0.5) * across,
                ]
                laid = np.array(hollow + solid) @ pose[:3, :3].T + pose[:3, 3]
                assert mesh.contains(laid).tolist() == [False] * 3 + [True] * 2


# -- 3MF --------------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def model(written):
    """What lib3mf reads in strict mode, where every warning is an error."""
    folder, _ = written
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(folder / "pieces.3mf"))
    assert [reader.GetWarning(index) for index in range(reader.GetWarningCount())] == []
    return model


def meshes_of(model):
    found = []
    iterator = model.GetMeshObjects()
    while iterator.MoveNext():
        found.append(iterator.GetCurrentMeshObject())
    return found


def test_3mf_is_in_mm_and_holds_every_piece_by_name(model, written):
    _, card = written
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = meshes_of(model)
    assert [each.GetName() for each in objects] == [
        f"piece-{row['number']:02d}" for row in card["pieces"]
    ]
    for each in objects:
        assert each.IsManifoldAndOriented()
        assert each.GetPartNumber() == card["part"]["title"]


def test_3mf_puts_each_piece_on_a_bed_of_its_own(model, written):
    items = []
    iterator = model.GetBuildItems()
    while iterator.MoveNext():
        items.append(iterator.GetCurrent())
    assert len(items) == len(meshes_of(model))
    for index, item in enumerate(items):
        box = item.GetObjectResource().GetOutbox()
        fields = [list(row) for row in item.GetObjectTransform().Fields]
        assert fields[:3] == [[1, 0, 0], [0, 1, 0], [0, 0, 1]]
        low = np.array(list(box.MinCoordinate)) + fields[3]
        high = np.array(list(box.MaxCoordinate)) + fields[3]
        start = np.array([index * (BED[0] + BED_GAP), 0.0, 0.0])
        assert (low >= 0).all()
        assert (low >= start - 1e-4).all()
        assert (high <= start + BED + 1e-4).all()


def test_3mf_is_the_same_for_trimesh(written, meshes):
    folder, _ = written
    scene = trimesh.load_scene(folder / "pieces.3mf", process=False)
    assert scene.units == "millimeter"
    volumes = sorted(mesh.volume for mesh in scene.geometry.values())
    assert volumes == pytest.approx(sorted(mesh.volume for mesh in meshes.values()), rel=1e-6)
    assert all(mesh.is_watertight for mesh in scene.geometry.values())


# -- the plan ---------------------------------------------------------------------------------
def test_the_plan_opens_and_saves_to_the_same_bytes(box_run):
    path = box_run.folder / "plan.json"
    plan = load_plan(path)
    assert plan_to_text(plan).encode() == path.read_bytes()
    assert part_path(plan, path) == box_run.model.resolve()


# -- what is left out -------------------------------------------------------------------------
def files_in(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_what_is_left_out_is_not_there_and_the_rest_is_as_ever(box_result, tmp_path):
    result, _ = box_result
    model = tmp_path / "box.stl"

    def written(name, **options):
        write_result(result, tmp_path / name, model, draw=drawing, **options)
        return files_in(tmp_path / name)

    whole = written("whole")
    assert written("all", stl=True, three_mf=True) == whole
    no_3mf = written("no 3mf", three_mf=False)
    assert set(no_3mf) == {name for name in whole if not name.endswith(".3mf")}
    assert not (tmp_path / "no 3mf" / "beds").exists()
    naming = {"scorecard.json", "scorecard.csv", "print_sheet.txt"}
    assert {name for name, data in no_3mf.items() if data != whole[name]} == naming
    assert not any(b".3mf" in no_3mf[name] for name in naming)
    no_stl = written("no stl", stl=False)
    assert set(no_stl) == {name for name in whole if not name.startswith("pieces/")}
    assert not (tmp_path / "no stl" / "pieces").exists()
    telling = {"scorecard.json", "scorecard.csv"}
    assert {name for name, data in no_stl.items() if data != whole[name]} == telling
    # The scorecard names no file that was not written, and says all else.
    card, full = (json.loads(each["scorecard.json"]) for each in (no_stl, whole))
    for piece, before in zip(card["pieces"], full["pieces"], strict=True):
        assert before.pop("file").startswith("pieces/")
        assert piece == before
    assert b".stl" not in no_stl["scorecard.csv"]
    assert b".stl" not in no_stl["scorecard.json"]


def test_a_folder_without_meshes_may_be_replaced(box_result, tmp_path):
    result, _ = box_result
    folder, model = tmp_path / "out", tmp_path / "box.stl"
    write_result(result, folder, model, stl=False, three_mf=False)
    assert set(files_in(folder)) == {
        "plan.json",
        "print_sheet.txt",
        "scorecard.txt",
        "scorecard.json",
        "scorecard.csv",
    }
    write_result(result, folder, model, overwrite=True)
    assert "pieces.3mf" in files_in(folder)


# -- whole or not at all ----------------------------------------------------------------------
def drawing(scenes, report):
    for path, _ in scenes:
        report(0.5, "drawing")
        path.write_bytes(b"a picture")
    return ()


def test_nothing_is_written_of_an_unsound_plan(box_result, tmp_path):
    result, _ = box_result
    fault = Finding("piece.sliver", Severity.FAULT, "Piece 1 is a sliver.", "1")
    with pytest.raises(UnsoundError, match=r"nothing was written: Piece 1 is a sliver\.$"):
        write_result(result.with_findings(fault), tmp_path / "out", tmp_path / "box.stl")
    with pytest.raises(UnsoundError, match="There is 1 more fault"):
        write_result(result.with_findings(fault, fault), tmp_path / "out", tmp_path / "box.stl")
    assert list(tmp_path.iterdir()) == []


def test_writing_stops_at_every_report_and_leaves_nothing(box_result, tmp_path):
    result, _ = box_result
    calls = []
    write_result(
        result,
        tmp_path / "whole",
        tmp_path / "box.stl",
        draw=drawing,
        report=lambda *call: calls.append(call),
    )
    assert len(calls) >= 8
    for stop in range(len(calls) - 1):  # the last report comes when all is written
        heard = []

        def report(done, doing, heard=heard, stop=stop):
            heard.append(doing)
            if len(heard) > stop:
                raise Cancelled("Stopped.")

        with pytest.raises(Cancelled):
            write_result(
                result, tmp_path / "out", tmp_path / "box.stl", draw=drawing, report=report
            )
        assert [path.name for path in tmp_path.iterdir()] == ["whole"]


def test_a_failure_keeps_the_older_result(box_result, tmp_path):
    result, _ = box_result
    model, folder = tmp_path / "box.stl", tmp_path / "out"
    write_result(result, folder, model, draw=drawing)
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    with pytest.raises(ExportError, match="holds an older result"):
        write_result(result, folder, model, draw=drawing)

    def failing(scenes, report):
        raise ExportError("The disk is full.")

    with pytest.raises(ExportError, match="disk is full"):
        write_result(result, folder, model, draw=failing, overwrite=True)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_what_the_drawing_reports_is_in_the_scorecard(box_result, tmp_path):
    result, _ = box_result
    warning = Finding("pictures.not_drawn", Severity.WARNING, "4 of 4 pictures were not drawn.")
    written = write_result(
        result, tmp_path / "out", tmp_path / "box.stl", draw=lambda scenes, report: (warning,)
    )
    assert warning in written.findings
    for name in ("scorecard.txt", "scorecard.json"):
        assert warning.message in (tmp_path / "out" / name).read_text(encoding="utf-8")
