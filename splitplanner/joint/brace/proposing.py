"""Braces that the program asks for itself: along the part, over all seams that cross it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from splitplanner.arrays import Bools, Floats, to_vector
from splitplanner.errors import JointError
from splitplanner.findings import Finding, Severity, counted
from splitplanner.joint.brace.building import Brace
from splitplanner.joint.brace.grounds import Ground, ground_of
from splitplanner.joint.brace.planned import planned_brace, with_added, with_taken
from splitplanner.joint.brace.surroundings import check_braces
from splitplanner.joint.making import Maker
from splitplanner.plan import Division, Plan
from splitplanner.plan.brace import BraceWish
from splitplanner.plan.joints import Vector
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import Wishes, good_side
from splitplanner.solid import Solid, mirror_offset
from splitplanner.workshop import Shelf, hardware_shelf

PLAIN = BraceWish((1, 0, 0), (0, 0, 1), 0.0, 0.0, 1.0, depth=20.0, stock=4.0, bridged=100.0)
"""Sizes, metal and screws of braces where nothing else is asked for. They pass over ribs nearly
straight, which is stiffer than to follow each. Our own choice."""
DEPTHS = (40.0, 30.0, 20.0)
"""Depths of such braces, mm; stiffness goes with the third power. Our own choice."""
DEEPEST = 0.25
"""No deeper than this share of the least side of the part's tightest box, if the least depth is
not. Our own choice."""
_CROSSES = 0.5
"""Cosine between a seam's normal and the part's long way from which on it crosses that."""
_SAME = 5.0
"""Seams whose stations are no further apart are at one end together, mm."""
_BESIDE = 2.0
"""Braces end so far from a seam that they do not cross, mm."""
_STEP = 4.0
"""Distance of the offsets that are tried, mm."""
_BUILT = 8
"""So many of the best offsets are built and checked for each brace or pair at most."""
_ENOUGH = 2
"""No more are built when so many have nothing against them."""
_BARE = 0.2
"""Seating on nothing on a larger share of it counts against a brace as a warning does."""
_SPREAD = 3 * _STEP
"""Offsets that are built are at least so far from each other, mm."""
_APART = 40.0
"""Least distance between braces beside each other, mm. Common practice, no source."""

_Figures = tuple[int, int, float]
"""Faults, warnings, and material of braces on the pieces for each mm of their length, mm³/mm."""


@dataclass(frozen=True)
class _Place:
    """Where one brace, or a pair of mirror images, could be.

    Attributes
    ----------
    wishes : tuple of BraceWish
    lands : float
        About how high its lands are, mm.
    """

    wishes: tuple[BraceWish, ...]
    lands: float

    @property
    def middles(self) -> list[Floats]:
        """The middle of each brace's plane at its inner edge, (3,) mm each."""
        return [np.array(each.plane.origin) for each in self.wishes]


