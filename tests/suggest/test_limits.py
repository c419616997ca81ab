"""A part out of proportion to the bed is refused at once."""

import pytest

from splitplanner.errors import NoProposalError
from splitplanner.plan import PartFile
from splitplanner.solid import Solid
from splitplanner.suggest import suggest
from splitplanner.suggest.limits import MOST_PIECES, boxes_needed, refuse_too_many
from splitplanner.workshop import Bed, Printer

BED = Bed.rectangle(100.0, 100.0, 100.0)


@pytest.mark.parametrize(
    ("size", "boxes"),
    # Closed form: the product of the three sides over the bed's, each rounded up.
    [((90, 90, 90), 1), ((100, 200, 300), 6), ((101, 200, 300), 12), ((390, 390, 390), 64)],
)
def test_boxes_needed(size, boxes):
    assert boxes_needed(Solid.box(size), BED) == boxes


def test_the_better_way_to_lie_counts():
    # 240 mm high: two boxes where it stands, one where it lies.
    assert boxes_needed(Solid.box((90, 90, 240)), Bed.rectangle(250, 100, 100)) == 1


def test_too_many_pieces_are_refused_in_one_sentence():
    part = Solid.box((390, 390, 390))
    assert boxes_needed(part, BED) > MOST_PIECES
    with pytest.raises(NoProposalError, match=r"about 64 pieces.*check the unit"):
        suggest(part, PartFile("cube.stl", "mm", part.fingerprint), Printer(bed=BED))


def test_absurd_numbers_are_not_spelled_out():
    with pytest.raises(NoProposalError, match="over 1000 pieces"):
        refuse_too_many(Solid.box((60, 50, 40)), Bed.rectangle(0.1, 0.1, 0.1))


def test_what_can_be_done_is_not_refused():
    refuse_too_many(Solid.box((390, 390, 290)), BED)
