"""What a load case does to every face: share of its strength, and how far it moves."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints
from splitplanner.background.overlay import SHARE, Overlay
from splitplanner.plan import Division, Plan, Vector
from splitplanner.solid import Solid
from splitplanner.viewport.bodies import Mesh
from splitplanner.workshop import known_material

if TYPE_CHECKING:
    # They take long to load, and most overlays have no need of them.
    from splitplanner.loaded import LoadAnswer, StrengthAnswer
    from splitplanner.strength import Diagrams

_MOST = 98.0
"""So many percent of the surface take no more than what is told: a peak at a sharp corner tells
nothing."""
_ROUNDS = 20
_TINY = 1e-12
_FINEST = 50.0
"""Faces longer than one so many'th of the part's size are divided, as figures differ over them."""


def load_overlay(
    name: str, load: str, division: Division, plan: Plan, strength: StrengthAnswer | None
) -> Overlay:
    """Work out how a load case acts on the faces of all pieces.

    Parameters
    ----------
    name : str
        `SHARE`, or `BENT` of `splitplanner.background.overlay`.
    load : str
        Name of the load case; the first one if it is not known.
    division : Division
    plan : Plan
    strength : StrengthAnswer or None
    """
    answers = {} if strength is None else {each.loading.name: each for each in strength.loads}
    answer = answers.get(load) or next(iter(answers.values()), None)
    unit = "share" if name == SHARE else "mm"
    if answer is None:
        nothing = {piece.name: np.full(len(piece.solid.faces), np.nan) for piece in division.pieces}
        return Overlay(name, unit, nothing, words="There is no load case: add one under Strength.")
    values: dict[str, Floats] = {}
    moves: dict[str, Floats] = {}
    meshes: dict[str, Mesh] = {}
    for piece in division.pieces:
        fine = meshes[piece.name] = fine_mesh(piece.solid, division.part.size / _FINEST)
        if name == SHARE:
            up = plan.up(piece.name)
            values[piece.name] = face_shares(centroids_of(fine), up, answer, plan)
        else:
            moves[piece.name] = motion_at(answer.diagrams, fine.vertices)
            moved = motion_at(answer.diagrams, centroids_of(fine))
            values[piece.name] = np.linalg.norm(moved, axis=1)
    said = _share_words(answer, values, meshes) if name == SHARE else _motion_words(answer, values)
    drawn = {each: (fine.vertices, fine.faces) for each, fine in meshes.items()}
    return Overlay(
        name, unit, values, words=said, moves=moves, size=division.part.size, meshes=drawn
    )


def fine_mesh(solid: Solid, longest: float) -> Mesh:
    """Return a solid's mesh with edges no longer than so many mm; as it is if they are not."""
    corners = solid.vertices[solid.faces]
    edges = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    if edges.max(initial=0.0) <= longest:
        return Mesh(solid.vertices, solid.faces)
    from trimesh.remesh import subdivide_to_size

    vertices, faces = subdivide_to_size(solid.vertices, solid.faces, longest, max_iter=_ROUNDS)
    # Middles of edges come once from either side, the same to the bit.
    welded, places = np.unique(vertices, axis=0, return_inverse=True)
    return Mesh(welded, places.reshape(-1)[faces])


def centroids_of(mesh: Mesh) -> Floats:
    """Return the middles of the faces of a mesh, (m, 3) mm."""
    found: Floats = mesh.vertices[mesh.faces].mean(axis=1)
    return found


def areas_of(mesh: Mesh) -> Floats:
    """Return the areas of the faces of a mesh, (m,) mm²."""
    one, two, three = np.moveaxis(mesh.vertices[mesh.faces], 1, 0)
    found: Floats = np.linalg.norm(np.cross(two - one, three - one), axis=1) / 2.0
    return found


def face_shares(places: Floats, up: Vector, answer: LoadAnswer, plan: Plan) -> Floats:
    """Return which share of its strength a piece takes at places, (k,); 1 is where it fails.

    Stress along the axis by bending and pull at each place in the section, over the
    strength of the piece along the axis, its layers as they lie. What braces take off a station is
    taken off. Warping and twist are not in it.

    Parameters
    ----------
    places : (k, 3) float array
        Of the piece, in the part's frame, mm.
    up : (x, y, z)
        Its print direction.
    answer : LoadAnswer
    plan : Plan
        For its material.
    """
    from splitplanner.strength import LayeredStrength

    strength = LayeredStrength.of(known_material(plan.material)[0])
    axis = np.array(answer.diagrams.chain.axis)
    one = np.outer(axis, axis)
    pulled, pressed = (float(strength.share(sign * one, up)) for sign in (1.0, -1.0))
    stress = stress_at(answer.diagrams, places) * relief_at(answer, places @ axis)
    return np.where(stress > 0.0, stress * pulled, -stress * pressed)


