"""Straight lines of sight past a solid."""

from __future__ import annotations

from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
from embreex.mesh_construction import TriangleMesh
from embreex.rtcore_scene import EmbreeScene

from splitplanner.arrays import Bools, Floats, Ints
from splitplanner.solid.solid import Solid

_UNIT = 100.0
_OFF = 5e-3
_KNOWN: WeakKeyDictionary[Solid, Sight] = WeakKeyDictionary()


@dataclass(frozen=True, eq=False)
class Sight:
    """A solid in the ray tracer, brought to `_UNIT` mm size: it works in single precision.

    Get it with `Sight.of`, which remembers it as long as the solid lives.
    """

    _scene: EmbreeScene
    _centre: Floats
    _scale: float

    @staticmethod
    def of(solid: Solid) -> Sight:
        """Return the lines of sight past `solid`."""
        if solid not in _KNOWN:
            centre = solid.bounds.mean(axis=0)
            scale = _UNIT / max(solid.size, 1e-12)
            scene = EmbreeScene()
            corners = ((solid.vertices - centre) * scale).astype(np.float32)
            TriangleMesh(scene, corners, solid.faces.astype(np.int32))
            _KNOWN[solid] = Sight(scene, centre, scale)
        return _KNOWN[solid]

    @property
    def off(self) -> float:
        """How far off a face rays start so that they do not meet it, mm: 1 / 20 000 of the size."""
        return _OFF / self._scale

    def is_open(
        self, points: Floats, normals: Floats, towards: Floats, reach: Floats | None = None
    ) -> Bools:
        """Return whether rays meet nothing.

        Parameters
        ----------
        points : (n, 3) float array, mm
        normals : (n, 3) float array
            Unit vectors; the rays start at `off` along them from the points.
        towards : (n, 3) float array
            Unit vectors.
        reach : (n,) float array, optional
            Length of each ray, mm; without, they go on for ever.

        Returns
        -------
        (n,) bool array
        """
        starts = (points - self._centre) * self._scale + _OFF * normals
        far = {} if reach is None else {"dists": (reach * self._scale).astype(np.float32)}
        hit = self._scene.run(
            starts.astype(np.float32), towards.astype(np.float32), query="OCCLUDED", **far
        )
        result: Bools = np.asarray(hit) < 0
        return result

    def first(self, points: Floats, normals: Floats, towards: Floats) -> tuple[Floats, Ints]:
        """Return how far each ray goes, and the face that it meets.

        Parameters
        ----------
        points, normals, towards : (n, 3) float arrays
            As for `is_open`.

        Returns
        -------
        distance : (n,) float array, mm
            From the point itself; inf where nothing is met.
        face : (n,) int array
            -1 where nothing is met.
        """
        starts = ((points - self._centre) * self._scale + _OFF * normals).astype(np.float32)
        hit = self._scene.run(starts, towards.astype(np.float32), output=True)
        face = np.asarray(hit["primID"]).astype(np.int64)
        ends = starts + np.asarray(hit["tfar"], float)[:, None] * towards
        run = np.einsum("ij,ij->i", ends / self._scale + self._centre - points, towards)
        return np.where(face >= 0, run, np.inf), face
