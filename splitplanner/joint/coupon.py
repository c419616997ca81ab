"""The fit coupon: a plate with graded holes, to find the printer's hole allowances.

In the manner of the test artefacts of ISO/ASTM 52902, which grade one feature in steps; no
conformance is claimed. Each row is for one nominal size. The number below a hole is its allowance
in hundredths of a millimetre: what was added to the nominal diameter when it was drawn. The user
tries a pin or sets an insert in each and enters the one that fits best; the printer then keeps that
allowance for that diameter (`Coupon.with_best`).

Holes are drawn as they are drilled in pieces, stand along the print direction and go through the
plate, with a chamfer at both mouths: at the upper one so that a pin finds in, at the lower one
because the first layers spread.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Polygon

from splitplanner.arrays import Floats
from splitplanner.errors import WorkshopError
from splitplanner.findings import Finding, Severity, counted
from splitplanner.joint.holes.forms import circle, slot
from splitplanner.score import bed_fit
from splitplanner.solid import Plane, Solid
from splitplanner.solid.lettering import lettering
from splitplanner.workshop import Bed, Printer
from splitplanner.workshop.allowances import with_measured
from splitplanner.workshop.threads import Insert

Kind = Literal["hole", "slot", "insert"]

STEPS = (-0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3)
"""Allowances tried, from the printer's present one on, mm."""
CHAMFER = 0.4
"""Width of the chamfer at both mouths, mm (common practice, no source)."""
SLOT_RUN = 2.0
"""By how much a slot is longer than wide, mm: enough to feel that the pin moves in it."""

_BED = Plane((0.0, 0.0, 1.0), 0.0)
_LETTERS, _LETTER_LINES = 4.0, 9.0
"""Height of the numbers, mm, and in lines, whichever is more."""
_RAISED = 0.6
"""By how much they stand out, mm: three usual layers, rounded up to whole ones."""
_ROOT = 0.2
"""How far numbers reach into the plate, so that all is one body, mm."""
_THICK = 4.0
"""Least thickness of the plate, mm; it is as thick as its widest hole, if that is more."""
_FLATTER = 0.02
"""By how much the lower chamfer is steeper than the overhang limit, degrees, for the rounding."""
_OUTSIDE = 1.0
"""How far drills reach out of the plate, mm."""
_NAMES: dict[Kind, str] = {"hole": "D", "slot": "S", "insert": "I"}
"""What stands before the nominal size at the head of a row."""
_TITLE = "1/100 MM"


@dataclass(frozen=True)
class Row:
    """Holes for one nominal size, graded by allowance.

    Attributes
    ----------
    kind : "hole", "slot" or "insert"
        A round hole for a pin, a slot for one, or a hole for a heat-set insert.
    nominal : float
        Diameter that should come out, mm; of a slot its width.
    allowances : tuple of float
        Added to it, rising, mm; the numbers on the plate are hundredths of a millimetre of these.
    centres : tuple of (x, y)
        Of the holes, in the plate's frame, mm.
    """

    kind: Kind
    nominal: float
    allowances: tuple[float, ...]
    centres: tuple[tuple[float, float], ...]

    @property
    def label(self) -> str:
        """What is written at its head, such as ``D3``."""
        return _name(self.kind, self.nominal)


@dataclass(frozen=True, eq=False)
class Coupon:
    """A fit coupon, as it is printed.

    Attributes
    ----------
    solid : Solid
        On z = 0 with its low corner at 0, 0; z is the print direction. mm.
    thickness : float
        Of the plate without its numbers, mm.
    rows : tuple of Row
        Pins, slots, inserts, each by rising size.
    findings : tuple of Finding
        The warning ``coupon.bed_fit`` if it does not fit the bed however its rows are broken.
    """

    solid: Solid
    thickness: float
    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]

    def allowance_of(self, row: int, index: int) -> float:
        """Return the allowance of a hole, mm: the `index`-th of a row, both counted from 0.

        Raises
        ------
        WorkshopError
            If there is no such row or hole.
        """
        if not 0 <= row < len(self.rows):
            raise WorkshopError(
                f"The coupon has {counted(len(self.rows), 'row')}, got row {row + 1}."
            )
        graded = self.rows[row].allowances
        if not 0 <= index < len(graded):
            raise WorkshopError(
                f"Row {self.rows[row].label} has {counted(len(graded), 'hole')}, got hole "
                f"{index + 1}."
            )
        return graded[index]

    def with_best(self, printer: Printer, row: int, index: int) -> Printer:
        """Return `printer` with the allowance of the hole that fitted best.

        Raises
        ------
        WorkshopError
            If there is no such hole, or it is a slot: slots are drawn with the allowance of round
            holes, and their row only shows whether that suits them.
        """
        allowance = self.allowance_of(row, index)
        found = self.rows[row]
        if found.kind == "slot":
            raise WorkshopError(
                f"Row {found.label} has slots, which are drawn with the allowance of round holes; "
                "enter the best round hole of that size."
            )
        return with_measured(printer, found.nominal, allowance)


