"""Letters as polygons. Expected values: closed forms, and another font's pictures of them."""

import math

import numpy as np
import pytest
import shapely
from PIL import Image, ImageDraw, ImageFont
from shapely import affinity
from shapely.geometry import LineString, MultiPoint

from splitplanner.solid.lettering import arrow, lettering, text_strokes

LINE = 0.45
CAP = 0.5 * 24 * math.sin(2 * math.pi / 24)
"""Area of the 24 corners that stand for a circle of radius 1."""


def length(line):
    return LineString(line).length


def test_a_straight_stroke_has_its_length_times_its_width_and_two_half_round_ends():
    for character, many in (("I", 1), ("-", 1), ("=", 2), ('"', 2)):
        strokes = text_strokes(character, 4.0, LINE)
        assert len(strokes) == many
        shape = lettering(character, 4.0, LINE)
        assert len(shape.geoms) == many
        wanted = sum(length(line) * LINE + CAP * (LINE / 2) ** 2 for line in strokes)
        assert shape.area == pytest.approx(wanted, rel=1e-9)
    # A capital I is as high as asked, over all: 4 mm less two half widths.
    assert length(text_strokes("I", 4.0, LINE)[0]) == pytest.approx(4.0 - LINE)


@pytest.mark.parametrize("text", ["0123456789", "1 TO 3", "2.1a", "I", "-10"])
@pytest.mark.parametrize(("height", "stroke"), [(4.0, 0.45), (3.0, 0.45), (8.0, 0.9)])
def test_no_line_is_thinner_than_the_pen_and_none_much_longer(text, height, stroke):
    shape = lettering(text, height, stroke)
    assert shape.is_valid
    strokes = text_strokes(text, height, stroke)
    middles = shapely.multilinestrings([LineString(line) for line in strokes])
    # Round ends are drawn with corners on the circle, GEOS evens bends out by a hundredth.
    edge = shapely.distance(MultiPoint(np.vstack(strokes)), shape.boundary)
    assert edge >= 0.98 * stroke / 2
    assert shape.covers(middles)
    whole = sum(length(line) for line in strokes)
    # Where strokes meet or bend they share some of it.
    bends = sum(len(line) for line in strokes)
    assert whole * stroke - bends * stroke**2 < shape.area
    assert shape.area <= whole * stroke + len(strokes) * CAP * stroke**2 / 4 + 1e-9


def test_capitals_and_digits_stand_on_the_line_and_are_as_high_as_asked():
    for character in "ABCDEFGHIKLMNOPRSTUVWXYZ0123456789":
        west, low, _, high = lettering(character, 5.0, 0.5).bounds
        assert (west, low, high) == pytest.approx((0.0, 0.0, 5.0), abs=0.01)
    # The middle of a line is where its strokes are, so letters follow each other from the left.
    one, two = lettering("1", 4.0, LINE), lettering("12", 4.0, LINE)
    assert two.bounds[2] > one.bounds[2] + LINE
    assert two.covers(one.buffer(-1e-9))


def test_letters_stay_a_line_apart_and_bowls_stay_open():
    for first in "0123456789TO":
        for second in "0123456789TO":
            left = lettering(first, 3.0, LINE)
            both = lettering(first + second, 3.0, LINE)
            right = both.difference(left.buffer(0.01))
            assert left.distance(right) > 0.5 * LINE, first + second
    for character, bowls in (("0", 1), ("6", 1), ("8", 2), ("9", 1), ("4", 1), ("O", 1), ("3", 0)):
        (letter,) = lettering(character, 4.0, LINE).geoms
        assert len(letter.interiors) == bowls, character
        for ring in letter.interiors:
            # A printed line goes into it.
            assert shapely.maximum_inscribed_circle(shapely.polygons(ring)).length > LINE / 2


def picture(shape, size=48):
    """Return `shape` stretched over a square, as (size, size) of 0 and 1."""
    west, south, east, north = shape.bounds
    image = Image.new("L", (size, size), 0)
    pen = ImageDraw.Draw(image)

    def ring(coordinates):
        xy = np.asarray(coordinates)
        x = (xy[:, 0] - west) / (east - west) * (size - 1)
        y = (north - xy[:, 1]) / (north - south) * (size - 1)
        return list(zip(x.tolist(), y.tolist(), strict=True))

    for polygon in shape.geoms:
        pen.polygon(ring(polygon.exterior.coords), fill=255)
        for inner in polygon.interiors:
            pen.polygon(ring(inner.coords), fill=0)
    return np.asarray(image) / 255.0


def printed(character, size=48):
    """Return a character of the font that Pillow brings, in the same square."""
    image = Image.new("L", (400, 400), 0)
    font = ImageFont.load_default(200)
    ImageDraw.Draw(image).text((60, 60), character, fill=255, font=font)
    cut = image.crop(image.getbbox()).resize((size, size))
    return np.asarray(cut) / 255.0


def blurred(image):
    from scipy.ndimage import gaussian_filter

    smooth = gaussian_filter(image, 3.0)
    smooth -= smooth.mean()
    return smooth / np.linalg.norm(smooth)


def test_each_digit_looks_like_that_digit_of_another_font_and_not_mirrored():
    # The font that Pillow ships is the reference; 1 is no wide figure, stretched it is a blot.
    digits = "023456789"
    known = {digit: blurred(printed(digit)) for digit in digits}
    for digit in digits:
        mine = lettering(digit, 4.0, LINE)
        likeness = {
            name: float((blurred(picture(mine)) * image).sum()) for name, image in known.items()
        }
        assert max(likeness, key=likeness.__getitem__) == digit
        if digit in "2345679":
            mirrored = affinity.scale(mine, -1.0, 1.0)
            assert float((blurred(picture(mirrored)) * known[digit]).sum()) < likeness[digit]


def test_an_arrow_points_up_and_is_even_on_both_sides():
    shape = arrow(6.0, 0.5)
    assert len(shape.geoms) == 1
    barb = 0.35 * 5.5
    assert shape.bounds == pytest.approx((-barb - 0.25, 0.0, barb + 0.25, 6.0), abs=0.01)
    assert shape.symmetric_difference(affinity.scale(shape, -1.0, 1.0, origin=(0, 0))).area < 1e-9
    # Shaft, two barbs at 45°, and what the three share at the tip.
    strokes = 5.5 + 2 * barb * math.sqrt(2)
    assert strokes * 0.5 - 0.5**2 < shape.area < strokes * 0.5 + 2 * CAP * 0.25**2
    assert shape.centroid.y > 3.0


@pytest.mark.parametrize(
    ("text", "height", "stroke", "expected"),
    [
        ("", 4.0, 0.45, "nothing to draw"),
        (" ", 4.0, 0.45, "nothing to draw"),
        ("→", 4.0, 0.45, "no '→'"),
        ("1", 4.0, 0.0, "draws nothing that can be read"),
        ("1", 1.8, 0.45, "draws nothing that can be read 1.8 mm high"),
        ("1", math.nan, 0.45, "draws nothing"),
    ],
)
def test_what_cannot_be_drawn_is_refused(text, height, stroke, expected):
    with pytest.raises(ValueError, match=expected):
        lettering(text, height, stroke)


def test_equal_texts_are_equal_to_the_bit():
    assert lettering("8 TO 12", 4.0, LINE).wkb == lettering("8 TO 12", 4.0, LINE).wkb
