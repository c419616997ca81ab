"""How seams are to be held, as a readable TOML file.

Every entry may be left out; then it is as here. Lengths are in mm::

    pins = true                     # dowel pins
    screws = "none"                 # or "nut", "insert", "plastic": what their threads go into
    screw_standard = "ISO 4762"
    screw_size = "M3"
    flange = "where needed"         # or "never", "always": a rim on the hidden side
    bosses = false                  # the flange is only there where fasteners sit
    register = "none"               # or "lap", "tongue", "studs", "wedge": a form in the seam
    press_fit = false               # pins are pressed in, so their holes get vents
    slots = true                    # one of two pins has a slot
    coat = 0.0                      # thickness of a coat on mating surfaces and in holes
    glue_gap = 0.0                  # room for glue between the pieces
    tape_plies = 0                  # plies of tape over each seam; 0 for none
    tape_fibre = "glass"            # or "carbon", "aramid"
    tape_weight = 163.0             # of one ply of dry fibre, g/m²
    tape_fibre_share = 0.5          # of the laminate's weight, 0 to 1
    marks = "none"                  # or "engraved", "raised": numbers and arrows on seam faces
"""

from __future__ import annotations

import json
import tomllib
from dataclasses import asdict
from pathlib import Path

import tomli_w
from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from splitplanner.atomic import write_file
from splitplanner.errors import PlanFileError
from splitplanner.plan.fastening import Fastening

_REMARKS = {
    "pins": "dowel pins: true or false",
    "screws": "none, nut, insert or plastic: what their threads go into",
    "screw_standard": "which gives the form of the head",
    "screw_size": "such as M3",
    "flange": "never, where needed or always: a rim on the hidden side",
    "bosses": "whether the flange is only there where fasteners sit",
    "register": "none, lap, tongue, studs or wedge: a form in the seam",
    "press_fit": "whether pins are pressed in, so that their holes get vents",
    "slots": "whether one of two pins has a slot",
    "coat": "mm, thickness of a coat on mating surfaces and in holes",
    "glue_gap": "mm, room for glue between the pieces",
    "tape_plies": "plies of tape over each seam; 0 for none",
    "tape_fibre": "glass, carbon or aramid",
    "tape_weight": "g/m², of one ply of dry fibre",
    "tape_fibre_share": "of the laminate's weight, 0 to 1",
    "marks": "none, engraved or raised: numbers and arrows on seam faces",
}
"""What is written beside each entry."""


def read_fastening(path: Path) -> Fastening:
    """Read how seams are to be held from a TOML file with the fields of `Fastening`.

    Raises
    ------
    PlanFileError
        If the file is missing, not TOML, or an entry is unknown or out of range.
    """
    name = str(path)
    try:
        return fastening_from_text(path.read_text(encoding="utf-8-sig"), name)
    except OSError as error:
        raise PlanFileError(
            f"The fastening file {name} cannot be read: {error.strerror}.", subject=name
        ) from error
    except UnicodeDecodeError as error:
        raise PlanFileError(
            f"The fastening file {name} is not UTF-8 text; save it as UTF-8.", subject=name
        ) from error


def fastening_from_text(text: str, name: str = "") -> Fastening:
    """Read the text of a TOML file; `name` is that of the file, for the messages.

    Raises
    ------
    PlanFileError
        If it is not TOML, or an entry is unknown or out of range.
    """
    file = f"The fastening file {name}".rstrip()
    try:
        # As JSON, since strict means of values in Python that they are a `Fastening` already.
        entries = json.dumps(tomllib.loads(text), default=str)
        return TypeAdapter(Fastening).validate_json(entries, strict=True, extra="forbid")
    except tomllib.TOMLDecodeError as error:
        raise PlanFileError(f"{file} is not valid TOML: {error}.", subject=name) from error
    except ValidationError as error:
        raise PlanFileError(f"{file} {_wrong(error.errors())}", subject=name) from error


def fastening_to_text(fastening: Fastening) -> str:
    """Return the text of a TOML file with every entry, and beside it what it may be.

    Numbers are written so that they are read back to the bit.
    """
    lines = {
        name: tomli_w.dumps({name: value}).strip() for name, value in asdict(fastening).items()
    }
    wide = max(32, *(len(line) + 2 for line in lines.values()))
    return "".join(f"{line:{wide}}# {_REMARKS[name]}\n" for name, line in lines.items())


def write_fastening(fastening: Fastening, path: Path) -> None:
    """Write a TOML file of how seams are to be held, whole or not at all.

    Raises
    ------
    ExportError
        If the file cannot be written.
    """
    write_file(path, fastening_to_text(fastening).encode("utf-8"))


def _wrong(found: list[ErrorDetails]) -> str:
    """Return what is wrong with the first entry that is, as the end of a sentence."""
    first = found[0]
    if not first["loc"]:
        # What the dataclass itself says, of one entry or of several together.
        return f"has a wrong entry: {first['ctx']['error']}"
    place = first["loc"][0]
    here = [each for each in found if each["loc"][0] == place]
    if first["type"] == "unexpected_keyword_argument":
        return f"has an entry “{place}” that is not known; there are {', '.join(_REMARKS)}."
    if all(each["type"] == "literal_error" for each in here):
        # Words may come from more than one list, and each list makes an error of its own.
        words = " or ".join(each["ctx"]["expected"] for each in here).replace(" or ", ", ")
        return f"has a wrong entry “{place}”: it is one of {words}, got {_written(first['input'])}."
    said = first["msg"][0].lower() + first["msg"][1:]
    return f"has a wrong entry “{place}”: {said}, got {_written(first['input'])}."


def _written(value: object) -> str:
    """Return a value as it stands in the file, or nearly."""
    return json.dumps(value, ensure_ascii=False, default=str)
