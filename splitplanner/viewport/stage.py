"""What is seen while one works: bodies drawn off screen again and again, as quickly as can be."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats, Ints
from splitplanner.output.camera import Camera
from splitplanner.viewport.bodies import Mesh, Placed, Sheet, Wires
from splitplanner.viewport.gl import off_screen_gl

_EVERYWHERE = 0.36
"""How strong the light is that comes from everywhere."""
_LIGHTS = ((0.62, (-0.35, 0.45, 1.0)), (0.14, (0.9, -0.3, 0.6)))
"""How strong lights are, and where: to the right, up and towards the eye. The first is over the
left shoulder, so that faces that meet look different."""
_LEAST = 1e-3
"""The nearest that is drawn, as a share of the farthest."""

_MOVED = ("//VTK::PositionVC::Dec", "//VTK::PositionVC::Dec\nout vec3 stagePoint;\n")
_PLACED = ("//VTK::PositionVC::Impl", "//VTK::PositionVC::Impl\nstagePoint = vertexMC.xyz;\n")
_DECLARED = ("//VTK::Color::Dec", "//VTK::Color::Dec\nin vec3 stagePoint;\n")
_LIT = (
    "//VTK::Light::Impl",
    f"""//VTK::Light::Impl
  vec3 stageNormal = normalize(cross(dFdx(stagePoint), dFdy(stagePoint)));
  float stageLight = {_EVERYWHERE}
    + {_LIGHTS[0][0]} * max(dot(stageNormal, stageLight0), 0.0)
    + {_LIGHTS[1][0]} * max(dot(stageNormal, stageLight1), 0.0);
  gl_FragData[0] = vec4(diffuseColor * stageLight, 1.0);
""",
)
"""Flat faces under two lights, in half the time that VTK's own lights take with software GL."""


def load() -> None:
    """Load VTK, which takes up to a second; in any thread."""
    import vtkmodules.util.numpy_support
    import vtkmodules.vtkFiltersCore
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401


class _Actor:
    """What draws one mesh after another."""

    def __init__(self) -> None:
        from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

        self.mapper = vtkPolyDataMapper()
        # Else the shader would see points that are shifted and scaled.
        self.mapper.SetVBOShiftScaleMethod(0)
        self.mapper.SetScalarModeToUseCellData()
        self.actor = vtkActor()
        self.actor.SetMapper(self.mapper)
        look = self.actor.GetProperty()
        look.SetAmbient(0.0)
        look.SetDiffuse(1.0)
        look.LightingOff()
        look.BackfaceCullingOn()
        shader = self.actor.GetShaderProperty()
        for before, after in (_MOVED, _PLACED):
            shader.AddVertexShaderReplacement(before, True, after, False)
        for before, after in (_DECLARED, _LIT):
            shader.AddFragmentShaderReplacement(before, True, after, False)
        self._numbers = shader.GetFragmentCustomUniforms()
        self.edges: Any = None
        self._mesh: Mesh | None = None
        self._tints: NDArray[np.uint8] | None = None

    def show(self, body: Placed) -> None:
        """Draw a body."""
        if body.mesh is not self._mesh:
            self.mapper.SetInputData(_poly(body.mesh.vertices, body.mesh.faces))
            self._mesh, self._tints, self.edges = body.mesh, None, None
        if body.face_colours is not self._tints:
            self._tint(body.face_colours)
        self.actor.GetProperty().SetColor(*_rgb(body.colour))
        self.actor.SetPosition(*body.shift)
        self.actor.VisibilityOn()
        if body.has_edges and self.edges is None:
            self.edges = _lines(body.mesh.vertices, body.mesh.sharp_edges)
        if self.edges is not None:
            self.edges.SetPosition(*body.shift)
            self.edges.SetVisibility(body.has_edges)

    def hide(self) -> None:
        """Draw nothing for now."""
        self.actor.VisibilityOff()
        if self.edges is not None:
            self.edges.VisibilityOff()

    def light(self, ways: Floats) -> None:
        """Light it from directions (2, 3)."""
        for at, way in enumerate(ways):
            self._numbers.SetUniform3f(f"stageLight{at}", way.tolist())

    def _tint(self, colours: NDArray[np.uint8] | None) -> None:
        cells = self.mapper.GetInput().GetCellData()
        if colours is None:
            cells.SetScalars(None)
        else:
            cells.SetScalars(_array(np.ascontiguousarray(colours, dtype=np.uint8)))
        self.mapper.SetScalarVisibility(colours is not None)
        self._tints = colours


