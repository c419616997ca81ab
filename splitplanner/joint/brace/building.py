"""A whole brace: its outline, its bolts, and the pieces as they are printed for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from splitplanner.joint.brace.bolts import Bosses, bolt_size, bosses_of, holes_of
from splitplanner.joint.brace.lands import Lands, by_piece, lands_of
from splitplanner.joint.brace.outline import Profile, profile_of
from splitplanner.joint.screws.sizes import ScrewSize
from splitplanner.plan import Division
from splitplanner.plan.brace import BraceWish
from splitplanner.solid import Solid
from splitplanner.workshop import Shelf


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
    lands = lands_of(division.part, profile)
    bosses = bosses_of(division, profile, bolt_size(wish, screw, shelf))
    growths = [lands.growth.solid, *(growth.solid for growth in bosses.growths)]
    added, loose = by_piece(growths, division)
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
