"""Draw a seam of a demonstration part opened like a book: both faces, and what goes between them.

Run it as ``python examples/seam_faces.py rain_hood S1 seam.png``.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from splitplanner.arrays import Floats, unit_vector
from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.job import plan_part
from splitplanner.output import Result, save_stl
from splitplanner.output.pictures import piece_colours
from splitplanner.output.scene import METAL, Body, Label, Line, Scene
from splitplanner.plan import Fastening, Pin, Plan, Screw, Seam
from splitplanner.solid import Solid
from splitplanner.viewport import draw_in_child
from splitplanner.workshop import Bed, Printer, Shelf, hardware_shelf

DEEP = 35.0
"""So much of each piece is drawn behind its face, mm."""
OPEN = np.radians(30.0)
"""By which each face is turned away from the viewer, towards the other."""
OUT = 14.0
"""How far before its hole a pin or screw floats, mm."""


def main() -> None:
    """Draw one seam."""
    parser = argparse.ArgumentParser(description="Draw both faces of a seam.")
    parser.add_argument("part", choices=sorted(DEMO_PARTS))
    parser.add_argument("seam", help="its name, such as S1")
    parser.add_argument("picture", type=Path, help="the PNG file to write")
    parser.add_argument("--bed", default="220x220x250")
    parser.add_argument("--screws", default="insert", choices=("none", "nut", "insert", "plastic"))
    parser.add_argument("--triangles", type=int, default=60_000)
    wanted = parser.parse_args()
    with TemporaryDirectory() as folder:
        model = Path(folder) / f"{wanted.part}.stl"
        save_stl(DEMO_PARTS[wanted.part].make(wanted.triangles), model)
        printer, fastening = Printer(bed=Bed.parse(wanted.bed)), Fastening(screws=wanted.screws)
        result = plan_part(model, printer, unit="mm", fastening=fastening)
    draw_in_child([(wanted.picture, opened(result, wanted.seam))])


def opened(result: Result, name: str) -> Scene:
    """Return a seam opened like a book, with the viewer before it."""
    seam = next(seam for seam in result.division.seams if seam.name == name)
    pieces = {row.piece.name: row.piece for row in result.card.figures.pieces}
    colours = piece_colours(result.division)
    joint, shelf = result.plan.joint(name), hardware_shelf()
    leaves = _leaves(seam)
    bodies, lines, labels = [], [], []
    for side, piece_name in enumerate((seam.below, seam.above)):
        piece = pieces[piece_name]
        near = piece.solid.intersection(_slab(seam, -1 if side == 0 else 1))
        placed = _placed(near.vertices, leaves[side])
        bodies.append(Body(placed, near.faces, colours[piece_name]))
        labels.append(Label(str(piece.number), _beside(placed), colours[piece_name]))
    for each in joint.fasteners:
        # Pins stand before the face below, screws before that into which their tips go.
        side, out = _stands_before(each, seam)
        at = np.array(each.at)
        for solid in _metal(each, at + out * OUT, out, shelf):
            bodies.append(Body(_placed(solid.vertices, leaves[side]), solid.faces, METAL))
        lines.append(Line(_placed(np.array([at, at + out * OUT]), leaves[side]), METAL, 2.0))
    return Scene(
        f"{_title(result.plan)}, seam {name}: both faces",
        (_caption(result, name),),
        tuple(bodies),
        lines=tuple(lines),
        labels=tuple(labels),
        view_from=(0.0, -1.0, 0.22),
        size=(1600, 1000),
    )


def _leaves(seam: Seam) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
    """Return a matrix (3, 3) and a shift (3,) for each piece: its face turned to the viewer at -y.

    What is up in the part stays up; the faces lie side by side.
    """
    normal = np.array(seam.plane.normal)
    up = np.array([0.0, 0.0, 1.0])
    if abs(normal @ up) > 0.9:
        up = np.array([0.0, 1.0, 0.0])
    up = unit_vector(up - normal * (up @ normal))
    outline = np.vstack(list(seam.section.rings()))
    found = []
    for outward, way in ((normal, 1.0), (-normal, -1.0)):
        own = np.array([np.cross(up, outward), outward, up])
        # The face looks at the viewer, and a little towards the other one.
        looks = np.array([way * np.sin(OPEN), -np.cos(OPEN), 0.0])
        upright = np.array([0.0, 0.0, 1.0])
        target = np.array([np.cross(upright, looks), looks, upright])
        turn = target.T @ own
        flat = outline @ turn.T
        edge = flat[:, 0].max() if way > 0 else flat[:, 0].min()
        low, near = flat[:, 2].min(), flat[:, 1].min()
        found.append((turn, np.array([-edge - way * 2.2 * OUT, -near, -low])))
    return found[0], found[1]


def _beside(placed: Floats) -> Floats:
    """Return a point of a piece, (3,) mm, away from the other one and half way up."""
    middle, reach = placed[:, 2].mean(), np.ptp(placed[:, 2])
    level = placed[np.abs(placed[:, 2] - middle) < reach / 4]
    point: Floats = level[int(np.argmax(np.abs(level[:, 0])))]
    return point


def _placed(points: Floats, leaf: tuple[Floats, Floats]) -> Floats:
    turn, shift = leaf
    placed: Floats = points @ turn.T + shift
    return placed


def _slab(seam: Seam, side: int) -> Solid:
    """Return what lies within `DEEP` of the seam on one side, round its outline."""
    corners = np.vstack(list(seam.section.rings()))
    flat = seam.plane.to_plane(corners)
    low, high = flat.min(axis=0) - DEEP, flat.max(axis=0) + DEEP
    box = Solid.box((*(high - low), 2 * DEEP)).transformed(
        np.hstack(
            [
                seam.plane.frame.T,
                (seam.plane.to_space([low])[0] - DEEP * seam.plane.frame[2])[:, None],
            ]
        )
    )
    below, above = box.split(seam.plane.shifted(side * -8.0))
    kept = below if side < 0 else above
    assert kept is not None
    return kept


def _stands_before(each: Pin | Screw, seam: Seam) -> tuple[int, Floats]:
    """Return before which face a fastener floats, 0 below and 1 above, and the way out of it."""
    normal = np.array(seam.plane.normal)
    if isinstance(each, Pin) or float(np.dot(each.axis, normal)) < 0:
        return 0, normal
    return 1, -normal


def _metal(each: Pin | Screw, start: Floats, out: Floats, shelf: Shelf) -> list[Solid]:
    """Return a pin, or a screw with its tip towards the hole."""
    if isinstance(each, Pin):
        return [Solid.cylinder(start, start + out * each.length, each.diameter / 2, 32)]
    wide = shelf.thread(each.size).diameter
    end = start + out * each.length
    return [
        Solid.cylinder(start, end, wide / 2, 32),
        # As wide and high as the head of ISO 4762.
        Solid.cylinder(end, end + out * wide, 0.9 * wide, 32),
    ]


def _title(plan: Plan) -> str:
    return Path(plan.part.path).stem.replace("_", " ")


def _caption(result: Result, name: str) -> str:
    joint = result.plan.joint(name)
    held = [f"{len(joint.pins)} dowel pins"] if joint.pins else []
    held += [f"{len(joint.screws)} screws {joint.screws[0].size}"] if joint.screws else []
    held += ["a flange on both pieces"] if joint.flange is not None else []
    return ", ".join(held)


if __name__ == "__main__":
    main()
