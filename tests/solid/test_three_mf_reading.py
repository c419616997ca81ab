"""3MF files written by lib3mf (the 3MF consortium's own library) and by hand."""

import io
import zipfile

import lib3mf
import numpy as np
import pytest
from lib3mf import ModelUnit, ObjectType, get_wrapper

from splitplanner.errors import ReadError
from splitplanner.findings import Severity
from splitplanner.solid import read_solid
from tests.solid.soups import box, kinds

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
PRODUCTION = "http://schemas.microsoft.com/3dmanufacturing/production/2015/06"
START = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
# 3MF Core Specification 1.4.0, section 3.4: the six values of `unit`.
UNITS = {
    "micron": (ModelUnit.MicroMeter, "micron", 0.001),
    "millimeter": (ModelUnit.MilliMeter, "mm", 1.0),
    "centimeter": (ModelUnit.CentiMeter, "cm", 10.0),
    "inch": (ModelUnit.Inch, "inch", 25.4),
    "foot": (ModelUnit.Foot, "foot", 304.8),
    "meter": (ModelUnit.Meter, "m", 1000.0),
}


def transform(rows):
    """A lib3mf transform from four rows of three numbers, the last the translation."""
    made = lib3mf.Transform()
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            made.Fields[i][j] = float(value)
    return made


def moved(shift):
    return transform([(1, 0, 0), (0, 1, 0), (0, 0, 1), shift])


def add_mesh(model, mesh, kind=ObjectType.Model):
    made = model.AddMeshObject()
    positions = []
    for vertex in mesh[0]:
        position = lib3mf.Position()
        position.Coordinates[:] = [float(x) for x in vertex]
        positions.append(position)
    triangles = []
    for face in mesh[1]:
        triangle = lib3mf.Triangle()
        triangle.Indices[:] = [int(i) for i in face]
        triangles.append(triangle)
    made.SetGeometry(positions, triangles)
    made.SetType(kind)
    return made


def save(model, path):
    model.QueryWriter("3mf").WriteToFile(str(path))
    return path


def mesh_xml(mesh):
    corners = "".join(f'<vertex x="{x:g}" y="{y:g}" z="{z:g}"/>' for x, y, z in mesh[0])
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh[1])
    return f"<mesh><vertices>{corners}</vertices><triangles>{faces}</triangles></mesh>"


def model_xml(resources, build, attributes='unit="millimeter"', head=""):
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{head}<model {attributes} xmlns="{CORE}" '
        f'xmlns:p="{PRODUCTION}"><resources>{resources}</resources><build>{build}</build></model>'
    )


def package(tmp_path, model, name="/3D/part.model", more=None, relations=None):
    """Zip up a package by hand; `more` holds further parts."""
    if relations is None:
        relations = (
            '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
            '<Relationship Id="r0" Type="http://example.org/picture" Target="/pic.png"/>'
            f'<Relationship Id="r1" Type="{START}" Target="{name}"/></Relationships>'
        )
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("_rels/.rels", relations)
        for part, text in {name: model, **(more or {})}.items():
            packed.writestr(part.lstrip("/"), text)
    path = tmp_path / "a.3mf"
    path.write_bytes(held.getvalue())
    return path


CUBE = mesh_xml(box((10, 10, 10), (5, 5, 5)))
ONE = f'<object id="1" type="model">{CUBE}</object>'


@pytest.mark.parametrize("name", UNITS)
def test_the_six_units(tmp_path, name):
    code, unit, factor = UNITS[name]
    model = get_wrapper().CreateModel()
    model.SetUnit(code)
    model.AddBuildItem(add_mesh(model, box((1, 2, 3))), moved((4, 5, 6)))
    part = read_solid(save(model, tmp_path / "a.3mf"))
    assert part.unit == unit
    expected = np.array([[3.5, 4, 4.5], [4.5, 6, 7.5]]) * factor
    np.testing.assert_allclose(part.solid.bounds, expected, rtol=1e-6)
    assert part.solid.volume == pytest.approx(6 * factor**3, rel=1e-6)
    assert part.triangles_read == 12
    assert part.findings == ()


def test_no_unit_means_millimetres(tmp_path):
    text = model_xml(ONE, '<item objectid="1"/>', attributes="")
    part = read_solid(package(tmp_path, text))
    assert part.unit == "mm"
    assert part.solid.volume == pytest.approx(1000)


def test_a_unit_against_the_files_own(tmp_path):
    text = model_xml(ONE, '<item objectid="1"/>', attributes='unit="inch"')
    part = read_solid(package(tmp_path, text), unit="mm")
    assert part.solid.volume == pytest.approx(1000)
    (finding,) = part.findings
    assert finding.kind == "reading.unit"
    assert "inch" in finding.message


