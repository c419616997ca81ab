"""Joints that somebody has edited: what has sizes of which nothing could be made is left out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from splitplanner.findings import Finding, Severity
from splitplanner.plan import Flange, Joint, Pin, Plan, Register, Screw, Tape, Vector
from splitplanner.workshop import FIBRE_DENSITY

_THREAD = re.compile(r"M\d+(\.\d+)?(x\d+(\.\d+)?)?$")
"""ISO metric threads, coarse or with their pitch."""
_UNIT = 1e-3
"""By which the length of an axis may be off; plan files keep many digits."""
_UPRIGHT = 90.0
"""Slope of a flange that ends square, degrees."""
_MOST = 1000.0
"""No size of a joint but its length is this large, mm."""


def sensible(plan: Plan) -> Plan:
    """Return a plan whose joints have only what something could be made of.

    What is left out is what `check_sense` finds. Sizes that can be made and are wrong, such as a
    hole without material round it, stay: other checks find those.
    """
    return plan.with_joints(tuple(_sensible(joint) for joint in plan.joints))


def is_sensible_joint(joint: Joint) -> bool:
    """Return whether `check_sense` finds nothing in a joint."""
    return _sensible(joint) == joint


def check_sense(joint: Joint) -> tuple[Finding, ...]:
    """Find what nothing could be made of.

    Returns
    -------
    tuple of Finding
        Faults of kind ``joint.size``.
    """
    return tuple(
        Finding(
            "joint.size",
            Severity.FAULT,
            f"Seam {joint.seam}, {name}: {rule}; place what holds this seam again.",
            joint.seam,
        )
        for name, rule in _senseless(joint)
    )


def _sensible(joint: Joint) -> Joint:
    flange, register, tape = joint.flange, joint.register, joint.tape
    return replace(
        joint,
        pins=tuple(pin for pin in joint.pins if not _of_pin(pin)),
        screws=tuple(screw for screw in joint.screws if not _of_screw(screw)),
        flange=None if flange is None or _of_flange(flange) else flange,
        register=None if register is None or _of_register(register) else register,
        tape=None if tape is None or _of_tape(tape) else tape,
    )


def _senseless(joint: Joint) -> Iterator[tuple[str, str]]:
    """Yield name and broken rule of what is left out."""
    found = [(f"pin {number}", _of_pin(pin)) for number, pin in enumerate(joint.pins, 1)]
    found += [(f"screw {number}", _of_screw(screw)) for number, screw in enumerate(joint.screws, 1)]
    if joint.flange is not None:
        found.append(("flange", _of_flange(joint.flange)))
    if joint.register is not None:
        found.append(("register", _of_register(joint.register)))
    if joint.tape is not None:
        found.append(("tape", _of_tape(joint.tape)))
    yield from ((name, rule) for name, rule in found if rule)


def _of_pin(pin: Pin) -> str:
    """Return the rule that a pin breaks; empty if it breaks none."""
    wide = max(pin.hole_diameter, 0.0)
    if not _is_direction(pin.axis):
        return "its axis must be 1 long"
    if not (0 <= pin.lead_in <= wide and 0 <= pin.vent <= wide and _length(pin.slot) <= wide):
        return "chamfer, vent and slot must be no more than its hole, and not below 0 mm"
    return ""


def _of_screw(screw: Screw) -> str:
    if not _is_direction(screw.axis):
        return "its axis must be 1 long"
    if not _THREAD.match(screw.size):
        return f"“{screw.size}” is no size of a thread, such as M4"
    if screw.washers not in (0, 1, 2):
        return "it has 0, 1 or 2 washers"
    if not (0 <= screw.nut_room < _MOST and screw.head_room < _MOST):
        return f"the room for head and nut must be between 0 and {_MOST:g} mm"
    return ""


def _of_flange(flange: Flange) -> str:
    if not (0 < flange.width < _MOST and 0 < flange.thickness < _MOST):
        return f"width and thickness must be above 0 and below {_MOST:g} mm"
    if not (0 < flange.slope_below <= _UPRIGHT and 0 < flange.slope_above <= _UPRIGHT):
        return f"its slopes must be above 0 and no more than {_UPRIGHT:g}°"
    for line in flange.lines:
        if len(line) < 2 or not np.diff(np.array(line), axis=0).any(axis=1).all():
            return "its lines need two corners or more, each of them somewhere else than the next"
    return ""


def _of_register(register: Register) -> str:
    if not (0 < register.height < _MOST and 0 < register.width < _MOST):
        return f"height and width must be above 0 and below {_MOST:g} mm"
    if not 0 <= register.gap < register.width:
        return "its gap must be 0 mm or more and below its width"
    return ""


def _of_tape(tape: Tape) -> str:
    if tape.fibre not in FIBRE_DENSITY:
        return f"“{tape.fibre}” is no fibre that is known; choose from {', '.join(FIBRE_DENSITY)}"
    if tape.plies < 1 or tape.plies != int(tape.plies):
        return "it has 1 ply or more"
    if not 0 < tape.fibre_share < 1:
        return "the fibre's share of the weight must be between 0 and 1"
    if min(tape.areal_weight, tape.width, tape.length) <= 0:
        return "weight, width and length must be above 0"
    return ""


def _is_direction(axis: Vector) -> bool:
    return abs(_length(axis) - 1.0) <= _UNIT


def _length(vector: Vector) -> float:
    return float(np.linalg.norm(vector))