@dataclass(frozen=True)
class _Sort:
    """One row before it has a place: what is drilled, and how much is kept round it, mm."""

    kind: Kind
    nominal: float
    allowances: tuple[float, ...]
    wall: float

    def outline(self, index: int, wider: float = 0.0) -> Polygon:
        """Return a hole's outline round 0, 0, `wider` on each side."""
        drawn = self.nominal + self.allowances[index] + 2 * wider
        return slot(drawn, (SLOT_RUN, 0.0)) if self.kind == "slot" else circle(drawn)

    @property
    def size(self) -> Floats:
        """Width and depth of its widest hole with chamfer and wall, (2,) mm."""
        west, south, east, north = self.outline(-1, CHAMFER + self.wall).bounds
        return np.array([east - west, north - south])


@dataclass(frozen=True)
class _Layout:
    """Where everything is on the plate, mm."""

    rows: tuple[Row, ...]
    texts: tuple[Polygon, ...]
    size: tuple[float, float]


def coupon(
    printer: Printer,
    diameters: Sequence[float],
    inserts: Sequence[Insert] = (),
    *,
    slots: bool = True,
    steps: Sequence[float] = STEPS,
) -> Coupon:
    """Return the fit coupon of a printer.

    Parameters
    ----------
    printer : Printer
        Gives the present allowance of each size, the width of walls and the bed.
    diameters : sequence of float
        Nominal, of dowel pins (or of anything else that goes into a hole), mm.
    inserts : sequence of Insert
        Heat-set inserts, by their maker's data sheet.
    slots : bool
        Whether each pin gets a row of slots too.
    steps : sequence of float
        Allowances that are tried, from the present one on, mm; each is rounded to a hundredth, so
        that it is what the number beside it says.

    Raises
    ------
    WorkshopError
        If nothing is to be graded, or a hole would have no width.
    """
    sorts = _sorts(printer, diameters, inserts, slots, steps)
    thick = _thickness(printer, sorts)
    high = thick + _layers(_RAISED, printer)
    most = max(len(sort.allowances) for sort in sorts)
    # As many holes side by side as the bed has room for; else what is least too large.
    tried = []
    for columns in range(most, 0, -1):
        layout = _laid_out(sorts, columns, printer)
        fit = bed_fit(_corners(layout.size, high), (0.0, 0.0, 1.0), printer.bed)
        tried.append((fit.over, -columns, layout))
        if fit.fits:
            break
    over, _, layout = min(tried, key=lambda each: each[:2])
    too_large = () if fit.fits else (_too_large(_corners(layout.size, high), over, printer.bed),)
    return Coupon(_built(sorts, layout, thick, printer), thick, layout.rows, too_large)


# -- what is graded ---------------------------------------------------------------------------
def _sorts(
    printer: Printer,
    diameters: Sequence[float],
    inserts: Sequence[Insert],
    slots: bool,
    steps: Sequence[float],
) -> list[_Sort]:
    pins = sorted({float(diameter) for diameter in diameters})
    if not (pins or inserts) or not len(steps):
        raise WorkshopError("A fit coupon needs at least one diameter or insert, and one step.")
    lines = 2 * printer.line_width

    def sort(kind: Kind, nominal: float, wall: float) -> _Sort:
        if not 0 < nominal < math.inf:
            raise WorkshopError(f"A hole must be wider than 0 mm, got {nominal:g} mm.")
        present = printer.hole_diameter(nominal) - nominal
        graded = tuple(sorted({round(present + step, 2) + 0.0 for step in steps}))
        if not all(-nominal < allowance < math.inf for allowance in graded):
            raise WorkshopError(
                f"A hole for {nominal:g} mm with an allowance of {graded[0]:g} mm has no width; "
                "choose smaller steps."
            )
        return _Sort(kind, nominal, graded, wall)

    # Round pins as in pieces, see `Printer.edge_distance`.
    found = [sort("hole", pin, max(lines, pin / 4)) for pin in pins]
    if slots:
        found += [sort("slot", pin, max(lines, pin / 4)) for pin in pins]
    walls: dict[float, float] = {}
    for insert in inserts:
        out = (insert.outer_diameter - insert.hole_diameter) / 2 + insert.least_wall
        walls[insert.hole_diameter] = max(walls.get(insert.hole_diameter, lines), out)
    return found + [sort("insert", hole, wall) for hole, wall in sorted(walls.items())]


def _thickness(printer: Printer, sorts: Sequence[_Sort]) -> float:
    """Return the thickness of the plate, mm, in whole layers: a pin is held over its diameter."""
    least = max(_THICK, 4 * CHAMFER, *(sort.nominal for sort in sorts))
    return _layers(least, printer)


def _layers(height: float, printer: Printer) -> float:
    return math.ceil(height / printer.layer_height - 1e-9) * printer.layer_height


