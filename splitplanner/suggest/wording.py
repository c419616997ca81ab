"""What a maker calls it when a plan has least or most of something."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Words:
    """What to say of a plan by how it stands in one criterion.

    Attributes
    ----------
    none, hardly : str
        Its value is 0, or next to nothing.
    least, most : str
        It has the lowest, or the highest value of all.
    less, more : str
        Its value is lower, or higher than another's.
    counted : tuple of 2 str
        What there is one of, or several; empty where nothing is counted.
    shares : bool
        Whether it can be said how many per cent less it is.
    """

    none: str
    hardly: str
    least: str
    most: str
    less: str
    more: str
    counted: tuple[str, str] | tuple[()] = ()
    shares: bool = False


def _of(
    noun: str,
    least: str,
    most: str,
    less: str,
    more: str,
    counted: tuple[str, str] | tuple[()] = (),
) -> Words:
    return Words(
        f"no {noun}",
        f"hardly any {noun}",
        f"{least} {noun}",
        f"{most} {noun}",
        f"{less} {noun}",
        f"{more} {noun}",
        counted,
        shares=not counted,
    )


def _amount(noun: str) -> Words:
    return _of(noun, "least", "most", "less", "more")


def _length(noun: str) -> Words:
    return _of(noun, "shortest", "longest", "shorter", "longer")


def _number(one: str, several: str) -> Words:
    return _of(several, "fewest", "most", "fewer", "more", (one, several))


def _phrases(none: str, least: str, most: str, less: str, more: str) -> Words:
    return Words(none, least, least, most, less, more)


_WORDS = {
    "too large for the bed": _phrases(
        "every piece inside the bed",
        "least too large for the bed",
        "most too large for the bed",
        "less too large for the bed",
        "further too large for the bed",
    ),
    "tight fit": _number("tight fit", "tight fits"),
    "overhang area": _amount("overhang"),
    "support volume": _amount("support"),
    "hardly touching the bed": _number(
        "piece that hardly touches the bed", "pieces that hardly touch the bed"
    ),
    "seam seen": _length("visible seam"),
    "seam hidden": _length("hidden seam"),
    "seams without room for two pins": _phrases(
        "room for pins at every seam",
        "most room for pins",
        "least room for pins",
        "more room for pins",
        "less room for pins",
    ),
    "print time": _length("print time"),
    "print beds": _number("bed to print", "beds to print"),
    "uneven pieces": _phrases(
        "pieces of equal size",
        "most even pieces",
        "most uneven pieces",
        "more even pieces",
        "less even pieces",
    ),
    "slender prints": _phrases(
        "no slender prints",
        "least slender prints",
        "most slender prints",
        "less slender prints",
        "more slender prints",
    ),
    "plan without bed contact": _phrases(
        "full hold on the bed",
        "best hold on the bed",
        "least hold on the bed",
        "better hold on the bed",
        "less hold on the bed",
    ),
    "travel crossings": _number("travel move across a gap", "travel moves across gaps"),
    "travel crossings seen": _number(
        "travel move across a visible gap", "travel moves across visible gaps"
    ),
    "marks on the good side": _of("marks on the good side", "fewest", "most", "fewer", "more"),
    "printing risks": _number("place that may print badly", "places that may print badly"),
    "strength lost at seams": _phrases(
        "every seam where the part is bent little",
        "seams where the part is bent least",
        "a seam where the part is bent most",
        "seams where the part is bent less",
        "seams where the part is bent more",
    ),
    "layers pulled apart at seams": _number(
        "seam that pulls layers apart", "seams that pull layers apart"
    ),
    "layers across the long axis": _phrases(
        "all layers along the part",
        "best run of the layers along the part",
        "worst run of the layers along the part",
        "better run of the layers along the part",
        "worse run of the layers along the part",
    ),
    "seams out of a driver's reach": _phrases(
        "every seam within a driver's reach",
        "most seams within a driver's reach",
        "fewest seams within a driver's reach",
        "more seams within a driver's reach",
        "fewer seams within a driver's reach",
    ),
}
_TOGETHER = {
    ("seam seen", "seam hidden"): _length("seams"),
    ("overhang area", "support volume"): _amount("support and overhang"),
}
"""What is said at once of a plan that stands the same in both."""


def words_for(criterion: str) -> Words:
    """Return the words for the criterion of that name."""
    plain = _phrases(
        f"nothing in {criterion}",
        f"best for {criterion}",
        f"worst for {criterion}",
        f"better for {criterion}",
        f"worse for {criterion}",
    )
    return _WORDS.get(criterion, plain)


def words_together(criteria: list[str]) -> list[tuple[Words, str]]:
    """Return the words for several criteria with the first of each, pairs that go together as one.

    Both are in the order of `criteria`.
    """
    said: list[tuple[Words, str]] = []
    left = list(criteria)
    while left:
        name = left.pop(0)
        pair = next((pair for pair in _TOGETHER if name in pair and {*pair} <= {name, *left}), None)
        if pair is not None:
            left = [other for other in left if other not in pair]
        said.append((words_for(name) if pair is None else _TOGETHER[pair], name))
    return said
