"""From a layout to a draft plan: the best offsets of its cuts, each piece's print direction."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field, replace

import numpy as np

from splitplanner.arrays import Bools
from splitplanner.errors import CutError
from splitplanner.plan import WHOLE, Cut, Division, Halves, Piece, Seam, Vector, cut_piece, divide
from splitplanner.progress import Report, silent
from splitplanner.score import (
    Figures,
    PieceFigures,
    Scorecard,
    SeamRow,
    measure_seam,
    scorecard,
    thick_enough,
    thin_skins,
)
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.candidates import profile_along
from splitplanner.suggest.layouts import Layout
from splitplanner.suggest.orienting import oriented, seam_normals
from splitplanner.workshop import Printer

_SWEEPS = 2

_SHORTEST_STEP = 2.0
"""Offsets are refined down to steps of this size, mm."""


@dataclass(frozen=True, eq=False)
class Draft:
    """A layout with its pieces oriented and scored."""

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


@dataclass
class Refiner:
    """Scores drafts of one part and moves their cuts to better places.

    Attributes
    ----------
    part : Solid
        The part or a light stand-in for it.
    seen : (m,) bool array
        Its faces on the good side.
    printer : Printer
    resolution : float or None
        Of the support columns, mm; None for the best.
    exact : bool
        Whether `part` is the part itself, so that the figures may be shown.
    """

    part: Solid
    seen: Bools
    printer: Printer
    resolution: float | None = None
    exact: bool = False
    # What was computed before; solids are kept with it, so that their ids stay theirs.
    _pieces: dict[str, PieceFigures | None] = field(default_factory=dict)
    _halves: dict[tuple[int, Plane], tuple[Solid, Halves | None]] = field(default_factory=dict)
    _seams: dict[tuple[int, int, Plane], tuple[tuple[Solid, Solid], SeamRow | None]] = field(
        default_factory=dict
    )

    def draft(self, cuts: tuple[Cut, ...], report: Report = silent) -> Draft | None:
        """Divide, orient and score; None if a piece fits in no direction or is a sliver."""
        try:
            division = divide(self.part, cuts, cutter=self._cut)
        except CutError:
            return None
        if division.findings:
            return None
        rows = []
        for index, piece in enumerate(division.pieces):
            report(0.8 * index / len(division.pieces), f"choosing how piece {piece.number} prints")
            row = self._oriented(division, piece)
            if row is None:
                return None
            rows.append(row)
        report(0.8, "measuring the seams")
        seams = []
        for seam in division.seams:
            measured = self._measured(division, seam)
            if measured is None:
                return None
            seams.append(measured)
        figures = Figures(self.part, self.printer, tuple(rows), tuple(seams), self.exact)
        return Draft(cuts, division, scorecard(figures))

    def _cut(self, name: str, solid: Solid, plane: Plane) -> Halves | None:
        """Divide a piece, or remember how; equal pieces then are the very same object."""
        key = (id(solid), plane)
        if key not in self._halves:
            self._halves[key] = (solid, cut_piece(name, solid, plane))
        return self._halves[key][1]

    def _measured(self, division: Division, seam: Seam) -> SeamRow | None:
        """Measure a seam, or remember its figures; None if it leaves a thin skin."""
        solids = (division.piece(seam.below).solid, division.piece(seam.above).solid)
        key = (id(solids[0]), id(solids[1]), seam.plane)
        if key not in self._seams:
            thin = any(thin_skins(seam, division, self.printer.line_width))
            row = None if thin else measure_seam(seam, division, self.seen, self.printer)
            self._seams[key] = (solids, row)
        found = self._seams[key][1]
        return None if found is None else replace(found, seam=seam)

    def _oriented(self, division: Division, piece: Piece) -> PieceFigures | None:
        key = piece.solid.fingerprint
        if key not in self._pieces:
            self._pieces[key] = None
            if not any(thick_enough(piece, self.printer.line_width)):
                self._pieces[key] = oriented(
                    piece,
                    self.part,
                    self.printer,
                    seam_normals(division, piece),
                    finalists=4 if self.exact else 2,
                    resolution=self.resolution,
                )
        found = self._pieces[key]
        return None if found is None else replace(found, piece=piece)

    def refine(self, layout: Layout, report: Report = silent) -> Draft | None:
        """Move the cuts of a layout, one at a time, as long as the plan score gets better.

        For each cut the places tried are where its piece's section is short, and shrinking steps
        to both sides. Returns None if no arrangement that was tried is sound.
        """
        # Other layouts share few cuts with this one, and all those solids take memory.
        self._halves.clear()
        self._seams.clear()
        best = self.draft(layout.cuts)
        cuts = layout.cuts
        rounds = list(itertools.product(range(_SWEEPS), range(len(cuts))))
        for turn, (sweep, index) in enumerate(rounds):
            places = self._places(cuts, index, sweep)
            for at, cut in enumerate(places):
                share = (turn + at / len(places)) / len(rounds)
                report(share, f"moving cut {index + 1} to better places")
                draft = self.draft((*cuts[:index], cut, *cuts[index + 1 :]))
                if draft is not None and (best is None or draft.score < best.score - 1e-6):
                    best = draft
            if best is not None:
                cuts = best.cuts
        return best

    def _places(self, cuts: tuple[Cut, ...], index: int, sweep: int) -> list[Cut]:
        cut = cuts[index]
        solid = self._target(cuts, index)
        if solid is None:
            return []
        direction = np.array(cut.plane.normal)
        heights = solid.hull.vertices @ direction
        low, high = float(heights.min()), float(heights.max())
        here = cut.plane.offset
        span = min(high - here, here - low)
        offsets: list[float] = []
        if sweep == 0:
            profile = profile_along(solid, direction, count=48)
            offsets += profile.natural_places(here - 0.4 * span, here + 0.4 * span, 3)
            offsets += [here - 0.12 * span, here + 0.12 * span]
        else:
            step = max(0.04 * span, _SHORTEST_STEP)
            offsets += [here - step, here + step]
        # Whole half millimetres: what a maker would write on the bench.
        neat = {round(2 * offset) / 2 for offset in offsets} - {here}
        return [
            Cut(Plane(cut.plane.normal, offset), cut.piece)
            for offset in sorted(neat)
            if low < offset < high
        ]

    def _target(self, cuts: tuple[Cut, ...], index: int) -> Solid | None:
        """Return what cut `index` divides: the named piece, or the whole part."""
        name = cuts[index].piece
        if name is None or name == WHOLE:
            return self.part
        before = divide(self.part, cuts[:index], cutter=self._cut)
        piece = before.by_name.get(name)
        return None if piece is None else piece.solid
