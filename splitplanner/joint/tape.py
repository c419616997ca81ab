"""Fibre tape with resin over a seam: how wide, how thick, and what it takes of fibre and resin."""

from __future__ import annotations

import math
from dataclasses import dataclass

from splitplanner.findings import Finding, Severity
from splitplanner.plan import Fastening, Seam, Tape
from splitplanner.workshop import fibre_density, ply_thickness, resin_weight

OVERLAP, LEAST_OVERLAP = 20.0, 15.0
"""Tape to each side of the seam: by the thickness of the laminate, and at least, mm. Common
practice, no source."""
SHORT_OVERLAP = 12.0
"""Less than this by the thickness is worth a warning. Common practice, no source; a scarf in wood
is no steeper than 1 in 12 (FAA AC 43.13-1B, figures 1-15 and 1-16)."""
WASTE = 0.25
"""Resin left in pot and brush, by what goes into the tape; 20 to 30 % is common practice, no
source."""

SAFETY = (
    "Uncured epoxy resin and its hardener can make the skin allergic, for life: wear nitrile "
    "gloves, change them often, and wash skin with soap and water, never with solvent.",
    "Mix small amounts and spread them out: resin left standing in a cup heats up and can smoke "
    "or burn.",
    "Dust of cured laminate irritates eyes, skin and airways: sand it wet or with extraction, "
    "and wear a mask of class FFP3 or P100 and goggles.",
    "Carbon fibre and its dust conduct: keep them away from electronics and mains.",
    "The safety data sheets of the resin, the hardener and the fibre go before anything said here.",
)
"""For the papers that go with a plan."""
ADHESION = (
    "Epoxy holds unequally well on printed plastics, on polyamide least: roughen the surface, "
    "degrease it, and tear off a test strip before relying on it."
)
"""For the papers, since no strength is worked out."""
TAPER_ADVICE = (
    "With more than one ply, cut each narrower than the one below it, so that the edge runs out "
    "in steps."
)
"""For the papers."""


@dataclass(frozen=True)
class TapeFigures:
    """What a tape is and takes.

    Attributes
    ----------
    ply_thickness, thickness : float
        Of one ply with its resin, and of all, mm.
    fibre_volume_share : float
        Of the laminate, 0 to 1; the rest is resin.
    overlap : float
        To each side of the seam, mm.
    area : float
        Of one ply, mm².
    fibre_mass, resin_mass : float
        In the laminate, g.
    mixed_mass : float
        Resin and hardener to mix, with what stays in pot and brush, g.
    """

    ply_thickness: float
    thickness: float
    fibre_volume_share: float
    overlap: float
    area: float
    fibre_mass: float
    resin_mass: float
    mixed_mass: float


def tape_for(hidden_length: float, fastening: Fastening) -> Tape | None:
    """Return the tape over a seam, or None where none is wanted or nothing is hidden.

    Parameters
    ----------
    hidden_length : float
        Of the seam's outlines on the hidden side, those inside the material left out, mm.
    fastening : Fastening

    Returns
    -------
    Tape or None
        To each side 20 times the thickness of the laminate, 15 mm at least.

    Raises
    ------
    WorkshopError
        If the fibre is not known.
    """
    if fastening.tape_plies == 0 or hidden_length <= 0:
        return None
    fibre, weight = fastening.tape_fibre, fastening.tape_weight
    share, plies = fastening.tape_fibre_share, fastening.tape_plies
    thickness = plies * ply_thickness(fibre, weight, share)
    width = 2 * max(OVERLAP * thickness, LEAST_OVERLAP)
    return Tape(fibre, weight, plies, share, width, float(hidden_length))


def tape_figures(tape: Tape) -> TapeFigures:
    """Return what a tape is and takes.

    Raises
    ------
    WorkshopError
        If the fibre is not known.
    """
    ply = ply_thickness(tape.fibre, tape.areal_weight, tape.fibre_share)
    area = tape.width * tape.length
    square_metres = area * 1e-6
    fibre = square_metres * tape.plies * tape.areal_weight
    resin = square_metres * tape.plies * resin_weight(tape.areal_weight, tape.fibre_share)
    return TapeFigures(
        ply_thickness=ply,
        thickness=ply * tape.plies,
        fibre_volume_share=tape.areal_weight / fibre_density(tape.fibre) * 1e-3 / ply,
        overlap=tape.width / 2,
        area=area,
        fibre_mass=fibre,
        resin_mass=resin,
        mixed_mass=resin * (1.0 + WASTE),
    )


def check_tape(tape: Tape, seam: Seam, wall: float = math.inf) -> tuple[Finding, ...]:
    """Check the sizes of a tape, which somebody may have edited.

    Parameters
    ----------
    tape : Tape
    seam : Seam
    wall : float
        Thickness of the wall at the seam, mm.

    Returns
    -------
    tuple of Finding
        Warnings ``tape.short`` (it reaches less than 12 times its thickness to each side) and
        ``tape.thick`` (the laminate is thicker than the wall that it holds).

    Raises
    ------
    WorkshopError
        If the fibre is not known.
    """
    figures = tape_figures(tape)
    where = seam.section.centroid[None, :]
    findings = []
    allowed = SHORT_OVERLAP * figures.thickness
    if figures.overlap < allowed:
        message = (
            f"Seam {seam.name}: the tape reaches {figures.overlap:.1f} mm to each side and should "
            f"reach {allowed:.1f} mm or more, 12 times its thickness, better "
            f"{max(OVERLAP * figures.thickness, LEAST_OVERLAP):.1f} mm; take a wider one."
        )
        findings.append(
            Finding(
                "tape.short",
                Severity.WARNING,
                message,
                seam.name,
                where,
                figures.overlap,
                allowed,
                "mm",
            )
        )
    if figures.thickness > wall:
        message = (
            f"Seam {seam.name}: the laminate is {figures.thickness:.2f} mm thick on a wall of "
            f"{wall:.2f} mm, which gives way before it; fewer plies do."
        )
        findings.append(
            Finding(
                "tape.thick",
                Severity.WARNING,
                message,
                seam.name,
                where,
                figures.thickness,
                wall,
                "mm",
            )
        )
    return tuple(findings)
