"""Write the demonstration parts as binary STL files.

Run it as ``python examples/make_parts.py parts --triangles 130000`` to write all of them into
the folder ``parts``, or name some: ``python examples/make_parts.py parts rain_hood``.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.output import save_stl


def main() -> None:
    """Write the parts that the command line asks for."""
    parser = argparse.ArgumentParser(
        description="Write the demonstration parts as binary STL files, in mm.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="\n".join(f"{part.name:14s}{part.title}" for part in DEMO_PARTS.values()),
    )
    parser.add_argument("folder", type=Path, help="where to write; made if it is missing")
    parser.add_argument("parts", nargs="*", metavar="part", help="names of parts; all if none")
    parser.add_argument("--triangles", type=int, default=130_000, help="about how many a part")
    wanted = parser.parse_args()
    unknown = [name for name in wanted.parts if name not in DEMO_PARTS]
    if unknown:
        parser.error(f"no such part: {', '.join(unknown)}; choose from {', '.join(DEMO_PARTS)}")
    if not 5_000 <= wanted.triangles <= 500_000:
        parser.error("--triangles goes from 5000 to 500000")
    for name in wanted.parts or DEMO_PARTS:
        solid = DEMO_PARTS[name].make(wanted.triangles)
        path = wanted.folder / f"{name}.stl"
        save_stl(solid, path)
        print(f"{path}  {len(solid.faces)} triangles, {solid.volume / 1000:.0f} cm³")


if __name__ == "__main__":
    main()
