"""Drafts: plans that have really been cut, with every piece in a print direction, and scored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from splitplanner.arrays import Bools
from splitplanner.errors import CutError
from splitplanner.plan import Cut, Division, Halves, Piece, Seam, Vector, cut_piece, divide
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import (
    Figures,
    PieceFigures,
    Scorecard,
    SeamRow,
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
    """Cuts plans of one part, and remembers what comes up again.

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
    # What was computed before; solids are kept with it, so that their ids stay theirs.
    _pieces: dict[tuple[str, Vector | None], PieceFigures | None] = field(default_factory=dict)
    _halves: dict[tuple[int, Plane], tuple[Solid, Halves | None]] = field(default_factory=dict)
    _seams: dict[tuple[int, int, Plane], tuple[tuple[Solid, Solid], SeamRow | None]] = field(
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
        division = self._divided(cuts)
        if division is None or division.findings:
            return None
        rows = self._measured_pieces(division, ups or {}, part_of(report, 0.0, 0.8))
        if rows is None:
            return None
        report(0.8, "measuring the seams")
        seams = []
        for seam in division.seams:
            measured = self._measured_seam(division, seam)
            if measured is None:
                return None
            seams.append(measured)
        figures = Figures(
            self.part, self.costs.printer, tuple(rows), tuple(seams), self.exact, self.seen
        )
        return Draft(cuts, division, scorecard(figures, self.costs.weights))

    def ups(self, cuts: tuple[Cut, ...], report: Report = silent) -> dict[str, Vector] | None:
        """Choose how each piece of a plan prints; None where `draft` would return it for a piece.

        Seams are not looked at.
        """
        division = self._divided(cuts)
        rows = None if division is None else self._measured_pieces(division, {}, report)
        return None if rows is None else {row.name: row.up for row in rows}

    def _divided(self, cuts: tuple[Cut, ...]) -> Division | None:
        """Cut the part; None if a cut names a piece that it does not divide."""
        try:
            return divide(self.part, cuts, cutter=self._cut)
        except CutError:
            return None

    def _measured_pieces(
        self, division: Division, ups: Mapping[str, Vector], report: Report
    ) -> list[PieceFigures] | None:
        """Orient and measure all pieces; None if one fits in no direction or is a sliver."""
        rows = []
        for index, piece in enumerate(division.pieces):
            report(index / len(division.pieces), f"choosing how piece {piece.number} prints")
            row = self._measured_piece(division, piece, ups.get(piece.name))
            if row is None:
                return None
            rows.append(row)
        return rows

    def forget(self) -> None:
        """Drop what was remembered of cuts and seams: of large parts that is gigabytes."""
        self._halves.clear()
        self._seams.clear()

    def _cut(self, name: str, solid: Solid, plane: Plane) -> Halves | None:
        """Divide a piece, or remember how; equal pieces then are the very same object."""
        key = (id(solid), plane)
        if key not in self._halves:
            self._halves[key] = (solid, cut_piece(name, solid, plane))
        return self._halves[key][1]

    def _measured_piece(
        self, division: Division, piece: Piece, up: Vector | None
    ) -> PieceFigures | None:
        key = (piece.solid.fingerprint, up)
        if key not in self._pieces:
            self._pieces[key] = self._look_at(division, piece, up)
        found = self._pieces[key]
        return None if found is None else replace(found, piece=piece)

    def _look_at(self, division: Division, piece: Piece, up: Vector | None) -> PieceFigures | None:
        printer = self.costs.printer
        if any(thick_enough(piece, printer.line_width)):
            return None
        if up is not None:
            row = measure_piece(piece, up, printer, self.resolution)
            if row.fit.fits:
                return row
        normals = seam_normals(division, piece)
        return oriented(piece, self.costs, normals, resolution=self.resolution)

    def _measured_seam(self, division: Division, seam: Seam) -> SeamRow | None:
        """Measure a seam, or remember its figures; None if it leaves a thin skin."""
        printer = self.costs.printer
        solids = (division.piece(seam.below).solid, division.piece(seam.above).solid)
        key = (id(solids[0]), id(solids[1]), seam.plane)
        if key not in self._seams:
            thin = any(thin_skins(seam, division, printer.line_width))
            row = None if thin else measure_seam(seam, division, self.seen, printer)
            self._seams[key] = (solids, row)
        found = self._seams[key][1]
        return None if found is None else replace(found, seam=seam)


def light_drafter(standing: Standing, costs: Costs) -> Drafter:
    """Return what chooses print directions on a stand-in."""
    solid = standing.solid
    return Drafter(solid, standing.seen, costs, resolution=solid.size / 250)
