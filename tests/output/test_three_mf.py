"""3MF files: lib3mf, the 3MF Consortium's own reader, must accept them in strict mode."""

import io
import re
import zipfile

import lib3mf
import lxml.etree
import numpy as np
import pytest
import trimesh

from splitplanner.errors import ExportError
from splitplanner.output import BuildItem, on_beds, printable_mesh, three_mf_bytes
from splitplanner.solid import Solid
from splitplanner.workshop import Bed
from tests.placed_meshes import entries, model_of, placed

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
BED = Bed.rectangle(220.0, 200.0, 250.0)


def tube():
    outer, inner = (Solid.cylinder((50, 50, z), (50, 50, 100), r) for z, r in ((0, 40), (-1, 37)))
    return outer.difference(inner)


SOLIDS = {
    "1": Solid.box((10, 20, 30), (3, 4, 0)),
    "2.1 <“tube”> & Söhne": tube(),
    "2.2": Solid.box((10, 10, 10)).union(Solid.box((10, 10, 10), (10, 10, 0))),
    "3": Solid.box((40, 40, 40)).difference(Solid.box((20, 20, 20), (10, 10, 10))),
}


def meshes():
    return [(name, printable_mesh(solid, name)) for name, solid in SOLIDS.items()]


@pytest.fixture(scope="module")
def data():
    return three_mf_bytes(on_beds(meshes(), BED), "Hood & <vent>", "hood-7")


@pytest.fixture(scope="module")
def model(data):
    return model_of(data)


def test_lib3mf_finds_the_named_pieces_closed_and_oriented(model):
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = entries(model.GetObjects(), "GetCurrentObject")
    assert [thing.GetName() for thing in objects] == list(SOLIDS)
    assert {thing.GetPartNumber() for thing in objects} == {"hood-7"}
    for thing in objects:
        assert thing.IsValid()
        assert thing.GetType() == lib3mf.ObjectType.Model
        assert model.GetMeshObjectByID(thing.GetResourceID()).IsManifoldAndOriented()
    group = model.GetMetaDataGroup()
    metadata = {
        group.GetMetaData(index).GetName(): group.GetMetaData(index).GetValue()
        for index in range(group.GetMetaDataCount())
    }
    assert metadata["Title"] == "Hood & <vent>"
    assert set(metadata) == {"Title", "Application"}


def test_every_piece_is_on_its_own_bed_at_its_size_and_place(model):
    on_bed = placed(model)
    for index, (name, solid) in enumerate(SOLIDS.items()):
        # A bed of 220 mm and a gap of 20 mm.
        expected = solid.bounds + np.array([240.0 * index, 0, 0])
        np.testing.assert_allclose(on_bed[name].bounds, expected, atol=1e-4)
        assert on_bed[name].volume == pytest.approx(solid.volume, rel=1e-5)
        assert (on_bed[name].bounds >= 0).all()


def test_trimesh_reads_the_same_pieces(data):
    scene = trimesh.load(io.BytesIO(data), file_type="3mf")
    assert set(scene.geometry) == set(SOLIDS)
    for name, mesh in scene.geometry.items():
        assert mesh.is_watertight
        assert mesh.volume == pytest.approx(SOLIDS[name].volume, rel=1e-5)
    assert scene.units == "millimeter"


def test_the_numbers_read_are_the_numbers_checked(data):
    names = zipfile.ZipFile(io.BytesIO(data))
    root = lxml.etree.fromstring(names.read("3D/3dModel.model"))
    for thing, (_, mesh) in zip(root.iter(f"{{{CORE}}}object"), meshes(), strict=True):
        corners = [
            [float(vertex.get(axis)) for axis in "xyz"]
            for vertex in thing.iter(f"{{{CORE}}}vertex")
        ]
        assert np.array_equal(np.float32(corners).astype(float), mesh.vertices)


