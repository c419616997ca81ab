"""The scorecard as JSON and CSV, read by the standard library, against closed forms."""

import csv
import io
import json
import math
from dataclasses import replace

import pytest

from splitplanner.findings import Finding, Severity
from splitplanner.output import scorecard_csv, scorecard_json, scorecard_record
from splitplanner.score import scorecard
from splitplanner.workshop import Material
from tests.pin_holes import holes_of
from tests.planned import BOX


@pytest.fixture(scope="module", params=["box_run", "ell_run"])
def card(request):
    return json.loads(
        (request.getfixturevalue(request.param).folder / "scorecard.json").read_text(
            encoding="utf-8"
        )
    )


@pytest.fixture(scope="module")
def box_card(box_run):
    return json.loads((box_run.folder / "scorecard.json").read_text(encoding="utf-8"))


def rows_of(folder):
    with (folder / "scorecard.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


# -- JSON -------------------------------------------------------------------------------------
def test_figures_of_the_box_by_closed_forms(box_card, box_result):
    """A box of 430 x 200 x 240 mm, cut square across its length into two halves with holes."""
    division, plan = box_result[0].division, box_result[0].plan
    part = box_card["part"]
    assert part["extents"] == list(BOX)
    assert part["volume"] == pytest.approx(math.prod(BOX))
    length, width, height = BOX
    assert part["area"] == pytest.approx(2 * (length * width + length * height + width * height))
    assert part["triangles"] == 12
    assert box_card["bed"] == "220x220x250"
    # 430 mm is longer than one bed's side but the part's diagonal 532 mm is under two of the
    # bed's (399 mm): two pieces can do and are found.
    assert box_card["least_pieces_possible"]["pieces"] == 2
    assert len(box_card["pieces"]) == 2
    (seam,) = box_card["seams"]
    assert seam["area"] == pytest.approx(width * height)
    assert seam["length"] == pytest.approx(2 * (width + height))
    assert seam["length"] == pytest.approx(seam["seen_length"] + seam["hidden_length"])
    for piece, cut in zip(box_card["pieces"], division.pieces, strict=True):
        holes = holes_of(cut, division, plan)
        assert len(holes) == len(seam["pins"])
        # Both halves stand on a whole face: no overhang, no support; flats over holes are bridges.
        assert piece["fits"] is True
        assert piece["overhang_area"] == piece["support_volume"] == 0
        whole = math.prod(piece["extents"])
        taken = sum(hole.volume for hole in holes)
        assert piece["volume"] == pytest.approx(whole - taken, rel=1e-9)
        # The seam does not lie on the bed.
        assert plan.up(cut.name) == (0, 0, 1)
        assert piece["bed_contact_area"] == pytest.approx(whole / piece["height"])
        assert math.hypot(*piece["print_direction"]) == pytest.approx(1.0)
        long, short = piece["plan"]
        assert long >= short
        assert sorted((long, short, piece["height"])) == pytest.approx(sorted(piece["extents"]))
        # By hand, with the printer's defaults; times are rounded to 4 decimals.
        x, y, z = piece["extents"]
        area = 2 * (x * y + y * z + z * x) + sum(hole.surface for hole in holes)
        section = piece["volume"] / piece["height"]
        line = (area - 2 * section) * 0.45
        within = piece["volume"] - 3 * line
        # Eight solid layers of 0.2 mm, of the rest 15 %; lines of 0.45 x 0.2 mm.
        laid = 8 * 0.2 * section + 0.15 * (within - 8 * 0.2 * section)
        seconds = line / (30 * 0.09) + 2 * line / (50 * 0.09) + laid / (70 * 0.09)
        layers = math.ceil(piece["height"] / 0.2 - 1e-6)
        seconds += layers
        assert piece["print_time_estimate"] == pytest.approx(seconds / 3600, abs=1e-4)
        # By layers nearly the same, since it is a block.
        assert piece["print_time"] == pytest.approx(seconds / 3600, rel=0.05)
        assert piece["layers"] == layers
        assert piece["printed_volume"] == pytest.approx(3 * line + laid, rel=0.02)
        assert "filament_mass" not in piece
    terms = {term["criterion"]: term["value"] for term in box_card["score"]["terms"]}
    estimates = sum(piece["print_time_estimate"] for piece in box_card["pieces"])
    assert terms["print time"] == pytest.approx(estimates, abs=1e-3)
    hours, volume = (
        sum(piece[figure] for piece in box_card["pieces"])
        for figure in ("print_time", "printed_volume")
    )
    assert box_card["printing"] == {
        "print_time": pytest.approx(hours, abs=1e-3),
        "printed_volume": pytest.approx(volume, abs=1e-3),
    }
    assert [step["seams"] for step in box_card["assembly"]] == [["S1"]]
    assert box_card["assembly"][0]["pins"] == len(seam["pins"]) >= 2


def test_the_plan_score_is_the_sum_of_its_terms(card):
    score = card["score"]
    for term in score["terms"]:
        expected = term["weight"] * term["value"] / term["reference"]
        # Values are rounded to 4 decimals.
        tolerance = 1e-4 * (1 + term["weight"] / term["reference"])
        assert term["contribution"] == pytest.approx(expected, abs=tolerance)
    total = sum(term["contribution"] for term in score["terms"])
    assert score["total"] == pytest.approx(total, abs=1e-3)
    counts = {term["criterion"]: term["value"] for term in score["terms"]}
    assert counts["pieces"] == len(card["pieces"])


def test_proposals_come_best_first_and_the_first_is_the_plan(card):
    proposals = card["proposals"]
    assert [each["number"] for each in proposals] == list(range(1, len(proposals) + 1))
    totals = [each["score"]["total"] for each in proposals]
    assert totals == sorted(totals)
    counting = [term for term in card["score"]["terms"] if term["weight"]]
    assert proposals[0]["score"] == {**card["score"], "terms": counting}
    assert proposals[0]["pieces"] == len(card["pieces"])


def test_each_piece_and_seam_goes_into_the_assembly_once(card):
    steps = card["assembly"]
    assert [step["step"] for step in steps] == list(range(1, len(steps) + 1))
    closed = [name for step in steps for name in step["seams"]]
    assert sorted(closed) == sorted(seam["name"] for seam in card["seams"])
    joined = {number for step in steps for number in step["moving"] + step["standing"]}
    assert joined == {piece["number"] for piece in card["pieces"]}
    for step in steps:
        assert math.hypot(*step["direction"]) == pytest.approx(1.0)
        assert not set(step["moving"]) & set(step["standing"])


def test_json_holds_no_infinite_number(box_result):
    result, _ = box_result
    odd = Finding(
        "test.odd",
        Severity.NOTE,
        "Nothing is allowed here.",
        where=[(math.nan, 0, 0), (1, 2, 3)],
        measured=math.inf,
        allowed=2.0,
        unit="mm",
    )

    def refuse(text):
        raise AssertionError(f"{text} is no JSON (RFC 8259, section 6)")

    card = json.loads(scorecard_json(result.with_findings(odd)), parse_constant=refuse)
    record = card["findings"][-1]
    assert "measured" not in record
    assert record["allowed"] == 2.0
    assert record["where"] == [[1.0, 2.0, 3.0]]


def test_an_unsound_plan_says_so(box_result):
    result, _ = box_result
    assert scorecard_record(result)["sound"] is True
    fault = Finding("piece.open", Severity.FAULT, "Piece 1 is open.")
    assert scorecard_record(result.with_findings(fault))["sound"] is False


# -- CSV --------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", ["box_run", "ell_run"])
def test_csv_has_every_figure_of_the_json(name, request):
    folder = request.getfixturevalue(name).folder
    card = json.loads((folder / "scorecard.json").read_text(encoding="utf-8"))
    rows = rows_of(folder)
    assert list(rows[0]) == ["of", "name", "figure", "value", "unit"]
    values = {(row["of"], row["name"], row["figure"]): row["value"] for row in rows}
    assert len(values) == len(rows)
    wanted = {("plan", "", "plan score"): card["score"]["total"]}
    for term in card["score"]["terms"]:
        wanted["plan", "", term["criterion"]] = term["value"]
    for figure, value in card["printing"].items():
        wanted["printing", "", figure] = value
    for figure, value in card["walls"].items():
        if figure not in ("thicknesses", "histogram"):
            wanted["walls", "", figure] = value
    for kind, key, entries in (
        ("piece", "number", card["pieces"]),
        ("bed", "number", card["beds"]),
        ("seam", "name", card["seams"]),
    ):
        for entry in entries:
            for figure, value in entry.items():
                at = (kind, str(entry[key]))
                if figure == key:
                    continue
                if figure in ("pins", "screws"):
                    wanted[*at, figure] = len(value)
                elif figure == "placed":
                    wanted[*at, "pieces"] = " ".join(str(each["piece"]) for each in value)
                elif isinstance(value, list):
                    members = {3: "xyz", 2: "12"}[len(value)]
                    members = ("below", "above") if figure == "pieces" else members
                    members = ("long", "short") if figure == "plan" else members
                    wanted.update(
                        {
                            (*at, f"{figure}_{member}"): each
                            for member, each in zip(members, value, strict=True)
                        }
                    )
                else:
                    wanted[*at, figure] = value
    assert values.keys() == wanted.keys()
    for place, value in wanted.items():
        if isinstance(value, bool):
            assert values[place] == ("yes" if value else "no")
        elif isinstance(value, str):
            assert values[place] == value
        else:
            assert float(values[place]) == value


def test_csv_gives_units(box_run):
    units = {(row["of"], row["figure"]): row["unit"] for row in rows_of(box_run.folder)}
    assert units["piece", "volume"] == "mm3"
    assert units["piece", "extents_x"] == "mm"
    assert units["seam", "area"] == "mm2"
    assert units["piece", "yaw"] == "deg"


def test_the_files_are_what_the_functions_return(box_run, box_result):
    result, _ = box_result
    assert (box_run.folder / "scorecard.json").read_text(encoding="utf-8") == scorecard_json(result)
    assert (box_run.folder / "scorecard.csv").read_bytes().decode() == scorecard_csv(result)
    assert "\r" not in scorecard_csv(result)
    assert next(csv.reader(io.StringIO(scorecard_csv(result))))[0] == "of"


# -- filament ---------------------------------------------------------------------------------
def with_filament(result, left, **changes):
    petg = replace(Material("PETG", 1.25, 24.0), **changes)
    return replace(result, plan=replace(result.plan, material=petg)).with_spool_left(left)


def test_filament_and_spools_of_the_box(box_result):
    result = with_filament(box_result[0], 500.0)
    record = scorecard_record(result)
    masses = []
    for piece in record["pieces"]:
        # 1.25 g/cm³, 24 for each kg, a wire of 1.75 mm.
        masses.append(piece["printed_volume"] / 1000 * 1.25)
        assert piece["filament_mass"] == pytest.approx(masses[-1], abs=1e-3)
        assert piece["filament_cost"] == pytest.approx(masses[-1] * 0.024, abs=1e-3)
        wire = piece["filament_length"] * math.pi / 4 * 1.75**2
        assert wire == pytest.approx(piece["printed_volume"], rel=1e-6)
    printing = record["printing"]
    assert printing["material"] == "PETG"
    assert printing["filament_mass"] == pytest.approx(sum(masses), abs=1e-2)
    spools = math.ceil((sum(masses) - 500) / 1000)
    assert (printing["spool_left"], printing["new_spools"]) == (500, spools)
    assert printing["spool_is_enough"] is False
    assert printing["left_over"] == pytest.approx(500 + 1000 * spools - sum(masses), abs=1e-2)
    kinds = [finding["kind"] for finding in record["findings"]]
    assert "filament.spools" in kinds
    # Told again they do not pile up.
    again = [each.message for each in result.with_spool_left(500.0).findings]
    assert again == [each.message for each in result.findings]
    enough = scorecard_record(with_filament(box_result[0], 90_000.0, spool_mass=100_000.0))
    assert enough["printing"]["spool_is_enough"] is True
    assert enough["printing"]["new_spools"] == 0
    assert not [each for each in enough["findings"] if each["kind"].startswith("filament.")]


def test_what_is_not_known_of_filament_is_left_out(box_result):
    record = scorecard_record(with_filament(box_result[0], None, price=None))
    assert "filament_cost" not in record["printing"]
    assert "filament_cost" not in record["pieces"][0]
    assert "spool_left" not in record["printing"]
    assert record["printing"]["new_spools"] >= 1
    figures = box_result[0].card.figures
    bare = tuple(replace(row, printed=None) for row in figures.pieces)
    result = replace(box_result[0], card=scorecard(replace(figures, pieces=bare)))
    record = scorecard_record(result)
    assert record["printing"] == {}
    assert "print_time" not in record["pieces"][0]
    assert record["pieces"][0]["print_time_estimate"] > 0


def test_units_of_filament_in_csv(box_result):
    rows = csv.DictReader(io.StringIO(scorecard_csv(with_filament(box_result[0], 500.0))))
    units = {(row["of"], row["figure"]): (row["value"], row["unit"]) for row in rows}
    assert units["printing", "filament_mass"][1] == units["piece", "filament_mass"][1] == "g"
    assert units["printing", "filament_length"][1] == "mm"
    assert units["printing", "print_time"][1] == "h"
    assert units["printing", "material"] == ("PETG", "")
    assert units["printing", "spool_is_enough"] == ("no", "")
