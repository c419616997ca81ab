"""The spool that is started: how much is on it, and what that says of the plan at hand."""

from __future__ import annotations

from collections.abc import Sequence

from splitplanner.background.examined import Examined
from splitplanner.findings import Finding
from splitplanner.score import (
    BedLoad,
    Figures,
    PrintTotals,
    bed_prints,
    filament_findings,
    print_totals,
)
from splitplanner.workshop import Material


class StartedSpool:
    """What is left on it, and what follows from that, worked out once.

    Attributes
    ----------
    left : float or None
        g; None where it is not known.
    beds : (Examined, sequence of BedLoad) or None
        What is printed together, of the plan that was last put on beds.
    """

    def __init__(self) -> None:
        self.left: float | None = None
        self._of: tuple[Examined, Material | None, float | None] | None = None
        self._findings: tuple[Finding, ...] = ()
        self.beds: tuple[Examined, Sequence[BedLoad]] | None = None

    def use_beds(self, examined: Examined, loads: Sequence[BedLoad]) -> None:
        """Take note of what of a plan is printed together; until then each print is alone."""
        self.beds, self._of = (examined, loads), None

    def findings(self, examined: Examined, material: Material | None) -> tuple[Finding, ...]:
        """Return the findings of a plan, those about spools by what is at hand now."""
        of = self._of
        if of is None or of[0] is not examined or of[1:] != (material, self.left):
            self._of = (examined, material, self.left)
            others = [each for each in examined.findings if not each.kind.startswith("filament.")]
            if material is not None:
                figures, known = examined.card.figures, self.beds
                loads = known[1] if known is not None and known[0] is examined else ()
                beds = bed_prints(loads, figures, material)
                others += filament_findings(figures, material, self.left, beds)
            self._findings = tuple(others)
        return self._findings

    def totals(self, figures: Figures | None, material: Material | None) -> PrintTotals | None:
        """Return what all prints take; None while their layers are not known."""
        return None if figures is None else print_totals(figures, material, self.left)
