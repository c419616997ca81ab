"""The printer: its bed, and what it can do."""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass, field
from inspect import signature
from pathlib import Path
from typing import Any, Literal

import numpy as np
from pydantic import ValidationError, validate_call

from splitplanner.errors import WorkshopError
from splitplanner.toml_files import TomlFile, described
from splitplanner.workshop.allowances import Allowances, allowance_at, check_allowances

Outline = tuple[tuple[float, float], ...]

RETIRED = ("flow", "layer_seconds")
"""Entries that printers had once; in older files they are passed over. Speeds and the flow limit
say what they said."""
MOST_FOOT = 3.0
"""No first layer spreads by more than this, mm; else something is mixed up."""
LEAST_FACTOR = 0.1
"""No print takes less than this of what is worked out, nor more than ten times as much; else
something is mixed up, such as hours and minutes."""


@dataclass(frozen=True)
class Bed:
    """The printable volume.

    Attributes
    ----------
    kind : "rectangle", "circle" or "outline"
    width, depth : float
        Size along x and y, mm; for a circle both are the diameter; for an outline its extents.
    height : float
        Greatest height of a piece, mm.
    margin : float
        Kept free along the edge and round blocked areas for brim or skirt, mm.
    outline : tuple of (x, y)
        Corners of the plan outline, mm; only for kind "outline".
    blocked : tuple of outlines
        Areas of the plan that must stay free (clips, a camera), mm.

    The plan's origin is the low corner of its bounding rectangle.
    """

    kind: Literal["rectangle", "circle", "outline"]
    width: float
    depth: float
    height: float
    margin: float = 0.0
    outline: Outline = ()
    blocked: tuple[Outline, ...] = ()

    def __post_init__(self) -> None:
        sizes = (self.width, self.depth, self.height)
        if not all(np.isfinite(size) and size > 0 for size in sizes):
            raise WorkshopError(f"A bed needs three sizes above 0 mm, got {_by(sizes)}.")
        if not 0 <= self.margin < min(self.width, self.depth) / 2:
            raise WorkshopError(
                f"A bed margin of {self.margin:g} mm leaves nothing of a bed of {_by(sizes)} mm."
            )
        if self.kind == "circle" and self.width != self.depth:
            raise WorkshopError(
                f"A round bed has one diameter, got a width of {self.width:g} mm and a depth of "
                f"{self.depth:g} mm."
            )
        if self.kind == "outline":
            self._check_outline()

    def _check_outline(self) -> None:
        if len(self.outline) < 3:
            raise WorkshopError("A bed outline needs at least three corners.")
        corners = np.asarray(self.outline, float)
        extents = [[0.0, 0.0], [self.width, self.depth]]
        if not np.allclose([corners.min(axis=0), corners.max(axis=0)], extents, rtol=0, atol=1e-6):
            raise WorkshopError(
                "A bed outline must reach from 0, 0 to the bed's width and depth, "
                f"{self.width:g} by {self.depth:g} mm."
            )

    @staticmethod
    def rectangle(width: float, depth: float, height: float, margin: float = 0.0) -> Bed:
        """Return a rectangular bed, mm."""
        return Bed("rectangle", width, depth, height, margin)

    @staticmethod
    def circle(diameter: float, height: float, margin: float = 0.0) -> Bed:
        """Return a round bed, mm."""
        return Bed("circle", diameter, diameter, height, margin)

    @staticmethod
    def of_outline(
        outline: Outline, height: float, margin: float = 0.0, blocked: tuple[Outline, ...] = ()
    ) -> Bed:
        """Return a bed of any plan `outline`, mm; it is shifted so that its low corner is 0, 0.

        Raises
        ------
        WorkshopError
            If it has fewer than three corners or no extent.
        """
        if len(outline) < 3:
            raise WorkshopError("A bed outline needs at least three corners.")
        corners = np.asarray(outline, float)
        low, high = corners.min(axis=0), corners.max(axis=0)
        return Bed(
            "outline",
            float(high[0] - low[0]),
            float(high[1] - low[1]),
            height,
            margin,
            _shifted(outline, low),
            tuple(_shifted(area, low) for area in blocked),
        )

    @staticmethod
    def parse(text: str) -> Bed:
        """Read ``220x220x250`` (rectangle, mm) or ``round 200x300`` (diameter x height, mm).

        Raises
        ------
        WorkshopError
            If the text is neither.
        """
        number = r"(\d+(?:\.\d+)?)"
        if match := re.fullmatch(rf"\s*{number}\s*[x×]\s*{number}\s*[x×]\s*{number}\s*", text):
            return Bed.rectangle(*(float(group) for group in match.groups()))
        if match := re.fullmatch(rf"\s*round\s*{number}\s*[x×]\s*{number}\s*", text):
            return Bed.circle(*(float(group) for group in match.groups()))
        raise WorkshopError(
            f"“{text}” is not a bed size; write width x depth x height in mm, such as "
            "220x220x250, or for a round bed: round 200x300."
        )

    def __str__(self) -> str:
        if self.kind == "circle":
            return f"round {self.width:g}x{self.height:g}"
        return _by((self.width, self.depth, self.height))


