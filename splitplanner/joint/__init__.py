"""What holds seams: flanges, pins, screws and the rest, as solids, and whether they are sound."""

from splitplanner.joint.by_hand import screw_by_hand
from splitplanner.joint.checking import assembly_of, check_joints
from splitplanner.joint.coupon import Coupon, coupon
from splitplanner.joint.joining import join, left_open, sloping
from splitplanner.joint.making import MadePieces, Maker
from splitplanner.joint.order.finding import Assembly, Step, find_order
from splitplanner.joint.pins.checks import check_pins, end_cover, pins_apart
from splitplanner.joint.pins.keying import Keying, SeamOutline
from splitplanner.joint.pins.placing import place_pins
from splitplanner.joint.pins.rules import check_sizes, is_sensible
from splitplanner.joint.pins.sizes import PinSize, pin_sizes
from splitplanner.joint.sense import check_sense, is_sensible_joint, sensible
from splitplanner.joint.tape import ADHESION, TapeFigures, tape_figures
from splitplanner.joint.tape import SAFETY as TAPE_SAFETY

__all__ = [
    "ADHESION",
    "TAPE_SAFETY",
    "Assembly",
    "Coupon",
    "Keying",
    "MadePieces",
    "Maker",
    "PinSize",
    "SeamOutline",
    "Step",
    "TapeFigures",
    "assembly_of",
    "check_joints",
    "check_pins",
    "check_sense",
    "check_sizes",
    "coupon",
    "end_cover",
    "find_order",
    "is_sensible",
    "is_sensible_joint",
    "join",
    "left_open",
    "pin_sizes",
    "pins_apart",
    "place_pins",
    "screw_by_hand",
    "sensible",
    "sloping",
    "tape_figures",
]