# -- where it is ------------------------------------------------------------------------------
def _laid_out(sorts: Sequence[_Sort], columns: int, printer: Printer) -> _Layout:
    """Lay the rows out from the top down, each in lines of `columns` holes with its name before."""
    letters = max(_LETTERS, _LETTER_LINES * printer.line_width)
    between = 2 * printer.line_width
    names = [_lettered(_name(sort.kind, sort.nominal), letters, printer) for sort in sorts]
    left = between + max(_width(name) for name in names) + letters / 2
    title = _lettered(_TITLE, letters, printer)
    right = between + _width(title)
    y = -between - letters
    texts = [*_moved(title, between, y)]
    rows = []
    for sort, name in zip(sorts, names, strict=True):
        numbers = [
            _lettered(f"{round(allowance * 100)}", letters, printer)
            for allowance in sort.allowances
        ]
        wide, deep = sort.size.tolist()
        pitch = max(wide, max(_width(number) for number in numbers) + 2 * between)
        centres: list[tuple[float, float]] = []
        for first in range(0, len(numbers), columns):
            # Farther from the number above than its own number is.
            y -= letters * 0.75
            middle = y - deep / 2
            if first == 0:
                texts += _moved(name, between, middle - letters / 2)
            y -= deep + letters
            for place, number in enumerate(numbers[first : first + columns]):
                x = left + pitch * (place + 0.5)
                centres.append((x, middle))
                texts += _moved(number, x - _width(number) / 2, y)
                right = max(right, x + pitch / 2)
        rows.append(Row(sort.kind, sort.nominal, sort.allowances, tuple(centres)))
    size = (right + between, between - y)
    # From now on counted from the lower edge of the plate.
    lifted = tuple(
        replace(row, centres=tuple((x, v + size[1]) for x, v in row.centres)) for row in rows
    )
    return _Layout(lifted, tuple(affinity.translate(text, 0.0, size[1]) for text in texts), size)


def _name(kind: Kind, nominal: float) -> str:
    return f"{_NAMES[kind]}{nominal:g}"


def _lettered(text: str, letters: float, printer: Printer) -> MultiPolygon:
    return lettering(text, letters, max(printer.line_width, letters / 8))


def _width(shape: MultiPolygon) -> float:
    west, _, east, _ = shape.bounds
    return float(east - west)


def _moved(shape: MultiPolygon, x: float, y: float) -> Sequence[Polygon]:
    moved: Sequence[Polygon] = affinity.translate(shape, x - shape.bounds[0], y).geoms
    return moved


def _corners(size: tuple[float, float], height: float) -> Floats:
    x, y = size
    return np.array([[a, b, c] for a in (0.0, x) for b in (0.0, y) for c in (0.0, height)])


# -- the solid --------------------------------------------------------------------------------
def _built(sorts: Sequence[_Sort], layout: _Layout, thick: float, printer: Printer) -> Solid:
    plate = Solid.box((*layout.size, thick))
    texts = Solid.prism(
        MultiPolygon(layout.texts), _BED, thick - _ROOT, thick + _layers(_RAISED, printer)
    )
    drills = [
        drill
        for sort, row in zip(sorts, layout.rows, strict=True)
        for index, centre in enumerate(row.centres)
        for drill in _drills(sort, index, centre, thick, printer)
    ]
    return plate.difference(*drills).union(texts)


def _drills(
    sort: _Sort, index: int, centre: tuple[float, float], thick: float, printer: Printer
) -> tuple[Solid, Solid, Solid]:
    """Return what is taken out for one hole: bore, lower and upper chamfer."""
    hole, mouth = sort.outline(index), sort.outline(index, CHAMFER)
    # The lower chamfer hangs over, so it is as steep as the printer needs it.
    limit = min(45.0, printer.overhang_limit - _FLATTER)
    rise = min(CHAMFER / math.tan(math.radians(limit)), thick / 2)

    def placed(outline: Polygon, z: float) -> Floats:
        corners = shapely.get_coordinates(outline.exterior)[:-1] + centre
        return np.column_stack([corners, np.full(len(corners), z)])

    bore = Solid.prism(affinity.translate(hole, *centre), _BED, -_OUTSIDE, thick + _OUTSIDE)
    lower = Solid.hull_of(
        np.vstack([placed(mouth, -_OUTSIDE), placed(mouth, 0.0), placed(hole, rise)])
    )
    upper = Solid.hull_of(
        np.vstack(
            [
                placed(hole, thick - CHAMFER),
                placed(mouth, thick),
                placed(mouth, thick + _OUTSIDE),
            ]
        )
    )
    return bore, lower, upper


def _too_large(corners: Floats, over: float, bed: Bed) -> Finding:
    return Finding(
        "coupon.bed_fit",
        Severity.WARNING,
        f"The fit coupon is {over:.1f} mm too large for the bed ({bed}); choose fewer diameters or "
        "steps, and make another coupon for the others.",
        "",
        corners,
        over,
        0.0,
        "mm",
    )