@dataclass(frozen=True)
class Printer:
    """A printer and how it is set up; every figure can be replaced by the user's own.

    The defaults are common practice for a 0.4 mm nozzle (no source): line width 1.1 x nozzle,
    overhang limit 45° from vertical, bridges up to 10 mm, holes 0.2 mm undersize in diameter, three
    lines of wall and 15 % infill.

    From `outer_speed` on they are for the print time (`score.layered_print`, and the estimate
    `score.print_time`), again common practice, no source. The two factors say how the user's own
    print differed from what was worked out (`score.calibrated`).
    """

    name: str = "printer"
    bed: Bed = field(default_factory=lambda: Bed.rectangle(220.0, 220.0, 250.0))
    nozzle: float = 0.4
    """Nozzle bore, mm."""
    line_width: float = 0.45
    """Width of one printed line, mm."""
    layer_height: float = 0.2
    """mm."""
    overhang_limit: float = 45.0
    """Steepest overhang that prints without support, degrees from vertical."""
    bridge_span: float = 10.0
    """Longest flat ceiling between two walls that prints without support, mm."""
    hole_allowance: float = 0.2
    """Added to the diameter of a hole so that it comes out at size, where none was measured, mm."""
    wall_lines: int = 3
    """Lines side by side in the skin that is printed solid all round a piece."""
    infill: float = 0.15
    """Share of what is inside the skin that is printed, 0 to 1."""
    support_infill: float = 0.2
    """Share of the support's volume that is printed, 0 to 1."""
    hole_allowances: Allowances = ()
    """What was measured with the fit coupon: diameter and allowance, mm, by rising diameter."""
    outer_speed: float = 30.0
    """Of the outermost line of a wall, mm/s; the greatest, since the flow may not allow it."""
    inner_speed: float = 50.0
    """Of the other lines of a wall, mm/s."""
    infill_speed: float = 70.0
    """Of infill, solid layers and support, mm/s."""
    travel_speed: float = 150.0
    """Between islands, without printing, mm/s."""
    flow_limit: float = 12.0
    """Largest volume that the hotend melts, mm³/s."""
    least_layer_seconds: float = 8.0
    """A layer that would take less than this is printed slower, so that it sets, s."""
    layer_change_seconds: float = 1.0
    """From the end of one layer to the start of the next, s."""
    travel_seconds: float = 1.0
    """Lost with each travel from island to island, besides the way: drawing back and priming, s."""
    top_layers: int = 4
    """Printed solid below what is open to above."""
    bottom_layers: int = 4
    """Printed solid above what is open to below."""
    time_factor: float = 1.0
    """Hours that a known print took, for each hour that was worked out without this."""
    mass_factor: float = 1.0
    """Grams that a known print weighed, for each gram that was worked out without this."""
    foot_width: float = 0.0
    """Of the chamfer that pieces get along the outline that lies on the bed, so that first layers,
    which spread, do not stand out; mm, 0 for none. Measured by the user alone."""
    foot_height: float = 0.0
    """How far up from the bed that chamfer goes, mm; 0 for none."""

    def __post_init__(self) -> None:
        for value, what in (
            (self.nozzle, "nozzle"),
            (self.line_width, "line width"),
            (self.layer_height, "layer height"),
        ):
            if not 0 < value < np.inf:
                raise WorkshopError(f"Printer “{self.name}”: the {what} must be above 0 mm.")
        self._check_speeds()
        if not 0 <= self.bridge_span < np.inf:
            raise WorkshopError(
                f"Printer “{self.name}”: the bridge span must be 0 mm or above, "
                f"got {self.bridge_span:g} mm."
            )
        if not np.isfinite(self.hole_allowance):
            raise WorkshopError(
                f"Printer “{self.name}”: the hole allowance must be a length in mm, "
                f"got {self.hole_allowance:g}."
            )
        check_allowances(self.hole_allowances, self.name)
        if not 0 < self.overhang_limit < 90:
            raise WorkshopError(
                f"Printer “{self.name}”: the overhang limit is an angle from vertical between "
                f"0° and 90°, got {self.overhang_limit:g}°."
            )

    def _check_speeds(self) -> None:
        if self.wall_lines < 1:
            raise WorkshopError(f"Printer “{self.name}”: a wall has at least one line.")
        for value, what in ((self.infill, "infill"), (self.support_infill, "infill of supports")):
            if not 0 <= value <= 1:
                raise WorkshopError(
                    f"Printer “{self.name}”: the {what} is a share between 0 and 1, got {value:g}."
                )
        self._check_layers()

    def _check_layers(self) -> None:
        for speed, what in (
            (self.outer_speed, "speed of outer lines"),
            (self.inner_speed, "speed of inner lines"),
            (self.infill_speed, "speed of infill"),
            (self.travel_speed, "speed of travels"),
        ):
            if not 0 < speed < np.inf:
                raise WorkshopError(
                    f"Printer “{self.name}”: the {what} must be above 0 mm/s, got {speed:g}."
                )
        if not 0 < self.flow_limit < np.inf:
            raise WorkshopError(
                f"Printer “{self.name}”: the flow limit must be above 0 mm³/s, "
                f"got {self.flow_limit:g}."
            )
        for seconds, what in (
            (self.least_layer_seconds, "least time of a layer"),
            (self.layer_change_seconds, "time between two layers"),
            (self.travel_seconds, "time lost with a travel"),
        ):
            if not 0 <= seconds < np.inf:
                raise WorkshopError(
                    f"Printer “{self.name}”: the {what} must be 0 s or above, got {seconds:g}."
                )
        if min(self.top_layers, self.bottom_layers) < 0:
            raise WorkshopError(f"Printer “{self.name}”: solid layers cannot be fewer than none.")
        for size, what in ((self.foot_width, "width"), (self.foot_height, "height")):
            if not 0 <= size <= MOST_FOOT:
                raise WorkshopError(
                    f"Printer “{self.name}”: the {what} of the chamfer at the bed must be from 0 "
                    f"to {MOST_FOOT:g} mm, got {size:g}."
                )
        for factor, what in ((self.time_factor, "time"), (self.mass_factor, "mass")):
            if not LEAST_FACTOR <= factor <= 1 / LEAST_FACTOR:
                raise WorkshopError(
                    f"Printer “{self.name}”: the factor for {what} must be between "
                    f"{LEAST_FACTOR:g} and {1 / LEAST_FACTOR:g}, got {factor:g}."
                )

    def hole_diameter(self, diameter: float) -> float:
        """Return the drawn diameter (mm) of a hole that comes out at `diameter` (mm).

        Its allowance is interpolated between the diameters that were measured, and that of the
        outermost beyond them; `hole_allowance` where nothing was measured.
        """
        return diameter + allowance_at(self.hole_allowances, diameter, self.hole_allowance)

    def edge_distance(self, diameter: float) -> float:
        """Return the least distance from the axis of a pin hole to the nearest surface, mm.

        Half the drawn hole and round it a wall of two printed lines, or of a quarter of the pin's
        diameter if that is more. Common practice, no source.
        """
        return self.hole_diameter(diameter) / 2 + max(2 * self.line_width, diameter / 4)


