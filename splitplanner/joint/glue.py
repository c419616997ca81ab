"""Room for a line of glue between the two faces of a seam."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry import MultiPolygon

from splitplanner.findings import Finding, Severity
from splitplanner.joint.register.foot import LEAST_LINES, finding, grown, less, opened
from splitplanner.plan import Seam
from splitplanner.score import shrunk, widest_place
from splitplanner.solid import Solid
from splitplanner.workshop import Printer

GLUE_WASTE = 0.25
"""Glue left in pot and nozzle, by what goes into the gap. Common practice, no source."""
_MOUTH = 1.0
"""How far what is removed starts before the face, mm."""
_MOST = 5.0
"""As for the glue gap of a plan, mm."""


@dataclass(frozen=True, eq=False)
class GlueRelief:
    """What is taken off two faces to make room for glue.

    Attributes
    ----------
    below, above : Solid
        To be taken from the piece below and from the piece above.
    shape : MultiPolygon
        Where the glue goes, plane coordinates, mm.
    gap : float
        Between the two faces there, mm.
    """

    below: Solid
    above: Solid
    shape: MultiPolygon
    gap: float

    @property
    def volume(self) -> float:
        """The glue that fills the gap, mL."""
        return float(self.shape.area) * self.gap * 1e-3

    @property
    def mixed(self) -> float:
        """The glue to have ready, with what stays in pot and nozzle, mL."""
        return self.volume * (1.0 + GLUE_WASTE)


def glue_relief(
    seam: Seam,
    gap: float,
    printer: Printer,
    clear: MultiPolygon | None = None,
    whole: bool = False,
) -> tuple[GlueRelief | None, tuple[Finding, ...]]:
    """Set the faces of a seam back for glue.

    Half the gap is taken off each face, inside a rim of two printed lines along all outlines and
    round all holes: there the faces still meet, so that the pieces come together exactly as they
    were cut, and glue that is squeezed out stays inside. With `whole` there is no rim: the seam
    then is as wide as the gap all over and shows its glue, and something else must hold the
    pieces apart; only for pieces that are held in a jig.

    Parameters
    ----------
    seam : Seam
    gap : float
        Between the faces, above 0 and at most 5 mm.
    printer : Printer
        Gives the width of a printed line and the height of a layer.
    clear : MultiPolygon, optional
        What has to stay as it is, plane coordinates, mm: holes with the material round them, and
        the foot of a register with its gap. A rim is kept round it also with `whole`.
    whole : bool

    Returns
    -------
    relief : GlueRelief or None
        None where nothing is left between the rims.
    findings : tuple of Finding
        Warnings ``glue.no_room`` (the wall is too thin for two rims and a line between them) and
        ``glue.layer`` (less than a layer is taken off a face, which does not print where it lies
        flat on the bed or faces up).

    Raises
    ------
    ValueError
        If the gap is out of range.
    """
    if not 0 < gap <= _MOST:
        raise ValueError(f"A glue gap is above 0 and at most {_MOST:g} mm, got {gap:g} mm.")
    rim, line = LEAST_LINES * printer.line_width, printer.line_width
    section = seam.section.shape
    # Without a rim a little past the outline, so that nothing is left standing where walls lean.
    shape = grown(section, gap / 2) if whole else shrunk(section, rim)
    if clear is not None and not clear.is_empty:
        shape = less(shape, grown(clear, rim))
    shape = opened(shape, line / 2)
    if shape.is_empty:
        return None, (_no_room(seam, 2 * rim + line),)
    below = Solid.prism(shape, seam.plane, -gap / 2, _MOUTH)
    above = Solid.prism(shape, seam.plane, -_MOUTH, gap / 2)
    inside = less(section, less(section, shape)) if whole else shape
    relief = GlueRelief(below, above, inside, gap)
    return relief, _layer(seam, gap / 2, printer)


def _no_room(seam: Seam, needed: float) -> Finding:
    widest, place = widest_place(seam.section.shape)
    if widest < needed:
        message = (
            f"the wall is at most {widest:.2f} mm thick, and a glue gap inside its rims needs "
            f"{needed:.2f} mm; glue it without a gap, or add a flange."
        )
    else:
        message = (
            f"holes and register leave no room for a glue gap inside its rims, {needed:.2f} mm "
            "wide; glue it without a gap, or use fewer of them."
        )
    return finding("glue.no_room", message, seam, place[None, :], widest, needed)


def _layer(seam: Seam, depth: float, printer: Printer) -> tuple[Finding, ...]:
    if depth >= printer.layer_height - 1e-9:
        return ()
    message = (
        f"the glue gap takes {depth:.2f} mm off each face, less than a layer of "
        f"{printer.layer_height:g} mm, which comes out only on faces that are printed upright; "
        f"take a gap of {2 * printer.layer_height:g} mm."
    )
    place = seam.plane.to_plane(seam.section.centroid[None, :])
    return (
        finding(
            "glue.layer", message, seam, place, depth, printer.layer_height, "mm", Severity.WARNING
        ),
    )
