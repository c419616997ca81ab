"""Proposes whole plans: directions and places for cuts, a search over trees of cuts, refinement."""

from __future__ import annotations

import typing

from splitplanner.lazy_names import lazy_names

if typing.TYPE_CHECKING:
    from splitplanner.suggest.bounds import LowerBound, lower_bound
    from splitplanner.suggest.candidates import cut_directions
    from splitplanner.suggest.costs import Costs
    from splitplanner.suggest.drafting import Draft, Drafter
    from splitplanner.suggest.orienting import oriented, seam_normals
    from splitplanner.suggest.places import Place, sensible_places
    from splitplanner.suggest.proposals import Proposal, Suggestion, prepare, suggest
    from splitplanner.suggest.spare import warm_up
    from splitplanner.suggest.standing_in import lightened

__all__ = [
    "Costs",
    "Draft",
    "Drafter",
    "LowerBound",
    "Place",
    "Proposal",
    "Suggestion",
    "cut_directions",
    "lightened",
    "lower_bound",
    "oriented",
    "prepare",
    "seam_normals",
    "sensible_places",
    "suggest",
    "warm_up",
]

__getattr__ = lazy_names(
    __name__,
    {
        "bounds": ["LowerBound", "lower_bound"],
        "candidates": ["cut_directions"],
        "costs": ["Costs"],
        "drafting": ["Draft", "Drafter"],
        "orienting": ["oriented", "seam_normals"],
        "places": ["Place", "sensible_places"],
        "proposals": ["Proposal", "Suggestion", "prepare", "suggest"],
        "spare": ["warm_up"],
        "standing_in": ["lightened"],
    },
)