def test_several_items_in_their_places(tmp_path):
    model = get_wrapper().CreateModel()
    cube = add_mesh(model, box())
    bar = add_mesh(model, box((40, 2, 2)))
    model.AddBuildItem(cube, moved((0, 0, 0)))
    model.AddBuildItem(cube, moved((10, 0, 0)))
    model.AddBuildItem(bar, moved((0, 50, 0)))
    part = read_solid(save(model, tmp_path / "a.3mf"))
    # Two cubes that touch become one body; the bar stays apart.
    assert len(part.solid.bodies()) == 2
    assert part.solid.volume == pytest.approx(2000 + 160)
    np.testing.assert_allclose(part.solid.bounds, [[-20, -5, -5], [20, 51, 5]])


def test_transforms_turn_stretch_and_mirror(tmp_path):
    model = get_wrapper().CreateModel()
    block = add_mesh(model, box((10, 20, 30), (5, 10, 15)))
    # Row vectors: x' = 2 y + 100, y' = x, z' = z. Its determinant is -2: mirrored and stretched.
    turned = transform([(0, 1, 0), (2, 0, 0), (0, 0, 1), (100, 0, 0)])
    model.AddBuildItem(block, turned)
    part = read_solid(save(model, tmp_path / "a.3mf"))
    np.testing.assert_allclose(part.solid.bounds, [[100, 0, 0], [140, 10, 30]])
    assert part.solid.volume == pytest.approx(12_000)
    assert part.findings == ()


def test_components_within_components(tmp_path):
    model = get_wrapper().CreateModel()
    cube = add_mesh(model, box((2, 2, 2)))
    pair = model.AddComponentsObject()
    pair.AddComponent(cube, moved((0, 0, 0)))
    pair.AddComponent(cube, moved((10, 0, 0)))
    four = model.AddComponentsObject()
    four.AddComponent(pair, moved((0, 0, 0)))
    # A quarter turn about z: x' = -y, y' = x.
    four.AddComponent(pair, transform([(0, 1, 0), (-1, 0, 0), (0, 0, 1), (100, 0, 0)]))
    model.AddBuildItem(four, moved((0, 0, 50)))
    part = read_solid(save(model, tmp_path / "a.3mf"))
    centres = sorted(tuple(body.centroid.round(6)) for body in part.solid.bodies())
    assert centres == [(0, 0, 50), (10, 0, 50), (100, 0, 50), (100, 10, 50)]
    assert part.solid.volume == pytest.approx(32)
    assert part.triangles_read == 48


@pytest.mark.parametrize("kind", ["support", "solidsupport", "other", "surface"])
def test_other_objects_are_passed_over_with_a_warning(tmp_path, kind):
    text = model_xml(
        ONE + f'<object id="2" type="{kind}">{CUBE}</object>',
        '<item objectid="1"/><item objectid="2" transform="1 0 0 0 1 0 0 0 1 50 0 0"/>',
    )
    part = read_solid(package(tmp_path, text))
    assert part.solid.volume == pytest.approx(1000)
    (finding,) = part.findings
    assert finding.kind == "reading.skipped"
    assert finding.severity is Severity.WARNING
    assert kind in finding.message


def test_only_support_is_no_part(tmp_path):
    text = model_xml(f'<object id="2" type="support">{CUBE}</object>', '<item objectid="2"/>')
    with pytest.raises(ReadError, match="no triangles"):
        read_solid(package(tmp_path, text))


def test_objects_not_on_the_build_are_left_out(tmp_path):
    text = model_xml(ONE + f'<object id="2">{CUBE}</object>', '<item objectid="2"/>')
    assert read_solid(package(tmp_path, text)).solid.volume == pytest.approx(1000)


def test_no_build_reads_everything_once(tmp_path):
    pair = (
        '<object id="3"><components><component objectid="1"/>'
        '<component objectid="1" transform="1 0 0 0 1 0 0 0 1 50 0 0"/></components></object>'
    )
    part = read_solid(package(tmp_path, model_xml(ONE + pair, "")))
    assert part.solid.volume == pytest.approx(2000)
    assert kinds(part) == {"reading.no_build"}


@pytest.mark.parametrize("name", ["/3D/3dmodel.model", "/odd/Name.xml", "3D/relative.model"])
def test_the_model_part_is_found_by_its_relationship(tmp_path, name):
    path = package(tmp_path, model_xml(ONE, '<item objectid="1"/>'), name=name)
    assert read_solid(path).solid.volume == pytest.approx(1000)


