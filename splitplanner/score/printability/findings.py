"""What to look at before a piece is printed as it lies: one finding of a kind for each piece."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from splitplanner.findings import Finding, Severity, counted
from splitplanner.plan import Piece, Vector
from splitplanner.progress import Report, silent
from splitplanner.score.overhang import Overhang
from splitplanner.score.printability.long_bridges import long_bridges
from splitplanner.score.printability.small_holes import LEAST_LINES, round_holes
from splitplanner.score.printability.thin_spots import thin_spots
from splitplanner.score.printability.tips import SHARP, hanging_tips
from splitplanner.score.printability.warping import (
    THIN,
    USUAL_SHRINK,
    Warping,
    far_for,
    shrink_in_plan,
    warping,
)
from splitplanner.workshop import Material, Printer

_PATCH = 4.0
"""What is too thin, or hangs, counts from this area on, mm²; less is rounding and corners."""


def print_findings(
    piece: Piece,
    up: Vector,
    hanging: Overhang,
    printer: Printer,
    report: Report = silent,
    material: Material | None = None,
) -> tuple[Finding, ...]:
    """Look at a piece as it is printed, in its print direction.

    Parameters
    ----------
    piece : Piece
    up : (x, y, z)
    hanging : Overhang
        Of the piece in that direction.
    printer : Printer
    report : progress callback
    material : Material, optional
        Whose shrink says how far out corners may curl up.

    Returns
    -------
    tuple of Finding
        At most one of each kind: a warning ``print.thin``; notes ``print.hole``, ``print.tip``,
        ``print.bridge``, ``print.warp`` and ``print.contact``.
    """
    lying = lying_findings(piece, up, hanging, printer, material)
    return (*_thin(piece, printer, report), *lying)


def lying_findings(
    piece: Piece,
    up: Vector,
    hanging: Overhang,
    printer: Printer,
    material: Material | None = None,
) -> tuple[Finding, ...]:
    """Return those of `print_findings` that depend on the plan: all but ``print.thin``.

    Walls are as thin as the part has them however it is cut, and are looked at without regard to
    the way up; and to measure them takes longer than all the rest.
    """
    far = far_for(material)
    contact = warping(piece.solid, up, hanging.contact, printer.line_width, far)
    return (
        *_holes(piece, up, printer),
        *_tips(piece, up, printer),
        *_bridges(piece, up, hanging, printer),
        *(() if contact is None else _off_the_bed(piece, contact, printer, material)),
    )


def _thin(piece: Piece, printer: Printer, report: Report) -> Iterator[Finding]:
    spots = thin_spots(piece.solid, printer.line_width, report)
    if spots.area >= _PATCH:
        yield Finding(
            "print.thin",
            Severity.WARNING,
            f"Piece {piece.number} is thinner than one line of {printer.line_width:g} mm over "
            f"{spots.area:.0f} mm², {spots.thinnest:.2f} mm at the thinnest, and is not printed "
            "there; model it thicker, or move what is next to it.",
            piece.name,
            spots.places,
            spots.thinnest,
            printer.line_width,
            "mm",
        )


def _holes(piece: Piece, up: Vector, printer: Printer) -> Iterator[Finding]:
    least = LEAST_LINES * printer.line_width
    holes = [hole for hole in round_holes(piece.solid, least) if hole.diameter < least - 1e-9]
    if not holes:
        return
    lying = sum(abs(float(np.dot(hole.axis, up))) < np.sqrt(0.5) for hole in holes)
    ways = "lying" if lying == len(holes) else "upright" if not lying else f"{lying} of them lying"
    yield Finding(
        "print.hole",
        Severity.NOTE,
        f"Piece {piece.number} has {counted(len(holes), 'round hole')} of less than {least:.1f} mm "
        f"({ways}), the narrowest {holes[0].diameter:.2f} mm, which may print closed; drill them "
        "after printing.",
        piece.name,
        np.array([hole.at for hole in holes]),
        holes[0].diameter,
        least,
        "mm",
    )


def _tips(piece: Piece, up: Vector, printer: Printer) -> Iterator[Finding]:
    found = hanging_tips(piece.solid, up, printer.layer_height, printer.line_width)
    sharp = [tip for tip in found if tip.is_sharp]
    if not sharp:
        return
    dot = np.pi / 4.0 * (SHARP * printer.line_width) ** 2
    yield Finding(
        "print.tip",
        Severity.NOTE,
        f"Piece {piece.number} begins in mid-air at {counted(len(sharp), 'sharp place')}, the "
        f"sharpest {sharp[0].height:.0f} mm over the bed with a first layer of "
        f"{sharp[0].area:.2f} mm²; see that support reaches there, or blunt it.",
        piece.name,
        np.array([tip.at for tip in sharp]),
        sharp[0].area,
        float(dot),
        "mm2",
    )


def _bridges(piece: Piece, up: Vector, hanging: Overhang, printer: Printer) -> Iterator[Finding]:
    found = [
        bridge
        for bridge in long_bridges(piece.solid, up, hanging.faces)
        if bridge.span > printer.bridge_span and bridge.area >= _PATCH
    ]
    if found:
        yield Finding(
            "print.bridge",
            Severity.NOTE,
            f"Piece {piece.number} has {counted(len(found), 'flat underside')} between walls that "
            f"would have to bridge up to {found[0].span:.1f} mm, more than the "
            f"{printer.bridge_span:g} mm of the printer; they get support.",
            piece.name,
            np.array([bridge.at for bridge in found]),
            found[0].span,
            printer.bridge_span,
            "mm",
        )


def _off_the_bed(
    piece: Piece, contact: Warping, printer: Printer, material: Material | None
) -> Iterator[Finding]:
    if len(contact.corners):
        shrink = shrink_in_plan(material)
        by = (
            f"a usual shrink of {USUAL_SHRINK:g} %"
            if material is None or shrink is None
            else f"the {shrink:g} % that {material.name} shrinks"
        )
        yield Finding(
            "print.warp",
            Severity.NOTE,
            f"Piece {piece.number} lies on the bed with "
            f"{counted(len(contact.corners), 'sharp corner')} up to {contact.reach:.0f} mm from "
            f"the middle of its contact, which may curl up at {by}; give it a brim, or round these "
            "corners.",
            piece.name,
            contact.corners,
            contact.reach,
            far_for(material),
            "mm",
        )
    if contact.is_thin:
        yield Finding(
            "print.contact",
            Severity.NOTE,
            f"Piece {piece.number} lies on the bed along {contact.length:.0f} mm by a strip of "
            f"{contact.width:.1f} mm on average, which may come off; give it a brim.",
            piece.name,
            contact.ends,
            contact.width,
            THIN * printer.line_width,
            "mm",
        )