class Stage:
    """Draws bodies off screen.

    Where no usable GL is installed VTK may end the whole process: see `gl_works`.
    """

    def __init__(self) -> None:
        off_screen_gl()
        # Without it the parts of VTK that know GL are not found.
        import vtkmodules.vtkRenderingOpenGL2  # noqa: F401
        from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow

        self._window = vtkRenderWindow()
        self._window.SetOffScreenRendering(1)
        # What costs most without a graphics card.
        self._window.SetMultiSamples(0)
        self._renderer = vtkRenderer()
        self._renderer.UseOITOff()
        self._window.AddRenderer(self._renderer)
        self._actors: dict[Mesh, _Actor] = {}
        self._spare: list[_Actor] = []
        self._sheets: list[Any] = []
        self._wires: list[Any] = []
        self._shown_wires: tuple[Wires, ...] = ()
        self._light = np.zeros((2, 3))

    def show(self, bodies: Sequence[Placed], kept: Sequence[Placed] = ()) -> None:
        """Put bodies on the stage in place of those that stand there.

        Parameters
        ----------
        bodies : sequence of Placed
            What costs time is done once for each mesh.
        kept : sequence of Placed
            Not seen, but to be shown again.
        """
        wanted = {body.mesh for body in (*bodies, *kept)}
        for mesh in [mesh for mesh in self._actors if mesh not in wanted]:
            self._put_by(self._actors.pop(mesh))
        for actor in self._actors.values():
            actor.hide()
        for body in bodies:
            actor = self._actors.get(body.mesh) or self._take()
            self._actors[body.mesh] = actor
            before = actor.edges
            actor.show(body)
            if actor.edges is not before:
                self._renderer.AddActor(actor.edges)

    def show_flat(self, sheets: Sequence[Sheet], wires: Sequence[Wires]) -> None:
        """Put sheets and lines on the stage in place of those that stand there."""
        if len(sheets) != len(self._sheets):
            for actor in self._sheets:
                self._renderer.RemoveActor(actor)
            self._sheets = [_flat_actor(None) for _ in sheets]
            for actor in self._sheets:
                self._renderer.AddActor(actor)
        for sheet, actor in zip(sheets, self._sheets, strict=True):
            actor.GetMapper().SetInputData(_sheet(sheet))
            actor.GetProperty().SetColor(*_rgb(sheet.colour))
            actor.GetProperty().SetOpacity(sheet.opacity)
        if tuple(wires) == self._shown_wires:
            return
        for actor in self._wires:
            self._renderer.RemoveActor(actor)
        self._wires, self._shown_wires = [], tuple(wires)
        for each in wires:
            corners = np.arange(2 * len(each.segments)).reshape(-1, 2)
            actor = _flat_actor(_poly(each.segments.reshape(-1, 3), lines=corners))
            actor.GetProperty().SetColor(*_rgb(each.colour))
            self._wires.append(actor)
            self._renderer.AddActor(actor)

    def picture(
        self, camera: Camera, *, paper: str, ink: str, line: float = 1.2
    ) -> NDArray[np.uint8]:
        """Return what is seen, (height, width, 4) with a last column of no meaning.

        Parameters
        ----------
        camera : Camera
        paper, ink : str
            Colours of what is behind everything, and of lines along sharp edges.
        line : float
            Width of lines, pixels.
        """
        from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

        self._renderer.SetBackground(_rgb(paper))
        self._aim(camera)
        for actor in self._actors.values():
            actor.light(self._light)
            if actor.edges is not None:
                actor.edges.GetProperty().SetColor(*_rgb(ink))
                actor.edges.GetProperty().SetLineWidth(line)
        for each, actor in zip(self._shown_wires, self._wires, strict=True):
            actor.GetProperty().SetLineWidth(line * each.width)
        width, height = camera.size
        self._window.SetSize(width, height)
        self._window.Render()
        read: Any = vtkUnsignedCharArray()
        self._window.GetRGBACharPixelData(0, 0, width - 1, height - 1, 0, read)
        rows = np.frombuffer(memoryview(read), dtype=np.uint8).reshape(height, width, 4)
        return np.ascontiguousarray(rows[::-1])

    def close(self) -> None:
        """Give back what the graphics driver holds; nothing can be drawn any more."""
        self._renderer.RemoveAllViewProps()
        self._actors, self._spare = {}, []
        self._sheets, self._wires, self._shown_wires = [], [], ()
        self._window.Finalize()

    def _take(self) -> _Actor:
        if self._spare:
            return self._spare.pop()
        actor = _Actor()
        self._renderer.AddActor(actor.actor)
        return actor

    def _put_by(self, actor: _Actor) -> None:
        """Keep what draws, but for its lines: the next mesh is drawn by it."""
        actor.hide()
        if actor.edges is not None:
            self._renderer.RemoveActor(actor.edges)
            actor.edges = None
        self._spare.append(actor)

    def _aim(self, camera: Camera) -> None:
        theirs = self._renderer.GetActiveCamera()
        theirs.SetPosition(camera.position)
        theirs.SetFocalPoint(camera.focus)
        theirs.SetViewUp(camera.upward)
        theirs.SetViewAngle(camera.angle)
        theirs.SetParallelProjection(camera.span is not None)
        if camera.span is not None:
            theirs.SetParallelScale(camera.span / 2)
        self._renderer.SetNearClippingPlaneTolerance(_LEAST)
        self._renderer.ResetCameraClippingRange()
        right, up, ahead = camera.axes
        ways = [place[0] * right + place[1] * up - place[2] * ahead for _, place in _LIGHTS]
        self._light = np.array([way / np.linalg.norm(way) for way in ways])


