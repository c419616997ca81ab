"""Examining a plan: cutting it, measuring it, joining it and checking it, again and again.

Plans that are changed step by step share most of their cuts, pieces and seams. What has been cut
and measured is remembered, so that the next plan costs what is new in it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import shapely

from splitplanner.arrays import Bools, Floats
from splitplanner.findings import Finding
from splitplanner.joint import (
    Maker,
    assembly_of,
    check_allowances,
    check_joints,
    check_sense,
    is_sensible_joint,
    join,
    left_open,
    screw_by_hand,
    sensible,
    sloping,
    with_room_to_shrink,
)
from splitplanner.output import Result
from splitplanner.plan import (
    UP,
    Division,
    Joint,
    Loading,
    Piece,
    Plan,
    RememberedCuts,
    Screw,
    Seam,
    Vector,
    divide,
    with_own_followed,
)
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import (
    BedFit,
    Figures,
    GoodSide,
    LayeredPrint,
    Overhang,
    PieceFigures,
    Room,
    SeamFigures,
    SeamRow,
    Support,
    Surfaces,
    Wishes,
    broken_wishes,
    good_side,
    layered_print,
    layering,
    measure_piece,
    measure_seam,
    print_findings,
    printable,
    scorecard,
    soundness,
)
from splitplanner.solid import Plane, ReadPart, Solid
from splitplanner.strength import WholeUnderLoad, under_loads
from splitplanner.suggest import Costs, LowerBound, lower_bound, oriented, seam_normals
from splitplanner.workshop import Bed, Material, Printer, Shelf, hardware_shelf

_REMEMBERED = 1_000_000
"""So many faces of pieces are kept; some 100 bytes each."""
_MEASURED = 64
"""Figures of so many pieces and seams are kept."""
_BESIDE = 0.2
"""What is no further from a seam, or its outline, than this lies on it, mm: lines of flanges are
simpler than outlines."""
_ON_PLANE = 1e-6
"""A fastener lies on its seam when it is no further from its plane, mm."""

Hand = Callable[[object], None]
"""Takes what is known already: first the `Division`, then its `Figures`."""


def _to_nobody(known: object) -> None:
    """Take what is known already, and do nothing with it."""


class Examiner:
    """Examines plans of one part.

    Parameters
    ----------
    source : ReadPart
    shelf : Shelf, optional
        Hardware to choose from; the built-in tables by default.
    """

    def __init__(
        self,
        source: ReadPart,
        shelf: Shelf | None = None,
    ) -> None:
        self.source = source
        self.shelf = shelf or hardware_shelf()
        self._maker = Maker()
        self._seen: dict[GoodSide, Bools] = {}
        self._cutter = RememberedCuts(source.solid, _REMEMBERED)
        # The solids that the cutter remembers are the same objects each time.
        self._measured = lru_cache(_MEASURED)(_measures_of)
        self._look_at = lru_cache(_MEASURED)(_print_findings_of)
        self._layered = lru_cache(_MEASURED)(_print_of)
        self._bound = lru_cache(4)(self._lower_bound)
        self._loads: dict[
            tuple[tuple[Loading, ...], Material | None], tuple[WholeUnderLoad, ...]
        ] = {}
        self.surfaces = Surfaces()
        self._seams: dict[tuple[Solid, Solid, Plane, Printer], tuple[SeamFigures, Room, Room]] = {}

    @property
    def maker(self) -> Maker:
        """What makes the pieces; it remembers what it has made."""
        return self._maker

    def seen(self, wishes: Wishes | None = None, report: Report = silent) -> Bools:
        """Return the faces of the part on the good side, (m,), as wished or as it is found."""
        wished = wishes or Wishes()
        if wished.good_side not in self._seen:
            report(0.0, "finding the good side")
            # One is worked with at a time.
            self._seen = {wished.good_side: good_side(self.source.solid, wished)}
            self._seams.clear()
        return self._seen[wished.good_side]

    def examine(
        self,
        plan: Plan,
        title: str,
        *,
        completing: bool = False,
        weights: Mapping[str, float] | None = None,
        wishes: Wishes | None = None,
        spool_left: float | None = None,
        report: Report = silent,
        hand: Hand = _to_nobody,
    ) -> Result:
        """Cut, measure and check a plan.

        Parameters
        ----------
        plan : Plan
        title : str
            Name of the part, for headings.
        completing : bool
            Whether what the plan leaves open is filled in, and the result's plan has it: a print
            direction for pieces that have none or do not fit in it, and what holds seams of which
            nothing is said, or whose pins and screws are not on them any more.
        weights : mapping of criterion name to weight, optional
            Replaces default weights of the plan score.
        wishes : Wishes, optional
            What the plan does not keep of them is among the findings; the good side is theirs.
        spool_left : float, optional
            What is left on the started spool, g.
        report : progress callback
            What it raises ends the examination.
        hand : callable, optional
            Called with the `Division` and with its `Figures` as soon as they are known; again
            with the division where the pieces as they are printed, with flanges and holes, differ;
            and last with the figures of these, their layers and all.

        Raises
        ------
        CutError
            If a cut does not divide what it names.
        ValueError
            If a weight is given to a criterion that does not exist.
        """
        division = divide(self.source.solid, plan.cuts, part_of(report, 0.0, 0.15), self._cutter)
        hand(division)
        plan, renamed = with_own_followed(plan, division, self._cutter)
        if completing:
            choosing = part_of(report, 0.15, 0.2)
            plan = replace(plan, print_directions=self._ups(division, plan, weights, choosing))
        seen = self.seen(wishes, part_of(report, 0.2, 0.25))
        figures = self._figures(division, plan, seen, part_of(report, 0.25, 0.5))
        hand(figures)
        fits = {row.name: row.fit for row in figures.pieces}
        ups = {row.name: row.up for row in figures.pieces}
        checking = part_of(report, 0.5, 0.7)
        found = list(soundness(division, ups, plan.cuts, plan.machine, checking, fits=fits))
        found += renamed
        found += () if wishes is None else broken_wishes(figures, wishes)
        if completing:
            kept = kept_joints(division, plan)
            placing = part_of(report, 0.7, 0.85)
            joints, notes = join(
                division, plan, self.shelf, seen=seen, maker=self._maker, kept=kept, report=placing
            )
            plan = plan.with_joints(joints)
            found += notes
        # What somebody has edited beyond sense is found, and nothing is made of it.
        found += [each for joint in plan.joints for each in check_sense(joint)]
        made = sensible(plan)
        figures, more = self._made(division, made, figures, part_of(report, 0.85, 0.9))
        if more is not None:
            hand(replace(division, pieces=tuple(row.piece for row in figures.pieces)))
            found += more
        figures = self._by_layers(figures, part_of(report, 0.9, 0.95))
        hand(figures)
        report(0.95, "checking the joints")
        pieces = tuple(row.piece for row in figures.pieces)
        found += check_joints(
            division, made, self.shelf, seen=seen, maker=self._maker, pieces=pieces
        )
        found += left_open(division, plan)
        lying = {row.name: row.fit for row in figures.pieces}
        found += check_allowances(division, made, pieces, lying)
        # What does not fit the bed is to be cut before it matters how it prints.
        for row in (each for each in figures.pieces if each.fit.fits):
            report(0.955, f"looking at how piece {row.piece.number} prints")
            key = row.piece.name, row.piece.number, row.piece.solid, row.up, row.overhang
            found += self._look_at(*key, plan.machine, plan.material)
        order = assembly_of(division, made, pieces, self.shelf)
        found += order.findings
        good_sides = self.surfaces.good_sides(figures, part_of(report, 0.96, 0.98))
        walls = self.surfaces.walls(self.source.solid, plan.machine, part_of(report, 0.98, 1.0))
        found += walls.findings
        card = scorecard(figures, weights)
        bound = self._bound(plan.printer.bed)
        findings = (*self.source.findings, *once(found))
        report(1.0, "checked")
        result = Result(
            title, self.source, plan, division, card, bound, None, findings, order, self.shelf,
            good_sides=good_sides, walls=walls,
            braces=self._maker.braces(division, made, self.shelf),
        )  # fmt: skip
        return result.with_spool_left(spool_left)

    def set_screw(
        self,
        plan: Plan,
        seam: str,
        *,
        place: tuple[float, float] | None = None,
        index: int | None = None,
        wishes: Wishes | None = None,
        report: Report = silent,
    ) -> Screw:
        """Return a screw that somebody adds to a seam, or one of its screws as it has to be now.

        Parameters
        ----------
        plan, seam, place, index
            See `splitplanner.joint.screw_by_hand`.
        wishes : Wishes, optional
            The good side is theirs.
        report : progress callback

        Raises
        ------
        CutError
            If a cut does not divide what it names.
        JointError
            If none stands there.
        WorkshopError
            If the shelf has not what the screw takes.
        """
        division = divide(self.source.solid, plan.cuts, part_of(report, 0.0, 0.2), self._cutter)
        return screw_by_hand(
            division,
            plan,
            seam,
            self.shelf,
            seen=self.seen(wishes, part_of(report, 0.2, 0.3)),
            place=place,
            index=index,
            maker=self._maker,
            report=part_of(report, 0.3, 1.0),
        )

    def _lower_bound(self, bed: Bed) -> LowerBound:
        return lower_bound(self.source.solid, bed)

    def _under_load(self, plan: Plan, report: Report) -> tuple[WholeUnderLoad, ...]:
        """Return the uncut part under the load cases of a plan; what is wrong is told elsewhere."""
        key = plan.loadings, plan.material
        if key not in self._loads:
            # One is worked with at a time.
            self._loads = {key: under_loads(self.source.solid, *key, report=report).found}
        return self._loads[key]

    def _ups(
        self,
        division: Division,
        plan: Plan,
        weights: Mapping[str, float] | None,
        report: Report,
    ) -> dict[str, Vector]:
        """Return a print direction for every piece: the plan's, where the piece fits in it."""
        printer = with_room_to_shrink(plan.machine, plan.material)
        costs = Costs(division.part, printer, weights or {})
        ups = {}
        for index, piece in enumerate(division.pieces):
            report(index / len(division.pieces), f"choosing how piece {piece.number} prints")
            given = plan.print_directions.get(piece.name)
            if given and self._measured(piece.solid, given, printer)[1].fits:
                ups[piece.name] = given
                continue
            best = oriented(piece, costs, seam_normals(division, piece))
            # Of a piece that fits in no direction the figures are shown as it stands.
            ups[piece.name] = best.up if best is not None else given or UP
        return ups

    def _figures(self, division: Division, plan: Plan, seen: Bools, report: Report) -> Figures:
        steps = len(division.pieces) + len(division.seams)
        pieces, seams = [], []
        for index, piece in enumerate(division.pieces):
            report(index / steps, f"measuring piece {piece.number}")
            measures = self._measured(piece.solid, plan.up(piece.name), plan.machine)
            pieces.append(PieceFigures(piece, *measures))
        for index, seam in enumerate(division.seams, len(pieces)):
            report(index / steps, f"measuring seam {seam.name}")
            seams.append(self._seam(seam, division, seen, plan.machine))
        return Figures(
            division.part, plan.machine, tuple(pieces), tuple(seams), True, seen,
            self._under_load(plan, part_of(report, 1.0, 1.0)),
        )  # fmt: skip

    def _made(
        self, division: Division, plan: Plan, figures: Figures, report: Report
    ) -> tuple[Figures, list[Finding] | None]:
        """Return the figures of the pieces as they are printed, and what is wrong with these.

        None where nothing is added to any piece and nothing taken from it.
        """
        made = self._maker.make(division, plan, report, self.shelf)
        pairs = list(zip(made.pieces, division.pieces, strict=True))
        if all(piece.solid is bare.solid for piece, bare in pairs):
            return figures, list(made.findings) or None
        rows, found = [], list(made.findings)
        for piece, bare in pairs:
            row = PieceFigures(
                piece, *self._measured(piece.solid, plan.up(piece.name), plan.machine)
            )
            rows.append(row)
            if piece.solid is not bare.solid:
                found += printable(piece, row.fit, plan.machine)
        return replace(figures, pieces=tuple(rows)), found

    def _by_layers(self, figures: Figures, report: Report) -> Figures:
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


