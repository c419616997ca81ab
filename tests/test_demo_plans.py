"""The demonstration parts, coarsely modelled, through the whole job, read by other libraries.

And the choice among what the search for each of them found, by estimates.
"""

import itertools
import json

import lib3mf
import numpy as np
import pytest
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.job import check_plan, plan_part, write
from splitplanner.joint import Maker
from splitplanner.output import save_stl
from splitplanner.score.bed_sharing import SPACING
from splitplanner.suggest import proposals
from splitplanner.suggest.choosing import in_order, is_symmetric, same_idea
from splitplanner.suggest.concerns import MATTERS, front
from splitplanner.workshop import Bed, Printer
from tests.pin_holes import holes_of
from tests.placed_meshes import read, shadow

CASES = [
    ("rain_hood", "220x220x250"),
    ("dew_shield", "220x220x250"),
    ("garden_heron", "220x220x250"),
    ("l_bracket", "220x220x250"),
    ("cargo_lid", "220x220x250"),
    ("l_bracket", "180x180x180"),
]


@pytest.fixture(scope="module", params=CASES, ids=[f"{name} {bed}" for name, bed in CASES])
def searched(request, tmp_path_factory):
    """The result of a part, its folder, and what its search found."""
    name, size = request.param
    folder = tmp_path_factory.mktemp(name)
    model = folder / f"{name}.stl"
    save_stl(DEMO_PARTS[name].make(6_000), model)
    shares, found, search = [], [], proposals.search

    def noted(*given):
        found.append(search(*given))
        return found[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(proposals, "search", noted)
        result = plan_part(
            model, Printer(bed=Bed.parse(size)), report=lambda done, doing: shares.append(done)
        )
    assert shares == sorted(shares)
    result = write(result, folder / "out", model, pictures=False)
    return result, folder / "out", *found


@pytest.fixture
def planned(searched):
    return searched[:2]


@pytest.fixture
def chosen(searched):
    """The pool of a part, its mirrors, and the plans in the order in which they are shown."""
    result, _, found = searched

    def same(one, other):
        return same_idea(one, other, result.source.solid, found.mirrors)

    return found, same, in_order(found.pool, found.mirrors, same)


def test_plan_is_sound_and_has_alternatives(planned):
    result, folder = planned
    assert result.is_sound
    assert len(result.suggestion.proposals) >= 3
    assert len(result.division.pieces) >= result.bound.pieces
    assert check_plan(folder / "plan.json").is_sound


def test_pieces_are_closed_fit_and_add_up(planned):
    result, folder = planned
    bed = result.plan.printer.bed
    # Volume by trimesh (divergence theorem) of the undrilled pieces and of the part: 1e-6.
    whole = trimesh.Trimesh(
        result.source.solid.vertices, result.source.solid.faces, process=False
    ).volume
    pieces = [
        trimesh.Trimesh(piece.solid.vertices, piece.solid.faces, process=False).volume
        for piece in result.division.pieces
    ]
    assert sum(pieces) == pytest.approx(whole, rel=1e-6)
    rims = Maker().rimmed(result.division, result.plan)
    for piece, row in zip(result.division.pieces, result.card.figures.pieces, strict=True):
        mesh = trimesh.load(folder / f"pieces/piece-{piece.number:02d}.stl")
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.body_count == 1
        low, high = mesh.bounds
        assert (low >= -1e-3).all()
        assert (high <= np.array([bed.width, bed.depth, bed.height]) + 1e-3).all()
        # The written piece is that of the scorecard; it lacks its holes and has its flanges.
        assert mesh.volume == pytest.approx(row.piece.solid.volume, rel=1e-5)
        holes = sum(hole.volume for hole in holes_of(piece, result.division, result.plan))
        rimmed = rims[piece.name]
        flanges = [
            seam.name
            for seam in result.division.seams
            if piece.name in (seam.below, seam.above) and result.plan.joint(seam.name).flange
        ]
        assert rimmed.volume > piece.solid.volume + 100.0 if flanges else rimmed is piece.solid
        assert rimmed.volume - holes == pytest.approx(row.piece.solid.volume, rel=1e-6)


def test_3mf_is_read_strictly(planned):
    # lib3mf is the reference implementation of the 3MF specification by its consortium.
    result, folder = planned
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(folder / "pieces.3mf"))
    assert reader.GetWarningCount() == 0
    objects = model.GetMeshObjects()
    names = []
    while objects.MoveNext():
        mesh = objects.GetCurrentMeshObject()
        assert mesh.IsManifoldAndOriented()
        names.append(mesh.GetName())
    assert names == [f"piece-{piece.number:02d}" for piece in result.division.pieces]


