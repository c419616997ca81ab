"""Places at which a print may fail, by how the pieces are cut and which way up they lie."""

from __future__ import annotations

from splitplanner.findings import Finding
from splitplanner.score.criterion import Criterion
from splitplanner.score.figures import Figures
from splitplanner.score.printability.findings import lying_findings


def _risks(figures: Figures) -> float:
    return sum(
        _counted(finding)
        for row in figures.pieces
        for finding in lying_findings(row.piece, row.up, row.overhang, figures.printer)
    )


def _counted(finding: Finding) -> float:
    """Return for how many places a finding counts.

    Each sharp tip, each round hole that is too small and each underside that is too long to bridge
    is one. Long and thin contact is one, whichever end comes off. Corners that may curl up do so
    together: a piece counts by its furthest one, which is one place where corners begin to curl
    and two at twice that distance.
    """
    if finding.kind == "print.warp":
        assert finding.measured is not None
        assert finding.allowed is not None
        return finding.measured / finding.allowed
    return 1.0 if finding.kind == "print.contact" else float(len(finding.where))


# Four corners, two tips and a few bridges: what a maker looks at one by one.
PRINT_RISKS = Criterion("printing risks", "places", 10.0, 0.0, _risks, adds_up=True)