def test_an_object_in_another_model_part(tmp_path):
    # 3MF Production Extension: a component may name the model part its object is in.
    outer = (
        '<object id="7"><components><component p:path="/3D/Objects/in.model" objectid="1" '
        'transform="1 0 0 0 1 0 0 0 1 30 0 0"/></components></object>'
    )
    path = package(
        tmp_path,
        model_xml(outer, '<item objectid="7"/>', 'unit="millimeter" requiredextensions="p"'),
        more={"/3D/Objects/in.model": model_xml(ONE, "", 'unit="centimeter"')},
    )
    part = read_solid(path)
    np.testing.assert_allclose(part.solid.bounds, [[30, 0, 0], [130, 100, 100]])


def test_unknown_elements_and_properties_are_ignored(tmp_path):
    odd = ONE.replace("<mesh>", '<x:note xmlns:x="urn:x"><x:vertex x="9"/></x:note><mesh>')
    text = model_xml(odd.replace('v3="', 'pid="1" p1="0" v3="'), '<item objectid="1"/>')
    assert read_solid(package(tmp_path, text)).solid.volume == pytest.approx(1000)


ITEM = '<item objectid="1"/>'


@pytest.mark.parametrize(
    ("text", "what"),
    [
        (model_xml(ONE, '<item objectid="5"/>'), "no object 5"),
        (model_xml(ONE, '<item objectid="1" transform="1 0 0"/>'), "3 numbers instead of 12"),
        (
            model_xml(ONE, '<item objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 0"/>'),
            "flattens its object",
        ),
        (model_xml(ONE, ITEM, 'unit="furlong"'), "furlong"),
        (model_xml(ONE, ITEM)[:-200], "damaged in line 1"),
        (model_xml(ONE.replace(' z="0"', "", 1), ITEM), "damaged in line 1: z is missing"),
        (model_xml(ONE.replace('x="0"', 'x="nought"', 1), ITEM), "damaged in line 1: could not"),
        (model_xml(ONE.replace('x="0"', 'x="nan"', 1), ITEM), "not numbers"),
        (model_xml(ONE.replace('v1="0"', 'v1="88"', 1), ITEM), "corners that do not exist"),
        (model_xml("", ""), "no triangles"),
        (
            model_xml(ONE, ITEM, 'xmlns:b="urn:beams" requiredextensions="b"'),
            "needs the 3MF extension urn:beams",
        ),
        (
            model_xml(
                '<object id="1"><components><component objectid="1"/></components></object>', ITEM
            ),
            "made of itself",
        ),
        (
            model_xml(ONE, '<item objectid="1" p:path="/3D/none.model"/>'),
            "lacks the model part",
        ),
        (model_xml(ONE, ITEM).replace(CORE, "urn:other"), "not begin with a model"),
    ],
)
def test_damaged_models(tmp_path, text, what):
    with pytest.raises(ReadError, match=what) as caught:
        read_solid(package(tmp_path, text))
    assert "a.3mf" in str(caught.value)
    assert caught.value.subject == "a.3mf"


def test_a_document_type_is_refused_before_any_entity(tmp_path):
    bomb = '<!DOCTYPE m [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    text = model_xml(ONE, ITEM, head=bomb)
    with pytest.raises(ReadError, match="document type declaration"):
        read_solid(package(tmp_path, text))


@pytest.mark.parametrize(
    ("relations", "what"),
    [
        ("<Relationships/>", "names no model part"),
        ("<Relationships", "relationships are damaged"),
        ("<!DOCTYPE r []><Relationships/>", "document type declaration"),
        (f'<R><Relationship Type="{START}" Target="/gone.model"/></R>', "lacks the model part"),
    ],
)
def test_damaged_relationships(tmp_path, relations, what):
    with pytest.raises(ReadError, match=what):
        read_solid(package(tmp_path, model_xml(ONE, ITEM), relations=relations))


def test_a_zip_that_is_no_package(tmp_path):
    path = tmp_path / "a.3mf"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("letter.txt", "hello")
    with pytest.raises(ReadError, match="no relationships"):
        read_solid(path)


def test_a_damaged_stream(tmp_path):
    path = package(tmp_path, model_xml(ONE, ITEM))
    data = bytearray(path.read_bytes())
    at = data.index(b"3D/part.model") + 40
    data[at : at + 60] = bytes(60)
    path.write_bytes(bytes(data))
    with pytest.raises(ReadError):
        read_solid(path)
