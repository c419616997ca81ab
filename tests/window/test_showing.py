"""What the view and the chart show of a plan."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QLocale

from splitplanner.background.examined import MadeBrace
from splitplanner.background.overlay import LINES, OVERLAYS, Overlay
from splitplanner.output import piece_colours
from splitplanner.plan import Cut, Joint, PartFile, Plan, divide
from splitplanner.score import Surfaces
from splitplanner.score.lying import Fit
from splitplanner.solid import Plane, Solid
from splitplanner.window.chart.cut_places import ChartAxis
from splitplanner.window.quantities import Quantities
from splitplanner.window.view import showing
from splitplanner.window.view.overlay_colours import coloured, legend_of
from splitplanner.workshop import Printer
from tests.window.boxes import division
from tests.window.joints import held

X = (1.0, 0.0, 0.0)
PART = Solid.box((90.0, 40.0, 20.0))
PLAN = Plan(
    PartFile("bar.stl", "mm", "x"), Printer(), (Cut(Plane(X, 30.0)), Cut(Plane(X, 60.0), "2"))
)
DIVISION = divide(PART, PLAN.cuts)
COLOURS = piece_colours(DIVISION)


def test_pieces_are_pulled_apart_along_the_part():
    still = showing.bodies_of(DIVISION, COLOURS)
    assert {body.shift for body in still} == {(0.0, 0.0, 0.0)}
    apart = showing.bodies_of(DIVISION, COLOURS, 1.0)
    shifts = [body.shift[0] for body in apart]
    assert np.diff(shifts) == pytest.approx([showing.APART * PART.size] * 2, rel=0.01)
    assert all(body.shift[1:] == pytest.approx((0.0, 0.0)) for body in apart)


def test_an_uncut_part_has_no_colour_of_a_piece():
    (whole,) = showing.bodies_of(divide(PART, ()), {"whole": "#E69F00"})
    assert whole.colour == showing.PLAIN


def test_a_sheet_lies_round_what_the_plane_meets():
    corners = showing.sheet_of(Plane(X, 30.0), PART.bounds, 5.0)
    assert np.allclose(corners[:, 0], 30.0)
    assert np.allclose(corners.min(axis=0)[1:], [-5.0, -5.0])
    assert np.allclose(corners.max(axis=0)[1:], [45.0, 25.0])


def test_a_leaning_sheet_is_no_larger_than_what_it_meets():
    # At 45° through the middle it meets the box over 20 mm of its length.
    plane = Plane.through((45.0, 20.0, 10.0), (1.0, 0.0, 1.0))
    corners = showing.sheet_of(plane, PART.bounds, 0.0)
    assert np.allclose(plane.height(corners), 0.0)
    assert np.allclose(corners[:, 0].min(), 35.0)
    assert np.allclose(corners[:, 0].max(), 55.0)


def test_planes_are_drawn_round_the_pieces_they_divide():
    first, second = showing.planes_of(PLAN, PART, DIVISION, 1)
    assert not first.is_selected
    assert second.is_selected
    assert second.name == "Cut 2"
    assert second.centre == pytest.approx((60.0, 20.0, 10.0))


def test_cuts_stand_at_their_stations():
    axis = ChartAxis(X, (45.0, 20.0, 10.0), 0.0)
    marks = showing.cut_marks(PLAN, axis)
    assert [mark.station for mark in marks] == [30.0, 60.0]
    assert all(mark.slope == 0.0 and mark.is_movable for mark in marks)


def test_pieces_span_the_axis():
    axis = ChartAxis(X, (45.0, 20.0, 10.0), 0.0)
    spans = showing.spans_of(DIVISION, None, COLOURS, axis)
    assert [(span.start, span.stop) for span in spans] == [(0, 30), (30, 60), (60, 90)]
    assert {span.fit for span in spans} == {None}


def test_a_number_stands_on_the_side_that_is_seen():
    bodies = showing.bodies_of(DIVISION, COLOURS)
    marks = showing.number_marks(DIVISION, bodies, (0.0, 0.0, 1.0))
    assert [mark.text for mark in marks] == ["1", "2", "3"]
    assert all(mark.at[2] == pytest.approx(20.0) for mark in marks)


def test_new_pieces_get_colours_of_their_own():
    colours = {"1": "#E69F00"}
    bodies = showing.live_bodies({"1": PART, "2": PART, "3": PART}, colours)
    assert len({body.colour for body in bodies}) == 3
    assert bodies[0].colour == "#E69F00"


# -- figures on faces ---------------------------------------------------------------------------
def overlay(name, unit, values):
    return Overlay(name, unit, {"1": np.asarray(values, dtype=float)})


def colours_of(name, unit, values):
    """Return the colours of the first faces of a body."""
    more = np.append(values, np.full(12 - len(values), np.nan))
    return coloured(showing.body_of(PART, "1"), overlay(name, unit, more)).face_colours.astype(int)


def test_yes_and_no_have_two_colours():
    found = colours_of("overhang", "", [1.0, 0.0, 1.0])
    assert (found[0] == found[2]).all()
    assert (found[0] != found[1]).any()


def test_more_is_warmer_and_nothing_is_grey():
    found = colours_of("islands", "islands", [np.nan, 1.0, 1.5, 2.0])
    # Red rises and blue falls from little to much; the first has no figure.
    assert found[1][0] < found[3][0]
    assert found[1][2] > found[3][2]
    assert len(set(found[0])) > 1 or found[0][0] == found[0][2]


def test_an_overlay_of_another_mesh_is_not_put_on():
    body = showing.body_of(PART, "1")
    assert coloured(body, overlay("overhang", "", [1.0])) is body
    assert coloured(body, overlay("overhang", "", np.ones(12))).face_colours.shape == (12, 3)


def test_the_legend_tells_values_in_the_unit_that_is_shown():
    walls = overlay("wall thickness", "mm", np.linspace(2.0, 4.0, 101))
    texts = [text for _, text in legend_of(walls, Quantities()).entries]
    assert len(texts) == 5
    assert all(text.endswith("mm") for text in texts)
    inches = [text for _, text in legend_of(walls, Quantities("inch")).entries]
    assert all(text.endswith("in") for text in inches)


def test_islands_are_counted_in_whole_ones():
    shown = overlay("islands", "islands", np.append([1.0, 2.0], np.full(10, 3.0)))
    legend = legend_of(shown, Quantities("mm", QLocale(QLocale.Language.C)))
    assert [text for _, text in legend.entries] == ["1 island", "2 islands", "3 islands"]
    colours = coloured(showing.body_of(PART, "1"), shown).face_colours
    for (colour, _), face in zip(legend.entries, (0, 1, 2), strict=True):
        assert colour == "#{:02X}{:02X}{:02X}".format(*colours[face])
    assert legend.words.startswith("Separate outlines")


@pytest.mark.parametrize("name", OVERLAYS)
def test_a_scale_without_figures_is_not_told(name):
    unit = {"deflection": "mm", "share of strength": "share"}.get(name, "")
    nothing = overlay(name, unit, np.full(12, np.nan))
    entries = legend_of(nothing, Quantities()).entries
    # What is yes or no, or stands for no figure, is told all the same.
    assert not [text for _, text in entries if any(map(str.isdigit, text))]


def test_walls_that_are_right_are_pale_and_others_blue_or_orange():
    # A plate of 2.25 mm is 5 lines of 0.45 mm.
    walls = Surfaces().wall_lines(Solid.box((60.0, 50.0, 2.25)), Printer()).in_short
    shown = overlay(LINES, "mm", np.append([-0.2, 0.0, 0.2], np.full(9, np.nan)))
    shown = replace(shown, walls=walls)
    low, right, high, nothing = (
        coloured(showing.body_of(PART, "1"), shown).face_colours[:4].astype(int)
    )
    assert low[2] > low[0] + 50
    assert high[0] > high[2] + 50
    assert min(right) > 225 > max(nothing)
    legend = legend_of(shown, Quantities("mm", QLocale(QLocale.Language.C)))
    texts = [text for _, text in legend.entries]
    assert texts[0] == "-0.23 mm pressed"
    assert texts[2] == "whole"
    assert texts[4:] == ["+0.23 a gap", "no wall"]
    assert legend.words == "0 % of wall area is off lines of 0.45 mm."


# -- what holds the seams -----------------------------------------------------------------------
def test_screws_are_lines_with_a_ring_at_their_head_and_flanges_are_outlined():
    seam = division().seams[0]
    made = held()
    pins = showing.joint_outlines([replace(made, screws=(), flange=None)], [seam], "#D55E00")
    assert len(pins) == len(made.pins)
    below = made.screws[0]
    line, ring = showing.joint_outlines([Joint("S1", screws=(below,))], [seam], "#D55E00")
    along = (line.points - below.at) @ seam.plane.normal
    # From its head in the piece below, as far as it is long.
    assert along == pytest.approx([-below.seat, below.length - below.seat])
    assert np.allclose((ring.points - line.points[0]) @ seam.plane.normal, 0.0)
    reach = np.linalg.norm(ring.points - line.points[0], axis=1)
    assert np.allclose(reach, below.head_room / 2)
    flanged = showing.joint_outlines([Joint("S1", flange=made.flange)], [seam], "#D55E00")
    (at_wall,) = (each for each in flanged if len(each.points) == 2)
    assert seam.plane.to_plane(at_wall.points) == pytest.approx(np.array(made.flange.lines[0]))
    points = np.vstack([each.points for each in flanged])
    assert seam.plane.height(points) == pytest.approx(np.zeros(len(points)))
    flat = seam.plane.to_plane(points)
    low_v = made.flange.lines[0][0][1]
    assert flat[:, 1].min() == pytest.approx(low_v - made.flange.width)
    assert {each.colour for each in flanged} == {showing.FLANGE}


def test_what_held_a_seam_before_its_cut_moved_is_not_shown():
    seam, made = division().seams[0], held()
    assert showing.joint_outlines([made], [seam], "#D55E00")
    off = 5.0 * np.array(seam.plane.normal)
    before = tuple(replace(pin, at=tuple((pin.at + off).tolist())) for pin in made.pins)
    assert showing.joint_outlines([replace(made, pins=before)], [seam], "#D55E00") == []


def test_pieces_in_hand_are_called_by_the_numbers_that_are_seen():
    numbers = showing.numbers_of(DIVISION)
    assert numbers == {"1": 1, "2.1": 2, "2.2": 3}
    assert showing.numbers_of(None) == {}
    fits = {"1": Fit.SQUARE, "2.1": Fit.TOO_LARGE, "2.2": Fit.TOO_LARGE, "9": Fit.TURNED}
    assert showing.fit_text(fits, numbers) == "✕ 2 + 3 do not fit, ↻ 9 fits turned, ✓ 1 fits"
    light = {piece.name: piece.solid for piece in DIVISION.pieces}
    spans = showing.live_spans(light, fits, COLOURS, ChartAxis(X), numbers)
    assert [(span.label, span.fit) for span in spans] == [
        ("1", Fit.SQUARE), ("2", Fit.TOO_LARGE), ("3", Fit.TOO_LARGE)
    ]  # fmt: skip


def test_a_brace_inside_the_part_is_outlined_half_way_through_its_sheet():
    sheet = Solid.box((60.0, 4.0, 10.0)).transformed(np.eye(4) + shift_of((5.0, 12.0, 3.0)))
    (line,) = showing.brace_outlines([MadeBrace("left", sheet, (0.0, 0.0, -1.0))])
    assert np.allclose(line.points[:, 1], 14.0)
    assert np.allclose(line.points.min(axis=0), (5.0, 14.0, 3.0))
    assert np.allclose(line.points.max(axis=0), (65.0, 14.0, 13.0))


def shift_of(move):
    matrix = np.zeros((4, 4))
    matrix[:3, 3] = move
    return matrix
