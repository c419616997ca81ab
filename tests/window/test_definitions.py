"""Every figure that is shown says what it means."""

import pytest

from splitplanner.score import CRITERIA
from splitplanner.score.criteria.seen_from import seen_from
from splitplanner.score.views import Views
from splitplanner.window.lists import (
    assembly_table,
    beds_table,
    cuts_table,
    directions_popup,
    fasteners_table,
    parts_table,
    pieces_table,
    proposal_card,
    seams_table,
)
from splitplanner.window.lists.definitions import CRITERIA_MEANING, FIGURES, criterion_definition

TABLES = (
    assembly_table,
    beds_table,
    cuts_table,
    directions_popup,
    fasteners_table,
    parts_table,
    pieces_table,
    seams_table,
)


def test_every_criterion_has_one():
    wanted = {criterion.name for criterion in (*CRITERIA, seen_from(Views()))}
    assert set(CRITERIA_MEANING) == wanted


def test_every_figure_of_every_table_has_one():
    shown = {
        figure.name for table in TABLES for column in table.COLUMNS for figure in column.figures
    }
    shown |= {bar.name for bar in proposal_card.BARS}
    assert shown <= set(FIGURES)


@pytest.mark.parametrize("text", [*FIGURES.values(), *CRITERIA_MEANING.values()])
def test_each_is_a_sentence_or_a_few(text):
    assert text[0].isupper()
    assert text.endswith(".")
    assert 1 <= text.count(". ") + 1 <= 3


def test_an_unknown_criterion_is_shown_by_its_name():
    assert criterion_definition("something new") == "something new"
