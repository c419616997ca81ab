"""What is seen while one works: bodies drawn off screen again and again, as quickly as can be.

A plane in hand colours a body on both sides without cutting it: a few lines in the shader of its
surface compare every point that is drawn with planes that are handed over as plain numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats, Ints
from splitplanner.solid import Plane
from splitplanner.viewport.camera import Camera
from splitplanner.viewport.drawing import mesh_of, off_screen_gl

MOST_PLANES = 4
"""So many planes colour one body."""
_SIDES = 2**MOST_PLANES
_LINE = 1.2
"""Half the width of the line along a plane, pixels."""
_PLAIN = "#B8BDC6"

_MOVED = ("//VTK::PositionVC::Dec", "//VTK::PositionVC::Dec\nout vec3 stagePoint;\n")
_PLACED = ("//VTK::PositionVC::Impl", "//VTK::PositionVC::Impl\nstagePoint = vertexMC.xyz;\n")
_DECLARED = ("//VTK::Color::Dec", "//VTK::Color::Dec\nin vec3 stagePoint;\n")
"""The numbers that are handed over are declared by VTK."""
_COLOURED = (
    "//VTK::Color::Impl",
    f"""//VTK::Color::Impl
  if (planeCount > 0) {{
    vec4 planes[{MOST_PLANES}] = vec4[{MOST_PLANES}](
      {", ".join(f"plane{at}" for at in range(MOST_PLANES))});
    vec3 sides[{_SIDES}] = vec3[{_SIDES}]({", ".join(f"side{at}" for at in range(_SIDES))});
    int side = 0;
    float line = 0.0;
    for (int at = 0; at < {MOST_PLANES}; ++at) {{
      float height = dot(planes[at].xyz, stagePoint) - planes[at].w;
      float pixels = abs(height) / max(fwidth(height), 1.0e-6);
      if (at < planeCount) {{
        side += height > 0.0 ? 1 << at : 0;
        line = max(line, 1.0 - smoothstep({_LINE - 0.5:.2f}, {_LINE + 0.5:.2f}, pixels));
      }}
    }}
    vec3 shade = mix(sides[side], lineColour, line);
    diffuseColor = shade * {{diffuse}};
    ambientColor = shade * {{ambient}};
  }}
