"""Choosing: which of the plans found are cut exactly and shown."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from splitplanner.plan import Cut
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.drafting import Draft
from splitplanner.suggest.estimate import Estimate
from splitplanner.suggest.mirroring import Mirror, is_mirrored
from splitplanner.suggest.pool import Pool

Cuts = tuple[Cut, ...]

_SAME_ANGLE = 15.0
_TRIES = 12
"""So many plans are cut exactly, or twice as many while none of them is sound."""
_MUCH_WORSE = 3.0
"""Plans that score more than this many times the best are shown only for their few pieces."""


def in_order(pool: Pool, mirrors: list[Mirror]) -> Iterator[Estimate]:
    """Yield the plans of a pool in the order in which they deserve to be shown.

    The best by score; the best of the least number of pieces, and of one more; for a symmetric
    part the best symmetric one; then the rest by score.
    """
    every = pool.all
    least = pool.least
    firsts = every[:1]
    if least is not None:
        firsts += pool.of(least)[:1] + pool.of(least + 1)[:1]
    firsts += [plan for plan in every if is_symmetric(plan, mirrors)][:1]
    done: set[int] = set()
    for plan in [*firsts, *every]:
        if id(plan) not in done:
            done.add(id(plan))
            yield plan


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


def worth_showing(drafts: list[Draft], least: int = 3) -> list[Draft]:
    """Leave out plans that another beats in every figure that counts; keep at least `least`.

    The last one of the least number of pieces stays, and the last of one more.
    """
    promised = min((len(draft.division.pieces) for draft in drafts), default=0) + 1
    beaten = [draft for draft in drafts if any(_beats(other, draft) for other in drafts)]
    for draft in sorted(beaten, key=lambda draft: -draft.score):
        count = len(draft.division.pieces)
        alike = sum(len(other.division.pieces) == count for other in drafts)
        if len(drafts) > least and (alike > 1 or count > promised):
            drafts = [other for other in drafts if other is not draft]
    return drafts


def _beats(one: Draft, other: Draft) -> bool:
    """Return whether `one` is nowhere worse than `other` and somewhere better."""
    terms = zip(one.card.terms, other.card.terms, strict=True)
    pairs = [(a.value, b.value) for a, b in terms if a.counts]
    return all(a <= b + 1e-9 for a, b in pairs) and any(a < b - 1e-9 for a, b in pairs)
