"""Jobs about what a plan stands: its braces, its load cases, and the check by finite cells.

As those of `tasks`, where they are listed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from splitplanner.arrays import frozen_floats
from splitplanner.background.cells_told import CellsTold
from splitplanner.background.desk import Desk, Hand, examiner_on, result_on
from splitplanner.background.fitted_sheet import FittedSheet
from splitplanner.background.live_seams import keeping
from splitplanner.plan import BraceWish, Loading, Plan
from splitplanner.progress import Report, part_of
from splitplanner.score import Wishes

if TYPE_CHECKING:
    from splitplanner.joint.brace.building import Brace


def propose_braces(
    desk: Desk, report: Report, hand: Hand, plan: Plan, wishes: Wishes, count: int
) -> tuple[BraceWish, ...]:
    """Find places for braces over the seams of a plan, those that it has left out of account."""
    from splitplanner.joint.brace.proposing import proposed_braces

    result, examiner = result_on(desk, plan, part_of(report, 0.0, 0.2)), examiner_on(desk)
    return proposed_braces(
        result.division,
        plan,
        count,
        shelf=examiner.shelf,
        seen=examiner.seen(wishes, report),
        maker=examiner.maker,
        report=part_of(report, 0.2, 1.0),
    )


def propose_loads(desk: Desk, report: Report, hand: Hand, wishes: Wishes) -> tuple[Loading, ...]:
    """Return the load cases that a part of this form usually meets."""
    from splitplanner.strength import usual_loadings

    return usual_loadings(desk["source"].solid, examiner_on(desk).seen(wishes, report))


def fit_braces(
    desk: Desk,
    report: Report,
    hand: Hand,
    plan: Plan,
    sheet: tuple[float, float, float, float],
    name: str = "",
) -> FittedSheet:
    """Lay braces of one metal and thickness on a sheet.

    Parameters
    ----------
    plan : Plan
    sheet : (width, depth, margin, gap)
        mm.
    name : str
        Of the brace whose kind it is; of the first that is cut from metal by default.

    Raises
    ------
    JointError
        If there is nothing to lay on it, or it has no room.
    """
    from splitplanner.joint.brace.on_sheet import fit_on_sheet

    width, depth, margin, gap = sheet
    result = result_on(desk, plan, part_of(report, 0.0, 0.5))
    metal = [each for each in result.braces if not each.wish.is_printed]
    named = [each for each in metal if each.wish.name == name]
    first = next(iter([*named, *metal]), None)
    alike = [each for each in metal if first is not None and _is_alike(each, first)]
    report(0.5, "laying braces on the sheet")
    fit, finding = fit_on_sheet(alike, width, depth, margin, gap)
    lying = tuple(
        frozen_floats(shapely.get_coordinates(one.placed(brace.profile.outline).exterior))
        for one, brace in zip(fit.lying, alike, strict=False)
    )
    return FittedSheet((width, depth), margin, lying if fit.fits else (), finding)


def _is_alike(one: Brace, other: Brace) -> bool:
    """Whether two braces are cut from one kind of sheet."""
    return (one.wish.metal, one.wish.stock) == (other.wish.metal, other.wish.stock)


def check_cells(desk: Desk, report: Report, hand: Hand, plan: Plan, load: str) -> CellsTold:
    """Check a plan by finite cells under a load case, told by its name."""
    from splitplanner.background.cells_checking import checked_in_cells

    keep = keeping(desk, load)
    return checked_in_cells(result_on(desk, plan, part_of(report, 0.0, 0.05)), load, report, keep)
