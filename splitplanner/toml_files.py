"""TOML files that users write, and what is said of one that is wrong: a sentence with its place."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from splitplanner.errors import SplitPlannerError

Value = TypeVar("Value")

_UNKNOWN = ("unexpected_keyword_argument", "extra_forbidden")
"""What pydantic calls an entry that a dataclass has not."""


@dataclass(frozen=True)
class TomlFile:
    """One file of a user, and how its faults are told.

    Attributes
    ----------
    kind : str
        What it is, to begin a sentence with: ``The printer file``.
    name : str
        Of the file; may be empty for a text that is in none.
    error : type of SplitPlannerError
        That its faults are.
    """

    kind: str
    name: str
    error: type[SplitPlannerError]

    def fault(self, what: str) -> SplitPlannerError:
        """Return the fault that says so of the file, such as ``is not a plan.``."""
        return self.error(f"{self.kind} {self.name}".rstrip() + f" {what}", subject=self.name)

    def text(self) -> str:
        """Return the text of the file.

        Raises
        ------
        SplitPlannerError
            Of kind `error`, if it cannot be read or is not UTF-8.
        """
        try:
            return Path(self.name).read_text(encoding="utf-8-sig")
        except OSError as error:
            raise self.fault(f"cannot be read: {error.strerror}.") from error
        except UnicodeDecodeError as error:
            raise self.fault("is not UTF-8 text; save it as UTF-8.") from error

    def entries(self, text: str) -> dict[str, Any]:
        """Return the entries of a text.

        Raises
        ------
        SplitPlannerError
            Of kind `error`, if it is not TOML.
        """
        try:
            return tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            raise self.fault(f"is not valid TOML: {error}.") from error

    def value(
        self,
        kind: type[Value],
        entries: Mapping[str, Any],
        place: str = "",
        others: Sequence[str] = (),
    ) -> Value:
        """Return the dataclass that entries make; what is left out is as it is by default.

        Parameters
        ----------
        kind : type
        entries : mapping
            Of plain values; texts are not taken for numbers.
        place : str
            Of the table in the file, such as ``seams.S3``; empty for the whole file.
        others : sequence of str
            Entries that are known as well, but are no part of the dataclass.

        Raises
        ------
        SplitPlannerError
            Of kind `error`, if an entry is unknown, of another kind, or out of range.
        """
        try:
            # As JSON, since strict means of values in Python that they are dataclasses already.
            text = json.dumps(entries, default=str)
            return TypeAdapter(kind).validate_json(text, strict=True, extra="forbid")
        except SplitPlannerError as error:
            # What the dataclass says of itself knows of no file.
            raise self.fault(f"has a wrong entry{_in(place)}: {error}") from error
        except ValidationError as error:
            known = [each.name for each in fields(kind)] if is_dataclass(kind) else []
            raise self.fault(described(error, place, (*known, *others))) from error


def described(error: ValidationError, place: str = "", known: Sequence[str] = ()) -> str:
    """Return what is wrong with the first entry that is, as the end of a sentence.

    Parameters
    ----------
    error : ValidationError
    place : str
        Of the table that was looked at.
    known : sequence of str
        The entries that it may have.
    """
    found = error.errors()
    first = found[0]
    if not first["loc"]:
        # What the dataclass itself says, of one entry or of several together.
        said = str(first["ctx"]["error"]) if "error" in first.get("ctx", {}) else first["msg"]
        return f"has a wrong entry{_in(place)}: {said.rstrip('.')}."
    # Pydantic counts the lists of words among the places.
    loc = [str(step) for step in first["loc"] if not str(step).startswith("literal[")]
    steps = [*filter(None, [place]), *loc]
    entry = f"has a wrong entry “{'.'.join(steps)}”:"
    if first["type"].startswith("missing"):
        return f"lacks the entry “{'.'.join(steps)}”."
    if first["type"] in _UNKNOWN:
        there = f"; there are {', '.join(known)}" if known and len(first["loc"]) == 1 else ""
        return f"{entry} it is not known{there}."
    here = [each for each in found if each["loc"][:1] == first["loc"][:1]]
    if all(each["type"] == "literal_error" for each in here):
        # Words may come from more than one list, and each list makes an error of its own.
        words = " or ".join(each["ctx"]["expected"] for each in here).replace(" or ", ", ")
        return f"{entry} it is one of {words}, got {_written(first)}."
    said = first["msg"][0].lower() + first["msg"][1:]
    return f"{entry} {said.rstrip('.')}, got {_written(first)}."


def _in(place: str) -> str:
    return f" in “{place}”" if place else ""


def _written(fault: ErrorDetails) -> str:
    """Return a value as it stands in the file, or nearly; of a long one the beginning."""
    text = json.dumps(fault["input"], ensure_ascii=False, default=str)
    return text if len(text) <= 60 else f"{text[:59]}…"
