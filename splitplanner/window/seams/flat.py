"""Pins and screws as they are seen in the plane of their seam: the pins first, then the screws."""

from __future__ import annotations

import string
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.plan import Joint, Pin, Screw
from splitplanner.solid import Plane


@dataclass(frozen=True)
class ScrewMarks:
    """What is drawn and said of a screw beside its hole.

    Attributes
    ----------
    size : str
        Thread and length, such as ``M3 × 12``.
    head_in : str
        The piece that its head is in, as the user knows it.
    head_room : float
        Diameter that is kept clear for head, washer and driver, mm.
    hole : float
        Diameter of the hole for insert or thread, mm; 0 with a nut.
    nut_room : float
        Width across flats of the nut's pocket, mm; 0 without one.
    """

    size: str
    head_in: str
    head_room: float
    hole: float
    nut_room: float


@dataclass(frozen=True)
class FlatFastener:
    """A pin or a screw as it is seen in the plane of its seam.

    Attributes
    ----------
    u, v : float
        Its axis, plane coordinates, mm.
    diameter : float
        Of the pin, or of the screw's through hole, mm.
    edge_distance : float
        mm.
    screw : ScrewMarks or None
        None of a pin.
    """

    u: float
    v: float
    diameter: float
    edge_distance: float
    screw: ScrewMarks | None = None


def flat_fasteners(plane: Plane, joint: Joint, names: tuple[str, str]) -> tuple[FlatFastener, ...]:
    """Return pins and screws of a joint as they are seen in the plane of its seam.

    Parameters
    ----------
    plane : Plane
    joint : Joint
    names : (str, str)
        Of the pieces below and above, as the user knows them.
    """
    sizes = [(pin.diameter, pin.edge_distance, None) for pin in joint.pins] + [
        (screw.clearance, screw.edge_distance, screw_marks(screw, plane, names))
        for screw in joint.screws
    ]
    if not sizes:
        return ()
    all_of_them: tuple[Pin | Screw, ...] = (*joint.pins, *joint.screws)
    places = plane.to_plane([each.at for each in all_of_them]).tolist()
    return tuple(FlatFastener(u, v, *size) for (u, v), size in zip(places, sizes, strict=True))


def screw_marks(screw: Screw, plane: Plane, names: tuple[str, str]) -> ScrewMarks:
    """Return what is drawn and said of a screw."""
    return ScrewMarks(
        screw_size(screw),
        names[0] if head_is_below(screw, plane) else names[1],
        screw.head_room,
        0.0 if screw.hold == "nut" else screw.hole,
        screw.nut_room,
    )


def head_is_below(screw: Screw, plane: Plane) -> bool:
    """Return whether the head of a screw is in the piece below: its axis runs up from there."""
    return float(np.dot(screw.axis, plane.normal)) > 0.0


def screw_size(screw: Screw | BraceBolt) -> str:
    """Return thread and length of a screw as it is ordered, such as ``M3 × 12``."""
    return f"{screw.size} × {screw.length:g}"


def letter(index: int) -> str:
    """Return the letter of a screw: A to Z, then AA, AB and so on."""
    text = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        text = string.ascii_uppercase[rest] + text
    return text


def mark_of(fasteners: Sequence[FlatFastener], index: int) -> str:
    """Return what stands beside a pin or a screw: pins have numbers, screws letters."""
    if fasteners[index].screw is None:
        return str(index + 1)
    return letter(sum(each.screw is not None for each in fasteners[:index]))


def title(fasteners: Sequence[FlatFastener], index: int) -> str:
    """Return how a pin or a screw is called."""
    kind = "Pin" if fasteners[index].screw is None else "Screw"
    return f"{kind} {mark_of(fasteners, index)}"
