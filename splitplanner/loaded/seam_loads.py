"""What each seam has to hand on of a load: the beam's stresses, added up over the seam's polygons.

At every point of the part the beam has one stress along the axis, by force and moments of the
section there, and shear stresses across it. Across a plane with normal n they act as
``t = σ (a·n) a + (a·n) τ + (τ·n) a``, a being the axis. The sum of that over a seam, and of its
moments, is what the seam hands on: for seams square to the axis that together are the whole section
it is the force and the moment of the section itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.plan import Seam, Vector
from splitplanner.solid import Plane, Solid, to_polygons
from splitplanner.strength import Diagrams, SeamLoad, SectionChain, area_moments, section_properties

SQUARE = 1e-6
"""Sine of the angle to the axis up to which a seam's normal counts as along it."""
LENGTHWISE = math.sin(math.radians(15.0))
"""Cosine of the angle between normal and axis up to which a seam counts as lengthwise (the
program's own choice)."""
_WHOLE = 0.995
"""Seams of one station that are this share of the section are the whole section."""
_BESIDE = 1e-3
"""A section at a step of the part is the lesser one of those this far to both sides, mm."""
_SAME = 1e-6
"""Stations nearer than this are one, mm."""
_LEAST, _MOST = 16, 64
"""Bands in which an oblique seam is looked at."""
_DUST = 1e-9
"""Bits of a band of less than this are rounding, mm²."""


@dataclass(frozen=True, eq=False)
class Forces:
    """What a section hands on, from what lies at higher stations to what lies at lower ones.

    Attributes
    ----------
    shear, moment : (2,) float array
        Along u and v of the chain's frame, N and N·mm; the moment as in `Diagrams`.
    axial, torque : float
        N and, about the section's centroid, N·mm.
    """

    shear: Floats
    moment: Floats
    axial: float
    torque: float


@dataclass(frozen=True, eq=False)
class Band:
    """A seam, or a strip of it across the axis, and the section of the part at its middle.

    Attributes
    ----------
    station : float
        Offset along the axis, mm.
    corners : (k, 2) float array
        In coordinates of the seam's plane, from the seam's centroid, mm.
    area : float
        mm².
    first : (2,) float array
        First moments about the seam's centroid, mm³.
    second : (2, 2) float array
        Second moments about it, mm⁴.
    section_area : float
        Of all that bears at the station, mm².
    centroid : (2,) float array
        Of that, in the chain's frame, mm.
    tensor : (2, 2) float array
        Its second moments about that, mm⁴.
    beyond : (2,) float array
        First moments about that of what lies on the seam's upper side, over the width in which its
        plane meets the section, mm²; nan for a seam square to the axis.
    """

    station: float
    corners: Floats
    area: float
    first: Floats
    second: Floats
    section_area: float
    centroid: Floats
    tensor: Floats
    beyond: Floats


@dataclass(frozen=True, eq=False)
class SeamBands:
    """A seam as a load case along an axis sees it.

    Attributes
    ----------
    seam : Seam
    station : float
        Of its centroid, offset along the axis, mm.
    bands : tuple of Band
    """

    seam: Seam
    station: float
    bands: tuple[Band, ...]


def seam_bands(
    part: Solid, seams: Sequence[Seam], chain: SectionChain, count: int | None = None
) -> tuple[SeamBands, ...]:
    """Return the seams of a part as loads along an axis see them.

    Parameters
    ----------
    part : Solid
    seams : sequence of Seam
        All of the part's.
    chain : SectionChain
        Of the part along the axis.
    count : int, optional
        Bands of every oblique seam; by its reach along the axis where it is not given.
    """
    axis = np.array(chain.axis)
    stations = [float(axis @ seam.section.centroid) for seam in seams]
    square = [float(np.linalg.norm(np.cross(axis, seam.plane.normal))) <= SQUARE for seam in seams]
    found = []
    for seam, station, is_square in zip(seams, stations, square, strict=True):
        if is_square:
            beside = [
                each
                for each, at, also in zip(seams, stations, square, strict=True)
                if also and abs(at - station) <= _SAME
            ]
            square_one = _square_band(part, seam, beside, chain, station)
            found.append(SeamBands(seam, station, (square_one,)))
        else:
            found.append(SeamBands(seam, station, _oblique_bands(seam, chain, count)))
    return tuple(found)


