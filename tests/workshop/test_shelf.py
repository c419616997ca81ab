"""The hardware shelf, held against an independent public table and closed forms.

The rows under ``data`` are of that table (see the note beside them); it is left out where it is
known to hold something else: heads of ISO 10642, ends of the length ranges.
"""

import csv
import dataclasses
import math
from pathlib import Path

import pytest

from splitplanner.errors import WorkshopError
from splitplanner.workshop import (
    FormingScrew,
    HexDriver,
    HexKey,
    Insert,
    Nut,
    ScrewType,
    Thread,
    Washer,
    dowel_pins,
    hardware_shelf,
    own_shelf,
    screw_length,
)

DATA = Path(__file__).parent / "data"
SIZES = ("M2", "M2.5", "M3", "M4", "M5", "M6", "M8")
SHELF = hardware_shelf()
TABLES = {field.name: getattr(SHELF, field.name) for field in dataclasses.fields(SHELF)}

SCREW = "standard,size,head_diameter,head_height,bearing_diameter,key,is_countersunk,lengths,source"
NUT = "standard,size,across_flats,height,source"
HEADERS = {
    "threads": "size,diameter,pitch,clearance_fine,clearance_medium,clearance_coarse,tap_drill,"
    "source",
    "screws": SCREW,
    "nuts": NUT,
    "washers": "standard,size,is_large,inner,outer,thickness,source",
    "inserts": "name,size,hole_diameter,length,outer_diameter,least_wall,source",
    "forming_screws": "name,diameter,pilot_diameter,head_diameter,head_height,key,engagement,"
    "boss_diameter,lengths,source",
    "keys": "across_flats,long_arm,short_arm,source",
    "drivers": "across_flats,shaft_diameter,length,handle_diameter,source",
    "sheet_metals": "name,density,stiffness,proof_stress,source",
}


