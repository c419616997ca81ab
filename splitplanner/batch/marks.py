"""What a batch notes of each model, so that a later run knows what is done and is its own.

::

    OUT/.batch/<folder>.json    begun, or done: from which input, with which files and row
    OUT/.batch/lock             held while a batch writes into OUT
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from splitplanner import __version__
from splitplanner.atomic import export_error, write_file
from splitplanner.batch.models import MARKS
from splitplanner.batch.rows import BatchRow, Outcome
from splitplanner.errors import ExportError

_FORMAT = "split plan batch mark 1"


@dataclass(frozen=True)
class Mark:
    """What is noted of one model.

    Attributes
    ----------
    fingerprint : str
        Of the input, see `input_fingerprint`; empty while the model is only begun.
    files : mapping of str to str
        SHA-256 of every file of the result, by its path in the result folder.
    row : BatchRow or None
        The model's row in the table; None while it is only begun.
    """

    fingerprint: str = ""
    files: Mapping[str, str] = field(default_factory=dict)
    row: BatchRow | None = None


def mark_path(out: Path, folder: str) -> Path:
    """Return the file of a model's mark."""
    return out / MARKS / f"{folder}.json"


def read_mark(out: Path, folder: str) -> Mark | None:
    """Return what is noted of a model; None if there is nothing, or nothing that makes sense."""
    try:
        record = json.loads(mark_path(out, folder).read_bytes())
        if record["format"] != _FORMAT:
            return None
        row = record["row"]
        if row is not None:
            row = BatchRow(**{**row, "outcome": Outcome(row["outcome"])})
        return Mark(str(record["fingerprint"]), dict(record["files"]), row)
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def write_mark(out: Path, folder: str, mark: Mark | None) -> None:
    """Note something of a model, or, with None, take back what was noted.

    Raises
    ------
    ExportError
        If it cannot be written.
    """
    path = mark_path(out, folder)
    if mark is None:
        with suppress(OSError):
            path.unlink(missing_ok=True)
        return
    row = None if mark.row is None else asdict(mark.row)
    record = {
        "format": _FORMAT, "fingerprint": mark.fingerprint, "files": dict(mark.files), "row": row
    }  # fmt: skip
    write_file(path, (json.dumps(record, indent=1) + "\n").encode())


def is_whole(out: Path, folder: str, mark: Mark) -> bool:
    """Tell whether every file of a result is there and as it was written."""
    return bool(mark.files) and mark.files.items() <= file_hashes(out / folder).items()


def is_own(out: Path, folder: str, mark: Mark | None) -> bool:
    """Tell whether a result folder may be replaced unasked.

    It may if the batch began to write it, or wrote all that is there and nobody changed it since.
    """
    if mark is None:
        return False
    return mark.row is None or file_hashes(out / folder).items() <= mark.files.items()


def file_hashes(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file below `folder`, by its path in it with forward slashes."""
    return {
        path.relative_to(folder).as_posix(): _hash(path)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def input_fingerprint(model: Path, out: Path, settings: Any) -> str:
    """Return the fingerprint of all that the result of a model depends on.

    Parameters
    ----------
    model : Path
        Its bytes count, and its place seen from `out`, which the plan file holds.
    out : Path
    settings : Any
        Dataclasses, mappings, sequences, arrays and plain values.

    Returns
    -------
    str
        SHA-256, in hexadecimal; empty if the model cannot be read.
    """
    try:
        parts = [_hash(model), *map(_hash, _buffers(model))]
        place = os.path.relpath(os.path.realpath(model), os.path.realpath(out))
    except (OSError, ValueError):
        return ""
    text = json.dumps([__version__, Path(place).as_posix(), parts, _plain(settings)])
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: Any) -> Any:
    """Return a value as lists and plain values, the same for equal values."""
    if hasattr(value, "__dataclass_fields__"):
        names = value.__dataclass_fields__
        return [type(value).__name__, [[name, _plain(getattr(value, name))] for name in names]]
    if isinstance(value, Mapping):
        return sorted([str(key), _plain(each)] for key, each in value.items())
    if isinstance(value, (tuple, list)):
        return [_plain(each) for each in value]
    if hasattr(value, "tolist"):
        return value.tolist()
    if value is None or isinstance(value, (str, int, float)):
        return value
    raise TypeError(f"a setting of type {type(value).__name__} has no fingerprint")


def _hash(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _buffers(model: Path) -> list[Path]:
    """Return the other files that a glTF file in text form is read from (glTF 2.0, 5.10)."""
    if model.suffix.lower() != ".gltf":
        return []
    try:
        buffers = json.loads(model.read_bytes()).get("buffers", [])
        uris = [str(each["uri"]) for each in buffers if "uri" in each]
    except (ValueError, TypeError, AttributeError):
        return []
    paths = [model.parent / unquote(uri) for uri in uris if not uri.startswith("data:")]
    return [path for path in paths if path.is_file()]


@contextmanager
def only_batch(out: Path) -> Iterator[None]:
    """Make the folder `out` if it is not there, and keep other batches out of it.

    Raises
    ------
    ExportError
        If another batch writes there, or the folder cannot be made.
    """
    try:
        (out / MARKS).mkdir(parents=True, exist_ok=True)
        stream = (out / MARKS / "lock").open("ab")
    except OSError as fault:
        raise export_error(out, fault) from fault
    with stream:
        try:
            # Given up by the system when the process ends, in whatever way.
            _lock(stream.fileno())
        except OSError as fault:
            raise ExportError(
                f"Another batch is writing into {out}; wait until it is done, or choose another "
                "folder.",
                subject=str(out),
            ) from fault
        yield


def _lock(handle: int) -> None:
    if sys.platform == "win32":
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def remove_remains(out: Path) -> None:
    """Remove what killed workers left half written in `out`; nobody may be writing there."""
    for folder in (out, out / MARKS):
        for path in folder.glob(".splitplanner-????????????.tmp"):
            if path.is_dir():
                shutil.rmtree(path, ignore_errors=True)
            else:
                with suppress(OSError):
                    path.unlink()
