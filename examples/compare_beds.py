"""Plan one demonstration part for several beds and compare the best proposals.

Hours and grams are for the printer's usual settings and generic PETG.

Run it as ``python examples/compare_beds.py l_bracket 220x220x250 300x300x300 "round 250x300"``.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from tempfile import TemporaryDirectory

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.job import plan_part
from splitplanner.output import beds_of, save_stl
from splitplanner.workshop import Bed, Printer, example_material


def main() -> None:
    """Print a line for each bed."""
    parser = argparse.ArgumentParser(description="Compare beds for a demonstration part.")
    parser.add_argument("part", choices=sorted(DEMO_PARTS))
    parser.add_argument("beds", nargs="+", metavar="bed", help="such as 220x220x250, in mm")
    parser.add_argument("--triangles", type=int, default=20_000)
    wanted = parser.parse_args()
    with TemporaryDirectory() as folder:
        model = Path(folder) / f"{wanted.part}.stl"
        save_stl(DEMO_PARTS[wanted.part].make(wanted.triangles), model)
        for text in wanted.beds:
            result = plan_part(model, Printer(bed=Bed.parse(text)), material=example_material())
            support = sum(row.support.volume for row in result.card.figures.pieces) / 1000
            pins = sum(len(joint.pins) for joint in result.plan.joints)
            beds = beds_of(result)
            hours = sum(bed.hours or 0.0 for bed in beds)
            grams = sum(bed.filament.mass for bed in beds if bed.filament is not None)
            print(
                f"{text:>16s}: {len(result.division.pieces)} pieces on {len(beds)} beds, "
                f"{support:.0f} cm³ of support, {hours:.0f} h, {grams:.0f} g, {pins} pins, "
                f"score {result.card.total:.2f}"
            )


if __name__ == "__main__":
    main()
