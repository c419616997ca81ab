"""A closed solid and what can be measured on it; knows nothing of plans."""

from splitplanner.solid.plane import Plane, frame_of
from splitplanner.solid.section import Section, to_polygons
from splitplanner.solid.solid import Solid, outline_edges

__all__ = ["Plane", "Section", "Solid", "frame_of", "outline_edges", "to_polygons"]
