"""One module a criterion, one function each: what a plan is measured by."""

from splitplanner.score.room import Room, lever_arm, room, seam_shape, shrunk, widest_place

__all__ = ["Room", "lever_arm", "room", "seam_shape", "shrunk", "widest_place"]
