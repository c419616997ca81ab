"""What a reader of one file format hands on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, Ints
from splitplanner.errors import ReadError
from splitplanner.findings import Finding


@dataclass(frozen=True, eq=False)
class RawMesh:
    """Triangles as they stand in a file, in the file's own unit.

    Attributes
    ----------
    vertices : (n, 3) float array
    faces : (m, 3) int array
    bodies : (n,) int array
        Object of the file each vertex belongs to.
    unit : str or None
        The unit the file or its format states; None if neither does.
    findings : tuple of Finding
    """

    vertices: Floats
    faces: Ints
    bodies: Ints
    unit: str | None = None
    findings: tuple[Finding, ...] = ()

    @staticmethod
    def of_objects(
        objects: Sequence[tuple[ArrayLike, ArrayLike]],
        unit: str | None = None,
        findings: Sequence[Finding] = (),
    ) -> RawMesh:
        """Return several objects, each vertices (n, 3) and faces (m, 3), as one mesh."""
        points = [np.asarray(vertices, dtype=np.float64).reshape(-1, 3) for vertices, _ in objects]
        counts = [len(some) for some in points]
        shifts = np.cumsum([0, *counts])[:-1]
        faces = [
            np.asarray(corners, dtype=np.int64).reshape(-1, 3) + shift
            for (_, corners), shift in zip(objects, shifts, strict=True)
        ]
        return RawMesh(
            np.concatenate([np.empty((0, 3)), *points]),
            np.concatenate([np.empty((0, 3), dtype=np.int64), *faces]),
            np.repeat(np.arange(len(objects)), counts),
            unit,
            tuple(findings),
        )

    def check(self, name: str) -> None:
        """Refuse what is no mesh.

        Raises
        ------
        ReadError
            If there are no triangles, corners that do not exist or coordinates that are not
            finite.
        """
        if not len(self.faces):
            raise ReadError(
                f"{name} holds no triangles, so there is no part to read.", subject=name
            )
        wrong = ((self.faces < 0) | (self.faces >= len(self.vertices))).any(axis=1)
        if wrong.any():
            raise ReadError(
                f"{name} is damaged: {int(wrong.sum())} triangles name corners that do not exist, "
                f"the first is triangle {int(np.argmax(wrong)) + 1}.",
                subject=name,
            )
        lost = ~np.isfinite(self.vertices[self.faces]).all(axis=(1, 2))
        if lost.any():
            raise ReadError(
                f"{name} is damaged: {int(lost.sum())} triangles have coordinates that are not "
                f"numbers, the first is triangle {int(np.argmax(lost)) + 1}; write the file anew.",
                subject=name,
            )
