"""Cuts that are remembered, since plans of one part often begin with the same ones."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field

from splitplanner.plan.pieces import Halves, cut_piece
from splitplanner.solid import Plane, Solid

_Key = tuple[int, str, Plane]


@dataclass(frozen=True, eq=False)
class _Entry:
    """What came of a cut; the cut that made what was cut, and how many faces are held here."""

    solid: Solid
    halves: Halves | None
    before: _Key | None
    faces: int


@dataclass(eq=False)
class RememberedCuts:
    """Cuts one part as `cut_piece` does, and remembers what came of it.

    Attributes
    ----------
    part : Solid
        The uncut part; of other solids only pieces of it that are remembered.
    most : int
        So many faces of pieces are kept. Those of the plan that was cut longest ago go first, the
        last cuts before those that they need.
    """

    part: Solid
    most: int
    _kept: OrderedDict[_Key, _Entry] = field(default_factory=OrderedDict)
    _made_by: dict[int, _Key] = field(default_factory=dict)
    _faces: int = 0

    def __call__(self, name: str, solid: Solid, plane: Plane) -> Halves | None:
        """Return the bodies below and above `plane`, or None; see `cut_piece`."""
        key = (id(solid), name, plane)
        if key in self._kept:
            self._use(key)
            return self._kept[key].halves
        halves = cut_piece(name, solid, plane)
        if solid is self.part or id(solid) in self._made_by:
            self._keep(key, solid, halves)
        return halves

    def _keep(self, key: _Key, solid: Solid, halves: Halves | None) -> None:
        bodies = [body for half in halves or () for body in half.values()]
        faces = sum(len(body.faces) for body in bodies)
        self._kept[key] = _Entry(solid, halves, self._made_by.get(id(solid)), faces)
        self._made_by.update((id(body), key) for body in bodies)
        self._faces += faces
        self._use(key)
        while self._faces > self.most:
            _, oldest = self._kept.popitem(last=False)
            self._faces -= oldest.faces
            for half in oldest.halves or ():
                for body in half.values():
                    self._made_by.pop(id(body), None)

    def _use(self, key: _Key | None) -> None:
        """Put a cut, and behind it those before it, at the end of those that may be dropped."""
        while key is not None:
            self._kept.move_to_end(key)
            key = self._kept[key].before
