"""Drafts: plans that have really been cut, with every piece in a print direction, and scored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from splitplanner.arrays import Bools
from splitplanner.errors import CutError
from splitplanner.plan import (
    Cut,
    Cutter,
    Division,
    Piece,
    RememberedCuts,
    Seam,
    Vector,
    cut_piece,
    divide,
)
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import (
    BedFit,
    Figures,
    Overhang,
    PieceFigures,
    Room,
    Scorecard,
    SeamFigures,
    SeamRow,
    Support,
    measure_piece,
    measure_seam,
    scorecard,
    thick_enough,
    thin_skins,
)
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.orienting import oriented, seam_normals
from splitplanner.suggest.standing_in import Standing

_REMEMBERED = 400_000
"""So many faces of pieces are kept; the kernel takes some 300 bytes for each."""


_Measures = tuple[Vector, BedFit, Overhang, Support]
"""The print direction of a piece and its figures."""


@dataclass(frozen=True, eq=False)
class Draft:
    """A plan that has been cut and scored, without joints."""

    cuts: tuple[Cut, ...]
    division: Division
    card: Scorecard

    @property
    def ups(self) -> dict[str, Vector]:
        """Print direction by piece name."""
        return {row.piece.name: row.up for row in self.card.figures.pieces}

    @property
    def score(self) -> float:
        """The plan score; lower is better."""
        return self.card.total


@dataclass(eq=False)
class Drafter:
    """Cuts plans of one part, and remembers cuts and the pieces and seams it has measured.

    Of a part so large that no piece of it could be kept nothing is remembered.

    Attributes
    ----------
    part : Solid
        The part or a light stand-in for it.
    seen : (m,) bool array
        Its faces on the good side.
    costs : Costs
        By which print directions are compared; with the weights of the plan score.
    exact : bool
        Whether `part` is the part itself and measured as well as can be, so that the figures may
        be shown.
    resolution : float or None
        Of the support columns, mm; None for the best.
    """

    part: Solid
    seen: Bools
    costs: Costs
    exact: bool = False
    resolution: float | None = None
    # Pieces of the same mesh, print direction and seams have the same figures, and so have seams
    # between the same two pieces. What is kept are rows of nobody, without the pieces themselves.
    _known: dict[tuple[str, Vector | None, tuple[Vector, ...]], _Measures | None] = field(
        default_factory=dict
    )
    _known_seams: dict[tuple[str, str, Plane], tuple[SeamFigures, Room, Room] | None] = field(
        default_factory=dict
    )

    def draft(
        self,
        cuts: tuple[Cut, ...],
        ups: Mapping[str, Vector] | None = None,
        report: Report = silent,
    ) -> Draft | None:
        """Cut, orient and score a plan.

        Parameters
        ----------
        cuts : tuple of Cut
        ups : mapping of piece name to print direction, optional
            Chosen here for pieces that are not in it.
        report : progress callback

        Returns
        -------
        Draft or None
            None if a cut divides nothing, a piece fits in no direction or is a sliver, or a seam
            leaves a thin skin.
        """
        division = self._divided(cuts, part_of(report, 0.0, 0.4))
        if division is None or division.findings:
            return None
        if any(self._leaves_skin(seam, division) for seam in division.seams):
            return None
        rows = self._measured_pieces(division, ups or {}, part_of(report, 0.4, 0.8))
        if rows is None:
            return None
        seams = []
        for index, seam in enumerate(division.seams):
            report(0.8 + 0.2 * index / len(division.seams), f"measuring seam {seam.name}")
            seams.append(self._measured_seam(seam, division))
        costs = self.costs
        figures = Figures(
            self.part, costs.printer, tuple(rows), tuple(seams), self.exact, self.seen,
            costs.under_load,
        )  # fmt: skip
        return Draft(cuts, division, scorecard(figures, costs.weights))

    def ups(self, cuts: tuple[Cut, ...], report: Report = silent) -> dict[str, Vector] | None:
        """Choose how each piece of a plan prints; None where `draft` would return it for a piece.

        Seams are not looked at.
        """
        division = self._divided(cuts, silent)
        rows = None if division is None else self._measured_pieces(division, {}, report)
        return None if rows is None else {row.name: row.up for row in rows}

    def _divided(self, cuts: tuple[Cut, ...], report: Report) -> Division | None:
        """Cut the part; None if a cut names a piece that it does not divide."""
        try:
            return divide(self.part, cuts, report, self._cutter)
        except CutError:
            return None

    @cached_property
    def _cutter(self) -> Cutter:
        return RememberedCuts(self.part, _REMEMBERED) if self._remembers else cut_piece

    @cached_property
    def _remembers(self) -> bool:
        return len(self.part.faces) <= _REMEMBERED

    def _leaves_skin(self, seam: Seam, division: Division) -> bool:
        """Return whether a seam leaves a thin skin."""
        key = _seam_key(seam, division)
        if key in self._known_seams:
            return self._known_seams[key] is None
        skin = any(thin_skins(seam, division, self.costs.printer.line_width))
        if skin and self._remembers:
            self._known_seams[key] = None
        return skin

    def _measured_seam(self, seam: Seam, division: Division) -> SeamRow:
        """Measure a seam that leaves no skin."""
        key = _seam_key(seam, division)
        known = self._known_seams.get(key)
        if known is None:
            row = measure_seam(seam, division, self.seen, self.costs.printer)
            known = row.figures, row.room, row.deep_room
            if self._remembers:
                self._known_seams[key] = known
        return SeamRow(seam, *known)

    def _measured_pieces(
        self, division: Division, ups: Mapping[str, Vector], report: Report
    ) -> list[PieceFigures] | None:
        """Orient and measure all pieces; None if one fits in no direction or is a sliver."""
        rows = []
        count = len(division.pieces)
        for index, piece in enumerate(division.pieces):
            here = part_of(report, index / count, (index + 1) / count)
            here(0.0, f"choosing how piece {piece.number} prints")
            normals = seam_normals(division, piece)
            key = (piece.solid.fingerprint, ups.get(piece.name), normals)
            if key in self._known:
                known = self._known[key]
            else:
                row = self._measured(piece, ups.get(piece.name), normals, here)
                known = None if row is None else (row.up, row.fit, row.overhang, row.support)
                if self._remembers:
                    self._known[key] = known
            if known is None:
                return None
            rows.append(PieceFigures(piece, *known))
        return rows

    def _measured(
        self, piece: Piece, up: Vector | None, normals: tuple[Vector, ...], report: Report
    ) -> PieceFigures | None:
        printer = self.costs.printer
        if any(thick_enough(piece, printer.line_width)):
            return None
        if up is not None:
            row = measure_piece(piece, up, printer, self.resolution)
            if row.fit.fits:
                return row
        return oriented(piece, self.costs, normals, resolution=self.resolution, report=report)


def _seam_key(seam: Seam, division: Division) -> tuple[str, str, Plane]:
    below, above = division.piece(seam.below), division.piece(seam.above)
    return below.solid.fingerprint, above.solid.fingerprint, seam.plane


def light_drafter(standing: Standing, costs: Costs) -> Drafter:
    """Return what chooses print directions on a stand-in."""
    solid = standing.solid
    return Drafter(solid, standing.seen, costs, resolution=solid.size / 250)
