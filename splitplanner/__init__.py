"""Split planner: a model larger than the print bed in, sound printable joined pieces out."""

__version__ = "0.1.0"
