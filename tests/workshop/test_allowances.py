"""Hole allowances per diameter. Expected values: interpolated by hand, and by numpy.interp."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from splitplanner.errors import PlanFileError, WorkshopError
from splitplanner.plan import PartFile, Plan, plan_from_text, plan_to_text
from splitplanner.workshop import Printer, keep_printer, own_printers, read_printer
from splitplanner.workshop.allowances import allowance_at, with_measured

MEASURED = ((3.0, 0.3), (5.0, 0.2), (8.0, -0.1))


@pytest.mark.parametrize(
    ("diameter", "drawn"),
    [
        (1.0, 1.3),  # below the outermost: its allowance
        (3.0, 3.3),
        (4.0, 4.25),  # half way from 0.3 to 0.2
        (5.0, 5.2),
        (6.0, 6.1),  # a third of the way from 0.2 to -0.1
        (7.0, 7.0),
        (8.0, 7.9),
        (20.0, 19.9),
    ],
)
def test_the_drawn_hole_between_and_beyond_what_was_measured(diameter, drawn):
    printer = Printer(hole_allowance=0.9, hole_allowances=MEASURED)
    assert printer.hole_diameter(diameter) == pytest.approx(drawn, abs=1e-12)
    # Two lines of wall or a quarter of the pin round the drawn hole, as without a table.
    wall = max(2 * printer.line_width, diameter / 4)
    assert printer.edge_distance(diameter) == pytest.approx(drawn / 2 + wall, abs=1e-12)


def test_where_nothing_was_measured_there_is_one_allowance():
    printer = Printer(hole_allowance=0.15)
    assert [printer.hole_diameter(d) for d in (2.0, 6.0)] == [2.15, 6.15]
    assert replace(printer, hole_allowances=((4.0, 0.3),)).hole_diameter(2.0) == 2.3


@given(
    st.lists(st.tuples(st.integers(1, 400), st.integers(-20, 20)), min_size=1, max_size=6),
    st.floats(0.01, 50),
)
def test_it_is_what_numpy_interpolates(pairs, diameter):
    table = tuple(sorted({d / 10: a / 100 for d, a in pairs}.items()))
    wanted = np.interp(diameter, *np.transpose(table))
    assert allowance_at(table, diameter, 9.0) == pytest.approx(wanted, abs=1e-12)


def test_what_is_measured_is_kept_by_rising_diameter_and_replaced():
    printer = Printer()
    for diameter, allowance in ((5, 0.1), (3.0, 0.3), (8.0, -0.1), (5.0, 0.2)):
        printer = with_measured(printer, diameter, allowance)
    assert printer == Printer(hole_allowances=MEASURED)
    with pytest.raises(WorkshopError, match="must be above 0 mm, got 0 mm"):
        with_measured(printer, 0.0, 0.2)
    with pytest.raises(WorkshopError, match="4 mm hole must be between -2 and 2 mm, got 20 mm"):
        with_measured(printer, 4.0, 20.0)


@pytest.mark.parametrize(
    ("table", "expected"),
    [
        (((0.0, 0.2),), "must be above 0 mm, got 0 mm"),
        (((np.inf, 0.2),), "must be above 0 mm, got inf mm"),
        (((3.0, np.nan),), "3 mm hole must be between -2 and 2 mm, got nan mm"),
        (((3.0, 3.0),), "between -2 and 2 mm, got 3 mm"),
        (((5.0, 0.2), (3.0, 0.2)), "sorted by diameter .* got 5 mm before 3 mm"),
        (((5.0, 0.2), (5.0, 0.3)), "each named once, got 5 mm before 5 mm"),
    ],
)
def test_a_table_out_of_order_is_refused(table, expected):
    with pytest.raises(WorkshopError, match=expected) as caught:
        Printer("bench", hole_allowances=table)
    assert "Printer “bench”" in str(caught.value)


def test_a_printer_keeps_its_table_in_its_file(tmp_path):
    printer = Printer("bench", hole_allowances=MEASURED)
    path = keep_printer(tmp_path, printer)
    assert read_printer(path) == printer
    assert own_printers(tmp_path).things == (printer,)
    path.write_text('name = "bench"\nhole_allowances = [[3, 0.3], [5, 0.2]]\n', encoding="utf-8")
    assert read_printer(path).hole_allowances == ((3.0, 0.3), (5.0, 0.2))
    path.write_text("hole_allowances = [[3, 0.3, 1]]\n", encoding="utf-8")
    with pytest.raises(WorkshopError, match=r"wrong entry “hole_allowances\.0"):
        read_printer(path)
    path.write_text("hole_allowances = [[5, 0.3], [3, 0.3]]\n", encoding="utf-8")
    with pytest.raises(WorkshopError, match="sorted by diameter"):
        read_printer(path)


def test_a_plan_keeps_it_and_is_read_without_it():
    plan = Plan(PartFile("hood.stl", "mm", "sha256:0"), Printer(hole_allowances=MEASURED))
    text = plan_to_text(plan)
    assert plan_from_text(text) == plan
    assert plan_to_text(plan_from_text(text)) == text
    plain = plan_to_text(replace(plan, printer=Printer()))
    entry = ',\n    "hole_allowances": []'
    assert entry in plain
    assert plan_from_text(plain.replace(entry, "")).printer == Printer()
    with pytest.raises(PlanFileError, match="sorted by diameter"):
        plan_from_text(text.replace("[3.0, 0.3]", "[6.0, 0.3]"))
