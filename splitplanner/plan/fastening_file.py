"""How seams are to be held, as a readable TOML file or in a few words.

Every entry may be left out; then it is as here. Lengths are in mm. By the last five nothing is
placed: they say what hardware and glue stand::

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
    glue_shear = 0.0                # MPa, lap shear strength of your glue; 0: glue is not counted
    glue_peel = 0.0                 # MPa across the glue at which it opens; 0: 0.2 of glue_shear
    screw_class = "8.8"             # or "4.6" to "12.9", "A2-50", "A2-70", "A4-80"
    insert_pull_out = 0.0           # N; 0: estimated
    resin_shear = 0.0               # MPa, lap shear strength of the tape's resin; 0: not looked at

A table for a single seam has the entries in which it differs::

    [seams.S3]
    register = "tongue"
    screws = "nut"
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import tomli_w
from pydantic import TypeAdapter, ValidationError

from splitplanner.atomic import write_file
from splitplanner.errors import PlanFileError
from splitplanner.plan.fastening import Fastening, Fastenings, differences
from splitplanner.toml_files import TomlFile, described

SEAMS = "seams"
"""The table of the tables of single seams."""
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
    "glue_shear": "MPa, lap shear strength of your glue on this plastic; 0: glue is not counted",
    "glue_peel": "MPa across the glue at which it opens; 0: 0.2 of glue_shear",
    "screw_class": "property class of the screws, such as 8.8, 12.9 or A2-70",
    "insert_pull_out": "N that pull an insert out; 0: estimated",
    "resin_shear": "MPa, lap shear strength of the tape's resin on this plastic; 0: not looked at",
}
"""What is written beside each entry."""
_EXAMPLE = "S3: register=tongue, screws=none"


def read_fastenings(path: Path) -> Fastenings:
    """Read how seams are to be held from a TOML file.

    Raises
    ------
    PlanFileError
        If the file is missing, not TOML, or an entry is unknown or out of range.
    """
    return _fastenings(_file(str(path)), _file(str(path)).text())


def fastenings_from_text(text: str, name: str = "") -> Fastenings:
    """Read the text of a TOML file; `name` is that of the file, for the messages.

    Raises
    ------
    PlanFileError
        If it is not TOML, or an entry is unknown or out of range.
    """
    return _fastenings(_file(name), text)


def _file(name: str) -> TomlFile:
    return TomlFile("The fastening file", name, PlanFileError)


def _fastenings(file: TomlFile, text: str) -> Fastenings:
    entries = file.entries(text)
    tables = entries.pop(SEAMS, {})
    general = file.value(Fastening, entries, others=(SEAMS,))
    if not isinstance(tables, Mapping):
        raise file.fault(_no_table(SEAMS))
    own = {}
    for seam, table in tables.items():
        if not seam.strip():
            raise file.fault(f"has a wrong entry “{SEAMS}”: there is a seam without a name.")
        if not isinstance(table, Mapping):
            raise file.fault(_no_table(f"{SEAMS}.{seam}"))
        made = file.value(Fastening, table, f"{SEAMS}.{seam}")
        own[seam] = replace(general, **{name: getattr(made, name) for name in table})
    return Fastenings(general, own)


def _no_table(place: str) -> str:
    return (
        f"has a wrong entry “{place}”: what differs of a single seam is a table of its own, such "
        f"as [{SEAMS}.S3]."
    )


def fastenings_to_text(fastenings: Fastenings) -> str:
    """Return the text of a TOML file with every entry, and beside it what it may be.

    Of single seams there are the entries in which they differ. Numbers are written so that they
    are read back to the bit.
    """
    lines = list(_lines(asdict(fastenings.general)))
    for seam, own in sorted(fastenings.own.items()):
        heading = tomli_w.dumps({SEAMS: {seam: {}}}).strip()
        lines += ["", heading, *_lines(differences(own, fastenings.general))]
    return "".join(f"{line}\n" for line in lines)


def _lines(entries: Mapping[str, Any]) -> Iterator[str]:
    """Yield one line an entry."""
    lines = {name: tomli_w.dumps({name: value}).strip() for name, value in entries.items()}
    wide = max([32, *(len(line) + 2 for line in lines.values())])
    for name, line in lines.items():
        yield f"{line:{wide}}# {_REMARKS[name]}"


def write_fastenings(fastenings: Fastenings, path: Path) -> None:
    """Write a TOML file of how seams are to be held, whole or not at all.

    Raises
    ------
    ExportError
        If the file cannot be written.
    """
    write_file(path, fastenings_to_text(fastenings).encode("utf-8"))


def with_words(fastenings: Fastenings, words: str) -> Fastenings:
    """Return the same with one seam held as a few words say: ``S3: register=tongue, coat=0.1``.

    Entries are those of a file; what the words leave out stays as it was for this seam.

    Raises
    ------
    PlanFileError
        If the words have another form, or an entry is unknown or out of range.
    """
    seam, colon, rest = words.partition(":")
    pairs = [each.partition("=") for each in rest.split(",")]
    if not (seam.strip() and colon and all(name.strip() and sign for name, sign, _ in pairs)):
        raise PlanFileError(
            f"“{words}” does not say how a seam is held; write its name, a colon and the entries "
            f"in which it differs, such as “{_EXAMPLE}”."
        )
    names = [name.strip().replace("-", "_") for name, _, _ in pairs]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise PlanFileError(f"“{words}” has the entry “{twice}” twice; keep one.")
    values = [value.strip().strip("\"'") for _, _, value in pairs]
    entries = dict(zip(names, values, strict=True))
    if "flange" in entries:
        # As the option for all seams is written.
        entries["flange"] = entries["flange"].replace("-", " ")
    try:
        made = TypeAdapter(Fastening).validate_strings(entries, extra="forbid")
    except ValidationError as error:
        said = described(error, known=tuple(_REMARKS))
        raise PlanFileError(f"What is said of seam {seam.strip()}, “{words}”, {said}") from error
    own = fastenings.of(seam.strip())
    changed = replace(own, **{name: getattr(made, name) for name in entries})
    return fastenings.with_own(seam.strip(), changed)
