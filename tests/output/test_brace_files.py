"""Braces in the folder and on the papers: drawings read back by ezdxf, meshes by trimesh."""

import io
import json
import math
import re
from collections import Counter
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
import shapely
import trimesh
from ezdxf import path as dxf_path

from splitplanner.errors import ExportError
from splitplanner.examining import Examiner
from splitplanner.joint import Maker
from splitplanner.output import (
    CAUTIONS,
    beds_of,
    cautions_of,
    exploded,
    print_sheet_text,
    scorecard_csv,
    scorecard_record,
    scorecard_text,
    write_result,
)
from splitplanner.output.brace_files import (
    HOLES,
    MARKS,
    OUTLINE,
    brace_dxf,
    brace_file_name,
    flat_mark,
)
from splitplanner.output.brace_tables import brace_steps
from splitplanner.output.cautions import IRON, METAL
from splitplanner.output.parts_list import list_parts, needed_parts
from splitplanner.plan import BraceWish, Cut, Joint, PartFile, Plan, Tape, divide
from splitplanner.solid import Plane, ReadPart, Solid
from splitplanner.solid.lettering import text_strokes
from splitplanner.workshop import Bed, Material, Printer, hardware_shelf

SHELF = hardware_shelf()
BED = Printer(bed=Bed(kind="rectangle", width=256, depth=256, height=256))
CUT = Cut(Plane((1.0, 0.0, 0.0), 100.0))
# Ridges across a plate, 3 mm high, so that outlines have curves.
PLATE = Solid.box((200, 80, 6), (0, -40, -6)).union(
    *(Solid.box((4, 80, 4), (x, -40, -1)) for x in (40, 140))
)
LEFT = BraceWish((1, 0, 0), (0, 0, 1), 0.0, 10, 190, 20, 4, bridged=10.0, spacing=40.0, name="left")
RIGHT = replace(
    LEFT, along=(-1, 0, 0), offset=-30.0, low=-190, high=-10, is_printed=True, hold="insert",
    screw_size="M3", name="right",
)  # fmt: skip
PLAN = Plan(
    PartFile("p.stl", "mm", PLATE.fingerprint),
    BED,
    (CUT,),
    braces=(LEFT, RIGHT),
    material=Material("PETG", 1.27),
)


@pytest.fixture(scope="module")
def braces():
    return Maker().braces(divide(PLATE, [CUT]), PLAN, SHELF)


@pytest.fixture(scope="module")
def result():
    # A plan with its joints: the checks find nothing that would keep it from being written.
    return Examiner(ReadPart(PLATE, "mm", (), len(PLATE.faces))).examine(
        PLAN, "plate", completing=True
    )


@pytest.fixture(scope="module")
def folder(result, tmp_path_factory):
    place = tmp_path_factory.mktemp("braced") / "out"
    write_result(result, place, place.parent / "p.stl")
    return place


def drawn(data):
    """Return what a drawing has by layer, read by ezdxf, arcs by chords of 0.1 µm.

    Marks are open lines, all else is polygons.
    """
    document = ezdxf.read(io.StringIO(data.decode("utf-8")))
    assert not document.audit().errors
    found = {}
    for entity in document.modelspace():
        assert entity.dxftype() == "LWPOLYLINE"
        assert entity.closed is (entity.dxf.layer != MARKS)
        kind = shapely.Polygon if entity.closed else shapely.LineString
        points = dxf_path.make_path(entity).flattening(1e-4)
        shape = kind([(point.x, point.y) for point in points])
        found.setdefault(entity.dxf.layer, []).append(shape)
    return document, found


