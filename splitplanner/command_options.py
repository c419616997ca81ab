"""The options of the command line, each described once."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated

import typer

from splitplanner.errors import WishesError

Part = Annotated[
    Path,
    typer.Argument(metavar="MODEL", help="The part: STL, OBJ, PLY, OFF, GLB, 3MF or STEP."),
]
Out = Annotated[Path, typer.Option("--out", "-o", metavar="FOLDER", help="Where the results go.")]
BedSize = Annotated[
    str | None,
    typer.Option(
        "--bed",
        metavar="SIZE",
        help='Width x depth x height in mm, such as 220x220x250 (the default); or "round 200x300", '
        "diameter x height.",
    ),
]
PrinterFile = Annotated[
    Path | None,
    typer.Option(
        "--printer", metavar="FILE", help="Settings of the printer, TOML; --bed overrides its bed."
    ),
]
Hardware = Annotated[
    Path | None,
    typer.Option("--pins", metavar="FILE", help="Dowel pins on your shelf, CSV; taken first."),
]
Unit = Annotated[
    str | None,
    typer.Option(
        "--unit",
        metavar="UNIT",
        help="Unit of the model's numbers: mm, cm, m, inch, foot or micron; else what its file "
        "says, or mm.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print the scorecard as JSON for scripts.")]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="Show no progress.")]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace an older result in FOLDER.")]
Pictures = Annotated[
    bool, typer.Option("--pictures/--no-pictures", help="Draw the cuts and the pieces, or not.")
]
Overhang = Annotated[
    float | None,
    typer.Option(
        metavar="ANGLE",
        help="Steepest overhang that prints without support, degrees from vertical; 45 unless "
        "--printer says otherwise.",
    ),
]
Seed = Annotated[
    int,
    typer.Option("--seed", metavar="N", min=0, help="Same input, options and seed: same files."),
]
Weights = Annotated[
    list[str] | None,
    typer.Option(
        "--weight",
        metavar="CRITERION=NUMBER",
        help="How much a criterion of the plan score counts, such as “support volume=1”; may be "
        "given more than once. The criteria are listed in every scorecard.",
    ),
]
WishesFile = Annotated[
    Path | None,
    typer.Option(
        "--wishes",
        metavar="FILE",
        help="What you want of the plan, TOML: regions to keep seams out of, planes that must be "
        "cut, the good side, longest seam, smallest piece, number of pieces.",
    ),
]


def weights_of(texts: list[str] | None) -> dict[str, float] | None:
    """Read weights written as ``criterion=number``; None if there are none.

    Raises
    ------
    WishesError
        If a text is something else, or names no criterion.
    """
    from splitplanner.score import CRITERIA

    known = {criterion.name for criterion in CRITERIA}
    weights: dict[str, float] = {}
    for text in texts or []:
        name, _, number = text.rpartition("=")
        name = name.strip()
        try:
            weight = float(number)
        except ValueError:
            weight = math.nan
        if name not in known or not 0.0 <= weight < math.inf:
            raise WishesError(
                f"“{text}” is no weight; write the name of a criterion, an equals sign and a "
                "number from 0 on, such as “support volume=1”. The criteria are: "
                f"{', '.join(sorted(known))}."
            )
        weights[name] = weight
    return weights or None
