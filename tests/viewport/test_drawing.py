"""Drawing: the right colours at the right places, the same bytes, and no crash without a GL."""

import io
import os
import time
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from splitplanner.errors import Cancelled, ExportError
from splitplanner.output import exploded, part_with_cuts, piece_on_bed
from splitplanner.output.scene import Body, Label, Scene
from splitplanner.plan import Cut, PartFile, Plan, divide
from splitplanner.solid import Plane, Solid
from splitplanner.viewport import child, draw, draw_in_child, picture
from splitplanner.workshop import Bed, Printer

SIZE = (400, 300)


@pytest.fixture(scope="module")
def two_pieces():
    cuts = (Cut(Plane((1.0, 0.0, 0.0), 80.0)),)
    plan = Plan(PartFile("box.stl", "mm", ""), Printer(), cuts)
    return divide(Solid.box((200, 80, 60)), cuts), plan


@pytest.fixture(scope="module")
def apart(two_pieces):
    return exploded(*two_pieces, size=SIZE)


def opened(content):
    return np.asarray(Image.open(io.BytesIO(content)).convert("RGB"), float)


def share_of(image, colour):
    """Return the share of pixels whose hue is that of `colour`, whatever the light."""
    wanted = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)], float)
    strong = np.ptp(image, axis=2) > 60
    cosine = image @ wanted / (np.linalg.norm(image, axis=2) * np.linalg.norm(wanted) + 1e-9)
    return float((strong & (cosine > 0.99)).mean())


def test_both_pieces_appear_in_their_colours(apart):
    image = opened(picture(apart))
    assert image.shape == (SIZE[1], SIZE[0], 3)
    for body in apart.bodies:
        assert share_of(image, body.colour) > 0.03
    assert (image[-1, 0] == 255).all()


def test_body_is_drawn_where_the_camera_says():
    block = Solid.box((100, 50, 50))
    scene = Scene(
        "block",
        bodies=(Body(block.vertices, block.faces, "#D55E00", edges=False),),
        view_from=(0.0, -1.0, 0.0),
        size=SIZE,
    )
    image = opened(picture(scene))
    painted = np.argwhere((image[scene.head :] < 250).any(axis=2))
    (top, left), (bottom, right) = painted.min(axis=0), painted.max(axis=0) + 1
    corners = scene.camera.pixels(block.vertices)
    assert [left, top + scene.head] == pytest.approx(corners.min(axis=0), abs=1.5)
    assert [right, bottom + scene.head] == pytest.approx(corners.max(axis=0), abs=1.5)


def test_label_is_set_at_its_point():
    block = Solid.box((100, 50, 50))
    bare = Scene(
        "",
        bodies=(Body(block.vertices, block.faces, "#0072B2"),),
        view_from=(0.0, -1.0, 0.0),
        size=SIZE,
    )
    at = (70.0, 0.0, 25.0)
    marked = Scene(
        "", bodies=bare.bodies, labels=(Label("7", at),), view_from=bare.view_from, size=SIZE
    )
    changed = np.argwhere((opened(picture(bare)) != opened(picture(marked))).any(axis=2))
    middle = (changed.min(axis=0) + changed.max(axis=0)) / 2
    assert middle[::-1] == pytest.approx(marked.camera.pixels([at])[0], abs=1.5)


def test_bed_is_drawn_with_its_blocked_area(two_pieces):
    division, _ = two_pieces
    square = ((0.0, 0.0), (220.0, 0.0), (220.0, 220.0), (0.0, 220.0))
    clip = ((0.0, 150.0), (60.0, 150.0), (60.0, 220.0), (0.0, 220.0))
    pose = np.eye(4)
    pose[:2, 3] = 60, 40
    scenes = [
        piece_on_bed(division.pieces[0], pose, Bed.of_outline(square, 100, 5, blocked), size=SIZE)
        for blocked in ((), (clip,))
    ]
    plain, blocked = (opened(picture(scene)) for scene in scenes)
    differ = (np.abs(plain - blocked) > 40).any(axis=2)
    where = np.argwhere(differ)[:, ::-1]
    outline = scenes[1].camera.pixels([(x, y, 0.0) for x, y in clip])
    assert differ.sum() > 200
    assert (where >= outline.min(axis=0) - 3).all()
    assert (where <= outline.max(axis=0) + 3).all()


