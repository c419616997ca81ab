"""A figure for every face, as it comes from the process that worked it out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from splitplanner.arrays import Floats, Ints

if TYPE_CHECKING:
    # It takes long to load, and who only passes this on has no need of it.
    from splitplanner.score import WallFigures

MODULUS = "section modulus"
"""What stands in for strength until that is computed: how far a section resists bending."""
THICKNESS, LINES = "wall thickness", "wall lines"
SHARE, BENT = "share of strength", "deflection"
"""Under the chosen load case."""
OF_LOADS = (SHARE, BENT)
OVERLAYS = ("overhang", "support", THICKNESS, LINES, "good side", "islands", MODULUS, *OF_LOADS)
"""What can be shown on the model."""
YES_OR_NO = ("overhang", "support", "good side")
"""Of these a face has all or nothing."""
LEVELS = 255
"""A figure is shown as one of so many levels; 0 is for nothing to say."""
_SHARE = 2.0
"""Of the values so many percent at either end do not stretch the scale."""
_DRAWN = 0.08
"""The largest move is drawn as this share of the part's size."""
_WALLS = 3.0
"""The scale of wall thickness ends at so many times the usual wall."""


@dataclass(frozen=True, eq=False)
class Overlay:
    """A figure for every face.

    Attributes
    ----------
    name : str
        What is shown; see `OVERLAYS`.
    unit : str
        ``mm``, ``mm3``, ``islands``, ``share``, or empty for yes and no.
    values : dict of piece name to (m,) float array
        nan where there is nothing to say.
    lines : dict of piece name to (n, 2, 3) float array, mm
        Drawn beside the faces.
    walls : WallFigures or None
        How the walls of the part come out in whole lines, where that is what is shown.
    words : str
        What else is to be said, in one line.
    moves : dict of piece name to (n, 3) float array
        How far corners move, mm, where the shape is drawn bent.
    size : float
        Of the part, mm, where it is.
    meshes : dict of piece name to ((n, 3) float array, (m, 3) int array)
        Finer meshes that `values` and `moves` are of; the pieces' own where there is none.
    """

    name: str
    unit: str
    values: Mapping[str, Floats]
    lines: Mapping[str, Floats] = field(default_factory=dict)
    walls: WallFigures | None = None
    words: str = ""
    moves: Mapping[str, Floats] = field(default_factory=dict)
    size: float = 0.0
    meshes: Mapping[str, tuple[Floats, Ints]] = field(default_factory=dict)
    _bent: dict[str, tuple[Floats, Floats]] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def scale(self) -> tuple[float, float]:
        """The values at both ends of the scale."""
        if self.name == LINES and self.walls is not None:
            # Between two whole numbers of lines a wall is off by half a line at most.
            return -self.walls.line_width / 2, self.walls.line_width / 2
        values = np.concatenate([each[np.isfinite(each)] for each in self.values.values()])
        if not len(values):
            return 0.0, 1.0
        low, high = np.percentile(values, [_SHARE, 100.0 - _SHARE])
        if self.is_of_load:
            return 0.0, float(high)
        if self.unit == "mm":
            # Solid places are not to hide how walls differ.
            high = min(high, _WALLS * float(np.median(values)))
        return float(low), float(high)

    @property
    def is_of_load(self) -> bool:
        """Whether it is of a load case, and so begins at 0."""
        return self.name.startswith(OF_LOADS)

    @cached_property
    def times(self) -> float:
        """How many times as large as they are moves are drawn, in 1, 2 or 5 times a power of ten.

        1 where nothing moves.
        """
        most = max((float(np.abs(each).max(initial=0.0)) for each in self.moves.values()),
                   default=0.0)  # fmt: skip
        if most <= 0.0 or not self.size:
            return 1.0
        wanted = _DRAWN * self.size / most
        power = 10.0 ** np.floor(np.log10(wanted))
        return float(power * max(step for step in (1.0, 2.0, 5.0) if step * power <= wanted))

    def bent(self, name: str, vertices: Floats) -> Floats:
        """Return the corners (n, 3) mm of a piece as they are drawn, the same ones each time."""
        moves = self.moves.get(name)
        if moves is None or len(moves) != len(vertices):
            return vertices
        known = self._bent.get(name)
        if known is None or known[0] is not vertices:
            known = self._bent[name] = vertices, vertices + self.times * moves
        return known[1]

    @cached_property
    def levels(self) -> Mapping[str, NDArray[np.uint8]]:
        """The figures as levels of the scale, piece name to (m,), 1 to `LEVELS`; 0 for nothing.

        For a large part they take longer than a window may wait, so they are worked out in the
        process that worked out the figures, and sent along.
        """
        return {name: self._levels_of(values) for name, values in self.values.items()}

    def _levels_of(self, values: Floats) -> NDArray[np.uint8]:
        if self.name in YES_OR_NO:
            return np.where(values > 0, LEVELS, 0).astype(np.uint8)
        low, high = self.scale
        share = np.clip((values - low) / max(high - low, 1e-9), 0.0, 1.0)
        levels = 1.0 + np.rint(share * (LEVELS - 1))
        return np.where(np.isfinite(values), levels, 0.0).astype(np.uint8)
