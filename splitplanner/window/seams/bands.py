"""What a register and a tape take of a seam, as they are seen in its plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiLineString, MultiPolygon, Point

from splitplanner.joint.register.foot import foot_on
from splitplanner.plan import Flange, Joint, Register, Tape
from splitplanner.solid import Plane, to_polygons

_SIDES = 16
"""Of a quarter of a circle."""
_BESIDE = 0.05
"""An outline that is no further than this from one that is seen is seen itself, mm."""
_SHORT = 0.5
"""What is left of an outline is no place for tape where it is shorter, mm."""

Disc = tuple[float, float, float]
"""Middle (u, v) and radius, mm."""


@dataclass(frozen=True)
class Bands:
    """What runs along a seam beside pins and screws.

    Attributes
    ----------
    flange : Flange or None
    register : Register or None
    tape : Tape or None
    clear : tuple of Disc
        What fasteners and the material round them take, which a register keeps clear of.
    """

    flange: Flange | None = None
    register: Register | None = None
    tape: Tape | None = None
    clear: tuple[Disc, ...] = ()


def bands_of(joint: Joint, plane: Plane) -> Bands:
    """Return what runs along a seam of this plane."""
    discs: tuple[Disc, ...] = ()
    fasteners = joint.fasteners
    # They matter to a register alone, so that without one nothing changes with them.
    if joint.register is not None and fasteners:
        flat = plane.to_plane(np.array([each.at for each in fasteners])).tolist()
        radii = [each.edge_distance for each in fasteners]
        discs = tuple((u, v, radius) for (u, v), radius in zip(flat, radii, strict=True))
    return Bands(joint.flange, joint.register, joint.tape, discs)


def register_shape(bands: Bands, shape: MultiPolygon) -> MultiPolygon:
    """Return the foot of the register, plane coordinates, mm.

    Studs are circles; the others a band in the wall, as wide as the register and along the middle
    of the wall, or of a lap along its hidden outline. Walls are taken to be upright: where one
    leans, the register that is made may end earlier.

    Parameters
    ----------
    bands : Bands
    shape : MultiPolygon
        The seam.
    """
    register = bands.register
    if register is None:
        return MultiPolygon()
    if register.form == "studs":
        studs = [Point(place).buffer(register.width / 2, _SIDES) for place in register.places]
        return MultiPolygon(to_polygons(shapely.union_all(studs)))
    discs = [Point(u, v).buffer(radius, _SIDES) for u, v, radius in bands.clear]
    clear = MultiPolygon(to_polygons(shapely.union_all(discs))) if discs else None
    return foot_on(register, shape, shape, None, clear)


def tape_lines(bands: Bands, whole: MultiPolygon, shown: shapely.Geometry) -> MultiLineString:
    """Return along which outlines the tape goes: those of seam and flange that are not seen.

    Parameters
    ----------
    bands : Bands
    whole : MultiPolygon
        The seam with its flange.
    shown : lines
        What of the outlines lies on the good side.
    """
    if bands.tape is None:
        return MultiLineString()
    # Each stretch that is seen is a line of its own, and there are many.
    near = shapely.line_merge(shown).buffer(_BESIDE, cap_style="flat", quad_segs=2)
    left = shapely.difference(whole.boundary, near)
    merged = shapely.line_merge(left) if isinstance(left, MultiLineString) else left
    parts = [part for part in shapely.get_parts(merged) if part.length > _SHORT]
    return MultiLineString(parts)
