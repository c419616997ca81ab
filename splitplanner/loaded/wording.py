"""Load cases and what gives way, in words for screen and papers."""

from __future__ import annotations

import math
from collections.abc import Mapping

from splitplanner.findings import counted
from splitplanner.loaded.answers import BraceUnderLoad, LoadAnswer, Way, Weakest
from splitplanner.plan import (
    Load,
    Loading,
    PointLoad,
    SpreadLoad,
    Support,
    WeightLoad,
    direction_words,
)
from splitplanner.solid import Solid

TIMES = "x"
"""The sign of factors and sizes on papers, which terminals print: all of them can show it."""
_MOST = 1000.0
"""Factors beyond this are told as “more than”."""


def way_words(way: Way, has_hardware: bool = True, has_glue: bool = False) -> str:
    """Return how seams are held, such as ``pins and screws``.

    Parameters
    ----------
    way : Way
    has_hardware : bool
        Whether there are pins or screws at all.
    has_glue : bool
        Whether glue counts.
    """
    if way == "fastened" and has_glue:
        return "pins, screws and glue" if has_hardware else "glue"
    if way == "fastened":
        return "pins and screws" if has_hardware else "as planned"
    return {"open": "nothing", "taped": "tape besides", "braced": "braces besides"}[way]


def unloaded_words(loading: Loading) -> str:
    """Return what is said of a load case that loads no section of the part."""
    return (
        f"Load case “{loading.name}” loads no section of the part: nothing acts on it but where it "
        "is held; add a force, a moment, weight or a fall, or move it."
    )


def low_end(part: Solid, loading: Loading) -> float:
    """Return the offset of the part's low end along the axis of a load case, mm."""
    return float((part.vertices @ loading.axis).min())


def loading_words(loading: Loading, low: float) -> str:
    """Return a load case in one sentence; stations are told from the part's low end, at `low` mm.

    Such as ``Held at 20 mm, clamped at 480 mm; 120 N at 250 mm.``
    """
    held = ", ".join(_support_words(each, low) for each in loading.case.supports)
    loads = ", ".join(_load_words(each, low, loading) for each in loading.case.loads) or "no load"
    said = f"{held}; {loads}"
    fall = loading.fall
    if fall is not None:
        what = "the part falls" if fall.mass is None else f"{fall.mass:g} g fall"
        said += f"; {what} {fall.height:g} mm"
        said += " and only it gives way" if fall.stopping is None else (
            f" and stop{'s' * (fall.mass is None)} within {fall.stopping:g} mm"
        )  # fmt: skip
    return f"{said[0].upper()}{said[1:]}."


def _support_words(support: Support, low: float) -> str:
    return f"{'clamped' if support.clamped else 'held'} at {support.station - low:.0f} mm"


def _load_words(load: Load, low: float, loading: Loading) -> str:
    size = math.hypot(*load.total)
    if isinstance(load, WeightLoad) and loading.fall is not None:
        # Of a load that falls only its direction counts.
        return f"its mass strikes along {direction_words(load.force) or 'no axis'}"
    if isinstance(load, WeightLoad):
        return f"{figure_words(size)} N spread as the mass is"
    if isinstance(load, SpreadLoad):
        return f"{figure_words(size)} N from {load.start - low:.0f} to {load.end - low:.0f} mm"
    return f"{_point_words(load)} at {load.station - low:.0f} mm"


def _point_words(load: PointLoad) -> str:
    force, couple = math.hypot(*load.force), math.hypot(*load.moment) / 1000.0
    found = [f"{figure_words(force)} N"] if force > 0.0 else []
    if couple > 0.0:
        found.append(f"{figure_words(couple)} N·m")
    return " and ".join(found) or "0 N"


def fall_words(answer: LoadAnswer) -> str:
    """Return what a fall comes to; "" where nothing falls."""
    if answer.impact is None:
        return ""
    drop = answer.impact.drop
    return (
        f"{drop.mass:.0f} g that fall {drop.height:.0f} mm count as "
        f"{figure_words(answer.impact.factor)} times their weight."
    )


def figure_words(value: float) -> str:
    """Return a figure by three digits, larger ones by the unit: nobody reads powers of ten."""
    return f"{value:.3g}" if abs(value) < 999.5 else f"{value:.0f}"


def factor_words(factor: float, times: str = TIMES) -> str:
    """Return how many times the load something holds, such as ``2.4 x``.

    Parameters
    ----------
    factor : float
    times : str, optional
        The sign; where every screen and paper can show it, ``×``.
    """
    if factor > _MOST:
        return "not loaded" if math.isinf(factor) else f"over {_MOST:.0f} {times}"
    return f"{figure_words(factor) if factor >= 0.005 else '0'} {times}"


def percent_words(ratio: float) -> str:
    """Return a ratio in percent; more than ten times is told as such."""
    if math.isinf(ratio) or ratio > 10.0:
        return "over 1000 %"
    return f"{100.0 * ratio:.0f} %"


def weakest_words(weakest: Weakest, numbers: Mapping[str, int]) -> str:
    """Return what gives way, such as ``seam S3: thread of screw 2``.

    Parameters
    ----------
    weakest : Weakest
    numbers : mapping of piece name to int
        By which pieces are told; one that is not among them, as after the cuts changed, by its
        name.
    """
    if weakest.kind == "part":
        return weakest.note
    number = numbers.get(weakest.name) if weakest.kind == "piece" else None
    what = named(weakest.kind, weakest.name if number is None else str(number))
    return f"{what}: {weakest.note}" if weakest.note else what


def named(kind: str, name: str) -> str:
    """Return something by kind and name, such as ``brace left``; ``brace 1`` is that already."""
    return name if name.startswith(f"{kind} ") else f"{kind} {name}"


def brace_words(brace: BraceUnderLoad) -> str:
    """Return what a brace takes."""
    if math.isinf(brace.weakest.factor):
        return "takes nothing of this load"
    low, high = (100.0 * share for share in brace.shares)
    return (
        f"takes {low:.0f} to {high:.0f} % of the bending, {brace.stress:.0f} of {brace.proof:.0f} "
        f"MPa; a bolt {brace.bolt:.0f} of {brace.bolt_holds:.0f} N, so that it lets go at "
        f"{factor_words(brace.weakest.factor)} the load"
    )


def ways_words(answer: LoadAnswer, numbers: Mapping[str, int], times: str = TIMES) -> str:
    """Return in one sentence what the plan holds of a load case, relative figures first.

    Parameters
    ----------
    answer : LoadAnswer
    numbers : mapping of piece name to int
        By which pieces are told.
    times : str, optional
        See `factor_words`.
    """
    planned, weakest = answer.planned, answer.planned.weakest
    held = percent_words(planned.ratio)
    absolute = "more than the load" if weakest.factor >= 1.0 else "less than the load"
    braces = f", {counted(len(planned.braces), 'brace')} included" if planned.braces else ""
    return (
        f"Holds {held} of what the uncut part holds{braces}, and {absolute} "
        f"({factor_words(weakest.factor, times)}); first gives way "
        f"{weakest_words(weakest, numbers)}."
    )
