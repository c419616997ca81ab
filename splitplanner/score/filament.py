"""Filament: how much of it a print takes, what that costs, and whether a spool holds enough."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from splitplanner.errors import WorkshopError
from splitplanner.findings import Finding, Severity, listed
from splitplanner.score.print_time import LayeredPrint
from splitplanner.workshop import Material, Printer

_ROUNDING = 1e-6
"""g."""


@dataclass(frozen=True)
class FilamentUse:
    """What a print takes.

    Attributes
    ----------
    length : float
        Of filament, mm.
    mass : float
        g.
    cost : float or None
        In the user's own money; None where the price is not known.
    """

    length: float
    mass: float
    cost: float | None


def filament_use(made: LayeredPrint, material: Material, printer: Printer) -> FilamentUse:
    """Return the filament that a print takes, supports included, with the printer's mass factor."""
    volume = printer.mass_factor * made.volume
    return FilamentUse(
        material.filament_length(volume), material.mass(volume), material.cost(volume)
    )


@dataclass(frozen=True)
class SpoolUse:
    """How far spools reach.

    Attributes
    ----------
    mass : float
        That all prints take together, g.
    left : float
        On the spool that is started, g; 0 where there is none.
    is_enough : bool
        Whether the started spool holds all of it.
    new_spools : int
        Full ones besides.
    over : float
        What is left at last, on all of them together, g.
    """

    mass: float
    left: float
    is_enough: bool
    new_spools: int
    over: float


def spool_use(mass: float, material: Material, left: float = 0.0) -> SpoolUse:
    """Return how many spools `mass` (g) takes, if `left` (g) is on a started one.

    Every spool is used to its end, be it in the middle of a print; `spool_findings` tells of prints
    that need a change.

    Raises
    ------
    WorkshopError
        If a mass is below 0 or not finite.
    """
    for value in (mass, left):
        if not 0 <= value < math.inf:
            raise WorkshopError(f"The mass of filament must be 0 g or above, got {value:g} g.")
    # Rounding takes no other spool.
    new = max(0, math.ceil((mass - left) / material.spool_mass - 1e-9))
    return SpoolUse(mass, left, new == 0, new, max(0.0, left + new * material.spool_mass - mass))


@dataclass(frozen=True)
class SpoolEnd:
    """Where a spool is empty.

    Attributes
    ----------
    name : str
        Of the print in which that is.
    after : float
        Of this print, g; above 0, and less than all of it.
    is_started : bool
        Whether it is the spool that was started before.
    """

    name: str
    after: float
    is_started: bool


def spool_ends(
    masses: Mapping[str, float], material: Material, left: float
) -> tuple[SpoolEnd, ...]:
    """Return in which prints spools are empty, if each is used to its end, one print after another.

    Where one is empty just when a print ends, or before the first one, the next print has a full
    one from its start, and nobody has to be there.

    Parameters
    ----------
    masses : mapping of print to g
        In the order in which they are printed.
    material : Material
    left : float
        On the started spool, g.
    """
    ends = []
    on_it, is_started = left, True
    for name, mass in masses.items():
        done = 0.0
        while mass - done > on_it + _ROUNDING:
            done += on_it
            if done > _ROUNDING:
                ends.append(SpoolEnd(name, done, is_started))
            on_it, is_started = material.spool_mass, False
        on_it -= mass - done
    return tuple(ends)


