"""What the user wants of a plan beside soundness, and which of it a plan does not keep."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Annotated

import numpy as np
from pydantic import Strict

from splitplanner.arrays import Bools, Floats, unit_vector
from splitplanner.errors import WishesError
from splitplanner.findings import Finding, Severity, counted
from splitplanner.plan import Vector
from splitplanner.progress import Report, silent
from splitplanner.score.figures import Figures, PieceFigures
from splitplanner.score.keep_out import TOUCH, Crossing, Region, face_mask
from splitplanner.solid import Plane, Section, Solid, seen_from_outside

EQUAL = 0.1
"""Pieces are equal when no volume is off the mean by more than this share (the program's own
choice)."""
LEAST_SUPPORT = 1.0
"""A piece with less support than this is free of it, mm³ (the program's own choice)."""
_ANY_VIEW = 0.01
_VERBS = {"mm": "runs {:.3g} mm in", "mm2": "has {:.3g} mm² in"}


@dataclass(frozen=True)
class GoodSide:
    """Which faces people see, where the user knows better than a look from all around.

    Attributes
    ----------
    faces : tuple of int
        Numbers of faces of the part; empty to find them.
    directions : tuple of (x, y, z)
        Towards the viewers, when the faces are to be found from there alone; any length but zero.
    """

    faces: tuple[int, ...] = ()
    directions: tuple[Vector, ...] = ()

    def __post_init__(self) -> None:
        if self.faces and self.directions:
            raise WishesError("Give the good side by its faces or by directions, not by both.")
        for direction in self.directions:
            try:
                unit_vector(direction)
            except ValueError as error:
                raise WishesError(f"A good-side direction is wrong: {error}.") from error


@dataclass(frozen=True)
class Wishes:
    """What the user wants of a plan; the defaults ask for nothing.

    Attributes
    ----------
    keep_out : tuple of KeepOutBox, KeepOutSphere or KeepOutFaces
        Regions that no seam may cross.
    must_cut : tuple of Plane
        Planes that no piece may reach across.
    good_side : GoodSide
    longest_seam : float or None
        Longest acceptable length of one seam's outlines, mm.
    smallest_piece : float or None
        Least size of a piece across each of its seams, mm: its extent along the seam's normal. So a
        thin part does not break the wish by being thin, which no cut can change.
    equal_pieces : bool
        Whether all pieces are to have the same volume, to `EQUAL`.
    pieces : int or None
        Number of pieces wanted.
    support_free : bool
        Whether every piece is to print without support.
    part : str
        Fingerprint of the part whose faces are named (`Solid.fingerprint`); empty if unknown.

    Raises
    ------
    WishesError
        If a wish is out of range.
    """

    keep_out: tuple[Region, ...] = ()
    must_cut: tuple[Plane, ...] = ()
    good_side: GoodSide = field(default_factory=GoodSide)
    longest_seam: float | None = None
    smallest_piece: float | None = None
    equal_pieces: bool = False
    pieces: Annotated[int, Strict()] | None = None
    support_free: bool = False
    part: str = ""

    def __post_init__(self) -> None:
        for value, what in (
            (self.longest_seam, "longest acceptable seam"),
            (self.smallest_piece, "smallest piece"),
        ):
            if value is not None and not 0 < value < np.inf:
                raise WishesError(f"The {what} must be above 0 mm, got {value:g} mm.")
        if self.pieces is not None and self.pieces < 1:
            raise WishesError(f"The number of pieces must be 1 or more, got {self.pieces}.")


def check_wishes(part: Solid, wishes: Wishes) -> None:
    """Raise if the faces that are named cannot be those of `part`.

    Raises
    ------
    WishesError
        If the wishes were made for another part, or name a face that it does not have.
    """
    named = [region.faces for region in wishes.keep_out if region.kind == "faces"]
    named.append(wishes.good_side.faces)
    if any(named) and wishes.part and wishes.part != part.fingerprint:
        raise WishesError(
            "The wishes name faces of another part, or of another version of this one; choose "
            "the faces again on this part."
        )
    for faces in named:
        face_mask(part, faces)


def good_side(part: Solid, wishes: Wishes, report: Report = silent) -> Bools:
    """Return the faces that people see, (m,): those named, or found as far as is said.

    With directions, a face is on the good side when a hundredth of it shows from there; without,
    see `splitplanner.solid.seen_from_outside`.

    Raises
    ------
    WishesError
        If the part has no face of a number.
    """
    side = wishes.good_side
    if side.faces:
        return face_mask(part, side.faces)
    if side.directions:
        towards = np.array([unit_vector(direction) for direction in side.directions])
        return seen_from_outside(
            part, directions=towards, share=_ANY_VIEW, below=True, report=report
        )
    return seen_from_outside(part, report=report)


def regions_met(plane: Plane, part: Solid, wishes: Wishes) -> tuple[Region, ...]:
    """Return the keep-out regions that a plane passes through; without any it blocks no seam."""
    return tuple(region for region in wishes.keep_out if region.is_met(plane, part))


def seam_blocked(section: Section, part: Solid, wishes: Wishes, near: float = TOUCH) -> bool:
    """Return whether a seam crosses a keep-out region; fast, for a search.

    Parameters
    ----------
    section : Section
        Of the piece that is to be cut.
    part : Solid
        The uncut part, whose faces the wishes name.
    wishes : Wishes
    near : float
        How far the section's outlines may be off the part's surface, mm: the tolerance of the
        light stand-in that was cut, if it was one.
    """
    return any(region.crossing(section, part, near) is not None for region in wishes.keep_out)


def size_across(solid: Solid, normal: Vector) -> float:
    """Return the extent of a piece along a seam's normal, mm."""
    return float(np.ptp(solid.vertices @ np.asarray(normal, float)))


def reach_across(solid: Solid, plane: Plane) -> float:
    """Return how far a piece reaches to the side of `plane` on which less of it is, mm."""
    height = plane.height(solid.vertices)
    return max(0.0, min(float(height.max()), -float(height.min())))


def broken_wishes(figures: Figures, wishes: Wishes) -> tuple[Finding, ...]:
    """Return what a plan does not keep of the wishes: where, what was measured, what is allowed.

    All are warnings: a plan that the user made against a wish is still sound. A search takes only
    plans without any.

    Parameters
    ----------
    figures : Figures
    wishes : Wishes

    Raises
    ------
    WishesError
        If a wish names faces that the part does not have.
    """
    check_wishes(figures.part, wishes)
    return (
        *_crossed(figures, wishes),
        *_reached_across(figures, wishes),
        *_too_long(figures, wishes),
        *_too_small(figures, wishes),
        *_miscounted(figures, wishes),
        *_unequal(figures, wishes),
        *_supported(figures, wishes),
    )


def _broken(
    wish: str,
    message: str,
    subject: str,
    where: Floats,
    measured: float,
    allowed: float,
    unit: str,
) -> Finding:
    return Finding(
        f"wish.{wish}", Severity.WARNING, message, subject, where, measured, allowed, unit
    )


def _crossed(figures: Figures, wishes: Wishes) -> Iterator[Finding]:
    for row in figures.seams:
        for number, region in enumerate(wishes.keep_out, 1):
            found = region.crossing(row.seam.section, figures.part)
            if found is not None:
                yield _broken(
                    "keep_out",
                    f"Seam {row.seam.name} {_how(found)} keep-out region {number} "
                    f"({region.kind}); move the cut away from it.",
                    row.seam.name,
                    found.where,
                    found.measured,
                    0.0,
                    found.unit,
                )


def _how(found: Crossing) -> str:
    return _VERBS[found.unit].format(found.measured)


def _reached_across(figures: Figures, wishes: Wishes) -> Iterator[Finding]:
    for number, plane in enumerate(wishes.must_cut, 1):
        for row in figures.pieces:
            reach = reach_across(row.piece.solid, plane)
            if reach > TOUCH:
                yield _broken(
                    "must_cut",
                    f"Piece {row.piece.number} reaches {reach:.3g} mm across must-cut plane "
                    f"{number}; cut it there.",
                    row.name,
                    row.piece.solid.section(plane).centroid,
                    reach,
                    0.0,
                    "mm",
                )


def _too_long(figures: Figures, wishes: Wishes) -> Iterator[Finding]:
    longest = wishes.longest_seam
    for row in figures.seams:
        if longest is not None and row.figures.length > longest * (1 + 1e-9):
            yield _broken(
                "longest_seam",
                f"Seam {row.seam.name} is {row.figures.length:.1f} mm long, more than the "
                f"{longest:g} mm wanted; cut where the part is thinner.",
                row.seam.name,
                row.seam.section.centroid,
                row.figures.length,
                longest,
                "mm",
            )


def _too_small(figures: Figures, wishes: Wishes) -> Iterator[Finding]:
    least = wishes.smallest_piece
    if least is None:
        return
    for row in figures.pieces:
        sizes = [
            size_across(row.piece.solid, seam.normal)
            for seam in figures.seams
            if row.name in seam.between
        ]
        if sizes and min(sizes) < least * (1 - 1e-9):
            yield _broken(
                "smallest_piece",
                f"Piece {row.piece.number} is only {min(sizes):.1f} mm from its seam to its other "
                f"end, less than the {least:g} mm wanted; move the cut away from that end.",
                row.name,
                row.piece.solid.centroid,
                min(sizes),
                least,
                "mm",
            )


def _miscounted(figures: Figures, wishes: Wishes) -> Iterator[Finding]:
    count = len(figures.pieces)
    if wishes.pieces is not None and count != wishes.pieces:
        yield _broken(
            "pieces",
            f"The plan has {counted(count, 'piece')}, not the {wishes.pieces} wanted; "
            f"{'add' if count < wishes.pieces else 'remove'} a cut.",
            "",
            np.empty((0, 3)),
            count,
            wishes.pieces,
            "1",
        )


def _unequal(figures: Figures, wishes: Wishes) -> Iterator[Finding]:
    if not wishes.equal_pieces:
        return
    mean = sum(row.volume for row in figures.pieces) / len(figures.pieces)

    def off(row: PieceFigures) -> float:
        return abs(row.volume / mean - 1.0)

    worst = max(figures.pieces, key=off)
    if off(worst) > EQUAL + 1e-9:
        yield _broken(
            "equal_pieces",
            f"Piece {worst.piece.number} has {worst.volume / mean:.0%} of the mean volume, which "
            f"is off by more than {EQUAL:.0%}; move the cuts so that the pieces are equal.",
            worst.name,
            worst.piece.solid.centroid,
            off(worst),
            EQUAL,
            "1",
        )


def _supported(figures: Figures, wishes: Wishes) -> Iterator[Finding]:
    for row in figures.pieces:
        if wishes.support_free and row.support.volume > LEAST_SUPPORT:
            yield _broken(
                "support_free",
                f"Piece {row.piece.number} needs {row.support.volume / 1000:.2g} cm³ of support; "
                "turn it, or cut where the overhang begins.",
                row.name,
                row.piece.solid.face_centroids[row.overhang.faces],
                row.support.volume,
                LEAST_SUPPORT,
                "mm3",
            )
