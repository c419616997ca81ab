"""Print time: from a few numbers of a piece, and from all its layers.

`print_time` is the cheap one, by which the search compares thousands of plans; the criterion of the
plan score goes by it wherever it is shown. It is not to set an alarm by. `layered_print` is the
better one, of the pieces of a plan that is looked at: their hours, and those of all of them
together, are by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.errors import WorkshopError
from splitplanner.score.islands import layer_count
from splitplanner.score.layering import Layering
from splitplanner.workshop import Printer
from splitplanner.workshop.printer import LEAST_FACTOR


@dataclass(frozen=True)
class PrintTime:
    """What is laid down to print one piece, and how long it takes, by `print_time`.

    Attributes
    ----------
    walls : float
        Volume of all lines of wall, mm³.
    solid : float
        Volume of the solid layers at top and bottom, mm³.
    filling : float
        Volume of the infill's lines, mm³.
    support : float
        Volume of the support's lines, mm³.
    layers : int
    seconds : float
    """

    walls: float
    solid: float
    filling: float
    support: float
    layers: int
    seconds: float

    @property
    def hours(self) -> float:
        """The same in hours."""
        return self.seconds / 3600


def print_time(
    volume: float, area: float, height: float, support: float, printer: Printer
) -> PrintTime:
    """Estimate the print time of one piece on a bed of its own, in microseconds.

    As `layered_print`, with the same speeds, limits and factor, for the upright prism with the
    volume, surface and height of the piece::

        section = volume / height,  side = area - 2 x section
        walls   = min(side x wall lines x line width, volume)
        solid   = min(section x (top + bottom layers) x layer height, volume - walls)
        filling = infill x (volume - walls - solid)
        work    = outer line / rate(outer speed) + other lines / rate(inner speed)
                  + (solid + filling + support infill x support) / rate(infill speed)
        seconds = time factor
                  x (max(work, layers x least time of a layer) + layers x change of layers)

    Of tubes and plates it is what their layers give; corners of walls are counted twice. What is
    not in these numbers is left out: islands and the travels between them, layers that are smaller
    than others, slopes that are open to above or below.

    Parameters
    ----------
    volume : float
        Of the piece, mm³.
    area : float
        Of its surface, mm².
    height : float
        Of the print, mm.
    support : float
        Volume of the support columns, mm³.
    printer : Printer
    """
    layers = layer_count(height, printer.layer_height)
    # Estimates of what a cut leaves may be of nothing at all.
    section = volume / height if height > 0 else 0.0
    thickness = height / layers if height > 0 else printer.layer_height
    side = max(0.0, area - 2 * section)
    outer = min(side * printer.line_width, volume)
    walls = min(side * printer.wall_lines * printer.line_width, volume)
    flats = (printer.top_layers + printer.bottom_layers) * thickness
    solid = min(section * flats, volume - walls)
    filling = printer.infill * (volume - walls - solid)
    held = printer.support_infill * support
    work = (
        outer / _rate(printer.outer_speed, thickness, printer)
        + (walls - outer) / _rate(printer.inner_speed, thickness, printer)
        + (solid + filling + held) / _rate(printer.infill_speed, thickness, printer)
    )
    each = max(work / layers, printer.least_layer_seconds) + printer.layer_change_seconds
    seconds = printer.time_factor * layers * each
    return PrintTime(walls, solid, filling, held, layers, seconds)


def _rate(speed: float, thickness: float, printer: Printer) -> float:
    """Return the volume laid down at a speed (mm/s) in layers of a thickness (mm), mm³/s."""
    return min(speed * printer.line_width * thickness, printer.flow_limit)


@dataclass(frozen=True, eq=False)
class LayeredPrint:
    """What is laid down to print one piece, and how long it takes, by `layered_print`.

    Attributes
    ----------
    outer_walls, inner_walls, solid, filling, support : float
        Volumes of the lines, mm³.
    travels : float
        Way from island to island, all layers together, mm.
    crossings : int
        How many of these travels there are.
    work : (k,) float array, s
        Printing and travelling in each layer, as fast as speeds and flow allow; read-only.
    seconds : float
        On a bed of its own: with the least time of a layer, the changes of layers and the printer's
        factor for time.
    """

    outer_walls: float
    inner_walls: float
    solid: float
    filling: float
    support: float
    travels: float
    crossings: int
    work: Floats
    seconds: float

    @property
    def volume(self) -> float:
        """All that is laid down, mm³."""
        return self.outer_walls + self.inner_walls + self.solid + self.filling + self.support

    @property
    def layers(self) -> int:
        """How many there are."""
        return len(self.work)

    @property
    def hours(self) -> float:
        """The time on a bed of its own in hours."""
        return self.seconds / 3600


def layered_print(layering: Layering, printer: Printer, support: float = 0.0) -> LayeredPrint:
    """Work out what it takes to print a piece, layer by layer.

    Common practice, no source::

        rate(speed) = min(speed x line width x layer thickness, flow limit)
        work  = outer walls / rate(outer speed) + inner walls / rate(inner speed)
                + (solid + filling + support) / rate(infill speed)
                + travels / travel speed + travels x seconds lost with each
        seconds = time factor x sum of (max(work, least time of a layer) + change of layers)

    Lines are taken as rectangles. How long it takes to reach a speed and to slow down in corners is
    left out, as are a slower first layer, skirt and heating: the time factor has to make up for
    these (`calibrated`).

    Parameters
    ----------
    layering : Layering
        Of the piece and the same `printer`.
    printer : Printer
    support : float, optional
        Volume of the support columns, mm³; spread over all layers.
    """
    thickness = layering.thickness
    outer = layering.outer_walls * thickness
    inner = (layering.walls - layering.outer_walls) * thickness
    solid = layering.solid * thickness
    filling = printer.infill * layering.filling * thickness
    held = np.full(layering.layers, printer.support_infill * support / layering.layers)
    hops = np.maximum(layering.islands - 1, 0)
    work = (
        outer / _rate(printer.outer_speed, thickness, printer)
        + inner / _rate(printer.inner_speed, thickness, printer)
        + (solid + filling + held) / _rate(printer.infill_speed, thickness, printer)
        + layering.travels / printer.travel_speed
        + hops * printer.travel_seconds
    )
    work.setflags(write=False)
    return LayeredPrint(
        float(outer.sum()),
        float(inner.sum()),
        float(solid.sum()),
        float(filling.sum()),
        float(held.sum()),
        float(layering.travels.sum()),
        layering.crossings,
        work,
        _seconds(work, printer),
    )


def bed_seconds(prints: Sequence[LayeredPrint], printer: Printer, apart: float = 50.0) -> float:
    """Return how long several pieces take that are printed together on one bed, s.

    Layer by layer, each of all pieces that are so high: the changes of layers are shared, the least
    time of a layer is reached sooner, and there is one travel more from piece to piece.

    Parameters
    ----------
    prints : sequence of LayeredPrint
        Of the same `printer`.
    printer : Printer
    apart : float, optional
        Way from one piece to the next, mm.
    """
    work = np.zeros(max((each.layers for each in prints), default=0))
    pieces = np.zeros(len(work))
    for each in prints:
        work[: each.layers] += each.work
        pieces[: each.layers] += 1
    hops = np.maximum(pieces - 1, 0)
    return _seconds(work + hops * (apart / printer.travel_speed + printer.travel_seconds), printer)


def _seconds(work: Floats, printer: Printer) -> float:
    each = np.maximum(work, printer.least_layer_seconds) + printer.layer_change_seconds
    return printer.time_factor * float(each.sum())


@dataclass(frozen=True)
class Spent:
    """What a print took; None where it is not known.

    Attributes
    ----------
    hours : float or None
    grams : float or None
        Supports included.
    """

    hours: float | None = None
    grams: float | None = None


def calibrated(printer: Printer, worked_out: Spent, known: Spent) -> Printer:
    """Return the printer with the factors that one known print gives.

    Parameters
    ----------
    printer : Printer
        With which was worked out what the print would take; the factors it has are replaced.
    worked_out : Spent
        By `layered_print` or `bed_seconds`, and `filament_use`.
    known : Spent
        What it took. A figure that is missing here or there leaves its factor as it is.

    Raises
    ------
    WorkshopError
        If a figure is not above 0, or more than ten times off what was worked out, so that it can
        hardly be of the same print.
    """
    return replace(
        printer,
        time_factor=_factor(printer.time_factor, worked_out.hours, known.hours, "h"),
        mass_factor=_factor(printer.mass_factor, worked_out.grams, known.grams, "g"),
    )


def _factor(before: float, worked_out: float | None, known: float | None, unit: str) -> float:
    if worked_out is None or known is None:
        return before
    if not (0 < worked_out < np.inf and 0 < known < np.inf):
        raise WorkshopError(
            f"A known print needs figures above 0 {unit}, got {known:g} {unit} where "
            f"{worked_out:g} {unit} were worked out."
        )
    factor = before * known / worked_out
    if not LEAST_FACTOR <= factor <= 1 / LEAST_FACTOR:
        raise WorkshopError(
            f"The known print took {known:g} {unit}, but without a factor it should take "
            f"{worked_out / before:.3g} {unit}; see that piece, scale and units are the same."
        )
    return factor