def test_beds_hold_all_pieces_apart_from_each_other(planned):
    result, folder = planned
    bed = result.plan.printer.bed
    found = []
    for path in sorted((folder / "beds").iterdir()):
        meshes = read(path.read_bytes())
        found += meshes
        for name, mesh in meshes.items():
            own = trimesh.load(folder / f"pieces/{name}.stl")
            assert mesh.volume == pytest.approx(own.volume, rel=1e-5)
            assert mesh.bounds[0] == pytest.approx([*mesh.bounds[0, :2], 0.0], abs=1e-4)
            assert (mesh.bounds[0] >= -1e-4).all()
            assert (mesh.bounds[1] <= np.array([bed.width, bed.depth, bed.height]) + 1e-3).all()
        for one, other in itertools.combinations(map(shadow, meshes.values()), 2):
            assert one.distance(other) >= SPACING - 1e-3
    assert sorted(found) == [f"piece-{piece.number:02d}" for piece in result.division.pieces]
    counted = next(term for term in result.card.terms if term.criterion.name == "print beds")
    assert len(list((folder / "beds").iterdir())) <= counted.value
    sheet = (folder / "print_sheet.txt").read_text(encoding="utf-8")
    for piece in result.division.pieces:
        assert f"piece {piece.number}: " in sheet


def test_scorecard_tells_the_figures(planned):
    result, folder = planned
    record = json.loads((folder / "scorecard.json").read_text(encoding="utf-8"))
    assert record["sound"] is True
    assert len(record["pieces"]) == len(result.division.pieces)
    total = sum(term["contribution"] for term in record["score"]["terms"])
    assert record["score"]["total"] == pytest.approx(total, abs=1e-3)
    for proposal in record["proposals"]:
        assert proposal["pieces"] >= record["least_pieces_possible"]["pieces"]


# -- the choice among what was found --------------------------------------------------------------
def promised(found):
    """The best, the best of the fewest pieces and of one more, and the best symmetric plan."""
    pool = found.pool
    symmetric = [plan for plan in pool.choice if is_symmetric(plan, found.mirrors)]
    return [*pool.all[:1], *pool.of(pool.least)[:1], *pool.of(pool.least + 1)[:1], *symmetric[:1]]


def test_promised_plans_come_first(chosen):
    found, _, order = chosen
    first = {id(plan) for plan in promised(found)}
    assert {id(plan) for plan in order[: len(first)]} == first
    assert order[0] is found.pool.all[0]
    assert len(order) >= 3


def test_what_is_chosen_besides_is_better_in_something_than_all_before(chosen):
    found, same, order = chosen
    levels = [found.pool.levels(plan) for plan in order]
    rows = [(plan.score, level) for plan, level in zip(order, levels, strict=True)]
    apart = front(rows)
    start = len({id(plan) for plan in promised(found)})

    def gains(at):
        return any(
            min(earlier[name] for earlier in levels[:at]) - level > MATTERS
            for name, level in levels[at].items()
        )

    spread = list(itertools.takewhile(gains, range(start, len(order))))
    for at in spread:
        assert at in apart
        assert order[at].score <= 1.5 * order[0].score
        assert not any(same(order[at].sketch.cuts, other.sketch.cuts) for other in order[:at])
    # And nothing that could have been chosen so was passed over.
    left = order[start + len(spread) :]
    known = order[: start + len(spread)]
    for plan in left:
        gain = max(
            min(levels[at][name] for at in range(len(known))) - level
            for name, level in found.pool.levels(plan).items()
        )
        twin = any(same(plan.sketch.cuts, other.sketch.cuts) for other in known)
        dear = plan.score > 1.5 * order[0].score
        assert gain <= MATTERS or twin or dear or order.index(plan) not in apart
