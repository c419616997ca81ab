"""The scorecard as text: the same tables on the terminal and in ``scorecard.txt``."""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from rich.console import Console, Group, RenderableType
from rich.table import Table
from rich.text import Text

from splitplanner.findings import Finding, Severity, called, counted, listed
from splitplanner.output.brace_tables import brace_blocks, brace_steps, step_words
from splitplanner.output.cautions import cautions_of
from splitplanner.output.parts_list import NeededPart, needed_parts
from splitplanner.output.printing_tables import bed_blocks, printing_blocks
from splitplanner.output.result import Result
from splitplanner.output.strength_tables import strength_blocks
from splitplanner.output.surface_tables import good_side_blocks, wall_blocks
from splitplanner.output.text_tables import add_row, direction_words, empty_table, titled
from splitplanner.plan import Joint
from splitplanner.score import REFERENCE_PIN, Term
from splitplanner.suggest import Proposal
from splitplanner.workshop import overhang_words

WIDTH = 110
"""Columns of the text file."""

_STYLE = {Severity.NOTE: "dim", Severity.WARNING: "yellow", Severity.FAULT: "bold red"}
_RANK = (Severity.FAULT, Severity.WARNING, Severity.NOTE)


def scorecard_text(result: Result) -> str:
    """Return the scorecard as plain text."""
    return plain_text(scorecard_tables(result))


def plain_text(content: RenderableType) -> str:
    """Return what rich would print as plain text, the same whatever the terminal."""
    stream = io.StringIO()
    console = Console(
        file=stream,
        width=WIDTH,
        color_system=None,
        force_terminal=False,
        force_jupyter=False,
        legacy_windows=False,
        highlight=False,
        _environ={},
    )
    console.print(content)
    return "\n".join(line.rstrip() for line in stream.getvalue().splitlines()) + "\n"


def scorecard_tables(result: Result) -> RenderableType:
    """Return everything for printing with rich."""
    return Group(*_blocks(result))


def _blocks(result: Result) -> Iterator[RenderableType]:
    yield from _heading(result)
    if result.suggestion is not None:
        yield titled("Proposals, the best first; a lower score is better")
        yield proposals_table(result.suggestion.proposals)
    yield titled("Pieces, each in its print direction")
    yield _pieces_table(result)
    yield Text(f"\n{overhang_words(result.plan.printer, result.plan.material)}")
    yield from good_side_blocks(result)
    yield from printing_blocks(result)
    yield from bed_blocks(result)
    if result.division.seams:
        yield titled(f"Seams, with the room for dowel pins of {REFERENCE_PIN:g} mm")
        yield _seams_table(result)
        yield titled("What holds the seams")
        yield _joints_table(result)
    yield from wall_blocks(result)
    yield from strength_blocks(result)
    yield from brace_blocks(result)
    parts = needed_parts(result.plan, result.shelf, result.braces)
    if parts:
        yield titled("What it takes")
        yield _parts_table(parts)
    yield titled("Plan score: weight x value / reference, added up")
    yield _score_table(result)
    if any(term.applies and not term.counts for term in result.card.terms):
        yield titled("Of weight 0, so not in the plan score")
        yield _uncounted_table(result)
    if result.printing() is not None:
        yield Text(
            "\nThe criterion “print time” is a rough estimate for comparing plans; the hours of "
            "pieces are by their layers."
        )
    if result.division.seams:
        yield titled("Assembly, in this order; directions are those of the part")
        yield _assembly_table(result)
    yield titled("Findings")
    yield findings_table(result.findings)
    for caution in cautions_of(result):
        yield Text(f"\nCaution: {caution}")


def _heading(result: Result) -> Iterator[Text]:
    part, bed = result.source.solid, result.plan.printer.bed
    size = " x ".join(f"{extent:.1f}" for extent in part.extents)
    yield Text(f"{result.title}: {size} mm, {part.volume / 1000:.1f} cm³", style="bold")
    count = len(result.division.pieces)
    pieces = f"{counted(count, 'piece')} on a bed of {bed} mm"
    if not result.division.seams and count == 1:
        pieces += ", which the part fits uncut"
    elif result.bound.pieces > 1:
        pieces += f"; fewer than {result.bound.pieces} cannot do: {result.bound.reason}"
    yield Text(f"{pieces}.")
    yield Text(
        "The plan is sound." if result.is_sound else "The plan is NOT SOUND: see the faults below."
    )


