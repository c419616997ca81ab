"""Why one would choose a plan: what sets it apart from the others, and its price, in a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.findings import listed
from splitplanner.plan import Cut
from splitplanner.score import Term
from splitplanner.solid import Plane
from splitplanner.suggest.concerns import MATTERS
from splitplanner.suggest.drafting import Draft
from splitplanner.suggest.mirroring import Mirror, is_own_image
from splitplanner.suggest.wording import words_for, words_together

_MOST_ADVANTAGES = 3
_TOLD = 0.01
"""A difference in one criterion of less than this of the plan score is not worth a word."""
_EQUAL = 0.005
"""Pieces are of one size if their volumes are the same within this share."""
_MIDDLE = 0.5
"""A seam this near to the plane of symmetry runs along the middle, mm."""
_HIDDEN = 0.1
"""Seams are nearly all hidden if no more than this share of them is seen."""
_NOUGHT = 1e-9
_SQUARE = 1e-6
_ROOM = "seams without room for two pins"

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def reason(draft: Draft, drafts: Sequence[Draft], mirrors: Sequence[Mirror] = ()) -> str:
    """Return the sentence that `reasons` has for `draft`, one of `drafts`."""
    at = next(at for at, other in enumerate(drafts) if other is draft)
    return reasons(drafts, mirrors)[at]


def reasons(drafts: Sequence[Draft], mirrors: Sequence[Mirror] = ()) -> list[str]:
    """Return for each plan a sentence on what sets it apart among `drafts`.

    Its number of pieces; what it has least of all; whether it is symmetric, where others are not;
    what it pays for that; and at how many of its seams not even one pin fits. Where there is
    nothing of that kind: what is better than in the first plan, and where it is cut. No two plans
    that are cut in different places have the same sentence.

    Parameters
    ----------
    drafts : sequence of Draft
        Best first, as they are numbered.
    mirrors : sequence of Mirror
        The part's planes of symmetry.
    """
    facts = _facts(drafts, mirrors)
    said = [_said(at, drafts, facts[at]) for at in range(len(drafts))]
    again = [sentence for sentence in said if said.count(sentence) > 1]
    return [
        _said(at, drafts, facts[at], where=True) if sentence in again else sentence
        for at, sentence in enumerate(said)
    ]


@dataclass(frozen=True)
class _Standing:
    """How one plan stands in one criterion: differences to the others, in terms of the score."""

    name: str
    value: float
    others: tuple[float, ...]
    weight: float

    @property
    def lead(self) -> float:
        """By how much it is lower than all others; of next to nothing, than the others' mean.

        But where half of all plans have next to nothing of it, nobody is ahead.
        """
        if not self.is_little(self.value):
            return self.weight * (min(self.others) - self.value)
        if 2 * (1 + sum(map(self.is_little, self.others))) > 1 + len(self.others):
            return 0.0
        return self.weight * (float(np.mean(self.others)) - self.value)

    def is_little(self, value: float) -> bool:
        """Whether a value is next to nothing."""
        return self.weight * abs(value) <= _TOLD

    @property
    def leading(self) -> str:
        """What to say of it when it is ahead."""
        words = words_for(self.name)
        if abs(self.value) <= _NOUGHT:
            return words.none
        return words.hardly if self.is_little(self.value) else words.least

    @property
    def lag(self) -> float:
        """By how much it is higher than all others."""
        return self.weight * (self.value - max(self.others))

    @property
    def price(self) -> float:
        """By how much it is higher than the lowest of the others."""
        return self.weight * (self.value - min(self.others))


def _said(at: int, drafts: Sequence[Draft], facts: list[str], where: bool = False) -> str:
    draft = drafts[at]
    rows = _standings(at, drafts)
    said = [_pieces(draft, drafts)]
    strong = _strengths(rows) + facts
    if not strong and rows:
        strong = _next_best(at, drafts)
    said += strong
    if draft.cuts and len(drafts) > 1 and (where or not strong):
        said.append(_where(draft))
    sentence = ", ".join(said)
    roomless = _roomless(draft)
    price = _price(at, rows, roomless)
    if price:
        # Than whom has been said, where that is so.
        _, than, rival = price.partition(" than proposal ")
        known = than and sentence.endswith(than + rival)
        sentence += f", but {price.removesuffix(than + rival) if known else price}"
    if roomless and any(_roomless(other) != roomless for other in drafts):
        seams = f"{_number(roomless)} seam{'s' * (roomless > 1)}"
        sentence += f"; at {seams} not even one pin fits"
    return f"{sentence[0].upper()}{sentence[1:]}."


def _roomless(draft: Draft) -> int:
    """Return at how many seams not even one pin fits."""
    return sum(row.deep_room.count == 0 for row in draft.card.figures.seams)


def _pieces(draft: Draft, drafts: Sequence[Draft]) -> str:
    count = len(draft.division.pieces)
    if not draft.cuts:
        return "no cut is needed"
    more = count - min(len(other.division.pieces) for other in drafts)
    if not more:
        return "fewest pieces"
    return f"{_number(more)} piece{'s' * (more > 1)} more than the fewest"


def _standings(at: int, drafts: Sequence[Draft]) -> list[_Standing]:
    """Return how a plan stands among the others in every criterion that counts, but the pieces."""
    if len(drafts) < 2:
        return []
    rest = [draft.card.terms for other, draft in enumerate(drafts) if other != at]
    return [
        _Standing(
            term.criterion.name,
            term.value,
            tuple(terms[index].value for terms in rest),
            term.weight / term.criterion.reference,
        )
        for index, term in _counting(drafts[at])
    ]


def _counting(draft: Draft) -> list[tuple[int, Term]]:
    return [
        (index, term)
        for index, term in enumerate(draft.card.terms)
        if term.counts and term.criterion.name != "pieces"
    ]


def _strengths(rows: list[_Standing]) -> list[str]:
    """Return what a plan has least of all, what tells most first; or none of, and others have."""
    leads = {row.name: row.lead for row in rows if row.lead > _TOLD}
    little = [row for row in rows if row.name in leads and row.is_little(row.value)]
    said = [(leads[row.name], row.leading) for row in little]
    least = [name for name in leads if name not in {row.name for row in little}]
    said += [(leads[name], words.least) for words, name in words_together(least)]
    said.sort(key=lambda item: -round(item[0], 6))
    return [text for _, text in said[:_MOST_ADVANTAGES]]


def _next_best(at: int, drafts: Sequence[Draft]) -> list[str]:
    """Return in what a plan is better than another; of the best plan, that it is the best."""
    said = [] if at else ["best all round"]
    fewest = min(drafts[1:], key=lambda draft: len(draft.division.pieces))
    rivals = [other for other in drafts if other is not drafts[at]] if at else [fewest]
    for rival in rivals:
        pairs = zip(_counting(drafts[at]), _counting(rival), strict=True)
        gains = [(round(b.contribution - a.contribution, 6), a, b) for (_, a), (_, b) in pairs]
        gain, mine, theirs = max(gains, key=lambda item: item[0])
        if gain > _TOLD:
            number = next(n for n, other in enumerate(drafts, 1) if other is rival)
            return [*said, _less(mine, theirs, number)]
    return said


def _less(mine: Term, theirs: Term, number: int) -> str:
    words = words_for(mine.criterion.name)
    if abs(mine.value) <= _NOUGHT:
        return words.none
    share = f"{100 * (1 - mine.value / theirs.value):.0f} % " if words.shares else ""
    return f"{share}{words.less} than proposal {number}"


def _price(at: int, rows: list[_Standing], roomless: int) -> str:
    """Return what a plan has most of all; else of what it has more than the one with least."""
    paid = [row for row in rows if row.price > MATTERS and not (roomless and row.name == _ROOM)]
    paid.sort(key=lambda row: -round(row.price, 6))
    worst = [row for row in paid if row.lag > _TOLD]
    if not paid:
        return ""
    row = worst[0] if worst else paid[0]
    words = words_for(row.name)
    if words.counted:
        count = round(row.value)
        return f"{_number(count)} {words.counted[count > 1]}"
    if worst:
        return words_together([row.name for row in worst])[0][0].most
    least = row.others.index(min(row.others))
    return f"{words.more} than proposal {least + 1 + (least >= at)}"


def _facts(drafts: Sequence[Draft], mirrors: Sequence[Mirror]) -> list[list[str]]:
    """Return what else is so of some of the plans and not of the others."""
    told: list[list[str]] = [[] for _ in drafts]
    for facts in (
        [_symmetry(draft, mirrors) for draft in drafts],
        [_hidden(draft) for draft in drafts],
        [_equal(draft) for draft in drafts],
    ):
        for at, fact in enumerate(facts):
            if fact and facts.count(fact) < len(drafts):
                told[at].append(fact)
    return told


def _symmetry(draft: Draft, mirrors: Sequence[Mirror]) -> str:
    if not draft.cuts:
        return ""
    kept = [mirror for mirror in mirrors if is_own_image(draft.division, mirror)]
    if not kept:
        return ""
    middle = any(
        _along(seam_plane, mirror)
        for mirror in kept
        for seam_plane in {seam.plane for seam in draft.division.seams}
    )
    return "halves that mirror each other" if middle else "symmetric without a seam in the middle"


def _along(plane: Plane, mirror: Mirror) -> bool:
    along = float(np.dot(plane.normal, mirror.normal))
    return abs(along) > 1 - _SQUARE and abs(plane.offset - along * mirror.offset) < _MIDDLE


def _hidden(draft: Draft) -> str:
    seams = [row.figures for row in draft.card.figures.seams]
    whole = sum(row.length for row in seams)
    seen = sum(row.seen_length for row in seams)
    return "seams nearly all hidden" if 0 < seen <= _HIDDEN * whole else ""


def _equal(draft: Draft) -> str:
    volumes = np.array([piece.solid.volume for piece in draft.division.pieces])
    if len(volumes) < 2 or np.ptp(volumes) > _EQUAL * volumes.mean():
        return ""
    return "pieces of equal size"


def _where(draft: Draft) -> str:
    """Return such as ``cut across x at 105 and 210 mm and across y, tilted 7° to z, at 40 mm``.

    Places of tilted cuts are those half way up the part, where a line along the axis through its
    middle meets them. Cuts of different pieces may lie in one plane: each place is told once.
    """
    middle = draft.division.part.bounds.mean(axis=0)
    places: dict[str, set[float]] = {}
    for cut in draft.cuts:
        how, place = _placed(cut, middle)
        places.setdefault(how, set()).add(place)
    return "cut " + " and ".join(
        f"{how} at {listed([f'{place:g}' for place in sorted(offsets)])} mm"
        for how, offsets in places.items()
    )


def _placed(cut: Cut, middle: Floats) -> tuple[str, float]:
    """Return across which axis a cut lies, how it is tilted, and where it meets the axis, mm."""
    normal = np.array(cut.plane.normal)
    axis = int(np.round(np.abs(normal), 9).argmax())
    place = middle[axis] - float(cut.plane.height(middle[None])[0]) / normal[axis]
    how = f"across {'xyz'[axis]}"
    slopes = np.degrees(np.arctan(normal / normal[axis])).round(1).tolist()
    leans = [
        f"{abs(slope):g}° to {'-' if slope < 0 else ''}{letter}"
        for slope, letter in zip(slopes, "xyz", strict=True)
        if slope and letter != "xyz"[axis]
    ]
    if leans:
        how += f", tilted {listed(leans)},"
    return how, round(float(place), 1) + 0.0


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)
