"""What shrink does to pieces that were printed, and whether they still mate."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity
from splitplanner.joint.allowance.files import FileAllowance, file_allowance, scaled_fit
from splitplanner.plan import Division, Joint, Piece, Plan, Seam
from splitplanner.score import BedFit
from splitplanner.workshop import Material

STEP = 0.1
"""A step at a seam is felt by a finger from here on, mm (common practice, no source)."""
PIN_ERROR = 0.1
"""Pins go into holes whose distance is wrong by no more than this, mm: half a usual hole allowance
(common practice, no source)."""


@dataclass(frozen=True, eq=False)
class SeamMisfit:
    """How far apart two pieces are at their seam, once they are printed and have shrunk.

    They are taken to be held where their pins are, by the middle of these; by the middle of the
    seam where there are none.

    Attributes
    ----------
    step : float
        Largest distance along the seam between points of the two that should be one, mm.
    at : (3,) float array, mm
        Where, in the part's frame.
    pins : float
        By how much the distance between two pins is another in one piece than in the other, mm, but
        along slots; 0 with fewer than two pins.
    """

    step: float
    at: Floats
    pins: float


def sizes_of(fit: BedFit, material: Material | None, allowance: FileAllowance) -> Floats:
    """Return the matrix (3, 3), in the part's frame, by which a piece comes out another size.

    What is along an axis of the printer is multiplied by the scale of the file and by what a length
    of 1 comes out as; so it is the identity where the file makes up for all of it.
    """
    turn = fit.rotation
    printed = np.array(allowance.scale) * np.array(material.sizes if material else (1.0,) * 3)
    result: Floats = turn.T @ np.diag(printed) @ turn
    return result


def seam_misfit(seam: Seam, joint: Joint, below: Floats, above: Floats) -> SeamMisfit:
    """Return how far apart two pieces are at a seam; see `SeamMisfit`.

    A point p of a piece comes out at A p: of two pieces that are held at c it is, along the seam,
    (A - B) (p - c) from where it should be. That is largest at a corner of the outlines. The faces
    stay plane, and tilt, which a push together makes up for by bending the part a little.

    Parameters
    ----------
    seam : Seam
    joint : Joint
        What holds it.
    below, above : (3, 3) arrays
        See `sizes_of`.
    """
    flat = seam.plane.frame[:2]
    strain = flat @ (below - above) @ flat.T
    corners = shapely.get_coordinates(seam.section.shape)
    pins = seam.plane.to_plane([pin.at for pin in joint.pins]) if joint.pins else None
    middle = seam.plane.to_plane(seam.section.centroid[None])[0] if pins is None else pins.mean(0)
    away = np.linalg.norm((corners - middle) @ strain.T, axis=1)
    worst = int(away.argmax())
    at = seam.plane.to_space(corners[worst : worst + 1])[0]
    return SeamMisfit(float(away[worst]), at, _between_pins(joint, flat, strain))


def _between_pins(joint: Joint, flat: Floats, strain: Floats) -> float:
    """Return the largest error of the distance between two pins, mm."""
    worst = 0.0
    for index, one in enumerate(joint.pins):
        for other in joint.pins[index + 1 :]:
            off = strain @ flat @ (np.array(other.at) - np.array(one.at))
            for slot in (each.slot for each in (one, other) if any(each.slot)):
                along = flat @ np.array(slot)
                off = off - along * float(off @ along) / float(along @ along)
            worst = max(worst, float(np.linalg.norm(off)))
    return worst


def check_allowances(
    division: Division, plan: Plan, pieces: Sequence[Piece], fits: Mapping[str, BedFit]
) -> tuple[Finding, ...]:
    """Check that pieces fit the bed as files have them, and mate once they have shrunk.

    Parameters
    ----------
    division : Division
    plan : Plan
    pieces : sequence of Piece
        As they are printed.
    fits : mapping of piece name to BedFit
        How these lie on the bed as they come out.

    Returns
    -------
    tuple of Finding
        Faults ``allowance.bed_fit``; warnings ``allowance.step`` and ``allowance.pins``, where the
        material's shrink is known and files do not make up for it; notes ``allowance.files`` and
        ``allowance.turning`` of what files have, ``allowance.size`` of what the part comes out as.
        Nothing where nothing is known and nothing wanted.
    """
    allowance, material = file_allowance(plan.printer, plan.material), plan.material
    if allowance.is_nothing and (material is None or material.sizes == (1.0, 1.0, 1.0)):
        return ()
    laid, found = {}, list(_in_files(allowance, material))
    for piece in pieces:
        fit = scaled_fit(piece.solid, fits[piece.name], allowance, plan.printer.bed)
        laid[piece.name] = fit
        if fits[piece.name].fits and not fit.fits:
            found.append(_too_large(piece, fit, allowance))
    printed = {name: sizes_of(fit, material, allowance) for name, fit in laid.items()}
    found += _smaller(division, printed, material)
    for seam in division.seams:
        misfit = seam_misfit(seam, plan.joint(seam.name), printed[seam.below], printed[seam.above])
        found += _misfits(seam, plan.joint(seam.name), misfit)
    return tuple(found)


def _in_files(allowance: FileAllowance, material: Material | None) -> Iterator[Finding]:
    what = []
    if allowance.is_scaled and material is not None:
        factors = " x ".join(f"{factor:.4f}" for factor in allowance.scale)
        what.append(f"scaled by {factors} along x, y and z of the printer, for {material.name}")
    if allowance.has_foot:
        what.append(
            f"chamfered by {allowance.foot_width:g} mm, {allowance.foot_height:g} mm high, along "
            "the outline on the bed"
        )
    if what:
        yield Finding(
            "allowance.files",
            Severity.NOTE,
            f"Pieces in files are {' and '.join(what)}; figures and pictures show them as they "
            "come out, so scale them nowhere else.",
        )
    if allowance.turns_matter:
        x, y, _ = allowance.scale
        yield Finding(
            "allowance.turning",
            Severity.NOTE,
            "The material shrinks differently along x and y, and pieces in files are scaled for "
            "the way in which they lie: do not turn them on the bed.",
            measured=abs(x / y - 1.0),
            allowed=0.0,
            unit="1",
        )


def _too_large(piece: Piece, fit: BedFit, allowance: FileAllowance) -> Finding:
    return Finding(
        "allowance.bed_fit",
        Severity.FAULT,
        f"Piece {piece.number} is {fit.over:.2f} mm too large for the bed once it is scaled by up "
        f"to {max(allowance.scale):.4f} for what it shrinks; turn it, or cut it smaller.",
        piece.name,
        piece.solid.hull.vertices,
        fit.spare,
        1.0,
        "1",
    )


def _smaller(
    division: Division, printed: Mapping[str, Floats], material: Material | None
) -> Iterator[Finding]:
    """Tell how much the part as a whole comes out smaller or larger, along its long side."""
    axis = int(division.part.extents.argmax())
    length = float(division.part.extents[axis])
    volumes = {piece.name: piece.solid.volume for piece in division.pieces}
    off = sum(
        volumes[name] * (float(np.linalg.norm(sizes[:, axis])) - 1.0)
        for name, sizes in printed.items()
    ) / sum(volumes.values())
    if material is not None and abs(off) * length >= STEP:
        yield Finding(
            "allowance.size",
            Severity.NOTE,
            f"As {material.name} shrinks, the part comes out about {abs(off) * length:.1f} mm "
            f"{'smaller' if off < 0 else 'larger'} on its {length:.0f} mm, since files are not "
            "scaled; let files be scaled, or do it in the slicer.",
            measured=abs(off) * length,
            allowed=STEP,
            unit="mm",
        )


def _misfits(seam: Seam, joint: Joint, misfit: SeamMisfit) -> Iterator[Finding]:
    ways = "print both in the same direction, or let files be scaled for it"
    if misfit.step > STEP:
        yield Finding(
            "allowance.step",
            Severity.WARNING,
            f"The pieces at seam {seam.name} shrink differently, as they print: there is a step of "
            f"{misfit.step:.2f} mm at its end; {ways}.",
            seam.name,
            misfit.at[None],
            misfit.step,
            STEP,
            "mm",
        )
    if misfit.pins > PIN_ERROR:
        yield Finding(
            "allowance.pins",
            Severity.WARNING,
            f"The distance between pins of seam {seam.name} comes out {misfit.pins:.2f} mm "
            f"different in its two pieces, so that they do not go in; {ways}.",
            seam.name,
            np.array([pin.at for pin in joint.pins]),
            misfit.pins,
            PIN_ERROR,
            "mm",
        )
