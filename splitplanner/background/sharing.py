"""What both sides of a pipe have already, so that it is named instead of sent."""

from __future__ import annotations

from typing import Any

from splitplanner.plan import Division
from splitplanner.solid import ReadPart


class Shared:
    """The things that both sides have; each side keeps its own list, in the same order.

    What is kept when an order goes out is what may be named in all that is said about it, and so
    are the divisions that were handed over in its course.
    """

    def __init__(self) -> None:
        self._by_name: dict[str, Any] = {}
        self._orders: dict[int, list[Any]] = {}

    @property
    def kept(self) -> list[Any]:
        """What may be named now."""
        return [thing for kept in self._by_name.values() for thing in _things_in(kept)]

    def keep(self, name: str, value: Any) -> None:
        """Take note of what was handed over for all orders from now on."""
        self._by_name[name] = value

    def begin(self, number: int) -> None:
        """Take note of an order that goes out."""
        self._orders[number] = self.kept

    def of(self, number: int) -> list[Any]:
        """Return what may be named in news of an order."""
        return self._orders.get(number, [])

    def hand(self, number: int, kind: str, content: Any) -> None:
        """Take note of news of an order."""
        if kind == "handed":
            self._orders[number] += _things_in(content)
        elif kind in ("answered", "failed"):
            self._orders.pop(number, None)


def _things_in(value: Any) -> list[Any]:
    """Return the value and the large things in it."""
    if isinstance(value, ReadPart):
        return [value, value.solid]
    if isinstance(value, Division):
        solids = [piece.solid for piece in value.pieces]
        return [value, *solids, *value.pieces, *value.seams]
    return [value]