def test_the_package_is_as_the_specification_says(data):
    # 3MF Core Specification 1.4.0: 1.1 ZIP with Deflate, 2.3.2 UTF-8 and no DTD, 3.4 one model
    # with resources and then build, only what is used declared; 3.4.2 ids are unique.
    package = zipfile.ZipFile(io.BytesIO(data))
    assert package.namelist() == ["[Content_Types].xml", "_rels/.rels", "3D/3dModel.model"]
    for entry in package.infolist():
        assert entry.compress_type == zipfile.ZIP_DEFLATED
        assert entry.date_time == (1980, 1, 1, 0, 0, 0)
        assert entry.extract_version <= 20  # no ZIP64
        text = package.read(entry).decode("utf-8")
        assert text.startswith('<?xml version="1.0" encoding="UTF-8"?>')
        assert "<!DOCTYPE" not in text
        root = lxml.etree.fromstring(text.encode())
        used = {lxml.etree.QName(element).namespace for element in root.iter()}
        declared = {uri for element in root.iter() for uri in element.nsmap.values()}
        assert used == declared
    assert [lxml.etree.QName(child).localname for child in root] == [
        "metadata",
        "metadata",
        "resources",
        "build",
    ]
    assert root.get("unit") == "millimeter"
    ids = [thing.get("id") for thing in root.iter(f"{{{CORE}}}object")]
    assert len(set(ids)) == len(ids) == len(SOLIDS)
    assert [item.get("objectid") for item in root.iter(f"{{{CORE}}}item")] == ids
    # ST_Number of the schema, appendix B.1.
    number = re.compile(r"-?[0-9]+(\.[0-9]+)?(e-?[0-9]+)?")
    for vertex in root.iter(f"{{{CORE}}}vertex"):
        assert all(number.fullmatch(vertex.get(axis)) for axis in "xyz")


def test_equal_input_gives_equal_bytes(data):
    assert three_mf_bytes(on_beds(meshes(), BED), "Hood & <vent>", "hood-7") == data


def test_a_name_with_what_xml_cannot_hold_is_still_read():
    mesh = printable_mesh(Solid.box((1, 1, 1)))
    data = three_mf_bytes([BuildItem("a\x00b\ud800", mesh)], "t\x07")
    scene = trimesh.load(io.BytesIO(data), file_type="3mf")
    assert list(scene.geometry) == ["a\ufffdb\ufffd"]


def test_a_piece_a_trace_below_its_bed_is_raised_to_it():
    mesh = printable_mesh(Solid.box((10, 10, 10), (-1e-5, 0, -4e-6)))
    (item,) = on_beds([("1", mesh)], BED)
    assert (item.bounds[0] >= 0).all()
    assert (item.bounds[0] < 1e-5).all()
    three_mf_bytes([item], "t")


@pytest.mark.parametrize("corner", [(-1, 0, 0), (0, 0, -1), (215, 0, 0), (0, 195, 0), (0, 0, 245)])
def test_a_piece_beyond_its_bed_is_refused(corner):
    mesh = printable_mesh(Solid.box((10, 10, 10), corner))
    with pytest.raises(ExportError, match=r"Piece “1” reaches from .* beyond its bed"):
        on_beds([("1", mesh)], BED)


def test_items_that_overlap_or_lie_below_zero_are_refused():
    mesh = printable_mesh(Solid.box((10, 10, 10)))
    items = [BuildItem("1", mesh), BuildItem("2", mesh, (10.0, 0.0, 0.0))]
    three_mf_bytes(items, "t")
    with pytest.raises(ExportError, match="“1” and “2” would overlap"):
        three_mf_bytes([items[0], BuildItem("2", mesh, (9.0, 0.0, 0.0))], "t")
    with pytest.raises(ExportError, match="negative coordinates"):
        three_mf_bytes([BuildItem("1", mesh, (-1.0, 0.0, 0.0))], "t")
    with pytest.raises(ExportError, match="no piece"):
        three_mf_bytes([], "t")
