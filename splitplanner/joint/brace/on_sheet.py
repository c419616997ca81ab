"""Whether braces of a plan can be cut from one sheet of the user's."""

from __future__ import annotations

from collections.abc import Sequence

from splitplanner.errors import JointError
from splitplanner.findings import Finding
from splitplanner.joint.brace.building import Brace
from splitplanner.joint.brace.stock import Sheet, StockFit, check_stock


def fit_on_sheet(
    braces: Sequence[Brace],
    width: float,
    height: float,
    clamp_margin: float = 0.0,
    cutter: float | None = None,
) -> tuple[StockFit, Finding]:
    """Return how braces lie on a sheet of the user's, and a sentence: mm spare or missing.

    Parameters
    ----------
    braces : sequence of Brace
        All of one metal and thickness.
    width, height : float
        Of the sheet, mm.
    clamp_margin : float
        Kept all round for clamps, mm.
    cutter : float, optional
        Kept between two braces, mm; the widest cutter of theirs by default.

    Raises
    ------
    JointError
        If there is no brace, they are not cut from one sheet, or the sheet has no room.
    """
    if not braces:
        raise JointError("There is no brace to be cut from the sheet; add one to the plan first.")
    wishes = [brace.wish for brace in braces]
    kinds = sorted({("printed" if w.is_printed else w.metal, w.stock) for w in wishes})
    if len(kinds) > 1:
        said = " and ".join(f"{metal} of {stock:g} mm" for metal, stock in kinds)
        raise JointError(
            f"Braces of {said} are not cut from one sheet; ask for one kind at a time."
        )
    gap = max(wish.cutter for wish in wishes) if cutter is None else cutter
    try:
        sheet = Sheet(width, height, clamp_margin, gap)
    except ValueError as fault:
        raise JointError(str(fault)) from fault
    return check_stock([brace.profile.outline for brace in braces], sheet)
