"""What a part stands of its load cases, as text."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from splitplanner.findings import capital
from splitplanner.loaded import (
    HeldWay,
    LoadAnswer,
    SeamUnderLoad,
    StrengthAnswer,
    brace_words,
    factor_words,
    fall_words,
    loading_words,
    low_end,
    named,
    percent_words,
    unloaded_words,
    way_words,
    ways_words,
    weakest_words,
)
from splitplanner.output.result import Result
from splitplanner.output.text_tables import add_row, empty_table, titled
from splitplanner.strength import CAUTIONS


def strength_blocks(result: Result) -> Iterator[RenderableType]:
    """Yield the tables of all load cases, and what goes with the figures; nothing without any."""
    strength = result.strength
    if strength is None:
        return
    for answer in strength.loads:
        yield from _case_blocks(answer, result)
    yield titled("What goes with the figures of strength")
    for statement in statements_of(strength):
        yield Text(f"- {statement}")
    for caution in CAUTIONS:
        yield Text(f"\nCaution: {caution}")


def statements_of(strength: StrengthAnswer) -> tuple[str, ...]:
    """Return what goes with the figures, by whose values they are first."""
    if strength.is_generic:
        return strength.statements
    return (f"Worked out with the values of {strength.material}.", *strength.statements)


def _case_blocks(answer: LoadAnswer, result: Result) -> Iterator[RenderableType]:
    low = low_end(result.source.solid, answer.loading)
    yield titled(f"Strength, load case “{answer.loading.name}”")
    yield Text(" ".join(filter(None, (loading_words(answer.loading, low), fall_words(answer)))))
    uncut = answer.uncut
    if math.isinf(uncut.factor):
        yield Text(unloaded_words(answer.loading))
        return
    numbers = result.division.numbers
    yield Text(
        f"The uncut part holds {factor_words(uncut.factor)} the load; it is weakest at "
        f"{uncut.station - low:.0f} mm. {ways_words(answer, numbers)}\n"
    )
    yield _ways_table(answer, low, numbers)
    for way in answer.ways:
        for brace in way.braces:
            yield Text(f"{capital(named('brace', brace.brace))} {brace_words(brace)}.")
        if any(brace.weakest.factor < way.weakest.factor for brace in way.braces):
            yield Text(
                "A brace that lets go leaves the seams to all else that holds them: where that is "
                "more, it counts."
            )
    if answer.planned.seams:
        yield Text("\nEach seam, as planned:\n")
        yield _seams_table(answer.planned, low)


def _ways_table(answer: LoadAnswer, low: float, numbers: Mapping[str, int]) -> Table:
    table = empty_table(
        "\nseams held by", "of the\nuncut part", "\nholds", "weakest\nseam", "at\nmm",
        "stress across\nit, MPa", "layers of\npieces", "first gives way",
        left=("\nseams held by", "weakest\nseam"), wide="first gives way",
    )  # fmt: skip
    for way in answer.ways:
        seam = way.weakest_seam
        layers = max((each.share for each in way.pieces), default=0.0)
        add_row(
            table,
            way_words(way.way, way.has_hardware, way.is_glued) if way.seams else "no seam",
            percent_words(way.ratio),
            factor_words(way.weakest.factor),
            "-" if seam is None else seam.seam,
            "-" if seam is None else f"{seam.station - low:.0f}",
            "-" if seam is None else stress_words(seam),
            percent_words(layers),
            weakest_words(way.weakest, numbers),
        )
    return table


def _seams_table(way: HeldWay, low: float) -> Table:
    table = empty_table(
        "\nseam", "at\nmm", "of the\nuncut part", "\nholds", "off it by\nbraces", "first gives way",
        left=("\nseam",), wide="first gives way",
    )  # fmt: skip
    for seam in way.seams:
        add_row(
            table,
            seam.seam,
            f"{seam.station - low:.0f}",
            percent_words(seam.ratio),
            factor_words(seam.weakest.factor),
            relief_words(seam),
            seam.weakest.note,
        )
    return table


def relief_words(seam: SeamUnderLoad) -> str:
    """Return how much of the load braces take off a seam, at least and at most."""
    if seam.relieved_most <= 0.0:
        return "-"
    return f"{100.0 * seam.relieved:.0f} to {100.0 * seam.relieved_most:.0f} %"


def stress_words(seam: SeamUnderLoad) -> str:
    """Return the stress across a seam, MPa; with braces what is left of it at least and at most."""
    if seam.stress_least is None:
        return f"{seam.stress:.3g}"
    return f"{seam.stress_least:.3g} to {seam.stress:.3g}"
