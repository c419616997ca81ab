"""What a seam holds when some of what holds it has let go: the rest goes on, so the best counts.

Pins fit best, so that all of what slides a seam is theirs as long as they last; then screws take
it. Screws are stiffer than tape, so that most of what opens a seam is theirs as long as the plastic
below their heads lasts; then tape takes it, and they still keep the pieces from sliding.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from splitplanner.arrays import Floats, frozen_floats
from splitplanner.plan import Joint, Line, Seam
from splitplanner.strength import (
    HeldBy,
    Mode,
    SeamCapacity,
    SeamLoad,
    Side,
    Stage,
    seam_capacity,
)
from splitplanner.strength.seam_capacity import NOT_KEPT
from splitplanner.workshop import Shelf

SIDEWAYS = ("pin.", "screw.bearing", "screw.tear_out", "register.", NOT_KEPT)
"""So the modes begin that come of what slides a seam."""
_SLIDES = np.array([1.0, 1.0, 0.0])
"""Components of a force that slide a seam; of a moment the third alone does."""
_WALL = "piece."
"""So modes of the wall begin, which takes all of a load whatever holds it."""


@dataclass(frozen=True, eq=False)
class HeldSeam:
    """A seam with what is known of it before a load.

    Attributes
    ----------
    seam : Seam
    sides : (piece below, piece above)
    shelf : Shelf
    held_by : HeldBy
    tape_lines : tuple of lines
        Where tape runs; see `strength.seam_ground.tape_stretches`.
    evenly : bool
        Whether what slides it arises all along it, as in a lengthwise seam, so that fasteners have
        no couple of it.
    """

    seam: Seam
    sides: tuple[Side, Side]
    shelf: Shelf
    held_by: HeldBy
    tape_lines: tuple[Line, ...] = ()
    evenly: bool = False

    def capacity(self, joint: Joint, load: SeamLoad) -> SeamCapacity:
        """Return what the seam holds of a load, with stages for what is left of its joint.

        Parameters
        ----------
        joint : Joint
        load : SeamLoad
            Not none.

        Raises
        ------
        WorkshopError
            If hardware is not on the shelf, or steel or fibre are not known.
        """
        found = self._plain(joint, load)
        stages = [*found.stages]
        if joint.pins and (joint.screws or joint.register is not None):
            stages += self._plain(replace(joint, pins=()), load).stages
        is_glued = self.held_by.adhesive is not None
        if is_glued and (joint.screws or joint.tape is not None):
            # Glue alone, where screws or tape go before it does: it takes all that they took.
            stages.append(self._plain(Joint(joint.seam, flange=joint.flange), load).stages[-1])
        if joint.tape is not None:
            bare = replace(self, held_by=replace(self.held_by, adhesive=None))
            stages += bare._by_tape(joint, load, found.stages[-1])
        return replace(found, stages=tuple(_filled(stage, joint) for stage in stages))

    def _plain(self, joint: Joint, load: SeamLoad) -> SeamCapacity:
        if self.evenly:
            load = _without_couple(load, self.seam, joint)
        return seam_capacity(
            self.seam, joint, load, self.sides, self.shelf, self.held_by, self.tape_lines
        )

    def _by_tape(self, joint: Joint, load: SeamLoad, whole: Stage) -> Iterator[Stage]:
        """Yield the seam with tape against what opens it and the rest against what slides it."""
        opens = SeamLoad(load.force * (1.0 - _SLIDES), load.moment * _SLIDES, load.at)
        slides = SeamLoad(load.force * _SLIDES, load.moment * (1.0 - _SLIDES), load.at)
        if not (joint.screws and _acts(opens)):
            return
        alone = self._plain(Joint(joint.seam, flange=joint.flange, tape=joint.tape), opens)
        walls = [mode for mode in whole.modes if mode.name.startswith(_WALL)]
        held: list[Mode] = [*walls, *_beside_walls(alone.stages[-1])]
        by: tuple[str, ...] = ("tape",)
        none = frozen_floats(np.zeros((0, 2)))
        screws, pins = none, none
        if _acts(slides):
            bare = replace(joint, tape=None)
            ways = [*self._plain(bare, slides).stages]
            ways += self._plain(replace(bare, pins=()), slides).stages if joint.pins else ()
            best = max(ways, key=lambda stage: stage.factor)
            held += _beside_walls(best)
            by, screws, pins = (*best.by, *by), best.screw_shears, best.pin_shears
        tensions = frozen_floats(np.zeros(len(joint.screws)))
        modes = tuple(sorted(held, key=lambda mode: mode.factor))
        yield Stage(by, modes, tensions, screws, pins)


def scaled(capacity: SeamCapacity, times: float) -> SeamCapacity:
    """Return what a seam holds of a load `times` as large, beside the uncut part under the old.

    All that is worked out of a seam grows with its load: where it opens stays the same.
    """
    stages = tuple(
        replace(
            stage,
            modes=tuple(
                replace(mode, factor=mode.factor / times, measured=mode.measured * times)
                for mode in stage.modes
            ),
            tensions=frozen_floats(stage.tensions * times),
            screw_shears=frozen_floats(stage.screw_shears * times),
            pin_shears=frozen_floats(stage.pin_shears * times),
        )
        for stage in capacity.stages
    )
    return replace(capacity, stages=stages)


def _without_couple(load: SeamLoad, seam: Seam, joint: Joint) -> SeamLoad:
    """Return a load whose forces in the plane turn nothing about the middle of what takes them."""
    fasteners = joint.pins or joint.screws
    if not fasteners:
        return load
    middle = seam.plane.to_plane([each.at for each in fasteners]).mean(axis=0)
    return SeamLoad(load.force, load.moment - load.about(middle) * (1.0 - _SLIDES), load.at)


def _acts(load: SeamLoad) -> bool:
    return bool(load.force.any() or load.moment.any())


def _beside_walls(stage: Stage) -> list[Mode]:
    return [mode for mode in stage.modes if not mode.name.startswith(_WALL)]


def _filled(stage: Stage, joint: Joint) -> Stage:
    """Return a stage that tells of every screw and pin of a joint, also of those that let go."""
    return replace(
        stage,
        tensions=_rows(stage.tensions, len(joint.screws)),
        screw_shears=_rows(stage.screw_shears, len(joint.screws)),
        pin_shears=_rows(stage.pin_shears, len(joint.pins)),
    )


def _rows(forces: Floats, count: int) -> Floats:
    if len(forces) == count:
        return forces
    return frozen_floats(np.zeros((count, *forces.shape[1:])))
