"""What the user decides in the window: one frozen value, so that every step can be undone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from splitplanner.plan import Plan
from splitplanner.score import Wishes


@dataclass(frozen=True)
class Choices:
    """All that is decided.

    Attributes
    ----------
    plan : Plan
    wishes : Wishes
        What proposals have to keep.
    weights : mapping of criterion name to weight
        Replaces default weights of the plan score.
    """

    plan: Plan
    wishes: Wishes = field(default_factory=Wishes)
    weights: Mapping[str, float] = field(default_factory=dict)

    def with_plan(self, plan: Plan) -> Choices:
        """Return the same wishes and weights with another plan."""
        return replace(self, plan=plan)
