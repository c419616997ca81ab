"""A plane in hand: where it goes as the pointer goes on, also when a key makes it finer midway."""

from __future__ import annotations

from splitplanner.arrays import to_vector
from splitplanner.output.camera import Camera
from splitplanner.plan import Vector
from splitplanner.solid import Plane
from splitplanner.viewport.handles import Grip, Handle, Part

HANDLE = 78.0
"""Length of the arrow, and radius of the rings, logical pixels."""
FINE = 0.1
"""With the key for it, a plane goes so much of the way of the pointer."""


def handle_of(plane: Plane, centre: Vector, camera: Camera) -> Handle:
    """Return the handle of a plane, as large in the picture wherever it is."""
    return Handle(plane, centre, HANDLE * float(camera.pixel_size([centre])[0]))


class PlaneDrag:
    """A plane that is being dragged.

    Parameters
    ----------
    index : int
    handle : Handle
    part : "arrow", "first ring" or "second ring"
    camera : Camera
    x, y : float
        Where it was grabbed, pixels.
    """

    def __init__(
        self, index: int, handle: Handle, part: Part, camera: Camera, x: float, y: float
    ) -> None:
        self.index, self.part, self.before = index, part, handle.plane
        self.plane = handle.plane
        self.is_fine = False
        self._at = (x, y)
        self._grip = handle.grip(part, camera, x, y)

    @property
    def handle(self) -> Handle:
        """The handle where it is now."""
        old = self._grip.handle
        # The arrow takes its foot along; tilts are about the foot.
        off = float(self.plane.height([old.centre])[0])
        foot = [c - off * n for c, n in zip(old.centre, self.plane.normal, strict=True)]
        return Handle(self.plane, (foot[0], foot[1], foot[2]), old.length)

    @property
    def mm_per_pixel(self) -> float:
        """By how much a pixel moves the plane, or a place on the ring, mm."""
        size = float(self._grip.camera.pixel_size([self.handle.centre])[0])
        return size * (FINE if self.is_fine else 1.0)

    def move(self, x: float, y: float, is_fine: bool) -> Plane:
        """Return where the plane is when the pointer is at (`x`, `y`) pixels."""
        if is_fine != self.is_fine:
            # It goes on from where it is, so that it does not jump.
            self._grip = Grip(self.handle, self.part, self._grip.camera, *self._at)
            self.is_fine = is_fine
        self._at = (x, y)
        self.plane = self._grip.plane(x, y, fine=FINE if is_fine else 1.0)
        return self.plane


def stepped(plane: Plane, centre: Vector, part: Part, amount: float) -> Plane:
    """Return a plane shifted by mm, or tilted about its centre by degrees."""
    from scipy.spatial.transform import Rotation

    if part == "arrow":
        return plane.shifted(amount)
    import numpy as np

    axis = plane.frame[0 if part == "first ring" else 1]
    turn = Rotation.from_rotvec(np.radians(amount) * axis)
    return Plane.through(centre, to_vector(turn.apply(np.array(plane.frame[2]))))
