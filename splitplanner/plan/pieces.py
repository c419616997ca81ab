"""Cutting a part into pieces, and the seams between them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
import shapely

from splitplanner.arrays import Floats
from splitplanner.errors import CutError
from splitplanner.findings import Finding, Severity
from splitplanner.progress import Report, silent
from splitplanner.solid import Plane, Section, Solid, to_polygons

WHOLE = "whole"
"""Name of the piece that nothing has divided yet."""

_LEAST_CONTACT = 0.01
"""Contact of less than this (mm²) holds nothing together: rounding at corners."""


@dataclass(frozen=True)
class Cut:
    """A plane that divides one named piece, or every piece it meets.

    Attributes
    ----------
    plane : Plane
    piece : str or None
        Name of the piece to divide; None for every piece that the plane meets.
    """

    plane: Plane
    piece: str | None = None


@dataclass(frozen=True, eq=False)
class Piece:
    """One printable solid left after all cuts.

    Attributes
    ----------
    name : str
        Its way down the tree of cuts: ``1`` is below the first cut and ``2`` above it, ``2.1`` is
        what a later cut left below of ``2``; a letter tells bodies apart that a cut left loose.
    number : int
        1, 2, 3 ... along the part, for people.
    solid : Solid
        In the part's frame, mm.
    """

    name: str
    number: int
    solid: Solid


@dataclass(frozen=True, eq=False)
class Seam:
    """The flat contact area between two pieces.

    Attributes
    ----------
    name : str
        ``S1``, ``S2`` ... in the order of cuts.
    cut : int
        Index of the cut it lies on.
    below, above : str
        Names of the two pieces; the plane's normal points from `below` to `above`.
    section : Section
        The contact polygons on the cut plane, mm.
    """

    name: str
    cut: int
    below: str
    above: str
    section: Section

    @property
    def plane(self) -> Plane:
        """The cut plane."""
        return self.section.plane


@dataclass(frozen=True, eq=False)
class Division:
    """All pieces and seams of a plan.

    Attributes
    ----------
    part : Solid
    pieces : tuple of Piece
    seams : tuple of Seam
    findings : tuple of Finding
        Cuts that met nothing.
    """

    part: Solid
    pieces: tuple[Piece, ...]
    seams: tuple[Seam, ...]
    findings: tuple[Finding, ...] = ()

    @cached_property
    def by_name(self) -> dict[str, Piece]:
        """Pieces by name."""
        return {piece.name: piece for piece in self.pieces}

    @cached_property
    def numbers(self) -> dict[str, int]:
        """The number of each piece by its name."""
        return {piece.name: piece.number for piece in self.pieces}

    def piece(self, name: str) -> Piece:
        """Return the piece called `name`.

        Raises
        ------
        CutError
            If there is none.
        """
        try:
            return self.by_name[name]
        except KeyError:
            raise CutError(f"There is no piece “{name}” in this plan.", subject=name) from None


Halves = tuple[dict[str, Solid], dict[str, Solid]]
"""The bodies below and above a plane, by name."""
Cutter = Callable[[str, Solid, Plane], Halves | None]
"""Divides one piece, as `cut_piece` does."""


def cut_piece(name: str, solid: Solid, plane: Plane) -> Halves | None:
    """Divide one piece.

    Returns
    -------
    below, above : dict of piece name to solid, or None
        The connected bodies on each side; None if the plane does not meet the piece.
    """
    below, above = solid.split(plane)
    if below is None or above is None:
        return None
    stem = "" if name == WHOLE else f"{name}."
    return loose_bodies(f"{stem}1", below), loose_bodies(f"{stem}2", above)


def divide(
    part: Solid, cuts: Sequence[Cut], report: Report = silent, cutter: Cutter = cut_piece
) -> Division:
    """Cut `part` by `cuts`, in order.

    Disconnected results become separate pieces. A cut of all pieces that meets none is a finding.

    Parameters
    ----------
    part : Solid
    cuts : sequence of Cut
    report : progress callback
    cutter : callable
        Replaces `cut_piece`, by one that remembers what it has divided for instance.

    Returns
    -------
    Division
        The volumes of its pieces add up to that of the part to 1e-9.

    Raises
    ------
    CutError
        If a cut names a piece that does not exist or that it does not divide.
    """
    solids = loose_bodies(WHOLE, part)
    cut_of: dict[str, tuple[tuple[int, int], ...]] = dict.fromkeys(solids, ())
    findings: list[Finding] = []
    for index, cut in enumerate(cuts):
        report(index / max(len(cuts), 1), f"cutting, plane {index + 1} of {len(cuts)}")
        _check_target(cut, solids, index)
        divided = divide_in_place(cut, solids, cutter)
        for name, halves in divided.items():
            history = cut_of.pop(name)
            for side, bodies in zip((1, -1), halves, strict=True):
                cut_of.update(dict.fromkeys(bodies, (*history, (index, side))))
        if not divided:
            if cut.piece is not None:
                raise CutError(
                    f"Cut {index + 1} does not meet piece “{cut.piece}”; move the plane into it "
                    "or delete the cut.",
                    subject=cut.piece,
                )
            findings.append(_missed(index, cut))
    pieces = _numbered(solids, part)
    report(0.9, "measuring the seams")
    seams = _find_seams(cuts, pieces, cut_of)
    return Division(part, pieces, seams, tuple(findings))


def loose_bodies(name: str, solid: Solid) -> dict[str, Solid]:
    """Return the connected bodies of a solid by name: `name` itself if there is but one."""
    return named_bodies(name, solid.bodies())


Body = TypeVar("Body")


def named_bodies(name: str, bodies: Sequence[Body]) -> dict[str, Body]:
    """Return the bodies that were one piece by name: `name` itself for one, else with letters."""
    if len(bodies) == 1:
        return {name: bodies[0]}
    stem = "" if name == WHOLE else name
    return {f"{stem}{_letters(index)}": body for index, body in enumerate(bodies)}


def _letters(index: int) -> str:
    """Return a, b ... z, aa, ab ... for 0, 1 ..."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = chr(ord("a") + rest) + text
    return text


