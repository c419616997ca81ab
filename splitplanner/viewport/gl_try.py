"""Draws a picture in a process that may die of it: `python -m splitplanner.viewport.gl_try`.

The kind of GL is read from the standard input. It ends with 0 if something was drawn.
"""

from __future__ import annotations

import os
import sys
from typing import Any

from splitplanner.viewport.gl import GL_CHOICE, off_screen_gl


def main() -> int:
    """Fill a small picture, and look whether it is filled."""
    choice = sys.stdin.read().strip()
    if choice:
        os.environ[GL_CHOICE] = choice
    off_screen_gl()
    # Without it the parts of VTK that know GL are not found.
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401
    from vtkmodules.vtkCommonCore import vtkUnsignedCharArray
    from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow

    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetMultiSamples(0)
    window.SetSize(16, 16)
    renderer = vtkRenderer()
    renderer.SetBackground(1.0, 0.0, 0.0)
    window.AddRenderer(renderer)
    window.Render()
    read: Any = vtkUnsignedCharArray()
    window.GetRGBACharPixelData(8, 8, 8, 8, 0, read)
    drawn = [read.GetValue(at) for at in range(3)]
    window.Finalize()
    return 0 if drawn == [255, 0, 0] else 1


if __name__ == "__main__":
    sys.exit(main())
