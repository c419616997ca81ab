"""What holds a seam: where pins go, the holes for them, and whether they are sound."""

from splitplanner.joint.holes import check_pins, drill, end_cover, pins_apart
from splitplanner.joint.joining import check_joints, join, left_open
from splitplanner.joint.keying import Keying, SeamOutline
from splitplanner.joint.placing import place_pins
from splitplanner.joint.rules import check_sizes, is_sensible
from splitplanner.joint.sizes import PinSize, pin_sizes

__all__ = [
    "Keying",
    "PinSize",
    "SeamOutline",
    "check_joints",
    "check_pins",
    "check_sizes",
    "drill",
    "end_cover",
    "is_sensible",
    "join",
    "left_open",
    "pin_sizes",
    "pins_apart",
    "place_pins",
]
