"""A screw that is set by hand: whether it stands where it is wanted, and with which sizes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from shapely.ops import nearest_points

from splitplanner.arrays import Bools, Floats
from splitplanner.errors import JointError
from splitplanner.joint.fasteners.distances import Bar, bars_to_keep_off, drawable
from splitplanner.joint.flange.sizes import flange_size
from splitplanner.joint.making import Maker
from splitplanner.joint.material import SeamMaterial
from splitplanner.joint.screws.access import SeamAccess
from splitplanner.joint.screws.fits import access_to, tools_for
from splitplanner.joint.screws.from_shelf import screw_sizes
from splitplanner.joint.screws.places import Places
from splitplanner.joint.screws.room import ScrewRoom
from splitplanner.joint.screws.sizes import ScrewSize
from splitplanner.joint.sense import sensible
from splitplanner.plan import Division, Fastening, Hold, Joint, Plan, Screw, Seam
from splitplanner.progress import Report, silent
from splitplanner.score import widest_place
from splitplanner.workshop import Shelf

Spot = tuple[float, float]
"""Plane coordinates of a seam, mm."""

_NEAR = 0.3
"""A place that is no further than this outside of the room is taken to be at its edge, mm: what is
drawn of a flange is a little simpler than what is built."""
_MOST_TRIALS = 12
"""Places that are judged on the solids where any will do."""
_ROUNDING = 1e-6
_DOING = "finding a seat for the screw"
_USUAL: Hold = "nut"
"""What a screw is set by where none are wanted elsewhere: it asks for no tool but a spanner."""


def screw_by_hand(
    division: Division,
    plan: Plan,
    seam: str,
    shelf: Shelf,
    *,
    seen: Bools,
    place: Spot | None = None,
    index: int | None = None,
    maker: Maker | None = None,
    report: Report = silent,
) -> Screw:
    """Return a screw that somebody adds to a seam, or one of its screws as it has to be now.

    Parameters
    ----------
    division : Division
    plan : Plan
        Its printer and joints count, and how it wants the seam to be held: where that is without
        screws, one with a nut is set, of the size that the fastening names.
    seam : str
    shelf : Shelf
        Hardware to choose from.
    seen : (m,) bool array
        Faces of the part on the good side.
    place : (u, v), optional
        In the seam's plane, mm. Without it a new one goes where it is furthest from what is there.
    index : int, optional
        Of a screw that was moved or turned round: it stays at its place and on its side, and so do
        its standard, its thread and what that goes into. Seat, length and depth are found anew.
    maker : Maker, optional
        Makes the flanges, and remembers them.
    report : progress callback

    Returns
    -------
    Screw
        Of a place not 0.3 mm outside of the room its place in the room.

    Raises
    ------
    JointError
        If none stands there, or the seam does not exist; the sentence says why, and what to do.
    WorkshopError
        If the shelf has not what the screw takes.
    """
    where = next((each for each in division.seams if each.name == seam), None)
    if where is None:
        raise JointError(f"The plan has no seam “{seam}”; choose one that it has.", subject=seam)
    old = None if index is None else plan.joint(seam).screws[index]
    if old is not None:
        u, v = where.plane.to_plane([old.at])[0].tolist()
        place = (u, v)
    setting = _Setting(division, sensible(plan), where, shelf, seen, old, maker or Maker())
    report(0.0, "finding out where screws have room")
    return setting.anywhere(report) if place is None else setting.at(place, report)


def fastening_by_hand(plan: Plan, seam: str, old: Screw | None = None) -> Fastening:
    """Return how a screw is put in that is set by hand: as is wanted, or as an old one is.

    Where no screws are wanted it is one with a nut, of the size that the fastening names.
    """
    wanted = plan.fastening_of(seam)
    if old is None:
        return wanted if wanted.screws != "none" else replace(wanted, screws=_USUAL)
    # Of thread-forming screws the standard is the name of a row of the shelf.
    standard = wanted.screw_standard if old.hold == "plastic" else old.standard
    return replace(wanted, screws=old.hold, screw_standard=standard, screw_size=old.size)


@dataclass(frozen=True, eq=False)
class _Setting:
    """What the steps of setting one screw share; `old` is the one that is set anew."""

    division: Division
    plan: Plan
    seam: Seam
    shelf: Shelf
    seen: Bools
    old: Screw | None
    maker: Maker

    @cached_property
    def joint(self) -> Joint:
        """What holds the seam, without the screw that is set."""
        joint = self.plan.joint(self.seam.name)
        left = list(joint.screws)
        if self.old in left:
            left.remove(self.old)
        return replace(joint, screws=tuple(left))

    @cached_property
    def fastening(self) -> Fastening:
        """How screws are put in: as the plan wants them, or as the old one is."""
        return fastening_by_hand(self.plan, self.seam.name, self.old)

    @cached_property
    def sizes(self) -> tuple[ScrewSize, ...]:
        """What is tried, in this order; the arrangement of the old one first."""
        sizes = screw_sizes(self.fastening, self.shelf, self.plan.machine)
        old = self.old
        if old is None:
            return sizes
        kept = (old.washers, old.nut_room > 0)
        return tuple(sorted(sizes, key=lambda size: (size.washers, size.nut_room > 0) != kept))

    @cached_property
    def sides(self) -> tuple[int, ...]:
        """Sides for the head, +1 above: that of the old one; else first where most heads are."""
        normal = np.array(self.seam.plane.normal)
        if self.old is not None:
            return (-1 if float(normal @ self.old.axis) > 0 else 1,)
        # An axis that runs up starts in the piece below.
        below = sum(float(normal @ screw.axis) > 0 for screw in self.joint.screws)
        return (-1, 1) if 2 * below >= len(self.joint.screws) else (1, -1)

    @cached_property
    def room(self) -> ScrewRoom:
        """The seam with its flange, and all that stands on it and near it."""
        reach = max(size.reach for size in self.sizes)
        solids = self.maker.rimmed(self.division, self.plan)
        contact = self.maker.contact(self.seam, self.division, self.plan)
        below, above = solids[self.seam.below], solids[self.seam.above]
        material = SeamMaterial.around(contact, below, above, reach)
        return ScrewRoom(material, self._access, self.fastening.coat)

    @property
    def _access(self) -> SeamAccess:
        assembled = self.maker.assembled(self.division, self.plan)
        tools = tools_for(self.fastening, self.shelf)
        return access_to(self.seam, assembled, self.division.part, self.seen, tools)

    @cached_property
    def _bars(self) -> tuple[Bar, ...]:
        """What stands for all other hardware."""
        names = {seam.name for seam in self.division.seams}
        others = [
            joint
            for joint in self.plan.joints
            if joint.seam in names and joint.seam != self.seam.name
        ]
        known = [each for joint in (self.joint, *others) for _, each in drawable(joint)]
        return bars_to_keep_off(known)

    def at(self, place: Spot, report: Report) -> Screw:
        """Return the first that stands at a place; or else the first beside it, at the edge."""
        ways = list(self._ways())
        spots = [self._in_room(size, place) for size, _ in ways]
        there = np.array([place])
        is_there = [spot is not None and np.array_equal(spot, there) for spot in spots]
        tried: list[Places] = []
        for number, at in enumerate(sorted(range(len(ways)), key=lambda at: not is_there[at])):
            report(0.1 + 0.9 * number / len(ways), _DOING)
            (size, side), spot = ways[at], spots[at]
            if spot is None:
                tried.append(Places(size, np.empty((0, 2)), (), (), "room"))
                continue
            # A head that is sunk a little stands on slopes on which one at the surface does not.
            for is_exact in (True, False):
                places = self.room.places(size, side, spot, is_exact=is_exact)
                places = self.room.clear_of(places, self._bars)
                if len(places.places) and self.room.stands(places, 0):
                    return self._screw(places, 0)
                # Judged once more on the solids, where material and ways may be wanting.
                tried.append(places.only(()) if len(places.places) else places)
        raise self._refusal(tried, place)

    def anywhere(self, report: Report) -> Screw:
        """Return the one that is furthest from all fasteners of the seam."""
        tried: list[Places] = []
        ways = list(self._ways())
        for number, (size, side) in enumerate(ways):
            report(0.1 + 0.9 * number / len(ways), _DOING)
            places = self.room.clear_of(self.room.places(size, side), self._bars)
            for index in self._furthest(places)[:_MOST_TRIALS]:
                if self.room.stands(places, index):
                    return self._screw(places, index)
            tried.append(places.only(()) if len(places.places) else places)
        raise self._refusal(tried, None)

    def _ways(self) -> Iterator[tuple[ScrewSize, int]]:
        return ((size, side) for size in self.sizes for side in self.sides)

    def _in_room(self, size: ScrewSize, place: Spot) -> Floats | None:
        """Return a place, or where the room is next to it, (1, 2) mm; None where it is far."""
        room, point = self.room.room(size), shapely.Point(place)
        if room.is_empty or room.distance(point) > _NEAR:
            return None
        if room.distance(point) > _ROUNDING:
            point, _ = nearest_points(room, point)
        return np.array([[point.x, point.y]])

    def _furthest(self, places: Places) -> list[int]:
        """Return the places by their distance from what is there, the furthest first.

        From the middle of the seam where nothing is there; the nearest of the places then.
        """
        if not len(places.places):
            return []
        at = np.reshape([each.at for each in self.joint.fasteners], (-1, 3))
        if len(at):
            flat = self.seam.plane.to_plane(at)
            away = np.linalg.norm(places.places[:, None] - flat[None], axis=2).min(axis=1)
        else:
            middle = shapely.get_coordinates(self.seam.section.shape.centroid)
            away = -np.linalg.norm(places.places - middle, axis=1)
        return [int(index) for index in np.argsort(-np.round(away, 6), kind="stable")]

    def _screw(self, places: Places, index: int) -> Screw:
        return places.size.screw_in(
            self.seam.plane, places.places[index], places.sides[index], places.hardware[index]
        )

    # -- why none stands --------------------------------------------------------------------
    def _refusal(self, tried: Sequence[Places], place: Spot | None) -> JointError:
        """Say of the way that came furthest what it was lost for, and what to do."""
        best = max(tried, key=lambda places: places.rank)
        size, where = best.size, "there" if place is not None else "on this seam"
        name = f"no {size.size} screw stands {where}"
        reasons = {
            "room": self._no_room,
            "reach": self._not_reached,
            "length": _no_length,
            "material": _no_material,
            "clear": _not_clear,
        }
        text = f"Seam {self.seam.name}: {name}: {reasons[best.stage](size, place)}."
        return JointError(text, subject=self.seam.name)

    def _no_room(self, size: ScrewSize, place: Spot | None) -> str:
        needed = size.edge_distance
        shape = self.room.material.seam.section.shape
        if place is None or self.room.room(size).is_empty:
            width, _ = widest_place(shape)
            return (
                f"the wall is at most {width:.1f} mm thick and {2 * needed:.1f} mm are needed; add "
                "a flange, or take a thinner screw"
            )
        point = shapely.Point(place)
        away = shape.boundary.distance(point) if shape.intersects(point) else 0.0
        if away < needed:
            return (
                f"its axis is {away:.1f} mm from the edge and needs {needed:.1f} mm; put it in "
                "the room, widen the flange, or take a thinner screw"
            )
        return (
            f"the material behind the seam ends less than {needed:.1f} mm from its axis; put it "
            "where the wall is thicker, or take a thinner screw"
        )

    def _not_reached(self, size: ScrewSize, place: Spot | None) -> str:
        what = "head or nut" if size.hold == "nut" else "head"
        ways = [] if self.old is None else ["leave its head where it was"]
        ways.append("put it where the wall or the flange is open behind")
        if self.joint.flange is not None and self._is_too_narrow(size):
            ways.append("ask for screws where you say how seams are held, which widens the flange")
        *most, last = ways
        do = f"{', '.join(most)}, or {last}" if most else last
        return f"its {what} finds no seat on the hidden side that a tool reaches; {do}"

    def _is_too_narrow(self, size: ScrewSize) -> bool:
        """Whether the seam's flange is narrower than one that is made for such screws."""
        flange = self.joint.flange
        width, _ = flange_size(self.fastening, self.shelf, self.plan.machine)
        return flange is not None and flange.width < width - _ROUNDING


def _no_length(size: ScrewSize, place: Spot | None) -> str:
    return (
        f"none on the shelf has a length that suits the material, the longest is "
        f"{max(size.lengths):g} mm; put it elsewhere, or add lengths to your shelf"
    )


def _no_material(size: ScrewSize, place: Spot | None) -> str:
    deep = max(size.least_seat, size.least_depth + size.end_cover)
    return (
        f"it needs {size.edge_distance:.1f} mm of material all round, {deep:.1f} mm deep in both "
        f"pieces, and {size.head_room:.1f} mm for its head; put it where the wall or the "
        "flange is wider and thicker, or take a thinner screw"
    )


def _not_clear(size: ScrewSize, place: Spot | None) -> str:
    return (
        "it comes too near to a pin or a screw that is there; put it away from those, or delete "
        "one of them"
    )
