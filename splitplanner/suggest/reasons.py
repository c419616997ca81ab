"""Why one would choose a plan: what sets it apart from the others, in one sentence."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from splitplanner.plan import Cut
from splitplanner.suggest.drafting import Draft

_MOST_ADVANTAGES = 3

_ADVANTAGES = {
    "too large for the bed": "least too large for the bed",
    "tight fit": "fewest tight fits",
    "overhang area": "least overhang",
    "support volume": "least support",
    "hardly touching the bed": "fewest pieces that hardly touch the bed",
    "seam seen": "shortest visible seam",
    "seam hidden": "shortest hidden seam",
    "seams without room for two pins": "most room for pins",
    "print time": "shortest print time",
    "print beds": "fewest beds to print",
    "uneven pieces": "most even pieces",
    "slender prints": "least slender prints",
    "plan without bed contact": "best hold on the bed",
    "travel crossings": "fewest travel moves across gaps",
    "travel crossings seen": "fewest travel moves across visible gaps",
    "layers pulled apart at seams": "fewest seams that pull layers apart",
    "layers across the long axis": "best run of the layers along the part",
    "seams out of a driver's reach": "most seams within a driver's reach",
}
"""What a maker calls it when a plan is the lowest of all in a criterion, by its name."""

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def reason(draft: Draft, drafts: Sequence[Draft]) -> str:
    """Return one sentence on what sets `draft` apart among `drafts`, of which it is one.

    Its number of pieces; of what it has least of all; where that is nothing, where it is cut; and
    how many of its seams have no room for pins.
    """
    said = [_pieces(draft, drafts), *_advantages(draft, drafts)]
    if len(said) == 1 and draft.cuts and len(drafts) > 1:
        said.append(_where(draft.cuts))
    sentence = ", ".join(said)
    roomless = sum(row.deep_room.count == 0 for row in draft.card.figures.seams)
    if roomless:
        verb = "has" if roomless == 1 else "have"
        sentence += f"; {_number(roomless)} seam{'s' * (roomless > 1)} {verb} no room for pins"
    return f"{sentence[0].upper()}{sentence[1:]}."


def advantage(criterion: str) -> str:
    """Return what to say of the plan that is the lowest in the criterion of that name."""
    return _ADVANTAGES.get(criterion, f"best for {criterion}")


def _pieces(draft: Draft, drafts: Sequence[Draft]) -> str:
    count = len(draft.division.pieces)
    if not draft.cuts:
        return "no cut is needed"
    more = count - min(len(other.division.pieces) for other in drafts)
    if not more:
        return "fewest pieces"
    return f"{_number(more)} piece{'s' * (more > 1)} more than the fewest"


def _advantages(draft: Draft, drafts: Sequence[Draft]) -> list[str]:
    said = []
    for index, term in enumerate(draft.card.terms):
        if not term.counts or term.criterion.name == "pieces":
            continue
        rest = [other.card.terms[index].value for other in drafts if other is not draft]
        if rest and term.value < min(rest) - 1e-6 * max(abs(min(rest)), 1e-3):
            said.append(advantage(term.criterion.name))
    return said[:_MOST_ADVANTAGES]


def _where(cuts: Sequence[Cut]) -> str:
    """Return such as ``cut across x at 105 and 210 mm and askew at 40 mm``.

    Cuts of different pieces may lie in one plane: each place is told once.
    """
    places: dict[str, set[float]] = {}
    for cut in cuts:
        normal = np.array(cut.plane.normal)
        axis = int(np.abs(normal).argmax())
        square = abs(normal[axis]) > 1.0 - 1e-6
        sign = float(np.sign(normal[axis])) if square else 1.0
        how = f"across {'xyz'[axis]}" if square else "askew"
        places.setdefault(how, set()).add(round(sign * cut.plane.offset, 1) + 0.0)
    return "cut " + " and ".join(
        f"{how} at {_listed([f'{place:g}' for place in sorted(offsets)])} mm"
        for how, offsets in places.items()
    )


def _listed(words: list[str]) -> str:
    return " and ".join(filter(None, [", ".join(words[:-1]), words[-1]]))


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)