def divided_by(
    cut: Cut, solids: Mapping[str, Solid], cutter: Cutter = cut_piece
) -> dict[str, Halves]:
    """Return the halves of every piece that a cut divides, by the piece's name.

    Parameters
    ----------
    cut : Cut
    solids : mapping of piece name to solid
    cutter : callable
        As for `divide`.
    """
    names = list(solids) if cut.piece is None else [cut.piece]
    halves = {name: cutter(name, solids[name], cut.plane) for name in names if name in solids}
    return {name: both for name, both in halves.items() if both is not None}


def divide_in_place(
    cut: Cut, solids: dict[str, Solid], cutter: Cutter = cut_piece
) -> dict[str, Halves]:
    """Put the halves of every piece that a cut divides in its place; return them as `divided_by`.

    Parameters
    ----------
    cut : Cut
    solids : dict of piece name to solid
        Changed.
    cutter : callable
        As for `divide`.
    """
    divided = divided_by(cut, solids, cutter)
    for name, (below, above) in divided.items():
        del solids[name]
        solids.update(below | above)
    return divided


def _check_target(cut: Cut, solids: Mapping[str, Solid], index: int) -> None:
    if cut.piece is not None and cut.piece not in solids:
        raise CutError(
            f"Cut {index + 1} names piece “{cut.piece}”, which does not exist; the pieces are "
            f"{', '.join(solids)}.",
            subject=cut.piece,
        )


def _missed(index: int, cut: Cut) -> Finding:
    return Finding(
        "cut.missed",
        Severity.WARNING,
        f"Cut {index + 1} meets no piece; move it into the part or delete it.",
        where=cut.plane.origin[None, :],
    )


def _numbered(solids: dict[str, Solid], part: Solid) -> tuple[Piece, ...]:
    """Number the pieces along the part's longest axis, then along the others."""
    order = np.argsort(-part.extents, kind="stable")
    grain = 0.01 * part.size

    def place(item: tuple[str, Solid]) -> tuple[float, ...]:
        return tuple(np.round(item[1].bounds.mean(axis=0)[order] / grain))

    ranked = sorted(solids.items(), key=lambda item: (*place(item), item[0]))
    return tuple(Piece(name, number, solid) for number, (name, solid) in enumerate(ranked, 1))


def _find_seams(
    cuts: Sequence[Cut],
    pieces: tuple[Piece, ...],
    cut_of: dict[str, tuple[tuple[int, int], ...]],
) -> tuple[Seam, ...]:
    """Intersect the cut faces of every two pieces on both sides of a cut.

    Intersecting the faces of both sides is right also where faces of the part lie in the plane:
    what only one side has there is no contact.
    """
    seams: list[Seam] = []
    for index, cut in enumerate(cuts):
        caps: dict[int, list[tuple[Piece, Section]]] = {1: [], -1: []}
        for piece in pieces:
            for at, side in cut_of[piece.name]:
                if at == index:
                    caps[side].append((piece, _cap(piece.solid, cut.plane, side)))
        for below, lower in caps[1]:
            for above, upper in caps[-1]:
                contact = _contact(lower, upper)
                if contact:
                    section = Section(cut.plane, contact)
                    seams.append(Seam(f"S{len(seams) + 1}", index, below.name, above.name, section))
    return tuple(seams)


def _cap(solid: Solid, plane: Plane, side: int) -> Section:
    """Return the faces of `solid` in `plane`, in the coordinates of `plane` itself."""
    facing = plane if side > 0 else plane.flipped()
    tolerance = 1e-9 * max(solid.size, abs(plane.offset), 1.0) * 10
    chosen = solid.faces_in(facing, tolerance)
    return Section(plane, solid.polygons_of(chosen, plane))


def _contact(lower: Section, upper: Section) -> tuple[shapely.Polygon, ...]:
    if lower.is_empty or upper.is_empty:
        return ()
    shared = shapely.intersection(lower.shape, upper.shape, grid_size=1e-7)
    return to_polygons(shared, smallest=_LEAST_CONTACT)


def outline_points(section: Section, spacing: float) -> Floats:
    """Return points along all outlines of `section`, at most `spacing` (mm) apart, (n, 3) mm."""
    outline = shapely.segmentize(section.shape, spacing)
    return section.plane.to_space(shapely.get_coordinates(outline))
