"""Models for batches, and what their results are compared by."""

import json
import os

from splitplanner.batch import BatchOptions, models_in
from splitplanner.batch.marks import mark_path
from splitplanner.workshop import Bed, Printer
from tests.planned import box, save

PRINTER = Printer(bed=Bed.parse("60x60x60"))
PLAIN = BatchOptions(pictures=False)


def tree(folder):
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def small_boxes(place):
    """Write three boxes and something unreadable."""
    (place / "models").mkdir()
    sizes = {"a": (50.0, 30.0, 20.0), "b": (40.0, 20.0, 20.0), "c": (20.0, 20.0, 20.0)}
    for name, size in sizes.items():
        save(box(size), place / "models" / f"{name}.stl")
    (place / "models" / "d.stl").write_text("nonsense", "utf-8")
    return models_in(place / "models")


def pipe(path):
    """Put a pipe in the place of a model, at which whoever reads it waits for ever."""
    path.unlink(missing_ok=True)
    os.mkfifo(path)


def is_begun(out, name):
    """Tell whether a process has begun to plan a model, and not ended."""
    try:
        return json.loads(mark_path(out, name).read_text("utf-8"))["row"] is None
    except (OSError, ValueError):
        return False
