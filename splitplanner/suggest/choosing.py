"""Choosing: which of the plans found are cut exactly and shown."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache

import numpy as np

from splitplanner.plan import Cut
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.concerns import MATTERS, OTHERWISE, Levels, front, levels_of
from splitplanner.suggest.drafting import Draft
from splitplanner.suggest.estimate import Estimate
from splitplanner.suggest.mirroring import Mirror, is_mirrored
from splitplanner.suggest.pool import Pool

Cuts = tuple[Cut, ...]

_SAME_ANGLE = 15.0
_TRIES = 12
"""So many plans are cut exactly, or twice as many while none of them is sound."""
_TOO_DEAR = 1.5
"""Plans that score more than this many times the best are chosen for nothing they are better in."""
_MUCH_WORSE = 3.0
"""Plans that score more than this many times the best are shown only for their few pieces."""


def in_order(
    pool: Pool, mirrors: list[Mirror], same: Callable[[Cuts, Cuts], bool] | None = None
) -> list[Estimate]:
    """Return the plans of a pool in the order in which they deserve to be shown.

    The best by score; the best of the least number of pieces, and of one more; for a symmetric
    part the best symmetric one. Then of those that differ in something that matters from all that
    score better, one after another the plan that is better in some concern than all before it.
    Then the rest by score.

    Parameters
    ----------
    pool : Pool
    mirrors : list of Mirror
        The part's planes of symmetry.
    same : function of the cuts of two plans, optional
        Whether they are the same idea: of these only one is chosen for what it is better in.
    """
    every = pool.choice
    least = pool.least
    firsts = every[:1]
    if least is not None:
        firsts += pool.of(least)[:1] + pool.of(least + 1)[:1]
    firsts += [plan for plan in every if is_symmetric(plan, mirrors)][:1]
    levels = {id(plan): pool.levels(plan) for plan in every}
    rows = [(plan.score, levels[id(plan)]) for plan in every]
    apart = [every[at] for at in front(rows)]
    chosen: list[Estimate] = []
    for plan in [*firsts, *_spread(firsts, apart, levels, same)]:
        if not any(plan is other for other in chosen):
            chosen.append(plan)
    done = {id(plan) for plan in chosen}
    left = [plan for plan in (*apart, *every) if id(plan) not in done]
    return list(dict.fromkeys([*chosen, *left]))


def _spread(
    firsts: list[Estimate],
    plans: list[Estimate],
    levels: Mapping[int, Levels],
    same: Callable[[Cuts, Cuts], bool] | None,
) -> Iterator[Estimate]:
    """Yield plans that are better in something than `firsts` and all before, the best first."""
    if not firsts:
        return
    best = min(plan.score for plan in firsts)
    known = list(firsts)
    while True:
        fresh = [
            plan
            for plan in plans
            if same is None or not any(same(plan.sketch.cuts, old.sketch.cuts) for old in known)
        ]
        records = _least([levels[id(plan)] for plan in known])
        merits = []
        for plan in fresh:
            gains = [records[name] - level for name, level in levels[id(plan)].items()]
            gain = max(gains, default=0.0)
            if gain > MATTERS and plan.score <= _TOO_DEAR * best:
                merits.append((round(gain - OTHERWISE * (plan.score - best), 6), plan))
        if not merits:
            return
        found = max(merits, key=lambda item: item[0])[1]
        known.append(found)
        yield found


def _least(many: list[Levels]) -> Levels:
    return {name: min(levels[name] for levels in many) for name in many[0]}


def is_symmetric(plan: Estimate, mirrors: list[Mirror]) -> bool:
    """Return whether a plan is its own mirror image in a plane of symmetry of the part."""
    return any(is_mirrored(plan.sketch, mirror) for mirror in mirrors)


def choose_sound(
    plans: list[Estimate],
    sound: Callable[[Estimate], Draft | None],
    most: int,
    same: Callable[[Cuts, Cuts], bool],
    promised: Callable[[Estimate], bool],
) -> list[Draft]:
    """Return up to `most` sound drafts that differ.

    Parameters
    ----------
    plans : list of Estimate
        In the order in which they deserve to be shown.
    sound : function of Estimate
        Returns it cut exactly, or None if that is not sound. Asked for no more than are needed.
    most : int
    same : function of the cuts of two plans
        Whether they are the same idea.
    promised : function of Estimate
        Whether a plan is one of those that are shown however much worse they score.
    """
    kept: list[Draft] = []
    tried = 0
    for plan in plans:
        if len(kept) >= most:
            break
        if any(same(plan.sketch.cuts, other.cuts) for other in kept):
            continue
        enough = len(kept) >= 3 and plan.score > _MUCH_WORSE * min(d.score for d in kept)
        if enough and not promised(plan):
            continue
        if tried >= (_TRIES if kept else 2 * _TRIES):
            break
        tried += 1
        exact = sound(plan)
        if exact is not None:
            kept.append(exact)
    return kept


def same_idea(one: Cuts, other: Cuts, part: Solid, mirrors: Sequence[Mirror] = ()) -> bool:
    """Return whether two plans differ in nothing that matters.

    They are the same idea if they have as many cuts and every cut of one, or of its mirror image
    in a plane of symmetry, has its match in the other: within 15° and a twelfth of the part's
    size.
    """
    if len(one) != len(other):
        return False
    images = [one, *(tuple(_image(cut, mirror) for cut in one) for mirror in mirrors)]
    return any(_matched(image, other, part) for image in images)


def _image(cut: Cut, mirror: Mirror) -> Cut:
    return Cut(Plane(*mirror.image(cut.plane.normal, cut.plane.offset)), cut.piece)


def _matched(one: Cuts, other: Cuts, part: Solid) -> bool:
    left = list(other)
    for cut in one:
        match = next((c for c in left if _alike(cut, c, part)), None)
        if match is None:
            return False
        left.remove(match)
    return True


def _alike(one: Cut, other: Cut, part: Solid) -> bool:
    cosine = float(np.dot(one.plane.normal, other.plane.normal))
    if abs(cosine) < math.cos(math.radians(_SAME_ANGLE)):
        return False
    middle = part.bounds.mean(axis=0)
    here, there = float(one.plane.height(middle)), float(other.plane.height(middle))
    shift = here - math.copysign(there, there * cosine)
    return abs(shift) < float(part.size) / 12


def worth_showing(
    drafts: list[Draft], least: int = 3, symmetric: Callable[[Draft], bool] | None = None
) -> list[Draft]:
    """Leave out plans that differ in nothing that matters from one that scores better.

    Parameters
    ----------
    drafts : list of Draft
    least : int
        At least so many are kept, if there are as many.
    symmetric : function of Draft, optional
        Whether a plan is its own mirror image.

    Returns
    -------
    list of Draft
        The last one of the least number of pieces stays in any case, the last of one more, and
        the last symmetric one.
    """
    promised = min((len(draft.division.pieces) for draft in drafts), default=0) + 1
    apart = front([(draft.score, levels_of(draft.card)) for draft in drafts])
    left_out = [draft for at, draft in enumerate(drafts) if at not in apart]
    left_out.sort(key=lambda draft: draft.score)
    is_mirrored = cache(symmetric) if symmetric is not None else _is_not
    for draft in reversed(left_out):
        count = len(draft.division.pieces)
        alike = sum(len(other.division.pieces) == count for other in drafts)
        if len(drafts) > least and (alike > 1 or count > promised):
            last = is_mirrored(draft) and sum(map(is_mirrored, drafts)) == 1
            drafts = drafts if last else [other for other in drafts if other is not draft]
    return drafts


def _is_not(draft: Draft) -> bool:
    return False
