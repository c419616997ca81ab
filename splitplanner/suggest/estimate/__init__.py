"""Judging plans without cutting: columns, crossings and sections of the uncut part, clipped."""

from splitplanner.suggest.estimate.survey import Estimate, Sketch, Survey, surveyed

__all__ = ["Estimate", "Sketch", "Survey", "surveyed"]
