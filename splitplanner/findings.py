"""What a check returns: where, what was measured, what is allowed. Never a bare bool."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Any

import numpy as np

from splitplanner.arrays import Floats, frozen_floats

_NAME = re.compile("“([^”]+)”")
_PIECES = re.compile(r"\b([Pp])ieces? (“[^”]+”(?:(?:, | and )“[^”]+”)*)")


class Severity(StrEnum):
    """How much a finding matters."""

    NOTE = "note"
    """Worth knowing: a repair that was made, an assumption."""
    WARNING = "warning"
    """The job goes on, but the user should look."""
    FAULT = "fault"
    """A plan with this finding is not sound."""


def _nowhere() -> Floats:
    return frozen_floats(np.empty((0, 3)))


@dataclass(frozen=True, eq=False)
class Finding:
    """One thing a check found.

    Attributes
    ----------
    kind : str
        Stable identifier with the room first, such as ``healing.weld`` or ``piece.sliver``.
    severity : Severity
        Note, warning or fault.
    message : str
        One sentence for the user: what, where, what to do.
    subject : str
        File, piece or seam concerned; empty for the whole part.
    where : (n, 3) float array, mm
        Places in the part's frame; may be empty.
    measured, allowed : float or None
        The value found and its limit, in `unit`.
    unit : str
        Unit of both values, ``mm``, ``mm2``, ``mm3``, ``1`` ...
    """

    kind: str
    severity: Severity
    message: str
    subject: str = ""
    where: Floats = field(default_factory=_nowhere)
    measured: float | None = None
    allowed: float | None = None
    unit: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "where", frozen_floats(np.reshape(self.where, (-1, 3))))

    def as_record(self) -> dict[str, Any]:
        """Return plain values for JSON; at most 20 of the places, and nothing infinite."""
        record: dict[str, Any] = {
            "kind": self.kind,
            "severity": str(self.severity),
            "message": self.message,
        }
        if self.subject:
            record["subject"] = self.subject
        if self.measured is not None and math.isfinite(self.measured):
            record["measured"] = round(self.measured, 6)
        if self.allowed is not None and math.isfinite(self.allowed):
            record["allowed"] = round(self.allowed, 6)
        if self.unit:
            record["unit"] = self.unit
        places = self.where[np.isfinite(self.where).all(axis=1)]
        if len(places):
            record["where"] = np.round(places[:20], 3).tolist()
        return record


def piece_words(*names: str) -> str:
    """Return what sentences call pieces, such as ``piece “1.2”`` or ``pieces “1” and “2.1”``.

    So `numbered` finds them and nothing else: names by themselves look like figures.
    """
    return called("piece", [f"“{name}”" for name in names])


def numbered(finding: Finding, numbers: Mapping[str, int]) -> Finding:
    """Return a finding whose sentence calls pieces by their numbers, as tables and pictures do.

    Parameters
    ----------
    finding : Finding
        It may call them by their names, as `piece_words` does; its subject stays a name.
    numbers : dict of str to int
        By those names; pieces of which one has none stay as they are.
    """

    def call(found: re.Match[str]) -> str:
        names = _NAME.findall(found[2])
        if not numbers.keys() >= set(names):
            return found[0]
        return called(f"{found[1]}iece", sorted(numbers[name] for name in names))

    message = _PIECES.sub(call, finding.message)
    return finding if message == finding.message else replace(finding, message=message)


def faults(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings that make a plan unsound."""
    return tuple(finding for finding in findings if finding.severity is Severity.FAULT)


def capital(text: str) -> str:
    """Return a text as a sentence begins; what names have after their first letter is kept."""
    return text[:1].upper() + text[1:]


def counted(number: int, thing: str, things: str = "") -> str:
    """Return a number with its noun, such as ``1 corner`` or ``3 corners``.

    Parameters
    ----------
    things : str
        The plural, where it is not formed with an s.
    """
    return f"{number} {thing if number == 1 else things or thing + 's'}"


def listed(names: Sequence[str]) -> str:
    """Return names with commas and an “and”, such as ``S1, S2 and S3``; nothing for none."""
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def called(thing: str, names: Sequence[object]) -> str:
    """Return things by their names or numbers, such as ``piece 3`` or ``seams S1 and S2``."""
    return f"{thing}{'s' * (len(names) > 1)} {listed([str(name) for name in names])}"
