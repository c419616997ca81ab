"""Options of the command line about part, files, coupon and score, each described once."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from splitplanner.errors import WishesError

if TYPE_CHECKING:
    from splitplanner.workshop import Insert, Shelf

CouponFile = Annotated[
    Path, typer.Option("--out", "-o", metavar="FILE", help="Where the coupon goes, STL.")
]
Part = Annotated[
    Path,
    typer.Argument(metavar="MODEL", help="The part: STL, OBJ, PLY, OFF, GLB, 3MF or STEP."),
]
PartOfPlan = Annotated[
    Path | None,
    typer.Option("--part", metavar="MODEL", help="The part, if it is not where the plan says."),
]
Out = Annotated[Path, typer.Option("--out", "-o", metavar="FOLDER", help="Where the results go.")]
Diameters = Annotated[
    list[float] | None,
    typer.Option(
        "--diameter",
        metavar="MM",
        help="Of a pin or of anything else that goes into a hole; may be given more than once. "
        "3, 4 and 5 if neither this nor --insert is given.",
    ),
]
Inserts = Annotated[
    list[str] | None,
    typer.Option(
        "--insert",
        metavar="SIZE",
        help="Thread of a heat-set insert on the hardware shelf, such as M3; may be given more "
        "than once.",
    ),
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


def inserts_of(sizes: list[str] | None, shelf: Shelf) -> list[Insert]:
    """Return the heat-set inserts of the sizes of their threads.

    Raises
    ------
    WorkshopError
        If one is not on the shelf; says what is.
    """
    return [shelf.insert(size) for size in sizes or []]