def _rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


def _array(values: NDArray[Any]) -> Any:
    """Return a copy as VTK has it; whole numbers of 64 bits are its own."""
    from vtkmodules.util import numpy_support

    is_index = values.dtype == np.int64
    convert: Any = numpy_support.numpy_to_vtkIdTypeArray if is_index else numpy_support.numpy_to_vtk
    return convert(values, deep=True)


def _poly(points: Floats, faces: Ints | None = None, lines: Ints | None = None) -> Any:
    """Return points (n, 3) with faces (m, k) and lines (l, 2) as VTK has them."""
    from vtkmodules.vtkCommonCore import vtkPoints
    from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData

    def cells(rows: Ints) -> Any:
        made = vtkCellArray()
        flat = np.ascontiguousarray(rows, dtype=np.int64).ravel()
        made.SetData(rows.shape[1], _array(flat))
        return made

    places = vtkPoints()
    places.SetData(_array(np.ascontiguousarray(points, dtype=np.float32)))
    poly = vtkPolyData()
    poly.SetPoints(places)
    if faces is not None and len(faces):
        poly.SetPolys(cells(faces))
    if lines is not None and len(lines):
        poly.SetLines(cells(lines))
    return poly


def _flat_actor(poly: Any) -> Any:
    from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

    mapper = vtkPolyDataMapper()
    if poly is not None:
        mapper.SetInputData(poly)
    # Lines win over the faces they lie on.
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyLineOffsetParameters(-2.0, -2.0)
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(1.0, 1.0)
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().LightingOff()
    return actor


def _lines(points: Floats, corners: Ints) -> Any:
    return _flat_actor(_poly(points, lines=corners))


def _sheet(sheet: Sheet) -> Any:
    from vtkmodules.vtkFiltersCore import vtkTriangleFilter

    corners = np.asarray(sheet.corners)
    whole = _poly(corners, faces=np.arange(len(corners)).reshape(1, -1))
    if len(corners) <= 4:
        return whole
    # A bed may have an outline that is not convex.
    divided = vtkTriangleFilter()
    divided.SetInputData(whole)
    divided.Update()
    return divided.GetOutput()
