"""Judging: a plan is cut exactly, measured, and held against soundness and wishes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from splitplanner.errors import WorkshopError
from splitplanner.findings import faults
from splitplanner.messages import as_received
from splitplanner.plan import Vector
from splitplanner.progress import Report, part_of, silent
from splitplanner.score import Wishes, broken_wishes, seam_blocked, soundness
from splitplanner.score.keep_out import TOUCH
from splitplanner.score.wishes import GoodSide
from splitplanner.solid import Solid
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.drafting import Draft, Drafter, light_drafter
from splitplanner.suggest.estimate import Estimate
from splitplanner.suggest.second import Cuts
from splitplanner.suggest.standing_in import Standing
from splitplanner.workshop import Printer

_SEAM_OFF = 0.02
"""Lengths of seams on a stand-in are off by up to this share."""


@dataclass(frozen=True, eq=False)
class Verdict:
    """What became of a plan.

    Attributes
    ----------
    draft : Draft or None
        None if it is not sound or does not keep the wishes.
    broken : str
        The first wish that a sound plan does not keep, a sentence.
    """

    draft: Draft | None
    broken: str = ""


@dataclass(frozen=True, eq=False)
class Judge:
    """Cuts plans of one part exactly; the same in any process.

    Attributes
    ----------
    part : Solid
    standing : Standing
    costs : Costs
    wishes : Wishes
    """

    part: Solid
    standing: Standing
    costs: Costs
    wishes: Wishes

    @property
    def is_light(self) -> bool:
        """Whether the part stands for itself."""
        return self.standing.solid is self.part

    def ups(self, cuts: Cuts, report: Report = silent) -> dict[str, Vector] | None:
        """Return how the pieces of a plan print best on the stand-in; None if one is unsound."""
        return self._light.ups(cuts, report)

    def verdict(
        self, cuts: Cuts, ups: Mapping[str, Vector] | None = None, report: Report = silent
    ) -> Verdict:
        """Cut a plan in the print directions that are best on the stand-in, and judge it.

        Parameters
        ----------
        cuts : tuple of Cut
        ups : mapping of piece name to print direction, optional
            From `ups`; found here without.
        report : progress callback
        """
        if ups is None:
            ups = {} if self.is_light else self.ups(cuts, part_of(report, 0.0, 0.3))
        if ups is None:
            return Verdict(None)
        draft = self._exact.draft(cuts, ups, part_of(report, 0.3, 0.8))
        if draft is None:
            return Verdict(None)
        checking = part_of(report, 0.8, 1.0)
        printer = self.costs.printer
        # The draft has been looked over for thin skins.
        fits = {row.name: row.fit for row in draft.card.figures.pieces}
        found = soundness(
            draft.division, draft.ups, draft.cuts, printer, checking, skins=False, fits=fits
        )
        if faults(found):
            return Verdict(None)
        broken = broken_wishes(draft.card.figures, self.wishes)
        if broken:
            return Verdict(None, broken[0].message)
        return Verdict(self._at_rest(draft))

    def _at_rest(self, draft: Draft) -> Draft:
        """Return a draft with its score worked out and its pieces out of the kernel.

        So it takes little memory, and is the same from whatever process it comes.
        """
        _ = draft.score
        for piece in draft.division.pieces:
            piece.solid.forget()
        if self.is_light:
            return draft
        rested: Draft = as_received(draft, [self._solid], [self.part])
        return rested

    @cached_property
    def _exact(self) -> Drafter:
        part = self.part if self.is_light else self._solid
        return Drafter(part, self.standing.part_seen, self.costs, exact=True)

    @cached_property
    def _light(self) -> Drafter:
        return light_drafter(self.standing, self.costs)

    @cached_property
    def _solid(self) -> Solid:
        """The part as both processes cut it."""
        return self.part.anew()

    def at_first_sight(self, plan: Estimate, report: Report = silent) -> Draft | None:
        """Return a plan cut from the stand-in and measured coarsely; None if it may be unsound.

        What is shown is sound on the part too, as far as that is told by surfaces that lie within
        the stand-in's tolerance: pieces fit a bed that is smaller by it on every side and lower by
        twice as much, everything is thick enough for a line that is wider by twice as much too,
        and wishes are kept with as much to spare.
        """
        standing = self.standing
        printer = _cautious(self.costs.printer, standing.tolerance)
        if printer is None:
            return None
        coarse = standing.solid.size / 100
        drafter = Drafter(standing.solid, standing.seen, self.costs, resolution=coarse)
        draft = drafter.draft(plan.sketch.cuts, plan.ups, part_of(report, 0.0, 0.7))
        if draft is None:
            return None
        checking = part_of(report, 0.7, 1.0)
        if faults(soundness(draft.division, draft.ups, draft.cuts, printer, checking)):
            return None
        return draft if self._keeps_wishes(draft) else None

    def _keeps_wishes(self, draft: Draft) -> bool:
        """Return whether a draft of the stand-in keeps the wishes with something to spare."""
        if self.wishes == Wishes():
            return True
        near, wishes = self.standing.tolerance, self.wishes
        longest, least = wishes.longest_seam, wishes.smallest_piece
        # Faces are named by their numbers on the part.
        elsewhere = replace(
            wishes,
            keep_out=(),
            good_side=GoodSide(),
            longest_seam=None if longest is None else longest * (1 - _SEAM_OFF),
            smallest_piece=None if least is None else least + 2 * near,
        )
        return not broken_wishes(draft.card.figures, elsewhere) and not any(
            seam_blocked(seam.section, self.part, wishes, max(near, TOUCH))
            for seam in draft.division.seams
        )


def _cautious(printer: Printer, tolerance: float) -> Printer | None:
    """Return a printer for which surfaces may be off by a tolerance (mm); None if none is left."""
    bed = printer.bed
    try:
        smaller = replace(bed, margin=bed.margin + tolerance, height=bed.height - 2 * tolerance)
    except WorkshopError:
        return None
    return replace(printer, bed=smaller, line_width=printer.line_width + 2 * tolerance)
