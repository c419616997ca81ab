"""Rows of what a plan stands: the ways in which seams are held, the seams, and the load cases."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from splitplanner.loaded import (
    HeldWay,
    LoadAnswer,
    SeamUnderLoad,
    Weakest,
    factor_words,
    percent_words,
    way_words,
    weakest_words,
)
from splitplanner.window.lists.lines import Shown
from splitplanner.window.lists.tables import NOTHING, PENDING, Column, Figure
from splitplanner.window.quantities import TIMES, Quantities
from splitplanner.window.strength.ratio_bars import FAILS, HOLDS, Ratio

UNCUT = "uncut"
"""Key of the row of the part as if printed in one."""


@dataclass(frozen=True, eq=False)
class CaseRow:
    """A load case in the list of them.

    Attributes
    ----------
    key : str
        Its name.
    words : str
        Where it is held and what acts, in a sentence.
    answer : LoadAnswer or None
        None while it is not known.
    waits : bool
        Whether an answer is still to come.
    """

    key: str
    words: str
    answer: LoadAnswer | None = None
    waits: bool = False


@dataclass(frozen=True, eq=False)
class WayRow:
    """A way in which the seams are held, or the part as if printed in one.

    Attributes
    ----------
    held : HeldWay or None
        None for the part as if printed in one.
    answer : LoadAnswer
    numbers : mapping of piece name to number
    has_hardware : bool
        Whether there are pins or screws at all.
    """

    held: HeldWay | None
    answer: LoadAnswer
    numbers: Mapping[str, int] = field(default_factory=dict)
    has_hardware: bool = True

    @property
    def key(self) -> str:
        """What a table knows it by."""
        return UNCUT if self.held is None else self.held.way

    @property
    def weakest(self) -> Weakest:
        """What gives way first."""
        return self.answer.uncut if self.held is None else self.held.weakest

    @property
    def words(self) -> str:
        """By what the seams are held."""
        if self.held is None:
            return "printed in one"
        return way_words(self.held.way, self.has_hardware, self.held.is_glued)


@dataclass(frozen=True, eq=False)
class SeamStandsRow:
    """A seam under a load.

    Attributes
    ----------
    seam : SeamUnderLoad
    low : float
        Offset of the part's low end along the load case's axis, mm.
    """

    seam: SeamUnderLoad
    low: float

    @property
    def key(self) -> str:
        """What a table knows it by."""
        return self.seam.seam


def _factor(factor: float) -> Shown:
    is_held = factor >= 1.0
    return Shown(
        factor_words(factor, TIMES),
        "✓" if is_held else "✕",
        HOLDS if is_held else FAILS,
        faint=True,
    )


def _case_ratio(row: CaseRow, _: Quantities) -> Shown:
    if row.answer is None:
        return Shown(PENDING if row.waits else NOTHING)
    ratio = row.answer.planned.ratio
    return Ratio(percent_words(ratio), share=ratio)


def _case_factor(row: CaseRow, _: Quantities) -> Shown:
    return Shown("") if row.answer is None else _factor(row.answer.planned.weakest.factor)


CASES = (
    Column(
        "Load case\nwhere it is held, what acts",
        (
            Figure("load case", lambda row, _: Shown(row.key)),
            Figure("load", lambda row, _: Shown(row.words, faint=True)),
        ),
        20,
        right=False,
        stretches=True,
    ),
    Column(
        "Of the uncut\nof the load",
        (Figure("ratio to the uncut part", _case_ratio), Figure("factor", _case_factor)),
        13,
    ),
)


def _way_ratio(row: WayRow, _: Quantities) -> Shown:
    ratio = 1.0 if row.held is None else row.held.ratio
    return Ratio(percent_words(ratio), share=ratio)


def _way_weakest(row: WayRow, _: Quantities) -> Shown:
    return Shown(weakest_words(row.weakest, row.numbers))


def _way_seam(row: WayRow, _: Quantities) -> Shown:
    seam = None if row.held is None else row.held.weakest_seam
    if seam is None:
        return Shown(NOTHING, faint=True)
    return Shown(
        f"weakest seam: {seam.seam}, {factor_words(seam.weakest.factor, TIMES)}", faint=True
    )


def _layers(row: WayRow, q: Quantities) -> Shown:
    if row.held is None or not row.held.pieces:
        return Shown(NOTHING, faint=True)
    return Shown(q.share(max(piece.share for piece in row.held.pieces)))


def _brace(row: WayRow, q: Quantities) -> Shown:
    if row.held is None or not row.held.braces:
        return Shown(NOTHING, faint=True)
    worst = max(row.held.braces, key=lambda each: each.stress / each.proof)
    return Shown(f"{q.number(worst.stress)} of {q.number(worst.proof)} MPa", faint=True)


WAY_COLUMNS = (
    Column(
        "Seams\nheld by",
        (Figure("way held", lambda row, _: Shown(row.words)),),
        13,
        right=False,
    ),
    Column(
        "Of the uncut\nof the load",
        (
            Figure("ratio to the uncut part", _way_ratio),
            Figure("factor", lambda row, _: _factor(row.weakest.factor)),
        ),
        12,
    ),
    Column(
        "First gives way\nweakest seam",
        (Figure("gives way", _way_weakest), Figure("weakest seam", _way_seam)),
        15,
        right=False,
        stretches=True,
    ),
    Column("Layers\nbraces", (Figure("layer share", _layers), Figure("brace stress", _brace)), 12),
)


def _seam_mode(row: SeamStandsRow, _: Quantities) -> Shown:
    return Shown(row.seam.weakest.note or NOTHING)


def _seam_load(row: SeamStandsRow, q: Quantities) -> Shown:
    seam = row.seam
    stress = q.number(seam.stress, 2)
    if seam.stress_least is not None:
        stress = _range(q.number(seam.stress_least, 2), stress)
    if seam.relieved_most <= 0.0:
        return Shown(f"{stress} MPa across it if whole", faint=True)
    off = _range(*(q.number(100.0 * share) for share in (seam.relieved, seam.relieved_most)))
    return Shown(f"{stress} MPa; braces take {off} % off it", faint=True)


def _range(least: str, most: str) -> str:
    """Return from where to where; once where both are told by the same figure."""
    return most if least == most else f"{least} to {most}"


SEAM_COLUMNS = (
    Column(
        "Seam\nstation",
        (
            Figure("seam", lambda row, _: Shown(row.key)),
            Figure(
                "seam station",
                lambda row, q: Shown(q.length(row.seam.station - row.low, 0), faint=True),
            ),
        ),
        9,
        right=False,
    ),
    Column(
        "Of the uncut\nof the load",
        (
            Figure(
                "seam ratio",
                lambda row, _: Ratio(percent_words(row.seam.ratio), share=row.seam.ratio),
            ),
            Figure("factor", lambda row, _: _factor(row.seam.weakest.factor)),
        ),
        12,
    ),
    Column(
        "Gives way first\nwhat it takes",
        (Figure("seam gives way", _seam_mode), Figure("seam stress", _seam_load)),
        20,
        right=False,
        stretches=True,
    ),
)