# -- drawings -------------------------------------------------------------------------------
def test_a_drawing_has_the_brace_and_its_holes(braces):
    for brace in braces:
        document, layers = drawn(brace_dxf(brace))
        # $INSUNITS 4 is mm (DXF reference).
        assert document.header["$INSUNITS"] == 4
        assert document.dxfversion == "AC1015"
        assert document.header["$EXTMAX"][:2] == pytest.approx(
            np.ptp(np.reshape(brace.profile.outline.bounds, (2, 2)), axis=0)
        )
        assert set(layers) == {OUTLINE, HOLES, MARKS}
        (outline,) = layers[OUTLINE]
        wanted = brace.profile.outline
        assert outline.area == pytest.approx(wanted.area, rel=1e-9)
        assert outline.bounds[:2] == pytest.approx((0, 0), abs=1e-9)
        moved = shapely.transform(wanted, lambda flat, low=wanted.bounds[:2]: flat - low)
        assert shapely.hausdorff_distance(outline, moved) < 1e-9
        bolts = brace.bosses.bolts
        assert len(layers[HOLES]) == len(bolts) >= 4
        for hole, bolt in zip(layers[HOLES], bolts, strict=True):
            assert hole.area == pytest.approx(math.pi / 4 * bolt.brace_hole**2, rel=1e-3)
            own = brace.wish.to_own([bolt.at])[0, :2] - wanted.bounds[:2]
            assert np.array(hole.centroid.coords[0]) == pytest.approx(own, abs=1e-6)
            assert outline.contains(hole)
        # What is left weighs what the solid does, whose holes are prisms round the circles.
        left = outline.area - sum(hole.area for hole in layers[HOLES])
        assert left * brace.wish.stock == pytest.approx(brace.solid.volume, rel=1e-3)


def test_the_left_end_of_a_drawing_is_marked_with_where_it_goes(braces):
    for brace, text in zip(braces, ("-x left", "+x right"), strict=True):
        _, layers = drawn(brace_dxf(brace))
        (outline,), mark = layers[OUTLINE], shapely.union_all(layers[MARKS])
        metal = outline.difference(shapely.union_all(layers[HOLES]))
        # Clear of every edge, beside the first holes.
        assert metal.buffer(-0.9).contains(mark)
        assert mark.bounds[2] < outline.bounds[2] / 2
        # As the pen of the font draws it: turned along the strip and not mirrored, by the rotation
        # that fits best (Kabsch 1976), and as large as can be read.
        plain = np.vstack(text_strokes(text, 8.0, 0.0))
        found = np.vstack([line.coords for line in layers[MARKS]])
        plain, found = plain - plain.mean(axis=0), found - found.mean(axis=0)
        size = np.linalg.norm(found) / np.linalg.norm(plain)
        one, _, other = np.linalg.svd(plain.T @ found)
        turn = one @ other
        np.testing.assert_allclose(size * plain @ turn, found, atol=1e-6)
        assert np.linalg.det(turn) == pytest.approx(1.0)
        assert turn[0, 0] > 0.9
        assert 8.0 * size >= 3.0 - 1e-9


def test_a_mark_without_room_leaves_out_the_name_and_then_all(braces):
    # A name that fills half of the brace, one that the pen cannot write, a strip of 3 mm.
    for name, depth, wanted in (("n" * 60, 20.0, "-x"), ("übrig", 20.0, "-x"), ("left", 3.0, "")):
        wish = replace(LEFT, name=name, depth=depth)
        flat = replace(braces[0].profile, wish=wish)
        if depth < 20.0:
            low, _, high, _ = flat.outline.bounds
            flat = replace(flat, outline=shapely.box(low, 0.0, high, depth))
        strokes = flat_mark(replace(braces[0], profile=flat))
        assert len(strokes) == len(text_strokes(wanted, 8.0, 0.0))


def test_equal_braces_give_equal_drawings(braces):
    again = Maker().braces(divide(PLATE, [CUT]), PLAN, SHELF)
    assert [brace_dxf(brace) for brace in again] == [brace_dxf(brace) for brace in braces]
    assert brace_dxf(braces[0]) != brace_dxf(braces[1])
    assert ezdxf.options.write_fixed_meta_data_for_testing is False


