"""What a seam is made of when it is loaded: its contact, its flange at each screw, its tape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.errors import WorkshopError
from splitplanner.plan import Joint, Line, Seam, Tape
from splitplanner.solid import to_polygons
from splitplanner.strength.bolt_group import SeamLoad
from splitplanner.workshop import fibre_density

STEP = 2.0
"""Tape is looked at in stretches of at most this, mm."""
_DUST = 1e-3
"""Bits of contact of no more than this are rounding, mm²."""


@dataclass(frozen=True)
class Fibre:
    """Fibres of a tape as they are reckoned with.

    Attributes
    ----------
    strength, stiffness : float
        Of the fibres in a laminate made by hand, MPa, over their own area.
    across : float
        Share of them that runs across the seam: half in a weave, all in a tape of one direction
        laid across.
    """

    strength: float
    stiffness: float
    across: float = 0.5

    def __post_init__(self) -> None:
        if not (self.strength > 0 and self.stiffness > 0 and 0 < self.across <= 1):
            raise ValueError("fibres need a strength and a stiffness above 0, and a share up to 1")


GENERIC_FIBRES = {
    "glass": Fibre(1000.0, 72_000.0),
    "carbon": Fibre(1500.0, 230_000.0),
    "aramid": Fibre(1200.0, 115_000.0),
}
"""By the names that tapes have. Stiffness as handbooks have it; strength about half of what they
have for single fibres, as laying up by hand leaves. From memory; the user's own value is better."""


def generic_fibre(name: str) -> Fibre:
    """Return what the fibres of a tape usually have.

    Raises
    ------
    WorkshopError
        If the fibre is not known.
    """
    try:
        return GENERIC_FIBRES[name]
    except KeyError:
        raise WorkshopError(
            f"Strength and stiffness of “{name}” fibres are not known; give both."
        ) from None


@dataclass(frozen=True, eq=False)
class TapeStretches:
    """A tape in short stretches along the seam.

    Attributes
    ----------
    places : (n, 2) float array
        Their middles in the plane, mm.
    tangents : (n, 2) float array
        Unit vectors along the tape.
    widths, areas : (n,) float array
        Their lengths along the seam, mm, and the areas of fibres that run across it, mm².
    overlap : float
        Of the tape to each side of the seam, mm.
    fibre : Fibre
    """

    places: Floats
    tangents: Floats
    widths: Floats
    areas: Floats
    overlap: float
    fibre: Fibre


def seam_load(
    seam: Seam,
    force: tuple[float, float, float],
    moment: tuple[float, float, float],
    at: tuple[float, float, float] | None = None,
) -> SeamLoad:
    """Return a load on a seam in coordinates of its plane, about the seam's centroid.

    Parameters
    ----------
    seam : Seam
    force, moment : (x, y, z)
        On the piece above, in the part's frame, N and N·mm.
    at : (x, y, z), optional
        Where the force acts, and about which place the moment is, mm; the seam's centroid if not
        given.
    """
    centre = seam.section.centroid
    pushed = np.asarray(force, float)
    turned = np.asarray(moment, float)
    if at is not None:
        turned = turned + np.cross(np.asarray(at, float) - centre, pushed)
    frame = seam.plane.frame
    return SeamLoad(frame @ pushed, frame @ turned, seam.plane.to_plane(centre[None])[0])


def contact_of(seam: Seam, joint: Joint) -> shapely.MultiPolygon:
    """Return the faces that press on each other: those of the seam, and of its flange.

    Holes are not taken out; they are small against it.
    """
    shapes = [seam.section.shape]
    if joint.flange is not None:
        # The wall is on the left of the lines, so that the rim is on their right.
        for line in joint.flange.lines:
            shapes.append(LineString(line).buffer(-joint.flange.width, single_sided=True))
    return shapely.MultiPolygon(to_polygons(shapely.union_all(shapes), smallest=_DUST))


def edge_distances(shape: shapely.Geometry, places: Floats, forces: Floats) -> Floats:
    """Return how far it is from fasteners to the edge, along what pushes them, (n,) mm.

    The lesser of both ways, since one piece is pushed one way and the other the other.

    Parameters
    ----------
    shape : shapely polygon or several
        The contact of the seam.
    places, forces : (n, 2) float array
        mm and N; 0 where nothing pushes.
    """
    size = np.linalg.norm(forces, axis=1)
    found = np.zeros(len(places))
    far = 2.0 * float(np.hypot(*np.ptp(np.reshape(shape.bounds, (2, 2)), axis=0))) + 1.0
    for index in np.flatnonzero(size > 0):
        spot, step = places[index], forces[index] / size[index] * far
        ways = [LineString([spot, spot + step]), LineString([spot, spot - step])]
        point = shapely.points(spot)
        if shape.contains(point):
            found[index] = min(way.intersection(shape.boundary).distance(point) for way in ways)
    return found


