"""A closed solid and what can be measured on it; knows nothing of plans."""

from splitplanner.solid.axes import (
    axes_of_flats,
    flat_normals,
    principal_axes,
    tightest_box_axes,
)
from splitplanner.solid.columns import Columns, Feet, columns, feet_below, floor_below
from splitplanner.solid.crossing import plane_segments
from splitplanner.solid.healing import Healed, heal
from splitplanner.solid.neighbours import neighbours_of
from splitplanner.solid.plan_view import plan_view
from splitplanner.solid.plane import Plane, frame_of
from splitplanner.solid.polygon_faces import triangles_in
from splitplanner.solid.reading import READABLE, ReadPart, read_solid
from splitplanner.solid.section import Section, outline_edges, to_polygons
from splitplanner.solid.sight import Sight
from splitplanner.solid.solid import Solid
from splitplanner.solid.symmetry import axes_of_form, mirror_offset
from splitplanner.solid.thickness import Thickness, WallKind, thickness
from splitplanner.solid.visibility import fibonacci_sphere, seen_from_outside
from splitplanner.solid.winding import winding_numbers

__all__ = [
    "READABLE",
    "Columns",
    "Feet",
    "Healed",
    "Plane",
    "ReadPart",
    "Section",
    "Sight",
    "Solid",
    "Thickness",
    "WallKind",
    "axes_of_flats",
    "axes_of_form",
    "columns",
    "feet_below",
    "fibonacci_sphere",
    "flat_normals",
    "floor_below",
    "frame_of",
    "heal",
    "mirror_offset",
    "neighbours_of",
    "outline_edges",
    "plan_view",
    "plane_segments",
    "principal_axes",
    "read_solid",
    "seen_from_outside",
    "thickness",
    "tightest_box_axes",
    "to_polygons",
    "triangles_in",
    "winding_numbers",
]
