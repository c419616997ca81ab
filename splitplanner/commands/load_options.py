"""What a part has to stand and its braces, as options of the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from splitplanner.job import Braces, Loads

STRENGTH = "What the part has to stand"
"""Heading in the help."""
USUAL, PROPOSED = "usual", "two"
"""Words that stand for a file."""

LoadsFile = Annotated[
    str | None,
    typer.Option(
        "--loads",
        metavar="FILE",
        help="Load cases, TOML: supports, forces, falls. Seams are then put where the part is bent "
        f"little, and it is said what they hold. The word “{USUAL}” stands for a fall on its back, "
        "a push from the side and a twist.",
        rich_help_panel=STRENGTH,
    ),
]
BracesFile = Annotated[
    str | None,
    typer.Option(
        "--braces",
        metavar="FILE",
        help="Braces that are bolted over seams, TOML. The word "
        f"“{PROPOSED}” stands for two of 4 mm aluminium along the part.",
        rich_help_panel=STRENGTH,
    ),
]


def loads_of(text: str | None) -> Loads | None:
    """Return what gives the load cases of a part: those of a file, or the usual ones.

    Raises
    ------
    PlanFileError
        If the file cannot be read or is wrong.
    """
    if text is None:
        return None
    from splitplanner.plan import read_loads
    from splitplanner.strength import usual_loadings

    return usual_loadings if text == USUAL else read_loads(Path(text)).on


def braces_of(text: str | None) -> Braces | None:
    """Return the braces of a file, or what proposes two.

    Raises
    ------
    PlanFileError
        If the file cannot be read or is wrong.
    """
    if text is None:
        return None
    from splitplanner.joint.brace.proposing import proposed_braces
    from splitplanner.plan.brace_file import read_braces

    return proposed_braces if text == PROPOSED else read_braces(Path(text))
