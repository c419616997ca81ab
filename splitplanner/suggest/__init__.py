"""Proposes whole plans: directions and places for cuts, a search over layouts, refinement."""

from splitplanner.suggest.bounds import LowerBound, lower_bound
from splitplanner.suggest.candidates import cut_directions
from splitplanner.suggest.layouts import Layout, LayoutSearch
from splitplanner.suggest.proposals import Proposal, Suggestion, suggest
from splitplanner.suggest.refining import Draft, Refiner

__all__ = [
    "Draft",
    "Layout",
    "LayoutSearch",
    "LowerBound",
    "Proposal",
    "Refiner",
    "Suggestion",
    "cut_directions",
    "lower_bound",
    "suggest",
]
