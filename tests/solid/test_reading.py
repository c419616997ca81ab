"""Reading model files: written by trimesh, or by hand where the format has more to it."""

import math
import sys

import numpy as np
import pytest
import trimesh

from splitplanner.errors import Cancelled, OpenSolidError, ReadError
from splitplanner.findings import Severity
from splitplanner.solid import READABLE, read_solid
from tests.solid.soups import box, found, kinds, sphere, stl_bytes, stl_text, without, write
from tests.solid.step_text import ball_as_step, box_as_step, cylinder_as_step, torus_as_step

ANNULUS = trimesh.creation.annulus(20, 50, 80, sections=64)
# A ring between two prisms of 64 sides: side and radius give the polygon's area.
ANNULUS_VOLUME = 64 / 2 * np.sin(2 * np.pi / 64) * (50**2 - 20**2) * 80


@pytest.mark.parametrize("ending", ["stl", "obj", "ply", "off", "3mf"])
def test_files_of_trimesh_come_back(tmp_path, ending):
    path = tmp_path / f"ring.{ending}"
    ANNULUS.export(path)
    part = read_solid(path)
    assert part.solid.volume == pytest.approx(ANNULUS_VOLUME, rel=1e-6)
    np.testing.assert_allclose(part.solid.bounds, ANNULUS.bounds, atol=1e-5)
    assert part.unit == "mm"
    assert part.triangles_read == len(ANNULUS.faces)
    assert part.findings == ()


def test_text_ply_of_trimesh_comes_back(tmp_path):
    path = write(tmp_path, "ring.ply", ANNULUS.export(file_type="ply", encoding="ascii"))
    assert read_solid(path).solid.volume == pytest.approx(ANNULUS_VOLUME, rel=1e-6)


@pytest.mark.parametrize("ending", ["glb", "gltf"])
def test_gltf_is_in_metres_with_y_up(tmp_path, ending):
    block = trimesh.creation.box((0.1, 0.2, 0.3))
    block.apply_translation((0.05, 0.1, 0.15))
    scene = trimesh.Scene()
    scene.add_geometry(block, transform=trimesh.transformations.translation_matrix((1.0, 0.0, 0.0)))
    files = scene.export(file_type=ending)
    for name, data in (files if isinstance(files, dict) else {"a.glb": files}).items():
        write(tmp_path, name, data)
    part = read_solid(tmp_path / ("model.gltf" if ending == "gltf" else "a.glb"))
    assert part.unit == "m"
    # Metres times 1000; x stays, z comes from y, and y from -z (a right-handed turn).
    np.testing.assert_allclose(
        part.solid.bounds, [[1000, -300, 0], [1100, 0, 200]], rtol=1e-6, atol=1e-4
    )
    assert part.solid.volume == pytest.approx(100 * 200 * 300, rel=1e-6)
    assert "reading.axes" in kinds(part)


def test_gltf_with_several_objects(tmp_path):
    scene = trimesh.Scene()
    move = trimesh.transformations.translation_matrix
    ball = trimesh.creation.box((0.1, 0.1, 0.1))
    scene.add_geometry(ball, geom_name="a", transform=move((0, 0, 0)))
    scene.add_geometry(ball, geom_name="a", transform=move((0.5, 0, 0)))
    mirrored = move((1, 0, 0))
    mirrored[0, 0] = -1
    scene.add_geometry(ball, geom_name="b", transform=mirrored)
    path = write(tmp_path, "three.glb", scene.export(file_type="glb"))
    part = read_solid(path)
    assert len(part.solid.bodies()) == 3
    assert part.solid.volume == pytest.approx(3e6, rel=1e-6)
    assert "healing.orientation" not in kinds(part)


# -- polygons -------------------------------------------------------------------------------
# An L: 30 x 30 less 20 x 20, so 500 mm², 40 mm high.
ELL = [(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)]
ELL_CORNERS = [(x, y, z) for z in (0, 40) for x, y in ELL]
ELL_FACES = [
    [5, 4, 3, 2, 1, 0],
    [6, 7, 8, 9, 10, 11],
    *([i, (i + 1) % 6, (i + 1) % 6 + 6, i + 6] for i in range(6)),
]


def ell_as_obj():
    rows = [f"v {x} {y} {z}" for x, y, z in ELL_CORNERS]
    rows += ["f " + " ".join(f"{i + 1}/1/1" for i in face) for face in ELL_FACES[:4]]
    rows += ["f " + " ".join(f"{i - 12}" for i in face) for face in ELL_FACES[4:]]
    return "# an L\no ell\n" + "\n".join(rows) + "\n"


