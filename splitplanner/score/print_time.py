"""Print time, from a few numbers of a piece: enough to compare plans, not to set an alarm by."""

from __future__ import annotations

from dataclasses import dataclass

from splitplanner.score.islands import layer_count
from splitplanner.workshop import Printer


@dataclass(frozen=True)
class PrintTime:
    """What is laid down to print one piece, and how long it takes.

    Attributes
    ----------
    skin : float
        Volume printed solid along the surface, mm³.
    filling : float
        Volume of the infill's lines, mm³.
    support : float
        Volume of the support's lines, mm³.
    layers : int
    seconds : float
    """

    skin: float
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
    """Estimate the print time of one piece on a bed of its own.

    A simple model, common practice without a source. The piece is a solid skin, as thick all
    round as the printer's lines of wall beside each other, round an inside of which only the
    infill's share is printed::

        skin    = min(area x wall lines x line width, volume)
        filling = infill x (volume - skin)
        seconds = (skin + filling + support infill x support) / flow
                  + layers x seconds lost on each

    Skins that overlap at edges and corners are counted twice; walls thinner than two skins are
    taken as solid only if the whole piece is. Pieces that share a bed share the seconds lost on
    the layers, which is left out.

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
    skin = min(area * printer.wall_lines * printer.line_width, volume)
    filling = printer.infill * (volume - skin)
    held = printer.support_infill * support
    layers = layer_count(height, printer.layer_height)
    seconds = (skin + filling + held) / printer.flow + layers * printer.layer_seconds
    return PrintTime(skin, filling, held, layers, seconds)
