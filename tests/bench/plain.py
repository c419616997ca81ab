"""The plain way to judge a candidate: cut it with trimesh, score the pieces by rays.

Every cut is a capped slice of the mesh to either side, every half is parted into connected bodies,
overhang and bed contact are sums over face normals, support is found by a grid of upright rays
(embree), bed fit is the smallest rectangle round the plan of the convex hull, and the seams are as
long as the sections that the cuts make. Bridges are not looked at. Needs `rtree` and
`mapbox_earcut` (the extra `bench`) for the caps and `embreex` for the rays.
"""

from dataclasses import dataclass

import numpy as np
import shapely
import trimesh
from scipy.spatial import ConvexHull

from splitplanner.plan import WHOLE

CONTACT = 0.02
"""As for the exact figure: what lies flat this near to the lowest point rests on the bed, mm."""
_SLACK = 0.01
_IN_PLANE = 1e-6
_HAIR = 5e-4
_ANGLE = np.radians(31.717474)
_TURN = np.array(
    [
        [np.cos(_ANGLE), np.sin(_ANGLE), 0.0],
        [-np.sin(_ANGLE), np.cos(_ANGLE), 0.0],
        [0.0, 0.0, 1.0],
    ]
)


@dataclass
class PlainPiece:
    """A piece as a mesh, with the planes it was cut at: (cut, side)."""

    mesh: trimesh.Trimesh
    walls: tuple = ()


@dataclass
class PlainScore:
    """Figures of one piece in one print direction, mm², mm³, mm."""

    overhang: float
    contact: float
    support: float
    fits: bool


def mesh_of(solid):
    """Return a solid as trimesh has it."""
    return trimesh.Trimesh(np.array(solid.vertices), np.array(solid.faces), process=False)


def bodies(mesh):
    """Return the connected bodies of a mesh."""
    labels = trimesh.graph.connected_component_labels(
        mesh.face_adjacency, node_count=len(mesh.faces)
    )
    if labels.max(initial=0) == 0:
        return [mesh]
    parts = mesh.submesh([np.flatnonzero(labels == k) for k in range(labels.max() + 1)])
    return [part for part in parts if len(part.faces) >= 4]


def pieces_of(mesh, cuts):
    """Return the pieces that `cuts` leave, and the length of the sections they made, mm.

    Cuts may only name halves that are one body.
    """
    pieces, length = {WHOLE: [PlainPiece(mesh)]}, 0.0
    for index, cut in enumerate(cuts):
        normal, origin = np.array(cut.plane.normal), np.array(cut.plane.origin)
        for name in list(pieces) if cut.piece is None else [cut.piece]:
            stem = "" if name == WHOLE else f"{name}."
            for letter, piece in enumerate(pieces.pop(name)):
                height = piece.mesh.vertices @ normal - cut.plane.offset
                if height.min() >= -_IN_PLANE or height.max() <= _IN_PLANE:
                    pieces.setdefault(name, []).append(piece)
                    continue
                crossed = trimesh.intersections.mesh_plane(piece.mesh, normal, origin)
                length += float(np.linalg.norm(crossed[:, 1] - crossed[:, 0], axis=1).sum())
                for side, number in ((-1, 1), (1, 2)):
                    half = piece.mesh.slice_plane(origin, side * normal, cap=True, engine="earcut")
                    # Letters here need not be those of a plan: such halves are not cut again.
                    key = f"{stem}{number}" if letter == 0 else f"{stem}{number}+{letter}"
                    walls = (*piece.walls, (index, side))
                    pieces.setdefault(key, []).extend(PlainPiece(b, walls) for b in bodies(half))
    return [piece for group in pieces.values() for piece in group], length


def overhang(mesh, up, limit):
    """Return area over the limit, bed contact, and which faces hang over."""
    slope = mesh.face_normals @ up
    height = mesh.vertices @ up
    low = (height <= height.min() + CONTACT)[mesh.faces].all(axis=1)
    resting = low & (slope < 0.0)
    hanging = (slope < -np.sin(np.radians(limit + _SLACK))) & ~resting
    return mesh.area_faces[hanging].sum(), mesh.area_faces[resting].sum(), hanging


