"""Pieces as files have them: scaled by what they shrink, and with a chamfer at the bed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats
from splitplanner.joint.allowance.foot import with_foot
from splitplanner.plan import Vector
from splitplanner.score import BedFit, bed_fit
from splitplanner.solid import Solid
from splitplanner.workshop import Bed, Material, Printer
from splitplanner.workshop.printer import Outline

_ROUNDS = 6
"""A piece that shrinks differently along x and y is turned so many times, until it stays so."""
_SAME_TURN = 1e-4
"""Turns that differ by no more than this many degrees are one."""
_ALIKE = 1e-9
"""Figures that differ by no more than this are one."""


@dataclass(frozen=True)
class FileAllowance:
    """What files of pieces have that the pieces of a plan have not.

    Attributes
    ----------
    scale : (x, y, z)
        What a length along the axes of the printer is multiplied by.
    foot_width, foot_height : float
        Of the chamfer along the outline on the bed, mm; 0 for none.
    line_width : float
        mm.
    """

    scale: Vector = (1.0, 1.0, 1.0)
    foot_width: float = 0.0
    foot_height: float = 0.0
    line_width: float = 0.45

    @property
    def is_scaled(self) -> bool:
        """Whether a piece in a file has another size."""
        return self.scale != (1.0, 1.0, 1.0)

    @property
    def has_foot(self) -> bool:
        """Whether it has a chamfer."""
        return min(self.foot_width, self.foot_height) > 0.0

    @property
    def is_nothing(self) -> bool:
        """Whether files have the pieces as they are."""
        return not self.is_scaled and not self.has_foot

    @property
    def turns_matter(self) -> bool:
        """Whether a piece must not be turned on the bed any more."""
        return abs(self.scale[0] - self.scale[1]) > _ALIKE


def file_allowance(printer: Printer, material: Material | None) -> FileAllowance:
    """Return what files of pieces have, as printer and material say.

    They are scaled by one over what a length of 1 comes out as, so that after printing, and
    annealing, the piece has the size that was wanted. Of a material that is not known, or whose
    shrink the user has not measured, they are not scaled.
    """
    scale: Vector = (1.0, 1.0, 1.0)
    if material is not None and material.scaled:
        x, y, z = material.sizes
        scale = 1.0 / x, 1.0 / y, 1.0 / z
    return FileAllowance(scale, printer.foot_width, printer.foot_height, printer.line_width)


def with_room_to_shrink(printer: Printer, material: Material | None) -> Printer:
    """Return a printer for which pieces may be planned as they come out.

    Its bed is smaller by as much as files are scaled, in the axis in which that is most: what fits
    it fits the real one as its file has it, whichever way it prints.
    """
    largest = max(file_allowance(printer, material).scale)
    return printer if largest <= 1.0 else replace(printer, bed=_smaller(printer.bed, largest))


def _smaller(bed: Bed, by: float) -> Bed:
    if bed.kind == "outline":

        def scaled(outline: Outline) -> Outline:
            return tuple((x / by, y / by) for x, y in outline)

        return replace(
            bed,
            width=bed.width / by,
            depth=bed.depth / by,
            height=bed.height / by,
            margin=bed.margin / by,
            outline=scaled(bed.outline),
            blocked=tuple(scaled(each) for each in bed.blocked),
        )
    # Its size is shown where nothing fits: hundredths will do.
    width, depth, height = (
        math.floor(100.0 * side / by) / 100.0 for side in (bed.width, bed.depth, bed.height)
    )
    blocked = tuple(tuple((x / by, y / by) for x, y in area) for area in bed.blocked)
    return replace(
        bed, width=width, depth=depth, height=height, margin=bed.margin / by, blocked=blocked
    )


def as_in_file(solid: Solid, pose: ArrayLike, allowance: FileAllowance) -> Solid:
    """Return a piece lying on the bed as its file has it.

    Parameters
    ----------
    solid : Solid
    pose : (4, 4) array
        Lays it on the bed as it is; see `BedFit.pose`.
    allowance : FileAllowance
        In plan the piece is scaled about the middle of its box in the part's frame, which stays
        where it is, and upward from the bed.
    """
    matrix = np.asarray(pose, dtype=np.float64)[:3]
    laid = solid.transformed(matrix)
    if allowance.is_scaled:
        fixed = matrix[:, :3] @ solid.bounds.mean(axis=0) + matrix[:, 3]
        fixed[2] = laid.bounds[0, 2]
        scale = np.array(allowance.scale)
        laid = laid.transformed(np.column_stack([np.diag(scale), fixed * (1.0 - scale)]))
    if not allowance.has_foot:
        return laid
    return with_foot(laid, allowance.foot_width, allowance.foot_height, allowance.line_width)


def scaled_fit(solid: Solid, fit: BedFit, allowance: FileAllowance, bed: Bed) -> BedFit:
    """Return how a piece fits the bed as its file has it; `fit` where that has the same size.

    Where the scale is another along x than along y it depends on how the piece is turned. It stays
    as `fit` has it if it fits in that way; else it is turned until the way in which it fits is the
    one that it was scaled for.

    Parameters
    ----------
    solid : Solid
        As it comes out.
    fit : BedFit
        Of it.
    allowance : FileAllowance
    bed : Bed
    """
    if not allowance.is_scaled:
        return fit
    best, turn = fit, fit
    for _ in range(_ROUNDS):
        best = bed_fit(_scaled(solid, turn, allowance), fit.up, bed)
        if (
            not allowance.turns_matter
            or abs((best.yaw - turn.yaw + 90.0) % 180.0 - 90.0) < _SAME_TURN
        ):
            return best
        turn = best
    # It has no way that is its own: what is told is how much is lacking at the last.
    return replace(best, fits=False) if best.fits else best


def _scaled(solid: Solid, fit: BedFit, allowance: FileAllowance) -> Floats:
    """Return the corners (n, 3) mm of a piece's hull, scaled along the axes of the bed."""
    middle, turn = solid.bounds.mean(axis=0), fit.rotation
    along = (solid.hull.vertices - middle) @ turn.T
    scaled: Floats = middle + (along * np.array(allowance.scale)) @ turn
    return scaled
