"""Parts made by trimesh and planned once for all tests that look at results."""

from dataclasses import dataclass
from pathlib import Path

import trimesh
from click.testing import Result as Outcome
from typer.testing import CliRunner

from splitplanner.command_line import app

BED = "220x220x250"
BOX = (430.0, 200.0, 240.0)


def run(*arguments) -> Outcome:
    """Run the command line in this process; what it prints is in stdout and stderr."""
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def save(mesh: trimesh.Trimesh, path: Path) -> Path:
    mesh.export(path)
    return path


def box(size, corner=(0.0, 0.0, 0.0)) -> trimesh.Trimesh:
    middle = [start + length / 2 for start, length in zip(corner, size, strict=True)]
    return trimesh.creation.box(size, transform=trimesh.transformations.translation_matrix(middle))


def ell() -> trimesh.Trimesh:
    """Return an L of 300 x 240 x 40 mm: its prism of six corners, drawn up."""
    corners = [(0, 0), (300, 0), (300, 60), (60, 60), (60, 240), (0, 240)]
    # Two triangles for each rectangle of the outline, by hand: no triangulation is needed.
    plan = [(0, 1, 2), (0, 2, 3), (0, 3, 4), (0, 4, 5)]
    count = len(corners)
    vertices = [(x, y, z) for z in (0, 40) for x, y in corners]
    faces = [(c, b, a) for a, b, c in plan]
    faces += [(a + count, b + count, c + count) for a, b, c in plan]
    for start in range(count):
        end = (start + 1) % count
        faces += [(start, end, end + count), (start, end + count, start + count)]
    return trimesh.Trimesh(vertices, faces, process=False)


@dataclass(frozen=True)
class Run:
    """One run of ``splitplanner plan``."""

    model: Path
    folder: Path
    outcome: Outcome