def support(mesh, up, hanging, cells):
    """Return the volume below the overhangs, by a grid of `cells` upright rays through the piece.

    The grid is turned, so that straight edges of a piece do not run along it.
    """
    if not hanging.any():
        return 0.0
    frame = _TURN @ trimesh.geometry.align_vectors(up, [0.0, 0.0, 1.0])[:3, :3]
    upright = mesh.vertices @ frame.T
    low, high = upright.min(axis=0), upright.max(axis=0)
    step = float(np.sqrt((high - low)[:2].prod() / cells))
    u, v = (np.arange(low[k] + step / 2, high[k], step) for k in (0, 1))
    plan = np.stack(np.meshgrid(u, v), axis=-1).reshape(-1, 2)
    starts = np.column_stack([plan, np.full(len(plan), high[2] + 1.0)]) @ frame
    down = np.broadcast_to(-frame[2], starts.shape)
    places, rays, faces = mesh.ray.intersects_location(starts, down, multiple_hits=True)
    height = places @ frame[2]
    order = np.lexsort((height, rays))
    rays, height, faces = rays[order], height[order], faces[order]
    below = np.where(np.diff(rays, prepend=-1) == 0, np.roll(height, 1), low[2])
    return float((height - below)[hanging[faces]].sum() * step**2)


def bed_fit(points, up, bed):
    """Return whether the smallest rectangle round the plan of some points fits a plain bed."""
    frame = trimesh.geometry.align_vectors(up, [0.0, 0.0, 1.0])[:3, :3]
    upright = points @ frame.T
    _, sides = trimesh.bounds.oriented_bounds_2D(upright[:, :2])
    short, long = sorted(sides.tolist())
    height = float(np.ptp(upright[:, 2]))
    room = sorted((bed.width - 2 * bed.margin, bed.depth - 2 * bed.margin))
    eps = 1e-6
    return bool(short <= room[0] + eps and long <= room[1] + eps and height <= bed.height + eps)


def scored(mesh, hull, up, printer, cells):
    """Return the figures of a piece, and of the points of its hull, in one print direction."""
    up = np.asarray(up, float)
    area, contact, hanging = overhang(mesh, up, printer.overhang_limit)
    held = support(mesh, up, hanging, cells)
    return PlainScore(float(area), float(contact), held, bed_fit(hull, up, printer.bed))


def hull_of(mesh):
    """Return the corners of the convex hull."""
    return mesh.vertices[ConvexHull(mesh.vertices).vertices]


def seam_length(pieces, cuts):
    """Return the length of all outlines along which two pieces touch, summed over seams, mm.

    Where a later cut divides a seam this is more than the length of the section: what the
    estimate's figure is held against, but not timed.
    """
    total = 0.0
    for index, cut in enumerate(cuts):
        caps = {-1: [], 1: []}
        for piece in pieces:
            for at, side in piece.walls:
                if at == index:
                    caps[side].append(_cap(piece.mesh, cut.plane, side))
        for below in caps[-1]:
            for above in caps[1]:
                if len(caps[-1]) == len(caps[1]) == 1 and _alike(below, above):
                    total += below.length
                else:
                    shared = shapely.intersection(below, above, grid_size=1e-6)
                    total += shared.length if shared.area > 0.01 else 0.0
    return total


def _alike(one, other):
    return abs(one.area - other.area) < 1e-6 and abs(one.length - other.length) < 1e-6


def _cap(mesh, plane, side):
    height = mesh.vertices @ np.array(plane.normal) - plane.offset
    flat = (np.abs(height) < _IN_PLANE)[mesh.faces].all(axis=1)
    facing = mesh.face_normals @ np.array(plane.normal) * side < -0.5
    corners = mesh.vertices[mesh.faces[flat & facing]]
    polygons = shapely.polygons(plane.to_plane(corners.reshape(-1, 3)).reshape(-1, 3, 2))
    # Corners of neighbouring triangles differ by rounding; hairlines between them are closed.
    union = shapely.union_all(polygons, grid_size=1e-7)
    closed = union.buffer(_HAIR, join_style="mitre").buffer(-_HAIR, join_style="mitre")
    valid = shapely.make_valid(closed, method="structure", keep_collapsed=False)
    return shapely.set_precision(valid, 1e-6)
