"""What the papers of a plan warn of, by what the plan takes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from splitplanner.joint import ADHESION, TAPE_SAFETY

if TYPE_CHECKING:
    from splitplanner.output.result import Result

STRENGTH_OPEN = (
    "The strength of the seams has not been computed, since the plan has no load case; the pins "
    "locate the pieces. Do not rely on the part where its failure could hurt someone without "
    "testing it and without the advice of a licensed professional and the codes that hold where "
    "you are."
)
"""What is said where nothing is known of strength."""
CAUTIONS = (
    "Wear eye protection when you break off supports, ream holes or press pins in, and read the "
    "safety data sheets of the filament and of any glue or resin you use.",
)
"""Go with every plan."""
IRON = (
    "Inserts are set with a hot iron: it and the insert burn skin, and hot plastic gives off "
    "fumes, so work where the air is drawn away and let the insert cool before you touch it."
)
"""Where there are heat-set inserts. Common practice of the trade."""
METAL = (
    "Clamp sheet metal before you cut or drill it, never hold it by hand, wear eye protection, and "
    "take off its burrs before you touch its edges."
)
"""Where braces are cut from metal. Common practice of the trade."""
_CARBON = "Carbon fibre"
"""With this begins what is said of one fibre alone."""


def cautions_of(result: Result) -> tuple[str, ...]:
    """Return what the papers of a plan warn of; what goes with figures of strength stands there."""
    return tuple(_cautions(result))


def _cautions(result: Result) -> Iterator[str]:
    plan = result.plan
    if result.strength is None:
        yield STRENGTH_OPEN
    yield from CAUTIONS
    holds = {screw.hold for joint in plan.joints for screw in joint.screws}
    if "insert" in holds | {brace.wish.hold for brace in result.braces}:
        yield IRON
    if any(not brace.wish.is_printed for brace in result.braces):
        yield METAL
    fibres = {joint.tape.fibre for joint in plan.joints if joint.tape is not None}
    if not fibres:
        return
    for each in TAPE_SAFETY:
        if "carbon" in fibres or not each.startswith(_CARBON):
            yield each
    yield ADHESION
