"""What is printed of a fit coupon: which hole is which, and how the best ones are entered."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from rich import box
from rich.console import Group, JustifyMethod, RenderableType
from rich.table import Table
from rich.text import Text

from splitplanner.errors import ExportError
from splitplanner.findings import counted
from splitplanner.joint.coupon import Coupon, Kind, Row
from splitplanner.output.cautions import IRON
from splitplanner.output.tables import findings_table
from splitplanner.workshop import Allowances, Insert, Printer, with_measured

FORMAT = "split plan fit coupon"
VERSION = 1

KINDS: dict[Kind, str] = {
    "hole": "round holes for pins",
    "slot": "slots for pins",
    "insert": "holes for heat-set inserts",
}
"""What the holes of a row are."""

EYES = (
    "Wear eye protection when you press pins in or out, and read the safety data sheet of the "
    "filament."
)
"""Goes with every coupon. Common practice of the trade."""
_COLUMNS: dict[str, JustifyMethod] = {
    "row": "left",
    "what": "left",
    "nominal, mm": "right",
    "numbers below its holes": "left",
}
_HOW = (
    "Print it flat, as the pieces will be printed. The number below a hole is what was added to "
    "its nominal diameter, in hundredths of a millimetre. Find the hole of each row that fits "
    "best, and enter the nominal diameter and that number divided by 100 into the file for "
    "--printer, above its table [bed]."
)
_SLOTS = (
    " Slots are drawn with the allowance of round holes: their rows only show whether that suits "
    "them."
)


def refuse_file(path: Path, overwrite: bool) -> None:
    """Refuse a file that is no place for a coupon.

    Raises
    ------
    ExportError
        If it is not called as an STL file is, or is there already and may not be replaced.
    """
    if path.suffix.lower() != ".stl":
        raise ExportError(
            f"The coupon is written as STL; give its file a name that ends with .stl, not {path}.",
            subject=str(path),
        )
    if path.exists() and not overwrite:
        raise ExportError(
            f"{path} is there already; choose another name, or give --overwrite to replace it.",
            subject=str(path),
        )


def numbers_of(row: Row) -> tuple[int, ...]:
    """Return the numbers that stand below the holes of a row: hundredths of a millimetre."""
    return tuple(round(allowance * 100) for allowance in row.allowances)


def cautions_of(coupon: Coupon) -> tuple[str, ...]:
    """Return what is to be taken care of when its holes are tried."""
    has_inserts = any(row.kind == "insert" for row in coupon.rows)
    return (EYES, IRON) if has_inserts else (EYES,)


def entries_of(coupon: Coupon, printer: Printer) -> Allowances:
    """Return what is to be entered: the printer's own, and those of the coupon as they are now."""
    for row in coupon.rows:
        if row.kind != "slot":
            present = round(printer.hole_diameter(row.nominal) - row.nominal, 6)
            printer = with_measured(printer, row.nominal, present)
    return printer.hole_allowances


def remarks_of(coupon: Coupon, inserts: Sequence[Insert] = ()) -> tuple[str, ...]:
    """Return what is to be known of its rows.

    Parameters
    ----------
    coupon : Coupon
    inserts : sequence of Insert
        That it was made for.
    """
    remarks = [
        f"The insert “{insert.name}” on the hardware shelf is only an example; add the one that "
        "you have, with the figures of its data sheet, before you rely on its row."
        for insert in inserts
        if insert.is_example
    ]
    labels: dict[float, list[str]] = {}
    for row in coupon.rows:
        if row.kind != "slot":
            labels.setdefault(row.nominal, []).append(row.label)
    remarks += [
        f"Rows {' and '.join(shared)} share the allowance of {nominal:g} mm; enter the one that "
        "matters more."
        for nominal, shared in labels.items()
        if len(shared) > 1
    ]
    return tuple(remarks)


def coupon_table(
    coupon: Coupon, printer: Printer, inserts: Sequence[Insert] = ()
) -> RenderableType:
    """Return the table of a coupon for printing with rich; `inserts` are those it was made for."""
    return Group(*_blocks(coupon, printer, inserts))


def coupon_record(
    coupon: Coupon, printer: Printer, file: Path, inserts: Sequence[Insert] = ()
) -> dict[str, Any]:
    """Return the same as plain values; lengths are in mm."""
    low, high = coupon.solid.bounds
    return {
        "format": FORMAT,
        "version": VERSION,
        "file": str(file),
        "size": [round(float(each), 4) for each in high - low],
        "rows": [
            {
                "label": row.label,
                "kind": row.kind,
                "nominal": row.nominal,
                "holes": [
                    {"number": number, "allowance": allowance, "at": [round(x, 4), round(y, 4)]}
                    for number, allowance, (x, y) in zip(
                        numbers_of(row), row.allowances, row.centres, strict=True
                    )
                ],
            }
            for row in coupon.rows
        ],
        "hole_allowances": [list(pair) for pair in entries_of(coupon, printer)],
        "findings": [finding.as_record() for finding in coupon.findings],
        "remarks": list(remarks_of(coupon, inserts)),
        "cautions": list(cautions_of(coupon)),
    }


def _blocks(
    coupon: Coupon, printer: Printer, inserts: Sequence[Insert]
) -> Iterator[RenderableType]:
    low, high = coupon.solid.bounds
    size = " x ".join(f"{each:.1f}" for each in high - low)
    yield Text(f"Fit coupon: {size} mm, {counted(len(coupon.rows), 'row')}", style="bold")
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, header_style="", show_edge=False)
    for column, justify in _COLUMNS.items():
        table.add_column(Text(column), justify=justify, no_wrap=True)
    for row in coupon.rows:
        numbers = "".join(f"{number:5d}" for number in numbers_of(row))
        table.add_row(row.label, KINDS[row.kind], f"{row.nominal:g}", numbers)
    yield table
    yield Text(f"\n{_how(coupon)}")
    pairs = ", ".join(f"[{diameter:g}, {each:g}]" for diameter, each in entries_of(coupon, printer))
    yield Text(f"\nhole_allowances = [{pairs}]", style="bold")
    for remark in remarks_of(coupon, inserts):
        yield Text(f"\nNote: {remark}")
    if coupon.findings:
        yield Text("\nFindings", style="bold")
        yield findings_table(coupon.findings)
    for caution in cautions_of(coupon):
        yield Text(f"\nCaution: {caution}")


def _how(coupon: Coupon) -> str:
    text = _HOW
    if any(row.kind == "slot" for row in coupon.rows):
        text += _SLOTS
    return f"{text} As it is now, that would be:"
