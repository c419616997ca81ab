"""Parts of our own to try the planner on: built here, so no model file is needed.

Each is one closed, connected solid in mm, drawn as a maker would draw it and triangulated as
finely as asked; equal numbers of triangles give equal meshes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from splitplanner.demo_parts import cargo_lid, dew_shield, garden_heron, l_bracket, rain_hood
from splitplanner.solid import Solid

__all__ = ["DEMO_PARTS", "DemoPart"]


@dataclass(frozen=True)
class DemoPart:
    """One demonstration part.

    Attributes
    ----------
    name : str
        Also its file name.
    title : str
        One sentence: what it is and its outer size, mm.
    make : callable
        ``make(triangles=130_000) -> Solid``; `triangles` from 5 000 to 500 000.
    """

    name: str
    title: str
    make: Callable[..., Solid]


DEMO_PARTS: dict[str, DemoPart] = {
    part.name: part
    for part in (
        DemoPart(
            "rain_hood",
            "Ribbed rain hood of a field-survey robot, 540 x 230 x 165 mm, wall 2.4 mm.",
            rain_hood.make,
        ),
        DemoPart(
            "dew_shield",
            "Telescope dew shield, 200 mm across, 214 mm over its foot and 620 mm long.",
            dew_shield.make,
        ),
        DemoPart(
            "garden_heron",
            "Garden heron, solid, 380 x 160 mm on its base and 700 mm tall.",
            garden_heron.make,
        ),
        DemoPart(
            "l_bracket",
            "Long L bracket with gussets, 660 x 240 x 90 mm, 12 to 18 mm thick.",
            l_bracket.make,
        ),
        DemoPart(
            "cargo_lid",
            "Lid of a cargo box, 590 x 420 x 70 mm, skin 3 mm, with hinge bosses.",
            cargo_lid.make,
        ),
    )
}
