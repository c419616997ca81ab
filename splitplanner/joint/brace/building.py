"""A whole brace: its outline, its bolts, and the pieces as they are printed for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.joint.brace.bolt_sizes import BoltSize, bolt_size
from splitplanner.joint.brace.bolts import Bosses, bosses_of, holes_of
from splitplanner.joint.brace.lands import Lands, by_piece, lands_of
from splitplanner.joint.brace.outline import Profile, profile_of
from splitplanner.joint.screws.sizes import ScrewSize
from splitplanner.plan import Division
from splitplanner.plan.brace import BraceWish
from splitplanner.solid import Solid
from splitplanner.workshop import Shelf

_ROUND = 5.0
"""What is further from a brace, its lands and bosses than this is left out as they are made, mm."""


@dataclass(frozen=True, eq=False)
class Brace:
    """A brace over the pieces of a division.

    Attributes
    ----------
    profile : Profile
    solid : Solid
        With its holes, in the part's frame, mm.
    lands : Lands
    bosses : Bosses
    added : mapping of piece name to tuple of Solid
        Lands and bosses to be united with each piece.
    taken : mapping of piece name to tuple of Solid
        Holes to be taken out of it then.
    loose : tuple of Solid
        Bits of lands and bosses that stand on no piece; they are left out.
    """

    profile: Profile
    solid: Solid
    lands: Lands
    bosses: Bosses
    added: Mapping[str, tuple[Solid, ...]]
    taken: Mapping[str, tuple[Solid, ...]]
    loose: tuple[Solid, ...]

    @property
    def wish(self) -> BraceWish:
        """What was asked for."""
        return self.profile.wish

    def made(self, name: str, piece: Solid) -> Solid:
        """Return a piece with its lands and bosses, drilled."""
        solid = piece.union(*self.added.get(name, ()))
        holes = self.taken.get(name, ())
        return solid.difference(*holes) if holes else solid


def brace_of(division: Division, wish: BraceWish, screw: ScrewSize, shelf: Shelf) -> Brace:
    """Return a brace with all that it needs.

    Parameters
    ----------
    division : Division
    wish : BraceWish
    screw : ScrewSize
        Of `screw_sizes`.
    shelf : Shelf

    Raises
    ------
    JointError
        If there is no ground for it, it falls apart, or no screw on the shelf holds it.
    """
    profile = profile_of(division.part, wish)
    size = bolt_size(wish, screw, shelf)
    near = near_brace(division, profile, size)
    lands = lands_of(near.part, profile)
    bosses = bosses_of(near, profile, size)
    growths = [lands.growth.solid, *(growth.solid for growth in bosses.growths)]
    added, loose = by_piece(growths, near)
    in_brace = []
    taken: dict[str, list[Solid]] = {}
    for bolt in bosses.bolts:
        through, blind = holes_of(wish, bolt)
        in_brace.append(through)
        taken.setdefault(bolt.piece, []).append(blind)
    solid = profile.solid()
    return Brace(
        profile=profile,
        solid=solid.difference(*in_brace) if in_brace else solid,
        lands=lands,
        bosses=bosses,
        added=added,
        taken={name: tuple(holes) for name, holes in taken.items()},
        loose=loose,
    )


def near_brace(division: Division, profile: Profile, size: BoltSize) -> Division:
    """Return what of part and pieces is near a brace; pieces that are not are left out.

    Near enough to matter for lands, bosses, and the ways of keys and nuts.

    On a fine mesh all else about the brace is some three times as fast on this.

    Parameters
    ----------
    division : Division
    profile : Profile
    size : BoltSize
    """
    wish = profile.wish
    low, bottom, high, top = profile.outline.bounds
    bottom -= wish.clearance + wish.deepest + wish.root + size.radius
    side = wish.half + max(size.thickness + size.nut_end, size.head_way)
    ends = ((low, high), (bottom, top + size.radius), (-side, side))
    corners = np.stack(np.meshgrid(*ends, indexing="ij"), axis=-1).reshape(-1, 3)
    points = wish.to_space(corners)
    start, end = points.min(axis=0) - _ROUND, points.max(axis=0) + _ROUND
    box = Solid.box(end - start, start)
    pieces = [
        replace(piece, solid=near)
        for piece in division.pieces
        if not (near := piece.solid.intersection(box)).is_empty
    ]
    return replace(division, part=division.part.intersection(box), pieces=tuple(pieces))
