"""A part out of proportion to the bed is refused at once."""

import pytest

from splitplanner.errors import NoProposalError
from splitplanner.plan import PartFile
from splitplanner.solid import Solid
from splitplanner.suggest import lower_bound, suggest
from splitplanner.suggest.limits import MOST_PIECES, boxes_needed, refuse_too_many
from splitplanner.workshop import Bed, Printer

BED = Bed.rectangle(100.0, 100.0, 100.0)


def refuse(part, bed):
    refuse_too_many(part, bed, lower_bound(part, bed).pieces)


@pytest.mark.parametrize(
    ("size", "boxes"),
    # Closed form: the product of the three sides over the bed's, each rounded up; counting ends
    # beyond 60.
    [((90, 90, 90), 1), ((100, 200, 300), 6), ((101, 200, 300), 12), ((390, 390, 390), 61)],
)
def test_boxes_needed(size, boxes):
    assert boxes_needed(Solid.box(size), BED) == boxes


def test_the_better_way_to_lie_counts():
    # 240 mm high: two boxes where it stands, one where it lies.
    assert boxes_needed(Solid.box((90, 90, 240)), Bed.rectangle(250, 100, 100)) == 1


def test_too_many_pieces_are_refused_in_one_sentence():
    part = Solid.box((390, 390, 390))
    assert boxes_needed(part, BED) > MOST_PIECES
    with pytest.raises(
        NoProposalError, match=r"over 60 boxes of the size of this bed.*check the unit"
    ):
        suggest(part, PartFile("cube.stl", "mm", part.fingerprint), Printer(bed=BED))


def frame(side, bar):
    inner = Solid.box((side - 2 * bar, side - 2 * bar, 3 * bar), (bar, bar, -bar))
    return Solid.box((side, side, bar)).difference(inner)


def test_an_open_frame_counts_by_what_it_fills():
    bed = Bed.rectangle(220.0, 220.0, 250.0)
    # The box round it takes 8 x 9 boxes; the frame lies in those along the rim, 72 less 6 x 7.
    assert boxes_needed(frame(1800, 30), bed) == 30
    refuse(frame(1800, 30), bed)


def test_a_bound_is_told_as_what_is_needed_at_least():
    # 10 x 10 x 2 times the bed's volume.
    part = Solid.box((1000, 1000, 200))
    with pytest.raises(NoProposalError, match="needs at least 200 pieces on this bed") as caught:
        refuse(part, BED)
    assert "about" not in str(caught.value)


def test_absurd_numbers_are_not_spelled_out():
    with pytest.raises(NoProposalError, match="over 1000 pieces"):
        refuse(Solid.box((60, 50, 40)), Bed.rectangle(0.1, 0.1, 0.1))


def test_what_can_be_done_is_not_refused():
    refuse(Solid.box((390, 390, 290)), BED)
