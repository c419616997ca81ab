"""What holds seams: flanges, pins, screws and the rest, as solids, and whether they are sound."""

from splitplanner.joint.allowance.checks import check_allowances
from splitplanner.joint.allowance.files import (
    FileAllowance,
    as_in_file,
    file_allowance,
    scaled_fit,
    with_room_to_shrink,
)
from splitplanner.joint.brace.building import Brace
from splitplanner.joint.brace.planned import PlannedBraces
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
    "Brace",
    "Coupon",
    "FileAllowance",
    "Keying",
    "MadePieces",
    "Maker",
    "PinSize",
    "PlannedBraces",
    "SeamOutline",
    "Step",
    "TapeFigures",
    "as_in_file",
    "assembly_of",
    "check_allowances",
    "check_joints",
    "check_pins",
    "check_sense",
    "check_sizes",
    "coupon",
    "end_cover",
    "file_allowance",
    "find_order",
    "is_sensible",
    "is_sensible_joint",
    "join",
    "left_open",
    "pin_sizes",
    "pins_apart",
    "place_pins",
    "scaled_fit",
    "screw_by_hand",
    "sensible",
    "sloping",
    "tape_figures",
    "with_room_to_shrink",
]
