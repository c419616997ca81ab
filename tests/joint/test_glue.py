"""Room for glue. Expected values: plane and solid geometry, shapely."""

import math

import pytest
from shapely.geometry import MultiPolygon, Point, box

from splitplanner.joint.glue import glue_relief
from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer

PRINTER = Printer()
RIM = 2 * PRINTER.line_width


def seam_of(part, plane=None):
    division = divide(part, [Cut(plane or Plane((0.0, 0.0, 1.0), 20.0))])
    (seam,) = division.seams
    return seam, division.piece(seam.below).solid, division.piece(seam.above).solid


@pytest.fixture(scope="module")
def block():
    return seam_of(Solid.box((50, 8, 40)))


def pocket_area(width, depth):
    """Return a rectangle's area inside its rim, with corners as round as half a line."""
    radius = PRINTER.line_width / 2
    return (width - 2 * RIM) * (depth - 2 * RIM) - (4 - math.pi) * radius**2


def test_pockets_in_both_faces(block):
    seam, below, above = block
    relief, findings = glue_relief(seam, 0.4, PRINTER)
    assert findings == ()
    area = pocket_area(50, 8)
    lower, upper = below.difference(relief.below), above.difference(relief.above)
    for piece, cut in ((below, lower), (above, upper)):
        assert piece.volume - cut.volume == pytest.approx(area * 0.2, rel=1e-4)
        assert len(cut.bodies()) == 1
    assert relief.volume == pytest.approx(area * 0.4e-3, rel=1e-4)
    assert 1.2 <= relief.mixed / relief.volume <= 1.3
    # What is taken off and what is left are the pieces again.
    gone = below.intersection(relief.below).volume + above.intersection(relief.above).volume
    assert gone == pytest.approx(relief.volume * 1e3, rel=1e-9)
    # Put together, the pieces enclose the glue: it does not reach the outside.
    together = lower.union(upper)
    assert together.volume == pytest.approx(below.volume + above.volume - gone, rel=1e-9)
    assert together.extents == pytest.approx(below.union(above).extents)


def test_rim_along_outlines_and_holes(block):
    seam, below, _ = block
    hole = Point(25, 4).buffer(2.0, quad_segs=64)
    relief, _ = glue_relief(seam, 0.4, PRINTER, MultiPolygon([hole]))
    assert relief.shape.distance(seam.section.shape.boundary) == pytest.approx(RIM, abs=1e-6)
    assert relief.shape.distance(hole) == pytest.approx(RIM, abs=1e-3)
    # The pocket at half its depth, cut out of the solid itself.
    face = below.difference(relief.below).section(seam.plane.shifted(-0.1)).shape
    assert face.intersection(hole).area == pytest.approx(hole.area, rel=1e-9)
    assert seam.section.area - face.area == pytest.approx(relief.shape.area, rel=1e-6)


def test_tube_by_pappus():
    bar = Solid.cylinder((0, 0, 0), (0, 0, 40), 30, 256)
    seam, *_ = seam_of(bar.difference(Solid.cylinder((0, 0, -1), (0, 0, 41), 26, 256)))
    relief, _ = glue_relief(seam, 0.5, PRINTER)
    # A ring of 4 mm less two rims, round a circle of 28 mm.
    assert relief.volume == pytest.approx(2 * math.pi * 28 * (4 - 2 * RIM) * 0.5e-3, rel=2e-3)


def test_thin_wall():
    seam, *_ = seam_of(Solid.box((50, 2, 40)))
    relief, (finding,) = glue_relief(seam, 0.4, PRINTER)
    assert relief is None
    assert finding.kind == "glue.no_room"
    assert finding.measured == pytest.approx(2.0, abs=2e-3)
    assert finding.allowed == pytest.approx(5 * PRINTER.line_width)


def test_less_than_a_layer(block):
    relief, (finding,) = glue_relief(block[0], 0.2, PRINTER)
    assert relief is not None
    assert finding.kind == "glue.layer"
    assert finding.measured == pytest.approx(0.1)
    assert finding.allowed == PRINTER.layer_height


def test_whole_face(block):
    seam, below, above = block
    relief, _ = glue_relief(seam, 0.4, PRINTER, whole=True)
    for piece, gone in ((below, relief.below), (above, relief.above)):
        assert piece.difference(gone).extents[2] == pytest.approx(piece.extents[2] - 0.2)
        assert piece.volume - piece.difference(gone).volume == pytest.approx(50 * 8 * 0.2)
    assert relief.volume == pytest.approx(50 * 8 * 0.4e-3)
    assert relief.shape.symmetric_difference(box(0, 0, 50, 8)).area == pytest.approx(0, abs=1e-6)


def test_whole_face_of_a_leaning_wall():
    seam, below, above = seam_of(Solid.box((50, 8, 40)), Plane.through((25, 4, 20), (0, 0.5, 1)))
    relief, _ = glue_relief(seam, 0.4, PRINTER, whole=True)
    for piece, gone, side in ((below, relief.below, 1), (above, relief.above, -1)):
        left = piece.difference(gone)
        heights = seam.plane.height(left.vertices) * side
        assert heights.max() == pytest.approx(-0.2, abs=1e-9)


def test_gap_out_of_range(block):
    for gap in (0.0, -1.0, 5.1):
        with pytest.raises(ValueError, match="at most 5 mm"):
            glue_relief(block[0], gap, PRINTER)
