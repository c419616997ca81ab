"""Judging: what is sound exactly, and what is shown at first sight because it surely will be."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from splitplanner.findings import faults
from splitplanner.plan import Cut, divide
from splitplanner.score import Wishes, soundness
from splitplanner.score.keep_out import KeepOutFaces
from splitplanner.solid import Plane
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.judging import Judge
from splitplanner.suggest.searching import improver_for
from splitplanner.suggest.standing_in import TRIANGLES, stand_in_for
from splitplanner.workshop import Bed, Printer
from tests.catalogue import solid_of

X, Z = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
PRINTER = Printer(bed=Bed.rectangle(220, 220, 250))


def fine_box(size=(300, 120, 120), rounds=5):
    mesh = trimesh.creation.box(size)
    for _ in range(rounds):
        mesh = mesh.subdivide()
    return solid_of(mesh)


@pytest.fixture(scope="module")
def part():
    found = fine_box()
    assert len(found.faces) > TRIANGLES
    return found


@pytest.fixture(scope="module")
def standing(part):
    return stand_in_for(part)


def judge_of(part, standing, printer=PRINTER, wishes=None):
    return Judge(part, standing, Costs(part, printer), wishes or Wishes())


def estimate_of(judge, *cuts):
    survey = improver_for(judge.standing, judge.costs).grower.survey
    return survey.estimate(survey.sketch(cuts))


def at_first_sight(judge, *cuts):
    return judge.at_first_sight(estimate_of(judge, *cuts))


def test_a_verdict_is_of_the_part_itself(part, standing):
    cuts = (Cut(Plane(X, 10.0)),)
    draft = judge_of(part, standing).verdict(cuts).draft
    assert draft.card.figures.exact
    assert draft.division.part is draft.card.figures.part is part
    # At rest: the score is worked out, and the kernel holds no piece.
    assert all("value" in vars(term) for term in draft.card.terms if term.counts)
    assert not any("_manifold" in vars(piece.solid) for piece in draft.division.pieces)
    volumes = [piece.solid.volume for piece in draft.division.pieces]
    assert sorted(volumes) == pytest.approx([140 * 120 * 120, 160 * 120 * 120])


def test_unsound_plans_and_broken_wishes_have_no_draft(part, standing):
    assert judge_of(part, standing).verdict((Cut(Plane(X, -149.8)),)).draft is None  # A sliver.
    wished = judge_of(part, standing, wishes=Wishes(longest_seam=479.0))
    verdict = wished.verdict((Cut(Plane(X, 10.0)),))
    assert verdict.draft is None
    assert "480.0 mm long" in verdict.broken
    wished = judge_of(part, standing, wishes=Wishes(longest_seam=481.0))
    assert wished.verdict((Cut(Plane(X, 10.0)),)).draft is not None


def test_at_first_sight_the_stand_in_is_cut(part, standing):
    judge = judge_of(part, standing)
    draft = at_first_sight(judge, Cut(Plane(X, 10.0)))
    assert not draft.card.figures.exact
    assert draft.division.part is standing.solid
    assert "_manifold" not in vars(part) or len(draft.division.part.faces) < len(part.faces)
    again = divide(part, draft.cuts)
    assert not faults(soundness(again, draft.ups, draft.cuts, PRINTER))


@pytest.mark.parametrize("spare", [0.02, 0.5])
def test_at_first_sight_pieces_have_the_tolerance_to_spare(part, standing, spare):
    # Upright the longer half is 170 mm high, on a plan of 120 by 120; lying it is longer than the
    # bed is wide. The stand-in may be 0.05 mm off on either side.
    near = standing.tolerance
    assert near == 0.05
    cuts = (Cut(Plane(X, 20.0)),)
    for bed in (
        Bed.rectangle(140, 140, 170 + spare),
        Bed.rectangle(120 + spare, 120 + spare, 180),
        replace(Bed.rectangle(130 + spare, 130 + spare, 180), margin=5.0),
    ):
        judge = judge_of(part, standing, Printer(bed=bed))
        assert judge.verdict(cuts).draft is not None
        assert (at_first_sight(judge, *cuts) is not None) == (spare > 2 * near)


def test_at_first_sight_a_piece_is_thicker_than_a_line_by_the_tolerance():
    # 2 V / A of a plate of 3 mm, 100 by 100 each half: 2 * 30 000 / 21 200 = 2.83 mm.
    part = fine_box((200, 100, 3.0))
    standing = stand_in_for(part)
    cuts = (Cut(Plane(X, 0.0)),)
    for line, shown in ((2.5, True), (2.78, False)):
        judge = judge_of(part, standing, Printer(bed=PRINTER.bed, nozzle=2.0, line_width=line))
        assert judge.verdict(cuts).draft is not None
        assert (at_first_sight(judge, *cuts) is not None) == shown


def test_at_first_sight_wishes_are_kept_with_something_to_spare(part, standing):
    cuts = (Cut(Plane(X, 10.0)),)

    def shown(**wishes):
        return at_first_sight(judge_of(part, standing, wishes=Wishes(**wishes)), *cuts) is not None

    assert not shown(longest_seam=481.0)
    assert shown(longest_seam=500.0)
    assert not shown(smallest_piece=139.95)
    assert shown(smallest_piece=139.0)
    assert not shown(must_cut=(Plane(X, 12.0),))
    assert shown(must_cut=(Plane(X, 10.0),))
    # Faces are those of the part, which has far more of them than the stand-in.
    middles = part.face_centroids
    crossed = np.flatnonzero(np.abs(middles[:, 0] - 10.0) < 4.0)
    beside = np.flatnonzero(np.abs(middles[:, 0] + 100.0) < 4.0)
    assert crossed.max() > len(standing.solid.faces)
    assert not shown(keep_out=(KeepOutFaces(tuple(crossed.tolist())),))
    assert shown(keep_out=(KeepOutFaces(tuple(beside.tolist())),))