def kept_joints(division: Division, plan: Plan) -> dict[str, Joint]:
    """Return the joints of a plan that still lie on their seams, by name.

    An empty joint is kept too: somebody may have wanted it so; one of which nothing could be made
    is not, nor one whose flange or fasteners are beside the seam now, as when a cut across it was
    moved. How a flange slopes follows the print directions.
    """
    seams = {seam.name: seam for seam in division.seams}
    kept = {}
    for joint in plan.joints:
        seam = seams.get(joint.seam)
        if seam is None or not is_sensible_joint(joint):
            continue
        fasteners = joint.fasteners
        at = np.reshape([each.at for each in fasteners], (-1, 3))
        axes = np.reshape([each.axis for each in fasteners], (-1, 3))
        away = np.abs(seam.plane.height(at)) <= _ON_PLANE
        along = np.abs(axes @ np.array(seam.plane.normal)) >= 1.0 - _ON_PLANE
        if away.all() and along.all() and _is_on(seam, joint, at):
            kept[joint.seam] = sloping(joint, seam, plan)
    return kept


def _is_on(seam: Seam, joint: Joint, at: Floats) -> bool:
    """Whether a joint's fasteners, at (n, 3) mm, and its flange are where the seam is."""
    flange, section = joint.flange, seam.section.shape
    beside = shapely.distance(section, shapely.points(seam.plane.to_plane(at)))
    if bool((beside > (0.0 if flange is None else flange.width) + _BESIDE).any()):
        return False
    corners = [corner for line in (() if flange is None else flange.lines) for corner in line]
    off = shapely.distance(section.boundary, shapely.points(np.reshape(corners, (-1, 2))))
    return bool((off <= _BESIDE).all())


def once(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return findings without those that say the same of the same as one before them."""
    said = {(each.kind, each.subject, each.message): each for each in reversed(findings)}
    return tuple(each for each in findings if said[each.kind, each.subject, each.message] is each)
