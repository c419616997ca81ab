"""Fibre with resin: what a ply of it weighs, and how thick it is."""

from __future__ import annotations

from splitplanner.errors import WorkshopError

FIBRE_DENSITY = {"carbon": 1.80, "glass": 2.55, "aramid": 1.44}
"""g/cm³; glass is E-glass. From memory."""
RESIN_DENSITY = 1.15
"""Of cured epoxy, g/cm³. From memory."""


def fibre_density(fibre: str) -> float:
    """Return the density of a fibre, g/cm³.

    Raises
    ------
    WorkshopError
        If it is none of those known.
    """
    try:
        return FIBRE_DENSITY[fibre]
    except KeyError:
        known = ", ".join(FIBRE_DENSITY)
        raise WorkshopError(f"“{fibre}” is no fibre that is known; choose from {known}.") from None


def resin_weight(areal_weight: float, fibre_share: float) -> float:
    """Return the resin that one ply takes, g/m²: ``w (1 - X) / X``.

    Parameters
    ----------
    areal_weight : float
        Of the dry fibre, w, g/m².
    fibre_share : float
        Of the laminate's weight, X. At 0.5 the resin weighs as much as the fibre, as FAA AC
        43.13-1B, paragraph 3-2, has it.
    """
    return areal_weight * (1.0 - fibre_share) / fibre_share


def ply_thickness(fibre: str, areal_weight: float, fibre_share: float) -> float:
    """Return the thickness of one ply with its resin and without pores, mm.

    ``t = w / rho_f + w (1 - X) / (X rho_r)``: the fibre's volume on an area and the resin's.

    Parameters
    ----------
    fibre : "carbon", "glass" or "aramid"
    areal_weight, fibre_share
        See `resin_weight`.

    Raises
    ------
    WorkshopError
        If the fibre is not known.
    """
    resin = resin_weight(areal_weight, fibre_share)
    # g/m² over g/cm³ are micrometres.
    return (areal_weight / fibre_density(fibre) + resin / RESIN_DENSITY) * 1e-3
