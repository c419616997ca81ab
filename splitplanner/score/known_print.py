"""What a print should take that its maker knows: worked out as for the pieces of a plan."""

from __future__ import annotations

from numpy.typing import ArrayLike

from splitplanner.score.filament import filament_use
from splitplanner.score.layering import layering
from splitplanner.score.print_time import LayeredPrint, Spent, layered_print
from splitplanner.score.support import support_volume
from splitplanner.solid import Solid
from splitplanner.workshop import Material, Printer


def known_print(
    solid: Solid, up: ArrayLike, printer: Printer, *, is_held: bool = True
) -> LayeredPrint:
    """Work out the print of a whole model, such as one that was printed already.

    Parameters
    ----------
    solid : Solid
    up : (3,) array
        Print direction.
    printer : Printer
    is_held : bool, optional
        Whether it is printed with supports where it hangs over.

    Raises
    ------
    ValueError
        If `up` has no length.
    """
    held = 0.0
    if is_held:
        held = support_volume(solid, up, printer.overhang_limit, printer.bridge_span).volume
    return layered_print(layering(solid, up, printer), printer, held)


def spent_on(made: LayeredPrint, material: Material | None, printer: Printer) -> Spent:
    """Return the hours and grams that a print should take; no grams without a material."""
    grams = None if material is None else filament_use(made, material, printer).mass
    return Spent(made.hours, grams)
