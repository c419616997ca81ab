"""Examining a plan: cutting it, measuring it, joining it and checking it, again and again."""

from splitplanner.examining.examiner import Examiner, Hand
from splitplanner.examining.kept import kept_joints, once

__all__ = ["Examiner", "Hand", "kept_joints", "once"]