# -- the folder -----------------------------------------------------------------------------
def test_the_folder_has_the_files_of_the_braces(result, folder):
    assert result.is_sound, [each.message for each in result.findings]
    names = sorted(path.name for path in (folder / "braces").iterdir())
    assert names == ["brace-01.dxf", "brace-02.3mf", "brace-02.dxf", "brace-02.stl"]
    assert brace_file_name(2) == "brace-02"
    for number, brace in enumerate(result.braces, 1):
        data = (folder / "braces" / f"brace-{number:02d}.dxf").read_bytes()
        assert data == brace_dxf(brace)
    # A printed one lies flat on the bed.
    mesh = trimesh.load_mesh(folder / "braces" / "brace-02.stl", process=False)
    mesh.merge_vertices(digits_vertex=6)
    assert mesh.is_watertight
    assert mesh.extents[2] == pytest.approx(4.0, abs=1e-4)
    assert mesh.bounds[0][2] == pytest.approx(0.0, abs=1e-4)
    assert (mesh.bounds[1][:2] <= 256).all()
    assert mesh.volume == pytest.approx(result.braces[1].solid.volume, rel=1e-5)


def test_a_folder_with_braces_is_ours(result, folder):
    with pytest.raises(ExportError, match="older result"):
        write_result(result, folder, folder.parent / "p.stl")
    write_result(result, folder, folder.parent / "p.stl", overwrite=True, stl=False)
    names = sorted(path.name for path in (folder / "braces").iterdir())
    assert names == ["brace-01.dxf", "brace-02.3mf", "brace-02.dxf"]
    write_result(result, folder, folder.parent / "p.stl", overwrite=True)


def test_pieces_in_the_folder_have_their_bosses(result, folder):
    bare = sum(piece.solid.volume for piece in result.division.pieces)
    meshes = [trimesh.load_mesh(path) for path in sorted((folder / "pieces").iterdir())]
    assert len(meshes) == 2
    grown = sum(
        solid.volume for brace in result.braces for each in brace.added.values() for solid in each
    )
    assert grown > 4000
    # Roots are in the wall, and holes are taken out.
    assert bare + 0.5 * grown < sum(mesh.volume for mesh in meshes) < bare + grown


# -- the papers -----------------------------------------------------------------------------
def test_the_parts_list_counts_the_hardware_of_braces(braces):
    bare = replace(PLAN, joints=())
    one, other = (len(brace.bosses.bolts) for brace in braces)
    wanted = {
        ("screw", f"ISO 4762 - M4 x {braces[0].bosses.size.length:g}"): one,
        ("screw", f"ISO 4762 - M3 x {braces[1].bosses.size.length:g}"): other,
        ("nut", "ISO 4032 - M4"): one,
        ("heat-set insert", "for M3, set into holes of 4 mm"): other,
        # A nut has a washer too.
        ("washer", "ISO 7089 - 4"): 2 * one,
        ("washer", "ISO 7089 - 3"): other,
    }
    needed = list_parts(bare, SHELF, braces)
    counts = Counter()
    for row in needed.hardware:
        name = row.name if row.what != "heat-set insert" else "for M3, set into holes of 4 mm"
        counts[row.what, name] += row.count
    assert counts == wanted
    assert {seam for row in needed.hardware for seam, _ in row.seams} == {"left", "right"}
    # Outlines of 180 mm, 20 mm deep, over ridges of 3 mm.
    lines = {part.what: part.name for part in needed_parts(bare, SHELF, braces)}
    assert lines["brace “left”"] == "aluminium, 180 x 23 x 4 mm"
    assert lines["brace “right”"] == "printed flat, 180 x 23 x 4 mm"
    assert list_parts(bare, SHELF).hardware == ()


def test_braces_are_bolted_on_last(result, folder):
    steps = result.assembly()
    last = brace_steps(result)
    assert [step.number for step in last] == [len(steps) + 1, len(steps) + 2]
    assert [step.name for step in last] == ["left", "right"]
    for step, brace in zip(last, result.braces, strict=True):
        assert step.pieces == (1, 2)
        assert step.direction == (0.0, 0.0, -1.0)
        assert step.bolts == len(brace.bosses.bolts)
    text = (folder / "scorecard.txt").read_text(encoding="utf-8")
    said = f"put brace “left” on along -z and bolt it to pieces 1 and 2 by {last[0].bolts} bolts"
    first = min(bolt.at[0] for bolt in result.braces[0].bosses.bolts)
    said += (
        f"; the left end of its drawing goes towards -x, its first hole {first:.0f} mm from that "
        "end of the part"
    )
    assert said in " ".join(text.split())
    assert "brace “left”" in text[text.index("What it takes") : text.index("Plan score")]