@dataclass(frozen=True, eq=False)
class Rim:
    """The flange at one screw, as a cantilever from the wall.

    Attributes
    ----------
    arm : float
        From the wall to the screw's axis, mm.
    away : (2,) float array
        Unit vector from the wall to the screw, in the plane.
    spacing : float
        To the nearest other screw, mm; inf for none.
    thickness : float
        mm.
    """

    arm: float
    away: Floats
    spacing: float
    thickness: float

    def width(self, head: float) -> float:
        """Return the width of rim that carries a screw, mm.

        The load spreads at 45° from head or washer to the wall, as far as half way to the next
        screw (common practice, no source).

        Parameters
        ----------
        head : float
            Outer diameter of head, washer or nut, mm.
        """
        return min(head + 2 * self.arm, self.spacing)

    def bending(self, head: float, strength: float) -> float:
        """Return the pull of a screw that breaks the rim off by bending, N: ``S b h² / (6 a)``.

        A cantilever with a force at its screw, in elastic bending at the wall; that it slopes into
        the wall, which makes it thicker there, is not counted.

        Parameters
        ----------
        head : float
            mm, as for `width`.
        strength : float
            Tensile strength from wall to edge, MPa.
        """
        return strength * self.width(head) * self.thickness**2 / (6 * self.arm)

    def shearing(self, head: float, shear: float) -> float:
        """Return the pull of a screw that shears the rim off, N: ``2/3 tau b h``.

        Parameters
        ----------
        head : float
            mm, as for `width`.
        shear : float
            Shear strength, MPa.
        """
        return shear * self.width(head) * self.thickness / 1.5


def rims_of(seam: Seam, joint: Joint) -> tuple[Rim | None, ...]:
    """Return the rim that each screw stands on; None for one that stands in the wall itself."""
    flange = joint.flange
    if flange is None or not flange.lines or not joint.screws:
        return (None,) * len(joint.screws)
    places = screw_places(seam, joint)
    lines = shapely.multilinestrings([LineString(line) for line in flange.lines])
    rims: list[Rim | None] = []
    for index, place in enumerate(places):
        spot = shapely.points(place)
        arm = float(lines.distance(spot))
        if seam.section.shape.contains(spot) or not 0 < arm <= flange.width:
            rims.append(None)
            continue
        foot = shapely.get_coordinates(shapely.shortest_line(lines, spot))[0]
        others = np.linalg.norm(np.delete(places, index, axis=0) - place, axis=1)
        spacing = float(others.min(initial=np.inf))
        away = frozen_floats((place - foot) / arm)
        rims.append(Rim(arm, away, spacing, flange.thickness))
    return tuple(rims)


def screw_places(seam: Seam, joint: Joint) -> Floats:
    """Return where the screws of a joint meet the seam's plane, (n, 2) mm."""
    at = np.array([screw.at for screw in joint.screws], float).reshape(-1, 3)
    return seam.plane.to_plane(at)


def pin_places(seam: Seam, joint: Joint) -> tuple[Floats, Floats]:
    """Return where pins stand in the seam's plane, and along which unit vectors slots are.

    Returns
    -------
    places, slots : (n, 2) float array
        mm; (0, 0) for a round hole.
    """
    at = np.array([pin.at for pin in joint.pins], float).reshape(-1, 3)
    slots = np.array([pin.slot for pin in joint.pins], float).reshape(-1, 3)
    flat = seam.plane.to_plane(slots)
    length = np.linalg.norm(flat, axis=1, keepdims=True)
    return seam.plane.to_plane(at), flat / np.where(length > 0, length, 1.0)


def stretches_along(lines: shapely.Geometry) -> tuple[Floats, Floats, Floats]:
    """Return short stretches of lines, one after the other; such as have no length are left out.

    Returns
    -------
    places : (n, 2) float array, mm
        Their middles.
    tangents : (n, 2) float array
        Unit vectors.
    lengths : (n,) float array, mm
    """
    places, steps = [np.empty((0, 2))], [np.empty((0, 2))]
    for line in shapely.get_parts(lines):
        corners = shapely.get_coordinates(shapely.segmentize(line, STEP))
        places.append((corners[1:] + corners[:-1]) / 2)
        steps.append(np.diff(corners, axis=0))
    step = np.vstack(steps)
    length = np.linalg.norm(step, axis=1)
    kept = length > 0
    return (
        frozen_floats(np.vstack(places)[kept]),
        frozen_floats(step[kept] / length[kept, None]),
        frozen_floats(length[kept]),
    )


def tape_stretches(
    seam: Seam, joint: Joint, tape: Tape, fibre: Fibre, lines: tuple[Line, ...] = ()
) -> TapeStretches:
    """Return a tape in stretches along its lines.

    Parameters
    ----------
    seam : Seam
    joint : Joint
        The one that has the tape.
    tape : Tape
    fibre : Fibre
    lines : tuple of lines
        Along which it runs, in the plane, mm. If none are given, those of the flange, and without
        one all outlines of the seam, each with the same share of the tape's length.

    Raises
    ------
    WorkshopError
        If its fibre is not known.
    """
    if not lines and joint.flange is not None:
        lines = joint.flange.lines
    along = (
        shapely.multilinestrings([LineString(line) for line in lines])
        if lines
        else seam.section.shape.boundary
    )
    places, tangents, length = stretches_along(along)
    # The fibres' own thickness: their volume on an area, g/m² over g/cm³ being micrometres.
    dry = tape.plies * tape.areal_weight / fibre_density(tape.fibre) * 1e-3
    thickness = dry * fibre.across
    total = float(length.sum())
    widths = length * (tape.length / total if total > 0 else 0.0)
    return TapeStretches(
        places=places,
        tangents=tangents,
        widths=frozen_floats(widths),
        areas=frozen_floats(widths * thickness),
        overlap=tape.width / 2,
        fibre=fibre,
    )