def proposed_braces(
    division: Division,
    plan: Plan,
    count: int = 2,
    *,
    like: BraceWish | None = None,
    shelf: Shelf | None = None,
    seen: Bools | None = None,
    maker: Maker | None = None,
    report: Report = silent,
) -> tuple[BraceWish, ...]:
    """Return braces along a part, over all seams that cross its long way where there is room.

    On the hidden side, inside of a shell for instance, if it can be reached from a side of the
    part's tightest box; else outside. Two are mirror images of each other where the part is. They
    stand where their lands are lowest: of the offsets that promise that, the best few are built and
    checked, with the joints of the plan, and those with the fewest faults, warnings and least
    material on the pieces are taken.

    Parameters
    ----------
    division : Division
    plan : Plan
        With its joints and print directions; braces that it has are left out of account.
    count : int
        How many.
    like : BraceWish, optional
        Whose sizes, metal and screws they get; its place counts for nothing. `PLAIN` if it is not
        given, as deep as one of `DEPTHS` that suits the part and for which there is a place.
    shelf : Shelf, optional
        The built-in tables by default.
    seen : (m,) bool array, optional
        Faces of the part on the good side; found by looking from outside by default.
    maker : Maker, optional
        Has made the flanges before.
    report : progress callback

    Returns
    -------
    tuple of BraceWish
        None where no seam crosses the part's long way.

    Raises
    ------
    JointError
        If there is no place for them without faults.
    ValueError
        If `count` is below 1.
    """
    if count < 1:
        raise ValueError(f"at least one brace has to be asked for, got {count}")
    along = _long_way(division)
    seams = _stations(division, along)
    if not seams:
        return ()
    sight = good_side(division.part, Wishes()) if seen is None else seen
    tools, making, bare = shelf or hardware_shelf(), maker or Maker(), replace(plan, braces=())
    likes = _likes(division) if like is None else [like]
    report(0.0, "looking for places for braces")
    jobs = [
        _Proposing(division, bare, each, tools, making, along, over, reach)
        for each in likes
        for over, reach in _spans(seams)
    ]
    grounds = _grounds(making.assembled(division, bare), division, along, sight)
    # Deep ones in sight come after shallow ones that are hidden, and after those that leave out a
    # seam at an end where a piece has no room for two bolts.
    rounds = list(itertools.product((True, False), jobs))
    for index, (hidden, job) in enumerate(rounds):
        here = part_of(report, index / len(rounds), (index + 1) / len(rounds))
        sides = job.ranked([one for one in grounds if one.is_hidden == hidden])
        best = job.best_of(sides, count, here)
        if best is not None and best[0][0] == 0:
            report(1.0, "found places for braces")
            return tuple(
                replace(wish, name=f"brace {number}") for number, wish in enumerate(best[1], 1)
            )
    raise JointError(
        f"No place was found for {counted(count, 'brace')} of {likes[-1].stock:g} mm over the "
        "seams; take fewer, less deep or thinner ones, or smaller screws."
    )


def _grounds(whole: Solid, division: Division, along: Vector, seen: Bools) -> list[Ground]:
    """Return the grounds met from the sides of the part's box, `whole` being it with flanges."""
    part, found = division.part, []
    for axis, way in itertools.product(part.box_axes[1:], (-1.0, 1.0)):
        across = np.array(axis) - float(np.dot(axis, along)) * np.array(along)
        towards = to_vector(way * across / np.linalg.norm(across))
        found.append(ground_of(whole, along, towards, seen, part))
    return found


def _likes(division: Division) -> list[BraceWish]:
    """Return plain braces that suit a part, the deepest first."""
    part = division.part
    most = DEEPEST * float(np.ptp(part.hull.vertices @ part.box_axes.T, axis=0).min())
    depths = [depth for depth in DEPTHS if depth <= most] or [DEPTHS[-1]]
    return [replace(PLAIN, depth=depth) for depth in depths]


def _spans(seams: list[float]) -> Iterator[tuple[list[float], tuple[float, float]]]:
    """Yield over which seams braces may go, and from where to where they may reach, mm.

    First over all, then without those at one end, last without those at both.
    """
    first = [at for at in seams if at < seams[0] + _SAME]
    last = [at for at in seams if at > seams[-1] - _SAME]
    for low, high in ((False, False), (True, False), (False, True), (True, True)):
        left = [at for at in seams if not (low and at in first) and not (high and at in last)]
        if left:
            reach = (
                first[-1] + _BESIDE if low else -math.inf,
                last[0] - _BESIDE if high else math.inf,
            )
            yield left, reach


def _long_way(division: Division) -> Vector:
    """Return the long side of the part's tightest box, its largest coordinate above 0."""
    axis = np.array(division.part.box_axes[0])
    return to_vector(axis * np.sign(axis[np.abs(axis).argmax()]))


def _stations(division: Division, along: Vector) -> list[float]:
    """Return where seams cross a way, rising: both ends of each along it, mm."""
    found = []
    for seam in division.seams:
        if abs(float(np.dot(seam.plane.normal, along))) >= _CROSSES:
            stations = np.vstack(seam.section.rings()) @ np.array(along)
            found += [float(stations.min()), float(stations.max())]
    return sorted(found)