def test_papers_tell_which_end_of_a_brace_goes_where(result, folder):
    card = json.loads((folder / "scorecard.json").read_text(encoding="utf-8"))
    # The plate goes from 0 to 200 mm along x; the right brace runs along −x.
    left, right = ([bolt.at[0] for bolt in brace.bosses.bolts] for brace in result.braces)
    assert [brace["first_hole"] for brace in card["braces"]] == [
        {"towards": [-1.0, 0.0, 0.0], "distance": pytest.approx(min(left), abs=1e-6)},
        {"towards": [1.0, 0.0, 0.0], "distance": pytest.approx(200.0 - max(right), abs=1e-6)},
    ]
    # So it is in the drawing, whose left end is 10 mm from that end of the part.
    for told in card["braces"]:
        _, layers = drawn((folder / told["file"]).read_bytes())
        first = min(hole.centroid.x for hole in layers[HOLES])
        assert first + 10.0 == pytest.approx(told["first_hole"]["distance"], abs=1e-6)


def test_records_have_the_braces(result, folder):
    card = json.loads((folder / "scorecard.json").read_text(encoding="utf-8"))
    left, right = card["braces"]
    assert left["file"] == "braces/brace-01.dxf"
    assert (left["metal"], right["metal"]) == ("aluminium", None)
    assert (left["printed"], right["printed"]) == (False, True)
    # Of aluminium at 2.7 g/cm³; the printed one as if it were solid.
    volumes = [brace.solid.volume for brace in result.braces]
    assert left["mass"] == pytest.approx(volumes[0] * 2.7e-3, rel=1e-6)
    assert right["mass"] == pytest.approx(volumes[1] * 1.27e-3, rel=1e-6)
    assert len(left["bolts"]) == len(result.braces[0].bosses.bolts)
    assert {bolt["piece"] for bolt in left["bolts"]} == {1, 2}
    parts = {part["what"] for part in card["parts_list"]}
    assert {"brace “left”", "brace “right”", "heat-set insert"} <= parts


def test_without_braces_nothing_is_said_of_them(ell_run):
    card = json.loads((ell_run.folder / "scorecard.json").read_text(encoding="utf-8"))
    assert "braces" not in card
    assert not (ell_run.folder / "braces").exists()
    assert "brace" not in (ell_run.folder / "scorecard.txt").read_text(encoding="utf-8").lower()


# -- what a printed brace takes ---------------------------------------------------------------
def test_a_printed_brace_is_counted_with_all_that_is_printed(result, tmp_path):
    (row,) = result.card.figures.braces
    assert row.name == "brace “right”"
    # It is filled altogether, so its lines are as much as the solid, by trimesh; 1.27 g/cm³.
    solid = trimesh.Trimesh(row.piece.solid.vertices, row.piece.solid.faces).volume
    assert row.printed.volume == pytest.approx(solid, rel=5e-3)
    assert row.printed.layers == 20
    pieces = sum(each.printed.volume for each in result.card.figures.pieces)
    assert result.printing().volume == pytest.approx(pieces + row.printed.volume)
    assert result.printing().filament.mass == pytest.approx(
        1.27e-3 * (pieces + row.printed.volume), rel=1e-6
    )
    record = scorecard_record(result)
    assert record["braces"][1]["mass"] == pytest.approx(1.27e-3 * solid, rel=5e-3)
    assert [bed["placed"][0].get("brace") for bed in record["beds"]][-1] == "right"
    assert sum(bed["filament_mass"] for bed in record["beds"]) == pytest.approx(
        record["printing"]["filament_mass"], abs=1e-3
    )


