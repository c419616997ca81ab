"""Filament: how much of it a print takes, what that costs, and whether a spool holds enough."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from splitplanner.errors import WorkshopError
from splitplanner.findings import Finding, Severity
from splitplanner.score.print_time import LayeredPrint
from splitplanner.workshop import Material, Printer


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
    whole = spool_use(sum(masses.values()), material, left or 0.0)
    titles = titles or {name: f"“{name}”" for name in masses}
    found = [_too_much(name, titles[name], mass, material) for name, mass in masses.items()
             if mass > material.spool_mass]  # fmt: skip
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
        spools = "spool" if whole.new_spools == 1 else "spools"
        found.append(
            _finding(
                "filament.spools", Severity.NOTE, "", whole.mass, left,
                f"All prints take {whole.mass:.0f} g, of which {left:.0f} g are left on the "
                f"started spool: have {whole.new_spools} more {spools} of "
                f"{material.spool_mass:.0f} g ready.",
            )
        )  # fmt: skip
    return tuple(found)


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
