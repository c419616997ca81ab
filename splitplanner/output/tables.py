"""The scorecard as text: the same tables on the terminal and in ``scorecard.txt``."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from splitplanner.findings import Finding, Severity
from splitplanner.output.result import Result
from splitplanner.plan import Vector
from splitplanner.score import REFERENCE_PIN
from splitplanner.suggest import Proposal

WIDTH = 110
"""Columns of the text file."""

CAUTIONS = (
    "The strength of the seams has not been computed; the pins locate the pieces. Do not rely on "
    "the part where its failure could hurt someone without testing it and without the advice of a "
    "licensed professional and the codes that hold where you are.",
    "Wear eye protection when you break off supports, ream holes or press pins in, and read the "
    "safety data sheets of the filament and of any glue or resin you use.",
)

_STYLE = {Severity.NOTE: "dim", Severity.WARNING: "yellow", Severity.FAULT: "bold red"}


def scorecard_text(result: Result) -> str:
    """Return the scorecard as plain text."""
    stream = io.StringIO()
    console = Console(file=stream, width=WIDTH, no_color=True, highlight=False)
    console.print(scorecard_tables(result))
    return "\n".join(line.rstrip() for line in stream.getvalue().splitlines()) + "\n"


def scorecard_tables(result: Result) -> RenderableType:
    """Return everything for printing with rich."""
    return Group(*_blocks(result))


def _blocks(result: Result) -> Iterator[RenderableType]:
    part, plan = result.source.solid, result.plan
    size = " x ".join(f"{extent:.1f}" for extent in part.extents)
    sound = "sound" if result.is_sound else "NOT SOUND, see the faults below"
    yield Text(f"{result.title}: {size} mm, {part.volume / 1000:.1f} cm³")
    yield Text(
        f"Bed {plan.printer.bed} mm, {len(result.division.pieces)} pieces, plan {sound}. "
        f"Fewer than {result.bound.pieces} cannot do: {result.bound.reason}."
    )
    if result.suggestion is not None:
        yield proposals_table(result.suggestion.proposals)
    yield _pieces_table(result)
    yield _seams_table(result)
    yield _score_table(result)
    yield _assembly_table(result)
    yield findings_table(result.findings)
    for caution in CAUTIONS:
        yield Text(f"Caution: {caution}")


def _table(title: str, *columns: str, left: Sequence[str] = ()) -> Table:
    table = Table(title=f"\n{title}", title_justify="left", title_style="bold")
    for column in columns:
        table.add_column(column, justify="left" if column in left else "right")
    return table


def proposals_table(proposals: Sequence[Proposal]) -> Table:
    """Return the table that compares proposals."""
    table = _table(
        "Proposals (lower score is better)",
        "", "pieces", "score", "overhang cm²", "support cm³", "seam seen mm", "hidden mm",
        "seams with room", "why", left=["why"],
    )  # fmt: skip
    for proposal in proposals:
        figures = proposal.draft.card.figures
        roomy = sum(row.deep_room.count >= 2 for row in figures.seams)
        table.add_row(
            str(proposal.number),
            str(len(figures.pieces)),
            f"{proposal.draft.score:.3f}",
            f"{sum(row.overhang.area for row in figures.pieces) / 100:.1f}",
            f"{sum(row.support.volume for row in figures.pieces) / 1000:.1f}",
            f"{sum(row.figures.seen_length for row in figures.seams):.0f}",
            f"{sum(row.figures.hidden_length for row in figures.seams):.0f}",
            f"{roomy} of {len(figures.seams)}",
            proposal.reason,
        )
    return table


def _pieces_table(result: Result) -> Table:
    table = _table(
        "Pieces, each in its print direction",
        "", "name", "size mm", "volume cm³", "up", "height mm", "spare", "overhang cm²",
        "bed contact cm²", "support cm³", left=["name", "up"],
    )  # fmt: skip
    for row in result.card.figures.pieces:
        table.add_row(
            str(row.piece.number),
            row.piece.name,
            " x ".join(f"{extent:.0f}" for extent in row.piece.solid.extents),
            f"{row.piece.solid.volume / 1000:.1f}",
            _direction(row.up),
            f"{row.fit.height:.1f}",
            f"{row.fit.spare:.3f}",
            f"{row.overhang.area / 100:.1f}",
            f"{row.overhang.contact_area / 100:.1f}",
            f"{row.support.volume / 1000:.1f}",
        )
    return table


def _seams_table(result: Result) -> Table:
    table = _table(
        f"Seams (room for dowel pins of {REFERENCE_PIN:g} mm)",
        "", "pieces", "seen mm", "hidden mm", "area mm²", "room mm²", "fit", "deep enough",
        "lever arm mm", "pins placed", left=["pins placed"],
    )  # fmt: skip
    for row in result.card.figures.seams:
        pins = result.plan.joint(row.seam.name).pins
        sizes = sorted({f"{pin.diameter:g} x {pin.length:g}" for pin in pins})
        table.add_row(
            row.seam.name,
            f"{result.number(row.seam.below)} + {result.number(row.seam.above)}",
            f"{row.figures.seen_length:.0f}",
            f"{row.figures.hidden_length:.0f}",
            f"{row.figures.area:.0f}",
            f"{row.room.area:.0f}",
            str(row.room.count),
            str(row.deep_room.count),
            " / ".join(f"{arm:.0f}" for arm in row.deep_room.lever_arm),
            f"{len(pins)} of {', '.join(sizes)}" if pins else "none",
        )
    return table


def _score_table(result: Result) -> Table:
    table = _table(
        "Plan score: weight x value / reference, added up",
        "criterion", "value", "unit", "reference", "weight", "adds",
        left=["criterion", "unit"],
    )  # fmt: skip
    for term in result.card.terms:
        table.add_row(
            term.criterion.name,
            f"{term.value:.4g}",
            term.criterion.unit,
            f"{term.criterion.reference:g}",
            f"{term.weight:g}",
            f"{term.contribution:.3f}",
        )
    table.add_row("plan score", "", "", "", "", f"{result.card.total:.3f}")
    return table


def _assembly_table(result: Result) -> Table:
    table = _table("Assembly, in this order", "step", "what", left=["what"])
    for step, (seam, joint) in enumerate(result.assembly(), 1):
        below, above = result.number(seam.below), result.number(seam.above)
        pins = f" on {len(joint.pins)} pins" if joint.pins else ", without pins"
        table.add_row(
            str(step),
            f"push pieces {below} and {above} together at seam {seam.name}{pins}, along "
            f"{_direction(seam.plane.normal)} of the part",
        )
    return table


def findings_table(findings: Sequence[Finding]) -> RenderableType:
    """Return all findings, faults first."""
    if not findings:
        return Text("\nNothing to report.")
    table = _table("Findings", "", "what", left=["", "what"])
    rank = [Severity.FAULT, Severity.WARNING, Severity.NOTE]
    for finding in sorted(findings, key=lambda finding: rank.index(finding.severity)):
        table.add_row(str(finding.severity), finding.message, style=_STYLE[finding.severity])
    return table


def _direction(vector: Vector) -> str:
    """Return ``+x`` and the like for an axis, else the three components."""
    for index, axis in enumerate("xyz"):
        if abs(abs(vector[index]) - 1.0) < 1e-9:
            return ("+" if vector[index] > 0 else "-") + axis
    return "(" + " ".join(f"{component:.2f}" for component in vector) + ")"