def public(name):
    """Return the rows of the public table by size, ``M4-0.7`` as ``M4``."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {next(iter(row.values())).split("-")[0]: row for row in rows}


def numbers(row, *columns):
    return tuple(float(row[column]) for column in columns)


def written(folder, table, *rows, header=None):
    path = folder / f"{table}.csv"
    path.write_text("\n".join([header or HEADERS[table], *rows, ""]), encoding="utf-8")
    return path


# -- the built-in tables ------------------------------------------------------------------------
@pytest.mark.parametrize("size", SIZES)
def test_threads_are_those_of_the_public_table(size):
    thread = SHELF.thread(size)
    holes = numbers(public("clearance_hole_sizes")[size], "Close", "Normal", "Loose")
    assert (thread.clearance_fine, thread.clearance_medium, thread.clearance_coarse) == holes
    row = public("tap_hole_sizes")[size]
    assert thread.tap_drill == float(row["Soft"])
    assert row["Size"] == f"M{thread.diameter:g}-{thread.pitch:g}"


# Pitch diameter d2 and minor diameters D1 and d3 by the formulas of ISO 724 and ISO 898-1, to
# three digits, worked out elsewhere; the stress area as printed in ISO 898-1:2013 Table 4, which
# begins at M3 (two or more independent public tables agree), and below that by its formula.
PRINTED = {
    "M2": (1.740, 1.567, 1.509, 2.07),
    "M2.5": (2.208, 2.013, 1.948, 3.39),
    "M3": (2.675, 2.459, 2.387, 5.03),
    "M4": (3.545, 3.242, 3.141, 8.78),
    "M5": (4.480, 4.134, 4.019, 14.2),
    "M6": (5.350, 4.917, 4.773, 20.1),
    "M8": (7.188, 6.647, 6.466, 36.6),
}


@pytest.mark.parametrize("size", SIZES)
def test_diameters_and_stress_areas_are_those_printed(size):
    thread = SHELF.thread(size)
    pitch, minor, root, area = PRINTED[size]
    assert thread.pitch_diameter == pytest.approx(pitch, abs=0.005)
    assert thread.minor_diameter == pytest.approx(minor, abs=0.005)
    assert thread.root_diameter == pytest.approx(root, abs=0.005)
    assert thread.stress_area == pytest.approx(area, rel=0.01)
    # ISO 898-1, 9.1.6.1: the circle on the mean of d2 and d3; 0.9382 is rounded.
    mean = (thread.pitch_diameter + thread.root_diameter) / 2
    assert thread.stress_area == pytest.approx(math.pi / 4 * mean**2, rel=1e-4)


# ISO 898-1:2013 Table 5, class 8.8, N: stress area times 580 MPa, rounded.
@pytest.mark.parametrize(
    ("size", "load"), [("M3", 2920), ("M4", 5100), ("M5", 8230), ("M6", 11600), ("M8", 21200)]
)
def test_stress_areas_give_the_printed_proof_loads(size, load):
    assert SHELF.thread(size).stress_area * 580 == pytest.approx(load, rel=0.01)


# Heads without knurl, ISO 4762:2004 (two or more independent public tables agree).
PLAIN = dict(zip(SIZES, (3.8, 4.5, 5.5, 7.0, 8.5, 10.0, 13.0), strict=True))


@pytest.mark.parametrize("size", SIZES)
def test_socket_heads_are_those_of_the_public_table(size):
    screw = SHELF.screw("ISO 4762", size)
    expected = numbers(
        public("socket_head_cap_parameters")[size], "iso4762:dk", "iso4762:k", "iso4762:s"
    )
    assert (screw.head_diameter, screw.head_height, screw.key) == expected
    assert screw.bearing_diameter == PLAIN[size]
    assert not screw.is_countersunk


@pytest.mark.parametrize("size", SIZES[2:])
def test_button_heads_are_those_of_the_public_table(size):
    screw = SHELF.screw("ISO 7380-1", size)
    *head, socket = numbers(
        public("button_head_parameters")[size], "iso7380_1:dk", "iso7380_1:k", "iso7380_1:s"
    )
    assert [screw.head_diameter, screw.head_height] == head
    # The public table has the widest socket, which leaves the key a little play.
    assert screw.key < socket <= screw.key + 0.15
    assert not screw.is_countersunk


@pytest.mark.parametrize("size", SIZES[2:])
def test_countersunk_heads_follow_the_closed_form(size):
    # ISO 10642: sharp head 2.24 d; a cone of 90° from there to d is (2.24 - 1) d / 2 = 0.62 d high.
    screw, diameter = SHELF.screw("ISO 10642", size), SHELF.thread(size).diameter
    assert screw.is_countersunk
    assert screw.head_diameter == pytest.approx(2.24 * diameter)
    assert screw.head_height == pytest.approx((screw.head_diameter - diameter) / 2)
    assert screw.key == SHELF.screw("ISO 7380-1", size).key
    # The rim as made is smaller than the sharp one but wider than the through hole.
    assert SHELF.thread(size).clearance_coarse < screw.bearing_diameter < screw.head_diameter


def test_stocked_lengths_are_of_the_standards_series():
    for screw in SHELF.screws:
        name = screw.standard.replace("ISO ", "iso").replace("-", "_")
        series = public("nominal_screw_lengths")[name]["Nominal_Sizes"].split(",")
        assert set(screw.lengths) <= {float(length) for length in series}
        # None is left out between the shortest and the longest.
        inside = [
            float(length)
            for length in series
            if screw.lengths[0] <= float(length) <= screw.lengths[-1]
        ]
        assert list(screw.lengths) == inside
        diameter = SHELF.thread(screw.size).diameter
        assert screw.lengths[0] <= 3 * diameter
        assert screw.lengths[-1] >= 8 * diameter


@pytest.mark.parametrize("size", SIZES)
def test_nuts_are_those_of_the_public_table(size):
    nut = SHELF.nut(size)
    row = public("hex_nut_parameters")[size]
    assert (nut.height, nut.across_flats) == numbers(row, "iso4032:m", "iso4032:s")
    # A sharp hexagon, by its corner at 30°.
    corner = nut.across_flats / 2 / math.cos(math.radians(30))
    assert nut.across_corners == pytest.approx(2 * corner)
    # Least width across corners in ISO 4032:2001 Table 1.
    least = dict(zip(SIZES, (4.32, 5.45, 6.01, 7.66, 8.79, 11.05, 14.38), strict=True))
    assert least[size] < nut.across_corners < 1.1 * least[size]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("standard", ["ISO 7089", "ISO 7093"])
def test_washers_are_those_of_the_public_table(size, standard):
    is_large = standard == "ISO 7093"
    if is_large and size in ("M2", "M2.5"):  # ISO 7093-1 begins at M3
        with pytest.raises(WorkshopError, match="large washer of size"):
            SHELF.washer(size, large=True)
        return
    washer, column = SHELF.washer(size, large=is_large), standard.replace("ISO ", "iso")
    inner, outer, thickest = numbers(
        public("plain_washer_parameters")[size], *(f"{column}:{name}" for name in ("d1", "d2", "h"))
    )
    assert (washer.standard, washer.inner, washer.outer) == (standard, inner, outer)
    # The public table has the thickest; washers of product grade A are up to 0.2 mm off.
    assert washer.thickness < thickest <= washer.thickness + 0.2 + 1e-9


def test_bearing_areas():
    # Rings by hand: M4 head and washers on the medium clearance hole.
    hole = SHELF.thread("M4").clearance_medium
    assert SHELF.screw("ISO 4762", "M4").bearing_area(hole) == pytest.approx(22.58, abs=0.005)
    assert SHELF.washer("M4").bearing_area(hole) == pytest.approx(47.71, abs=0.005)
    assert SHELF.washer("M4", large=True).bearing_area(hole) == pytest.approx(97.19, abs=0.005)
    assert SHELF.nut("M4").bearing_area(hole) == pytest.approx(22.58, abs=0.005)
    # A hole smaller than the washer's own does not make its face larger; a larger one leaves none.
    washer = SHELF.washer("M4")
    assert washer.bearing_area(1.0) == washer.bearing_area(4.3)
    assert washer.bearing_area(20.0) == 0.0


def test_every_row_says_where_it_is_from():
    for rows in TABLES.values():
        assert rows
        for row in rows:
            assert any(
                tag in row.source
                for tag in (
                    "two or more independent public tables agree",
                    "checked against one public table",
                    "from memory",
                    "computed: ",
                )
            )
    assert all("from memory" in tool.source for tool in (*SHELF.keys, *SHELF.drivers))


def test_no_entry_is_there_twice_and_none_lacks_its_thread():
    assert SHELF.sizes == SIZES
    for rows, names in (
        (SHELF.screws, [(screw.standard, screw.size) for screw in SHELF.screws]),
        (SHELF.nuts, [nut.size for nut in SHELF.nuts]),
        (SHELF.washers, [(washer.standard, washer.size) for washer in SHELF.washers]),
        (SHELF.keys, [key.across_flats for key in SHELF.keys]),
        (SHELF.drivers, [driver.across_flats for driver in SHELF.drivers]),
    ):
        assert len(set(names)) == len(rows)
    for row in (*SHELF.screws, *SHELF.nuts, *SHELF.washers, *SHELF.inserts):
        assert row.size in SIZES


def test_every_screw_has_its_key():
    for screw in (*SHELF.screws, *SHELF.forming_screws):
        key = SHELF.key(screw.key)
        assert key.across_flats == screw.key
        # A key fits into the head: its corners are within the bearing face.
        assert key.across_corners < screw.head_diameter
    keys = sorted(SHELF.keys, key=lambda key: key.across_flats)
    assert [key.long_arm for key in keys] == sorted(key.long_arm for key in keys)
    assert [key.short_arm for key in keys] == sorted(key.short_arm for key in keys)


def test_every_screw_has_its_driver():
    for screw in (*SHELF.screws, *SHELF.forming_screws):
        driver = SHELF.driver(screw.key)
        assert driver.across_flats == screw.key
        # A blade goes into the bore over the head, and its tip is a hexagon turned from its shaft.
        across_corners = screw.key / math.cos(math.radians(30))
        assert across_corners < driver.shaft_diameter < screw.head_diameter
        assert driver.length > SHELF.key(screw.key).short_arm
    rising = sorted(SHELF.drivers, key=lambda driver: driver.across_flats)
    assert list(SHELF.drivers) == rising
    for sizes in ("length", "handle_diameter"):
        values = [getattr(driver, sizes) for driver in rising]
        assert values == sorted(values)


def test_examples_are_marked_and_follow_the_rules_of_thumb():
    # Common practice, no normative source: boss twice to three times the insert, wall of a radius
    # of the insert at least; pilot hole 0.75 to 0.85 d, engagement 2 to 3 d, boss 2 to 2.5 d.
    (insert,), (screw,) = SHELF.inserts, SHELF.forming_screws
    for example in (insert, screw):
        assert example.is_example
        assert example.name.startswith("example")
        assert "replace by your data sheet" in example.source
    assert insert.least_wall >= insert.outer_diameter / 2
    assert 2 <= insert.boss_diameter / insert.outer_diameter <= 3
    assert 0.3 <= insert.outer_diameter - insert.hole_diameter <= 0.6
    assert 0.75 <= screw.pilot_diameter / screw.diameter <= 0.85
    assert 2 <= screw.engagement / screw.diameter <= 3
    assert 2 <= screw.boss_diameter / screw.diameter <= 2.5
    assert 0.3 <= (screw.pilot_depth - screw.engagement) / screw.diameter <= 0.5
    assert 1.05 <= screw.clearance / screw.diameter <= 1.1 + 1e-9
    assert screw.bearing_area(screw.clearance) == pytest.approx(math.pi / 4 * (36 - 3.3**2))


def test_an_insert_s_hole_leaves_the_screw_room():
    # 1 mm, or two pitches where that is more (common practice): M3 1 mm, M8 2.5 mm.
    assert Insert("x", "M3", 4, 5, 4.5, 2, "mine").hole_depth(SHELF.thread("M3")) == 6.0
    assert Insert("x", "M8", 9.6, 12, 10, 4, "mine").hole_depth(SHELF.thread("M8")) == 14.5


def test_the_shelf_is_frozen_and_has_the_dowel_pins():
    assert SHELF.dowel_pins == dowel_pins()
    assert hardware_shelf() == SHELF
    for rows in TABLES.values():
        with pytest.raises(dataclasses.FrozenInstanceError):
            rows[0].source = "elsewhere"
    with pytest.raises(dataclasses.FrozenInstanceError):
        SHELF.nuts = ()


# -- look-ups -----------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("ask", "fault"),
    [
        (lambda: SHELF.thread("M7"), "no thread M7 on the hardware shelf, which has M2, M2.5, M3"),
        (
            lambda: SHELF.screw("ISO 1", "M3"),
            "no screw of ISO 1 .* ISO 4762, ISO 7380-1 and ISO 10",
        ),
        (lambda: SHELF.screw("ISO 7380-1", "M2"), "no ISO 7380-1 screw of size M2 .* M3, M4, M5"),
        (lambda: SHELF.nut("M10"), "no nut of size M10 .* M2, M2.5, M3, M4, M5, M6 and M8"),
        (lambda: SHELF.washer("M10"), "no washer of size M10 .* M6 and M8"),
        (lambda: SHELF.washer("M2", large=True), "no large washer of size M2 .*which has M3, M4"),
        (lambda: SHELF.insert("M4"), "no heat-set insert of size M4 .* which has M3"),
        (lambda: SHELF.forming_screw(4.0), "no thread-forming screw of 4 mm .* of 3 mm"),
        (lambda: SHELF.forming_screw("x"), "no thread-forming screw “x” .*“example thread-forming"),
        (lambda: SHELF.key(7), "no hexagon key of 7 mm .* 1.3 mm, 1.5 mm, 2 mm"),
        (lambda: SHELF.driver(7), "no straight driver of 7 mm .* 1.3 mm, 1.5 mm, 2 mm"),
        (lambda: dataclasses.replace(SHELF, nuts=()).nut("M3"), "which has none at all"),
    ],
)
def test_what_is_not_there_is_told_with_what_is(ask, fault):
    with pytest.raises(WorkshopError, match=fault):
        ask()


def test_look_ups():
    assert SHELF.screw_standards == ("ISO 4762", "ISO 7380-1", "ISO 10642")
    assert SHELF.screw_sizes("ISO 4762") == SIZES
    assert SHELF.screw_sizes("ISO 10642") == SIZES[2:]
    assert SHELF.insert("M3").name == "example insert M3"
    assert SHELF.forming_screw(3.0) is SHELF.forming_screw("example thread-forming screw 3")
    assert SHELF.key(0.1 + 2.4) == SHELF.key(2.5)
    assert SHELF.driver(0.1 + 2.4) == SHELF.driver(2.5)


@pytest.mark.parametrize("screw", [SHELF.screw("ISO 4762", "M4"), *SHELF.forming_screws])
def test_screw_length_is_the_shortest_within_limits(screw):
    # Against all pairs of limits in steps of half a millimetre, by trying every length.
    for low in range(0, 120):
        assert screw_length(screw, at_least=low / 2) == min(
            (length for length in screw.lengths if length >= low / 2), default=None
        )
        for high in range(low - 2, low + 24, 3):
            within = [length for length in screw.lengths if low / 2 <= length <= high / 2]
            got = screw_length(screw, at_least=low / 2, at_most=high / 2)
            assert got == (within[0] if within else None)


def test_rounding_errors_do_not_ask_for_a_longer_screw():
    screw = SHELF.screw("ISO 4762", "M3")
    stack = 7.4 + 0.8 + 1.8
    assert stack > 10.0
    assert screw_length(screw, at_least=stack) == 10.0
    assert screw_length(screw, at_least=9.0, at_most=10.0 - 1e-12) == 10.0
    assert screw_length(screw, at_least=10.01) == 12.0


# -- what is no hardware ------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("make", "values", "fault"),
    [
        (Thread, ("M4", 5, 0.7, 4.3, 4.5, 4.8, 3.3, "x"), "“M4”: the diameter must be 4 mm"),
        (Thread, ("four", 4, 0.7, 4.3, 4.5, 4.8, 3.3, "x"), "“four” is no size of a metric"),
        (Thread, ("M0", 0, 0.7, 4.3, 4.5, 4.8, 3.3, "x"), "“M0” is no size"),
        (Thread, (" ", 4, 0.7, 4.3, 4.5, 4.8, 3.3, "x"), "name, standard and size"),
        (Thread, ("M4", 4, 2.7, 4.3, 4.5, 4.8, 3.3, "x"), "half diameter .2 mm. must be above"),
        (Thread, ("M4", 4, math.nan, 4.3, 4.5, 4.8, 3.3, "x"), "pitch must be above 0 mm, got nan"),
        (Thread, ("M4", 4, 0.7, 4.3, 4.5, 4.8, 4.3, "x"), "diameter .4 mm. must be above the tap"),
        (
            Thread,
            ("M4", 4, 0.7, 4.3, 4.5, 4.8, 3.0, "x"),
            "tap drill .3 mm. must be above the root",
        ),
        (Thread, ("M4", 4, 0.7, 3.9, 4.5, 4.8, 3.3, "x"), "clearance fine .3.9 mm. must be above"),
        (Thread, ("M4", 4, 0.7, 4.5, 4.3, 4.8, 3.3, "x"), "from fine over medium to coarse"),
        (Thread, ("M4", 4, 0.7, 4.3, 4.5, math.inf, 3.3, "x"), "from fine over medium to coarse"),
        (Nut, ("ISO 4032", "M4", 3.2, 7, "x"), "“ISO 4032 M4”: the width across flats"),
        (Nut, ("ISO 4032", "M4", 7, 0, "x"), "height must be above 0 mm"),
        (Washer, ("ISO 7089", "M4", False, 3.9, 9, 0.8, "x"), "inner diameter .3.9 mm. must be"),
        (Washer, ("ISO 7089", "M4", False, 4.3, 4.3, 0.8, "x"), "outer diameter .4.3 mm. must be"),
        (Washer, ("ISO 7089", "M4", False, 4.3, 9, -1, "x"), "thickness must be above 0 mm"),
        (Insert, ("mine", "M3", 3, 5, 4.5, 2, "x"), "“mine”: the hole diameter .3 mm."),
        (Insert, ("mine", "M3", 4.5, 5, 4.5, 2, "x"), "outer diameter .4.5 mm. must be above"),
        (Insert, ("mine", "M3", 4, math.inf, 4.5, 2, "x"), "length must be above 0 mm, got inf"),
        (Insert, ("mine", "M3", 4, 5, 4.5, 0, "x"), "least wall must be above 0 mm"),
        (HexKey, (2, 18, 50, "x"), "“2”: the long arm .18 mm. must be above the short arm"),
        (HexKey, (0, 50, 18, "x"), "width across flats must be above 0 mm"),
        (HexDriver, (2, 1.9, 75, 25, "x"), "“2”: the shaft diameter .1.9 mm. must be above the w"),
        (HexDriver, (2, 2.4, 2, 25, "x"), "length .2 mm. must be above the shaft diameter"),
        (HexDriver, (2, 2.4, 75, 2, "x"), "handle diameter .2 mm. must be above the shaft"),
        (HexDriver, (2, math.nan, 75, 25, "x"), "shaft diameter must be above 0 mm, got nan"),
    ],
)
def test_what_is_no_hardware_is_refused(make, values, fault):
    with pytest.raises(WorkshopError, match=fault) as caught:
        make(*values)
    assert str(caught.value).endswith(".")


@pytest.mark.parametrize(
    ("screw", "changes", "fault"),
    [
        ("screws", {"lengths": ()}, "“ISO 4762 M2”: name at least one length"),
        ("screws", {"lengths": (8, -8)}, "length must be above 0 mm, got -8 mm"),
        ("screws", {"lengths": (8, math.nan)}, "length must be above 0 mm, got nan mm"),
        ("screws", {"key": 4.0}, "head diameter .3.98 mm. must be above the width across flats of"),
        ("screws", {"bearing_diameter": 5.0}, "bearing diameter .5 mm. must not be above"),
        ("screws", {"bearing_diameter": 1.9}, "bearing diameter .1.9 mm. must be above the diam"),
        ("screws", {"head_height": 0.0}, "head height must be above 0 mm"),
        ("screws", {"standard": ""}, "name, standard and size"),
        ("forming_screws", {"lengths": ()}, "3”: name at least one length"),
        ("forming_screws", {"pilot_diameter": 3.0}, "diameter .3 mm. must be above the pilot"),
        ("forming_screws", {"head_diameter": 3.0}, "head diameter .3 mm. must be above the diam"),
        ("forming_screws", {"boss_diameter": 2.0}, "boss diameter .2 mm. must be above the diam"),
        ("forming_screws", {"key": 6.5}, "must be above the width across flats of the key"),
        ("forming_screws", {"engagement": -1.0}, "engagement must be above 0 mm"),
    ],
)
def test_what_is_no_screw_is_refused(screw, changes, fault):
    with pytest.raises(WorkshopError, match=fault):
        dataclasses.replace(TABLES[screw][0], **changes)


# -- the user's own -----------------------------------------------------------------------------
def test_own_rows_come_first_and_are_chosen_first(tmp_path):
    written(tmp_path, "screws", "ISO 4762,M3,5.5,3,5.4,2.5,No,50 40,my drawer")
    written(tmp_path, "inserts", "brass M3,M3,4,5.7,4.6,1.6,", "brass M2.5x0.35,M2.5x0.35,3,4,4,2,")
    written(tmp_path, "forming_screws", "mine,3,2.4,5.6,2.3,2,7,8,12 10,data sheet")
    written(tmp_path, "threads", "M8x1,8,1,8.4,9,10,7,cycle shop", "M10,10,1.5,10.5,11,12,8.5,mine")
    written(tmp_path, "washers", "fender,M3,yes,3.2,15,1,drawer")
    written(tmp_path, "keys", "2,100,18,drawer")
    written(tmp_path, "drivers", "2,3,150,30,", "2.5,6,25,30,stubby")
    shelf = hardware_shelf(tmp_path)
    mine = ScrewType("ISO 4762", "M3", 5.5, 3, 5.4, 2.5, False, (40, 50), "my drawer")
    assert shelf.screws == (mine, *SHELF.screws)
    assert shelf.screw("ISO 4762", "M3") == mine
    assert shelf.insert("M3").name == "brass M3"
    assert shelf.insert("M3").source == f"{tmp_path / 'inserts.csv'}, line 2"
    assert not shelf.insert("M3").is_example
    assert shelf.forming_screw(3) == FormingScrew(
        "mine", 3, 2.4, 5.6, 2.3, 2, 7, 8, (10, 12), "data sheet"
    )
    assert shelf.sizes == (*SIZES, "M8x1", "M10")
    assert shelf.washer("M3", large=True).outer == 15
    assert shelf.washer("M3") == SHELF.washer("M3")
    assert shelf.key(2).long_arm == 100
    assert shelf.driver(2).length == 150
    assert shelf.driver(2.5) == HexDriver(2.5, 6, 25, 30, "stubby")
    assert shelf.driver(3) == SHELF.driver(3)
    assert (shelf.nuts, shelf.dowel_pins) == (SHELF.nuts, SHELF.dowel_pins)


def test_an_empty_folder_changes_nothing(tmp_path):
    assert hardware_shelf(tmp_path) == SHELF
    (tmp_path / "notes.txt").write_text("buy more", encoding="utf-8")
    written(tmp_path, "nuts")
    assert hardware_shelf(tmp_path) == SHELF


def test_columns_may_stand_in_any_order_and_be_more(tmp_path):
    header = " height, note,size,source , standard,across_flats"
    written(tmp_path, "nuts", "2.2, thin,M3,drawer,DIN 562,5.5", header=header)
    assert hardware_shelf(tmp_path).nut("M3") == Nut("DIN 562", "M3", 5.5, 2.2, "drawer")


@pytest.mark.parametrize(
    ("table", "row", "fault"),
    [
        ("nuts", "ISO 4032,M3,wide,2.4,x", "“wide” in column across_flats is not a number"),
        ("nuts", "ISO 4032,M3,5.5", "give 5 values"),
        ("nuts", "ISO 4032,M3,5.5,2.4,x,y", "give 5 values"),
        ("nuts", "ISO 4032,M3,2.4,5.5,x", "the width across flats"),
        ("nuts", 'ISO 4032,M3,"5.5"x,2.4,x', "not a CSV row"),
        ("screws", "mine,M3,5.5,3,5.4,2.5,perhaps,8 10,x", "“perhaps” in column is_countersunk"),
        ("screws", "mine,M3,5.5,3,5.4,2.5,no,8 ten,x", "“ten” in column lengths is not a number"),
        ("keys", "2,nan,18,x", "long arm must be above 0 mm, got nan"),
    ],
)
def test_wrong_rows_name_file_and_line(tmp_path, table, row, fault):
    good = {
        "nuts": "DIN 562,M3,5.5,1.8,x",
        "screws": "mine,M3,5.5,3,5.4,2.5,yes,8 10,x",
        "keys": "2,50,18,x",
    }
    path = written(tmp_path, table, good[table], row)
    with pytest.raises(WorkshopError, match=fault) as caught:
        hardware_shelf(tmp_path)
    assert str(caught.value).startswith(f"{path}, line 3: ")
    assert caught.value.subject == str(path)


def test_wrong_files_are_told(tmp_path):
    with pytest.raises(WorkshopError, match="no hardware folder"):
        hardware_shelf(tmp_path / "none")
    path = written(tmp_path, "nuts", header="standard;size;across_flats;height;source")
    with pytest.raises(
        WorkshopError, match=r"line 1: column standard is missing; .* commas, are s"
    ):
        hardware_shelf(tmp_path)
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(WorkshopError, match="not text in UTF-8"):
        hardware_shelf(tmp_path)
    path.rename(tmp_path / "nut.csv")
    known = r"none of the tables .* nuts\.csv.* and sheet_metals\.csv"
    with pytest.raises(WorkshopError, match=known):
        hardware_shelf(tmp_path)


def test_one_bad_file_is_told_and_the_others_are_read(tmp_path):
    folder = tmp_path / "hardware"
    assert own_shelf(tmp_path).shelf == SHELF
    assert own_shelf(tmp_path).faults == ()
    folder.mkdir()
    written(folder, "keys", "2,100,18,x")
    bad = written(folder, "nuts", "DIN 562,M3,5.5,1.8,x", "DIN 562,M4,seven,2.2,x")
    (folder / "washers.csv").mkdir()
    kept = own_shelf(tmp_path)
    assert kept.shelf == dataclasses.replace(SHELF, keys=(HexKey(2, 100, 18, "x"), *SHELF.keys))
    assert len(kept.faults) == 2
    assert kept.faults[0].startswith(f"{bad}, line 3: “seven” in column across_flats")
    assert f"{folder / 'washers.csv'} cannot be read" in kept.faults[1]