def seam_load_of(bands: SeamBands, found: Diagrams) -> SeamLoad:
    """Return what a load case does to a seam: what acts on the piece above it.

    Of a lengthwise seam (see `LENGTHWISE`) the force along the axis changes its sign on the way,
    over two supports for instance, so that its sum says nothing; there all of it counts as if it
    went one way, evenly over the seam.

    Parameters
    ----------
    bands : SeamBands
    found : Diagrams
        Along the same axis; a moment or shear force that braces take is left out of it before.

    Returns
    -------
    SeamLoad
        In coordinates of the seam's plane, about its centroid.
    """
    plane, chain = bands.seam.plane, found.chain
    axis = plane.frame @ np.array(chain.axis)
    force, moment, flows = np.zeros(3), np.zeros(3), []
    for band in bands.bands:
        level, slope = _traction(band, bands.seam, found)
        here = level * band.area + slope @ band.first
        # Moments of the places w with the tractions: the integral of each w times each traction.
        spread = np.outer(band.first, level) + band.second @ slope.T
        moment += (spread[1, 2], -spread[0, 2], spread[0, 1] - spread[1, 0])
        force += here
        flows.append(float(axis @ here))
    if is_lengthwise(bands.seam, chain.axis):
        net, whole = float(np.sum(flows)), float(np.abs(flows).sum())
        one_way = -whole if net < -_SAME * whole else whole
        force += (one_way - net) * axis
        # It acts where it arises, and not as a couple on all of the seam.
        moment[2] = 0.0
    centre = plane.to_plane(bands.seam.section.centroid[None])[0]
    return SeamLoad(force, moment, centre)


def is_lengthwise(seam: Seam, axis: Vector) -> bool:
    """Return whether a seam runs along an axis more or less; see `LENGTHWISE`."""
    return abs(float(np.dot(seam.plane.normal, axis))) <= LENGTHWISE


def stress_across(bands: SeamBands, found: Diagrams) -> float:
    """Return the largest stress square to a seam as if it were whole, by its size, MPa."""
    return max(
        float(np.abs(level[2] + band.corners @ slope[2]).max())
        for band in bands.bands
        for level, slope in [_traction(band, bands.seam, found)]
    )


def forces_at(found: Diagrams, station: float) -> Forces:
    """Return what a section hands on at a station; where that jumps, the larger.

    What twists is left out where `Diagrams.twists` says so.
    """
    at = float(np.clip(station, found.positions[0], found.positions[-1]))
    after = int(np.searchsorted(found.positions, at, "left"))
    near = np.flatnonzero(np.abs(found.positions - at) <= _SAME)
    # Rows of one entry each where there are some, else one between two.
    rows, shares = near[:, None], np.ones((len(near), 1))
    if not len(near):
        low, high = found.positions[after - 1], found.positions[after]
        rows = np.array([[after - 1, after]])
        shares = np.array([[high - at, at - low]]) / (high - low)
    shear = -np.einsum("rk,rki->ri", shares, found.shear[rows])
    moment = np.einsum("rk,rki->ri", shares, found.moment[rows])
    axial = (shares * found.axial[rows]).sum(axis=1)
    torque = np.zeros(len(rows))
    if found.twists:
        # About the centroid it is that about the shear centre and (s x force) besides.
        away = found.chain.between(found.chain.shear_centres, [at])[0]
        torque = (shares * found.torque[rows]).sum(axis=1)
        torque = torque + away[0] * shear[:, 1] - away[1] * shear[:, 0]
    reach = math.sqrt(float(found.chain.between(found.chain.area, [at])[0]))
    size = np.abs(axial) + np.linalg.norm(shear, axis=1)
    size = size + (np.linalg.norm(moment, axis=1) + np.abs(torque)) / reach
    worst = int(size.argmax())
    return Forces(
        frozen_floats(shear[worst]),
        frozen_floats(moment[worst]),
        float(axial[worst]),
        float(torque[worst]),
    )


def _traction(band: Band, seam: Seam, found: Diagrams) -> tuple[Floats, Floats]:
    """Return what acts on the upper side, by place: ``level + slope @ w``, w from the centroid.

    Returns
    -------
    level : (3,) float array
        Along u, v, n of the seam's plane, MPa.
    slope : (3, 2) float array
        MPa/mm.
    """
    chain, frame = found.chain, seam.plane.frame
    across, axis = chain.frame[:2], np.array(chain.axis)
    acting = forces_at(found, band.station)
    # Places of the plane as seen in the section: r = start + turn @ w.
    turn = across @ frame[:2].T
    start = across @ seam.section.centroid - band.centroid
    curve = -np.linalg.solve(band.tensor, acting.moment)
    pull, pull_slope = acting.axial / band.section_area + curve @ start, curve @ turn
    twist = acting.torque / float(np.trace(band.tensor)) * np.array([[0.0, -1.0], [1.0, 0.0]])
    shear = _mean_shear(band, seam, acting, across) + twist @ start
    shear_slope = twist @ turn
    share = float(axis @ frame[2])
    # In the part's frame: along the axis, and across it.
    along = share * pull + frame[2] @ across.T @ shear
    along_slope = share * pull_slope + frame[2] @ across.T @ shear_slope
    level = along * axis + share * (across.T @ shear)
    slope = np.outer(axis, along_slope) + share * (across.T @ shear_slope)
    return frame @ level, frame @ slope