def test_a_printed_brace_has_a_bed_of_its_own_on_all_papers(result, tmp_path):
    written = write_result(result, tmp_path / "out", tmp_path / "p.stl")
    last = beds_of(written)[-1].number
    sheet = print_sheet_text(written)
    block = sheet[sheet.index(f"Bed {last} of {last}") :]
    assert "Braces         brace “right”: " in block
    assert "Infill         100 %, since braces count as solid" in block
    text = scorecard_text(written)
    assert re.search(rf"\nbed {last} +brace “right” +\d+ +4\.0 ", text)
    assert "braces/brace-02.dxf" in text
    mesh = trimesh.load(tmp_path / "out" / "beds" / f"bed-{last:02d}.3mf").to_geometry()
    assert mesh.volume == pytest.approx(result.braces[1].solid.volume, rel=1e-5)
    assert mesh.bounds[:, 2] == pytest.approx([0.0, 4.0], abs=1e-4)
    assert f"bed,{last},braces,right," in scorecard_csv(written)


def test_an_empty_spool_is_told_of_a_bed_of_braces(result):
    before = sum(bed.filament.mass for bed in beds_of(result)[:-1])
    told = result.with_spool_left(before + 1.0, beds_of(result)).findings
    last = beds_of(result)[-1].number
    assert any(f"Bed {last} (brace “right”)" in each.message for each in told)


# -- cautions ---------------------------------------------------------------------------------
def test_papers_warn_of_what_the_braces_take(result):
    said = scorecard_text(result)
    plain = re.sub(r"\s+", " ", said)
    # The left one is cut from aluminium, the right one is bolted into inserts.
    assert f"Caution: {METAL}" in plain
    assert f"Caution: {IRON}" in plain
    assert scorecard_record(result)["cautions"] == list(cautions_of(result))
    bare = cautions_of(replace(result, braces=()))
    assert not {METAL, IRON} & set(bare)


def test_only_carbon_fibre_is_said_to_conduct(result):
    def said(fibre):
        tape = Tape(fibre, 163.0, 1, 0.5, 30.0, 200.0)
        joints = (Joint(result.division.seams[0].name, tape=tape),)
        return " ".join(cautions_of(replace(result, plan=result.plan.with_joints(joints))))

    assert "can make the skin allergic" in said("glass")
    assert "conduct" not in said("glass")
    assert "conduct" in said("carbon")


def test_the_print_sheet_warns_too(result):
    assert f"Caution: {CAUTIONS[0]}" in re.sub(r"\s+", " ", print_sheet_text(result))


def test_braces_are_in_the_csv(result):
    rows = [line.split(",") for line in scorecard_csv(result).splitlines()]
    told = {row[2]: row[3:] for row in rows if row[:2] == ["brace", "left"]}
    assert told["length"] == ["180.0", "mm"]
    assert told["file"] == ["braces/brace-01.dxf", ""]
    assert told["bolts"][0] == str(len(result.braces[0].bosses.bolts))


# -- the picture of pieces pulled apart -------------------------------------------------------
def test_braces_are_drawn_beyond_the_pieces_with_the_way_of_each_bolt(result):
    scene = exploded(result.made, result.plan, braces=result.braces)
    bare = exploded(result.made, result.plan)
    drawn = scene.bodies[len(bare.bodies) :]
    highest = max(float(body.vertices[:, 2].max()) for body in bare.bodies)
    bolts = sum(len(brace.bosses.bolts) for brace in result.braces)
    for body, brace in zip(drawn, result.braces, strict=True):
        # Both are put on from above, and are no larger and no smaller for that.
        assert body.vertices[:, 2].min() > highest
        np.testing.assert_allclose(
            np.ptp(body.vertices, axis=0), np.ptp(brace.solid.vertices, axis=0), atol=1e-6
        )
    assert len(scene.lines) == len(bare.lines) + bolts
    assert scene.caption[0].endswith(f", 2 braces, {bolts} bolts")
    assert [label.text for label in scene.labels[-2:]] == ["brace left", "brace right"]
