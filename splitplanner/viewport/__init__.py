"""Draws: the only room that imports VTK, and only when something is drawn."""

from splitplanner.viewport.child import draw_in_child
from splitplanner.viewport.drawing import draw, picture

__all__ = ["draw", "draw_in_child", "picture"]