""",
)
_AMBIENT, _DIFFUSE = 0.35, 0.7


class StagedBody:
    """A body on a stage; made by `Stage.add`."""

    def __init__(self, vertices: Floats, faces: Ints) -> None:
        from vtkmodules.vtkRenderingCore import vtkActor
        from vtkmodules.vtkRenderingOpenGL2 import vtkOpenGLPolyDataMapper

        mapper = vtkOpenGLPolyDataMapper()
        mapper.SetInputData(mesh_of(vertices, faces))
        # Else the shader would see points that are shifted and scaled.
        mapper.SetVBOShiftScaleMethod(0)
        self.actor = vtkActor()
        self.actor.SetMapper(mapper)
        look = self.actor.GetProperty()
        look.SetAmbient(_AMBIENT)
        look.SetDiffuse(_DIFFUSE)
        look.SetInterpolationToFlat()
        look.BackfaceCullingOn()
        look.SetColor(*_rgb(_PLAIN))
        shader = self.actor.GetShaderProperty()
        for before, after in (_MOVED, _PLACED):
            shader.AddVertexShaderReplacement(before, True, after, False)
        coloured = _COLOURED[1].replace("{diffuse}", str(_DIFFUSE))
        coloured = coloured.replace("{ambient}", str(_AMBIENT))
        for before, after in (_DECLARED, (_COLOURED[0], coloured)):
            shader.AddFragmentShaderReplacement(before, True, after, False)
        self._numbers = shader.GetFragmentCustomUniforms()
        self.colour((), (_PLAIN,), _PLAIN)

    def colour(self, planes: Sequence[Plane], colours: Sequence[str], line: str) -> None:
        """Colour the sides of planes.

        Parameters
        ----------
        planes : sequence of Plane
            No more than `MOST_PLANES`.
        colours : sequence of "#RRGGBB"
            For each side of all planes, two to the power of their number: the first is below all
            of them, the second above the first alone, the third above the second alone, the fourth
            above these two, and so on.
        line : "#RRGGBB"
            Of the lines along the planes.

        Raises
        ------
        ValueError
            If there are too many planes, or not as many colours as sides.
        """
        if len(planes) > MOST_PLANES or len(colours) != 2 ** len(planes):
            raise ValueError(
                f"{len(planes)} planes have {2 ** len(planes)} sides, not {len(colours)}; up to "
                f"{MOST_PLANES} planes are shown."
            )
        numbers = self._numbers
        numbers.SetUniformi("planeCount", len(planes))
        numbers.SetUniform3f("lineColour", _rgb(line))
        for at in range(MOST_PLANES):
            row = (*planes[at].normal, planes[at].offset) if at < len(planes) else (0, 0, 1, 0)
            numbers.SetUniform4f(f"plane{at}", row)
        for at in range(_SIDES):
            numbers.SetUniform3f(f"side{at}", _rgb(colours[min(at, len(colours) - 1)]))
        if not planes:
            self.actor.GetProperty().SetColor(*_rgb(colours[0]))


class Stage:
    """Draws bodies off screen.

    Where no usable GL is installed VTK may end the whole process.
    """

    def __init__(self, paper: str) -> None:
        off_screen_gl()
        # Without it the parts of VTK that know GL are not found.
        import vtkmodules.vtkRenderingOpenGL2  # noqa: F401
        from vtkmodules.vtkRenderingCore import vtkLight, vtkRenderer, vtkRenderWindow

        self._window = vtkRenderWindow()
        self._window.SetOffScreenRendering(1)
        # What costs most without a graphics card, and is seen least while something moves.
        self._window.SetMultiSamples(0)
        self._renderer = vtkRenderer()
        self._renderer.SetBackground(_rgb(paper))
        self._renderer.UseOITOff()
        light = vtkLight()
        light.SetLightTypeToHeadlight()
        self._renderer.AddLight(light)
        self._window.AddRenderer(self._renderer)

    def add(self, vertices: Floats, faces: Ints) -> StagedBody:
        """Put a body on the stage: corners (n, 3) mm and faces (m, 3) of a closed mesh."""
        body = StagedBody(vertices, faces)
        self._renderer.AddActor(body.actor)
        return body

    def remove(self, body: StagedBody) -> None:
        """Take a body off the stage."""
        self._renderer.RemoveActor(body.actor)

    def picture(self, camera: Camera) -> NDArray[np.uint8]:
        """Return what is seen, (height, width, 3), the upper row first."""
        from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

        read: Any = vtkUnsignedCharArray()
        self._aim(camera)
        width, height = camera.size
        self._window.SetSize(width, height)
        self._window.Render()
        self._window.GetPixelData(0, 0, width - 1, height - 1, 0, read, 0)
        rows = np.frombuffer(memoryview(read), dtype=np.uint8).reshape(height, width, 3)
        return np.ascontiguousarray(rows[::-1])

    def close(self) -> None:
        """Give back what the graphics driver holds; nothing can be drawn any more."""
        self._renderer.RemoveAllViewProps()
        self._window.Finalize()

    def _aim(self, camera: Camera) -> None:
        theirs = self._renderer.GetActiveCamera()
        theirs.SetPosition(camera.position)
        theirs.SetFocalPoint(camera.focus)
        theirs.SetViewUp(camera.upward)
        theirs.SetViewAngle(camera.angle)
        theirs.SetParallelProjection(camera.span is not None)
        if camera.span is not None:
            theirs.SetParallelScale(camera.span / 2)
        self._renderer.ResetCameraClippingRange()


def _rgb(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue
