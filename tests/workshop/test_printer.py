"""Beds and printers: what is read, what is refused and why."""

import numpy as np
import pytest

from splitplanner.errors import WorkshopError
from splitplanner.workshop import Bed, Printer, read_printer

TRIANGLE = ((-10.0, 5.0), (190.0, 5.0), (-10.0, 305.0))


@pytest.mark.parametrize(
    ("text", "bed"),
    [
        ("220x220x250", Bed.rectangle(220.0, 220.0, 250.0)),
        (" 220.5 x 200 x 18.25 ", Bed.rectangle(220.5, 200.0, 18.25)),
        ("220×220×250", Bed.rectangle(220.0, 220.0, 250.0)),
        ("round 200x300", Bed.circle(200.0, 300.0)),
        ("round200 x 300", Bed.circle(200.0, 300.0)),
    ],
)
def test_a_bed_is_read_from_text_and_written_as_it_is_read(text, bed):
    assert Bed.parse(text) == bed
    assert Bed.parse(str(bed)) == bed


@pytest.mark.parametrize(
    "text",
    [
        "",
        "220",
        "220x220",
        "220x220x250x1",
        "220x220x",
        "axbxc",
        "-220x220x250",
        "1e3x220x250",
        "220,5x220x250",
        "round 200",
        "round 200x300x400",
        "220x220x250mm",
        "nanxnanxnan",
    ],
)
def test_what_is_no_bed_is_refused_with_an_example(text):
    with pytest.raises(WorkshopError, match=r"is not a bed size; .* 220x220x250"):
        Bed.parse(text)


@pytest.mark.parametrize("text", ["0x220x250", "220x220x0", "round 0x10"])
def test_a_bed_without_size_is_refused(text):
    with pytest.raises(WorkshopError, match="three sizes above 0 mm"):
        Bed.parse(text)


@pytest.mark.parametrize("size", [np.nan, np.inf, -1.0, 0.0])
def test_sizes_that_are_no_lengths_are_refused(size):
    with pytest.raises(WorkshopError, match="three sizes above 0 mm"):
        Bed.rectangle(220.0, size, 250.0)


@pytest.mark.parametrize("margin", [-1.0, 50.0, np.nan])
def test_a_margin_must_leave_something(margin):
    with pytest.raises(WorkshopError, match="leaves nothing"):
        Bed.rectangle(220.0, 100.0, 250.0, margin)
    assert Bed.rectangle(220.0, 100.0, 250.0, 49.0).margin == 49.0


def test_an_outline_is_moved_to_its_low_corner_with_its_blocked_areas():
    bed = Bed.of_outline(TRIANGLE, 250.0, 2.0, (((0.0, 10.0), (5.0, 10.0), (0.0, 20.0)),))
    assert (bed.width, bed.depth, bed.height, bed.margin) == (200.0, 300.0, 250.0, 2.0)
    assert bed.outline == ((0.0, 0.0), (200.0, 0.0), (0.0, 300.0))
    assert bed.blocked == (((10.0, 5.0), (15.0, 5.0), (10.0, 15.0)),)


def test_a_bed_whose_numbers_do_not_go_together_is_refused():
    with pytest.raises(WorkshopError, match="at least three corners"):
        Bed("outline", 200.0, 300.0, 250.0, outline=((0.0, 0.0), (200.0, 300.0)))
    with pytest.raises(WorkshopError, match=r"must reach from 0, 0 .* 200 by 300 mm"):
        Bed("outline", 200.0, 300.0, 250.0, outline=TRIANGLE)
    with pytest.raises(WorkshopError, match="one diameter"):
        Bed("circle", 200.0, 300.0, 250.0)


@pytest.mark.parametrize(
    ("field", "value", "expected"),
    [
        ("nozzle", 0.0, "the nozzle must be above 0 mm"),
        ("line_width", -0.4, "the line width must be above 0 mm"),
        ("layer_height", np.nan, "the layer height must be above 0 mm"),
        ("line_width", np.inf, "the line width must be above 0 mm"),
        ("overhang_limit", 90.0, "between 0° and 90°, got 90°"),
        ("overhang_limit", 0.0, "between 0° and 90°, got 0°"),
        ("overhang_limit", np.nan, "between 0° and 90°"),
        ("bridge_span", -1.0, "bridge span must be 0 mm or above"),
        ("bridge_span", np.nan, "bridge span must be 0 mm or above"),
        ("hole_allowance", np.inf, "hole allowance must be a length"),
        ("wall_lines", 0, "at least one line"),
        ("infill", -0.1, "the infill is a share between 0 and 1, got -0.1"),
        ("infill", 15.0, "the infill is a share between 0 and 1, got 15"),
        ("support_infill", np.nan, "the infill of supports is a share"),
        ("outer_speed", 0.0, "the speed of outer lines must be above 0 mm/s, got 0"),
        ("inner_speed", -1.0, "the speed of inner lines must be above 0 mm/s, got -1"),
        ("infill_speed", np.inf, "the speed of infill must be above 0 mm/s"),
        ("travel_speed", np.nan, "the speed of travels must be above 0 mm/s"),
        ("flow_limit", 0.0, "the flow limit must be above 0 mm³/s, got 0"),
        ("least_layer_seconds", -1.0, "the least time of a layer must be 0 s or above, got -1"),
        ("layer_change_seconds", np.inf, "the time between two layers must be 0 s or above"),
        ("travel_seconds", np.nan, "the time lost with a travel must be 0 s or above"),
        ("top_layers", -1, "solid layers cannot be fewer than none"),
        ("bottom_layers", -1, "solid layers cannot be fewer than none"),
        ("time_factor", 60.0, "the factor for time must be between 0.1 and 10, got 60"),
        ("time_factor", np.nan, "the factor for time must be between"),
        ("mass_factor", 0.001, "the factor for mass must be between 0.1 and 10, got 0.001"),
        ("foot_width", -0.1, "the width of the chamfer at the bed must be from 0 to 3 mm, got -0"),
        ("foot_height", np.nan, "the height of the chamfer at the bed must be from 0 to 3 mm"),
    ],
)
def test_a_printer_out_of_range_is_refused_by_name(field, value, expected):
    with pytest.raises(WorkshopError, match=expected) as caught:
        Printer("bench", **{field: value})
    assert "Printer “bench”" in str(caught.value)


def test_the_drawn_hole_and_its_edge_distance():
    # Common practice, no source: two lines of wall, or a quarter of the pin, whichever is more.
    printer = Printer(line_width=0.5, hole_allowance=0.2)
    assert printer.hole_diameter(3.0) == pytest.approx(3.2)
    assert printer.edge_distance(3.0) == pytest.approx(1.6 + 1.0)
    assert printer.edge_distance(8.0) == pytest.approx(4.1 + 2.0)


def write(folder, text):
    path = folder / "printer.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_printer_is_read_from_its_file(tmp_path):
    path = write(
        tmp_path,
        """
        name = "Werkbank"
        nozzle = 0.6
        line_width = 0.66
        wall_lines = 2
        infill = 0.4
        support_infill = 0.1
        flow_limit = 14
        layer_change_seconds = 1.5
        # Of older files:
        flow = 8.0
        layer_seconds = 3.0
        [bed]
        kind = "outline"
        width = 200
        depth = 300
        height = 250
        margin = 3
        outline = [[0, 0], [200, 0], [0, 300]]
        blocked = [[[0, 0], [10, 0], [0, 10]]]
        """,
    )
    printer = read_printer(path)
    assert printer.name == "Werkbank"
    assert (printer.nozzle, printer.line_width, printer.layer_height) == (0.6, 0.66, 0.2)
    assert (printer.wall_lines, printer.infill, printer.support_infill) == (2, 0.4, 0.1)
    assert (printer.flow_limit, printer.layer_change_seconds) == (14.0, 1.5)
    assert printer.bed == Bed(
        "outline",
        200.0,
        300.0,
        250.0,
        3.0,
        ((0.0, 0.0), (200.0, 0.0), (0.0, 300.0)),
        (((0.0, 0.0), (10.0, 0.0), (0.0, 10.0)),),
    )
    assert read_printer(write(tmp_path, "")) == Printer()


def test_an_outline_in_a_file_needs_no_width_and_may_lie_anywhere(tmp_path):
    text = """
        [bed]
        kind = "outline"
        height = 250
        outline = [[-100, -50], [100, -50], [-100, 250]]
        blocked = [[[-100, -50], [-90, -50], [-100, -40]]]
        """
    bed = read_printer(write(tmp_path, text)).bed
    assert (bed.width, bed.depth, bed.height, bed.margin) == (200.0, 300.0, 250.0, 0.0)
    assert bed.outline == ((0.0, 0.0), (200.0, 0.0), (0.0, 300.0))
    assert bed.blocked == (((0.0, 0.0), (10.0, 0.0), (0.0, 10.0)),)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("nozzle = ", "is not valid TOML"),
        ("[bed]\nkind = 'outline'\nheight = 1", "lacks the entry “bed.outline”"),
        ("[bed]\nkind = 'outline'\nheight = 1\noutline = []", "at least three corners"),
        (
            "[bed]\nkind = 'outline'\nheight = 1\noutline = [[0, 'x']]",
            "wrong entry “bed.outline.0.1”",
        ),
        (
            "[bed]\nkind = 'outline'\nheight = 1\noutline = []\nsize = 1",
            "wrong entry “bed.size”: it is not known; there are kind, outline, ",
        ),
        ("colour = 1", "wrong entry “colour”"),
        ('nozzle = "wide"', "wrong entry “nozzle”"),
        ("[bed]\nkind = 'square'\nwidth = 1\ndepth = 1\nheight = 1", "wrong entry “bed.kind”"),
        ("[bed]\nkind = 'circle'\nwidth = 1\ndepth = 1", "lacks the entry “bed.height”"),
        ("nozzle = -1", "the nozzle must be above 0 mm"),
        ("wall_lines = 2.5", "wrong entry “wall_lines”"),
        ("infill = 20", "the infill is a share between 0 and 1"),
        ("[bed]\nkind = 'circle'\nwidth = 1\ndepth = 2\nheight = 1", "one diameter"),
    ],
)
def test_what_is_wrong_in_a_printer_file_is_said(tmp_path, text, expected):
    with pytest.raises(WorkshopError, match=expected):
        read_printer(write(tmp_path, text))


def test_a_printer_file_that_is_not_there_or_not_text(tmp_path):
    with pytest.raises(WorkshopError, match="cannot be read"):
        read_printer(tmp_path / "none.toml")
    (tmp_path / "picture.toml").write_bytes(b"\x89PNG\xff")
    with pytest.raises(WorkshopError, match="UTF-8"):
        read_printer(tmp_path / "picture.toml")


def test_a_printer_file_is_read_whatever_editor_saved_it(tmp_path):
    # Some write a mark before the text; whole numbers are lengths too.
    path = tmp_path / "marked.toml"
    path.write_bytes(b'\xef\xbb\xbfname = "bench"\nnozzle = 1\nline_width = 1\n')
    assert read_printer(path) == Printer(name="bench", nozzle=1.0, line_width=1.0)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('nozzle = "0.4"', "“nozzle”: input should be a valid number, got \"0.4\""),
        ("nozzle = -1", "has a wrong entry: Printer “printer”: the nozzle must be above 0 mm."),
        ("[bed]\nkind = 'outline'\nheight = 1\noutline = []", "has a wrong entry in “bed”: A bed"),
        ("[bed]\nkind = 'circle'\nwidth = 1\ndepth = 1\nheight = 1\nsize = 2",
         "“bed.size”: it is not known."),
        ("colour = 1", "“colour”: it is not known; there are name, bed, nozzle, "),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_with_the_file_and_the_place(tmp_path, text, told):
    path = write(tmp_path, text)
    with pytest.raises(WorkshopError) as caught:
        read_printer(path)
    said = str(caught.value)
    assert said.startswith(f"The printer file {path} ")
    assert told in said
    assert said.endswith(".")
    assert not said.endswith("..")
    assert caught.value.subject == str(path)