def read_printer(path: Path) -> Printer:
    """Read a printer from a TOML file with the fields of `Printer`, its bed as table ``bed``.

    A bed of kind ``outline`` without width and depth is as large as its outline, which may then
    lie anywhere, as in `Bed.of_outline`.

    Raises
    ------
    WorkshopError
        If the file is missing, not TOML, or a field is unknown or out of range.
    """
    file = TomlFile("The printer file", str(path), WorkshopError)
    settings = file.entries(file.text())
    settings = {name: value for name, value in settings.items() if name not in RETIRED}
    bed = settings.get("bed")
    if isinstance(bed, dict) and bed.get("kind") == "outline" and not {"width", "depth"} & {*bed}:
        outlined = {name: value for name, value in bed.items() if name != "kind"}
        settings["bed"] = asdict(_outlined(outlined, file))
    return file.value(Printer, settings)


def _outlined(entries: dict[str, Any], file: TomlFile) -> Bed:
    try:
        return validate_call(Bed.of_outline)(**entries)
    except WorkshopError as error:
        raise file.fault(f"has a wrong entry in “bed”: {error}") from error
    except ValidationError as error:
        known = ("kind", *signature(Bed.of_outline).parameters)
        raise file.fault(described(error, "bed", known)) from error


def _by(sizes: tuple[float, ...]) -> str:
    return "x".join(f"{size:g}" for size in sizes)


def _shifted(outline: Outline, low: np.ndarray) -> Outline:
    return tuple((float(x - low[0]), float(y - low[1])) for x, y in outline)