def ell_as_off(head="OFF"):
    rows = [f"{head}\n# an L\n12 8 0"]
    rows += [f"{x} {y} {z}" for x, y, z in ELL_CORNERS]
    rows += [" ".join(map(str, [len(face), *face])) for face in ELL_FACES]
    return "\n".join(rows) + "\n"


def ell_as_ply(order):
    kind = {"": "ascii", "<": "binary_little_endian", ">": "binary_big_endian"}[order]
    head = (
        f"ply\nformat {kind} 1.0\ncomment an L\nelement vertex 12\nproperty float x\n"
        "property float y\nproperty float z\nproperty uchar red\nelement face 8\n"
        "property list uchar int vertex_indices\nproperty float quality\nend_header\n"
    ).encode()
    if not order:
        rows = [f"{x} {y} {z} 7" for x, y, z in ELL_CORNERS]
        rows += [" ".join(map(str, [len(face), *face, 0.5])) for face in ELL_FACES]
        return head + "\n".join(rows).encode() + b"\n"
    corner = np.dtype([("p", f"{order}f4", 3), ("red", "u1")])
    body = np.array([(c, 7) for c in ELL_CORNERS], dtype=corner).tobytes()
    for face in ELL_FACES:
        body += bytes([len(face)]) + np.array(face, f"{order}i4").tobytes()
        body += np.array(0.5, f"{order}f4").tobytes()
    return head + body


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("ell.obj", ell_as_obj()),
        ("ell.off", ell_as_off()),
        ("ell.off", ell_as_off("COFF").replace("0 0 0\n", "0 0 0 255 0 0\n")),
        ("ell.ply", ell_as_ply("")),
        ("ell.ply", ell_as_ply("<")),
        ("ell.ply", ell_as_ply(">")),
    ],
)
def test_concave_polygons(tmp_path, name, data):
    part = read_solid(write(tmp_path, name, data))
    assert part.solid.volume == pytest.approx(20_000)
    assert part.solid.area == pytest.approx(2 * 500 + 40 * 120)
    assert part.triangles_read == 2 * 4 + 6 * 2
    assert part.findings == ()


def test_obj_with_several_objects(tmp_path):
    rows, shift = [], 0
    for number, (vertices, faces) in enumerate([box((50, 50, 50)), box((50, 50, 50), (50, 0, 0))]):
        rows.append(f"o thing{number}")
        rows += [f"v {x} {y} {z}" for x, y, z in vertices]
        rows += ["f " + " ".join(str(i + 1 + shift) for i in face) for face in faces]
        shift += len(vertices)
    part = read_solid(write(tmp_path, "two.obj", "\n".join(rows)))
    assert part.solid.volume == pytest.approx(250_000)
    assert len(part.solid.bodies()) == 1


@pytest.mark.parametrize(
    ("name", "data", "what"),
    [
        ("a.obj", "v 1 2\n", "line 1"),
        ("a.obj", "v 1 2 3\nv 1 2 4\nf 1 2 9\n", "do not exist"),
        ("a.obj", "v 1 2 3\nf 1 x 1\n", "line 2"),
        ("a.obj", "# nothing\n", "no triangles"),
        ("a.off", "OFF\n3 1 0\n0 0 0\n1 0 0\n", "4 lines are announced, 2 follow"),
        ("a.off", "hello\n", "no text OFF file"),
        ("a.off", "nOFF\n4\n3 1 0\n", "no text OFF file"),
        ("a.off", "OFF\n3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 9\n", "do not exist"),
        ("a.ply", b"nothing", "header of a PLY file"),
        ("a.ply", ell_as_ply("<")[:-9], "cut short"),
        ("a.ply", ell_as_ply("")[:-40], "8 of face"),
        ("a.ply", ell_as_ply("<").replace(b"float x", b"float q"), "no plain coordinate x"),
        ("a.glb", b"glTF" + b"\0" * 60, "damaged"),
        ("a.gltf", "{}", "damaged|no triangles"),
        ("a.3mf", b"PK nothing", "no whole 3MF file"),
        ("a.step", "solid", "no STEP file"),
    ],
)
def test_damaged_files(tmp_path, name, data, what):
    with pytest.raises(ReadError, match=what) as caught:
        read_solid(write(tmp_path, name, data))
    assert name in str(caught.value)
    assert "\n" not in str(caught.value)