def stress_at(found: Diagrams, places: ArrayLike) -> Floats:
    """Return the stress along the axis at places (k, 3) mm, (k,) MPa, tension above 0.

    ``σ = N/A - mᵀ S⁻¹ r``, as `SectionProperties.bending_stress` has it, by the section of the
    nearest station.
    """
    chain, points = found.chain, np.asarray(places, float)
    u, v, along = chain.frame @ points.T
    nearest = chain.nearest(along)
    away = np.column_stack([u, v]) - chain.between(chain.centroids, along)
    moment = np.column_stack([np.interp(along, found.positions, m) for m in found.moment.T])
    bent = np.einsum("kij,kj->ki", np.linalg.inv(chain.tensors)[nearest], moment)
    pull = np.interp(along, found.positions, found.axial) / chain.area[nearest]
    stress: Floats = pull - (away * bent).sum(axis=1)
    return stress


def relief_at(answer: LoadAnswer, along: Floats) -> Floats:
    """Return how much of the load braces leave at stations (k,) mm, (k,) from 0 to 1."""
    bare, planned = answer.ways[0].layers, answer.planned.layers
    before = np.interp(along, bare.positions, bare.share)
    after = np.interp(along, planned.positions, planned.share)
    left: Floats = np.clip(np.where(before > _TINY, after / np.maximum(before, _TINY), 1.0), 0, 1)
    return left


def motion_at(found: Diagrams, places: ArrayLike) -> Floats:
    """Return how far places (k, 3) mm of the uncut part move, (k, 3) mm.

    Sections stay flat and square to the bent axis (Bernoulli), and turn about their middles.
    """
    chain, points = found.chain, np.asarray(places, float)
    u, v, along = chain.frame @ points.T
    away = np.column_stack([u, v]) - chain.between(chain.centroids, along)
    at, first = np.unique(found.positions, return_index=True)
    bent, stretch, twist = found.deflection[first], found.stretch[first], found.twist[first]
    slope = np.gradient(bent, at, axis=0)

    def here(figures: Floats) -> Floats:
        return np.asarray(np.interp(along, at, figures))

    turn = np.radians(here(twist))
    moved_u = here(bent[:, 0]) - turn * away[:, 1]
    moved_v = here(bent[:, 1]) + turn * away[:, 0]
    lean = here(slope[:, 0]) * away[:, 0] + here(slope[:, 1]) * away[:, 1]
    moved: Floats = np.column_stack([moved_u, moved_v, here(stretch) - lean]) @ chain.frame
    return moved


def checked_overlay(
    name: str,
    load: str,
    values: Mapping[str, Floats],
    moves: Mapping[str, Floats] | None = None,
    words: str = "",
    size: float = 0.0,
    meshes: Mapping[str, tuple[Floats, Ints]] | None = None,
) -> Overlay:
    """Return what the finite-cell check found on faces as an overlay.

    Parameters
    ----------
    name : str
        `SHARE` or `BENT`.
    load : str
        Name of the load case.
    values : mapping of piece name to (m,) float array
        Share of strength, or how far each face moves, mm; nan where nothing is known.
    moves : mapping of piece name to (n, 3) float array, optional
        How far each corner moves, mm.
    words : str
        What else is to be said.
    size : float
        Of the part, mm; only with it the shape is drawn bent.
    meshes : mapping of piece name to ((n, 3) float array, (m, 3) int array), optional
        What the figures are of, where that is not the mesh of the piece.
    """
    said = f"By the check in cells, load case “{load}”. {words}".strip()
    unit = "share" if name == SHARE else "mm"
    return Overlay(
        f"{name}, checked",
        unit,
        values,
        words=said,
        moves=moves or {},
        size=size,
        meshes=meshes or {},
    )


def _share_words(
    answer: LoadAnswer, values: Mapping[str, Floats], meshes: Mapping[str, Mesh]
) -> str:
    shares = np.concatenate([*values.values()])
    areas = np.concatenate([areas_of(meshes[name]) for name in values])
    order = np.argsort(shares)
    up_to = np.cumsum(areas[order])
    last = min(int(np.searchsorted(up_to, _MOST / 100.0 * up_to[-1])), len(order) - 1)
    return (
        f"Load case “{answer.loading.name}”: {_MOST:.0f} % of the surface takes less than "
        f"{100.0 * shares[order][last]:.2g} % of the strength of its piece along the axis, layers "
        "as they lie. Global bending and pull only: no walls pressed in, no screw holes, no twist."
    )


def _motion_words(answer: LoadAnswer, values: Mapping[str, Floats]) -> str:
    most = max(float(each.max(initial=0.0)) for each in values.values())
    return (
        f"Load case “{answer.loading.name}”: the part as if printed in one bends by up to "
        f"{most:.2g} mm. Seams give way besides."
    )
