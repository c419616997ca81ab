"""The columns of the table of seams."""

from __future__ import annotations

from typing import Any

from splitplanner.window.lists.joint_words import (
    flange_text,
    hardware_text,
    pins_text,
    register_text,
    screws_text,
    tape_text,
)
from splitplanner.window.lists.lines import Shown, shown_findings
from splitplanner.window.lists.seam_rows import SeamLine
from splitplanner.window.lists.tables import NOTHING, PENDING, Column, Figure
from splitplanner.window.quantities import Quantities


def _length(field: str, *, faint: bool = False) -> Any:
    def show(row: SeamLine, quantities: Quantities) -> Shown:
        value = getattr(row, field)
        return Shown(PENDING if value is None else quantities.length(value, 0), faint=faint)

    return show


def _area(field: str, *, faint: bool = False) -> Any:
    def show(row: SeamLine, quantities: Quantities) -> Shown:
        value = getattr(row, field)
        return Shown(PENDING if value is None else quantities.area(value), faint=faint)

    return show


def _count(field: str, word: str) -> Any:
    def show(row: SeamLine, quantities: Quantities) -> Shown:
        value = getattr(row, field)
        return Shown(PENDING if value is None else f"{quantities.number(value)} {word}")

    return show


def _arm(row: SeamLine, quantities: Quantities) -> Shown:
    if row.lever_arm is None:
        return Shown(PENDING)
    text = quantities.size(row.lever_arm).replace(" × ", " / ")
    return Shown(text, faint=True)


def _words(text: str, *, faint: bool = False) -> Shown:
    return Shown(text, faint=faint) if text else Shown(NOTHING, faint=True)


def _flange(row: SeamLine, quantities: Quantities) -> str:
    size = flange_text(row.joint.flange, quantities)
    return f"flange {size}" if size else ""


HELD = (
    Figure("pins placed", lambda row, _: _words(pins_text(row.joint))),
    Figure("screws placed", lambda row, _: _words(screws_text(row.joint))),
    Figure("hardware", lambda row, _: _words(hardware_text(row.joint), faint=True)),
    Figure("flange", lambda row, q: _words(_flange(row, q))),
    Figure("register", lambda row, q: _words(register_text(row.joint.register, q))),
    Figure("tape", lambda row, q: _words(tape_text(row.joint.tape, q))),
)


COLUMNS = (
    Column(
        "Seam\npieces\nfindings",
        (
            Figure("seam", lambda row, _: Shown(f"{row.name} (own)" if row.is_own else row.name)),
            Figure("pieces joined", lambda row, _: Shown("{} + {}".format(*row.between))),
            Figure("findings", lambda row, _: shown_findings(row.findings, row.worst)),
        ),
        7,
        right=False,
    ),
    Column(
        "Seen\nhidden",
        (Figure("seam seen", _length("seen")), Figure("seam hidden", _length("hidden"))),
        7,
    ),
    Column("Area\nroom", (Figure("area", _area("area")), Figure("room", _area("room"))), 8),
    Column(
        "Pins fit,\ndeep, arms",
        (
            Figure("pins that fit", _count("fitting", "fit")),
            Figure("pins deep enough", _count("deep", "deep")),
            Figure("lever arm", _arm),
        ),
        11,
    ),
    # In one wide column, since half a line of what holds a seam says nothing.
    Column("Held by", HELD, 13, right=False, stretches=True, packs=True),
)
