"""A mesh that is still closed when a file has cut its numbers short.

Mesh files keep single precision (24 bits, IEEE 754 binary32), and most programs that read them
join corners at equal places. Both can spoil a closed solid: thin triangles collapse, and where a
solid touches itself along an edge, four faces meet in it. `printable_mesh` does the rounding and
the joining itself, puts right what they spoil, and checks the result.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from splitplanner.arrays import Bools, Floats, Ints, frozen_floats, frozen_ints
from splitplanner.errors import ExportError
from splitplanner.findings import Finding, Severity
from splitplanner.output._touching import part_touching_edges
from splitplanner.solid import Solid

DECIMALS = 6
"""Coordinates are rounded to this many decimals, mm, before they become single precision."""
VOLUME_CHANGE = 1e-6
"""Greatest change of volume that goes without a finding, relative."""
_TOLERANCES = (0.0, 1e-4, 1e-3, 1e-2)
_GAP = 1e-4
_ROUNDS = 4


@dataclass(frozen=True, eq=False)
class PrintableMesh:
    """A closed triangle mesh, ready to be written.

    Every edge belongs to exactly two faces, in opposite order, and no two corners are at one
    place; so it is closed whether a reader goes by index or by place.

    Attributes
    ----------
    vertices : (n, 3) float array, mm
        Float64, but every number is one of single precision.
    faces : (m, 3) int array
        Counter-clockwise from outside.
    findings : tuple of Finding
        What had to be changed, and where.
    """

    vertices: Floats
    faces: Ints
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "vertices", frozen_floats(self.vertices, (-1, 3)))
        object.__setattr__(self, "faces", frozen_ints(self.faces, (-1, 3)))

    @cached_property
    def bounds(self) -> Floats:
        """Low and high corner of the bounding box, (2, 3) mm."""
        return frozen_floats([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    @cached_property
    def volume(self) -> float:
        """Volume, mm³; see `enclosed_volume`."""
        return enclosed_volume(self.vertices, self.faces)


def printable_mesh(solid: Solid, name: str = "") -> PrintableMesh:
    """Return the mesh of `solid` as a file can keep it.

    Corners are rounded and joined, triangles that collapse are dropped, and faces that cancel
    each other are dropped in pairs. Where the solid touches itself along an edge, the two sides
    are moved apart by about 0.1 µm to 1 µm into the material. If that does not give a closed mesh,
    the solid is simplified a little (at most 0.01 mm) and all is tried again.

    Parameters
    ----------
    solid : Solid
    name : str
        Of the piece, for the messages.

    Returns
    -------
    PrintableMesh

    Raises
    ------
    ExportError
        If no closed mesh is found; its findings hold the places.
    """
    places = np.empty((0, 3))
    for tolerance in _TOLERANCES:
        lighter = solid.simplified(tolerance) if tolerance else solid
        vertices, faces = rounded(lighter.vertices, lighter.faces)
        parted = _parted(vertices, faces)
        if parted is not None:
            return _with_findings(solid, name, tolerance, *parted)
        places = _places(vertices, faces)
    subject = f"Piece “{name}”" if name else "The solid"
    at = ", ".join(f"{value:.2f}" for value in places[0]) if len(places) else "-"
    message = (
        f"{subject} is not a closed mesh in single precision: near ({at}) mm it is thinner than "
        "the numbers in the file can tell; move the cut or the hole next to it a little."
    )
    finding = Finding("output.open", Severity.FAULT, message, name, places)
    raise ExportError(message, subject=name, findings=(finding,))


def rounded(vertices: Floats, faces: Ints) -> tuple[Floats, Ints]:
    """Round corners to single precision and join those at one place.

    Parameters
    ----------
    vertices : (n, 3) array, mm
    faces : (m, 3) array

    Returns
    -------
    vertices : (k, 3) array, mm
        In their old order; those without a face are dropped.
    faces : (l, 3) array
        Without those that collapsed or that met their own reverse.
    """
    single = np.round(vertices, DECIMALS).astype(np.float32).astype(np.float64) + 0.0
    order = np.lexsort(single.T)
    in_order = single[order]
    new = np.ones(len(single), dtype=bool)
    new[1:] = (in_order[1:] != in_order[:-1]).any(axis=1)
    if new.all():
        return single, np.asarray(faces)
    # lexsort is stable: the first of each group is the corner that came first.
    first = np.empty(len(single), dtype=np.int64)
    first[order] = order[new][np.cumsum(new) - 1]
    joined = first[faces]
    a, b, c = joined.T
    joined = _without_pairs(joined[(a != b) & (b != c) & (c != a)])
    used, compact = np.unique(joined, return_inverse=True)
    return single[used], compact.reshape(-1, 3)


def unmatched_edges(faces: Ints) -> Bools:
    """Return which half-edges (m, 3) of `faces` do not have exactly one partner.

    Entry (i, k) is the edge from corner k of face i to the next one. A mesh is closed when none
    is left: each edge then has two faces, which pass it in opposite order.
    """
    starts, ends = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    span = int(faces.max(initial=0)) + 1
    forward, backward = starts * span + ends, ends * span + starts
    there, back = np.sort(forward), np.sort(backward)
    if np.array_equal(there, back) and (there[1:] != there[:-1]).all():
        return np.zeros(faces.shape, dtype=bool)
    _, edge, count = np.unique(
        np.minimum(forward, backward), return_inverse=True, return_counts=True
    )
    balance = np.bincount(edge, weights=np.sign(ends - starts))
    wrong: Bools = ((count != 2) | (balance != 0))[edge].reshape(faces.shape)
    return wrong


def enclosed_volume(vertices: Floats, faces: Ints) -> float:
    """Return the volume of a closed mesh, mm³ (divergence theorem over signed tetrahedra)."""
    if not len(faces):
        return 0.0
    corners = vertices[faces] - vertices.mean(axis=0)
    return float(np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6)


def _without_pairs(faces: Ints) -> Ints:
    """Drop faces in pairs where one is the reverse of the other: nothing is between them."""
    ordered = np.sort(faces, axis=1)
    _, group, count = np.unique(ordered, axis=0, return_inverse=True, return_counts=True)
    group = group.ravel()
    if (count == 1).all():
        return faces
    # +1 if the corners are an even permutation of their order, -1 for the reverse face.
    lowest = np.argmin(faces, axis=1)
    rows = np.arange(len(faces))
    turned = faces[rows, (lowest + 1) % 3] < faces[rows, (lowest + 2) % 3]
    sign = np.where(turned, 1, -1)
    balance = np.bincount(group, weights=sign).astype(np.int64)
    # Of each group as many stay, all of one sign, as its balance says.
    mine = sign == np.sign(balance)[group]
    order = np.lexsort((~mine, group))
    starts = np.concatenate([[0], np.cumsum(count)[:-1]])
    rank = np.empty(len(faces), dtype=np.int64)
    rank[order] = rows - starts[group[order]]
    kept: Ints = faces[mine & (rank < np.abs(balance)[group])]
    return kept


def _parted(vertices: Floats, faces: Ints) -> tuple[Floats, Ints, Floats] | None:
    """Return a closed mesh and where it was moved apart; None if it cannot be closed."""
    if not len(faces):
        return None
    if not unmatched_edges(faces).any():
        return vertices, faces, np.empty((0, 3))
    spacing = float(np.spacing(np.float32(np.abs(vertices).max())))
    for attempt in range(_ROUNDS):
        gap = max(_GAP, 8 * spacing) * 2**attempt
        trial, trial_faces, places = vertices, faces, _places(vertices, faces)
        for _ in range(_ROUNDS):
            wrong = unmatched_edges(trial_faces)
            if not wrong.any():
                return trial, trial_faces, places
            trial, trial_faces = rounded(*part_touching_edges(trial, trial_faces, wrong, gap))
    return None


def _places(vertices: Floats, faces: Ints) -> Floats:
    """Return the middles of all edges that are not matched, (n, 3) mm."""
    wrong = unmatched_edges(faces)
    starts, ends = faces[wrong], np.roll(faces, -1, axis=1)[wrong]
    edges = np.unique(np.sort(np.stack([starts, ends], axis=1), axis=1), axis=0)
    result: Floats = vertices[edges].mean(axis=1)
    return result


def _with_findings(
    solid: Solid, name: str, tolerance: float, vertices: Floats, faces: Ints, places: Floats
) -> PrintableMesh:
    subject = f"Piece “{name}”" if name else "The solid"
    findings: list[Finding] = []
    if tolerance:
        findings.append(
            Finding(
                "output.simplified",
                Severity.NOTE,
                f"{subject} was simplified by up to {tolerance:g} mm to stay closed in the file.",
                name,
                measured=tolerance,
                unit="mm",
            )
        )
    if len(places):
        findings.append(
            Finding(
                "output.touching",
                Severity.NOTE,
                f"{subject} touches itself along {len(places)} edges; the two sides were moved "
                "apart by less than 0.01 mm.",
                name,
                places,
                measured=float(len(places)),
                unit="1",
            )
        )
    change = abs(enclosed_volume(vertices, faces) / solid.volume - 1.0)
    if change > VOLUME_CHANGE:
        findings.append(
            Finding(
                "output.volume",
                Severity.WARNING,
                f"{subject} changes its volume by {change:.1e} of it in the file, which keeps "
                "single precision only.",
                name,
                measured=change,
                allowed=VOLUME_CHANGE,
                unit="1",
            )
        )
    return PrintableMesh(vertices, faces, tuple(findings))
