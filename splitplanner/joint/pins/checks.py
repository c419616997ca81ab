"""Whether pins stand in material, and keep their distance from each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from splitplanner.arrays import Floats
from splitplanner.findings import Finding, Severity, piece_words
from splitplanner.joint.material import block_around, is_solid_round, segment_distances
from splitplanner.plan import Joint, Pin, Seam
from splitplanner.solid import Solid

_ON_PLANE = 1e-3
"""A pin this near the cut plane lies on it, mm; plan files keep six digits."""
_ROUNDING = 1e-6
"""Rounding allowed on lengths that were computed, mm."""
_PRECISION = 1e-3
"""To which a distance that is too small is measured, mm."""


def end_cover(pin: Pin) -> float:
    """Return the material kept beyond the bottom of a pin's holes, mm: as much as round them."""
    return pin.edge_distance - pin.hole_diameter / 2


def check_pins(joint: Joint, seam: Seam, below: Solid, above: Solid) -> tuple[Finding, ...]:
    """Check that the pins of a joint stand in material, with their edge distance.

    Parameters
    ----------
    joint : Joint
    seam : Seam
        The seam that it holds.
    below, above : Solid
        The two pieces before any hole is drilled.

    Returns
    -------
    tuple of Finding
        Faults; empty when the joint is sound. Kinds: ``joint.off_plane`` (a pin does not stand
        square on the seam), ``joint.shallow`` (the pin is longer than its two holes),
        ``joint.edge_distance``, ``joint.end_cover`` (too little material round or beyond a hole,
        in either piece) and ``joint.pins_touch``.
    """
    findings: list[Finding] = []
    for number, pin in enumerate(joint.pins, 1):
        name = f"Seam {seam.name}, pin {number}"
        stance = _check_stance(pin, name, seam)
        findings += stance
        if any(finding.kind == "joint.off_plane" for finding in stance):
            continue
        for piece, side, label in ((below, -1, seam.below), (above, 1, seam.above)):
            findings += _check_cover(pin, f"{name}, {piece_words(label)}", seam, piece, side)
    return tuple(findings) + _check_apart(joint, seam)


def pins_apart(pin: Pin, others: Sequence[Pin]) -> Floats:
    """Return the distance between the axis of `pin` and that of each of `others`, (n,) mm.

    Each axis runs through both holes and the material kept beyond them.
    """
    if not others:
        return np.empty(0)
    ends = np.array([axis_ends(other) for other in others])
    return segment_distances(ends[:, 0], ends[:, 1], *axis_ends(pin))


def axis_ends(pin: Pin) -> tuple[Floats, Floats]:
    """Return the ends of a pin's axis, beyond its holes and what is kept there, (3,) mm each."""
    at, reach = np.array(pin.at), np.array(pin.axis) * (pin.depth + end_cover(pin))
    return at - reach, at + reach


def _check_stance(pin: Pin, name: str, seam: Seam) -> list[Finding]:
    findings = []
    height = float(seam.plane.height([pin.at])[0])
    lean = float(np.degrees(np.arccos(np.clip(np.dot(pin.axis, seam.plane.normal), -1, 1))))
    if abs(height) > _ON_PLANE or lean > 0.1:
        findings.append(
            _fault(
                "joint.off_plane",
                f"{name}: it stands {abs(height):.3f} mm off the seam and leans {lean:.2f}°; "
                "place the pins of this seam again.",
                seam,
                pin,
                abs(height),
                0.0,
            )
        )
    if pin.depth < pin.length / 2 - _ROUNDING:
        findings.append(
            _fault(
                "joint.shallow",
                f"{name}: holes of {pin.depth:g} mm are too shallow for half of a pin of "
                f"{pin.length:g} mm; deepen them or take a shorter pin.",
                seam,
                pin,
                pin.depth,
                pin.length / 2,
            )
        )
    return findings


def _check_cover(pin: Pin, name: str, seam: Seam, piece: Solid, side: int) -> list[Finding]:
    inward = side * np.array(pin.axis)
    cover = end_cover(pin)
    flat = seam.plane.to_plane([pin.at])
    widest = pin.edge_distance
    reach = pin.depth + cover
    block = block_around(
        piece, seam.plane, np.vstack([flat - widest, flat + widest]), reach + widest
    )

    def holds(radius: float, length: float) -> bool:
        return is_solid_round(block, pin.at, inward, radius, length)

    findings = []
    if not holds(pin.edge_distance, pin.depth):
        found = _largest(lambda radius: holds(radius, pin.depth), pin.edge_distance)
        findings.append(
            _fault(
                "joint.edge_distance",
                f"{name}: the nearest surface is {found:.2f} mm from the pin's axis and should be "
                f"{pin.edge_distance:.2f} mm; move the pin inward or take a thinner one.",
                seam,
                pin,
                found,
                pin.edge_distance,
            )
        )
    elif not holds(pin.hole_diameter / 2, reach):
        found = _largest(lambda length: holds(pin.hole_diameter / 2, length), reach) - pin.depth
        findings.append(
            _fault(
                "joint.end_cover",
                f"{name}: {found:.2f} mm of material are left beyond the hole and should be "
                f"{cover:.2f} mm; take a shorter pin or move it.",
                seam,
                pin,
                found,
                cover,
            )
        )
    return findings


def _largest(holds: Callable[[float], bool], limit: float) -> float:
    """Return the largest size below `limit` that still holds; 0 when none does."""
    low, high = 0.0, limit
    while high - low > _PRECISION:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def _check_apart(joint: Joint, seam: Seam) -> tuple[Finding, ...]:
    findings = []
    for number, pin in enumerate(joint.pins, 1):
        before = joint.pins[: number - 1]
        for index, distance in enumerate(pins_apart(pin, before).tolist()):
            other = before[index]
            allowed = max(
                pin.edge_distance + other.hole_diameter / 2,
                other.edge_distance + pin.hole_diameter / 2,
            )
            if distance < allowed - _ROUNDING:
                findings.append(
                    _fault(
                        "joint.pins_touch",
                        f"Seam {seam.name}: pins {index + 1} and {number} are {distance:.2f} mm "
                        f"apart and should be {allowed:.2f} mm; move one of them.",
                        seam,
                        pin,
                        distance,
                        allowed,
                    )
                )
    return tuple(findings)


def _fault(
    kind: str, message: str, seam: Seam, pin: Pin, measured: float, allowed: float
) -> Finding:
    where = np.array([pin.at])
    return Finding(kind, Severity.FAULT, message, seam.name, where, measured, allowed, unit="mm")
