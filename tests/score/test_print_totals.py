"""What all pieces of a plan take, against sums by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.errors import WorkshopError
from splitplanner.plan import Cut, divide
from splitplanner.score import (
    filament_findings,
    filament_of,
    layered_print,
    layering,
    measure,
    print_totals,
)
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Material, Printer

UP = (0.0, 0.0, 1.0)
# All solid, so that it weighs what it holds.
PRINTER = Printer(infill=1.0, mass_factor=1.1)
PETG = Material("PETG", 1.25, 24.0, spool_mass=400.0)


@pytest.fixture(scope="module")
def figures():
    """Two blocks of 60 and 140 x 40 x 50 mm: 120 and 280 cm³."""
    division = divide(Solid.box((200, 40, 50)), (Cut(Plane((1.0, 0.0, 0.0), 60.0)),))
    ups = {piece.name: UP for piece in division.pieces}
    bare = measure(division, ups, PRINTER, np.zeros(len(division.part.faces), bool))
    rows = [
        replace(row, printed=layered_print(layering(row.piece.solid, UP, PRINTER), PRINTER))
        for row in bare.pieces
    ]
    return replace(bare, pieces=tuple(rows))


def test_the_sums_are_those_of_the_pieces(figures):
    found = print_totals(figures, PETG, 100.0)
    assert found.hours == pytest.approx(sum(row.printed.hours for row in figures.pieces))
    # 400 cm³ and a tenth.
    assert found.volume == pytest.approx(440e3, rel=1e-4)
    assert found.filament.mass == pytest.approx(550, rel=1e-4)
    assert found.filament.cost == pytest.approx(0.55 * 24, rel=1e-4)
    assert found.filament.length == pytest.approx(440e3 / (math.pi / 4 * 1.75**2), rel=1e-4)
    # 450 g more than is left: two spools of 400 g.
    assert (found.spools.is_enough, found.spools.new_spools) == (False, 2)
    assert found.spools.over == pytest.approx(100 + 800 - 550, abs=0.1)
    uses = [filament_of(row, PETG, figures) for row in figures.pieces]
    assert [use.mass for use in uses] == pytest.approx([165, 385], rel=1e-4)
    assert print_totals(figures, replace(PETG, price=None)).filament.cost is None


def test_what_is_not_known_is_not_made_up(figures):
    bare = replace(figures, pieces=(figures.pieces[0], replace(figures.pieces[1], printed=None)))
    assert print_totals(bare, PETG) is None
    assert filament_of(bare.pieces[1], PETG, bare) is None
    assert filament_findings(bare, PETG, 10.0) == ()
    found = print_totals(figures, None)
    assert (found.filament, found.spools) == (None, None)
    assert found.volume == pytest.approx(440e3, rel=1e-4)


def test_findings_name_the_pieces_by_their_numbers(figures):
    started, whole = filament_findings(figures, PETG, 300.0)
    assert started.subject == figures.pieces[1].name
    assert started.message.startswith("Piece 2 takes 385 g, but only 300 g are left on the started")
    assert "have 1 more spool of 400 g ready" in whole.message
    (large,) = filament_findings(figures, replace(PETG, spool_mass=250.0))
    assert large.message.startswith("Piece 2 takes 385 g, more than the 250 g of a full spool")
    assert large.subject == figures.pieces[1].name
    assert filament_findings(figures, replace(PETG, spool_mass=1000.0), 600.0) == ()
    with pytest.raises(WorkshopError, match="must be 0 g or above"):
        filament_findings(figures, PETG, -1.0)