# -- STEP -----------------------------------------------------------------------------------
@pytest.mark.parametrize(("unit", "factor"), [("mm", 1.0), ("m", 1000.0), ("inch", 25.4)])
def test_step_in_any_unit(tmp_path, unit, factor):
    pytest.importorskip("cascadio")
    text = box_as_step((10, 20, 30), (4, 5, 6), unit)
    part = read_solid(write(tmp_path, "box.STEP", text))
    expected = np.array([[4, 5, 6], [14, 25, 36]]) * factor
    np.testing.assert_allclose(part.solid.bounds, expected, rtol=1e-6)
    assert part.solid.volume == pytest.approx(6000 * factor**3, rel=1e-5)
    assert part.unit == "mm"


ROUND_STEPS = {
    "narrow cylinder": (
        cylinder_as_step(2, 50),
        math.pi * 2**2 * 50,
        lambda p: np.maximum(np.hypot(p[:, 0], p[:, 1]) - 2, np.abs(p[:, 2] - 25) - 25),
    ),
    "wide cylinder": (
        cylinder_as_step(150, 50),
        math.pi * 150**2 * 50,
        lambda p: np.maximum(np.hypot(p[:, 0], p[:, 1]) - 150, np.abs(p[:, 2] - 25) - 25),
    ),
    "torus": (
        torus_as_step(60, 15),
        2 * math.pi**2 * 60 * 15**2,
        lambda p: np.hypot(np.hypot(p[:, 0], p[:, 1]) - 60, p[:, 2]) - 15,
    ),
    "ball": (
        ball_as_step(40),
        4 / 3 * math.pi * 40**3,
        lambda p: np.linalg.norm(p, axis=1) - 40,
    ),
    "large ball": (
        ball_as_step(200),
        4 / 3 * math.pi * 200**3,
        lambda p: np.linalg.norm(p, axis=1) - 200,
    ),
}


@pytest.mark.parametrize("name", ROUND_STEPS)
def test_curved_step_models_lie_near_their_true_surface(tmp_path, name):
    pytest.importorskip("cascadio")
    text, volume, distance = ROUND_STEPS[name]
    solid = read_solid(write(tmp_path, "round.step", text)).solid
    # Corners lie on the surface; middles of faces and edges up to 0.05 mm below it (all bulge).
    # glTF holds single precision of metres: 7 digits, so 0.02 µm for 200 mm.
    np.testing.assert_allclose(distance(solid.vertices), 0, atol=1e-4)
    corners = solid.vertices[solid.faces]
    middles = [0.5 * (corners[:, k] + corners[:, k - 1]) for k in range(3)]
    # A torus also has hollow places, where chords pass above it.
    out = 0.05 if name == "torus" else 1e-4
    assert distance(np.vstack([solid.face_centroids, *middles])).max() <= out
    near = np.abs(solid.face_normals[:, 2]) < 1 - 1e-6 if "cylinder" in name else slice(None)
    assert distance(solid.face_centroids[near]).min() >= -0.05
    for side in middles:
        assert distance(side[near]).min() >= -0.05
    assert volume - 0.05 * solid.area <= solid.volume <= volume


def test_step_without_its_reader_names_the_extra(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "cascadio", None)
    path = write(tmp_path, "box.stp", box_as_step((10, 20, 30), (0, 0, 0)))
    with pytest.raises(ReadError, match=r"splitplanner\[step\]"):
        read_solid(path)


