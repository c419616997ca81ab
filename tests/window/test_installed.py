"""What makes it an application of the desktop: icon, menu entry, kinds of files.

The rules are those of freedesktop.org: Desktop Entry Specification 1.5, Desktop Menu Specification
(registered categories) and Shared MIME-info Database Specification 0.21.
"""

import configparser
import json
import re
import tomllib
import xml.etree.ElementTree as ET
from fnmatch import fnmatch
from importlib import import_module, resources
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QImage

from splitplanner.plan import PartFile, Plan, plan_to_text
from splitplanner.window.icon import SIDE, application_icon, draw_into
from splitplanner.workshop import Printer

ROOT = Path(__file__).parents[2]
ASSETS = ROOT / "assets"
PLAN_KIND = "application/vnd.splitplanner.plan+json"
MIME = "{http://www.freedesktop.org/standards/shared-mime-info}"


@pytest.fixture(scope="module")
def project():
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def entry():
    parser = configparser.ConfigParser(interpolation=None, strict=True, delimiters=("=",))
    parser.optionxform = str
    parser.read(ASSETS / "splitplanner.desktop", encoding="utf-8")
    assert parser.sections() == ["Desktop Entry"]
    return parser["Desktop Entry"]


# -- the entry --------------------------------------------------------------------------------
def test_the_menu_entry_starts_what_is_installed(entry, project):
    command, *fields = entry["Exec"].split()
    assert fields == ["%f"]
    module, _, name = project["project"]["gui-scripts"][command].partition(":")
    assert callable(getattr(import_module(module), name))


def test_the_menu_entry_keeps_the_rules(entry):
    assert entry["Type"] == "Application"
    assert entry["Name"] == "Split planner"
    assert entry["Terminal"] in ("true", "false")
    assert set(entry) <= {
        "Version", "Type", "Name", "GenericName", "Comment", "Exec", "Icon", "Terminal",
        "Categories", "Keywords", "MimeType", "StartupNotify",
    }  # fmt: skip
    for name in ("Categories", "Keywords", "MimeType"):
        assert entry[name].endswith(";")
        values = entry[name].rstrip(";").split(";")
        assert len(set(values)) == len(values)
    # One main category; 3DGraphics belongs under Graphics.
    assert set(entry["Categories"].rstrip(";").split(";")) == {
        "Graphics", "3DGraphics", "Engineering",
    }  # fmt: skip
    kinds = entry["MimeType"].rstrip(";").split(";")
    assert PLAN_KIND in kinds
    assert all(re.fullmatch(r"[a-z]+/[a-z0-9.+-]+", kind) for kind in kinds)


# -- files of plans ---------------------------------------------------------------------------
def test_plan_files_are_a_kind_of_their_own():
    root = ET.parse(ASSETS / "splitplanner-mime.xml").getroot()
    assert root.tag == f"{MIME}mime-info"
    (kind,) = root.findall(f"{MIME}mime-type")
    assert kind.get("type") == PLAN_KIND
    assert kind.find(f"{MIME}sub-class-of").get("type") == "application/json"
    (glob,) = kind.findall(f"{MIME}glob")
    assert fnmatch("rain hood.plan.json", glob.get("pattern"))
    # Above 50, which *.json has by default.
    assert 50 < int(glob.get("weight")) <= 100
    icon = kind.find(f"{MIME}icon").get("name")
    assert (ASSETS / f"{icon}.svg").is_file()


def test_a_plan_file_is_told_by_its_first_lines_too():
    root = ET.parse(ASSETS / "splitplanner-mime.xml").getroot()
    (match,) = root.iter(f"{MIME}match")
    first, last = (int(each) for each in match.get("offset").split(":"))
    text = plan_to_text(Plan(PartFile("hood.stl", "mm", "abc"), Printer()))
    assert first <= text.encode().find(match.get("value").encode()) <= last
    assert json.loads(text)["format"] == "split plan"


# -- the icon ---------------------------------------------------------------------------------
def pixels(image):
    image = image.convertToFormat(QImage.Format.Format_RGBA8888)
    return np.array(image.constBits(), np.uint8).reshape(image.height(), image.width(), 4)


def test_the_icon_is_what_its_script_draws(qapp, tmp_path):
    draw_into(tmp_path)
    made = {path.name: path for path in tmp_path.iterdir()}
    assert set(made) == {"splitplanner.svg", "splitplanner.png"}
    kept = ASSETS / "splitplanner.svg"
    assert made["splitplanner.svg"].read_bytes() == kept.read_bytes()
    assert ET.parse(kept).getroot().tag == "{http://www.w3.org/2000/svg}svg"
    drawn, before = (
        pixels(QImage(str(folder / "splitplanner.png"))).astype(int)
        for folder in (tmp_path, ASSETS)
    )
    # Another version of Qt may smooth edges a little differently.
    assert drawn.shape == before.shape == (SIDE, SIDE, 4)
    assert np.abs(drawn - before).mean() < 1.0


def test_the_window_has_the_icon_with_it(qapp):
    inside = resources.files("splitplanner.window") / "data" / "splitplanner.png"
    assert inside.read_bytes() == (ASSETS / "splitplanner.png").read_bytes()
    shown = pixels(application_icon().pixmap(SIDE, SIDE).toImage())
    # Clear round it; blue on the left, orange on the right (Okabe & Ito's).
    assert shown[0, 0, 3] == 0
    assert shown[180, 46].tolist() == [0x00, 0x72, 0xB2, 255]
    assert shown[180, 210].tolist() == [0xE6, 0x9F, 0x00, 255]


def test_all_of_it_is_installed_where_desktops_look(project):
    shared = project["tool"]["hatch"]["build"]["targets"]["wheel"]["shared-data"]
    assert set(shared.values()) == {
        "share/applications/splitplanner.desktop",
        "share/mime/packages/splitplanner.xml",
        "share/icons/hicolor/scalable/apps/splitplanner.svg",
        "share/icons/hicolor/256x256/apps/splitplanner.png",
    }
    assert all((ROOT / name).is_file() for name in shared)
