"""What is measured on plans of one part, remembered from one plan to the next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from splitplanner.arrays import Bools
from splitplanner.findings import Finding
from splitplanner.joint import Brace, MadePieces, with_room_to_shrink
from splitplanner.loaded import Chains
from splitplanner.plan import UP, Division, Loading, Piece, Plan, Seam, Vector
from splitplanner.progress import Report, part_of
from splitplanner.score import (
    BedFit,
    Figures,
    LayeredPrint,
    Overhang,
    PieceFigures,
    Room,
    SeamFigures,
    SeamRow,
    Support,
    layered_print,
    layering,
    measure_piece,
    measure_seam,
    print_findings,
    printable,
    rank_directions,
)
from splitplanner.solid import Plane, Solid
from splitplanner.strength import WholeUnderLoad, main_stress_direction, under_loads
from splitplanner.suggest import Costs, oriented, seam_normals
from splitplanner.workshop import Material, Printer

_MEASURED = 64
"""Figures of so many pieces and seams are kept."""
_DIRECTIONS = 200
"""So many ways up of a piece are looked at that has none yet."""


class Measures:
    """Measures pieces and seams of plans of one part.

    Parameters
    ----------
    chains : Chains
        Remembers sections of the part.
    """

    def __init__(self, chains: Chains) -> None:
        self._chains = chains
        # The solids that the cutter remembers are the same objects each time.
        self.measured = lru_cache(_MEASURED)(_measures_of)
        self.print_findings = lru_cache(_MEASURED)(_print_findings_of)
        self._layered = lru_cache(_MEASURED)(_print_of)
        self._loads: dict[
            tuple[tuple[Loading, ...], Material | None], tuple[WholeUnderLoad, ...]
        ] = {}
        self._seams: dict[tuple[Solid, Solid, Plane, Printer], tuple[SeamFigures, Room, Room]] = {}

    def forget_seams(self) -> None:
        """Forget what was measured of seams, as when the good side is another one."""
        self._seams.clear()

    def _under_load(self, part: Solid, plan: Plan, report: Report) -> tuple[WholeUnderLoad, ...]:
        """Return the uncut part under the load cases of a plan; what is wrong is told elsewhere."""
        key = plan.loadings, plan.material
        if key not in self._loads:
            # One is worked with at a time.
            self._loads = {key: under_loads(part, *key, report, self._chains.of).found}
        return self._loads[key]

    def ups(
        self,
        division: Division,
        plan: Plan,
        seen: Bools,
        weights: Mapping[str, float] | None,
        report: Report,
    ) -> dict[str, Vector]:
        """Return a print direction for every piece: the plan's, where the piece fits in it.

        Else the first one of the ranking; `seen` marks the part's faces on the good side, (m,).
        """
        printer = with_room_to_shrink(plan.machine, plan.material)
        costs = Costs(division.part, printer, weights or {})
        ups = {}
        for index, piece in enumerate(division.pieces):
            here = part_of(report, index / len(division.pieces), (index + 1) / len(division.pieces))
            here(0.0, f"choosing how piece {piece.number} prints")
            given = plan.print_directions.get(piece.name)
            if given and self.measured(piece.solid, given, printer)[1].fits:
                ups[piece.name] = given
                continue
            normals = seam_normals(division, piece)
            if oriented(piece, costs, normals) is None:
                # Of a piece that fits in no direction the figures are shown as it stands.
                ups[piece.name] = given or UP
                continue
            pulled = main_stress_direction(self._under_load(division.part, plan, here), piece.solid)
            ups[piece.name] = rank_directions(
                piece, division.part, seen, printer, seams=normals, load_direction=pulled,
                weights=weights, most=_DIRECTIONS, measured=1, report=here,
            ).best.up  # fmt: skip
        return ups

    def figures(self, division: Division, plan: Plan, seen: Bools, report: Report) -> Figures:
        """Return the figures of the pieces as they are cut, and of the seams."""
        steps = len(division.pieces) + len(division.seams)
        pieces, seams = [], []
        for index, piece in enumerate(division.pieces):
            report(index / steps, f"measuring piece {piece.number}")
            measures = self.measured(piece.solid, plan.up(piece.name), plan.machine)
            pieces.append(PieceFigures(piece, *measures))
        for index, seam in enumerate(division.seams, len(pieces)):
            report(index / steps, f"measuring seam {seam.name}")
            seams.append(self._seam(seam, division, seen, plan.machine))
        return Figures(
            division.part, plan.machine, tuple(pieces), tuple(seams), True, seen,
            self._under_load(division.part, plan, part_of(report, 1.0, 1.0)),
        )  # fmt: skip

    def made(
        self, made: MadePieces, division: Division, plan: Plan, figures: Figures
    ) -> tuple[Figures, list[Finding] | None]:
        """Return the figures of the pieces as they are printed, and what is wrong with these.

        None where nothing is added to any piece and nothing taken from it.
        """
        pairs = list(zip(made.pieces, division.pieces, strict=True))
        if all(piece.solid is bare.solid for piece, bare in pairs):
            return figures, list(made.findings) or None
        rows, found = [], list(made.findings)
        for piece, bare in pairs:
            row = PieceFigures(
                piece, *self.measured(piece.solid, plan.up(piece.name), plan.machine)
            )
            rows.append(row)
            if piece.solid is not bare.solid:
                found += printable(piece, row.fit, plan.machine)
        return replace(figures, pieces=tuple(rows)), found

    def by_layers(self, figures: Figures, report: Report) -> Figures:
        """Return the figures with what it takes to print each piece, by its layers."""
        rows = []
        for index, row in enumerate(figures.pieces):
            report(
                index / len(figures.pieces), f"working out the layers of piece {row.piece.number}"
            )
            held = row.support.volume
            printed = self._layered(row.piece.solid, row.up, held, figures.printer)
            rows.append(replace(row, printed=printed))
        return replace(figures, pieces=tuple(rows))

    def braces(self, braces: Sequence[Brace], printer: Printer) -> tuple[PieceFigures, ...]:
        """Return the figures of those braces that are printed, by their layers.

        Filled altogether, since their strength is worked out as if they were solid.
        """
        rows = []
        for number, brace in enumerate(braces, 1):
            if brace.wish.is_printed:
                piece = Piece(f"brace “{brace.wish.name}”", number, brace.solid)
                row = PieceFigures(
                    piece, *self.measured(brace.solid, brace.wish.plane.normal, printer)
                )
                held, filled = row.support.volume, replace(printer, infill=1.0)
                printed = self._layered(brace.solid, row.up, held, filled)
                rows.append(replace(row, printed=printed))
        return tuple(rows)

    def _seam(self, seam: Seam, division: Division, seen: Bools, printer: Printer) -> SeamRow:
        below, above = division.piece(seam.below).solid, division.piece(seam.above).solid
        key = below, above, seam.plane, printer
        known = self._seams.get(key)
        if known is None:
            row = measure_seam(seam, division, seen, printer)
            known = row.figures, row.room, row.deep_room
            while len(self._seams) >= _MEASURED:
                del self._seams[next(iter(self._seams))]
            self._seams[key] = known
        return SeamRow(seam, *known)


def _measures_of(
    solid: Solid, up: Vector, printer: Printer
) -> tuple[Vector, BedFit, Overhang, Support]:
    row = measure_piece(Piece("", 0, solid), up, printer)
    return up, row.fit, row.overhang, row.support


def _print_of(solid: Solid, up: Vector, support: float, printer: Printer) -> LayeredPrint:
    return layered_print(layering(solid, up, printer), printer, support)


def _print_findings_of(
    name: str,
    number: int,
    solid: Solid,
    up: Vector,
    hanging: Overhang,
    printer: Printer,
    material: Material | None,
) -> tuple[Finding, ...]:
    return print_findings(Piece(name, number, solid), up, hanging, printer, material=material)
