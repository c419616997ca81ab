"""What a part has to stand, as a plan keeps it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from splitplanner.arrays import unit_tuple
from splitplanner.errors import LoadError
from splitplanner.plan.joints import Vector
from splitplanner.plan.load_cases import LoadCase


@dataclass(frozen=True)
class Fall:
    """That the load comes by a fall instead of gently.

    Attributes
    ----------
    height : float
        mm; 0 is a load that is let go at once.
    stopping : float or None
        Way on which it comes to rest, mm, the part's own give included; None: only the part gives
        way, which makes a stiff part stand far more than it would meet on any ground.
    mass : float or None
        Of what falls, g; None for the part itself.

    Raises
    ------
    LoadError
        If one of them makes no sense.
    """

    height: float
    stopping: float | None = None
    mass: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.height < math.inf:
            raise LoadError(
                f"The height of a fall must be 0 mm or more, got {self.height:g}; mend it."
            )
        for value, what, unit in (
            (self.stopping, "way on which a fall stops", "mm"),
            (self.mass, "mass that falls", "g"),
        ):
            if value is not None and not 0.0 < value < math.inf:
                raise LoadError(
                    f"The {what} must be above 0 {unit}, got {value:g}; leave it out if it is not "
                    "known."
                )


@dataclass(frozen=True)
class Loading:
    """One load case of a part, along one of its axes.

    Attributes
    ----------
    axis : (x, y, z)
        Along which stations are counted, any length but zero; kept with length 1. Stations are
        offsets ``axis · p``, mm.
    case : LoadCase
        Where it is held, and what acts. With a fall only the shares and directions of the loads
        count.
    fall : Fall or None
        None for loads that act gently.

    Raises
    ------
    LoadError
        If the axis has no length.
    """

    axis: Vector
    case: LoadCase
    fall: Fall | None = None

    def __post_init__(self) -> None:
        if not (all(map(math.isfinite, self.axis)) and any(self.axis)):
            raise LoadError(f"Load case “{self.name}” needs an axis with a length.")
        object.__setattr__(self, "axis", unit_tuple(self.axis))

    @property
    def name(self) -> str:
        """Of the load case."""
        return self.case.name