def _mean_shear(band: Band, seam: Seam, acting: Forces, across: Floats) -> Floats:
    """Return the mean shear stress (2,) along u and v: ``V/A``, square to a trace ``V Q / (I b)``.

    The second is Jourawski's (Timoshenko, Strength of Materials), along the whole line in which
    the seam's plane meets the section.
    """
    mean: Floats = acting.shear / band.section_area
    if np.isnan(band.beyond).any():
        return mean
    way = across @ seam.plane.frame[2]
    way = way / np.linalg.norm(way)
    sliding = float(acting.shear @ np.linalg.solve(band.tensor, band.beyond))
    result: Floats = mean + (sliding - way @ mean) * way
    return result


def _square_band(
    part: Solid, seam: Seam, beside: Sequence[Seam], chain: SectionChain, station: float
) -> Band:
    """Return all of a seam square to the axis, with the section that bears there."""
    base = Plane(chain.axis, 0.0)
    shapes = [_as_seen(each, chain) for each in beside]
    own = MultiPolygon(to_polygons(shapely.union_all(shapes)))
    sections = part.sections(base, [station - _BESIDE, station + _BESIDE])
    least = min((each.shape for each in sections), key=lambda shape: float(shape.area))
    whole = own if own.area >= _WHOLE * least.area else least
    figures = section_properties(whole)
    nothing = np.full(2, np.nan)
    return _band(
        seam, seam.section.shape, station,
        (figures.area, figures.centroid, figures.tensor, nothing),
    )  # fmt: skip


def _as_seen(seam: Seam, chain: SectionChain) -> MultiPolygon:
    """Return the polygons of a seam as the axis sees them, in the chain's frame."""
    return shapely.transform(
        seam.section.shape, lambda flat: seam.plane.to_space(flat) @ chain.frame[:2].T
    )


def _oblique_bands(seam: Seam, chain: SectionChain, count: int | None) -> tuple[Band, ...]:
    """Return a seam in bands along the axis, each with the section at its middle."""
    axis = np.array(chain.axis)
    rise = seam.plane.frame[:2] @ axis
    corners = shapely.get_coordinates(seam.section.shape)
    # Stations are base + rise · w.
    base = float(axis @ seam.plane.origin)
    heights = base + corners @ rise
    low, high = float(heights.min()), float(heights.max())
    if count is None:
        step = chain.length / len(chain.positions)
        count = int(np.clip(math.ceil((high - low) / step), _LEAST, _MOST))
    edges = np.linspace(low, high, count + 1)
    steep = float(np.linalg.norm(rise))
    up = rise / steep
    flat = np.array([-up[1], up[0]])
    reach = float(np.abs(corners).max()) * 2.0 + 1.0
    places = (edges - base) / steep
    boxes = []
    for start, end in pairwise(places.tolist()):
        ring = [(start, -reach), (end, -reach), (end, reach), (start, reach)]
        boxes.append(shapely.Polygon([a * up + b * flat for a, b in ring]))
    strips = shapely.intersection(seam.section.shape, np.array(boxes))
    bands = []
    for strip, middle in zip(strips, (edges[1:] + edges[:-1]) / 2.0, strict=True):
        shape = MultiPolygon(to_polygons(strip, smallest=_DUST))
        if not shape.is_empty:
            bands.append(_band(seam, shape, float(middle), _section_at(seam, chain, middle)))
    return tuple(bands)


def _section_at(
    seam: Seam, chain: SectionChain, station: float
) -> tuple[float, Floats, Floats, Floats]:
    """Return area, centroid, tensor and `Band.beyond` of the section at a station."""
    area = float(chain.between(chain.area, [station])[0])
    centroid = chain.between(chain.centroids, [station])[0]
    tensor = chain.between(chain.tensors, [station])[0]
    way = chain.frame[:2] @ np.array(seam.plane.normal)
    steep = float(np.linalg.norm(way))
    way, along = way / steep, np.array([way[1], -way[0]]) / steep
    level = (seam.plane.offset - float(np.dot(seam.plane.normal, chain.axis)) * station) / steep
    nearest = int(chain.nearest([station])[0])
    shape, own = chain.shapes[nearest], chain.properties[nearest].centroid
    reach = float(np.abs(shapely.get_coordinates(shape)).max()) * 2.0 + abs(level) + 1.0
    ring = [(level, -reach), (level + 2.0 * reach, -reach), (level + 2.0 * reach, reach)]
    ring.append((level, reach))
    half = shapely.Polygon([a * way + b * along for a, b in ring])
    line = shapely.linestrings([level * way + b * along for b in (-reach, reach)])
    width = float(shapely.intersection(shape, line).length)
    nothing = np.full(2, np.nan)
    if width <= _SAME:
        return area, centroid, tensor, nothing
    above = shapely.intersection(shape, half)
    middle = np.array([above.centroid.x, above.centroid.y]) if above.area > 0.0 else own
    return area, centroid, tensor, float(above.area) * (middle - own) / width


def _band(
    seam: Seam,
    shape: MultiPolygon,
    station: float,
    section: tuple[float, Floats, Floats, Floats],
) -> Band:
    centre = seam.plane.to_plane(seam.section.centroid[None])[0]
    corners, area, first, second = area_moments(shape, centre)
    return Band(station, corners, area, first, second, *section)
