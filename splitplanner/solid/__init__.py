"""A closed solid and what can be measured on it; knows nothing of plans."""

from splitplanner.solid.columns import Columns, columns, floor_below
from splitplanner.solid.crossing import plane_segments
from splitplanner.solid.plane import Plane, frame_of
from splitplanner.solid.section import Section, to_polygons
from splitplanner.solid.solid import Solid, outline_edges
from splitplanner.solid.visibility import fibonacci_sphere, seen_from_outside

__all__ = [
    "Columns",
    "Plane",
    "Section",
    "Solid",
    "columns",
    "fibonacci_sphere",
    "floor_below",
    "frame_of",
    "outline_edges",
    "plane_segments",
    "seen_from_outside",
    "to_polygons",
]