def test_same_scene_gives_the_same_file(tmp_path, two_pieces, apart):
    scenes = [("cuts", part_with_cuts(*two_pieces, size=SIZE)), ("apart", apart)]
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        draw([(tmp_path / folder / f"{name}.png", scene) for name, scene in scenes])
    for name, scene in scenes:
        first = (tmp_path / "one" / f"{name}.png").read_bytes()
        assert first == (tmp_path / "two" / f"{name}.png").read_bytes()
        # Alone it is the same as after another in the same plotter.
        assert first == picture(scene)


def test_child_draws_the_same_and_tells_how_far_it_is(tmp_path, apart):
    told = []
    path = tmp_path / "apart.png"
    found = draw_in_child([(path, apart)], lambda done, doing: told.append((done, doing)))
    assert found == ()
    assert opened(path.read_bytes()).shape == (SIZE[1], SIZE[0], 3)
    assert told[-1][0] == 1.0
    assert any("picture 1 of 1" in doing for _, doing in told)
    dones = [done for done, _ in told]
    assert dones == sorted(dones)


def test_nothing_to_draw_starts_no_child(monkeypatch):
    monkeypatch.setattr(child, "_child", None)
    assert draw_in_child([]) == ()


def dies(scenes, choice, theirs):
    os._exit(139)


def sleeps(scenes, choice, theirs):
    time.sleep(60)


def errs(scenes, choice, theirs):
    theirs.send(("failed", "RuntimeError: no context"))


@pytest.mark.parametrize(("end", "why"), [(dies, "code 139"), (errs, "no context")])
def test_child_that_dies_is_a_warning(monkeypatch, tmp_path, apart, end, why):
    monkeypatch.setattr(child, "_child", end)
    monkeypatch.setattr(child.sys, "platform", "linux")
    (finding,) = draw_in_child([(tmp_path / "apart.png", apart)])
    assert finding.kind == "pictures.not_drawn"
    assert finding.severity == "warning"
    for word in (why, "libegl1", "libgl1", "libgl1-mesa-dri", "all other files were written"):
        assert word in finding.message
    assert (finding.measured, finding.allowed) == (0.0, 1.0)


def draws_one_and_dies(scenes, choice, theirs):
    theirs.send(("progress", (1 / len(scenes), "drawing picture 2")))
    os._exit(1)


def test_pictures_drawn_before_the_child_died_are_counted(monkeypatch, tmp_path, apart):
    monkeypatch.setattr(child, "_child", draws_one_and_dies)
    (finding,) = draw_in_child([(tmp_path / f"{k}.png", apart) for k in range(3)])
    assert finding.message.startswith("2 of 3 pictures were not drawn")
    assert (finding.measured, finding.allowed) == (1.0, 3.0)


def test_child_that_hangs_is_ended(monkeypatch, apart):
    monkeypatch.setattr(child, "_child", sleeps)
    monkeypatch.setattr(child, "_BEAT", 0.05)
    monkeypatch.setenv(child.GL_CHOICE, "vtkEGLRenderWindow")
    told = []
    (finding,) = draw_in_child(
        [(Path("never.png"), apart)], lambda *news: told.append(news), patience=0.3
    )
    assert "hung" in finding.message
    assert len(told) > 2


def test_user_can_stop_the_child(monkeypatch, apart):
    monkeypatch.setattr(child, "_child", sleeps)
    monkeypatch.setattr(child, "_BEAT", 0.05)
    calls = []

    def stop(done, doing):
        calls.append(done)
        if len(calls) > 2:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        draw_in_child([(Path("never.png"), apart)], stop)


def test_file_that_cannot_be_written_is_told_as_such(tmp_path, apart):
    with pytest.raises(ExportError, match="does not exist"):
        draw_in_child([(tmp_path / "missing" / "apart.png", apart)])
