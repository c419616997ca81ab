"""Draws scenes off screen: no window, no display, the same picture every time."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats
from splitplanner.atomic import write_file
from splitplanner.output.scene import INK, PAPER, BedFrame, Body, Scene, Sheet
from splitplanner.progress import Report, silent
from splitplanner.viewport.gl import off_screen_gl
from splitplanner.viewport.lettering import lettered_png

_SHARP = 35.0
"""Edges are drawn where faces meet at more than this, degrees; rounder ones are shaded smooth."""
_BED, _BLOCKED, _GRID, _FRAME = "#EDEFF2", "#C9502E", "#C9CED6", "#8A919C"


def draw(scenes: Sequence[tuple[Path, Scene]], report: Report = silent) -> None:
    """Draw each scene off screen and write it as PNG.

    Where no usable GL is installed VTK may end the whole process: see `draw_in_child`.

    Parameters
    ----------
    scenes : sequence of (path, Scene)
    report : progress callback

    Raises
    ------
    ExportError
        If a file cannot be written.
    """
    plotter = _plotter()
    try:
        for index, (path, scene) in enumerate(scenes):
            report(index / len(scenes), f"drawing picture {index + 1} of {len(scenes)}")
            write_file(path, lettered_png(scene, _rendered(plotter, scene)))
    finally:
        plotter.close()
    report(1.0, "pictures drawn")


def picture(scene: Scene) -> bytes:
    """Return `scene` drawn as PNG bytes."""
    plotter = _plotter()
    try:
        return lettered_png(scene, _rendered(plotter, scene))
    finally:
        plotter.close()


def _plotter() -> Any:
    off_screen_gl()
    import pyvista as pv

    return pv.Plotter(off_screen=True, lighting="none")


def _rendered(plotter: Any, scene: Scene) -> NDArray[np.uint8]:
    """Return the scene without its texts, (height, width, 3)."""
    plotter.clear()
    plotter.window_size = list(scene.size)
    plotter.background_color = PAPER
    for body in scene.bodies:
        _add_body(plotter, body)
    for sheet in scene.sheets:
        _add_sheet(plotter, sheet)
    for line in scene.lines:
        _add_lines(plotter, [line.points], line.colour, line.width)
    if scene.bed is not None:
        _add_bed(plotter, scene.bed)
    _light(plotter, scene)
    _aim(plotter, scene)
    plotter.enable_anti_aliasing("ssaa")
    # Without it the screenshot returns the frame before the camera was moved.
    plotter.render()
    shot = plotter.screenshot(return_img=True)
    return np.ascontiguousarray(shot[:, :, :3])


def mesh_of(vertices: Floats, faces: Any) -> Any:
    """Return a mesh, (n, 3) mm and (m, 3) integers, as VTK has it."""
    import pyvista as pv

    return pv.PolyData.from_regular_faces(np.array(vertices), np.array(faces))


def _add_body(plotter: Any, body: Body) -> None:
    mesh = mesh_of(body.vertices, body.faces)
    shaded = mesh.compute_normals(
        cell_normals=False,
        point_normals=True,
        split_vertices=True,
        feature_angle=_SHARP,
        consistent_normals=False,
        auto_orient_normals=False,
    )
    plotter.add_mesh(
        shaded,
        color=body.colour,
        opacity=body.opacity,
        smooth_shading=True,
        ambient=0.3,
        diffuse=0.78,
        specular=0.08,
        specular_power=12,
        render=False,
        reset_camera=False,
    )
    if not body.edges:
        return
    edges = mesh.extract_feature_edges(
        feature_angle=_SHARP, boundary_edges=False, non_manifold_edges=False, manifold_edges=False
    )
    if edges.n_cells:
        _add(plotter, edges, color=INK, opacity=0.75, line_width=1.4, lighting=False)


def _add_sheet(plotter: Any, sheet: Sheet) -> None:
    quad = mesh_of(sheet.corners, np.array([[0, 1, 2], [0, 2, 3]]))
    _add(plotter, quad, color=sheet.colour, opacity=sheet.opacity, lighting=False)
    rim = np.vstack([sheet.corners, sheet.corners[:1]])
    _add_lines(plotter, [rim], sheet.colour, 2.0)


def _add_lines(plotter: Any, lines: Sequence[Floats], colour: str, width: float) -> None:
    import pyvista as pv

    if not lines:
        return
    starts = np.cumsum([0, *(len(points) for points in lines[:-1])])
    cells = [
        np.concatenate([[len(points)], start + np.arange(len(points))])
        for points, start in zip(lines, starts, strict=True)
    ]
    mesh = pv.PolyData(np.vstack(lines), lines=np.concatenate(cells))
    _add(plotter, mesh, color=colour, line_width=width, lighting=False)


def _add(plotter: Any, mesh: Any, **look: Any) -> None:
    """Add flat things; they win over the faces they lie on."""
    actor = plotter.add_mesh(mesh, render=False, reset_camera=False, **look)
    actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor.mapper.SetRelativeCoincidentTopologyLineOffsetParameters(-2.0, -2.0)
    actor.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(1.0, 1.0)


def _add_bed(plotter: Any, bed: BedFrame) -> None:
    import pyvista as pv

    def at(plan: Floats, z: float) -> Floats:
        return np.column_stack([plan, np.full(len(plan), z)])

    def area(plan: Floats, z: float) -> Any:
        ring = plan[:-1] if np.allclose(plan[0], plan[-1]) else plan
        face = np.concatenate([[len(ring)], np.arange(len(ring))])
        return pv.PolyData(at(ring, z), faces=face).triangulate()

    # A hair below the piece's first layer, and in order, so that nothing flickers.
    drop = 0.002 * max(np.ptp(bed.outline, axis=0).max(), bed.height)
    _add(plotter, area(bed.outline, -2 * drop), color=_BED, lighting=False)
    _add_lines(plotter, [at(line, -1.5 * drop) for line in bed.grid], _GRID, 1.0)
    for plan in bed.blocked:
        _add(plotter, area(plan, -drop), color=_BLOCKED, opacity=0.75, lighting=False)
    _add_lines(plotter, [at(bed.outline, -drop)], INK, 2.5)
    if not np.array_equal(bed.margin, bed.outline):
        _add_lines(plotter, [at(bed.margin, -drop)], _FRAME, 1.2)
    _add_lines(plotter, [at(bed.outline, bed.height)], _FRAME, 1.2)
    corners = bed.outline[:-1] if len(bed.outline) <= 13 else bed.outline[:-1:32]
    posts = [np.array([[x, y, 0.0], [x, y, bed.height]]) for x, y in corners]
    _add_lines(plotter, posts, _FRAME, 1.2)


def _light(plotter: Any, scene: Scene) -> None:
    """Light it from over the viewer's left shoulder, and a little from the right."""
    import pyvista as pv

    right, up, ahead = scene.camera.axes
    towards = -ahead
    plotter.remove_all_lights()
    for direction, strength in (
        (towards + 0.55 * up - 0.75 * right, 0.8),
        (towards - 0.2 * up + 0.9 * right, 0.42),
    ):
        light = pv.Light(
            position=tuple(direction * 1000.0),
            focal_point=(0.0, 0.0, 0.0),
            intensity=strength,
            light_type="scene light",
        )
        light.positional = False
        plotter.add_light(light)


def _aim(plotter: Any, scene: Scene) -> None:
    view, camera = scene.camera, plotter.camera
    away = float(np.linalg.norm(np.subtract(view.position, view.focus)))
    camera.enable_parallel_projection()
    camera.focal_point, camera.position, camera.up = view.focus, view.position, view.upward
    assert view.span is not None
    camera.parallel_scale = view.span / 2.0
    camera.clipping_range = (away / 4.0, 2.0 * away)
