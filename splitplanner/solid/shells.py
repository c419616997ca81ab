"""Sorts the closed shells of a mesh into bodies and voids and unites them to one solid."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import OpenSolidError, SolidError
from splitplanner.findings import Finding, Severity, counted
from splitplanner.progress import Report, part_of, silent
from splitplanner.solid.solid import Solid
from splitplanner.solid.winding import winding_numbers

_NO_VOLUME = 1e-9
"""A shell with less than this share of its area to the power 3/2 has no thickness."""
_SAME_VOLUME = 1e-6
"""Largest relative difference between the volume of a mesh and that of the solid made of it."""
_SAMPLES = 9
"""Corners of a shell that are tried to see whether it lies in another."""


@dataclass(frozen=True, eq=False)
class Shell:
    """One closed, connected surface.

    Attributes
    ----------
    vertices : (n, 3) float array, mm
    faces : (m, 3) int array
    volume : float
        mm³; negative if the faces point inward, as round a void.
    holder : int
        Index of the smallest shell around this one, -1 if none.
    """

    vertices: Floats
    faces: Ints
    volume: float
    holder: int = -1

    @property
    def bounds(self) -> Floats:
        """Low and high corner, (2, 3) mm."""
        return np.array([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    def turned(self) -> Shell:
        """Return the shell inside out."""
        return replace(self, faces=self.faces[:, ::-1], volume=-self.volume)

    def solid(self) -> Solid:
        """Return what the shell encloses."""
        shell = self if self.volume > 0 else self.turned()
        return _built(shell.vertices, shell.faces, shell.volume)


def part_shells(vertices: Floats, faces: Ints, sheet: Ints) -> tuple[list[Shell], list[Finding]]:
    """Return the shells of a closed mesh; those without volume are dropped and reported.

    Parameters
    ----------
    vertices : (n, 3) array, mm
    faces : (m, 3) array
    sheet : (m,) int array
        Number of the shell of each face.

    Raises
    ------
    OpenSolidError
        If no shell encloses a volume.
    """
    order = np.argsort(sheet, kind="stable")
    _, first = np.unique(sheet[order], return_index=True)
    shells, flat = [], []
    for group in np.split(order, first[1:]):
        used, local = np.unique(faces[group].ravel(), return_inverse=True)
        points, corners = vertices[used], local.reshape(-1, 3).astype(np.int64)
        volume, area = _measure(points, corners)
        if abs(volume) <= _NO_VOLUME * area**1.5:
            flat.append(points.mean(axis=0))
        else:
            shells.append(Shell(points, corners, volume))
    if not shells:
        raise OpenSolidError(
            "The model is a surface that encloses no volume; give it a thickness in the program "
            "that made it."
        )
    if not flat:
        return shells, []
    finding = Finding(
        "healing.flat",
        Severity.WARNING,
        f"Dropped {counted(len(flat), 'closed surface')} without volume.",
        where=np.array(flat),
        measured=float(len(flat)),
        unit="1",
    )
    return shells, [finding]


def _measure(points: Floats, faces: Ints) -> tuple[float, float]:
    a, b, c = (points[faces[:, k]] - points[0] for k in range(3))
    volume = float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0
    area = float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()) / 2.0
    return volume, area


def join_shells(shells: list[Shell], report: Report = silent) -> tuple[Solid, list[Finding]]:
    """Return the solid that the shells stand for.

    Shells that lie in no other and are inside out are turned over, with all they hold. An
    inward-facing shell in an outward-facing one is a void. Bodies that overlap are united.
    """
    report(0.0, "sorting shells")
    pairs = _box_pairs(shells)
    shells = _nested(shells, pairs)
    shells, findings = _upright(shells)
    findings += _nesting_findings(shells)
    if not len(pairs):
        return _as_one_mesh(shells), findings
    bodies = {index: _body(index, shells) for index, shell in enumerate(shells) if shell.volume > 0}
    groups = _groups(list(bodies), pairs)
    united: list[Solid] = []
    for number, group in enumerate(groups):
        part_of(report, 0.3, 1.0)(number / len(groups), "uniting bodies")
        joined = bodies[group[0]].union(*(bodies[index] for index in group[1:]))
        if len(group) > 1:
            findings += _overlap_findings(group, bodies, joined, shells, pairs)
        united.append(joined)
    return united[0].union(*united[1:]) if len(united) > 1 else united[0], findings


def _box_pairs(shells: list[Shell]) -> Ints:
    """Return the pairs (i, j), i < j, whose bounding boxes meet, (k, 2)."""
    if len(shells) < 2:
        return np.empty((0, 2), dtype=np.int64)
    bounds = np.array([shell.bounds for shell in shells])
    flat = shapely.box(bounds[:, 0, 0], bounds[:, 0, 1], bounds[:, 1, 0], bounds[:, 1, 1])
    i, j = shapely.STRtree(flat).query(flat)
    meet = (i < j) & (bounds[i, 0, 2] <= bounds[j, 1, 2]) & (bounds[j, 0, 2] <= bounds[i, 1, 2])
    pairs = np.column_stack([i[meet], j[meet]]).astype(np.int64)
    result: Ints = pairs[np.lexsort(pairs.T[::-1])]
    return result


def _nested(shells: list[Shell], pairs: Ints) -> list[Shell]:
    """Return the shells with their holders set."""
    holder = [-1] * len(shells)
    for i, j in pairs.tolist():
        inner, outer = (i, j) if abs(shells[i].volume) < abs(shells[j].volume) else (j, i)
        best = holder[inner]
        if best >= 0 and abs(shells[best].volume) <= abs(shells[outer].volume):
            continue
        if _holds(shells[outer], shells[inner]):
            holder[inner] = outer
    return [replace(shell, holder=at) for shell, at in zip(shells, holder, strict=True)]


def _holds(outer: Shell, inner: Shell) -> bool:
    large, small = outer.bounds, inner.bounds
    slack = 1e-9 * float(np.linalg.norm(large[1] - large[0]))
    if (small[0] < large[0] - slack).any() or (small[1] > large[1] + slack).any():
        return False
    count = len(inner.vertices)
    chosen = np.unique(np.linspace(0, count - 1, _SAMPLES).astype(np.int64))
    wraps = np.abs(winding_numbers(inner.vertices[chosen], outer.vertices, outer.faces))
    # A corner on the outer surface gives a fraction; it neither proves nor disproves.
    inside = int(np.count_nonzero(wraps > 0.99))
    outside = int(np.count_nonzero(wraps < 0.01))
    return inside > 0 and outside == 0


def _upright(shells: list[Shell]) -> tuple[list[Shell], list[Finding]]:
    """Turn families that are inside out, and shells in voids that face inward again."""
    by_size = sorted(range(len(shells)), key=lambda index: -abs(shells[index].volume))
    flip = [False] * len(shells)
    turned: list[int] = []
    for index in by_size:
        shell = shells[index]
        at = shell.holder
        flip[index] = flip[at] if at >= 0 else shell.volume < 0
        if at < 0 and flip[index]:
            turned.append(index)
        if at >= 0:
            outward = (shell.volume > 0) != flip[index]
            holder_outward = (shells[at].volume > 0) != flip[at]
            if not outward and not holder_outward:
                # Inward in a void: the winding would be negative, so it must be a loose body.
                flip[index] = not flip[index]
                turned.append(index)
    result = [s.turned() if over else s for s, over in zip(shells, flip, strict=True)]
    if not turned:
        return result, []
    finding = Finding(
        "healing.orientation",
        Severity.NOTE,
        f"Turned over {counted(len(turned), 'closed surface')} found inside out.",
        where=np.array([shells[index].bounds.mean(axis=0) for index in turned]),
        measured=float(len(turned)),
        unit="1",
    )
    return result, [finding]


def _nesting_findings(shells: list[Shell]) -> list[Finding]:
    voids = [s for s in shells if s.volume < 0]
    swallowed = [
        s for s in shells if s.volume > 0 and s.holder >= 0 and shells[s.holder].volume > 0
    ]
    findings = []
    if voids:
        total = -sum(shell.volume for shell in voids)
        findings.append(
            Finding(
                "healing.void",
                Severity.NOTE,
                f"Kept {counted(len(voids), 'closed void')}, of {total:.4g} mm³ in all.",
                where=np.array([shell.bounds.mean(axis=0) for shell in voids]),
                measured=total,
                unit="mm3",
            )
        )
    if swallowed:
        total = sum(shell.volume for shell in swallowed)
        findings.append(
            Finding(
                "healing.swallowed",
                Severity.WARNING,
                f"Swallowed {counted(len(swallowed), 'body', 'bodies')} of {total:.4g} mm³ in all, "
                "found wholly inside another; if a void is meant, turn its surface inside out in "
                "the program that made it.",
                where=np.array([shell.bounds.mean(axis=0) for shell in swallowed]),
                measured=total,
                unit="mm3",
            )
        )
    return findings


def _as_one_mesh(shells: list[Shell]) -> Solid:
    shift = np.cumsum([0, *(len(shell.vertices) for shell in shells[:-1])])
    faces = [shell.faces + start for shell, start in zip(shells, shift, strict=True)]
    return _built(
        np.concatenate([shell.vertices for shell in shells]),
        np.concatenate(faces),
        sum(shell.volume for shell in shells),
    )


def _built(vertices: Floats, faces: Ints, volume: float) -> Solid:
    """Return the solid, after a check that the kernel took the faces as they were meant."""
    solid = Solid.from_arrays(vertices, faces)
    if abs(solid.volume - volume) > _SAME_VOLUME * max(volume, solid.size**3 * _SAME_VOLUME):
        raise SolidError(
            f"The geometry kernel made {solid.volume:.6g} mm³ of a mesh of {volume:.6g} mm³; "
            "the mesh touches itself in a way that cannot be told apart."
        )
    return solid


def _body(index: int, shells: list[Shell]) -> Solid:
    """Return the body inside one outward shell, less its voids."""
    voids = [shell.solid() for shell in shells if shell.volume < 0 and shell.holder == index]
    body = shells[index].solid()
    return body.difference(*voids) if voids else body


def _groups(bodies: list[int], pairs: Ints) -> list[list[int]]:
    """Return the bodies, those whose boxes meet together."""
    lead = {index: index for index in bodies}

    def find(index: int) -> int:
        while lead[index] != index:
            lead[index] = lead[lead[index]]
            index = lead[index]
        return index

    for i, j in pairs.tolist():
        if i in lead and j in lead:
            a, b = find(i), find(j)
            lead[max(a, b)] = min(a, b)
    groups: dict[int, list[int]] = {}
    for index in bodies:
        groups.setdefault(find(index), []).append(index)
    return list(groups.values())


def _overlap_findings(
    group: list[int], bodies: dict[int, Solid], joined: Solid, shells: list[Shell], pairs: Ints
) -> list[Finding]:
    inside = [i for i in group if shells[i].holder >= 0 and shells[shells[i].holder].volume > 0]
    total = sum(bodies[index].volume for index in group)
    lost = total - joined.volume - sum(bodies[index].volume for index in inside)
    free_count = len(group) - len(inside)
    touching = lost <= 1e-9 * total
    if touching and len(joined.bodies()) >= free_count:
        return []
    free = np.isin(pairs, [i for i in group if i not in inside]).all(axis=1)
    places = []
    for i, j in pairs[np.flatnonzero(free)].tolist():
        low = np.maximum(shells[i].bounds[0], shells[j].bounds[0])
        high = np.minimum(shells[i].bounds[1], shells[j].bounds[1])
        places.append((low + high) / 2)
    return [
        Finding(
            "healing.overlap",
            Severity.NOTE,
            f"United {counted(free_count, 'body', 'bodies')} that touch or overlap, "
            f"by {max(lost, 0.0):.4g} mm³ in all.",
            where=np.array(places),
            measured=0.0 if touching else lost,
            unit="mm3",
        )
    ]
