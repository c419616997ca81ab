"""How much of its strength the part loses at its seams, under its load cases."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from splitplanner.score.criterion import Criterion, Numbers, SeamNumbers
from splitplanner.score.figures import Figures
from splitplanner.strength import WholeUnderLoad, square_share

HELD = 0.5
"""Share of what the uncut section holds that a fastened seam is taken to hold there, as long as
its joint is not known (the program's own choice). So a seam costs nothing where the uncut part has
less than half of its largest stress."""


def seam_ratio(seam: SeamNumbers, under_load: Sequence[WholeUnderLoad]) -> float:
    """Return what a seam may hold over what the uncut part holds, 1 at most.

    In its worst load case; 1 without any.

    The part gives way where its stress σ is largest; a seam as soon as the share `HELD` of the
    strength does not do for the stress that the seam has to hand on:
    ``HELD · σ_part / σ_seam``. See `splitplanner.strength.WholeUnderLoad.stress_at`.

    Parameters
    ----------
    seam : SeamNumbers
    under_load : sequence of WholeUnderLoad
    """
    return min((_ratio(seam, each) for each in under_load), default=1.0)


def _ratio(seam: SeamNumbers, whole: WholeUnderLoad) -> float:
    axis = whole.loading.axis
    if not whole.twists and square_share(seam.normal, axis) <= HELD:
        # It has less than that share of the largest stress, wherever it is.
        return 1.0
    stress = whole.stress_at(seam.normal, *seam.reach(axis))
    held = HELD * whole.largest
    return 1.0 if stress <= held else held / stress


def _lost(ratios: Iterable[float]) -> float:
    return 100.0 * max((1.0 - min(1.0, ratio) for ratio in ratios), default=0.0)


def _estimated(plan: Numbers) -> float:
    if not plan.under_load:
        return 0.0
    return _lost(seam_ratio(seam, plan.under_load) for seam in plan.seams)


def _measured(figures: Figures) -> float:
    known: Mapping[str, float] = figures.seam_ratios or {}
    return _lost(
        known[row.seam.name] if row.seam.name in known else seam_ratio(row, figures.under_load)
        for row in figures.seams
    )


def _is_loaded(figures: Figures) -> bool:
    return bool(figures.under_load or figures.seam_ratios)


SEAM_STRENGTH = Criterion(
    "strength lost at seams",
    "% of the uncut part's",
    100.0,
    0.6,
    _measured,
    _estimated,
    concern="strength",
    applies=_is_loaded,
)