def proposals_table(proposals: Sequence[Proposal]) -> Table:
    """Return the table that compares proposals."""
    table = empty_table(
        "\n", "\npieces", "\nscore", "overhang\ncm²", "support\ncm³", "seam seen\nmm", "hidden\nmm",
        "seams with\nroom for pins", "\nwhy", wide="\nwhy",
    )  # fmt: skip
    for proposal in proposals:
        figures = proposal.draft.card.figures
        roomy = sum(row.deep_room.count >= 2 for row in figures.seams)
        add_row(
            table,
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
    table = empty_table(
        "\n", "\nname", "size\nmm", "volume\ncm³", "\nup", "height\nmm", "room to\nspare",
        "overhang\ncm²", "on bed\ncm²", "support\ncm³", left=["\nname", "\nup"],
    )  # fmt: skip
    for row in result.card.figures.pieces:
        add_row(
            table,
            str(row.piece.number),
            row.piece.name,
            " x ".join(f"{extent:.0f}" for extent in row.piece.solid.extents),
            f"{row.piece.solid.volume / 1000:.1f}",
            direction_words(row.up),
            f"{row.fit.height:.1f}",
            f"{100 * (row.fit.spare - 1):.1f} %",
            f"{row.overhang.area / 100:.1f}",
            f"{row.overhang.contact_area / 100:.1f}",
            f"{row.support.volume / 1000:.1f}",
        )
    return table


def _seams_table(result: Result) -> Table:
    table = empty_table(
        "\n", "\npieces", "seen\nmm", "hidden\nmm", "area\nmm²", "room\nmm²", "pins\nfit",
        "deep\nenough", "lever arms\nmm",
    )  # fmt: skip
    for row in result.card.figures.seams:
        add_row(
            table,
            row.seam.name,
            f"{result.number(row.seam.below)} + {result.number(row.seam.above)}",
            f"{row.figures.seen_length:.0f}",
            f"{row.figures.hidden_length:.0f}",
            f"{row.figures.area:.0f}",
            f"{row.room.area:.0f}",
            str(row.room.count),
            str(row.deep_room.count),
            " / ".join(f"{arm:.0f}" for arm in row.deep_room.lever_arm),
        )
    return table


def _joints_table(result: Result) -> Table:
    table = empty_table(
        "", "pins", "screws", "flange", "besides", left=["pins", "screws", "flange"],
        wide="besides",
    )  # fmt: skip
    for row in result.card.figures.seams:
        joint = result.plan.joint(row.seam.name)
        flange = joint.flange
        add_row(
            table,
            row.seam.name,
            _grouped(f"{pin.diameter:g} x {pin.length:g}" for pin in joint.pins),
            _grouped(f"{each.size} x {each.length:g}" for each in joint.screws),
            "-" if flange is None else f"{flange.width:g} wide, {flange.thickness:g} thick",
            ", ".join(_besides(joint)) or "-",
        )
    return table


def _grouped(sizes: Iterable[str]) -> str:
    """Return how many of each size there are, as ``2 of 3 x 10``; “none” if there are none."""
    counts = Counter(sizes)
    return ", ".join(f"{count} of {size}" for size, count in sorted(counts.items())) or "none"


def _besides(joint: Joint) -> Iterator[str]:
    if joint.register is not None:
        yield f"{joint.register.form}, {joint.register.height:g} mm high"
    if joint.tape is not None:
        plies = "ply" if joint.tape.plies == 1 else "plies"
        yield (
            f"{joint.tape.plies} {plies} of {joint.tape.fibre} tape, {joint.tape.width:.0f} mm wide"
        )


def _parts_table(parts: Sequence[NeededPart]) -> Table:
    table = empty_table("amount", "name", "what", left=["name"], wide="what")
    for part in parts:
        add_row(table, part.amount, part.name, part.what)
    return table


def _score_table(result: Result) -> Table:
    table = empty_table(
        "criterion", "value", "unit", "reference", "weight", "adds", left=["criterion", "unit"]
    )
    for term in result.card.terms:
        if term.counts:
            add_row(table, *_figure_of(term), f"{term.weight:g}", f"{term.contribution:.3f}")
    add_row(table, "plan score", "", "", "", "", f"{result.card.total:.3f}", style="bold")
    return table


def _uncounted_table(result: Result) -> Table:
    table = empty_table("criterion", "value", "unit", "reference", left=["criterion", "unit"])
    for term in result.card.terms:
        if term.applies and not term.counts:
            add_row(table, *_figure_of(term))
    return table


def _figure_of(term: Term) -> tuple[str, str, str, str]:
    """Return name, value, unit and reference of a criterion."""
    criterion = term.criterion
    return criterion.name, f"{term.value:.4g}", criterion.unit, f"{criterion.reference:g}"


def _assembly_table(result: Result) -> Table:
    steps, braces = result.assembly(), brace_steps(result)
    table = empty_table("step", "what", wide="what")
    for number, step in enumerate(steps, 1):
        seams = called("seam", [seam.name for seam in step.seams])
        pins = f"on {counted(step.pins, 'pin')}" if step.pins else "without pins"
        pins += f"; then tighten {counted(step.screws, 'screw')}" if step.screws else ""
        taped = [seam.name for seam in step.seams if result.plan.joint(seam.name).tape is not None]
        pins += f"; then tape {listed(taped)}" if taped else ""
        one, other = (called("piece", side) for side in (step.moving, step.standing))
        add_row(
            table,
            str(number),
            f"push {one} onto {other} along {direction_words(step.direction)}: {seams}, {pins}",
        )
    for brace in braces:
        add_row(table, str(brace.number), step_words(brace))
    return table


def findings_table(findings: Sequence[Finding]) -> RenderableType:
    """Return all findings, faults first, those of one kind together and by seam."""
    if not findings:
        return Text("Nothing to report.")
    table = empty_table("", "what", left=[""], wide="what")
    for finding in sorted(findings, key=_place):
        add_row(table, str(finding.severity), finding.message, style=_STYLE[finding.severity])
    return table


def _place(finding: Finding) -> tuple[int, str, tuple[tuple[int, str], ...]]:
    """Return what a finding is sorted by; seam S2 comes before S10."""
    parts = re.findall(r"\d+|\D+", finding.subject)
    natural = tuple((int(part), "") if part.isdigit() else (0, part) for part in parts)
    return _RANK.index(finding.severity), finding.kind, natural