def bed_spool_findings(
    masses: Mapping[str, float],
    material: Material,
    left: float | None = None,
    titles: Mapping[str, str] | None = None,
) -> tuple[Finding, ...]:
    """Return what is to be seen to about spools if beds are printed in this order.

    As `spool_findings`, but each spool is used to its end: a note on which bed, and after how much
    of it, the started one is empty, and one on which beds the full ones after it are.

    Parameters
    ----------
    masses : mapping of bed to g
        In the order in which they are printed.
    material, left, titles
        As there.

    Raises
    ------
    WorkshopError
        If a mass is below 0 or not finite.
    """
    titles = titles or {name: f"“{name}”" for name in masses}
    whole, found = _looked_at(masses, material, left, titles)
    if left is None or whole.is_enough:
        return tuple(found)
    ends = spool_ends(masses, material, left)
    for end in ends:
        if end.is_started:
            found.append(
                _finding(
                    "filament.started_spool", Severity.NOTE, end.name, masses[end.name], end.after,
                    f"{titles[end.name]} takes {masses[end.name]:.0f} g, and the started spool, "
                    f"with {left:.0f} g before the first bed, is empty after {end.after:.0f} g of "
                    "it: put a full one on before, or be there to change it.",
                )
            )  # fmt: skip
    if len(masses) > 1:
        later = list(dict.fromkeys(titles[end.name] for end in ends if not end.is_started))
        beside = f"; full ones are empty during {listed(later)}" if later else ""
        found.append(_more_spools(whole, material, "All beds take", beside))
    return tuple(found)


def spool_findings(
    masses: Mapping[str, float],
    material: Material,
    left: float | None = None,
    titles: Mapping[str, str] | None = None,
) -> tuple[Finding, ...]:
    """Return what is to be seen to about spools before printing.

    A warning for each print that a full spool does not hold; a note for each that the started one
    does not hold alone, and one if it does not hold all of them together.

    Parameters
    ----------
    masses : mapping of piece or bed to g
        What is printed in one go.
    material : Material
    left : float or None, optional
        On the started spool, g; None where it is not known, which then is not looked at.
    titles : mapping of the same names to str, optional
        What each is called in sentences, such as “Piece 2”; its name in quotes by default.

    Raises
    ------
    WorkshopError
        If a mass is below 0 or not finite.
    """
    titles = titles or {name: f"“{name}”" for name in masses}
    whole, found = _looked_at(masses, material, left, titles)
    if left is None:
        return tuple(found)
    found += [
        _finding(
            "filament.started_spool", Severity.NOTE, name, mass, left,
            f"{titles[name]} takes {mass:.0f} g, but only {left:.0f} g are left on the started "
            "spool: put a full one on before, or be there to change it.",
        )
        for name, mass in masses.items()
        if left < mass <= material.spool_mass
    ]  # fmt: skip
    if not whole.is_enough and len(masses) > 1:
        found.append(_more_spools(whole, material, "All prints take"))
    return tuple(found)


def _more_spools(whole: SpoolUse, material: Material, what: str, beside: str = "") -> Finding:
    spools = "spool" if whole.new_spools == 1 else "spools"
    return _finding(
        "filament.spools", Severity.NOTE, "", whole.mass, whole.left,
        f"{what} {whole.mass:.0f} g, of which {whole.left:.0f} g are left on the started spool: "
        f"have {whole.new_spools} more {spools} of {material.spool_mass:.0f} g ready{beside}.",
    )  # fmt: skip


def _looked_at(
    masses: Mapping[str, float],
    material: Material,
    left: float | None,
    titles: Mapping[str, str],
) -> tuple[SpoolUse, list[Finding]]:
    """Return what all prints take, and a warning for each that a full spool does not hold."""
    found = [
        _too_much(name, titles[name], mass, material)
        for name, mass in masses.items()
        if mass > material.spool_mass
    ]
    return spool_use(sum(masses.values()), material, left or 0.0), found


def _too_much(name: str, title: str, mass: float, material: Material) -> Finding:
    return _finding(
        "filament.full_spool", Severity.WARNING, name, mass, material.spool_mass,
        f"{title} takes {mass:.0f} g, more than the {material.spool_mass:.0f} g of a full spool: "
        "be there to change it, or print with less infill or in smaller pieces.",
    )  # fmt: skip


def _finding(
    kind: str, severity: Severity, subject: str, measured: float, allowed: float, message: str
) -> Finding:
    return Finding(kind, severity, message, subject, measured=measured, allowed=allowed, unit="g")