@dataclass(frozen=True, eq=False)
class _Proposing:
    """What all places of braces on one division share."""

    division: Division
    plan: Plan
    like: BraceWish
    shelf: Shelf
    maker: Maker
    along: Vector
    seams: list[float]
    reach: tuple[float, float] = (-math.inf, math.inf)
    known: dict[BraceWish, Brace | Finding] = field(default_factory=dict)

    def ranked(self, grounds: Sequence[Ground]) -> list[Ground]:
        """Return the grounds that a brace can reach over, those of the lowest lands first."""
        lands = [
            min((each.lands for each in self._singles(one)), default=math.inf) for one in grounds
        ]
        order = sorted(range(len(grounds)), key=lambda index: lands[index])
        return [grounds[index] for index in order if math.isfinite(lands[index])]

    def best_of(
        self, sides: Sequence[Ground], count: int, report: Report
    ) -> tuple[_Figures, tuple[BraceWish, ...]] | None:
        """Return the best braces on the first side that has a place for them without faults."""
        best: tuple[_Figures, tuple[BraceWish, ...]] | None = None
        for index, ground in enumerate(sides):
            found = self.best_on(ground, count, report, index / len(sides), 1 / len(sides))
            if found is not None and (best is None or found[0] < best[0]):
                best = found
            if best is not None and best[0][0] == 0:
                break
        return best

    def best_on(
        self, ground: Ground, count: int, report: Report, start: float, share: float
    ) -> tuple[_Figures, tuple[BraceWish, ...]] | None:
        """Return the best braces on a ground, with their figures.

        None if there is no room for so many.
        """
        normal = np.cross(ground.along, ground.towards)
        mirror = mirror_offset(self.division.part, normal)
        singles = list(self._singles(ground))
        pairs = [] if mirror is None else list(self._pairs(ground, mirror, singles))
        width = float(np.ptp(ground.offsets))
        apart = max(_APART, width / (2 * count))
        chosen: list[BraceWish] = []
        total = np.zeros(3)
        while len(chosen) < count:
            wants_pair = bool(pairs) and count - len(chosen) >= 2
            places = self._free(pairs if wants_pair else singles, chosen, apart)
            share_of_one = share / count
            done = start + share_of_one * len(chosen)
            best = self._best_of(places, chosen, part_of(report, done, done + share_of_one))
            if best is None:
                return None
            total = np.array(best[0], float)
            chosen += best[1].wishes
        return (int(total[0]), int(total[1]), float(total[2])), tuple(chosen)

    def _best_of(
        self, places: Sequence[_Place], chosen: Sequence[BraceWish], report: Report
    ) -> tuple[_Figures, _Place] | None:
        """Return the best of places beside the braces that are chosen, with the figures of all."""
        tried: list[tuple[_Figures, int, _Place]] = []
        for number, place in enumerate(places[:_BUILT]):
            report(number / _BUILT, "trying places for braces")
            # The other of two mirror images is as good.
            ways = [(self._figures((*chosen, each.wishes[0])), each) for each in _both_ways(place)]
            tried += [(figures, len(tried) + at, each) for at, (figures, each) in enumerate(ways)]
            if sum(min(each[0] for each in ways)[:2]) == 0:
                clean = [each for each in tried if each[0][:2] == (0, 0)]
                if len(clean) >= _ENOUGH:
                    break
        best: tuple[_Figures, _Place] | None = None
        for _, _, place in sorted(tried, key=lambda each: each[:2]):
            whole = self._figures((*chosen, *place.wishes))
            if best is None or whole < best[0]:
                best = whole, place
            if whole[0] == 0:
                break
        return best

    def _singles(self, ground: Ground) -> Iterator[_Place]:
        """Yield a brace wherever it can reach over all seams, the lowest lands first."""
        found = []
        low, high = sorted((float(ground.offsets[0]), float(ground.offsets[-1])))
        for offset in np.arange(low + _STEP, high - _STEP, _STEP).tolist():
            stretch = self._stretch(ground, offset)
            if stretch is None:
                continue
            wish = replace(
                self.like,
                along=ground.along,
                towards=ground.towards,
                offset=offset,
                low=round(stretch[0], 1),
                high=round(stretch[1], 1),
            )
            found.append(_Place((wish,), ground.lands(offset, *stretch, self.like)))
        yield from sorted(found, key=lambda each: (round(each.lands, 2), each.wishes[0].offset))

    def _stretch(self, ground: Ground, offset: float) -> tuple[float, float] | None:
        """Return from where to where a brace can reach over all its seams; None if it cannot."""
        stretch = ground.stretch(offset, self.seams, self.like)
        if stretch is None:
            return None
        return max(stretch[0], self.reach[0]), min(stretch[1], self.reach[1])

    def _pairs(self, ground: Ground, mirror: float, singles: Sequence[_Place]) -> Iterator[_Place]:
        """Yield pairs of mirror images, lowest lands first."""
        for place in singles:
            wish = place.wishes[0]
            if wish.offset <= mirror + _APART / 2:
                continue
            offset = 2 * mirror - wish.offset
            stretch = self._stretch(ground, offset)
            if stretch is None:
                continue
            low, high = max(wish.low, round(stretch[0], 1)), min(wish.high, round(stretch[1], 1))
            if low >= high:
                continue
            one = replace(wish, low=low, high=high)
            yield _Place((one, _other_way(replace(one, offset=offset))), place.lands)

    def _free(
        self, places: Sequence[_Place], chosen: Sequence[BraceWish], apart: float
    ) -> list[_Place]:
        """Return places that keep a distance from the braces that are chosen, and each other."""
        found: list[_Place] = []
        normal = np.cross(self.along, places[0].wishes[0].towards) if places else np.zeros(3)
        taken = [float(normal @ np.array(each.plane.origin)) for each in chosen]
        for place in places:
            here = [float(normal @ middle) for middle in place.middles]
            beside = [abs(here[0] - float(normal @ each.middles[0])) for each in found]
            if min(beside, default=_SPREAD) < _SPREAD:
                continue
            if all(abs(one - other) >= apart for one in here for other in taken):
                found.append(place)
        return found

    def _figures(self, wishes: Sequence[BraceWish]) -> _Figures:
        """Return how many faults and warnings braces have, and their material on the pieces."""
        ground = self.maker.grounded(self.division, self.plan)
        made: list[Brace] = []
        found: list[Finding] = []
        for wish in wishes:
            if wish not in self.known:
                self.known[wish] = planned_brace(ground, wish, self.shelf, self.plan.machine)
            brace = self.known[wish]
            if isinstance(brace, Finding):
                found.append(brace)
            else:
                made.append(brace)
        solids = {
            piece.name: with_taken(piece.name, with_added(piece.name, piece.solid, made), made)
            for piece in ground.pieces
        }
        found += check_braces(ground, made, solids, self.plan, self.shelf)
        counts = [sum(each.severity is kind for each in found) for kind in _WORST_FIRST]
        counts[1] += sum(_bare(brace) > _BARE for brace in made)
        material = sum(solid.volume for brace in made for solid in _all(brace))
        length = sum(wish.high - wish.low for wish in wishes)
        return counts[0], counts[1], material / length


_WORST_FIRST = (Severity.FAULT, Severity.WARNING)


def _all(brace: Brace) -> Iterator[Solid]:
    for solids in brace.added.values():
        yield from solids


def _bare(brace: Brace) -> float:
    """Return on what share of a brace it seats on nothing."""
    wish = brace.wish
    return sum(high - low for low, high in brace.lands.bare) / (wish.high - wish.low)


def _other_way(wish: BraceWish) -> BraceWish:
    """Return the same brace with its way turned round, so that its heads are on the other side."""
    along = to_vector(-np.array(wish.along))
    return replace(wish, along=along, offset=-wish.offset, low=-wish.high, high=-wish.low)


def _both_ways(place: _Place) -> tuple[_Place, _Place]:
    """Return a place with heads on either side of the sheets."""
    return place, replace(place, wishes=tuple(_other_way(each) for each in place.wishes))