def test_damaged_step(tmp_path, capfd):
    pytest.importorskip("cascadio")
    text = box_as_step((10, 20, 30), (0, 0, 0))
    with pytest.raises(ReadError, match=r"box\.step is damaged"):
        read_solid(write(tmp_path, "box.step", text[: len(text) // 3]))
    with pytest.raises(ReadError, match=r"garbage\.step is damaged"):
        read_solid(write(tmp_path, "garbage.step", "ISO-10303-21;garbage"))
    # The reader prints by itself what is wrong, into what may be JSON for a script.
    assert capfd.readouterr() == ("", "")


# -- units ----------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("unit", "factor"),
    [("mm", 1), ("cm", 10), ("m", 1000), ("inch", 25.4), ("ft", 304.8), ("micron", 0.001)],
)
def test_a_unit_can_be_given(tmp_path, unit, factor):
    path = write(tmp_path, "a.stl", stl_bytes(box((1, 2, 3))))
    part = read_solid(path, unit=unit)
    assert part.solid.volume == pytest.approx(6 * factor**3, rel=1e-6)
    assert part.findings == ()
    assert part.unit == ("foot" if unit == "ft" else unit)


@pytest.mark.parametrize(
    ("largest", "guess"),
    [(0.5, "in m "), (1.9, "in m "), (12.0, "in inch "), (29.0, "in inch "), (3e5, "in micron ")],
)
def test_an_unlikely_size_is_doubted(tmp_path, largest, guess):
    shape = (largest, largest / 2, largest / 3)
    part = read_solid(write(tmp_path, "a.stl", stl_bytes(box(shape))))
    finding = found(part, "reading.unit")
    assert finding.severity is Severity.WARNING
    assert guess in finding.message
    assert finding.measured == pytest.approx(largest, rel=1e-6)
    assert part.unit == "mm"


@pytest.mark.parametrize("largest", [30.5, 500.0, 9000.0])
def test_a_likely_size_is_not(tmp_path, largest):
    assert read_solid(write(tmp_path, "a.stl", stl_bytes(box((largest, 9, 9))))).findings == ()


def test_a_unit_against_the_files_own(tmp_path):
    path = write(tmp_path, "a.glb", trimesh.creation.box((100, 50, 40)).export(file_type="glb"))
    part = read_solid(path, unit="mm")
    assert part.solid.volume == pytest.approx(200_000, rel=1e-6)
    assert found(part, "reading.unit").severity is Severity.WARNING


def test_an_unknown_unit_is_refused(tmp_path):
    with pytest.raises(ReadError, match="furlong"):
        read_solid(write(tmp_path, "a.stl", stl_bytes(box())), unit="furlong")


# -- what is no file ------------------------------------------------------------------------
def test_no_file(tmp_path):
    with pytest.raises(ReadError, match="no file"):
        read_solid(tmp_path / "none.stl")


def test_a_folder(tmp_path):
    (tmp_path / "models.stl").mkdir()
    with pytest.raises(ReadError, match="folder"):
        read_solid(tmp_path / "models.stl")


@pytest.mark.parametrize("ending", READABLE)
def test_an_empty_file(tmp_path, ending):
    with pytest.raises(ReadError, match="empty"):
        read_solid(write(tmp_path, f"a{ending}", b""))


@pytest.mark.parametrize("name", ["a.txt", "a", "a.stl.gz"])
def test_an_unknown_kind(tmp_path, name):
    with pytest.raises(ReadError, match=r"cannot be read; use one of .*\.stl"):
        read_solid(write(tmp_path, name, b"x"))


@pytest.mark.parametrize("ending", READABLE)
def test_rubbish_never_shows_a_traceback(tmp_path, ending):
    rng = np.random.default_rng(11)
    for size in (1, 90, 3000):
        path = write(tmp_path, f"a{ending}", rng.integers(0, 256, size, dtype=np.uint8).tobytes())
        with pytest.raises(ReadError):
            read_solid(path)


@pytest.mark.parametrize("ending", ["stl", "ply", "off", "glb", "3mf"])
def test_a_cut_file_never_shows_a_traceback(tmp_path, ending):
    whole = ANNULUS.export(file_type=ending)
    whole = whole.encode() if isinstance(whole, str) else whole
    for share in (0.01, 0.1, 0.5, 0.9):
        path = write(tmp_path, f"a.{ending}", whole[: int(len(whole) * share)])
        with pytest.raises(ReadError):
            read_solid(path)


def test_a_cut_obj_is_refused_or_its_hole_reported(tmp_path):
    # An OBJ file does not say how many faces it has, so only the surface can tell.
    whole = ANNULUS.export(file_type="obj")
    for share in (0.01, 0.1, 0.5, 0.7):
        with pytest.raises((ReadError, OpenSolidError)):
            read_solid(write(tmp_path, "a.obj", whole[: int(len(whole) * share)]))
    rows = whole.strip().split("\n")
    part = read_solid(write(tmp_path, "a.obj", "\n".join(rows[:-1])))
    assert kinds(part) == {"healing.hole"}
    assert part.solid.volume == pytest.approx(ANNULUS_VOLUME, rel=1e-6)


def test_an_open_model_names_the_file(tmp_path):
    half = without(sphere(50.0), lambda at: at[:, 2] > 0)
    with pytest.raises(OpenSolidError, match=r"half\.stl") as caught:
        read_solid(write(tmp_path, "half.stl", stl_bytes(half)))
    assert caught.value.subject == "half.stl"
    assert len(caught.value.findings[0].where) > 0


def test_reading_reports_and_can_be_stopped(tmp_path):
    path = write(tmp_path, "a.stl", stl_text(box((100, 100, 100))))
    told = []
    read_solid(path, report=lambda done, doing: told.append((done, doing)))
    shares = [done for done, _ in told]
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert all(doing for _, doing in told)

    def stop(done, doing):
        raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        read_solid(path, report=stop)
